"""What people do with limits, each told to a store in one line; the records are those of the samples."""

from __future__ import annotations

import datetime
from dataclasses import replace

from tests.store.samples import FITS, NOON, VERIFIED, revision
from turnrule.store.limit_records import (
    Differed,
    KeptAnswer,
    LimitRevision,
    Mismatch,
    OpenDraft,
    Overruled,
    Rejection,
    Release,
    Settlement,
    Verified,
    Withdrawal,
)
from turnrule.store.port import FitsTo, Store
from turnrule.store.reference_port import Idempotency, Once

Settled = tuple[OpenDraft, Settlement, LimitRevision | None]


def model(number: int) -> FitsTo:
    """A vehicle of its own for each number."""
    return replace(FITS, model=f"Ostrel {number}")


def draft(limits_id: str = "L1", **changes: object) -> LimitRevision:
    """A first entry by the first reader; its number is the store's to give."""
    return revision(limits_id, 0, **{"verified_by": "", "verified_at": None, **changes})


def as_verified(entered: LimitRevision, by: str = "second reader", at: datetime.datetime = VERIFIED) -> LimitRevision:
    """An entered revision with its second entry."""
    return replace(entered, verified_by=by, verified_at=at)


def verify(
    store: Store, limits_id: str = "L1", *, by: str = "second reader", at: datetime.datetime = VERIFIED
) -> LimitRevision:
    """A second entry that equals the open draft."""
    _, _, verified = store.settle(limits_id, lambda _: Verified(by, at))
    assert verified is not None
    return verified


def mismatch(
    by: str = "second reader",
    *,
    at: datetime.datetime = VERIFIED,
    fields: tuple[str, ...] = ("/discard_thickness",),
    entry: bytes = b'{"discard_thickness":"24.1"}',
) -> Mismatch:
    """A second entry that differs from its draft."""
    return Mismatch(by, at, fields, entry)


def differ(store: Store, limits_id: str = "L1", *, by: str = "second reader", **changes: object) -> Mismatch:
    """Keep a second entry that differs from the open draft."""
    kept = replace(mismatch(by), **changes)  # type: ignore[arg-type]  # fields by name
    store.settle(limits_id, lambda _: Differed(kept))
    return kept


def overrule(store: Store, limits_id: str, *, entered: LimitRevision, by: str, at: datetime.datetime = NOON) -> Settled:
    """A third person's entry that equals an earlier second one."""
    return store.settle(limits_id, lambda _: Overruled(entered, by, at, "two others read the same"))


def accepted(store: Store, entered: LimitRevision, *, corrects: int | None = None) -> LimitRevision:
    """Both entries of a revision."""
    store.enter(entered, corrects=corrects)
    return verify(store, entered.limits_id)


def rejection(**changes: object) -> Rejection:
    """A draft given up."""
    return replace(Rejection("first reader", VERIFIED, "the page was torn"), **changes)  # type: ignore[arg-type]


def withdrawal(limits_id: str = "L1", number: int = 1, **changes: object) -> Withdrawal:
    """A record that must not be used up to a revision."""
    whole = Withdrawal(limits_id, number, "workshop lead", NOON, "the document was recalled")
    return replace(whole, **changes)  # type: ignore[arg-type]  # fields by name


def release(store: Store, *, at: datetime.datetime = NOON, notes: str = "", follows: int | None = None) -> Release:
    """Publish what is verified."""
    return store.publish_verified(published_at=at, published_by="publisher", notes=notes, follows=follows)


def once(value: str = "k", body: str = "body", *, status: int = 201) -> Once[object]:
    """Keep an answer that tells the outcome, under an idempotency key."""

    def answer(outcome: object) -> KeptAnswer:
        return KeptAnswer(status, repr(outcome).encode(), f"/kept/{value}")

    return Once(Idempotency("counter", value, body), answer)
