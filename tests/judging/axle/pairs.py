"""Pairs of parts, judged each by itself: plain ones for examples, random ones for the laws."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from hypothesis import strategies as st

from tests.judging.laws.strategies import Setting, maybe, steps
from tests.judging.samples import drum, record_of, rotor, verdict_on
from turnrule.judging.axle import AxleVerdict, judge_axle
from turnrule.judging.axle_sides import AxleSide
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import AskedCut, Part, Readings
from turnrule.judging.policy import Policy
from turnrule.judging.words import DecisionRule, Face, Kind, LatheKind, Machining, PairRule, Side, Stage, Unit, Zero

D = Decimal
MACHINED_ALIKE = Policy(pair_rule=PairRule.MACHINE_BOTH)
REPLACED_ALIKE = Policy(pair_rule=PairRule.REPLACE_BOTH)


def judged(
    part: Part, policy: Policy | None = None, limits: LimitSet | None = None, new: str | None = None
) -> AxleSide:
    """A part with its own verdict under the sample limits, and the size of a new one if given."""
    verdict = verdict_on(part, limits, policy=policy or Policy())
    return AxleSide(part, verdict, None if new is None else D(new))


def good(size: str, cut: AskedCut | None = None) -> Part:
    """A rotor that needs nothing; a cut may be asked for all the same."""
    return replace(rotor(*[size] * 4, setup_runout=D(0)), cut=cut)


def uneven(size: str, cut: AskedCut | None = None) -> Part:
    """A rotor whose thickness varies too much; `size` is its least thickness."""
    return replace(rotor(size, size, size, str(D(size) + D("0.03")), setup_runout=D(0)), cut=cut)


def good_drum(size: str) -> Part:
    """A drum that needs nothing."""
    return drum(*[size] * 4, setup_runout=D(0))


def oval(size: str) -> Part:
    """A drum that is out of round; `size` is its greatest diameter."""
    return drum(size, size, size, str(D(size) - D("0.2")), setup_runout=D(0))


def on_axle(left: Part | None, right: Part | None, policy: Policy | None = None, **more: LimitSet) -> AxleVerdict:
    """The axle of two parts under one policy."""
    known = policy or Policy()
    one, other = (None if part is None else judged(part, known, more.get("limits")) for part in (left, right))
    return judge_axle(one, other, known)


@dataclass(frozen=True, slots=True)
class Pairing:
    """Two parts under the same limits and policy; either side may not be measured."""

    setting: Setting
    left: Part | None
    right: Part | None
    new_left: Decimal | None
    new_right: Decimal | None

    def verdict(self, *, policy: Policy | None = None, swapped: bool = False) -> AxleVerdict:
        """Judge the axle, under another policy or with its sides swapped."""
        known = policy or self.setting.policy
        left = self._side(self.left, self.new_left, Side.LEFT if not swapped else Side.RIGHT)
        right = self._side(self.right, self.new_right, Side.RIGHT if not swapped else Side.LEFT)
        return judge_axle(*((right, left) if swapped else (left, right)), known)

    def _side(self, part: Part | None, new: Decimal | None, side: Side) -> AxleSide | None:
        if part is None:
            return None
        placed = replace(part, side=side)
        return AxleSide(placed, replace(self.setting, part=placed).verdict(), new)


PLACES = {True: (D(20), 1), False: (D(280), -1)}
"""By whether it is a rotor: the discard limit, and which way more metal lies."""


@st.composite
def _parts(draw: st.DrawFn, *, rotor: bool) -> Part:
    """A part within a millimetre or so of its limits, mostly good in itself."""
    discard, sense = PLACES[rotor]
    size = discard + sense * (D("1.5") - draw(steps(0, 1520)))
    spread = draw(st.sampled_from([D(0), D("0.01"), D("0.1")]))
    read_at_all = draw(st.sampled_from([True] * 15 + [False]))
    groove = draw(st.sampled_from([None, None, D("0.05"), D("0.2"), D("0.4")]))
    face = Face.INBOARD if rotor else Face.DEPTH
    asked = draw(st.none() | st.none() | st.tuples(steps(0, 150), steps(0, 150)))
    cut = None
    if asked is not None:
        zero = draw(st.sampled_from(Zero))
        cut = AskedCut(*asked, zero=zero) if rotor else AskedCut(depth=asked[0], zero=zero)
    return Part(
        Unit.MM,
        Kind.ROTOR if rotor else Kind.DRUM,
        Readings(
            track=(size, size, size, size + sense * spread) if read_at_all else (),
            setup_runout=draw(st.sampled_from([D(0), D("0.05"), None])),
            grooves={} if groove is None else {face: groove},
        ),
        stage=draw(st.sampled_from([*[Stage.BEFORE_MACHINING] * 5, Stage.AFTER_MACHINING])),
        cut=cut,
        lathe=draw(st.sampled_from([None, *LatheKind])),
    )


@st.composite
def _limit_sets(draw: st.DrawFn, *, rotor: bool) -> LimitSet:
    """Limits around the sizes of the parts; a machining limit and a permission are not always known."""
    discard, sense = PLACES[rotor]
    known = draw(st.sampled_from([True, True, False]))
    return LimitSet(
        Kind.ROTOR if rotor else Kind.DRUM,
        machining=discard + sense * draw(steps(0, 500)) if known else None,
        discard=discard,
        maximum_thickness_variation=D("0.03") if rotor else None,
        maximum_out_of_round=None if rotor else D("0.03"),
        permission=draw(st.sampled_from([*[Machining.PERMITTED] * 5, *Machining])),
    )


POLICIES = st.builds(
    Policy,
    decision_rule=st.sampled_from(DecisionRule),
    wear_allowance=st.sampled_from([D(0), D("0.2")]),
    derive_machining_limit=st.booleans(),
    minimum_cut=st.sampled_from([D("0.05"), D("0.1")]),
    groove_limit=st.just(D("0.3")),
    total_cut=st.none() | steps(100, 900),
    face_balance=st.none() | steps(0, 300),
    axle_difference=maybe(steps(0, 400)),
    pair_rule=st.sampled_from(PairRule),
)


@st.composite
def pairings(draw: st.DrawFn) -> Pairing:
    """Any two parts of one kind under the same limits and any policy."""
    rotor = draw(st.booleans())
    discard, sense = PLACES[rotor]
    left, right = draw(_parts(rotor=rotor)), draw(_parts(rotor=rotor))
    missing: Side | None = draw(st.sampled_from([*[None] * 8, *Side]))
    new = st.none() | steps(500, 1500).map(lambda more: discard + sense * more)
    return Pairing(
        Setting(left, record_of(draw(_limit_sets(rotor=rotor))), None, draw(POLICIES)),
        None if missing is Side.LEFT else left,
        None if missing is Side.RIGHT else right,
        draw(new),
        draw(new),
    )
