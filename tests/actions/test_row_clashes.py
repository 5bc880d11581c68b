"""Rows of one file that are for the same vehicles, or under the same id."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.store.samples import revision
from turnrule.actions import row_clashes
from turnrule.actions.file_rows import RowFault
from turnrule.actions.row_clashes import Clash, Clashes
from turnrule.judging.faults import Fault
from turnrule.judging.words import Axle
from turnrule.store.limit_records import FitsTo, LimitRevision


@dataclass(frozen=True, slots=True)
class Place:
    """A row of a file."""

    number: int
    file: str = ""

    def told(self, fault: Fault, *, is_warning: bool = False) -> RowFault:
        """A fault of the row."""
        return RowFault(self.number, fault.pointer, "", fault.code, fault.detail, is_warning, self.file)


def _clashes(rows: Sequence[LimitRevision], named: Sequence[bool] | None = None) -> list[Clash]:
    with contextlib.closing(Clashes()) as clashes:
        for number, row in enumerate(rows, 2):
            clashes.add(Place(number), row, is_named=True if named is None else named[number - 2])
        return list(clashes.found())


def _row(limits_id: str, **changes: object) -> LimitRevision:
    fits = FitsTo("Corvane", "Ostrel", 2021, 2024, Axle.FRONT, "B16")
    return replace(revision(limits_id), fits=replace(fits, **changes))  # type: ignore[arg-type]


def test_the_same_vehicles_under_another_spelling_clash() -> None:
    [clash] = _clashes([_row("a"), _row("b", make="CORVANE ", model="ostrel", brake_option="b16")])
    assert (clash.row, clash.other, clash.same_id) == (3, 2, None)


@pytest.mark.parametrize(
    "changes",
    [
        {"year_from": 2025, "year_to": 2030},
        {"axle": Axle.REAR},
        {"brake_option": "B17"},
        {"brake_option": None},
        {"model": "Pirrel"},
        {"make": "Isvalt"},
    ],
)
def test_other_vehicles_do_not_clash(changes: dict[str, object]) -> None:
    assert not _clashes([_row("a"), _row("b", **changes)])


def test_one_limit_may_follow_another_on_the_day_on_which_it_ends() -> None:
    first = replace(_row("a"), effective_to=datetime.date(2023, 1, 1))
    second = replace(_row("b"), effective_from=datetime.date(2023, 1, 1))
    assert not _clashes([first, second])
    assert _clashes([first, replace(second, effective_from=datetime.date(2022, 12, 31))])


def test_a_vehicle_that_is_still_built_clashes_with_every_later_year() -> None:
    [clash] = _clashes([_row("b", year_from=2030), _row("a", year_to=None)])
    assert {clash.row, clash.other} == {2, 3}


def test_the_same_id_twice_clashes_and_the_one_that_the_file_gave_stays() -> None:
    rows = [_row("a"), _row("a", model="Pirrel"), _row("a", model="Veldra")]
    assert [(clash.row, clash.other, clash.is_named) for clash in _clashes(rows)] == [(3, 2, True), (4, 2, True)]
    made = _clashes(rows, [False, True, False])
    assert [(clash.row, clash.other, clash.is_named) for clash in made] == [(2, 3, False), (4, 3, False)]


def _overlap(one: LimitRevision, other: LimitRevision) -> bool:
    far = datetime.date.max
    mine, theirs = one.fits, other.fits
    return (
        (mine.make, mine.axle) == (theirs.make, theirs.axle)
        and mine.year_from <= (theirs.year_to or 9999)
        and theirs.year_from <= (mine.year_to or 9999)
        and one.effective_from < (other.effective_to or far)
        and other.effective_from < (one.effective_to or far)
    )


@st.composite
def _rows(draw: st.DrawFn) -> LimitRevision:
    first = draw(st.integers(2000, 2006))
    start = draw(st.dates(datetime.date(2020, 1, 1), datetime.date(2020, 1, 9)))
    fits = FitsTo(
        draw(st.sampled_from(["Corvane", "Isvalt"])),
        "Ostrel",
        first,
        draw(st.none() | st.integers(first, first + 3)),
        draw(st.sampled_from([Axle.FRONT, Axle.REAR])),
    )
    end = draw(st.none() | st.integers(1, 5).map(lambda days: start + datetime.timedelta(days=days)))
    return replace(revision("a"), fits=fits, effective_from=start, effective_to=end)


@pytest.mark.parametrize("held", [1, 3, 1000])
@given(rows=st.lists(_rows(), max_size=14))
def test_without_the_rows_that_clash_no_two_overlap_and_each_of_them_does(held: int, rows: list[LimitRevision]) -> None:
    rows = [replace(row, limits_id=f"a-{number}") for number, row in enumerate(rows)]
    before = row_clashes._HELD  # noqa: SLF001 - so that what is put aside is seen with few rows
    row_clashes._HELD = held  # noqa: SLF001
    try:
        clashes = _clashes(rows)
    finally:
        row_clashes._HELD = before  # noqa: SLF001
    for clash in clashes:
        assert _overlap(rows[clash.row - 2], rows[clash.other - 2])
    kept = [row for number, row in enumerate(rows, 2) if number not in {clash.row for clash in clashes}]
    assert not [(one, other) for at, one in enumerate(kept) for other in kept[at + 1 :] if _overlap(one, other)]
    assert len({clash.row for clash in clashes}) == len(clashes)
