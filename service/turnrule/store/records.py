"""The records that a store keeps beside limits: keys, policies, lathes, sites, verdicts, axles, events, misses."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from turnrule.judging.words import Axle, Kind, Ruling


@dataclass(frozen=True, slots=True)
class Key:
    """An API key; the secret itself is never stored, only its SHA-256."""

    name: str
    digest: str
    scopes: frozenset[str]
    site: str | None
    created_at: datetime.datetime
    revoked_at: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class PolicyRevision:
    """One revision of a policy as it was written (a JSON document of the contract), never changed."""

    name: str
    revision: int
    document: bytes
    written_at: datetime.datetime
    written_by: str


@dataclass(frozen=True, slots=True)
class LatheRevision:
    """One revision of a shop's figures for one lathe, as they were written (a JSON document), never changed."""

    name: str
    revision: int
    document: bytes
    written_at: datetime.datetime
    written_by: str


@dataclass(frozen=True, slots=True)
class SiteRevision:
    """Which policy a site has from a moment on; never changed."""

    site: str
    revision: int
    policy: str
    written_at: datetime.datetime
    written_by: str


@dataclass(frozen=True, slots=True)
class VerdictRecord:
    """A verdict as it was answered, with everything that it was judged from.

    `request` and `answer` are the exact bytes; the other fields repeat what look-ups and reports need.
    `withdrawn` is the number of the last withdrawal that counted, `lathe_name` and `lathe_revision` say for which lathe
    its passes were planned, `drawn` holds the earlier readings that were taken from stored verdicts (a JSON array), and
    `axle_id` is the axle verdict that this is a side of. `sequence` is given by the store, rising in the order of
    commit; 0 until then.
    """

    id: str
    judged_at: datetime.datetime
    key_name: str
    site: str | None
    ruling: Ruling
    kind: Kind
    make: str | None
    model: str | None
    year: int | None
    axle: Axle | None
    side: str | None
    vehicle: str | None
    odometer_km: Decimal | None
    reference: str | None
    release: int | None
    policy_name: str
    policy_revision: int
    limits_id: str | None
    limits_revision: int | None
    engine: str
    digest: str
    request: bytes
    answer: bytes
    withdrawn: int = 0
    lathe_name: str | None = None
    lathe_revision: int | None = None
    drawn: bytes | None = None
    axle_id: str | None = None
    sequence: int = 0


@dataclass(frozen=True, slots=True)
class Kept:
    """Which verdict was stored, and as which one in the order of commit."""

    id: str
    sequence: int


@dataclass(frozen=True, slots=True)
class AxleRecord:
    """A verdict on an axle as it was answered; its sides are verdicts of their own, one of them at least.

    `request` and `answer` are the exact bytes; `sequence` is given by the store, 0 until then.
    """

    id: str
    judged_at: datetime.datetime
    key_name: str
    site: str | None
    ruling: Ruling
    kind: Kind
    vehicle: str | None
    reference: str | None
    left_id: str | None
    right_id: str | None
    digest: str
    request: bytes
    answer: bytes
    sequence: int = 0


class EventKind(StrEnum):
    """What can happen in a store that others want to hear of."""

    VERDICT = "verdict"
    AXLE_VERDICT = "axle_verdict"
    RELEASE = "release"
    WITHDRAWAL = "withdrawal"
    POLICY = "policy"
    LATHE = "lathe"
    SITE = "site"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that was stored, in the order of commit.

    `subject` is the id of the verdict or record, the number of the release, or the name of what has revisions;
    `revision` is that of a policy, lathe, site or withdrawn record, and None for the rest. `ruling` and `site` are told
    of verdicts, `digest` of verdicts and releases.
    """

    sequence: int
    kind: EventKind
    subject: str
    at: datetime.datetime
    by: str
    revision: int | None = None
    site: str | None = None
    ruling: Ruling | None = None
    digest: str | None = None


@dataclass(frozen=True, slots=True)
class VerdictQuery:
    """Which verdicts are listed; None is any. Makes and models match without regard to case and spacing.

    `since` is included and `until` is not.
    """

    site: str | None = None
    ruling: Ruling | None = None
    kind: Kind | None = None
    make: str | None = None
    model: str | None = None
    vehicle: str | None = None
    reference: str | None = None
    since: datetime.datetime | None = None
    until: datetime.datetime | None = None
    limits_id: str | None = None
    limits_revision: int | None = None
    axle: Axle | None = None
    side: str | None = None
    axle_id: str | None = None


@dataclass(frozen=True, slots=True)
class Miss:
    """An application that was asked for and not found, and how often."""

    make: str
    model: str
    year: int
    axle: Axle
    kind: Kind
    brake_option: str | None
    count: int
    first_at: datetime.datetime
    last_at: datetime.datetime
