"""Any history of entering, settling, withdrawing and publishing leaves a store as it leaves the plain model.

And what a past release held, and its digest, is the same after every later step.
"""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from tests.store.contract import plain_questions
from tests.store.contract.adapters import Adapter
from tests.store.contract.plain_model import PlainModel
from tests.store.contract.strategies import (
    DAYS,
    HOUR,
    HOURS,
    KINDS,
    MAKES,
    NAMES,
    PEOPLE,
    QUERIES,
    both_entries,
    entries,
    or_none,
    outcome,
)
from tests.store.entries import mismatch, withdrawal
from tests.store.samples import NOON
from turnrule.judging.words import Kind
from turnrule.store.limit_records import (
    Change,
    Differed,
    LimitQuery,
    LimitRevision,
    OpenDraft,
    Overruled,
    Rejection,
    Release,
    Settlement,
    StoreRules,
    Verified,
    Withdrawal,
)

PAUSE = 3 * HOUR
WITHDRAWN = st.none() | st.integers(0, 3)
Decide = Callable[[OpenDraft], Settlement]


@dataclass(frozen=True)
class Past:
    """What a release was when it was published."""

    release: Release
    limits: Sequence[LimitRevision]
    changes: Sequence[Change]


class Course(RuleBasedStateMachine):
    """A store and the model, told the same."""

    adapter: Adapter
    pause: datetime.timedelta | None

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.place, self.store = self.adapter.migrated(Path(self.folder.name))
        self.model = PlainModel()
        self.past: list[Past] = []

    @initialize()
    def set_rules(self) -> None:
        rules = StoreRules(self.pause)
        self.store.set_rules(rules, at=NOON, by="office")
        self.model.set_rules(rules)

    def teardown(self) -> None:
        self.store.close()
        again = self.adapter.open(self.place)
        assert again.check() == []
        again.close()
        self.folder.cleanup()

    def same(self, real: Callable[[], object], expected: Callable[[], object]) -> None:
        """Both answer the same, or fail with the same error."""
        assert outcome(real) == outcome(expected)

    def keep(self) -> None:
        """Keep what the newest release is, if it is new."""
        newest = self.store.release()
        if newest is not None and newest.number > len(self.past):
            self.past.append(
                Past(newest, self.store.limits(LimitQuery(release=newest.number)), self._changes(newest.number))
            )

    def _changes(self, number: int) -> Sequence[Change]:
        return self.store.changes(number - 1, number)

    @rule(draft=entries(), corrects=st.none() | st.integers(0, 4))
    def try_to_enter(self, draft: LimitRevision, corrects: int | None) -> None:
        self.enter(draft, corrects)

    @rule(draft=entries())
    def enter_what_comes_next(self, draft: LimitRevision) -> None:
        self.enter(draft, self.model.newest(draft.limits_id) or None)

    def enter(self, draft: LimitRevision, corrects: int | None) -> None:
        self.same(
            lambda: self.store.enter(draft, corrects=corrects), lambda: self.model.enter(draft, corrects=corrects)
        )

    @rule(drafts=st.lists(st.tuples(entries(), st.none() | st.integers(1, 3)), max_size=3))
    def enter_many(self, drafts: list[tuple[LimitRevision, int | None]]) -> None:
        self.same(
            lambda: self.store.enter_many(iter(drafts), at=NOON, by="importer"),
            lambda: self.model.enter_many(iter(drafts)),
        )

    def settle(self, limits_id: str, decide: Decide) -> None:
        """Settle a draft; one that a newer revision has overtaken can only be rejected, as a test of its own says."""
        open_ = self.model.open_draft(limits_id)
        if open_ is None or self.model.last(limits_id) == open_.revision.revision:
            self.same(lambda: self.store.settle(limits_id, decide), lambda: self.model.settle(limits_id, decide))

    @precondition(lambda self: self.model.open)
    @rule(data=st.data(), by=PEOPLE, at=HOURS)
    def verify(self, data: st.DataObject, by: str, at: datetime.datetime) -> None:
        self.settle(data.draw(st.sampled_from(sorted(self.model.open))), lambda _: Verified(by, at))

    @precondition(lambda self: self.model.open)
    @rule(data=st.data(), people=st.lists(PEOPLE, min_size=1, max_size=3), at=HOURS)
    def differ(self, data: st.DataObject, people: list[str], at: datetime.datetime) -> None:
        self.differ_by(data.draw(st.sampled_from(sorted(self.model.open))), people, at)

    def differ_by(self, limits_id: str, people: list[str], at: datetime.datetime) -> None:
        for by in people:
            told = mismatch(by, at=at)
            self.settle(limits_id, lambda _, told=told: Differed(told))  # type: ignore[misc]  # bound now, not later

    @precondition(lambda self: self.model.open)
    @rule(data=st.data())
    def dispute(self, data: st.DataObject) -> None:
        limits_id = data.draw(st.sampled_from(sorted(self.model.open)))
        first = self.model.drafts()[sorted(self.model.open).index(limits_id)].revision.entered_by
        others = [f"reader {number}" for number in (1, 2, 3) if f"reader {number}" != first][:2]
        self.differ_by(limits_id, others, NOON)

    @precondition(lambda self: any(len(one.mismatches) >= 2 for one in self.model.drafts()))
    @rule(data=st.data(), by=PEOPLE, other=entries(), at=HOURS)
    def overrule(self, data: st.DataObject, by: str, other: LimitRevision, at: datetime.datetime) -> None:
        disputed = [one for one in self.model.drafts() if len(one.mismatches) >= 2]
        draft = data.draw(st.sampled_from(disputed))
        second = data.draw(st.sampled_from(draft.mismatches))
        read = replace(draft.revision, fits=other.fits, limits=other.limits)
        entered = replace(read, entered_by=second.entered_by, entered_at=second.entered_at)
        self.settle(draft.revision.limits_id, lambda _: Overruled(entered, by, at, "two others read the same"))

    @rule(limits_id=NAMES, by=PEOPLE)
    def reject(self, limits_id: str, by: str) -> None:
        told = Rejection(by, NOON, "the page was torn")
        self.same(lambda: self.store.reject(limits_id, told), lambda: self.model.reject(limits_id, told))

    @rule(limits_id=NAMES)
    def settle_what_may_not_be_open(self, limits_id: str) -> None:
        self.settle(limits_id, lambda _: Verified("somebody else", NOON))

    @precondition(lambda self: self.model.accepted)
    @rule(data=st.data(), earlier=st.integers(0, 1))
    def withdraw(self, data: st.DataObject, earlier: int) -> None:
        limits_id = data.draw(st.sampled_from(sorted({row.limits_id for row in self.model.accepted})))
        told = withdrawal(limits_id, self.model.newest(limits_id) - earlier)
        self.same(lambda: self.store.withdraw(told), lambda: self.model.withdraw(told))

    @precondition(lambda self: self.model.counted() != (len(self.model.accepted), len(self.model.withdrawn)))
    @rule(at=HOURS)
    def publish_what_waits(self, at: datetime.datetime) -> None:
        self.publish_verified(at, None)

    @rule(at=HOURS, follows=st.none() | st.integers(0, 3))
    def try_to_publish(self, at: datetime.datetime, follows: int | None) -> None:
        self.publish_verified(at, follows)

    def publish_verified(self, at: datetime.datetime, follows: int | None) -> None:
        self.same(
            lambda: self.store.publish_verified(published_at=at, published_by="p", notes="n", follows=follows),
            lambda: self.model.publish_verified(published_at=at, published_by="p", notes="n", follows=follows),
        )
        self.keep()

    @rule(rows=st.lists(both_entries(), max_size=2), gone=st.lists(st.tuples(NAMES, st.integers(1, 4)), max_size=1))
    def publish(self, rows: list[LimitRevision], gone: list[tuple[str, int]]) -> None:
        withdrawals: list[Withdrawal] = [withdrawal(*one) for one in gone]
        self.same(
            lambda: self.store.publish(
                iter(rows), published_at=NOON, published_by="p", notes="n", withdrawals=iter(withdrawals)
            ),
            lambda: self.model.publish(
                iter(rows), published_at=NOON, published_by="p", notes="n", withdrawals=iter(withdrawals)
            ),
        )
        self.keep()

    @rule(
        query=QUERIES,
        withdrawn=WITHDRAWN,
        after=st.sampled_from(["", "one"]),
        limit=st.integers(0, 3),
    )
    def ask(self, query: LimitQuery, withdrawn: int | None, after: str, limit: int) -> None:
        asked = replace(query, withdrawn=withdrawn)
        assert self.store.limits(asked, after=after, limit=limit) == self.model.limits(asked, after=after, limit=limit)
        assert self.store.held(asked, limit=limit) == self.model.held(asked, limit=limit)

    @rule(entry=entries(), but=or_none(NAMES), make=MAKES, kind=or_none(KINDS), on=DAYS)
    def look_around(
        self, entry: LimitRevision, but: str | None, make: str, kind: Kind | None, on: datetime.date
    ) -> None:
        fits, start, end = entry.fits, entry.effective_from, entry.effective_to
        found = self.store.overlapping(fits, entry.limits.kind, start=start, end=end, but=but)
        assert found == self.model.overlapping(fits, entry.limits.kind, start=start, end=end, but=but)
        sizes = {"at_least": 26 * 10**7, "at_most": 2286 * 10**6}
        near = self.store.similar(entry.limits.kind, **sizes, limit=9)
        assert near == plain_questions.similar(self.model, entry.limits.kind, **sizes)
        assert self.store.makes(kind) == plain_questions.makes(self.model, kind)
        assert self.store.models(make, kind) == plain_questions.models(self.model, make, kind)
        due = plain_questions.due_for_review(self.model, on)
        assert self.store.due_for_review(on) == due
        assert self.store.waiting_counts(on) == (0, len(self.model.open), len(due))

    @rule(since=st.integers(-1, 4), until=st.integers(-1, 5), limit=st.integers(1, 3))
    def changes(self, since: int, until: int, limit: int) -> None:
        seen: list[Change] = []
        after = (0, "")
        while page := self.store.changes(since, until, after=after, limit=limit):
            assert len(page) <= limit
            seen += page
            after = (seen[-1].release, seen[-1].place)
        assert seen == plain_questions.changes(self.model, since, until)

    @rule()
    def open_again(self) -> None:
        self.store.close()
        self.store = self.adapter.open(self.place)

    @invariant()
    def holds_the_same(self) -> None:
        assert self.store.releases() == self.model.released
        assert self.store.limits(LimitQuery()) == self.model.limits(LimitQuery())
        assert self.store.held(LimitQuery()) == self.model.held(LimitQuery())
        assert self.store.drafts() == self.model.drafts()
        assert self.store.withdrawals() == self.model.withdrawn
        assert self.store.last_withdrawal() == len(self.model.withdrawn)
        assert self.store.waiting() == len(self.model.accepted) - self.model.counted()[0]
        for limits_id in ("one", "two", "three"):
            assert self.store.open_draft(limits_id) == self.model.open_draft(limits_id)
            assert self.store.history(limits_id) == plain_questions.history(self.model, limits_id)

    @invariant()
    def every_past_release_is_as_it_was(self) -> None:
        for number, past in enumerate(self.past, start=1):
            assert self.store.release(number) == past.release
            assert self.store.limits(LimitQuery(release=number)) == past.limits
            assert self._changes(number) == past.changes


@pytest.mark.parametrize("pause", [None, PAUSE], ids=["two people", "one person"])
def test_any_course_of_limits_leaves_a_store_as_it_leaves_the_model(
    adapter: Adapter, pause: datetime.timedelta | None
) -> None:
    machine = type("CourseOfOne", (Course,), {"adapter": adapter, "pause": pause})
    run_state_machine_as_test(machine, settings=settings(max_examples=40, stateful_step_count=40))
