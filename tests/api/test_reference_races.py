"""Several people at the same moment: every race has one winner, everybody is answered, and nothing is lost."""

from __future__ import annotations

import importlib
import threading
from collections import Counter
from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import partial
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.api.callers import Caller
from tests.api.conftest import Joining, People
from tests.api.entering import BREN, Person, bren, corrected, entered, second, verified

D = Decimal
ROUNDS = 8


def at_once(*calls: Callable[[], TestResponse]) -> list[TestResponse]:
    """The answers to calls that begin at the same moment, in the order of the calls."""
    start = threading.Barrier(len(calls))
    answers: dict[int, TestResponse] = {}

    def run(place: int, call: Callable[[], TestResponse]) -> None:
        start.wait()
        answers[place] = call()

    threads = [threading.Thread(target=run, args=(place, call)) for place, call in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [answers[place] for place in range(len(calls))]


def apart(person: Person) -> Person:
    """The same person with a connection of their own."""
    return Person(Caller(person.caller.client.application.test_client(), person.caller.secret))


def outcomes(answers: Sequence[TestResponse]) -> Counter[str]:
    """How often each outcome came: the status where it is good, else the problem."""
    return Counter(
        str(answer.status_code) if answer.status_code < 400 else answer.get_json()["type"].rsplit("/", 1)[1]
        for answer in answers
    )


def of_vehicle(number: int) -> dict[str, Any]:
    """Limits of another vehicle each round."""
    return bren(application={**BREN["application"], "model": f"Tavik {number}"})


def again(number: int, **changes: object) -> dict[str, Any]:
    """The same, entered again."""
    return second(application={**BREN["application"], "model": f"Tavik {number}"}, **changes)


def test_of_two_who_verify_the_same_draft_one_does(people: People) -> None:
    for number in range(ROUNDS):
        limits_id = entered(people.anna, of_vehicle(number))
        answers = at_once(*[partial(apart(one).verify, limits_id, again(number)) for one in (people.bert, people.carl)])
        assert outcomes(answers) == {"201": 1, "nothing_to_verify": 1}
        [row] = people.anna.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]
        assert row["state"] == "verified"


def test_mismatches_at_the_same_moment_are_all_kept(people: People) -> None:
    for number in range(ROUNDS):
        limits_id = entered(people.anna, of_vehicle(number))
        bodies = [again(number, discard_thickness=size) for size in (D("23.1"), D("23.2"), D("23.3"))]
        everybody = (people.bert, people.carl, people.dora)
        answers = at_once(
            *[partial(apart(one).verify, limits_id, body) for one, body in zip(everybody, bodies, strict=True)]
        )
        assert outcomes(answers) == {"entries_differ": 3}
        hidden = people.emil.get(f"/v1/limits/{limits_id}").get_json()
        assert (hidden["state"], hidden["mismatches"]) == ("disputed", 3)
        assert people.emil.verify(limits_id, again(number)).status_code == 201


def test_one_person_many_times_at_once_cannot_settle_what_they_dispute(people: People) -> None:
    for number in range(ROUNDS):
        limits_id = entered(people.anna, of_vehicle(number))
        wrong = again(number, discard_thickness=D(23))
        answers = at_once(*[partial(apart(people.bert).verify, limits_id, wrong) for _ in range(4)])
        assert outcomes(answers) == {"entries_differ": 2, "third_person_needed": 2}


def test_the_author_never_gets_in_as_the_second_person_however_fast(join: Joining) -> None:
    both = Person(join("limits:write", "limits:verify"))
    for number in range(ROUNDS):
        limits_id = entered(both, of_vehicle(number))
        answers = at_once(*[partial(apart(both).verify, limits_id, again(number)) for _ in range(4)])
        assert outcomes(answers) == {"second_person_needed": 4}


def test_of_two_who_enter_the_same_vehicle_one_does(people: People, join: Joining) -> None:
    other = Person(join("limits:write"))
    for number in range(ROUNDS):
        answers = at_once(*[partial(apart(one).enter, of_vehicle(number)) for one in (people.anna, other)])
        assert outcomes(answers) == {"201": 1, "invalid_request": 1}
    assert len(people.anna.get("/v1/coverage?list=awaiting_verification").get_json()["items"]) == ROUNDS


def test_of_two_who_correct_the_same_revision_one_does(people: People, join: Joining) -> None:
    other = Person(join("limits:write"))
    for number in range(ROUNDS):
        vehicle = {**BREN["application"], "model": f"Tavik {number}"}
        limits_id = verified(people.anna, people.bert, of_vehicle(number))
        bodies = [corrected(limits_id, application=vehicle, discard_thickness=size) for size in (D("23.8"), D("23.9"))]
        both = zip((people.anna, other), bodies, strict=True)
        assert outcomes(at_once(*[partial(apart(one).enter, body) for one, body in both])) == {
            "201": 1,
            "draft_open": 1,
        }


def test_of_two_releases_one_wins_and_holds_everything(people: People, join: Joining) -> None:
    other = Person(join("releases:publish"))
    for number in range(ROUNDS):
        limits_id = verified(people.anna, people.bert, of_vehicle(number))
        answers = at_once(*[partial(apart(one).publish, "more", number + 1) for one in (people.office, other)])
        assert outcomes(answers) == {"201": 1, "release_race": 1}
        assert people.anna.get(f"/v1/limits/{limits_id}").get_json()["release"] == number + 2


def test_of_two_releases_that_follow_anything_one_has_nothing_to_publish(people: People, join: Joining) -> None:
    other = Person(join("releases:publish"))
    for number in range(ROUNDS):
        verified(people.anna, people.bert, of_vehicle(number))
        answers = at_once(*[apart(one).publish for one in (people.office, other)])
        assert outcomes(answers) == {"201": 1, "nothing_to_publish": 1}


def test_of_two_withdrawals_one_acts(people: People, join: Joining) -> None:
    other = Person(join("releases:publish"))
    for number in range(ROUNDS):
        limits_id = verified(people.anna, people.bert, of_vehicle(number))
        answers = at_once(*[partial(apart(one).withdraw, limits_id) for one in (people.office, other)])
        assert outcomes(answers) == {"201": 1, "nothing_to_withdraw": 1}


@pytest.mark.parametrize("what", ["enter", "verify", "differ", "withdraw", "publish"])
def test_the_same_request_at_the_same_moment_is_done_once_and_answered_alike(people: People, what: str) -> None:
    for number in range(ROUNDS):
        call = once(people, what, number)
        answers = at_once(*[call] * 3)
        assert len({answer.data for answer in answers}) == 1
        assert {answer.status_code for answer in answers} == {409 if what == "differ" else 201}
        assert sorted(answer.headers.get("Idempotency-Replayed", "") for answer in answers) == ["", "true", "true"]


@pytest.mark.parametrize(
    ("what", "action"),
    [
        ("enter", "entries.enter_limits"),
        ("verify", "entries.verify_limits"),
        ("differ", "entries.verify_limits"),
        ("withdraw", "entries.withdraw_limits"),
        ("publish", "releases.publish_release"),
    ],
)
def test_a_request_that_its_own_repetition_overtakes_is_answered_as_that_one_was(
    people: People, monkeypatch: pytest.MonkeyPatch, what: str, action: str
) -> None:
    """The repetition is done when the first one has been read and nothing of it is done yet."""
    call = once(people, what, 1)
    module, name = action.split(".")
    original: Callable[..., object] = getattr(importlib.import_module(f"turnrule.api.{module}"), name)
    overtaking: list[TestResponse] = []

    def overtaken(*args: object, **options: object) -> object:
        monkeypatch.setattr(f"turnrule.api.{action}", original)
        overtaking.append(call())
        return original(*args, **options)

    monkeypatch.setattr(f"turnrule.api.{action}", overtaken)
    answer = call()
    [other] = overtaking
    assert answer.status_code == other.status_code == (409 if what == "differ" else 201)
    assert answer.data == other.data
    assert answer.headers["Idempotency-Replayed"] == "true"
    assert "Idempotency-Replayed" not in other.headers


def once(people: People, what: str, number: int) -> Callable[[], TestResponse]:
    """A call under an idempotency key of its own, each time from a connection of its own."""
    key = f"round-{number}"
    if what == "enter":
        return lambda: apart(people.anna).enter(of_vehicle(number), Idempotency_Key=key)
    limits_id = entered(people.anna, of_vehicle(number))
    if what in {"verify", "differ"}:
        body = again(number, discard_thickness=D(23) if what == "differ" else D(24))
        return lambda: apart(people.bert).verify(limits_id, body, Idempotency_Key=key)
    assert people.bert.verify(limits_id, again(number)).status_code == 201
    if what == "withdraw":
        return lambda: apart(people.office).withdraw(limits_id, Idempotency_Key=key)
    return lambda: apart(people.office).publish(Idempotency_Key=key)
