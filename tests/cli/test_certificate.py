"""`turnrule certificate`: the certificate out of the store, as its bytes or to read, and its exit codes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.cli.running import Ran, turnrule
from turnrule.actions.certificates import certificate_of
from turnrule.actions.judging_parts import Sent, judge_part
from turnrule.api.json_reading import read_json
from turnrule.api.verdict_schemas import read_request
from turnrule.settings import read_settings
from turnrule.store.port import Key, VerdictRecord
from turnrule.wiring import open_desk

LABEL = "Überführungsfahrzeug 114, " + "nachsten-" * 5
UGLY = "job/2026-11-02#" + "0123456789" * 6
LIMITS = {"minimum_machining_thickness": 24.6, "discard_thickness": 24, "maximum_lateral_runout": 0.05}
BODY = {
    "unit": "mm",
    "kind": "rotor",
    "stage": "after_machining",
    "thickness": [24.81, 24.81, 24.82, 24.81],
    "lateral_runout": 0.02,
    "limits": LIMITS,
    "cut_made": {"inboard": 0.1, "outboard": 0.11},
    "instrument": {"label": "Ä" * 80, "resolution": 0.001},
    "vehicle": {"label": LABEL},
    "reference": UGLY,
    "findings": [{"finding": "heat_checking", "face": "inboard", "note": "fine net"}],
}


def stored(folder: Path, plain: Mapping[str, object] = BODY, **changes: object) -> VerdictRecord:
    """A verdict in a new store under the default name of this folder."""
    desk = open_desk(read_settings({"TURNRULE_DATABASE": str(folder / "turnrule.sqlite")}))
    desk.store.migrate()
    at = desk.clock()
    key = Key("counter", "0" * 64, frozenset({"verdicts"}), None, at)
    body = json.dumps({**plain, **changes}).encode()
    judged = judge_part(desk, read_request(read_json(body)), Sent(key, body))
    desk.store.close()
    return judged.record


def asked(folder: Path, *args: str) -> Ran:
    """The command over that store."""
    return turnrule("certificate", *args, folder=folder, TURNRULE_DATABASE=str(folder / "turnrule.sqlite"))


@pytest.mark.parametrize(
    ("thickness", "code", "passed"), [([24.81] * 4, 0, True), ([24.601] * 4, 5, False), ([24.5] * 4, 4, False)]
)
def test_the_verdict_decides_the_exit_code(tmp_path: Path, thickness: list[float], code: int, passed: bool) -> None:  # noqa: FBT001 - a parameter of the test
    record = stored(tmp_path, thickness=thickness)
    ran = asked(tmp_path, record.id)
    assert (ran.code, ran.out.encode()) == (code, certificate_of(record) + b"\n")
    assert json.loads(ran.out)["passed"] is passed


def test_it_reads_with_the_longest_labels(tmp_path: Path) -> None:
    record = stored(tmp_path)
    ran = asked(tmp_path, record.id, "--table")
    lines = ran.out.splitlines()
    assert ran.code == 0
    assert lines[0] == "CERTIFICATE OF A FINISHED PART"
    assert "PASSED: SERVICEABLE" in lines
    joined = " ".join(" ".join(lines).split())
    for words in (LABEL, UGLY, "Ä" * 80, "no licence", "total_cut_made", "finding heat_checking, face inboard"):
        assert words in joined
    tables = [line for line in lines if len(line) > 88]
    assert all(UGLY not in line for line in tables)


def test_what_is_not_there_is_refused(tmp_path: Path) -> None:
    stored(tmp_path)
    ran = asked(tmp_path, "01m7q5st00000000000000000z")
    assert (ran.code, ran.out) == (3, "")
    assert "[verdict_not_found]" in ran.err


def test_what_was_not_machined_is_refused(tmp_path: Path) -> None:
    body = {name: value for name, value in BODY.items() if name != "cut_made"}
    record = stored(tmp_path, body, stage="before_machining")
    ran = asked(tmp_path, record.id)
    assert (ran.code, ran.out) == (3, "")
    assert "after_machining" in ran.err
