"""The call-back list: the newest verdict on each part, why it is listed, what to do, and most urgent first."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest

from tests.actions.fleet_world import EVERY, judge, live, rotor, withdraw
from tests.actions.test_reporting_compliance import GOOD_ROTOR, OPEN_ROTOR, WORN_ROTOR, after, uneven
from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS
from tests.api.callers import Clock
from tests.api.conftest import publish
from turnrule.actions.call_back_lines import CallBack, CallBackDone, CalledPart, Reason, Urgency
from turnrule.actions.calling_back import list_call_backs
from turnrule.actions.desk import Desk
from turnrule.actions.impact import ImpactLine, impact
from turnrule.actions.report_scope import Scope
from turnrule.api.impact import read_stored
from turnrule.judging.words import Ruling
from turnrule.store.port import VerdictRecord

D = Decimal
RECORD = "corvane-ostrel-2021-front-rotor-b16"


@pytest.fixture(autouse=True)
def limits(desk: Desk) -> None:
    """The contract's example rotor and a drum."""
    publish(desk, EXAMPLE_LIMITS, DRUM_LIMITS)


def entries_of(desk: Desk, scope: Scope | None = None) -> list[CallBack]:
    """The entries of a list that came to its end, whose counts are those of its entries."""
    *steps, done = list_call_backs(desk, scope or Scope(), read_stored)
    assert isinstance(done, CallBackDone)
    found = [step for step in steps if isinstance(step, CallBack)]
    counted = Counter(entry.first.urgency for entry in found)
    assert done.urgencies == {urgency: counted[urgency] for urgency in Urgency}
    return found


def only_part(desk: Desk) -> CalledPart:
    (entry,) = entries_of(desk)
    (part,) = entry.parts
    return part


def correct(desk: Desk, clock: Clock, by: str) -> None:
    """Publish the next revision of the example rotor's limits, moved by so many mm."""
    held = desk.store.limit_revision(RECORD)
    assert held is not None
    assert held.limits.machining is not None
    assert held.limits.discard is not None
    moved = replace(held.limits, machining=held.limits.machining + D(by), discard=held.limits.discard + D(by))
    at = clock()
    made = replace(
        held,
        revision=held.revision + 1,
        limits=moved,
        reason="The next edition says so.",
        entered_at=at,
        verified_at=at,
    )
    desk.store.publish([made], published_at=at, published_by="office", notes="A correction.")


def test_a_good_part_and_one_to_be_machined_are_not_on_the_list(desk: Desk) -> None:
    judge(desk, rotor(GOOD_ROTOR))
    judge(desk, uneven("right"))
    assert entries_of(desk) == []


@pytest.mark.parametrize(
    ("size", "reason", "urgency"),
    [
        (WORN_ROTOR, Reason.REPLACE, Urgency.REPLACE),
        (OPEN_ROTOR, Reason.INCONCLUSIVE, Urgency.SETTLE),
    ],
)
def test_a_part_that_was_held_back_until_a_newer_verdict_passes_it(
    desk: Desk, clock: Clock, size: str, reason: Reason, urgency: Urgency
) -> None:
    found = judge(desk, rotor(size), "north")
    judge(desk, rotor(GOOD_ROTOR, "right"))
    part = only_part(desk)
    assert (part.verdict_id, part.side, part.site) == (found.id, "left", "north")
    assert (part.reasons, part.urgency) == ((reason,), urgency)
    clock.move(days=1)
    judge(desk, after("25.9"))
    assert entries_of(desk) == []


def test_a_part_that_was_passed_by_limits_that_were_withdrawn(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(GOOD_ROTOR))
    clock.move(days=1)
    withdraw(desk)
    part = only_part(desk)
    assert (part.reasons, part.urgency) == ((Reason.WITHDRAWN,), Urgency.CALL_BACK)
    assert part.what_to_do.startswith("Call the vehicle back: the part was passed by limits that were withdrawn")
    judge(desk, rotor(GOOD_ROTOR, marking=D(24)))
    assert only_part(desk).reasons == (Reason.INCONCLUSIVE,)


def test_a_part_that_was_held_back_by_limits_that_were_withdrawn(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(WORN_ROTOR))
    clock.move(days=1)
    withdraw(desk)
    part = only_part(desk)
    assert (part.reasons, part.urgency) == ((Reason.WITHDRAWN, Reason.REPLACE), Urgency.SETTLE)
    assert part.what_to_do.startswith("Keep the part out of use, and have it judged again")


@pytest.mark.parametrize(
    ("size", "by", "now", "asks"),
    [
        (GOOD_ROTOR, "1.4", Ruling.REPLACE, (Urgency.CALL_BACK, "Call the vehicle back: the part was passed")),
        (WORN_ROTOR, "-0.5", Ruling.SERVICEABLE, (Urgency.SETTLE, "Nothing is lost in safety: the part was refused")),
    ],
)
def test_a_part_that_comes_out_differently_under_the_newest_release(
    desk: Desk, clock: Clock, size: str, by: str, now: Ruling, asks: tuple[Urgency, str]
) -> None:
    found = judge(desk, rotor(size))
    clock.move(days=1)
    correct(desk, clock, by)
    part = only_part(desk)
    assert (part.ruling, part.now, part.urgency) == (found.ruling, now, asks[0])
    assert Reason.CHANGED in part.reasons
    assert part.what_to_do.startswith(asks[1])


def test_a_withdrawal_that_the_newest_release_made_good(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(GOOD_ROTOR))
    clock.move(days=1)
    withdraw(desk)
    correct(desk, clock, "0.0")
    part = only_part(desk)
    assert (part.reasons, part.now, part.urgency) == ((Reason.WITHDRAWN,), None, Urgency.CHECK)
    assert "comes out the same" in part.what_to_do
    judge(desk, rotor(GOOD_ROTOR))
    assert entries_of(desk) == []  # by the correction, which nobody withdrew


def test_most_urgent_first_and_of_these_what_has_waited_longest(desk: Desk, clock: Clock) -> None:
    for vehicle, size in (("b", OPEN_ROTOR), ("z", WORN_ROTOR), ("a", WORN_ROTOR), ("c", OPEN_ROTOR)):
        judge(desk, rotor(size, vehicle=vehicle))
        clock.move(days=1)
    assert [entry.vehicle for entry in entries_of(desk)] == ["z", "a", "b", "c"]


def test_both_sides_of_an_axle_are_one_entry_with_the_sentence_of_the_more_urgent(desk: Desk) -> None:
    judge(desk, rotor(OPEN_ROTOR, "left"))
    judge(desk, rotor(WORN_ROTOR, "right"))
    (entry,) = entries_of(desk)
    assert [part.side for part in entry.parts] == ["left", "right"]
    assert (entry.first.side, entry.first.urgency) == ("right", Urgency.REPLACE)


def test_the_list_is_about_the_newest_verdict_where_the_scope_covers_it(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(WORN_ROTOR), "north")
    clock.move(days=1)
    judge(desk, rotor(GOOD_ROTOR), "south")
    assert entries_of(desk, Scope(site="north")) == []
    assert len(entries_of(desk, Scope(bound="north"))) == 1  # who is bound to a site knows of no other
    assert entries_of(desk, Scope(bound="south")) == []


@pytest.mark.parametrize("seed", [21, 22, 23])
def test_the_list_is_that_of_a_plain_search(
    desk: Desk, clock: Clock, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every verdict is held in memory, and the release's impact taken from the whole walk over the store."""
    monkeypatch.setattr("turnrule.actions.sorted_rows.RUN", 6)
    chance = Random(seed)
    live(desk, clock, chance, 120)
    correct(desk, clock, "0.7")
    newest: dict[tuple[object, ...], VerdictRecord] = {}
    for record in desk.store.verdicts(EVERY, limit=1000):
        if record.vehicle is not None and record.axle is not None:
            newest[record.vehicle, record.axle, record.kind, record.side] = record
    release = desk.store.release()
    assert release is not None
    changed = {step.verdict.id for step in impact(desk, read_stored, release.number, 0) if isinstance(step, ImpactLine)}
    gone = desk.store.withdrawals()
    expected = {}
    for record in newest.values():
        withdrawn = any(one.limits_id == record.limits_id and one.sequence > record.withdrawn for one in gone)
        reasons = [
            *[Reason.WITHDRAWN] * withdrawn,
            *[Reason.REPLACE] * (record.ruling is Ruling.REPLACE),
            *[Reason.INCONCLUSIVE] * (record.ruling is Ruling.INCONCLUSIVE),
            *[Reason.CHANGED] * (record.id in changed),
        ]
        if reasons:
            expected[record.id] = tuple(reasons)
    entries = entries_of(desk)
    assert {part.verdict_id: part.reasons for entry in entries for part in entry.parts} == expected
    ranks = [entry.first.urgency.rank for entry in entries]
    assert ranks == sorted(ranks)
    assert all(len({*group}) == 1 for _, group in itertools.groupby(entries, key=lambda one: (one.vehicle, one.axle)))
