"""A depth split into passes: exact, few, within what the lathe takes, and honest where it cannot be done."""

from __future__ import annotations

import decimal
from decimal import Decimal

import pytest
from hypothesis import assume, given

from tests.judging.passes.samples import steps
from turnrule.judging.lengths import EXACT
from turnrule.judging.planning_words import NoPass
from turnrule.judging.splitting import MOST_PASSES, Depths, Unsplit, split

D = Decimal
LATHE = Depths(least=D("0.05"), greatest=D("0.4"), finishing=D("0.1"), step=D("0.001"))
NARROW = Depths(least=D("0.1"), greatest=D("0.15"), finishing=D("0.12"), step=D("0.001"))


def parts(depth: str, standing: str = "0", depths: Depths = LATHE) -> list[Decimal] | Unsplit:
    """The passes of a depth, as a list."""
    with decimal.localcontext(EXACT):
        found = split(D(depth), D(standing), depths)
    return found if isinstance(found, Unsplit) else list(found)


@pytest.mark.parametrize(
    ("depth", "passes"),
    [
        ("0.05", ["0.05"]),
        ("0.1", ["0.1"]),
        ("0.1001", ["0.05", "0.0501"]),
        ("0.3", ["0.2", "0.1"]),
        ("0.5", ["0.4", "0.1"]),
        ("0.5001", ["0.201", "0.1991", "0.1"]),
        ("1", ["0.3", "0.3", "0.3", "0.1"]),
        ("0.8", ["0.35", "0.35", "0.1"]),
        ("0.80005", ["0.351", "0.34905", "0.1"]),
    ],
)
def test_a_depth_is_shared_out_over_roughing_and_one_finishing_pass(depth: str, passes: list[str]) -> None:
    assert parts(depth) == [D(one) for one in passes]


def test_metal_that_stands_above_the_zero_is_cut_as_well() -> None:
    assert parts("0.1", "0.07") == [D("0.07"), D("0.1")]


@pytest.mark.parametrize(
    ("depth", "found"),
    [
        ("0", Unsplit(NoPass.NOTHING_TO_CUT)),
        ("0.0999", Unsplit(NoPass.BELOW_LEAST_DEPTH, more=D("0.1"))),
        ("0.18", Unsplit(NoPass.CANNOT_BE_SPLIT, D("0.12"), D("0.2"))),
        ("0.28", Unsplit(NoPass.CANNOT_BE_SPLIT, D("0.27"), D("0.3"))),
        ("15", Unsplit(NoPass.TOO_MANY_PASSES)),
        ("1E+12", Unsplit(NoPass.TOO_MANY_PASSES)),
    ],
)
def test_what_cannot_be_split_says_why_and_names_its_neighbours(depth: str, found: Unsplit) -> None:
    assert parts(depth, depths=NARROW) == found


def test_a_neighbour_that_metal_above_the_zero_rules_out_is_not_named() -> None:
    assert parts("0.11", "0.07", NARROW) == Unsplit(NoPass.CANNOT_BE_SPLIT, None, D("0.13"))


def test_a_neighbour_of_just_the_least_depth_is_named() -> None:
    assert parts("0.15", "0.02", NARROW) == Unsplit(NoPass.CANNOT_BE_SPLIT, D("0.1"), D("0.18"))


def test_the_dial_gives_way_where_rounding_up_would_leave_too_little_for_a_later_pass() -> None:
    shallow = Depths(least=D("0.0505"), greatest=D("0.06"), finishing=D("0.0505"), step=D("0.001"))
    assert parts("0.1515", depths=shallow) == [D("0.0505")] * 3


def test_the_dial_gives_way_where_rounding_up_would_be_too_deep() -> None:
    odd = Depths(least=D("0.05"), greatest=D("0.10000004"), finishing=D("0.05"), step=D("0.001"))
    assert parts("0.3500001", depths=odd) == [D("0.10000004"), D("0.10000004"), D("0.10000002"), D("0.05")]


def test_a_part_that_bears_less_than_the_lathe_can_take_is_not_cut() -> None:
    shy = Depths(least=D("0.05"), greatest=D("0.04"), finishing=D("0.04"), step=D("0.001"))
    assert parts("0.1", depths=shy) == Unsplit(NoPass.LATHE_TOO_COARSE)


@given(
    steps(1, 2500, "0.0013"),
    steps(0, 300, "0.0007"),
    steps(10, 200, "0.0007"),
    steps(0, 200, "0.0009"),
    steps(0, 400, "0.0011"),
    steps(1, 20),
)
def test_every_split_is_exact_and_every_refusal_is_true(
    depth: Decimal, standing: Decimal, least: Decimal, more: Decimal, most: Decimal, step: Decimal
) -> None:
    depths = Depths(least, least + more + most, least + more, step)
    with decimal.localcontext(EXACT):
        found = split(depth, standing, depths)
    total = depth + standing
    if not isinstance(found, Unsplit):
        assert sum(found) == total
        assert all(depths.least <= one <= depths.greatest for one in found)
        assert found[-1] <= depths.finishing
        assert total > (len(found) - 2) * depths.greatest + depths.finishing or len(found) == 1
        return
    if found.reason is NoPass.BELOW_LEAST_DEPTH:
        assert depth < depths.least == found.more
    elif found.reason is NoPass.CANNOT_BE_SPLIT:
        counts = range(1, 200)
        assert not any(
            count * depths.least <= total <= (count - 1) * depths.greatest + depths.finishing for count in counts
        )
    else:
        assert found.reason is NoPass.TOO_MANY_PASSES
        assert total > (MOST_PASSES - 1) * depths.greatest + depths.finishing


@given(steps(1, 400, "0.0013"), steps(0, 300, "0.0007"), steps(60, 200, "0.0007"), steps(0, 30), steps(0, 30))
def test_the_neighbours_that_are_named_can_be_made(
    depth: Decimal, standing: Decimal, least: Decimal, more: Decimal, most: Decimal
) -> None:
    depths = Depths(least, least + more + most, least + more, D("0.001"))
    with decimal.localcontext(EXACT):
        found = split(depth, standing, depths)
        assume(isinstance(found, Unsplit))
        assert isinstance(found, Unsplit)
        assert found.more is not None
        assert found.more > depth
        assert found.less is None or found.less < depth
        for neighbour in (found.less, found.more):
            if neighbour is not None and found.reason is NoPass.CANNOT_BE_SPLIT:
                assert not isinstance(split(neighbour, standing, depths), Unsplit)
