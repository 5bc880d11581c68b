"""Every command, its output and its exit code."""

from __future__ import annotations

import contextlib
import json
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.running import turnrule

REQUEST = {
    "unit": "mm",
    "kind": "rotor",
    "application": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
    "thickness": [25.02, 25.01, 25.03, 25.04, 25.03, 25.02, 25.01, 25.02],
    "lateral_runout": 0.07,
}


def _written(folder: Path, name: str, **changes: object) -> str:
    (folder / name).write_text(json.dumps(REQUEST | changes), encoding="utf-8")
    return name


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """A folder with a migrated, empty store under its default name."""
    assert turnrule("store", "migrate", folder=tmp_path).code == 0
    return tmp_path


def test_help_names_every_command_and_the_exit_codes(tmp_path: Path) -> None:
    ran = turnrule("--help", folder=tmp_path)
    assert ran.code == 0
    for word in (
        "demo",
        "serve",
        "judge",
        "axle",
        "setup-check",
        "keys",
        "pack",
        "store",
        "openapi",
        "4 replace",
        "5 inconclusive",
    ):
        assert word in " ".join(ran.out.split())


def test_the_version_is_the_packages(tmp_path: Path) -> None:
    assert re.fullmatch(r"turnrule, version \d+\.\d+\.\d+\n", turnrule("--version", folder=tmp_path).out)


def test_migrating_twice_does_nothing_the_second_time(tmp_path: Path) -> None:
    first = json.loads(turnrule("store", "migrate", "--json", folder=tmp_path).out)
    second = json.loads(turnrule("store", "migrate", "--json", folder=tmp_path).out)
    assert first["migrated"]
    assert second["migrated"] == []


def test_a_sound_store_is_called_sound_and_a_spoilt_one_is_not(store: Path) -> None:
    ran = turnrule("store", "check", "--json", folder=store)
    assert (ran.code, json.loads(ran.out)["sound"]) == (0, True)
    (store / "turnrule.sqlite").write_bytes(b"not a database at all" * 500)
    spoilt = turnrule("store", "check", folder=store)
    assert spoilt.code == 6
    assert "Traceback" not in spoilt.err


def test_checking_a_store_that_is_not_there_says_so(tmp_path: Path) -> None:
    ran = turnrule("store", "check", folder=tmp_path)
    assert ran.code == 6
    assert "turnrule.sqlite" in ran.err
    assert not (tmp_path / "turnrule.sqlite").exists()


def test_a_key_is_made_once_shown_once_listed_and_revoked(store: Path) -> None:
    made = turnrule("keys", "create", "counter", "--scope", "verdicts", "--site", "North", "--json", folder=store)
    key = json.loads(made.out)["key"]
    assert key.startswith("tr_")
    assert turnrule("keys", "create", "counter", "--scope", "verdicts", folder=store).code == 6
    listed = turnrule("keys", "list", "--json", folder=store)
    assert key not in listed.out
    [entry] = json.loads(listed.out)
    assert (entry["name"], entry["scopes"], entry["site"]) == ("counter", ["verdicts"], "North")
    assert turnrule("keys", "revoke", "counter", folder=store).code == 0
    assert turnrule("keys", "list", folder=store).out.split("\t")[1] == "revoked"
    assert turnrule("keys", "revoke", "counter", folder=store).code == 3
    content = b"".join(path.read_bytes() for path in store.glob("turnrule.sqlite*"))
    assert key.encode() not in content


def test_the_key_alone_is_on_standard_output(store: Path) -> None:
    ran = turnrule("keys", "create", "shop", "--scope", "admin", folder=store)
    assert re.fullmatch(r"tr_[A-Za-z0-9_-]{43}\n", ran.out)
    assert "only time" in ran.err


def test_a_scope_that_does_not_exist_is_a_usage_error(store: Path) -> None:
    ran = turnrule("keys", "create", "x", "--scope", "everything", folder=store)
    assert ran.code == 2
    assert "limits:verify" in ran.err


def test_keys_need_a_store(tmp_path: Path) -> None:
    ran = turnrule("keys", "list", folder=tmp_path)
    assert ran.code == 6
    assert "store migrate" in ran.err


@pytest.mark.parametrize(
    ("changes", "code", "verdict"),
    [
        ({}, 0, "machine"),
        ({"thickness": [25.0] * 8, "lateral_runout": 0.01}, 0, "serviceable"),
        ({"thickness": [23.9] * 8}, 4, "replace"),
        ({"thickness": [24.001] * 8, "lateral_runout": 0.01}, 5, "inconclusive"),
    ],
)
def test_a_verdict_decides_the_exit_code(tmp_path: Path, changes: dict[str, object], code: int, verdict: str) -> None:
    ran = turnrule("judge", _written(tmp_path, "part.json", **changes), folder=tmp_path)
    assert (ran.code, json.loads(ran.out)["verdict"]) == (code, verdict)
    assert "invented demo vehicles" in ran.err
    assert list(tmp_path.iterdir()) == [tmp_path / "part.json"]


def test_a_refused_request_names_every_field_and_the_others_are_still_judged(tmp_path: Path) -> None:
    bad = _written(tmp_path, "bad.json", unit="cm", thikness=[1])
    good = _written(tmp_path, "good.json")
    ran = turnrule("judge", bad, good, folder=tmp_path)
    assert ran.code == 3
    assert "/unit" in ran.err
    assert "thickness" in ran.err
    assert json.loads(ran.out)["verdict"] == "machine"


def test_a_request_is_read_from_standard_input_and_its_own_limits_serve(tmp_path: Path) -> None:
    document = {name: value for name, value in REQUEST.items() if name != "application"}
    document["limits"] = {"discard_thickness": 24.0, "minimum_machining_thickness": 24.6}
    ran = turnrule("judge", "-", folder=tmp_path, text=json.dumps(document))
    assert ran.code == 0
    assert "limits_from_caller" in {caution["code"] for caution in json.loads(ran.out)["cautions"]}


def test_a_table_shows_the_verdict_the_checks_and_the_cautions(tmp_path: Path) -> None:
    ran = turnrule("judge", "--table", _written(tmp_path, "part.json"), folder=tmp_path)
    assert "MACHINE" in ran.out
    assert re.search(r"machining_limit\s+24\.84\s+24\.6\s+0\.0077\s+pass\s+reference", ran.out)
    assert "service data" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 100


def test_a_day_may_be_named_and_nothing_depends_on_today(tmp_path: Path) -> None:
    part = _written(tmp_path, "part.json", instrument={"resolution": 0.01, "calibration_due": "2030-01-01"})
    before = turnrule("judge", "--on", "2029-12-31", part, folder=tmp_path)
    after = turnrule("judge", "--on", "2030-01-02", part, folder=tmp_path)
    assert "calibration_overdue" not in before.out
    assert "calibration_overdue" in after.out


def test_judging_from_a_store_uses_its_limits_and_writes_nothing(store: Path) -> None:
    ran = turnrule("judge", _written(store, "part.json"), folder=store)
    assert ran.code == 3
    assert "application_not_found" in ran.err
    connection = sqlite3.connect(store / "turnrule.sqlite")
    try:
        [(count,)] = connection.execute("select count(*) from verdicts")
    finally:
        connection.close()
    assert count == 0


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    ran = turnrule("judge", "nothing.json", folder=tmp_path)
    assert ran.code == 1
    assert "nothing.json" in ran.err
    assert "Traceback" not in ran.err


def test_the_pack_in_use_is_sound(tmp_path: Path) -> None:
    ran = turnrule("pack", "check", "--json", folder=tmp_path)
    assert (ran.code, json.loads(ran.out)) == (0, {"sound": True, "faults": []})


def test_a_folder_that_is_no_pack_is_refused(tmp_path: Path) -> None:
    ran = turnrule("pack", "check", ".", folder=tmp_path)
    assert ran.code == 3
    assert "no datapackage.json" in ran.err


def test_the_written_contract_agrees_with_the_service(tmp_path: Path) -> None:
    (tmp_path / "openapi").mkdir()
    assert turnrule("openapi", "write", folder=tmp_path).code == 0
    assert turnrule("openapi", "write", "--check", folder=tmp_path).code == 0
    (tmp_path / "openapi" / "openapi.yaml").write_text("changed", encoding="utf-8")
    assert turnrule("openapi", "write", "--check", folder=tmp_path).code == 1


@pytest.mark.parametrize(
    ("environment", "words"),
    [
        ({"TURNRULE_PORT": "x"}, "TURNRULE_PORT"),
        ({"TURNRULE_DATABASE": "postgresql://db/x"}, "TURNRULE_DATABASE"),
        ({"TURNRULE_NO_SUCH": "x"}, "no such setting"),
    ],
)
def test_a_setting_that_cannot_be_used_is_a_usage_error(
    tmp_path: Path, environment: dict[str, str], words: str
) -> None:
    ran = turnrule("keys", "list", folder=tmp_path, **environment)
    assert ran.code == 2
    assert words in ran.err


def test_serving_without_a_store_says_what_to_run(tmp_path: Path) -> None:
    ran = turnrule("serve", "--port", "0", folder=tmp_path)
    assert ran.code == 6
    assert "store migrate" in ran.err
    assert not list(tmp_path.iterdir())


def test_what_several_workers_have_counted_is_one_sum(store: Path) -> None:
    with _serving(store, workers=3) as (_server, base):
        for _ in range(30):
            _fetched(f"{base}/healthz")
        counted = [_alive(_fetched(f"{base}/metrics")) for _ in range(12)]
    assert len(set(counted)) == 1
    assert counted[0] >= 31


def test_a_worker_that_ends_is_replaced_and_takes_no_counts_with_it(store: Path) -> None:
    with _serving(store, workers=2) as (server, base):
        for _ in range(10):
            _fetched(f"{base}/healthz")
        children = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text("ascii").split()
        os.kill(int(children[0]), signal.SIGTERM)
        time.sleep(2)
        counted = [_alive(_fetched(f"{base}/metrics")) for _ in range(6)]
        assert server.poll() is None
    assert len(set(counted)) == 1
    assert counted[0] >= 11


@contextlib.contextmanager
def _serving(store: Path, *, workers: int) -> Iterator[tuple[subprocess.Popen[bytes], str]]:
    """The service over this store, up and answering, and its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "turnrule", "serve", "--port", str(port), "--workers", str(workers)]
    with subprocess.Popen(command, cwd=store, stderr=subprocess.DEVNULL) as server:
        try:
            base = f"http://127.0.0.1:{port}"
            _wait_for(f"{base}/healthz")
            yield server, base
        finally:
            server.terminate()


def _fetched(address: str) -> str:
    with urllib.request.urlopen(address, timeout=10) as response:  # noqa: S310 - this machine
        text: str = response.read().decode()
    return text


def _wait_for(address: str) -> None:
    until = time.monotonic() + 30
    while time.monotonic() < until:
        with contextlib.suppress(urllib.error.URLError, ConnectionError):
            _fetched(address)
            return
        time.sleep(0.1)
    pytest.fail("the service did not come up")


def _alive(metrics: str) -> float:
    pattern = r'^turnrule_http_requests_total{method="GET",route="/healthz",status="200"} (\S+)$'
    found = re.search(pattern, metrics, re.MULTILINE)
    assert found is not None
    return float(found[1])


def test_every_command_explains_itself(tmp_path: Path) -> None:
    for command in (
        ["demo"],
        ["serve"],
        ["judge"],
        ["axle"],
        ["setup-check"],
        ["keys", "create"],
        ["keys", "list"],
        ["keys", "revoke"],
        ["pack", "check"],
        ["pack", "build"],
        ["store", "migrate"],
        ["store", "check"],
        ["openapi", "write"],
    ):
        ran = turnrule(*command, "-h", folder=tmp_path)
        assert ran.code == 0
        assert len(ran.out) > 80
