"""Limits entered over HTTP: a draft, or every reason why not; nothing governs before the second entry and a release."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pytest

from tests.api.bodies import DRUM_LIMITS, EXAMPLE, EXAMPLE_LIMITS, changed
from tests.api.conftest import Caller, Joining, People
from tests.api.entering import (
    BREN,
    Person,
    again,
    bren,
    code_of,
    corrected,
    entered,
    faults_of,
    second,
    verified,
)
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact

D = Decimal
JUDGED = EXAMPLE.replace("Corvane", "Brennor").replace("Ostrel", "Tavik").replace("2022", "2017")
JUDGED = JUDGED.replace(', "brake_option": "B16"', "")


def test_what_is_entered_is_a_draft_that_its_author_can_read_back(people: People) -> None:
    printed = write_exact(BREN).replace(b'"nominal_thickness":26', b'"nominal_thickness":26.0')
    response = people.anna.caller.post("/v1/limits", printed)
    assert response.status_code == 201
    draft = response.get_json()
    assert (draft["revision"], draft["state"], draft["mismatches"]) == (1, "draft", 0)
    assert (draft["entered_by"], draft["entered_at"]) == ("anna", "2026-11-02T10:00:00.000000Z")
    assert b'"nominal_thickness":26.0,' in response.data
    assert draft["millimetres"]["discard_thickness"] == 24
    assert "verified_by" not in draft
    assert response.headers["Location"] == f"/v1/limits/{draft['limits_id']}?revision=1"
    for path in (response.headers["Location"], f"/v1/limits/{draft['limits_id']}"):
        assert people.anna.get(path).get_json() == draft
    [row] = people.anna.get(f"/v1/limits/{draft['limits_id']}/revisions").get_json()["items"]
    assert row == draft


def test_the_id_of_a_record_gives_away_make_and_model_and_nothing_else(people: People) -> None:
    first = entered(people.anna)
    other = entered(people.anna, bren(application={**BREN["application"], "axle": "rear"}))
    for limits_id in (first, other):
        assert re.fullmatch(r"brennor-tavik-[0-9abcdefghjkmnpqrstvwxyz]{6}", limits_id)
    assert first != other


@pytest.mark.parametrize(
    ("make", "model", "stem"),
    [("\u0160koler", "X 1", "koler-x-1"), ("\u65e5\u672c", "\u8eca", "limits"), ("A" * 80, "B" * 80, "a" * 73)],
)
def test_an_id_is_of_plain_letters_whatever_the_names_are(people: People, make: str, model: str, stem: str) -> None:
    limits_id = entered(people.anna, bren(application={**BREN["application"], "make": make, "model": model}))
    assert limits_id[:-7] == stem
    assert re.fullmatch(r"[a-z0-9][a-z0-9-]{0,79}", limits_id)
    assert people.anna.get(f"/v1/limits/{limits_id}").status_code == 200


def test_an_id_that_is_taken_is_drawn_again(people: People, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same chance again and again, until it is another."""
    drawn = iter(["0" * 26] * 4 + ["1" * 26])
    replaced = Desk(desk.store, desk.pack, desk.clock, lambda _at: next(drawn))
    monkeypatch.setitem(people.anna.caller.client.application.extensions, "turnrule.desk", replaced)
    assert entered(people.anna) == "brennor-tavik-000000"
    other = bren(application={**BREN["application"], "axle": "rear"})
    assert entered(people.anna, other) == "brennor-tavik-111111"


def test_a_draft_does_not_govern(people: People, shop: Caller) -> None:
    limits_id = entered(people.anna)
    assert shop.get("/v1/limits?make=brennor").get_json()["items"] == []
    assert code_of(shop.post("/v1/verdicts", JUDGED)) == (422, "application_not_found")
    assert people.bert.verify(limits_id).status_code == 201
    assert shop.get("/v1/limits?make=brennor").get_json()["items"] == []
    assert code_of(shop.post("/v1/verdicts", JUDGED)) == (422, "application_not_found")
    assert people.office.publish().status_code == 201
    assert [row["limits_id"] for row in shop.get("/v1/limits?make=brennor").get_json()["items"]] == [limits_id]
    verdict = shop.post("/v1/verdicts", JUDGED).get_json()
    assert (verdict["limits"]["limits_id"], verdict["release"]) == (limits_id, 2)


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"unit": None}, ("/unit", "missing")),
        ({"source": None}, ("/source", "missing")),
        ({"effective_from": None}, ("/effective_from", "missing")),
        ({"discard_thickness": D("24.7")}, ("/minimum_machining_thickness", "machining_past_discard")),
        ({"discard_thicknes": D(24)}, ("/discard_thicknes", "unknown_field")),
        ({"limits_id": "mine"}, ("/limits_id", "unknown_field")),
        ({"entered_by": "bert"}, ("/entered_by", "unknown_field")),
        ({"verified_by": "bert"}, ("/verified_by", "unknown_field")),
        ({"discard_thickness": "24,0"}, ("/discard_thickness", "invalid_number")),
        ({"effective_to": "2016-01-01"}, ("/effective_to", "out_of_range")),
    ],
)
def test_a_body_that_cannot_be_taken_is_refused_by_name(
    people: People, changes: dict[str, object], fault: tuple[str, str]
) -> None:
    response = people.anna.enter(bren(**changes))
    assert code_of(response) == (422, "invalid_request")
    assert fault in faults_of(response)


def test_every_fault_of_a_body_is_told_at_once(people: People) -> None:
    application = {**BREN["application"], "year_to": 2015, "axle": "frnt"}
    response = people.anna.enter(bren(unit=None, kind="rotr", application=application, discard_thickness="24"))
    assert {pointer for pointer, _ in faults_of(response)} >= {
        "/unit", "/kind", "/application/axle", "/discard_thickness",
    }  # fmt: skip


def test_what_the_body_shows_and_what_the_store_says_is_told_at_once(people: People) -> None:
    entered(people.anna)
    source = {**BREN["source"], "section": "n/a"}
    wrong = bren(discard_thickness=D("24.7"), source=source, maximum_lateral_runout=D("0.3"))
    assert sorted(faults_of(people.anna.enter(wrong))) == [
        ("/application", "overlap"),
        ("/maximum_lateral_runout", "possible_point_slip"),
        ("/minimum_machining_thickness", "machining_past_discard"),
        ("/source/section", "placeholder"),
    ]


def test_a_record_for_some_of_the_same_vehicles_is_refused(people: People) -> None:
    limits_id = entered(people.anna)
    for year_from, year_to in ((2016, 2019), (2014, 2016), (2017, 2018), (2015, None)):
        vehicles = {**BREN["application"], "year_from": D(year_from)}
        vehicles = vehicles | {"year_to": D(year_to)} if year_to is not None else vehicles
        response = people.anna.enter(bren(application=vehicles))
        assert code_of(response) == (422, "invalid_request")
        [overlap] = [fault for fault in response.get_json()["errors"] if fault["code"] == "overlap"]
        assert overlap["pointer"] == "/application"
        assert limits_id in overlap["detail"]
    earlier = {**BREN["application"], "year_from": D(2012), "year_to": D(2015)}
    assert people.anna.enter(bren(application=earlier)).status_code == 201


def odd() -> dict[str, Any]:
    """Limits that nobody would expect, and that may be right all the same: a runout that allows a great deal."""
    return bren(maximum_lateral_runout=D("0.9"))


def warnings_of(person: Person, body: dict[str, Any]) -> list[dict[str, str]]:
    """The warnings that hold a body up."""
    response = person.enter(body)
    assert code_of(response) == (422, "warnings_unanswered"), response.get_json()
    told: list[dict[str, str]] = response.get_json()["errors"]
    return told


def answers(told: list[dict[str, str]], reason: str = "so it stands in the table") -> list[dict[str, str]]:
    """A reason for each warning."""
    return [{"code": one["code"], "pointer": one["pointer"], "reason": reason} for one in told]


def test_a_warning_needs_a_written_reason_which_is_kept(people: People) -> None:
    told = warnings_of(people.anna, odd())
    assert told
    assert people.anna.get("/v1/coverage?list=awaiting_verification").get_json()["items"] == []
    limits_id = entered(people.anna, odd() | {"answered_warnings": answers(told)})
    assert people.bert.verify(limits_id, again(odd())).status_code == 201
    kept = people.bert.get(f"/v1/limits/{limits_id}?revision=1").get_json()["answered_warnings"]
    assert kept == [{**one, "reason": "so it stands in the table"} for one in told]


def test_a_warning_is_not_answered_by_saying_nothing(people: People) -> None:
    told = warnings_of(people.anna, odd())
    response = people.anna.enter(odd() | {"answered_warnings": answers(told, "ok")})
    assert faults_of(response) == [(f"/answered_warnings/{place}/reason", "too_short") for place in range(len(told))]


def test_an_answer_to_a_warning_that_was_not_raised_is_a_fault(people: People) -> None:
    told = warnings_of(people.anna, odd())
    beside = {"code": "no_such_warning", "pointer": "/kind", "reason": "to be on the safe side"}
    response = people.anna.enter(odd() | {"answered_warnings": [*answers(told), beside]})
    assert faults_of(response) == [(f"/answered_warnings/{len(told)}", "warning_not_raised")]
    twice = people.anna.enter(odd() | {"answered_warnings": [*answers(told), answers(told)[0]]})
    assert faults_of(twice) == [(f"/answered_warnings/{len(told)}", "warning_not_raised")]
    plain = people.anna.enter(bren(answered_warnings=[beside]))
    assert faults_of(plain) == [("/answered_warnings/0", "warning_not_raised")]


def test_refusals_and_open_warnings_are_told_together(people: People) -> None:
    told = warnings_of(people.anna, odd())
    entered(people.anna)
    response = people.anna.enter(odd())
    assert code_of(response) == (422, "invalid_request")
    assert faults_of(response) == [("/application", "overlap"), *[(one["pointer"], one["code"]) for one in told]]
    assert "faults; errors names each" in response.get_json()["detail"]


def test_a_correction_is_a_new_revision_and_the_old_one_stays(people: People, shop: Caller) -> None:
    limits_id = verified(people.anna, people.bert)
    people.office.publish()
    response = people.anna.enter(corrected(limits_id, discard_thickness=D("24.1")))
    assert response.status_code == 201
    assert (response.get_json()["limits_id"], response.get_json()["revision"]) == (limits_id, 2)
    assert response.get_json()["reason"] == "the first entry was read from the row below"
    assert shop.get(f"/v1/limits/{limits_id}").get_json()["discard_thickness"] == 24
    assert people.bert.verify(limits_id, second(discard_thickness=D("24.1"))).status_code == 201
    assert shop.get(f"/v1/limits/{limits_id}").get_json()["revision"] == 1
    people.office.publish()
    now = shop.get(f"/v1/limits/{limits_id}").get_json()
    assert (now["revision"], now["discard_thickness"], now["release"]) == (2, 24.1, 3)
    assert shop.get(f"/v1/limits/{limits_id}?revision=1").get_json()["discard_thickness"] == 24
    states = [row["state"] for row in shop.get(f"/v1/limits/{limits_id}/revisions").get_json()["items"]]
    assert states == ["published", "published"]


@pytest.mark.parametrize("revision", [2, 9])
def test_a_correction_of_another_revision_than_the_newest_is_stale(people: People, revision: int) -> None:
    limits_id = verified(people.anna, people.bert)
    response = people.anna.enter(corrected(limits_id, revision))
    assert code_of(response) == (409, "stale_revision")
    assert faults_of(response) == [("/corrects", "stale_revision")]
    elsewhere = {**BREN["application"], "axle": "rear"}
    assert code_of(people.anna.enter(corrected("no-such-record", application=elsewhere))) == (409, "stale_revision")


def test_a_correction_of_what_was_corrected_meanwhile_is_stale(people: People) -> None:
    limits_id = verified(people.anna, people.bert)
    assert people.anna.enter(corrected(limits_id, discard_thickness=D("24.1"))).status_code == 201
    assert people.bert.verify(limits_id, second(discard_thickness=D("24.1"))).status_code == 201
    assert code_of(people.anna.enter(corrected(limits_id, 1))) == (409, "stale_revision")
    assert people.anna.enter(corrected(limits_id, 2)).status_code == 201


def test_a_record_has_one_open_draft_at_most(people: People) -> None:
    limits_id = verified(people.anna, people.bert)
    assert people.anna.enter(corrected(limits_id, discard_thickness=D("24.1"))).status_code == 201
    assert code_of(people.anna.enter(corrected(limits_id, discard_thickness=D("24.2")))) == (409, "draft_open")


def test_a_draft_is_not_corrected_but_given_up_and_entered_anew(people: People) -> None:
    limits_id = entered(people.anna)
    assert code_of(people.anna.enter(corrected(limits_id))) == (409, "draft_open")
    assert people.anna.withdraw(limits_id).get_json()["state"] == "rejected"
    assert code_of(people.anna.enter(corrected(limits_id))) == (409, "stale_revision")
    assert entered(people.anna) != limits_id


@pytest.mark.parametrize("name", ["corrects", "reason"])
def test_a_correction_says_what_it_corrects_and_why(people: People, name: str) -> None:
    limits_id = verified(people.anna, people.bert)
    response = people.anna.enter({key: value for key, value in corrected(limits_id).items() if key != name})
    assert code_of(response) == (422, "invalid_request")
    code = "missing" if name == "reason" else "reason_without_correction"
    assert ("/reason", code) in faults_of(response)


def test_the_same_key_and_body_enter_once(people: People) -> None:
    first = people.anna.enter(Idempotency_Key="one")
    repeated = people.anna.enter(Idempotency_Key="one")
    assert (first.status_code, repeated.status_code) == (201, 201)
    assert repeated.data == first.data
    assert repeated.headers["Location"] == first.headers["Location"]
    assert repeated.headers["Content-Type"] == "application/json"
    assert (first.headers.get("Idempotency-Replayed"), repeated.headers["Idempotency-Replayed"]) == (None, "true")
    assert len(people.anna.get("/v1/coverage?list=awaiting_verification").get_json()["items"]) == 1
    assert code_of(people.anna.enter(bren(note="another body"), Idempotency_Key="one")) == (
        422,
        "idempotency_key_reused",
    )


def test_a_key_is_good_for_one_address(people: People, join: Joining) -> None:
    """The same bytes to another address are another request."""
    everything = Person(join("admin"))
    limits_id = verified(people.anna, people.bert)
    other = verified(people.anna, people.bert, bren(application={**BREN["application"], "axle": "rear"}))
    assert everything.withdraw(limits_id, Idempotency_Key="one").status_code == 201
    assert code_of(everything.withdraw(other, Idempotency_Key="one")) == (422, "idempotency_key_reused")
    assert everything.withdraw(limits_id, Idempotency_Key="one").headers["Idempotency-Replayed"] == "true"


def test_two_people_may_use_the_same_idempotency_key(people: People, join: Joining) -> None:
    other = Person(join("limits:write"))
    assert people.anna.enter(Idempotency_Key="one").status_code == 201
    response = other.enter(bren(application={**BREN["application"], "axle": "rear"}), Idempotency_Key="one")
    assert response.status_code == 201
    assert "Idempotency-Replayed" not in response.headers


def test_what_was_refused_leaves_the_idempotency_key_free(people: People) -> None:
    assert people.anna.enter(bren(unit=None), Idempotency_Key="one").status_code == 422
    assert people.anna.enter(Idempotency_Key="one").status_code == 201


@pytest.mark.parametrize(
    ("path", "scopes"),
    [
        ("/v1/limits", ["limits:verify", "releases:publish", "verdicts", "policies:write", "reports"]),
        ("/v1/limits/x/verifications", ["limits:write", "releases:publish", "verdicts", "policies:write", "reports"]),
        ("/v1/limits/x/withdrawals", ["verdicts", "policies:write", "reports"]),
        ("/v1/releases", ["limits:write", "limits:verify", "verdicts", "policies:write", "reports"]),
    ],
)
def test_each_call_needs_its_scope_before_anything_is_read(join: Joining, path: str, scopes: list[str]) -> None:
    response = join(*scopes).post(path, "not json")
    assert code_of(response) == (403, "forbidden")
    assert code_of(join("admin").post(path, "not json")) in {(400, "malformed_body"), (404, "not_found")}


def test_a_key_of_a_site_enters_for_the_whole_fleet(join: Joining, people: People) -> None:
    """Limits belong to no site: what a site's key enters is seen, entered again and released by all."""
    north = Person(join("limits:write", "limits:verify", site="North", name="north"))
    harbour = Person(join("limits:verify", "limits:write", site="Harbour", name="harbour"))
    limits_id = entered(north)
    assert code_of(north.verify(limits_id)) == (403, "second_person_needed")
    assert harbour.get(f"/v1/limits/{limits_id}").get_json()["values"] == "hidden"
    assert harbour.verify(limits_id).status_code == 201
    assert people.office.publish().status_code == 201


def test_a_drum_in_inches_is_entered_with_what_the_document_prints_in_millimetres(people: People) -> None:
    body = changed(DRUM_LIMITS, application={"make": "Harrow", "model": "Lind", "year_from": 2018, "axle": "rear"})
    body["also"] = {"unit": "mm", "nominal_diameter": D("228.6"), "discard_diameter": D("230.89")}
    limits_id = verified(people.anna, people.bert, body)
    record = people.bert.get(f"/v1/limits/{limits_id}").get_json()
    assert record["also"] == {"unit": "mm", "nominal_diameter": 228.6, "discard_diameter": 230.89}
    body["also"]["discard_diameter"] = D("230.98")
    assert people.anna.enter(body).status_code == 422


def test_a_body_is_read_as_strictly_as_everywhere(people: People) -> None:
    for body, status in ((b"{", 400), (b'{"unit": "mm", "unit": "in"}', 400), (b"[]", 422), (b" " * 300_000, 413)):
        assert people.anna.caller.post("/v1/limits", body).status_code == status
    text = people.anna.caller.send("POST", "/v1/limits", EXAMPLE_LIMITS, Content_Type="text/plain")
    assert text.status_code == 415
    assert people.anna.caller.post("/v1/limits?dry=1", write_exact(BREN)).status_code == 400
    assert people.anna.caller.post("/v1/limits", write_exact(BREN), Idempotency_Key="a b").status_code == 400
