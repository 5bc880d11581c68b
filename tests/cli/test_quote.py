"""`turnrule quote-check`: the answer, the table, the exit code."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import turnrule
from turnrule.cli.exits import Exit
from turnrule.cli.quote import exit_for_quotes
from turnrule.cli.quote_table import WIDE
from turnrule.judging.quote_words import FindingLevel

APPLICATION = {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"}


def rotor(side: str, *thickness: float) -> dict[str, Any]:
    """A request about a front rotor."""
    return {
        "unit": "mm",
        "kind": "rotor",
        "application": APPLICATION,
        "side": side,
        "thickness": thickness,
        "lateral_runout": 0.02,
    }


GOOD = [25.5] * 4
UNEVEN = [25.5, 25.5, 25.5, 25.53]
THIN = [23.9] * 4
MACHINE = {"operation": "machine", "axle": "front", "side": "both", "kind": "rotor", "price": 60}


def written(folder: Path, name: str, left: list[float], right: list[float], **changes: object) -> str:
    """A file with a quote that machines both front rotors."""
    parts = [{"name": side, "request": rotor(side, *read)} for side, read in (("left", left), ("right", right)) if read]
    quote = {"unit": "mm", "parts": parts, "lines": [MACHINE], **changes}
    (folder / name).write_text(json.dumps(quote), encoding="utf-8")
    return name


@pytest.mark.parametrize(
    ("left", "right", "code", "agrees"),
    [(UNEVEN, UNEVEN, 0, True), (THIN, UNEVEN, 4, False), (UNEVEN, [], 5, False), (GOOD, UNEVEN, 0, True)],
)
def test_what_is_found_decides_the_exit_code(
    tmp_path: Path, left: list[float], right: list[float], code: int, *, agrees: bool
) -> None:
    run = turnrule("quote-check", written(tmp_path, "a.json", left, right), folder=tmp_path)
    assert run.code == code, run.err
    answer = json.loads(run.out)
    assert answer["agrees"] is agrees
    assert {"prices_from_caller", "follow_service_data"} <= {one["code"] for one in answer["cautions"]}


def test_the_worst_of_several_files_decides(tmp_path: Path) -> None:
    files = [
        written(tmp_path, "agrees.json", UNEVEN, UNEVEN),
        written(tmp_path, "missing.json", UNEVEN, []),
        written(tmp_path, "wrong.json", THIN, UNEVEN),
    ]
    run = turnrule("quote-check", *files, folder=tmp_path)
    assert (run.code, len(run.out.splitlines())) == (4, 3)
    refused = written(tmp_path, "refused.json", UNEVEN, UNEVEN, lines=[{"operation": "mend"}], totl=3)
    run = turnrule("quote-check", *files, refused, folder=tmp_path)
    assert run.code == 3
    assert "/lines/0/operation" in run.err
    assert "did you mean 'total'?" in run.err
    assert len(run.out.splitlines()) == 3


def test_questions_and_notes_do_not_count() -> None:
    assert exit_for_quotes([None, FindingLevel.NOTE, FindingLevel.QUESTION]) is Exit.DONE


def test_a_quote_may_come_on_standard_input(tmp_path: Path) -> None:
    name = written(tmp_path, "a.json", UNEVEN, UNEVEN)
    run = turnrule("quote-check", "-", folder=tmp_path, text=(tmp_path / name).read_text(encoding="utf-8"))
    assert run.code == 0


def test_a_quote_that_is_too_long_is_refused(tmp_path: Path) -> None:
    (tmp_path / "long.json").write_text(" " * (2 * 1024 * 1024), encoding="utf-8")
    run = turnrule("quote-check", "long.json", folder=tmp_path)
    assert run.code == 3
    assert "refused" in run.err


def test_the_day_of_the_check_can_be_named(tmp_path: Path) -> None:
    name = written(tmp_path, "a.json", UNEVEN, UNEVEN)
    run = turnrule("quote-check", "--on", "2026-11-02", name, folder=tmp_path)
    assert json.loads(run.out)["checked_at"] == "2026-11-02T00:00:00.000000Z"


def test_a_table_to_read(tmp_path: Path) -> None:
    name = written(tmp_path, "a.json", THIN, UNEVEN, total=70, currency="EUR")
    run = turnrule("quote-check", "--table", name, folder=tmp_path)
    lines = run.out.splitlines()
    assert lines[0] == "a.json: DOES NOT AGREE"
    assert "left   front left rotor   machine  replace" in lines
    assert "lines: 60 EUR, stated total: 70 EUR" in lines
    assert "    least thickness: 23.9 against 24, margin -0.1 (mm)" in lines
    assert lines[-2].startswith("  they are, and says")
    assert max(map(len, lines)) <= WIDE


def test_a_table_of_long_and_ugly_input_stays_within_its_width(tmp_path: Path) -> None:
    name = "W" * 80
    history = {
        "vehicle": {"odometer": {"value": 60000.123456789, "unit": "km"}},
        "history": [{"thickness": 25.9, "odometer": {"value": 40000.1, "unit": "km"}}],
    }
    long_one = {"name": name, "request": rotor("left", *UNEVEN) | history, "other_way": {"price": 123456789.123456}}
    parts = [long_one, *({"name": f"{number} {name}"[:80]} for number in range(22))]
    lines: list[object] = [MACHINE | {"price": 99999999.987654321, "side": "left", "text": "x" * 200}]
    lines += [{"operation": "machine", "part": f"{number} {name}"[:80]} for number in range(22)] * 2
    lines += [{"operation": "replace", "axle": "fifth", "side": "both", "kind": "parking_drum"}] * 150
    file = written(tmp_path, "ugly.json", [], [], parts=parts, lines=lines, total=1e9, currency="QQQQQQQQ")
    run = turnrule("quote-check", "--table", file, folder=tmp_path)
    assert run.code == 4, run.err
    told = run.out.splitlines()
    assert max(map(len, told)) <= WIDE
    assert any("cost per 1,000 km of front left rotor: machining 1" in line for line in told)
    assert any(line.startswith("... and ") and line.endswith(" more findings") for line in told)
