"""Slips that people make, planted one at a time and entered through the service: where each is caught, in a table.

Each slip goes one of two ways: the first person makes it, and the second enters what the document says; or the first
enters what the document says, and the second makes the slip. A slip that both people make in the same way is beyond
two entries, and is counted apart: what is caught of it is caught by the checks at entry alone.
"""

from __future__ import annotations

import copy
import random
import sys
from collections import Counter
from collections.abc import Iterator

import pytest

from tests.actions.entry_checks.slips import SLIPS, Body, clean_bodies, written
from tests.api.callers import Caller
from tests.api.conftest import Joining, publish

SEED = 20_261_125
EACH = 80
"""So many slips of each kind: 800 in all."""

KNOWN, CLEAN = 300, 600
ENTRY, VERIFICATION, NEVER = "at entry", "at verification", "not at all"
_SECOND = ("source", "effective_from", "effective_to", "review_due", "note", "also")


def _numbered(bodies: list[Body], word: str) -> Iterator[Body]:
    """The bodies, each for a vehicle of its own."""
    for number, body in enumerate(bodies):
        own = copy.deepcopy(body)
        own["application"]["model"] = f"{own['application']['model']} {word}{number}"
        yield own


def _again(body: Body) -> Body:
    return {name: value for name, value in body.items() if name not in _SECOND}


class Desk:
    """Two people who enter limits, one after the other."""

    def __init__(self, first: Caller, second: Caller) -> None:
        self.first, self.second = first, second

    def caught(self, entered: Body, entered_again: Body) -> str:
        """Where a slip in one of the two entries is caught."""
        answer = self.first.post("/v1/limits", written(entered))
        if answer.status_code == 422:
            return ENTRY
        assert answer.status_code == 201, answer.text
        address = f"/v1/limits/{answer.json['limits_id']}/verifications"  # type: ignore[index]  # it is an object
        answer = self.second.post(address, written(_again(entered_again)))
        if answer.status_code == 422:
            return ENTRY
        assert answer.status_code in {201, 409}, answer.text
        return VERIFICATION if answer.status_code == 409 else NEVER


@pytest.fixture
def people(join: Joining, desk: object) -> Desk:
    """Two people at a store that holds the limits of some hundred other vehicles."""
    known = [written(body).decode() for body in _numbered(clean_bodies(11, KNOWN), "known ")]
    publish(desk, *known)  # type: ignore[arg-type]  # the fixture of the API's tests
    return Desk(join("limits:write"), join("limits:verify"))


def test_clean_limits_are_entered_verified_and_seldom_questioned(people: Desk) -> None:
    questioned = 0
    for body in _numbered(clean_bodies(SEED, CLEAN), "clean "):
        came_to = people.caught(body, body)
        assert came_to in {ENTRY, NEVER}
        questioned += came_to == ENTRY
    _say(f"\nfalse alarms: {questioned} of {CLEAN} clean records questioned ({questioned / CLEAN:.2%})")
    assert questioned / CLEAN < 0.01


def test_slips_are_caught_before_they_govern(people: Desk) -> None:
    chance = random.Random(SEED)
    bodies = clean_bodies(SEED + 1, 400)
    table: dict[str, Counter[str]] = {kind: Counter() for kind in SLIPS}
    alone: dict[str, Counter[str]] = {kind: Counter() for kind in SLIPS}
    for kind, plant in SLIPS.items():
        for number, (body, slipped) in enumerate(_planted(chance, bodies, kind, plant)):
            first = number % 2 == 0
            table[kind][people.caught(slipped, body) if first else people.caught(body, slipped)] += 1
            both = _renamed(slipped, f"both {kind} {number}")
            alone[kind][people.caught(both, both)] += 1
    _show(table, alone)
    planted, missed = _sum(table, ENTRY, VERIFICATION, NEVER), _sum(table, NEVER)
    assert planted >= 500
    assert (planted - missed) / planted >= 0.99


def _planted(chance: random.Random, bodies: list[Body], kind: str, plant: object) -> Iterator[tuple[Body, Body]]:
    """Bodies with the slip of this kind beside what the document says."""
    made = 0
    while made < EACH:
        body = _renamed(chance.choice(bodies), f"{kind} {made}")
        slipped = plant(chance, body)  # type: ignore[operator]  # a slip is called with chance and a body
        if slipped is not None:
            made += 1
            yield body, slipped


def _renamed(body: Body, word: str) -> Body:
    own = copy.deepcopy(body)
    own["application"]["model"] = f"{own['application']['model'][:20]} {word}"
    return own


def _sum(table: dict[str, Counter[str]], *where: str) -> int:
    return sum(counted[place] for counted in table.values() for place in where)


def _show(table: dict[str, Counter[str]], alone: dict[str, Counter[str]]) -> None:
    _say(f"\n{'slip':18}{'planted':>9}{ENTRY:>10}{VERIFICATION:>17}{NEVER:>12}   both people: {ENTRY}")
    for kind, counted in table.items():
        planted = counted.total()
        shares = "".join(
            f"{counted[place] / planted:>{wide}.1%}" for place, wide in ((ENTRY, 10), (VERIFICATION, 17), (NEVER, 12))
        )
        _say(f"{kind:18}{planted:>9}{shares}   {alone[kind][ENTRY] / alone[kind].total():>20.1%}")
    planted = _sum(table, ENTRY, VERIFICATION, NEVER)
    both = _sum(alone, ENTRY) / _sum(alone, ENTRY, VERIFICATION, NEVER)
    whole = "".join(
        f"{_sum(table, place) / planted:>{wide}.1%}" for place, wide in ((ENTRY, 10), (VERIFICATION, 17), (NEVER, 12))
    )
    _say(f"{'all':18}{planted:>9}{whole}   {both:>20.1%}")


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
