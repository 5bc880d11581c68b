"""A release pack brought into a store: what is new in it comes in as the store's next release, or nothing does."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from turnrule.actions.answers import moment
from turnrule.actions.desk import Desk
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.release_packs.limit_lines import LimitRow
from turnrule.actions.release_packs.reading import Progress, ReleasePack, open_release_pack, quiet
from turnrule.actions.release_packs.standing import (
    Contradicts,
    Held,
    by_one_person,
    history_of,
    standing_of,
    withdrawal_here,
)
from turnrule.judging.faults import Fault
from turnrule.store.limit_records import StoreRules, Withdrawal
from turnrule.store.port import LimitRevision, Release, Store

MOST_FAULTS = 100
"""After so many the rest of the rows are not looked at; whoever corrected them is told of the next."""
_NOTES_SHOWN = 400


@dataclass(slots=True)
class ImportPlan:
    """What would come in: which rows, by a bit each, and which withdrawals; and what is here already.

    `withdrawn_here` counts rows whose record was withdrawn in this store: they stay out of use.
    """

    rows: bytearray
    brings: int = 0
    holds: int = 0
    withdrawn_here: int = 0
    withdrawals: list[Withdrawal] = field(default_factory=list)
    messages: list[str] = field(default_factory=list)

    def choose(self, row: int) -> None:
        """Let a row come in."""
        self.rows[row >> 3] |= 1 << (row & 7)
        self.brings += 1

    def chosen(self, row: int) -> bool:
        """True where a row is to come in."""
        return bool(self.rows[row >> 3] & 1 << (row & 7))

    @property
    def brings_nothing(self) -> bool:
        """True where the store holds all of it."""
        return not (self.brings or self.withdrawals)


@dataclass(frozen=True, slots=True)
class Brought:
    """What came of bringing a pack in: the release that holds it, or the newest one where nothing in it was new."""

    release: Release
    messages: tuple[str, ...]


def import_release_pack(desk: Desk, path: Path, by: str) -> Release:
    """Bring a pack in as the next release; where the store holds all of it, the newest release as it is.

    Raises `PackDamagedError`, `SignatureError`, `RefusedError` that names each row which contradicts what the store
    holds, and `StoreError`; then nothing was stored.
    """
    with open_release_pack(path, desk.store.rules()) as pack:
        return bring_in(desk, pack, plan_import(desk.store, pack), by).release


def plan_import(store: Store, pack: ReleasePack, *, progress: Progress = quiet) -> ImportPlan:
    """What of a pack would come in. Raises `RefusedError` that names each row which must not."""
    plan = ImportPlan(bytearray((pack.manifest.release.records >> 3) + 1))
    rules, faults = store.rules(), list[Fault]()
    neighbours: dict[str, Fault] = {}
    for row, read in pack.limits():
        progress(row, pack.manifest.release.records)
        place = f"{pack.manifest.limits.path}, row {row}"
        wrong = _weigh(store, rules, pack, plan, (row, read))
        if wrong is not None:
            faults.append(wrong.fault(place))
        elif plan.chosen(row):
            neighbours |= _neighbours(store, pack, read.revision, place)
        if len(faults) + len(neighbours) >= MOST_FAULTS:
            break
    faults += _strangers(pack, neighbours).values()
    if faults:
        raise RefusedError("pack_refused", faults)
    _plan_withdrawals(store, pack, plan)
    plan.messages += _foretold(store, pack, plan)
    return plan


def _weigh(
    store: Store, rules: StoreRules, pack: ReleasePack, plan: ImportPlan, numbered: tuple[int, LimitRow]
) -> Contradicts | None:
    """Enter one row into the plan, or say why it must not come in."""
    row, read = numbered
    limits_id = read.revision.limits_id
    standing = standing_of(read, history_of(store, limits_id), pack.withdrawn.get(limits_id, 0))
    if isinstance(standing, Contradicts):
        return standing
    if isinstance(standing, Held):
        plan.holds += 1
        plan.withdrawn_here += standing.withdrawn
        return None
    alone = by_one_person(read.revision, rules.one_person_pause)
    if alone is None:
        plan.choose(row)
    return alone


def _neighbours(store: Store, pack: ReleasePack, revision: LimitRevision, place: str) -> dict[str, Fault]:
    """Live records of the store for some of the same vehicles, by id, that the pack itself does not withdraw."""
    others = store.overlapping(
        revision.fits,
        revision.limits.kind,
        start=revision.effective_from,
        end=revision.effective_to,
        but=revision.limits_id,
    )
    return {
        other.limits_id: Fault(
            place,
            "overlap",
            f"{revision.limits_id} is for some of the same vehicles as {other.limits_id} here; withdraw the one that "
            "is wrong",
        )
        for other in others
        if pack.withdrawn.get(other.limits_id, 0) < other.revision
    }


def _strangers(pack: ReleasePack, neighbours: dict[str, Fault]) -> dict[str, Fault]:
    """Those that the pack does not hold itself: what it holds, it holds as the release did, one beside the other."""
    if not neighbours:
        return {}
    own = {read.revision.limits_id for _, read in pack.limits() if read.revision.limits_id in neighbours}
    return {limits_id: fault for limits_id, fault in neighbours.items() if limits_id not in own}


def _plan_withdrawals(store: Store, pack: ReleasePack, plan: ImportPlan) -> None:
    reached: dict[str, int] = {}
    for _, withdrawal in pack.withdrawals():
        here = withdrawal_here(withdrawal, history_of(store, withdrawal.limits_id))
        if here is not None and here > reached.get(withdrawal.limits_id, 0):
            reached[withdrawal.limits_id] = here
            plan.withdrawals.append(replace(withdrawal, revision=here, sequence=0))


def _foretold(store: Store, pack: ReleasePack, plan: ImportPlan) -> Iterator[str]:
    yield from pack.messages
    alone = pack.manifest.release.by_one_person
    if alone:
        yield f"Of the pack's records, {alone} were entered twice by the same person; every verdict on them says so."
    if plan.withdrawn_here:
        yield f"Of the pack's records, {plan.withdrawn_here} were withdrawn in this store, and stay so."
    waiting = store.waiting()
    if waiting and not plan.brings_nothing:
        yield f"With it, {waiting} revisions come out that were verified here and waited for a release."


def bring_in(desk: Desk, pack: ReleasePack, plan: ImportPlan, by: str, *, progress: Progress = quiet) -> Brought:
    """Publish what is new in a pack as the next release, its notes naming the release that it came from.

    Where the store held nothing, the release has the pack's own digest, or nothing is stored.
    """
    origin, newest = pack.manifest.release, desk.store.release()
    if plan.brings_nothing:
        if newest is None:
            raise refused("nothing_to_publish", "", "the pack holds no record, and this store has no release")
        return Brought(newest, (*plan.messages, *_compared(newest, origin)))
    is_first = newest is None and not desk.store.waiting()
    release = desk.store.publish(
        _chosen(pack, plan, progress),
        published_at=desk.clock(),
        published_by=by,
        notes=_notes(origin),
        withdrawals=plan.withdrawals,
        digest=origin.digest if is_first else None,
    )
    return Brought(release, (*plan.messages, *_compared(release, origin)))


def _chosen(pack: ReleasePack, plan: ImportPlan, progress: Progress) -> Iterator[LimitRevision]:
    for row, read in pack.limits():
        progress(row, pack.manifest.release.records)
        if plan.chosen(row):
            yield read.revision


def _notes(origin: Release) -> str:
    came = f"From a pack: release {origin.number} of {moment(origin.published_at)}, {origin.digest}."
    notes = textwrap.shorten(origin.notes, _NOTES_SHOWN, placeholder=" [...]")
    return f"{came} Its notes: {notes}" if notes else came


def _compared(release: Release, origin: Release) -> Iterator[str]:
    """What to say where the store does not hold exactly what the pack does."""
    if release.digest != origin.digest:
        yield (
            f"Release {release.number} holds {release.records} records and has the digest {release.digest}; the pack "
            f"holds {origin.records} and has {origin.digest}: this store holds other records as well, or other "
            "withdrawals."
        )
