"""Withdrawals over HTTP: a record goes out of use at once and for everybody; a draft is given up."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest

from tests.api.bodies import EXAMPLE, EXAMPLE_LIMITS, exact
from tests.api.callers import Caller, Clock
from tests.api.conftest import Joining, People
from tests.api.entering import BREN, Person, bren, code_of, corrected, entered, faults_of, second, verified
from tests.api.test_reference import DRUM_ID, ROTOR_ID
from turnrule.actions.desk import Desk, new_id
from turnrule.api.application import build_api
from turnrule.store.sqlite import open_sqlite

D = Decimal
WHY = "the table is another rotor's"


def test_a_withdrawal_acts_at_once_and_says_what_it_touched(people: People, shop: Caller, clock: Clock) -> None:
    before = shop.post("/v1/verdicts", EXAMPLE).get_json()
    assert (before["verdict"], before["limits"]["limits_id"]) == ("machine", ROTOR_ID)
    clock.move(minutes=5)
    response = people.office.withdraw(ROTOR_ID)
    assert response.status_code == 201
    assert response.get_json() == {
        "limits_id": ROTOR_ID,
        "revision": 1,
        "state": "withdrawn",
        "reason": WHY,
        "withdrawn_by": "office",
        "withdrawn_at": "2026-11-02T10:05:00.000000Z",
        "verdicts": 1,
        "touched": f"/v1/verdicts?limits_id={ROTOR_ID}",
    }
    [touched] = shop.get(response.get_json()["touched"]).get_json()["items"]
    assert (touched["id"], touched["limits_id"], touched["limits_revision"]) == (before["id"], ROTOR_ID, 1)
    after = shop.post("/v1/verdicts", EXAMPLE).get_json()
    assert (after["verdict"], after["limits"]["limits_id"]) == ("inconclusive", None)
    [caution] = [one for one in after["cautions"] if one["code"] == "limits_withdrawn"]
    assert caution["level"] == "danger"
    assert WHY in caution["text"]


def test_no_release_that_is_named_brings_a_withdrawn_record_back(people: People, shop: Caller) -> None:
    people.office.withdraw(ROTOR_ID)
    people.office.publish("without it")
    for release in (1, 2):
        verdict = shop.post("/v1/verdicts", json.dumps({**json.loads(EXAMPLE), "release": release})).get_json()
        assert (verdict["verdict"], verdict["release"]) == ("inconclusive", release)
        assert "limits_withdrawn" in {caution["code"] for caution in verdict["cautions"]}


def test_look_ups_leave_it_out_and_a_release_that_is_named_answers_as_ever(people: People, shop: Caller) -> None:
    named = "/v1/limits?release=1&on=2026-11-02"
    before = shop.get(named)
    people.office.withdraw(ROTOR_ID)
    assert [row["limits_id"] for row in shop.get("/v1/limits").get_json()["items"]] == [DRUM_ID]
    assert shop.get(named).data == before.data
    assert people.office.publish("without it").get_json()["records"] == 1
    assert shop.get(named).data == before.data
    assert [row["limits_id"] for row in shop.get("/v1/limits?release=2").get_json()["items"]] == [DRUM_ID]


def test_the_record_says_that_it_was_withdrawn(people: People, shop: Caller) -> None:
    fixed = shop.get(f"/v1/limits/{ROTOR_ID}?revision=1")
    assert shop.get(f"/v1/limits/{ROTOR_ID}").get_json()["withdrawal"] is None
    people.office.withdraw(ROTOR_ID)
    record = shop.get(f"/v1/limits/{ROTOR_ID}").get_json()
    assert (record["state"], record["release"]) == ("withdrawn", 1)
    told = {
        "revision": 1,
        "withdrawn_by": "office",
        "withdrawn_at": "2026-11-02T10:00:00.000000Z",
        "reason": WHY,
    }
    assert record["withdrawal"] == told
    [row] = shop.get(f"/v1/limits/{ROTOR_ID}/revisions").get_json()["items"]
    assert (row["state"], row["withdrawal"]) == ("withdrawn", told)
    assert shop.get(f"/v1/limits/{ROTOR_ID}?revision=1").data == fixed.data


def test_a_first_page_and_the_rest_of_its_list_count_the_same_withdrawals(people: People, shop: Caller) -> None:
    first = shop.get("/v1/limits?limit=1").get_json()
    assert [row["limits_id"] for row in first["items"]] == [ROTOR_ID]
    people.office.withdraw(DRUM_ID)
    rest = shop.get(f"/v1/limits?after={first['next']}").get_json()
    assert [row["limits_id"] for row in rest["items"]] == [DRUM_ID]
    assert [row["limits_id"] for row in shop.get("/v1/limits").get_json()["items"]] == [ROTOR_ID]


def test_what_was_withdrawn_before_the_first_page_is_on_no_later_one(people: People, shop: Caller) -> None:
    people.office.withdraw(DRUM_ID)
    first = shop.get("/v1/limits?limit=1").get_json()
    limits_id = verified(people.anna, people.bert)
    people.office.publish()
    assert [row["limits_id"] for row in first["items"]] == [ROTOR_ID]
    assert first["next"] is None
    page = shop.get("/v1/limits?limit=1").get_json()
    rest = shop.get(f"/v1/limits?after={page['next']}").get_json()
    assert [row["limits_id"] for row in (*page["items"], *rest["items"])] == sorted([limits_id, ROTOR_ID])
    verified(people.anna, people.bert, bren(application={**BREN["application"], "axle": "rear"}))
    people.office.publish()
    people.office.withdraw(ROTOR_ID)
    page = shop.get("/v1/limits?limit=1").get_json()
    rest = shop.get(f"/v1/limits?after={page['next']}").get_json()
    assert ROTOR_ID not in [row["limits_id"] for row in (*page["items"], *rest["items"])]


def test_every_other_process_knows_of_it_with_its_next_answer(
    people: People, desk: Desk, shop: Caller, tmp_path: Path
) -> None:
    """Another application over the same store, as another worker has it; it has answered before."""
    other = Desk(open_sqlite(tmp_path / "store.sqlite"), desk.pack, desk.clock, new_id)
    elsewhere = Caller(build_api(other).test_client(), shop.secret)
    assert elsewhere.post("/v1/verdicts", EXAMPLE).get_json()["verdict"] == "machine"
    people.office.withdraw(ROTOR_ID)
    assert elsewhere.post("/v1/verdicts", EXAMPLE).get_json()["verdict"] == "inconclusive"
    other.store.close()


def test_verdicts_are_counted_as_far_as_the_key_may_see_them(shop: Caller, join: Joining) -> None:
    north = join("verdicts", site="North")
    for caller, times in ((shop, 2), (north, 3)):
        for _ in range(times):
            assert caller.post("/v1/verdicts", EXAMPLE).status_code == 201
    of_site = Person(join("limits:verify", "verdicts", site="North"))
    answer = of_site.withdraw(ROTOR_ID).get_json()
    assert answer["verdicts"] == 3
    assert len(of_site.get(answer["touched"]).get_json()["items"]) == 3
    assert len(shop.get(answer["touched"]).get_json()["items"]) == 5


@pytest.mark.parametrize("scope", ["limits:write", "limits:verify", "releases:publish", "admin"])
def test_whoever_keeps_the_reference_may_withdraw(join: Joining, scope: str) -> None:
    assert Person(join(scope)).withdraw(ROTOR_ID).status_code == 201


def test_all_revisions_up_to_the_newest_go_released_or_not(people: People, shop: Caller) -> None:
    limits_id = verified(people.anna, people.bert)
    people.office.publish()
    people.anna.enter(corrected(limits_id, discard_thickness=D("24.1")))
    people.bert.verify(limits_id, second(discard_thickness=D("24.1")))
    assert people.office.withdraw(limits_id).get_json()["revision"] == 2
    rows = people.anna.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]
    assert [row["state"] for row in rows] == ["withdrawn", "withdrawn"]
    people.office.publish()
    assert shop.get("/v1/limits?make=brennor").get_json()["items"] == []


def test_a_record_that_was_withdrawn_is_put_right_by_a_correction(people: People, shop: Caller) -> None:
    people.office.withdraw(ROTOR_ID)
    whole = {**exact(EXAMPLE_LIMITS), "discard_thickness": D("24.2")}
    correction = {**whole, "corrects": {"limits_id": ROTOR_ID, "revision": 1}, "reason": "read from the right table"}
    assert people.anna.enter(correction).status_code == 201
    assert people.bert.verify(ROTOR_ID, whole).status_code == 201
    assert shop.post("/v1/verdicts", EXAMPLE).get_json()["verdict"] == "inconclusive"
    people.office.publish()
    verdict = shop.post("/v1/verdicts", EXAMPLE).get_json()
    assert (verdict["verdict"], verdict["limits"]["revision"]) == ("machine", 2)
    states = [row["state"] for row in shop.get(f"/v1/limits/{ROTOR_ID}/revisions").get_json()["items"]]
    assert states == ["withdrawn", "published"]


def test_a_draft_that_was_never_accepted_is_given_up(people: People) -> None:
    limits_id = entered(people.anna)
    response = people.bert.withdraw(limits_id)
    assert (response.status_code, response.get_json()["state"], response.get_json()["verdicts"]) == (201, "rejected", 0)
    [row] = people.bert.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]
    assert (row["state"], row["values"], row["rejection"]["reason"]) == ("rejected", "hidden", WHY)
    assert people.bert.get(f"/v1/limits/{limits_id}?revision=1").get_json() == row
    [own] = people.anna.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]
    assert (own["state"], own["discard_thickness"]) == ("rejected", 24)
    assert people.anna.get("/v1/coverage?list=awaiting_verification").get_json()["items"] == []
    assert entered(people.anna) != limits_id


def test_the_draft_of_a_correction_is_given_up_by_its_number(people: People) -> None:
    limits_id = verified(people.anna, people.bert)
    people.anna.enter(corrected(limits_id, discard_thickness=D("24.1")))
    assert people.anna.withdraw(limits_id, revision=2).get_json()["state"] == "rejected"
    rows = people.anna.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]
    assert [row["state"] for row in rows] == ["verified", "rejected"]
    assert people.anna.enter(corrected(limits_id, discard_thickness=D("24.1"))).get_json()["revision"] == 3


def test_the_record_is_withdrawn_and_not_the_draft_where_none_is_named(people: People) -> None:
    limits_id = verified(people.anna, people.bert)
    people.anna.enter(corrected(limits_id, discard_thickness=D("24.1")))
    assert people.office.withdraw(limits_id).get_json()["revision"] == 1
    again = people.office.withdraw(limits_id)
    assert code_of(again) == (409, "nothing_to_withdraw")
    assert "name its revision 2" in again.get_json()["detail"]
    assert people.office.withdraw(limits_id, revision=2).get_json()["state"] == "rejected"


def test_what_is_not_there_is_not_withdrawn(people: People) -> None:
    assert code_of(people.office.withdraw("no-such-record")) == (404, "not_found")
    assert code_of(people.office.withdraw(ROTOR_ID, revision=2)) == (409, "stale_revision")
    assert people.office.withdraw(ROTOR_ID, revision=1).status_code == 201
    for revision in (None, 1):
        assert code_of(people.office.withdraw(ROTOR_ID, revision=revision)) == (409, "nothing_to_withdraw")
    given_up = entered(people.anna)
    assert code_of(people.anna.withdraw(given_up, revision=2)) == (409, "nothing_to_withdraw")
    people.anna.withdraw(given_up)
    assert code_of(people.anna.withdraw(given_up)) == (409, "nothing_to_withdraw")


def test_an_older_revision_is_not_withdrawn_alone(people: People) -> None:
    limits_id = verified(people.anna, people.bert)
    people.anna.enter(corrected(limits_id, discard_thickness=D("24.1")))
    people.bert.verify(limits_id, second(discard_thickness=D("24.1")))
    response = people.office.withdraw(limits_id, revision=1)
    assert code_of(response) == (409, "stale_revision")
    assert faults_of(response) == [("/revision", "stale_revision")]
    assert people.office.withdraw(limits_id, revision=2).status_code == 201


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ({}, ("/reason", "missing")),
        ({"reason": "wrong"}, ("/reason", "too_short")),
        ({"reason": "x" * 501}, ("/reason", "too_long")),
        ({"reason": "two\nlines of it"}, ("/reason", "invalid_text")),
        ({"reason": WHY, "revision": 0}, ("/revision", "out_of_range")),
        ({"reason": WHY, "revision": 1.5}, ("/revision", "invalid_number")),
        ({"reason": WHY, "revison": 1}, ("/revison", "unknown_field")),
        ([], ("", "wrong_type")),
    ],
)
def test_a_withdrawal_says_why(people: People, body: object, fault: tuple[str, str]) -> None:
    response = people.office.caller.post(f"/v1/limits/{ROTOR_ID}/withdrawals", json.dumps(body))
    assert code_of(response) == (422, "invalid_request")
    assert faults_of(response) == [fault]


def test_a_withdrawal_is_made_once_under_its_idempotency_key(people: People, shop: Caller) -> None:
    shop.post("/v1/verdicts", EXAMPLE)
    first = people.office.withdraw(ROTOR_ID, Idempotency_Key="one")
    repeated = people.office.withdraw(ROTOR_ID, Idempotency_Key="one")
    assert (repeated.status_code, repeated.data) == (201, first.data)
    assert repeated.headers["Idempotency-Replayed"] == "true"
    assert repeated.headers["Location"] == first.headers["Location"] == f"/v1/limits/{ROTOR_ID}/revisions"
    other = people.office.withdraw(ROTOR_ID, "another reason for it", Idempotency_Key="one")
    assert code_of(other) == (422, "idempotency_key_reused")


def test_a_draft_is_given_up_once_under_its_idempotency_key(people: People) -> None:
    limits_id = entered(people.anna)
    first = people.anna.withdraw(limits_id, Idempotency_Key="one")
    repeated = people.anna.withdraw(limits_id, Idempotency_Key="one")
    assert (repeated.status_code, repeated.data) == (201, first.data)
    other = entered(people.anna, bren(application={**BREN["application"], "axle": "rear"}))
    assert people.anna.get(f"/v1/limits/{other}").get_json()["state"] == "draft"
