"""What an earlier verdict found of a part before it was machined, for the verdict on the finished part.

A record never changes, so that whoever judges the finished part again reads the same figures by the same id.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import read_exact
from turnrule.actions.requests import ReadRequest
from turnrule.judging.faults import Fault
from turnrule.judging.lengths import to_mm
from turnrule.judging.parts import BeforeMachining
from turnrule.judging.words import Stage, Unit
from turnrule.store.folding import fold
from turnrule.store.port import VerdictRecord

_OTHER = "not_the_same_part"


def before_machining(desk: Desk, request: ReadRequest) -> tuple[BeforeMachining | None, tuple[Fault, ...]]:
    """What the verdict that the request names found, and why it cannot serve; neither where it names none.

    Whoever works at a desk of a site sees that site's verdicts only.
    """
    if request.before is None:
        return None, ()
    record = desk.store.verdict(request.before)
    if record is None or (desk.site is not None and record.site != desk.site):
        detail = "there is no such verdict that this key may see; give the id of the verdict before machining"
        return None, (Fault("/before", "verdict_not_found", detail),)
    faults = tuple(_faults(record, request))
    return (None, faults) if faults else (_found(record), ())


def stage_of(record: VerdictRecord) -> Stage:
    """When the readings of a stored verdict were taken."""
    return Stage(read_exact(record.request).get("stage", Stage.BEFORE_MACHINING))


def _faults(record: VerdictRecord, request: ReadRequest) -> Iterator[Fault]:
    """Why the earlier verdict cannot be one on this part before machining."""
    if stage_of(record) is not Stage.BEFORE_MACHINING:
        detail = "that verdict is on a part that was machined already; give the one before machining"
        yield Fault("/before", "not_before_machining", detail)
    for pointer, then, now in _told_twice(record, request):
        if then is not None and now is not None and then != now:
            detail = f"the verdict that before names is on another part: it has {then}; give its id, or mend this"
            yield Fault(pointer, _OTHER, detail)


def _told_twice(record: VerdictRecord, request: ReadRequest) -> Iterator[tuple[str, object, object]]:
    """What both say of the part, by the place in the request; names are compared as the store finds them."""
    part = request.part
    yield "/kind", record.kind, part.kind
    yield "/vehicle/label", record.vehicle, request.vehicle
    yield "/side", record.side, part.side.value if part.side is not None else None
    fitted = part.application
    if fitted is not None:
        yield "/application/make", _folded(record.make), _folded(fitted.make)
        yield "/application/model", _folded(record.model), _folded(fitted.model)
        yield "/application/year", record.year, fitted.year
        yield "/application/axle", record.axle, fitted.axle
        option = read_exact(record.request).get("application", {}).get("brake_option")
        yield "/application/brake_option", _folded(option), _folded(fitted.brake_option)


def _folded(name: str | None) -> str | None:
    return None if name is None else fold(name)


def _found(record: VerdictRecord) -> BeforeMachining:
    """The figures of the answer as it was sent, in mm."""
    answer = read_exact(record.answer)
    unit, figures = Unit(answer["unit"]), answer["figures"]
    worst, size = ("least", "thickness") if record.kind.is_rotor else ("greatest", "diameter")

    def length(value: Decimal | None) -> Decimal | None:
        return None if value is None else to_mm(value, unit)

    return BeforeMachining(
        id=record.id,
        digest=record.digest,
        ruling=record.ruling,
        worst=length(figures[f"{worst}_{size}"]),
        mean=length(figures[f"mean_{size}"]),
        clean_up=length(figures[f"clean_up_{size}"]),
        expanded=to_mm(answer["margins"]["guard_band"], unit),
    )
