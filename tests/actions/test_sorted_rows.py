"""Rows come out in order, equal ones as they came, however many runs they were put aside in."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.actions import sorted_rows
from turnrule.actions.sorted_rows import SortedRows


@pytest.fixture(autouse=True)
def short_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Runs of 5 rows, merged by 3: some hundreds of rows are then as many as millions."""
    monkeypatch.setattr(sorted_rows, "RUN", 5)
    monkeypatch.setattr(sorted_rows, "WIDE", 3)


@pytest.mark.parametrize("count", [0, 1, 4, 5, 6, 15, 44, 45, 46, 135, 400, 1000])
def test_rows_come_out_in_order(count: int) -> None:
    chance = Random(count)
    rows = [(chance.randint(0, 20), number) for number in range(count)]
    with SortedRows[tuple[int, int]](key=lambda row: row[0]) as held:
        for row in rows:
            held.add(row)
        assert held.count == count
        assert list(held) == sorted(rows, key=lambda row: row[0])
        assert list(held) == sorted(rows, key=lambda row: row[0])


@given(st.lists(st.integers(-3, 3), max_size=200))
def test_equal_rows_come_as_they_came(keys: list[int]) -> None:
    with SortedRows[tuple[int, int]](key=lambda row: row[0]) as held:
        for number, key in enumerate(keys):
            held.add((key, number))
        assert list(held) == sorted((key, number) for number, key in enumerate(keys))


def test_few_files_are_open_however_many_rows_there_are() -> None:
    with SortedRows[int](key=int) as held:
        for number in range(5000):
            held.add(-number)
        assert held.files <= 14
        assert list(held) == list(range(-4999, 1))
