"""Records of an invented fleet, for the tests of the store."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Ruling, Unit
from turnrule.store.port import (
    AxleRecord,
    FitsTo,
    Key,
    LatheRevision,
    LimitRevision,
    PolicyRevision,
    Release,
    SiteRevision,
    Source,
    Store,
    VerdictRecord,
)

NOON = datetime.datetime(2026, 3, 2, 12, 0, 0, 250, tzinfo=datetime.UTC)
ENTERED, VERIFIED = NOON - datetime.timedelta(days=2), NOON - datetime.timedelta(days=1)
SECOND = datetime.timedelta(seconds=1)

ROTOR = LimitSet(
    kind=Kind.ROTOR,
    nominal=Decimal("26.0"),
    machining=Decimal("24.6"),
    discard=Decimal("24.0"),
    maximum_lateral_runout=Decimal("0.05"),
    maximum_thickness_variation=Decimal("0.013"),
    maximum_taper=Decimal("0.0000001"),
    permission=Machining.PERMITTED,
    construction=Construction.VENTED,
    expansion_per_k=Decimal("0.0000105"),
)
DRUM = LimitSet(
    kind=Kind.DRUM,
    nominal=Decimal("228.6"),
    machining=Decimal("230.1"),
    discard=Decimal("230.6"),
    maximum_out_of_round=Decimal("0.127"),
    permission=Machining.NOT_STATED,
    construction=Construction.CAST,
)
SOURCE = Source("Ostrel workshop manual", "Corvane", "6.2, table 3", "2023-04", datetime.date(2023, 4, 1))
FITS = FitsTo("Corvane", "Ostrel", 2021, 2024, Axle.FRONT, "B16")


def revision(limits_id: str = "L1", number: int = 1, **changes: object) -> LimitRevision:
    """A revision of a record; `changes` are fields of it."""
    whole = LimitRevision(
        limits_id=limits_id,
        revision=number,
        fits=FITS,
        limits=ROTOR,
        printed_unit=Unit.MM,
        printed={"nominal_thickness": "26.0", "discard_thickness": "24.00"},
        source=SOURCE,
        effective_from=datetime.date(2021, 1, 1),
        entered_by="first reader",
        verified_by="second reader",
        entered_at=ENTERED,
        verified_at=VERIFIED,
    )
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name


def publish(store: Store, *revisions: LimitRevision, at: datetime.datetime = NOON, notes: str = "") -> Release:
    """Publish these revisions as the next release."""
    return publish_all(store, revisions, at=at, notes=notes)


def publish_all(
    store: Store, revisions: Iterable[LimitRevision], *, at: datetime.datetime = NOON, notes: str = ""
) -> Release:
    """Publish what an iterable gives as the next release."""
    return store.publish(revisions, published_at=at, published_by="publisher", notes=notes)


def key(name: str = "counter", **changes: object) -> Key:
    """A key whose secret has a digest of its own."""
    whole = Key(name, f"digest of {name}", frozenset({"verdicts", "reports"}), "north depot", NOON)
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name


def policy(name: str = "careful", number: int = 1, **changes: object) -> PolicyRevision:
    """A revision of a policy."""
    document = json.dumps({"name": name, "unit": "mm", "discard_margin": number}).encode()
    whole = PolicyRevision(name, number, document, NOON, "fleet office")
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name


def lathe(name: str = "bench_2", number: int = 1, **changes: object) -> LatheRevision:
    """A revision of a lathe."""
    document = json.dumps({"name": name, "unit": "mm", "nose_radius": number}).encode()
    whole = LatheRevision(name, number, document, NOON, "workshop")
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name


def site(name: str = "north depot", number: int = 1, **changes: object) -> SiteRevision:
    """A revision of a site."""
    whole = SiteRevision(name, number, "careful", NOON, "fleet office")
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name


def axle(name: str = "a1", left: str | None = "l1", right: str | None = "r1", **changes: object) -> AxleRecord:
    """A verdict on an axle whose sides are these verdicts; its answer holds its digest."""
    digest = f"sha256:{name}"
    whole = AxleRecord(
        id=name,
        judged_at=NOON,
        key_name="counter",
        site="north depot",
        ruling=Ruling.MACHINE,
        kind=Kind.ROTOR,
        vehicle="unit 114",
        reference="job 7",
        left_id=left,
        right_id=right,
        digest=digest,
        request=b'{"unit":"mm","left":{}}',
        answer=json.dumps({"id": name, "digest": digest}).encode(),
    )
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name


def verdict(name: str = "v1", **changes: object) -> VerdictRecord:
    """A verdict that was judged without a record of the store; its answer holds its digest."""
    digest = f"sha256:{name}"
    whole = VerdictRecord(
        id=name,
        judged_at=NOON,
        key_name="counter",
        site="north depot",
        ruling=Ruling.MACHINE,
        kind=Kind.ROTOR,
        make="Corvane",
        model="Ostrel",
        year=2022,
        axle=Axle.FRONT,
        side="left",
        vehicle="unit 114",
        odometer_km=Decimal("61200.5"),
        reference="job 7",
        release=None,
        policy_name="default",
        policy_revision=1,
        limits_id=None,
        limits_revision=None,
        engine="1",
        digest=digest,
        request=b'{"unit":"mm","thickness":[25.02]}',
        answer=json.dumps({"id": name, "digest": digest}).encode(),
    )
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name
