"""Publish what is verified as the next release; and whole entries as the revisions of a release."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from turnrule.actions.desk import Desk
from turnrule.actions.refusals import refused
from turnrule.actions.requests import LimitsEntry
from turnrule.store.errors import NothingToPublishError, ReleaseRaceError
from turnrule.store.limit_records import LimitRevision, Release
from turnrule.store.port import Key
from turnrule.store.reference_port import Once

_NOT_PLAIN = re.compile(r"[^a-z0-9]+")


def publish_release(
    desk: Desk, key: Key, notes: str, follows: int | None = None, *, once: Once[Release] | None = None
) -> Release:
    """Publish all that is verified, and take out all that is withdrawn, as the next release.

    `follows` is the release that it is to come after, 0 for the first; None where it does not matter. Raises
    `RefusedError` where another release came first, or nothing was verified or withdrawn since the last.
    """
    try:
        return desk.store.publish_verified(
            published_at=desk.clock(), published_by=key.name, notes=notes, follows=follows, once=once
        )
    except NothingToPublishError:
        detail = "nothing was verified or withdrawn since the newest release"
        raise refused("nothing_to_publish", "", detail) from None
    except ReleaseRaceError:
        newest = desk.store.release()
        is_now = "there is none yet" if newest is None else f"the newest release is {newest.number}"
        detail = f"{is_now}; read what it holds before another is published"
        raise refused("release_race", "/follows", detail) from None


def as_revisions(
    entries: Iterable[LimitsEntry], *, entered_by: str, verified_by: str, at: datetime.datetime | None = None
) -> Sequence[LimitRevision]:
    """The first revision of each entry, both its entries made, under an id that is made of what it is for."""
    rows: dict[str, LimitRevision] = {}
    for entry in entries:
        stem = limits_id_of(entry)
        limits_id, number = stem, 1
        while limits_id in rows:
            number += 1
            limits_id = f"{stem}-{number}"
        row = entry.as_revision(limits_id, entered_by=entered_by, entered_at=at)
        rows[limits_id] = replace(row, verified_by=verified_by, verified_at=at)
    return tuple(rows.values())


def limits_id_of(entry: LimitsEntry) -> str:
    """What a record is for, in small letters and digits, so that people can tell records apart."""
    fits = entry.fits
    words = (fits.make, fits.model, str(fits.year_from), fits.axle, entry.figures.limits.kind, fits.brake_option or "")
    return _NOT_PLAIN.sub("-", " ".join(words).casefold()).strip("-") or "limits"
