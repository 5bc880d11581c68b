"""`turnrule axle`: an axle judged without a server, as a line of JSON or a table, and its exit codes."""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path

import pytest

from tests.cli.running import turnrule

GOOD = {"thickness": [25.3] * 8, "lateral_runout": 0.01}
UNEVEN = {"thickness": [25.02, 25.01, 25.03, 25.04, 25.03, 25.02, 25.01, 25.02], "lateral_runout": 0.07}
WORN = {"thickness": [23.8] * 8}
OPEN = {"thickness": [24.001] * 8, "lateral_runout": 0.01}
SHARED = {
    "unit": "mm",
    "kind": "rotor",
    "application": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
}


def written(folder: Path, name: str = "axle.json", **sides: object) -> str:
    """A file with the body of an axle."""
    (folder / name).write_text(json.dumps({**SHARED, **sides}), encoding="utf-8")
    return name


@pytest.mark.parametrize(
    ("left", "right", "code", "verdict"),
    [
        (GOOD, GOOD, 0, "serviceable"),
        (UNEVEN, GOOD, 0, "machine"),
        (GOOD, OPEN, 5, "inconclusive"),
        (WORN, OPEN, 4, "replace"),
    ],
)
def test_the_verdict_on_the_axle_decides_the_exit_code(
    tmp_path: Path, left: object, right: object, code: int, verdict: str
) -> None:
    ran = turnrule("axle", written(tmp_path, left=left, right=right), folder=tmp_path)
    [line] = ran.out.splitlines()
    assert (ran.code, json.loads(line)["verdict"]) == (code, verdict)
    assert "invented demo vehicles" in ran.err
    assert list(tmp_path.iterdir()) == [tmp_path / "axle.json"]


def test_one_side_alone_is_inconclusive(tmp_path: Path) -> None:
    ran = turnrule("axle", written(tmp_path, right=GOOD), folder=tmp_path)
    assert (ran.code, json.loads(ran.out)["missing"]) == (5, ["left"])


def test_a_refused_axle_names_every_field_and_the_others_are_still_judged(tmp_path: Path) -> None:
    bad = written(
        tmp_path, "bad.json", left={**GOOD, "unit": "mm", "findings": ["no_such"]}, right={"thickness": [True]}
    )
    ran = turnrule("axle", bad, written(tmp_path, left=WORN, right=GOOD), folder=tmp_path)
    assert ran.code == 3
    for pointer in ("/left/unit", "/left/findings/0", "/right/thickness/0"):
        assert f"  {pointer}: " in ran.err
    assert json.loads(ran.out)["verdict"] == "replace"


def test_an_axle_is_read_from_standard_input_on_a_day_that_is_named(tmp_path: Path) -> None:
    document = {**SHARED, "left": GOOD, "right": UNEVEN}
    ran = turnrule("axle", "--on", "2026-11-02", "-", folder=tmp_path, text=json.dumps(document))
    answer = json.loads(ran.out)
    assert answer["judged_at"] == "2026-11-02T00:00:00.000000Z"
    assert answer["sides"]["right"]["judgement"]["judged_at"] == answer["judged_at"]


def test_a_table_shows_both_sides_their_difference_and_whom_a_caution_is_about(tmp_path: Path) -> None:
    ran = turnrule("axle", "--table", written(tmp_path, left=UNEVEN, right=WORN), folder=tmp_path)
    assert "axle.json: REPLACE" in ran.out
    assert re.search(r"left\s+machine\s+machine\s+0\.05 inboard, 0\.05 outboard\s+24\.84", ran.out)
    assert re.search(r"right\s+replace\s+replace\s+-\s+26", ran.out)
    assert re.search(r"thickness_difference_after_cuts\s+1\.16\s+-\s+not_assessed", ran.out)
    assert "warning: Look at the other side of the axle" in ran.out
    assert "notice (left): A lighter part runs hotter" in ran.out
    assert "service data" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 100


def test_judging_from_a_store_uses_its_limits_and_writes_nothing(tmp_path: Path) -> None:
    assert turnrule("store", "migrate", folder=tmp_path).code == 0
    ran = turnrule("axle", written(tmp_path, left=GOOD, right=GOOD), folder=tmp_path)
    assert ran.code == 3
    assert ran.err.count("application_not_found") == 1
    limits = {"discard_thickness": 24, "minimum_machining_thickness": 24.6}
    assert turnrule("axle", written(tmp_path, left=GOOD, right=GOOD, limits=limits), folder=tmp_path).code == 0
    connection = sqlite3.connect(tmp_path / "turnrule.sqlite")
    try:
        tables = ("verdicts", "axle_verdicts", "misses")
        counts = [connection.execute(f"select count(*) from {table}") for table in tables]  # noqa: S608 - these three
        assert [count for [(count,)] in counts] == [0, 0, 0]
    finally:
        connection.close()


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    ran = turnrule("axle", "nothing.json", folder=tmp_path)
    assert ran.code == 1
    assert "nothing.json" in ran.err
