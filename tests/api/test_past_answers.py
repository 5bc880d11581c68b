"""What a release once answered it answers for ever: the same bytes, however much is entered and withdrawn after it."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from typing import Any

import pytest

from tests.actions.entry_checks.slips import Body, clean_bodies, written
from tests.api.callers import Caller, Clock
from tests.api.conftest import Joining
from tests.api.entering import Person
from turnrule.actions.numbers import read_exact

LATER = 1_000
AT_FIRST = 40
_FIRST_ONLY = ("source", "effective_from", "effective_to", "review_due", "note", "also", "corrects", "reason")


@pytest.fixture
def people(join: Joining) -> tuple[Person, Person, Caller]:
    """Two people who enter and release, and someone who reads."""
    return (
        Person(join("limits:write", "releases:publish")),
        Person(join("limits:verify")),
        join("verdicts"),
    )


def _bodies(seed: int, count: int) -> Iterator[Body]:
    for number, body in enumerate(clean_bodies(seed, count)):
        own = copy.deepcopy(body)
        own["application"]["model"] = f"{own['application']['model']} {seed}-{number}"
        yield own


def _entered(people: tuple[Person, Person, Caller], body: Body) -> str | None:
    """The id of a record that two people entered; None where the checks have a question about it."""
    first, second, _ = people
    answer = first.caller.post("/v1/limits", written(body))
    if answer.status_code != 201:
        return None
    limits_id = str(read_exact(answer.data)["limits_id"])
    bare = {name: value for name, value in body.items() if name not in _FIRST_ONLY}
    done = second.caller.post(f"/v1/limits/{limits_id}/verifications", written(bare))
    assert done.status_code == 201, done.text
    return limits_id


def _addresses(reader: Caller, releases: int) -> Iterator[str]:
    """Everything that can be asked of the releases so far, page by page."""
    for number in range(1, releases + 1):
        yield f"/v1/releases/{number}"
        for since in range(number):
            yield f"/v1/releases/{number}/changes?since={since}&limit=200"
        for on in ("2016-06-01", "2026-11-02"):
            address: str | None = f"/v1/limits?release={number}&on={on}&limit=15"
            while address:
                yield address
                after = read_exact(reader.get(address).data)["next"]
                address = f"/v1/limits?release={number}&on={on}&limit=15&after={after}" if after else None


def _asked(reader: Caller, addresses: list[str]) -> dict[str, tuple[bytes, str]]:
    answers = {}
    for address in addresses:
        answer = reader.get(address)
        assert answer.status_code == 200, (address, answer.text)
        answers[address] = (answer.data, answer.headers["ETag"])
    return answers


class Correcting:
    """Changes of what is released: corrections, withdrawals, new records, and releases in between."""

    def __init__(self, people: tuple[Person, Person, Caller], known: dict[str, tuple[int, Body]]) -> None:
        self.people, self.known = people, known
        self.chance = random.Random(8)
        self.made = 0

    def correct(self) -> None:
        """Another year for a record, in a new revision."""
        limits_id = self.chance.choice(sorted(self.known))
        revision, body = self.known[limits_id]
        changed: dict[str, Any] = copy.deepcopy(body)
        fits = changed["application"]
        fits["year_from"] -= 1 if revision % 2 else -1
        changed |= {"corrects": {"limits_id": limits_id, "revision": revision}, "reason": "the series began otherwise"}
        if _entered(self.people, changed) is not None:
            bare = {name: value for name, value in changed.items() if name not in {"corrects", "reason"}}
            self.known[limits_id] = (revision + 1, bare)
            self.made += 1

    def withdraw(self) -> None:
        """A record less."""
        if len(self.known) > 10:
            limits_id = self.chance.choice(sorted(self.known))
            assert self.people[0].withdraw(limits_id, "found to be another part's table").status_code == 201
            del self.known[limits_id]
            self.made += 1

    def add(self, body: Body) -> None:
        """A record more."""
        limits_id = _entered(self.people, body)
        if limits_id is not None:
            self.known[limits_id] = (1, body)
            self.made += 1


def test_a_past_release_answers_the_same_bytes_after_a_thousand_changes(
    people: tuple[Person, Person, Caller], clock: Clock
) -> None:
    changes = Correcting(people, {})
    for body in _bodies(1, AT_FIRST):
        changes.add(body)
    assert people[0].publish("the first").status_code == 201
    for _ in range(12):
        changes.correct()
    changes.withdraw()
    assert people[0].publish("corrected").status_code == 201
    releases = 3
    reader = people[2]
    addresses = list(_addresses(reader, releases))
    before = _asked(reader, addresses)

    new = _bodies(2, LATER)
    began = changes.made
    while changes.made - began < LATER:
        clock.move(minutes=1)
        way = changes.chance.random()
        if way < 0.6:
            changes.correct()
        elif way < 0.7:
            changes.withdraw()
        else:
            changes.add(next(new))
        if changes.made % 100 == 0:
            people[0].publish(f"after {changes.made}")
    assert _asked(reader, addresses) == before
    assert len(addresses) > 20
