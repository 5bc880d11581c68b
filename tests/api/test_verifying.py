"""The second entry over HTTP: by somebody else, unseen; equal it is verified, else a third person settles it."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest

from tests.api.callers import Clock
from tests.api.conftest import Caller, Joining, People
from tests.api.entering import (
    BREN,
    Person,
    bren,
    code_of,
    corrected,
    entered,
    faults_of,
    second,
    verified,
)
from tests.api.test_entering import JUDGED
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.store.limit_records import StoreRules

D = Decimal
OTHER = second(discard_thickness=D("23.9"))
THIRD = second(discard_thickness=D("23.8"))


def states(person: Person, limits_id: str) -> list[tuple[int, str]]:
    """Number and state of every revision of a record."""
    rows = person.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]
    return [(row["revision"], row["state"]) for row in rows]


def test_the_same_entry_by_somebody_else_verifies_the_draft(people: People, clock: Clock) -> None:
    limits_id = entered(people.anna)
    clock.move(hours=3)
    response = people.bert.verify(limits_id)
    assert response.status_code == 201
    record = response.get_json()
    assert (record["entered_by"], record["verified_by"]) == ("anna", "bert")
    assert (record["entered_at"], record["verified_at"]) == (
        "2026-11-02T10:00:00.000000Z",
        "2026-11-02T13:00:00.000000Z",
    )
    assert (record["state"], record["release"], record["overruled"], record["cautions"]) == ("verified", None, None, [])
    kept = people.carl.get(response.headers["Location"]).get_json()
    assert kept == {name: record[name] for name in kept}
    assert states(people.carl, limits_id) == [(1, "verified")]


def test_what_a_second_entry_may_leave_out_and_write_otherwise(people: People) -> None:
    """Spelling of names as look-ups compare them; digits that say the same; source and days where they are given."""
    limits_id = entered(people.anna, bren(review_due="2028-01-01", note="second column"))
    application = {**BREN["application"], "make": "BRENNOR", "model": " tavik".strip(), "year_from": D("2016.0")}
    body = write_exact(second(application=application)).replace(
        b'"discard_thickness":24', b'"discard_thickness":24.000'
    )
    assert people.bert.caller.post(f"/v1/limits/{limits_id}/verifications", body).status_code == 201
    record = people.bert.get(f"/v1/limits/{limits_id}").get_json()
    assert (record["application"]["make"], record["review_due"], record["note"]) == (
        "Brennor",
        "2028-01-01",
        "second column",
    )


def application(**changes: object) -> dict[str, Any]:
    """The application with some parts of it changed; None takes one out."""
    whole = {**BREN["application"], **changes}
    return {name: value for name, value in whole.items() if value is not None}


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"unit": "in", "nominal_thickness": D("1.02"), "minimum_machining_thickness": D("0.97"),
          "discard_thickness": D("0.95"), "maximum_lateral_runout": D("0.002"),
          "maximum_thickness_variation": D("0.0005")},
         ["/unit", "/nominal_thickness", "/minimum_machining_thickness", "/discard_thickness",
          "/maximum_lateral_runout", "/maximum_thickness_variation"]),
        ({"discard_thickness": D("23.9")}, ["/discard_thickness"]),
        ({"discard_thickness": D("24.0000001")}, ["/discard_thickness"]),
        ({"maximum_lateral_runout": None}, ["/maximum_lateral_runout"]),
        ({"maximum_taper": D("0.02")}, ["/maximum_taper"]),
        ({"minimum_machining_thickness": D("24.5"), "nominal_thickness": D(27)},
         ["/nominal_thickness", "/minimum_machining_thickness"]),
        ({"machining": None}, ["/machining"]),
        ({"machining": "prohibited"}, ["/machining"]),
        ({"construction": "solid"}, ["/construction"]),
        ({"construction": None}, ["/construction"]),
        ({"expansion_per_k": D("0.0000117")}, ["/expansion_per_k"]),
        ({"application": application(model="Tavik S")}, ["/application/model"]),
        ({"application": application(year_from=2015)}, ["/application/year_from"]),
        ({"application": application(year_to=None)}, ["/application/year_to"]),
        ({"application": application(axle="rear", brake_option="B2")},
         ["/application/brake_option", "/application/axle"]),
        ({"effective_from": "2016-03-01"}, ["/effective_from"]),
        ({"effective_to": "2030-03-01"}, ["/effective_to"]),
        ({"source": {"document": "Tavik data", "edition": "2016-02"}}, ["/source/document"]),
        ({"source": {"document": "TAVIK  brake data", "edition": "2017"}}, ["/source/edition"]),
    ],
)  # fmt: skip
def test_an_entry_that_differs_is_told_the_fields_and_never_a_value(
    people: People, changes: dict[str, object], fields: list[str]
) -> None:
    limits_id = entered(people.anna)
    body = {**second(), **changes}
    response = people.bert.verify(limits_id, {name: value for name, value in body.items() if value is not None})
    assert code_of(response) == (409, "entries_differ")
    assert faults_of(response) == [(field, "differs") for field in fields]
    assert {fault["detail"] for fault in response.get_json()["errors"]} == {
        "the two entries differ in this field; neither is shown"
    }
    assert states(people.bert, limits_id) == [(1, "draft")]


def test_another_kind_of_part_differs_in_its_figures_by_its_own_names(people: People) -> None:
    limits_id = entered(people.anna)
    drum = {
        "unit": "mm",
        "kind": "drum",
        "application": BREN["application"],
        "nominal_diameter": D("228.6"),
        "discard_diameter": D("230.6"),
        "machining": "permitted",
    }
    assert faults_of(people.bert.verify(limits_id, drum)) == [
        ("/kind", "differs"),
        ("/nominal_diameter", "differs"),
        ("/maximum_machining_diameter", "differs"),
        ("/discard_diameter", "differs"),
        ("/maximum_lateral_runout", "differs"),
        ("/maximum_thickness_variation", "differs"),
        ("/construction", "differs"),
    ]


def test_a_second_entry_is_held_against_its_own_faults_first(people: People) -> None:
    limits_id = entered(people.anna)
    response = people.bert.verify(limits_id, second(unit=None, discard_thickness=D("24.7")))
    assert code_of(response) == (422, "invalid_request")
    response = people.bert.verify(limits_id, second(discard_thickness=D("24.7")))
    assert faults_of(response) == [("/minimum_machining_thickness", "machining_past_discard")]
    assert code_of(people.bert.verify(limits_id, corrected(limits_id))) == (422, "invalid_request")
    assert people.bert.get(f"/v1/limits/{limits_id}").get_json()["mismatches"] == 0


def test_whoever_entered_it_cannot_make_the_second_entry(join: Joining, people: People) -> None:
    both = Person(join("limits:write", "limits:verify"))
    limits_id = entered(both)
    for body in (second(), OTHER):
        response = both.verify(limits_id, body)
        assert code_of(response) == (403, "second_person_needed")
        assert faults_of(response) == [("", "second_person_needed")]
    assert both.get(f"/v1/limits/{limits_id}").get_json()["mismatches"] == 0
    assert people.bert.verify(limits_id).status_code == 201


def test_an_admin_is_still_one_person(join: Joining) -> None:
    one, other = Person(join("admin", name="chief")), Person(join("admin", name="deputy"))
    limits_id = entered(one)
    assert code_of(one.verify(limits_id)) == (403, "second_person_needed")
    assert code_of(other.verify(limits_id, OTHER)) == (409, "entries_differ")
    assert code_of(other.verify(limits_id, OTHER)) == (409, "entries_differ")
    for admin in (one, other):
        assert code_of(admin.verify(limits_id)) == (403, "third_person_needed")
    third = Person(join("admin"))
    assert third.verify(limits_id).get_json()["verified_by"] == "caller-3"


def test_after_one_mismatch_the_same_person_may_read_again(people: People) -> None:
    limits_id = entered(people.anna)
    response = people.bert.verify(limits_id, OTHER)
    assert (
        response.get_json()["detail"]
        == "1 field differs from the first entry; read the document again, and enter what it says"
    )
    assert people.bert.verify(limits_id).status_code == 201
    record = people.bert.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"][0]
    assert (record["state"], record["mismatches"]) == ("verified", 1)


@pytest.mark.parametrize("who", [("bert", "bert"), ("bert", "carl")])
def test_after_two_mismatches_only_somebody_new_settles_it(people: People, who: tuple[str, str]) -> None:
    limits_id = entered(people.anna)
    named = people._asdict()
    assert code_of(named[who[0]].verify(limits_id, OTHER)) == (409, "entries_differ")
    response = named[who[1]].verify(limits_id, THIRD)
    assert "somebody who made none of the entries" in response.get_json()["detail"]
    assert states(people.dora, limits_id) == [(1, "disputed")]
    for person in {*who}:
        for body in (second(), OTHER):
            refused = named[person].verify(limits_id, body)
            assert code_of(refused) == (403, "third_person_needed")
            assert faults_of(refused) == [("", "third_person_needed")]
    assert people.dora.verify(limits_id).status_code == 201
    assert states(people.dora, limits_id) == [(1, "verified")]


def test_the_author_of_a_disputed_draft_cannot_settle_it_either(people: People, join: Joining) -> None:
    author = Person(join("limits:write", "limits:verify"))
    limits_id = entered(author)
    for person in (people.bert, people.carl):
        person.verify(limits_id, OTHER)
    assert code_of(author.verify(limits_id)) == (403, "third_person_needed")


def test_a_third_person_who_reads_what_the_second_read_overrules_the_draft(people: People, clock: Clock) -> None:
    limits_id = entered(people.anna, bren(note="first column", review_due="2028-01-01"))
    clock.move(hours=1)
    whole = {**OTHER, "source": {"document": "Tavik brake data", "edition": "2016-02"}}
    assert people.bert.verify(limits_id, whole).status_code == 409
    clock.move(hours=1)
    assert people.carl.verify(limits_id, THIRD).status_code == 409
    clock.move(hours=1)
    response = people.dora.verify(limits_id, OTHER)
    assert response.status_code == 201
    record = response.get_json()
    assert (record["revision"], record["overruled"], record["discard_thickness"]) == (2, 1, 23.9)
    assert (record["entered_by"], record["verified_by"]) == ("bert", "dora")
    assert (record["entered_at"], record["verified_at"]) == (
        "2026-11-02T11:00:00.000000Z",
        "2026-11-02T13:00:00.000000Z",
    )
    assert record["source"] == {**BREN["source"], "issued": "2016-02-01"}
    assert (record["effective_from"], record["note"], record["review_due"]) == ("2016-02-01", None, "2028-01-01")
    assert states(people.dora, limits_id) == [(1, "rejected"), (2, "verified")]
    [first, _] = people.anna.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]
    assert first["rejection"]["rejected_by"] == "dora"
    assert first["discard_thickness"] == 24
    assert people.office.publish().status_code == 201
    assert people.anna.get(f"/v1/limits/{limits_id}").get_json()["discard_thickness"] == 23.9


def test_of_two_entries_that_both_differ_the_third_person_says_which_holds(people: People) -> None:
    limits_id = entered(people.anna)
    people.bert.verify(limits_id, OTHER)
    people.carl.verify(limits_id, THIRD)
    record = people.dora.verify(limits_id, THIRD).get_json()
    assert (record["entered_by"], record["verified_by"], record["discard_thickness"]) == ("carl", "dora", 23.8)


def test_a_third_entry_that_equals_none_needs_a_further_person(people: People) -> None:
    limits_id = entered(people.anna)
    people.bert.verify(limits_id, OTHER)
    people.carl.verify(limits_id, THIRD)
    assert code_of(people.dora.verify(limits_id, second(discard_thickness=D("23.7")))) == (409, "entries_differ")
    assert code_of(people.dora.verify(limits_id)) == (403, "third_person_needed")
    hidden = people.emil.get(f"/v1/limits/{limits_id}").get_json()
    assert (hidden["state"], hidden["mismatches"]) == ("disputed", 3)
    record = people.emil.verify(limits_id, second(discard_thickness=D("23.7"))).get_json()
    assert (record["entered_by"], record["verified_by"]) == ("dora", "emil")


def test_a_correction_is_overruled_as_a_first_entry_is(people: People) -> None:
    limits_id = verified(people.anna, people.bert)
    people.office.publish()
    assert people.anna.enter(corrected(limits_id, discard_thickness=D("24.1"))).status_code == 201
    people.bert.verify(limits_id, OTHER)
    people.carl.verify(limits_id, THIRD)
    record = people.dora.verify(limits_id, OTHER).get_json()
    assert (record["revision"], record["overruled"]) == (3, 2)
    assert record["reason"] == "the first entry was read from the row below"
    assert states(people.dora, limits_id) == [(1, "published"), (2, "rejected"), (3, "verified")]


def test_what_two_people_read_is_held_against_the_checks_of_a_first_entry(people: People) -> None:
    """Warnings are answered by two people having read the same; refusals stay refusals."""
    limits_id = entered(people.anna)
    odd = second(maximum_lateral_runout=D("0.9"))
    people.bert.verify(limits_id, odd)
    people.carl.verify(limits_id, THIRD)
    record = people.dora.verify(limits_id, odd).get_json()
    assert record["maximum_lateral_runout"] == 0.9
    assert record["answered_warnings"]
    for warning in record["answered_warnings"]:
        assert warning["reason"] == "bert and dora have entered the same from the document."


def test_a_document_that_nobody_could_find_is_refused_though_two_people_named_it(people: People) -> None:
    limits_id = entered(people.anna)
    nameless = {**second(), "source": {"document": "n/a", "edition": "2016-02"}}
    people.bert.verify(limits_id, nameless)
    people.carl.verify(limits_id, THIRD)
    response = people.dora.verify(limits_id, nameless)
    assert faults_of(response) == [("/source/document", "placeholder")]
    assert states(people.dora, limits_id) == [(1, "disputed")]


def test_an_overlap_that_two_people_read_is_refused(people: People) -> None:
    """Both read years that another record has: the record there has to be put in order first."""
    entered(people.anna, bren(application=application(year_from=2013, year_to=2015)))
    limits_id = entered(people.anna)
    longer = second(application=application(year_from=2015))
    people.bert.verify(limits_id, longer)
    people.carl.verify(limits_id, THIRD)
    response = people.dora.verify(limits_id, longer)
    assert code_of(response) == (422, "invalid_request")
    assert faults_of(response) == [("/application", "overlap")]
    assert states(people.dora, limits_id) == [(1, "disputed")]


def test_there_is_nothing_to_verify_twice_or_where_nothing_was_entered(people: People) -> None:
    assert code_of(people.bert.verify("no-such-record")) == (404, "not_found")
    limits_id = verified(people.anna, people.bert)
    assert code_of(people.bert.verify(limits_id)) == (409, "nothing_to_verify")
    given_up = entered(people.anna, bren(application=application(axle="rear")))
    people.anna.withdraw(given_up)
    assert code_of(people.bert.verify(given_up)) == (409, "nothing_to_verify")


def test_a_mismatch_is_kept_once_under_its_idempotency_key_and_answered_alike(people: People) -> None:
    limits_id = entered(people.anna)
    first = people.bert.verify(limits_id, OTHER, Idempotency_Key="one")
    repeated = people.bert.verify(limits_id, OTHER, Idempotency_Key="one")
    assert (first.status_code, repeated.status_code) == (409, 409)
    assert repeated.data == first.data
    assert repeated.headers["Content-Type"] == "application/problem+json"
    assert (first.headers.get("Idempotency-Replayed"), repeated.headers["Idempotency-Replayed"]) == (None, "true")
    assert people.bert.get(f"/v1/limits/{limits_id}").get_json()["mismatches"] == 1


def test_a_verification_is_answered_alike_after_everything_has_moved_on(people: People) -> None:
    limits_id = entered(people.anna)
    first = people.bert.verify(limits_id, Idempotency_Key="one")
    people.office.publish()
    people.office.withdraw(limits_id)
    repeated = people.bert.verify(limits_id, Idempotency_Key="one")
    assert (repeated.status_code, repeated.data) == (201, first.data)
    assert repeated.headers["Location"] == first.headers["Location"]


@pytest.fixture
def made_for_one(desk: Desk) -> Desk:
    """A store that takes both entries from one person, with a pause of a day; set before anything is entered."""
    desk.store.set_rules(StoreRules(one_person_pause=datetime.timedelta(days=1)), at=desk.clock(), by="operator")
    return desk


@pytest.fixture
def alone(made_for_one: Desk, join: Joining) -> Person:
    """The one person of a shop whose store was made for one."""
    assert made_for_one.store.rules().one_person_pause
    return Person(join("limits:write", "limits:verify", "releases:publish", "verdicts", name="solo"))


def test_one_person_enters_it_again_after_the_pause_and_not_before(alone: Person, clock: Clock) -> None:
    limits_id = entered(alone)
    clock.move(hours=23, minutes=59)
    response = alone.verify(limits_id)
    assert code_of(response) == (409, "pause_not_over")
    assert "2026-11-03T10:00:00.000000Z" in response.get_json()["detail"]
    clock.move(minutes=1)
    record = alone.verify(limits_id).get_json()
    assert (record["entered_by"], record["verified_by"]) == ("solo", "solo")
    assert record["cautions"] == ["entered_by_one_person"]


def test_what_one_person_entered_says_so_wherever_it_is_used(alone: Person, clock: Clock) -> None:
    limits_id = entered(alone)
    clock.move(days=1)
    alone.verify(limits_id)
    release = alone.publish().get_json()
    assert (release["cautions"], release["records_by_one_person"]) == (["entered_by_one_person"], 1)
    assert alone.get("/v1/releases/2").get_json() == release
    assert alone.get("/v1/releases/1").get_json()["cautions"] == []
    [record] = alone.get("/v1/limits?make=brennor").get_json()["items"]
    assert record["cautions"] == ["entered_by_one_person"]
    verdict = alone.caller.post("/v1/verdicts", JUDGED).get_json()
    [caution] = [one for one in verdict["cautions"] if one["code"] == "entered_by_one_person"]
    assert caution["level"] == "warning"


def test_one_persons_mismatch_counts_as_any_other(alone: Person, people: People, clock: Clock) -> None:
    limits_id = entered(alone)
    clock.move(days=1)
    assert code_of(alone.verify(limits_id, OTHER)) == (409, "entries_differ")
    assert code_of(alone.verify(limits_id, OTHER)) == (409, "entries_differ")
    assert code_of(alone.verify(limits_id)) == (403, "third_person_needed")
    assert people.bert.verify(limits_id).get_json()["cautions"] == []


def test_in_a_store_for_one_two_people_need_no_pause(alone: Person, people: People) -> None:
    record = people.bert.verify(entered(alone)).get_json()
    assert (record["verified_by"], record["cautions"]) == ("bert", [])


def test_a_pause_that_was_set_for_others_lets_no_clock_be_turned_back(alone: Person, clock: Clock) -> None:
    limits_id = entered(alone)
    clock.move(days=-400)
    assert code_of(alone.verify(limits_id)) == (409, "pause_not_over")


def test_who_sees_a_verified_revision_sees_all_of_it(people: People, shop: Caller) -> None:
    limits_id = verified(people.anna, people.bert)
    record = shop.get(f"/v1/limits/{limits_id}").get_json()
    assert (record["state"], record["discard_thickness"], record["release"]) == ("verified", 24, None)
