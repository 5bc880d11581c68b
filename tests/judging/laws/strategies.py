"""Random parts, limits and policies for the laws: wide enough to reach every verdict, near enough to matter."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeVar

from hypothesis import strategies as st

from tests.judging.samples import CATALOGUE, TODAY, record_of
from turnrule.judging.judge import judge
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.parts import (
    AskedCut,
    BeforeMachining,
    CutMade,
    EarlierReading,
    Instrument,
    Part,
    Readings,
    ReportedFinding,
)
from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import (
    DecisionRule,
    Effect,
    Face,
    Kind,
    LatheKind,
    Machining,
    Overdue,
    PairRule,
    Reading,
    Ruling,
    RunoutPlace,
    Stage,
    Unit,
    Zero,
)

T = TypeVar("T")


def steps(low: int, high: int, digit: str = "0.001") -> st.SearchStrategy[Decimal]:
    """Multiples of a least digit."""
    return st.integers(low, high).map(lambda count: count * Decimal(digit))


def maybe(strategy: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    """The strategy's values, or None."""
    return st.none() | strategy


@dataclass(frozen=True, slots=True)
class Setting:
    """Everything that one judgement is made from."""

    part: Part
    record: Record | None
    caller: LimitSet | None
    policy: Policy

    def verdict(self) -> Verdict:
        """Judge it."""
        return judge(
            self.part,
            record=self.record,
            caller=self.caller,
            policy=self.policy,
            catalogue=CATALOGUE,
            on=TODAY,
        )


FINDINGS = st.builds(
    ReportedFinding,
    code=st.sampled_from(sorted(CATALOGUE.findings.keys() - {"vane_rust"})),
    depth=maybe(steps(0, 800)),
)


@st.composite
def limit_sets(draw: st.DrawFn, kind: Kind, *, whole: bool = False) -> LimitSet:
    """Limits in the right order; unless `whole`, with anything left out that a document may leave out."""
    rotor = kind.is_rotor
    sign = 1 if rotor else -1
    discard = draw(steps(19_900, 20_100) if rotor else steps(279_900, 280_100))
    reserve = draw(steps(0, 800))
    return LimitSet(
        kind,
        nominal=draw(maybe(st.just(discard + sign * (reserve + Decimal(2))))),
        machining=discard + sign * reserve if whole else draw(maybe(st.just(discard + sign * reserve))),
        discard=discard if whole else draw(maybe(st.just(discard))),
        maximum_lateral_runout=draw(maybe(steps(20, 120))) if rotor else None,
        maximum_thickness_variation=draw(maybe(steps(5, 50))) if rotor else None,
        maximum_out_of_round=None if rotor else draw(maybe(steps(20, 200))),
        maximum_taper=draw(maybe(steps(10, 100))),
        permission=Machining.PERMITTED if whole else draw(st.sampled_from(Machining)),
    )


@st.composite
def tracks(draw: st.DrawFn, middle: Decimal) -> tuple[Decimal, ...]:
    """Readings of one track, close to a middle size."""
    count = draw(st.sampled_from([1, 3, 4, 4, 8]))
    shift = draw(steps(-300, 1500))
    return tuple(middle + shift + step for step in draw(st.lists(steps(0, 60), min_size=count, max_size=count)))


@st.composite
def readings(draw: st.DrawFn, kind: Kind) -> Readings:
    """Readings of one part; any may be missing."""
    rotor = kind.is_rotor
    middle = Decimal(20) if rotor else Decimal(279)
    track = draw(tracks(middle) | tracks(middle) | tracks(middle) | st.just(()))
    inner = draw(st.just(()) | tracks(middle)) if track else ()
    faces = (Face.INBOARD, Face.OUTBOARD) if rotor else (Face.DEPTH,)
    grooves = draw(st.just({}) | st.fixed_dictionaries({face: steps(0, 700) for face in faces}))
    trace: tuple[Decimal, ...] = ()
    if rotor and draw(st.booleans()):
        count = len(track) if len(track) > 3 and draw(st.booleans()) else 6
        trace = tuple(draw(st.lists(steps(-60, 60), min_size=count, max_size=count)))
    return Readings(
        track=track,
        inner_track=inner,
        lateral_runout=draw(maybe(steps(0, 150))) if rotor else None,
        runout_trace=trace,
        runout_read_on=draw(st.sampled_from(RunoutPlace)),
        setup_runout=draw(maybe(steps(0, 100))),
        grooves=grooves,
        surface_roughness=draw(maybe(steps(0, 4000, "0.000001"))),
        part_temperature_c=draw(maybe(st.integers(-20, 120).map(Decimal))),
    )


@st.composite
def cuts(draw: st.DrawFn, kind: Kind) -> AskedCut:
    """An asked-for cut."""
    depth = steps(0, 700)
    zero = draw(st.sampled_from(Zero))
    if kind.is_rotor:
        return AskedCut(inboard=draw(depth), outboard=draw(depth), zero=zero)
    return AskedCut(depth=draw(depth), zero=zero)


INSTRUMENTS = st.builds(
    Instrument,
    resolution=maybe(steps(1, 50)),
    expanded_uncertainty=maybe(steps(0, 30)),
    repeatability=maybe(steps(0, 20)),
    calibration_due=maybe(st.dates(datetime.date(2026, 6, 1), datetime.date(2027, 6, 1))),
)


@st.composite
def policies(draw: st.DrawFn) -> Policy:
    """Any policy that the rules allow."""
    margin = st.just(Decimal(0)) | steps(0, 300)
    return Policy(
        decision_rule=draw(st.sampled_from(DecisionRule)),
        instrument=InstrumentDefaults(draw(steps(1, 20)), draw(steps(0, 20)), draw(steps(0, 10))),
        minimum_points=draw(st.integers(1, 8)),
        require=draw(st.frozensets(st.sampled_from(Reading), max_size=2)),
        discard_margin=draw(margin),
        machining_margin=draw(margin),
        wear_allowance=draw(margin),
        derive_machining_limit=draw(st.booleans()),
        axle_difference=draw(maybe(steps(0, 1500))),
        pair_rule=draw(st.sampled_from(PairRule)),
        maximum_runout=draw(maybe(steps(20, 120))),
        maximum_thickness_variation=draw(maybe(steps(5, 50))),
        maximum_out_of_round=draw(maybe(steps(20, 200))),
        maximum_taper=draw(maybe(steps(10, 100))),
        groove_limit=draw(steps(0, 380)),
        minimum_cut=draw(steps(50, 200)),
        total_cut=draw(maybe(steps(0, 1000))),
        face_balance=draw(maybe(steps(0, 300))),
        remaining_distance_km=draw(maybe(st.integers(1, 60_000).map(Decimal))),
        findings=draw(
            st.dictionaries(st.sampled_from(sorted(CATALOGUE.findings)), st.sampled_from(Effect), max_size=2)
        ),
        regulations=tuple(draw(st.lists(st.sampled_from(sorted(CATALOGUE.regulations)), max_size=2, unique=True))),
        jurisdictions=draw(st.sampled_from([(), (), (), ("hill_state",)])),
        limits_review_due=draw(st.sampled_from(Overdue)),
        calibration_overdue=draw(st.sampled_from(Overdue)),
    )


def cuts_made(kind: Kind) -> st.SearchStrategy[CutMade]:
    """The cut that a finished part of this kind was given."""
    if kind.is_rotor:
        return st.builds(CutMade, inboard=steps(0, 500), outboard=steps(0, 500))
    return st.builds(CutMade, depth=steps(0, 500))


def found_before(base: Decimal, *, rotor: bool) -> st.SearchStrategy[BeforeMachining]:
    """What was found of a part about as large before it was machined."""
    return st.builds(
        BeforeMachining,
        id=st.just("before"),
        digest=st.just("sha256:0"),
        ruling=st.just(Ruling.MACHINE),
        worst=maybe(steps(-500, 1500).map(lambda step: base + (step if rotor else -step))),
        mean=maybe(steps(-500, 1500).map(lambda step: base + (step if rotor else -step))),
        clean_up=st.none(),
        expanded=steps(0, 20),
    )


@st.composite
def parts(draw: st.DrawFn, kind: Kind, *, told: bool = True) -> Part:
    """A part of this kind; `told`: of a finished one it may be told what was done at the lathe."""
    taken = draw(readings(kind))
    size = st.just(()) | st.lists(
        st.builds(
            EarlierReading,
            size=steps(20_000, 22_500) if kind.is_rotor else steps(278_000, 280_000),
            odometer_km=st.integers(0, 50_000).map(Decimal),
        ),
        max_size=3,
    ).map(tuple)
    base = Decimal(20) if kind.is_rotor else Decimal(280)
    stage = draw(st.sampled_from(Stage))
    finished = told and stage is Stage.AFTER_MACHINING
    return Part(
        unit=Unit.MM,
        kind=kind,
        readings=taken,
        stage=stage,
        cut_made=draw(maybe(cuts_made(kind))) if finished else None,
        before=draw(maybe(found_before(base, rotor=kind.is_rotor))) if finished else None,
        marking=draw(maybe(steps(-150, 150).map(lambda step: base + step))),
        findings=tuple(draw(st.lists(FINDINGS, max_size=2))),
        instrument=draw(INSTRUMENTS),
        cut=draw(maybe(cuts(kind))),
        lathe=draw(maybe(st.sampled_from(LatheKind))),
        odometer_km=Decimal(60_000),
        history=draw(size),
    )


@st.composite
def settings(draw: st.DrawFn, *, whole: bool = False) -> Setting:
    """A whole judgement: part, limits from the store or the caller or both, policy.

    With `whole`, the limits of strength are all there and machining is permitted.
    """
    kind = draw(st.sampled_from(Kind))
    limits, caller = draw(limit_sets(kind, whole=whole)), draw(limit_sets(kind, whole=whole))
    which = draw(st.sampled_from(["record", "record", "record", "caller", "both"]))
    due = draw(maybe(st.dates(datetime.date(2026, 1, 1), datetime.date(2027, 6, 1))))
    return Setting(
        part=draw(parts(kind, told=not whole)),
        record=record_of(limits, due) if which != "caller" else None,
        caller=caller if which != "record" else None,
        policy=draw(policies()),
    )


@st.composite
def near_the_discard_limit(draw: st.DrawFn) -> Setting:
    """A part within its guard band of the discard limit, under the guarded rule."""
    setting = draw(settings(whole=True))
    rotor = setting.part.kind.is_rotor
    known = [limits.discard for limits in (setting.caller, setting.record and setting.record.limits) if limits]
    margins = [value for value in (*known, setting.part.marking) if value is not None]
    strict = (max if rotor else min)(margins)
    margin = setting.policy.discard_margin
    step = draw(steps(1, 25, "0.0001"))
    size = strict + margin + step if rotor else strict - margin - step
    return replace(
        setting,
        part=replace(
            setting.part,
            readings=Readings(track=(size,) * 4, setup_runout=Decimal(0)),
            findings=(),
            cut=None,
            history=(),
            stage=Stage.BEFORE_MACHINING,
        ),
        policy=replace(setting.policy, decision_rule=DecisionRule.GUARDED, regulations=()),
    )
