"""Earlier readings out of stored verdicts: drawn once, kept beside the verdict that used them, and read back for ever.

Drawn are the records of the same vehicle, kind, axle and side, of the make and model that the request names, whose
odometer stands at or below today's: the newest 100 of them. A key that is bound to a site sees that site's alone.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import canonical, read_exact
from turnrule.actions.requests import ReadRequest
from turnrule.judging.lengths import to_mm
from turnrule.judging.parts import EarlierReading
from turnrule.judging.words import Stage, Unit
from turnrule.store.port import VerdictQuery, VerdictRecord

MOST_DRAWN = 100
"""So many readings are drawn, the newest."""

MOST_LOOKED_AT = 1000
"""Of so many records, the newest, they are drawn: those beyond today's odometer, or without a size, are passed over."""


def with_history(desk: Desk, request: ReadRequest) -> ReadRequest:
    """The request with the stored readings that it asks for, as whoever is at the desk may see them."""
    if not request.stored_history or request.part.drawn is not None:
        return request
    return replace(request, part=replace(request.part, drawn=_drawn(desk, request)))


def with_drawn(request: ReadRequest, drawn: bytes | None) -> ReadRequest:
    """The request with the very readings that were drawn for it before, as they were kept."""
    if drawn is None:
        return request
    return replace(request, part=replace(request.part, drawn=tuple(_reading(one) for one in read_exact(drawn))))


def as_kept(drawn: Sequence[EarlierReading] | None) -> bytes | None:
    """Drawn readings as they are kept beside a verdict, exactly."""
    return None if drawn is None else canonical([_document(one) for one in drawn])


def _drawn(desk: Desk, request: ReadRequest) -> tuple[EarlierReading, ...]:
    """The readings in the order of odometer and record; none where the request does not say which vehicle and part."""
    found: list[tuple[Decimal, int, EarlierReading]] = []
    for record in _records(desk, request):
        reading = _read(record, request)
        if reading is not None:
            found.append((reading.odometer_km, record.sequence, reading))
        if len(found) == MOST_DRAWN:
            break
    return tuple(reading for *_, reading in sorted(found, key=lambda one: one[:2]))


def _records(desk: Desk, request: ReadRequest) -> Iterator[VerdictRecord]:
    """The records of the same part of the vehicle, the newest first."""
    part, application = request.part, request.part.application
    if request.vehicle is None or part.side is None or application is None:
        return
    query = VerdictQuery(
        site=desk.site,
        kind=part.kind,
        make=application.make,
        model=application.model,
        vehicle=request.vehicle,
        axle=application.axle,
        side=part.side.value,
    )
    before: int | None = None
    for _ in range(MOST_LOOKED_AT // MOST_DRAWN):
        page = desk.store.newest_verdicts(query, before=before, limit=MOST_DRAWN)
        yield from page
        if len(page) < MOST_DRAWN:
            return
        before = page[-1].sequence


def _read(record: VerdictRecord, request: ReadRequest) -> EarlierReading | None:
    """What a record says of the size; None where it lies beyond today's odometer, or no size was read."""
    today = request.part.odometer_km
    if record.odometer_km is None or today is None or record.odometer_km > today:
        return None
    answer = read_exact(record.answer)
    size = answer["figures"]["least_thickness" if record.kind.is_rotor else "greatest_diameter"]
    if size is None:
        return None
    unit = Unit(answer["unit"])
    return EarlierReading(
        size=to_mm(size, unit),
        odometer_km=record.odometer_km,
        read_on=record.judged_at.date(),
        expanded=to_mm(answer["margins"]["guard_band"], unit),
        verdict=record.id,
        finished=read_exact(record.request).get("stage") == Stage.AFTER_MACHINING,
    )


def _document(reading: EarlierReading) -> dict[str, object]:
    return {
        "verdict": reading.verdict,
        "size": reading.size,
        "odometer_km": reading.odometer_km,
        "on": None if reading.read_on is None else reading.read_on.isoformat(),
        "expanded": reading.expanded,
        "finished": reading.finished,
    }


def _reading(kept: dict[str, Any]) -> EarlierReading:
    return EarlierReading(
        size=kept["size"],
        odometer_km=kept["odometer_km"],
        read_on=None if kept["on"] is None else datetime.date.fromisoformat(kept["on"]),
        expanded=kept["expanded"],
        verdict=kept["verdict"],
        finished=kept["finished"],
    )
