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
from turnrule.store.limit_records import HeldRevision, LimitQuery, LimitRevision, Withdrawal

NOT_FOUND = "application_not_found"
MOST_RECORDS = 100
_MOST_NAMED = 5
_MOST_MAKES = 5


@dataclass(frozen=True, slots=True)
class FoundLimits:
    """The record for a part; `assumed_option` is its brake option where the request named none.

    `withdrawal` is there where the record must not be used.
    """

    revision: LimitRevision
    assumed_option: str | None = None
    withdrawal: Withdrawal | None = None


def look_up(
    desk: Desk,
    application: Application,
    kind: Kind,
    *,
    release: int | None,
    on: datetime.date,
    withdrawn: int | None = None,
) -> FoundLimits | None:
    """The record for an application, None where the store has none; raises `RefusedError` where several are.

    Withdrawn ones up to the withdrawal numbered `withdrawn` (None: all up to now) are found as such: no other record,
    such as one for any brake option, serves in place of one that was withdrawn. One that took its place does.
    """
    held = desk.store.held(
        LimitQuery(
            make=application.make,
            model=application.model,
            year=application.year,
            axle=application.axle,
            kind=kind,
            release=release,
            on=on,
            withdrawn=withdrawn,
        ),
        limit=MOST_RECORDS,
    )
    rows = _standing(held)
    if application.brake_option is None:
        return _without_option(rows)
    wanted = fold(application.brake_option)
    named = [row for row in rows if _option(row) == wanted]
    fitting = named or [row for row in rows if not _option(row)]
    if len(fitting) > 1:
        raise _ambiguous(fitting)
    return FoundLimits(fitting[0].revision, withdrawal=fitting[0].withdrawal) if fitting else None


def _option(row: HeldRevision) -> str:
    """The brake option under which a record is found; nothing for one that is for any."""
    option = row.revision.fits.brake_option
    return "" if option is None else fold(option)


def _standing(held: Sequence[HeldRevision]) -> Sequence[HeldRevision]:
    """The records without the withdrawn ones whose place another of the same option has taken; the last one stays."""
    served = {_option(row) for row in held if row.withdrawal is None}
    kept = {_option(row): row for row in held if row.withdrawal is not None and _option(row) not in served}
    return [row for row in held if row.withdrawal is None or kept.get(_option(row)) is row]


def _without_option(rows: Sequence[HeldRevision]) -> FoundLimits | None:
    if not rows:
        return None
    if len(rows) == 1:
        (row,) = rows
        return FoundLimits(row.revision, row.revision.fits.brake_option, row.withdrawal)
    options = sorted({row.revision.fits.brake_option or "" for row in rows})
    if len(options) < len(rows):
        raise _ambiguous(rows)
    names = ", ".join(repr(option) if option else "none of these" for option in options)
    raise refused(
        "brake_option_needed",
        "/application/brake_option",
        f"this vehicle was built with more than one brake; name the one on it: {names}",
    )


def _ambiguous(rows: Sequence[HeldRevision]) -> RefusedError:
    ids = ", ".join(sorted(row.revision.limits_id for row in rows))
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
    makes = {fold(make): make for make in desk.store.makes(kind)}
    near = difflib.get_close_matches(fold(application.make), makes, n=_MOST_MAKES, cutoff=0.5)
    written = {
        fold(f"{makes[key]} {model}"): f"{makes[key]} {model}"
        for key in near
        for model in desk.store.models(makes[key], kind)
    }
    wanted = fold(f"{application.make} {application.model}")
    return [written[name] for name in difflib.get_close_matches(wanted, written, n=3, cutoff=0.6)]
