"""Laws of the quote check, on random quotes of random parts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from tests.judging.quote.quotes import EACH, LEFT, RIGHT, D, codes, on, too_little
from tests.judging.samples import DRUM, ROTOR, drum, rotor, verdict_on
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import AskedCut, EarlierReading, Part
from turnrule.judging.policy import Policy
from turnrule.judging.quote_check import QuoteCheck, check_quote, quote_summary
from turnrule.judging.quote_lines import Charge, KnownPart, Place, Quote, QuoteLine
from turnrule.judging.quote_targets import Work, asked_by, laid_out
from turnrule.judging.quote_words import FindingLevel, Operation, QuoteCode
from turnrule.judging.words import Axle, Face, Kind, LatheKind, Machining, PairRule, Ruling, Side, Unit

C = QuoteCode
SWAP = {LEFT: RIGHT, RIGHT: LEFT}


@dataclass(frozen=True, slots=True)
class Drawn:
    """A part with the limits that it is judged by; None is a part that nobody measured."""

    place: Place
    part: Part | None
    limits: LimitSet

    def known(self, policy: Policy, number: int) -> KnownPart:
        """The part as judged under a policy."""
        name = f"part {number}"
        if self.part is None:
            return KnownPart(name, self.place)
        nominal = self.limits.nominal
        return KnownPart(
            name, part=self.part, verdict=verdict_on(self.part, self.limits, policy=policy), new_size=nominal
        )


hundredths = st.integers(0, 250).map(lambda count: D(count).scaleb(-2))


@st.composite
def parts(draw: st.DrawFn, side: Side, axle: Axle) -> Drawn:
    """A rotor in front or a drum behind, good or bad, measured or not."""
    place = Place(axle, side, Kind.ROTOR if axle is Axle.FRONT else Kind.DRUM)
    limits = ROTOR if place.kind is Kind.ROTOR else DRUM
    permission = draw(st.sampled_from(Machining))
    known = draw(st.sampled_from(["all", "all", "all", "machining"]))
    limits = replace(limits, permission=permission, machining=None if known == "machining" else limits.machining)
    if draw(st.integers(0, 5)) == 0:
        return Drawn(place, None, limits)
    size = (D("23.8") if limits.kind.is_rotor else D("279.9")) + draw(hundredths)
    uneven = size + draw(st.sampled_from([D(0), D("0.03"), D("0.15")]))
    make = rotor if limits.kind.is_rotor else drum
    part = make(str(size), str(size), str(size), str(uneven), setup_runout=D(0))
    face = Face.INBOARD if limits.kind.is_rotor else Face.DEPTH
    grooves = draw(st.sampled_from([{}, {face: D("0.1")}, {face: D("0.5")}]))
    part = replace(
        part, readings=replace(part.readings, grooves=grooves), lathe=draw(st.sampled_from([None, *LatheKind]))
    )
    if draw(st.booleans()):
        earlier = size + D("0.4") if limits.kind.is_rotor else size - D("0.4")
        part = replace(part, odometer_km=D(60000), history=(EarlierReading(earlier, D(40000)),))
    return Drawn(place, on(part, side, axle), limits)


amounts = st.none() | st.integers(0, 20000).map(lambda cents: D(cents).scaleb(-2))
charges = st.builds(Charge, amounts, amounts, st.none() | st.just(D(5)))


@st.composite
def lines(draw: st.DrawFn, operations: st.SearchStrategy[Operation]) -> QuoteLine:
    """A line of any kind about either axle."""
    operation, axle = draw(operations), draw(st.sampled_from([Axle.FRONT, Axle.FRONT, Axle.REAR]))
    if operation is Operation.OTHER:
        return QuoteLine(operation, charge=draw(charges))
    depth = draw(hundredths)
    cut = AskedCut(depth, depth / 2) if axle is Axle.FRONT else AskedCut(depth=depth)
    return QuoteLine(
        operation,
        axle=axle,
        sides=draw(st.sampled_from([EACH, (LEFT,), (RIGHT,)])),
        kind=Kind.ROTOR if axle is Axle.FRONT else Kind.DRUM,
        cut=cut if operation is Operation.MACHINE and draw(st.booleans()) else None,
        lathe=draw(st.sampled_from([None, *LatheKind])),
        charge=draw(charges),
        currency=draw(st.sampled_from([None, None, None, "EUR", "CHF"])),
    )


policies = st.builds(
    Policy,
    pair_rule=st.sampled_from(PairRule),
    axle_difference=st.sampled_from([None, D("0.1"), D("0.5")]),
    face_balance=st.sampled_from([None, D("0.1")]),
    discard_margin=st.sampled_from([D(0), D("0.2")]),
    machining_margin=st.sampled_from([D(0), D("0.2")]),
    minimum_cut=st.sampled_from([D("0.05"), D("0.1")]),
    total_cut=st.sampled_from([None, D("0.5")]),
    groove_limit=st.sampled_from([D("0.38"), D("0.05")]),
)


@st.composite
def settings_of(draw: st.DrawFn) -> tuple[list[Drawn], tuple[QuoteLine, ...]]:
    """Up to four parts and some lines."""
    places = draw(st.lists(st.sampled_from([(s, a) for a in (Axle.FRONT, Axle.REAR) for s in EACH]), unique=True))
    drawn = [draw(parts(side, axle)) for side, axle in places]
    return drawn, tuple(draw(st.lists(lines(st.sampled_from(Operation)), max_size=5)))


def checked(
    drawn: list[Drawn],
    quoted: tuple[QuoteLine, ...],
    policy: Policy,
    *,
    judged_under: Policy | None = None,
    **more: object,
) -> QuoteCheck:
    """The check of a quote whose parts are judged under its policy, or under another one."""
    under = policy if judged_under is None else judged_under
    known = tuple(one.known(under, number) for number, one in enumerate(drawn))
    return check_quote(Quote(Unit.MM, quoted, known, **more), policy)  # type: ignore[arg-type]


@given(settings_of(), policies, amounts, st.sampled_from([None, "EUR"]))
def test_no_quote_crashes_and_every_finding_is_whole(
    setting: tuple[list[Drawn], tuple[QuoteLine, ...]], policy: Policy, total: Decimal | None, currency: str | None
) -> None:
    drawn, quoted = setting
    found = checked(drawn, quoted, policy, total=total, currency=currency)
    assert found.agrees is not any(
        one.level in {FindingLevel.CONTRADICTION, FindingLevel.MISSING} for one in found.findings
    )
    assert quote_summary(found).endswith(".")
    for one in found.findings:
        assert one.sentence[0].isupper()
        assert one.sentence[-1] in ".?"
        assert all(0 <= index < len(quoted) for index in one.lines)
        assert all(0 <= number < len(found.parts) for number in one.parts)


def swapped(drawn: list[Drawn], quoted: tuple[QuoteLine, ...]) -> tuple[list[Drawn], tuple[QuoteLine, ...]]:
    """The same with left and right changed over."""
    others = [
        Drawn(
            replace(one.place, side=SWAP[one.place.side or LEFT]),
            None if one.part is None else replace(one.part, side=SWAP[one.part.side or LEFT]),
            one.limits,
        )
        for one in drawn
    ]
    return others, tuple(replace(line, sides=tuple(SWAP[side] for side in line.sides)) for line in quoted)


@given(settings_of(), policies)
def test_swapping_sides_swaps_only_sides(setting: tuple[list[Drawn], tuple[QuoteLine, ...]], policy: Policy) -> None:
    straight, crossed = checked(*setting, policy), checked(*swapped(*setting), policy)

    def told(found: QuoteCheck, *, cross: bool) -> list[tuple[object, ...]]:
        def where(number: int) -> Place:
            place = found.parts[number].target.place
            return replace(place, side=SWAP[place.side]) if cross and place.side is not None else place

        return sorted(
            (one.code.value, one.lines, sorted(str(where(number)) for number in one.parts)) for one in found.findings
        )

    assert told(straight, cross=False) == told(crossed, cross=True)


@given(settings_of(), policies, st.data())
def test_a_line_that_is_right_adds_no_contradiction(
    setting: tuple[list[Drawn], tuple[QuoteLine, ...]], policy: Policy, data: st.DataObject
) -> None:
    drawn, quoted = setting
    before = checked(drawn, quoted, policy)
    wanted = [
        part.target
        for part in before.parts
        if part.quoted is Work.NONE
        and asked_by(part.target) is not Work.NONE
        and part.target.known.verdict is not None
        and part.target.known.verdict.limits.permission is not Machining.ON_VEHICLE_ONLY
    ]
    added = QuoteLine(Operation.OTHER, charge=Charge(D(3)))
    with_a_part = data.draw(st.booleans())
    if wanted and with_a_part:
        target = wanted[data.draw(st.integers(0, len(wanted) - 1))]
        operation = Operation.REPLACE if asked_by(target) is Work.REPLACED else Operation.MACHINE
        added = QuoteLine(operation, part=target.known.name, charge=Charge(D(50), D(20)))
    after = checked(drawn, (*quoted, added), policy)
    told = [
        {(one.code, one.parts) for one in found.findings if one.level is FindingLevel.CONTRADICTION}
        for found in (before, after)
    ]
    assert told[1] <= told[0]


@given(settings_of(), policies, st.sampled_from(PairRule))
def test_a_stricter_pair_rule_takes_back_no_contradiction_that_too_little_is_done(
    setting: tuple[list[Drawn], tuple[QuoteLine, ...]], policy: Policy, rule: PairRule
) -> None:
    rules = sorted({policy.pair_rule, rule}, key=list(PairRule).index)
    mild, strict = (
        checked(*setting, replace(policy, pair_rule=one), judged_under=policy) for one in (rules[0], rules[-1])
    )
    assert too_little(mild) <= too_little(strict)


@given(settings_of(), policies, policies)
def test_a_stricter_policy_never_clears_a_quote_that_does_too_little(
    setting: tuple[list[Drawn], tuple[QuoteLine, ...]], one: Policy, other: Policy
) -> None:
    strict = Policy(
        pair_rule=max(one.pair_rule, other.pair_rule, key=list(PairRule).index),
        axle_difference=_least(one.axle_difference, other.axle_difference),
        face_balance=_least(one.face_balance, other.face_balance),
        discard_margin=max(one.discard_margin, other.discard_margin),
        machining_margin=max(one.machining_margin, other.machining_margin),
        minimum_cut=max(one.minimum_cut, other.minimum_cut),
        total_cut=_least(one.total_cut, other.total_cut),
        groove_limit=min(one.groove_limit, other.groove_limit),
    )
    if too_little(checked(*setting, one)):
        assert not checked(*setting, strict).agrees


def _least(one: Decimal | None, other: Decimal | None) -> Decimal | None:
    given_ones = [bound for bound in (one, other) if bound is not None]
    return min(given_ones) if given_ones else None


@given(settings_of(), policies)
def test_inches_and_millimetres_agree(setting: tuple[list[Drawn], tuple[QuoteLine, ...]], policy: Policy) -> None:
    drawn, quoted = setting
    inches = [replace(one, part=None if one.part is None else replace(one.part, unit=Unit.IN)) for one in drawn]
    metric = checked(drawn, quoted, policy)
    known = tuple(one.known(policy, number) for number, one in enumerate(inches))
    imperial = check_quote(Quote(Unit.IN, quoted, known), policy)
    assert [(one.code, one.lines, one.parts, one.evidence) for one in metric.findings] == [
        (one.code, one.lines, one.parts, one.evidence) for one in imperial.findings
    ]


@given(settings_of(), policies)
def test_a_quote_that_does_what_every_verdict_asks_is_not_contradicted_by_any(
    setting: tuple[list[Drawn], tuple[QuoteLine, ...]], policy: Policy
) -> None:
    advised = replace(policy, pair_rule=PairRule.ADVISE, axle_difference=None)
    drawn, _ = setting
    known = tuple(one.known(advised, number) for number, one in enumerate(drawn))
    laid = laid_out(Quote(Unit.MM, (), known))
    operations = {Work.REPLACED: Operation.REPLACE, Work.MACHINED: Operation.MACHINE}
    quoted = tuple(
        QuoteLine(operations[work], part=target.known.name, lathe=LatheKind.ON_VEHICLE, charge=Charge(D(50), D(20)))
        for target in laid.targets
        if (work := asked_by(target)) is not Work.NONE
    )
    found = check_quote(Quote(Unit.MM, quoted, known), advised)
    assert not [code for code in codes(found) if code.level is FindingLevel.CONTRADICTION]
    open_ones = [one for one in known if one.verdict is not None and one.verdict.ruling is Ruling.INCONCLUSIVE]
    assert (C.VERDICT_INCONCLUSIVE in codes(found)) is bool(open_ones)
