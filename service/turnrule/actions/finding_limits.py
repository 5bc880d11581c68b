"""Which limits record is for a part: by vehicle, axle, year and brake option, in one release, on one day."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Sequence
from dataclasses import dataclass

from turnrule.actions.desk import Desk
from turnrule.actions.refusals import RefusedError, refused
from turnrule.judging.parts import Application
from turnrule.judging.words import Kind
from turnrule.store.folding import fold
from turnrule.store.port import LimitQuery, LimitRevision

NOT_FOUND = "application_not_found"
MOST_RECORDS = 100
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class FoundLimits:
    """The record that serves; `assumed_option` is its brake option where the request named none."""

    revision: LimitRevision
    assumed_option: str | None = None


def look_up(
    desk: Desk, application: Application, kind: Kind, *, release: int | None, on: datetime.date
) -> FoundLimits | None:
    """The record for an application, None where the store has none; raises `RefusedError` where several are."""
    rows = desk.store.limits(
        LimitQuery(
            make=application.make,
            model=application.model,
            year=application.year,
            axle=application.axle,
            kind=kind,
            release=release,
            on=on,
        ),
        limit=MOST_RECORDS,
    )
    if application.brake_option is None:
        return _without_option(rows)
    wanted = fold(application.brake_option)
    named = [row for row in rows if row.fits.brake_option is not None and fold(row.fits.brake_option) == wanted]
    fitting = named or [row for row in rows if row.fits.brake_option is None]
    if len(fitting) > 1:
        raise _ambiguous(fitting)
    return FoundLimits(fitting[0]) if fitting else None


def _without_option(rows: Sequence[LimitRevision]) -> FoundLimits | None:
    if not rows:
        return None
    if len(rows) == 1:
        return FoundLimits(rows[0], rows[0].fits.brake_option)
    options = sorted({row.fits.brake_option or "" for row in rows})
    if len(options) < len(rows):
        raise _ambiguous(rows)
    names = ", ".join(repr(option) if option else "none of these" for option in options)
    raise refused(
        "brake_option_needed",
        "/application/brake_option",
        f"this vehicle was built with more than one brake; name the one on it: {names}",
    )


def _ambiguous(rows: Sequence[LimitRevision]) -> RefusedError:
    ids = ", ".join(sorted(row.limits_id for row in rows))
    return refused(
        "application_ambiguous",
        "/application",
        f"more than one record is for this part ({ids}); which of them holds has to be settled in the store first",
    )


def not_found(
    desk: Desk, application: Application, kind: Kind, *, release: int | None, on: datetime.date
) -> RefusedError:
    """The refusal for an application that the store does not hold, naming what comes nearest."""
    asked = _described(application)
    held = _same_vehicle(desk, application, kind, release=release, on=on)
    if held:
        hint = f"of this vehicle it holds {'; '.join(held)}"
    else:
        near = _nearest_vehicles(desk, application, kind)
        hint = f"nearest are {', '.join(near)}" if near else "nothing comes near it"
    detail = (
        f"the store holds no limits for {asked} ({kind.value.replace('_', ' ')}); {hint}. "
        "Give limits, or leave application out to judge by the marking alone"
    )
    return refused(NOT_FOUND, "/application", detail)


def _described(application: Application) -> str:
    option = f", option {application.brake_option}" if application.brake_option is not None else ""
    return f"{application.make} {application.model} {application.year} {application.axle.value}{option}"


def _same_vehicle(
    desk: Desk, application: Application, kind: Kind, *, release: int | None, on: datetime.date
) -> list[str]:
    """What the store does hold of this make and model."""
    query = LimitQuery(make=application.make, model=application.model, kind=kind, release=release, on=on)
    rows = desk.store.limits(query, limit=_MOST_NAMED)
    return [_fits_in_words(row) for row in rows]


def _fits_in_words(row: LimitRevision) -> str:
    fits = row.fits
    years = f"{fits.year_from} to {fits.year_to}" if fits.year_to is not None else f"{fits.year_from} and later"
    option = f", option {fits.brake_option}" if fits.brake_option is not None else ""
    return f"{fits.axle.value} {years}{option}"


def _nearest_vehicles(desk: Desk, application: Application, kind: Kind) -> list[str]:
    written = {fold(f"{make} {model}"): f"{make} {model}" for make, model in desk.store.applications(kind)}
    wanted = fold(f"{application.make} {application.model}")
    return [written[name] for name in difflib.get_close_matches(wanted, written, n=3, cutoff=0.6)]
