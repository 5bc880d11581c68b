"""What is written to a file is read back as it was, whatever people have typed."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given, settings

from tests.api.limit_files.reading import FIRST, read
from tests.api.limit_files.revisions import PLAIN, in_inches, sets
from turnrule.actions.file_rows import OpenAnswer, Row
from turnrule.actions.requests import LimitsEntry
from turnrule.api.limit_files.export import export
from turnrule.api.limit_files.opening import opened
from turnrule.judging.words import Kind
from turnrule.store.content import content_digest
from turnrule.store.limit_records import LimitRevision

SUFFIXES = (".csv", ".xlsx", ".jsonl")


def _again(row: Row[LimitsEntry]) -> LimitRevision:
    assert not row.faults
    assert row.entry is not None
    assert row.limits_id is not None
    return row.entry.as_revision(row.limits_id, entered_by="", entered_at=None)


def _reasons(row: Row[LimitsEntry]) -> set[tuple[str, str | None, str]]:
    assert row.entry is not None
    own = {OpenAnswer(one.code, one.pointer, one.reason) for one in row.entry.answers}
    return {(one.code, one.pointer, one.reason) for one in own | set(row.answers)}


@pytest.mark.parametrize("suffix", SUFFIXES)
@settings(max_examples=50)
@given(rows=sets())
@example(rows=[PLAIN])
@example(rows=[in_inches(PLAIN, {"discard_thickness": "0.9450", "maximum_lateral_runout": "0.002"})])
def test_an_exported_file_is_read_as_the_same_bodies_with_the_same_digests(
    suffix: str, rows: Sequence[LimitRevision]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"limits{suffix}"
        export(rows, path)
        found = read(path)
    again = [_again(row) for row in found]
    assert again == [replace(row, warnings=()) for row in rows]
    assert [content_digest(row) for row in again] == [content_digest(row) for row in rows]
    assert [_reasons(row) for row in found] == [{(w.code, w.pointer, w.reason) for w in row.warnings} for row in rows]


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_digit_that_a_document_prints_is_not_lost(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"limits{suffix}"
    export([PLAIN], path)
    [row] = read(path)
    assert row.entry is not None
    assert row.entry.figures.printed["minimum_machining_thickness"] == "24.60"
    assert row.entry.figures.printed["nominal_thickness"] == "26.0"


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_memory_does_not_grow_with_the_file(suffix: str, tmp_path: Path) -> None:
    import tracemalloc  # noqa: PLC0415 - it slows all other tests down

    def peak(count: int) -> int:
        path = tmp_path / f"{count}{suffix}"
        export((replace(PLAIN, limits_id=f"r-{number}") for number in range(count)), path)
        tracemalloc.start()
        with opened(path, FIRST) as found:
            assert sum(1 for _ in found.rows) == count
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    peak(10)
    assert peak(2000) < 1.3 * peak(500)


def test_a_parking_drum_is_no_rotor(tmp_path: Path) -> None:
    path = tmp_path / "limits.csv"
    row = in_inches(
        replace(PLAIN, limits=replace(PLAIN.limits, kind=Kind.PARKING_DRUM, construction=None)),
        {"discard_diameter": "7.95"},
    )
    export([row], path)
    [found] = read(path)
    assert found.entry is not None
    assert found.entry.figures.limits.kind is Kind.PARKING_DRUM
    assert found.entry.figures.printed == {"discard_diameter": "7.95"}
