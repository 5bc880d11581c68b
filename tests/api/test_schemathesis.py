"""The running service held against its own contract by Schemathesis: examples, bounds, random data, chains of calls.

`TURNRULE_TEST_SOAK_SECONDS` makes it longer, from another seed each time.
"""

from __future__ import annotations

import json
import os
import secrets
import subprocess
import sys
from collections import Counter, defaultdict
from pathlib import Path

import pytest

from tests.api.demo_service import DemoService, demo_service
from tests.api.serving import serving
from turnrule.actions.keys import create_key
from turnrule.actions.sites import give_policy
from turnrule.api.contract_examples import examples
from turnrule.api.contract_operations import OPERATIONS
from turnrule.pack import Pack

ROOT = Path(__file__).resolve().parent.parent.parent
SOAK = os.environ.get("TURNRULE_TEST_SOAK_SECONDS")
LONGEST = 900
"""The run is bounded by its number of cases (some minutes); this many seconds mean that something hangs."""

SITES = ("North", "Harbour")

SOAK_WARNINGS = [
    "missing_auth",
    "base_url_mismatch",
    "missing_deserializer",
    "unused_openapi_auth",
    "unsupported_regex",
    "method_not_allowed",
    "unmatched_filter",
    "unresolvable_reference",
    "dictionary_mismatch",
    "timeout_units",
]
"""A soak is made of many short rounds, and a round in which every one of three cases is refused is no finding:
the warnings that count refusals are left to the floor, which counts over the whole run."""

FLOOR = 0.5
"""Of the well-formed cases of each operation, at least so many are to be served and not refused.

What is well-formed and still refused names a vehicle, policy, cursor or record that is not there, which the schema
cannot know. Most operations serve all or nine tenths, none fewer than seven; below a half, the run would no longer
say much about what lies behind the look-up.
"""

FEWEST = 5


def filled(service: DemoService, folder: Path) -> Path:
    """Some records in the store, most of them the first site's, and the file of the two sites' keys."""
    scopes = ["verdicts", "reports", "policies:write", "limits:write", "limits:verify", "releases:publish"]
    keys = [create_key(service.desk, site.lower(), scopes, site).secret for site in SITES]
    service.secrets["verdicts",] = keys[0]
    for name in (
        "verdict-machine",
        "axle-one-side-machined",
        "verdicts-of-a-unit",
        "coverage",
        "limits-of-a-drum-entered",
        "lathe-written",
        "verdict-finished-with-its-cut",
    ):
        service.send(examples()[name])
    office = create_key(service.desk, "fleet", ["policies:write"]).key
    give_policy(service.desk, SITES[0], "default", office, over=None)
    entries = [
        {"name": site, "fixedHeaders": [{"name": "Authorization", "value": f"Bearer {secret}"}]}
        for site, secret in zip(SITES, keys, strict=True)
    ]
    path = folder / "keys.json"
    path.write_text(json.dumps({"auth": entries}), encoding="utf-8")
    return path


def others(service: DemoService) -> dict[str, str]:
    """The keys of two people who do what has to be done before a call can be made, as variables of the hooks."""
    return {
        "TURNRULE_TEST_CLERK": create_key(service.desk, "clerk", ["limits:write"]).secret,
        "TURNRULE_TEST_READER": create_key(service.desk, "reader", ["limits:verify"]).secret,
    }


def configured(folder: Path, keys: Path) -> Path:
    """The configuration with the keys of this run: two sites that must not see each other's records."""
    text = (ROOT / "tests" / "api" / "schemathesis.toml").read_text(encoding="utf-8")
    if SOAK is not None:
        text = text.replace("fail-on = true", f"fail-on = {json.dumps(SOAK_WARNINGS)}")
    path = folder / "schemathesis.toml"
    peers = json.dumps(list(SITES))
    path.write_text(
        f'{text}\n[auth.wfc]\npath = "{keys}"\nuser = "{SITES[0]}"\npeers = {peers}\n',
        encoding="utf-8",
    )
    return path


def shares(cases: Path) -> dict[str, Counter[str]]:
    """By operation: how many well-formed cases there were, and how many were served."""
    counted: dict[str, Counter[str]] = defaultdict(Counter)
    for line in cases.read_text(encoding="utf-8").splitlines():
        case = json.loads(line)
        counted[case["operation"]][case["mode"]] += 1
        if case["mode"] == "positive" and case["status"] < 400:
            counted[case["operation"]]["served"] += 1
    return counted


def test_the_service_keeps_its_contract_whatever_is_sent(
    tmp_path: Path, pack: Pack, capsys: pytest.CaptureFixture[str]
) -> None:
    with demo_service(tmp_path, pack) as service:
        keys, besides = filled(service, tmp_path), others(service)
    cases = tmp_path / "cases.ndjson"
    with serving(tmp_path / "demo.sqlite") as port:
        run = subprocess.run(
            [
                str(Path(sys.executable).parent / "schemathesis"),
                "--config-file",
                str(configured(tmp_path, keys)),
                "run",
                str(ROOT / "openapi" / "openapi.yaml"),
                "--url",
                f"http://127.0.0.1:{port}",
                "--no-color",
                *(
                    ["--seed", "20261102"]
                    if SOAK is None
                    else ["--seed", str(secrets.randbits(32)), "--max-time", SOAK]
                ),
            ],
            env={
                **os.environ,
                "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path]),
                "TURNRULE_TEST_CASES": str(cases),
                "TURNRULE_TEST_URL": f"http://127.0.0.1:{port}",
                **besides,
            },
            cwd=tmp_path,
            capture_output=True,
            text=True,
            timeout=LONGEST + int(SOAK or 0),
            check=False,
        )
    assert run.returncode == 0, run.stdout[-20_000:] + run.stderr[-2000:]
    assert SOAK is not None or "No issues found" in run.stdout
    counted = shares(cases)
    lines = [
        f"{name:20} {seen['served']:5} of {seen['positive']:5} well-formed served, {seen['negative']:5} malformed sent"
        for name, seen in sorted(counted.items())
    ]
    with capsys.disabled():
        print("\n" + "\n".join(lines))  # noqa: T201 - the run's own report
    assert set(counted) == {operation.id for operation in OPERATIONS}
    low = {
        name: seen
        for name, seen in counted.items()
        if seen["positive"] < FEWEST or seen["served"] < FLOOR * seen["positive"]
    }
    assert not low
    assert sum(seen["negative"] for seen in counted.values()) > len(OPERATIONS) * FEWEST
