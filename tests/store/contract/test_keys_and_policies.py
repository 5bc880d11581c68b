"""Keys, policies and what was asked for in vain."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.store.contract.refusing import refused
from tests.store.samples import NOON, SECOND, key, policy
from turnrule.judging.words import Axle, Kind
from turnrule.store.port import Key, Miss, NameTakenError, PolicyRevision, Store, StoreError


def test_a_key_is_found_by_its_digest_and_comes_back_equal(store: Store) -> None:
    bound, free = key("counter"), key("office", site=None, scopes=frozenset())
    store.add_key(bound)
    store.add_key(free)
    assert store.key_by_digest(bound.digest) == bound
    assert store.key_by_digest(free.digest) == free
    assert store.key_by_digest("another") is None


def test_keys_are_listed_oldest_first(store: Store) -> None:
    rows = [key("c", created_at=NOON), key("b", created_at=NOON + SECOND), key("a", created_at=NOON + 2 * SECOND)]
    for row in reversed(rows):
        store.add_key(row)
    assert store.keys() == rows


@pytest.mark.parametrize(
    "second",
    [key("counter", digest="another"), key("another", digest="digest of counter"), key("counter")],
)
def test_a_second_key_of_the_same_name_or_secret_is_refused(store: Store, second: Key) -> None:
    first = key("counter")
    store.add_key(first)
    with pytest.raises(NameTakenError):
        store.add_key(second)
    assert store.keys() == [first]


def test_a_revoked_key_stays_with_its_moment_and_its_name_stays_taken(store: Store) -> None:
    store.add_key(key("counter"))
    store.add_key(key("office"))
    assert store.revoke_key("counter", NOON + SECOND)
    assert not store.revoke_key("counter", NOON + 2 * SECOND)
    assert not store.revoke_key("nobody", NOON)
    revoked = replace(key("counter"), revoked_at=NOON + SECOND)
    assert store.key_by_digest(revoked.digest) == revoked
    assert store.keys() == [revoked, key("office")]
    with pytest.raises(NameTakenError):
        store.add_key(key("counter", digest="another"))


@pytest.mark.parametrize(
    "bad",
    [
        key(""),
        key(digest=""),
        key(site=""),
        key(created_at=NOON.replace(tzinfo=None)),
        key(revoked_at=NOON.replace(tzinfo=None)),
    ],
)
def test_a_key_without_name_digest_or_zone_is_refused(store: Store, bad: Key) -> None:
    with refused():
        store.add_key(bad)
    assert store.keys() == []


def test_revoking_without_a_zone_changes_nothing(store: Store) -> None:
    store.add_key(key())
    with refused():
        store.revoke_key("counter", NOON.replace(tzinfo=None))
    assert store.keys() == [key()]


def test_policies_keep_every_revision_byte_by_byte(store: Store) -> None:
    first = policy("careful", 1, document=b'{ "unit":"mm",\n "discard_margin": 0.10 }')
    second = policy("careful", 2, written_at=NOON + SECOND)
    other = policy("brisk", 4)
    for one in (first, second, other):
        store.save_policy(one)
    assert store.policy("careful", 1) == first
    assert store.policy("careful", 2) == second
    assert store.policy("careful") == second
    assert store.policy("careful", 3) is None
    assert store.policy("nobody") is None
    assert store.policies() == [other, second]


@pytest.mark.parametrize(("number", "error"), [(2, NameTakenError), (3, StoreError), (4, NameTakenError)])
def test_a_policy_revision_that_is_stored_or_not_newer_is_refused(
    store: Store, number: int, error: type[StoreError]
) -> None:
    rows = [policy("careful", 2), policy("careful", 4)]
    for row in rows:
        store.save_policy(row)
    with pytest.raises(error):
        store.save_policy(policy("careful", number, written_by="somebody else"))
    assert store.policies() == [rows[1]]
    assert store.policy("careful", 2) == rows[0]


@pytest.mark.parametrize(
    "bad",
    [policy(""), policy(number=0), policy(document=b""), policy(document=b"{"), policy(written_by="")],
)
def test_a_policy_that_is_no_document_or_has_no_author_is_refused(store: Store, bad: PolicyRevision) -> None:
    with refused():
        store.save_policy(bad)
    assert store.policies() == []


def test_misses_count_one_application_however_it_is_spelled(store: Store) -> None:
    def ask(make: str, seconds: int, option: str | None = None) -> None:
        store.count_miss(make, "Pell", 2020, Axle.FRONT, Kind.ROTOR, option, NOON + seconds * SECOND)

    ask("Tarn", 5)
    ask(" TARN ", 9)
    ask("tarn", 1)
    ask("Tarn", 3, "B1")
    assert store.misses() == [
        Miss("Tarn", "Pell", 2020, Axle.FRONT, Kind.ROTOR, None, 3, NOON + SECOND, NOON + 9 * SECOND),
        Miss("Tarn", "Pell", 2020, Axle.FRONT, Kind.ROTOR, "B1", 1, NOON + 3 * SECOND, NOON + 3 * SECOND),
    ]


def test_misses_come_most_wanted_first_and_in_pages(store: Store) -> None:
    for number in range(6):
        for _ in range(number + 1):
            store.count_miss("Tarn", f"Model {number}", 2020, Axle.REAR, Kind.DRUM, None, NOON)
    store.count_miss("Tarn", "Model 0", 2020, Axle.SECOND, Kind.DRUM, None, NOON)
    store.count_miss("Tarn", "Model 0", 2020, Axle.REAR, Kind.PARKING_DRUM, None, NOON)
    store.count_miss("Tarn", "Model 0", 2021, Axle.REAR, Kind.DRUM, None, NOON)
    counts = [miss.count for miss in store.misses()]
    assert counts == [6, 5, 4, 3, 2, 1, 1, 1, 1]
    assert [*store.misses(limit=4), *store.misses(after=4, limit=100)] == store.misses()
    assert store.misses(after=9) == []
    assert store.misses(limit=0) == []


@pytest.mark.parametrize(("make", "year", "option"), [("", 2020, None), ("Tarn", 0, None), ("Tarn", 2020, "")])
def test_a_miss_of_nothing_is_refused(store: Store, make: str, year: int, option: str | None) -> None:
    with refused():
        store.count_miss(make, "Pell", year, Axle.FRONT, Kind.ROTOR, option, NOON)
    assert store.misses() == []
