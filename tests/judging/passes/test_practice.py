"""What the build of a part allows at the lathe: the pack's figures, the strictest of them where there are several."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from turnrule.judging.lathe_job import PracticeFigures
from turnrule.judging.lathe_practice import figures_for
from turnrule.judging.words import Construction
from turnrule.pack import load_pack

D = Decimal
BOOK = load_pack(Path(__file__).parents[3] / "reference").catalogue
"""Common practice, no source: 0.1 mm a pass and 100 turns a minute, for an interrupted cut and a composite part."""


@pytest.mark.parametrize("built", [Construction.DRILLED, Construction.SLOTTED])
def test_a_cut_that_is_interrupted_is_light_and_slow(built: Construction) -> None:
    found = figures_for([built], BOOK)
    assert found == PracticeFigures(D("0.1"), D(100), ("drilled_or_slotted_part",))


def test_a_composite_part_has_its_own_figures_and_caution() -> None:
    assert figures_for([Construction.COMPOSITE], BOOK) == PracticeFigures(D("0.1"), D(100), ("composite_part",))


def test_other_builds_bound_nothing() -> None:
    assert figures_for([None, Construction.VENTED, Construction.COATED], BOOK) == PracticeFigures()


def test_of_two_builds_the_strictest_figures_and_both_cautions_hold() -> None:
    figures = BOOK.practice | {
        "composite_cut_depth_greatest": replace(BOOK.practice["composite_cut_depth_greatest"], value=D("0.05")),
        "interrupted_cut_speed_greatest": replace(BOOK.practice["interrupted_cut_speed_greatest"], value=D(80)),
    }
    found = figures_for([Construction.SLOTTED, Construction.COMPOSITE], replace(BOOK, practice=figures))
    assert found == PracticeFigures(D("0.05"), D(80), ("drilled_or_slotted_part", "composite_part"))
