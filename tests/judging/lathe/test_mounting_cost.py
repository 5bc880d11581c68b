"""What a mount costs in metal, and whether the part can pay."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judging.samples import drum, rotor, verdict_on
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_words import Missing
from turnrule.judging.mounting_cost import Affordance, afford
from turnrule.judging.policy import Policy
from turnrule.judging.words import DecisionRule, Kind

D = Decimal


def test_a_rotor_loses_the_whole_runout_of_its_mount() -> None:
    found = afford(
        Kind.ROTOR,
        clean_up=D("24.94"),
        cut=D("0.2"),
        mount_runout=D("0.15"),
        limits=(D("24.6"), D("24.0")),
        guard=D("0.0071"),
    )
    assert found == Affordance(D("24.74"), D("24.59"), True, False, D("0.1329"))


def test_a_drum_is_bored_wider_by_the_whole_runout_of_its_mount() -> None:
    found = afford(Kind.DRUM, clean_up=D("281.0"), cut=D("0.4"), mount_runout=D("0.1"), limits=(D("281.5"), D("282.0")))
    assert found == Affordance(D("281.4"), D("281.5"), True, True, D("0.1"))


def test_a_part_that_cannot_be_cut_anyway_has_no_runout_to_spare() -> None:
    found = afford(Kind.ROTOR, clean_up=D(24), cut=D("0.2"), mount_runout=D(0), limits=(D(24),))
    assert (found.affordable_mounted_right, found.affordable_as_mounted, found.most_mount_runout) == (
        False,
        False,
        None,
    )


def test_a_part_cut_to_its_limit_affords_no_runout_at_all() -> None:
    found = afford(Kind.ROTOR, clean_up=D("24.2"), cut=D("0.2"), mount_runout=D("0.001"), limits=(D(24),))
    assert (found.affordable_mounted_right, found.affordable_as_mounted) == (True, False)
    assert found.most_mount_runout == 0


def test_without_limits_the_sizes_are_told_and_the_limits_are_missing() -> None:
    found = afford(Kind.ROTOR, clean_up=D(24), cut=D("0.2"), mount_runout=D("0.1"), limits=())
    assert found == Affordance(D("23.8"), D("23.7"), None, None, None, (Missing.LIMITS,))


@given(
    st.sampled_from([Kind.ROTOR, Kind.DRUM]),
    st.integers(-500, 1500),
    st.integers(0, 500),
    st.integers(0, 500),
    st.sampled_from(DecisionRule),
)
def test_the_part_affords_what_the_room_of_its_verdict_leaves(
    kind: Kind, spare: int, cut: int, wobble: int, rule: DecisionRule
) -> None:
    """No cut and mount together ever take more than the room, and none within it is refused."""
    over, depth, runout = (k * D("0.001") for k in (spare, cut, wobble))
    size = D("24.6") + over if kind.is_rotor else D("281.5") - over
    part = rotor(str(size), setup_runout=D(0)) if kind.is_rotor else drum(str(size), setup_runout=D(0))
    verdict = verdict_on(part, policy=Policy(decision_rule=rule))
    room, limits = verdict.room.most_total_cut, (verdict.limits.machining, verdict.limits.discard)
    assert verdict.figures.clean_up is not None
    found = afford(
        kind,
        clean_up=verdict.figures.clean_up,
        cut=2 * depth,
        mount_runout=runout,
        limits=[limit.value for limit in limits if limit is not None],
        guard=verdict.margins.guard_band if rule is DecisionRule.GUARDED else D(0),
    )
    taken = 2 * depth + runout if kind.is_rotor else depth + runout / 2
    assert found.affordable_as_mounted is (room is not None and taken <= room)
    if found.most_mount_runout is not None:
        assert room is not None
        assert found.most_mount_runout == (room - 2 * depth if kind.is_rotor else 2 * (room - depth))


def test_figures_below_nothing_are_refused_all_at_once() -> None:
    with pytest.raises(LatheDataError) as raised:
        afford(Kind.ROTOR, clean_up=D(0), cut=D(-1), mount_runout=D(-1), limits=(), guard=D(-1))
    assert [fault.pointer for fault in raised.value.faults] == ["/clean_up", "/cut", "/mount_runout", "/guard_band"]
