"""Any history of calls leaves a store as it leaves the plain model, errors included."""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Callable
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from tests.store.contract.adapters import Adapter
from tests.store.contract.plain_model import PlainModel
from tests.store.contract.strategies import (
    AXLES,
    KINDS,
    MAKES,
    MODELS,
    MOMENTS,
    NAMES,
    OPTIONS,
    QUERIES,
    YEARS,
    or_none,
    outcome,
    revisions,
)
from tests.store.samples import key, policy, verdict
from turnrule.judging.words import Axle, Kind, Ruling
from turnrule.store.port import (
    Idempotency,
    LimitQuery,
    LimitRevision,
    Miss,
    VerdictQuery,
    VerdictRecord,
)

VERDICT_QUERIES = st.builds(
    VerdictQuery,
    site=or_none(NAMES),
    ruling=or_none(st.sampled_from(Ruling)),
    kind=or_none(KINDS),
    make=or_none(MAKES),
    model=or_none(MODELS),
    vehicle=or_none(NAMES),
    reference=or_none(NAMES),
    since=or_none(MOMENTS),
    until=or_none(MOMENTS),
)
VERDICTS = st.builds(
    lambda number, changes: verdict(f"v{number}", **changes),
    st.integers(0, 40),
    st.fixed_dictionaries(
        {
            "site": st.none() | NAMES,
            "ruling": st.sampled_from(Ruling),
            "kind": KINDS,
            "make": st.none() | MAKES,
            "model": st.none() | MODELS,
            "vehicle": st.none() | NAMES,
            "reference": st.none() | NAMES,
            "judged_at": MOMENTS,
        }
    ),
)
IDEMPOTENCIES = st.builds(Idempotency, NAMES, NAMES, st.sampled_from(["body", "another body"]))


class History(RuleBasedStateMachine):
    """A store and the model, told the same."""

    adapter: Adapter

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.place, self.store = self.adapter.migrated(Path(self.folder.name))
        self.model = PlainModel()

    def teardown(self) -> None:
        self.store.close()
        again = self.adapter.open(self.place)
        assert again.check() == []
        again.close()
        self.folder.cleanup()

    def same(self, real: Callable[[], object], expected: Callable[[], object]) -> None:
        """Both answer the same, or fail with the same error."""
        assert outcome(real) == outcome(expected)

    @rule(rows=st.lists(revisions(), max_size=4), at=MOMENTS)
    def publish(self, rows: list[LimitRevision], at: datetime.datetime) -> None:
        for_both = {"published_at": at, "published_by": "publisher", "notes": ""}
        self.same(
            lambda: self.store.publish(iter(rows), **for_both),  # type: ignore[arg-type]  # by name
            lambda: self.model.publish(iter(rows), **for_both),  # type: ignore[arg-type]  # by name
        )

    @rule(query=QUERIES, after=st.sampled_from(["", "one", "three"]), limit=st.integers(0, 3))
    def limits(self, query: LimitQuery, after: str, limit: int) -> None:
        self.same(
            lambda: self.store.limits(query, after=after, limit=limit),
            lambda: self.model.limits(query, after=after, limit=limit),
        )

    @rule(name=NAMES, digest=NAMES, at=MOMENTS)
    def add_key(self, name: str, digest: str, at: datetime.datetime) -> None:
        new = key(name, digest=digest, created_at=at)
        self.same(lambda: self.store.add_key(new), lambda: self.model.add_key(new))

    @rule(name=NAMES, at=MOMENTS)
    def revoke_key(self, name: str, at: datetime.datetime) -> None:
        self.same(lambda: self.store.revoke_key(name, at), lambda: self.model.revoke_key(name, at))

    @rule(name=NAMES, number=st.integers(1, 5), at=MOMENTS)
    def save_policy(self, name: str, number: int, at: datetime.datetime) -> None:
        new = policy(name, number, written_at=at)
        self.same(lambda: self.store.save_policy(new), lambda: self.model.save_policy(new))

    @rule(record=VERDICTS, idempotency=st.none() | IDEMPOTENCIES)
    def record_verdict(self, record: VerdictRecord, idempotency: Idempotency | None) -> None:
        self.same(
            lambda: self.store.record_verdict(record, idempotency),
            lambda: self.model.record_verdict(record, idempotency),
        )

    @rule(idempotency=IDEMPOTENCIES)
    def idempotent(self, idempotency: Idempotency) -> None:
        self.same(lambda: self.store.idempotent(idempotency), lambda: self.model.idempotent(idempotency))

    @rule(query=VERDICT_QUERIES, after=st.integers(0, 5), limit=st.integers(0, 5))
    def verdicts(self, query: VerdictQuery, after: int, limit: int) -> None:
        self.same(
            lambda: self.store.verdicts(query, after=after, limit=limit),
            lambda: self.model.verdicts(query, after=after, limit=limit),
        )
        assert self.store.count_verdicts(query) == len(self.model.verdicts(query, limit=10**6))

    @rule(make=MAKES, model=MODELS, year=YEARS, axle=AXLES, option=OPTIONS, at=MOMENTS)
    def count_miss(
        self, make: str, model: str, year: int, axle: Axle, option: str | None, at: datetime.datetime
    ) -> None:
        self.store.count_miss(make, model, year, axle, Kind.ROTOR, option, at)
        self.model.count_miss(Miss(make, model, year, axle, Kind.ROTOR, option, 1, at, at))

    @rule()
    def open_again(self) -> None:
        self.store.close()
        self.store = self.adapter.open(self.place)

    @invariant()
    def holds_the_same(self) -> None:
        assert self.store.releases() == self.model.released
        assert self.store.limits(LimitQuery()) == self.model.limits(LimitQuery())
        assert self.store.keys() == self.model.keys()
        assert self.store.policies() == self.model.policies()
        assert self.store.verdicts(VerdictQuery()) == self.model.verdict_rows
        assert self.store.misses() == self.model.misses()


def test_any_history_leaves_a_store_as_it_leaves_the_model(adapter: Adapter) -> None:
    machine = type("HistoryOfOne", (History,), {"adapter": adapter})
    run_state_machine_as_test(machine, settings=settings(max_examples=40, stateful_step_count=30))
