"""Releases over HTTP: published from what is verified, compared row by row, and the same to the byte for ever."""

from __future__ import annotations

import json
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from tests.api.bodies import EXAMPLE, EXAMPLE_LIMITS, exact
from tests.api.callers import Caller, Clock
from tests.api.conftest import Joining, People
from tests.api.entering import BREN, bren, code_of, corrected, entered, faults_of, second, verified
from tests.api.test_reference import DRUM_ID, ROTOR_ID
from turnrule.actions.desk import Desk
from turnrule.api.answering import cursor_for

D = Decimal
FOR_EVER = "private, max-age=31536000, immutable"
ASKED_AFTER = "private, no-cache"


def test_a_release_holds_all_that_is_verified_and_no_draft(people: People, shop: Caller, clock: Clock) -> None:
    limits_id = verified(people.anna, people.bert)
    entered(people.anna, bren(application={**BREN["application"], "axle": "rear"}))
    clock.move(days=2)
    response = people.office.publish("Tavik of 2016 to 2019")
    assert response.status_code == 201
    release = response.get_json()
    assert (release["number"], release["records"], release["published_by"]) == (2, 3, "office")
    assert (release["notes"], release["published_at"]) == ("Tavik of 2016 to 2019", "2026-11-04T10:00:00.000000Z")
    assert response.headers["Location"] == "/v1/releases/2"
    assert shop.get("/v1/releases/2").get_json() == release
    ids = [row["limits_id"] for row in shop.get("/v1/limits").get_json()["items"]]
    assert sorted(ids) == sorted([limits_id, ROTOR_ID, DRUM_ID])
    assert shop.get("/v1/releases/1").get_json()["records"] == 2


def test_nothing_is_published_where_nothing_was_done(people: People) -> None:
    assert code_of(people.office.publish()) == (409, "nothing_to_publish")
    entered(people.anna)
    assert code_of(people.office.publish()) == (409, "nothing_to_publish")


@pytest.mark.parametrize(("follows", "status"), [(None, 201), (1, 201), (0, 409), (2, 409)])
def test_a_release_may_say_which_one_it_follows(people: People, follows: int | None, status: int) -> None:
    verified(people.anna, people.bert)
    response = people.office.publish(follows=follows)
    assert response.status_code == status
    if status == 409:
        assert code_of(response) == (409, "release_race")
        assert faults_of(response) == [("/follows", "release_race")]
        assert "the newest release is 1" in response.get_json()["detail"]


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ({}, ("/notes", "missing")),
        ({"notes": ""}, ("/notes", "too_short")),
        ({"notes": "x" * 1001}, ("/notes", "too_long")),
        ({"notes": "n", "follows": -1}, ("/follows", "out_of_range")),
        ({"notes": "n", "follows": "1"}, ("/follows", "invalid_number")),
        ({"notes": "n", "number": 5}, ("/number", "unknown_field")),
    ],
)
def test_a_release_says_what_it_brings(people: People, body: object, fault: tuple[str, str]) -> None:
    response = people.office.caller.post("/v1/releases", json.dumps(body))
    assert code_of(response) == (422, "invalid_request")
    assert faults_of(response) == [fault]


def test_a_release_is_published_once_under_its_idempotency_key(people: People) -> None:
    verified(people.anna, people.bert)
    first = people.office.publish(Idempotency_Key="one")
    repeated = people.office.publish(Idempotency_Key="one")
    assert (repeated.status_code, repeated.data) == (201, first.data)
    assert repeated.headers["Idempotency-Replayed"] == "true"
    assert len(people.office.get("/v1/releases").get_json()["items"]) == 2


def test_changes_say_field_by_field_what_was_and_what_is(people: People, shop: Caller) -> None:
    limits_id = verified(people.anna, people.bert)
    people.office.publish("added")
    changed = corrected(
        limits_id, discard_thickness=D("24.1"), maximum_taper=D("0.02"), maximum_lateral_runout=None, note="row 4"
    )
    assert people.anna.enter({key: value for key, value in changed.items() if value is not None}).status_code == 201
    again = second(discard_thickness=D("24.1"), maximum_taper=D("0.02"), maximum_lateral_runout=None)
    assert people.bert.verify(limits_id, again).status_code == 201
    people.office.publish("corrected")
    page = shop.get("/v1/releases/3/changes").get_json()
    assert (page["since"], page["until"], page["unit"], page["next"]) == (2, 3, "mm", None)
    [row] = page["items"]
    assert row == {
        "release": 3,
        "change": "corrected",
        "limits_id": limits_id,
        "revision": 2,
        "replaces": 1,
        "kind": "rotor",
        "application": {**BREN["application"], "year_from": 2016, "year_to": 2019, "brake_option": None},
        "fields": [
            {"field": "/discard_thickness", "old": 24, "new": 24.1},
            {"field": "/maximum_lateral_runout", "old": 0.05, "new": None},
            {"field": "/maximum_taper", "old": None, "new": 0.02},
            {"field": "/note", "old": None, "new": "row 4"},
        ],
        "reason": "the first entry was read from the row below",
        "entered_by": "anna",
        "verified_by": "bert",
        "withdrawn_by": None,
        "source": {**BREN["source"]},
    }


def test_changes_over_several_releases_stand_in_their_order(people: People, shop: Caller) -> None:
    limits_id = verified(people.anna, people.bert)
    people.office.publish("added")
    people.office.withdraw(ROTOR_ID)
    people.office.publish("withdrawn")
    told = [
        (row["release"], row["change"], row["limits_id"], row["withdrawn_by"])
        for row in shop.get("/v1/releases/3/changes?since=0").get_json()["items"]
    ]
    assert told == [
        (1, "added", ROTOR_ID, None),
        (1, "added", DRUM_ID, None),
        (2, "added", limits_id, None),
        (3, "withdrawn", ROTOR_ID, "office"),
    ]
    [row] = shop.get("/v1/releases/3/changes").get_json()["items"]
    assert (row["reason"], row["fields"], row["revision"]) == ("the table is another rotor's", [], 1)
    since_one = shop.get("/v1/releases/3/changes?since=1").get_json()["items"]
    assert [row["release"] for row in since_one] == [2, 3]


def test_changes_come_in_pages(people: People, shop: Caller) -> None:
    verified(people.anna, people.bert)
    people.office.publish("added")
    seen = []
    path = "/v1/releases/2/changes?since=0&limit=1"
    while path:
        page = shop.get(path)
        seen += [row["limits_id"] for row in page.get_json()["items"]]
        path = page.headers.get("Link", "").partition("<")[2].partition(">")[0]
    assert len(seen) == 3
    assert seen[:2] == [ROTOR_ID, DRUM_ID]


@pytest.mark.parametrize(
    ("path", "status", "code"),
    [
        ("/v1/releases/1/changes?since=1", 400, "out_of_range"),
        ("/v1/releases/1/changes?since=7", 400, "out_of_range"),
        ("/v1/releases/1/changes?since=-1", 400, "out_of_range"),
        ("/v1/releases/1/changes?since=x", 400, "invalid_number"),
        ("/v1/releases/1/changes?sinse=0", 400, "unknown_field"),
        ("/v1/releases/1/changes?after=WzFd", 400, "invalid_cursor"),
        ("/v1/releases/2/changes", 404, None),
        ("/v1/releases/0/changes", 404, None),
    ],
)
def test_changes_are_asked_for_strictly(shop: Caller, path: str, status: int, code: str | None) -> None:
    response = shop.get(path)
    assert response.status_code == status
    assert [fault["code"] for fault in response.get_json()["errors"]] == [code] * (code is not None)


def test_a_change_to_the_other_unit_is_told_in_millimetres(people: People, shop: Caller) -> None:
    limits_id = verified(people.anna, people.bert)
    people.office.publish("added")
    inches: dict[str, Any] = {
        "unit": "in",
        "nominal_thickness": D("1.0236"),
        "minimum_machining_thickness": D("0.9685"),
        "discard_thickness": D("0.9449"),
        "maximum_lateral_runout": D("0.002"),
        "maximum_thickness_variation": D("0.0005"),
    }
    body = corrected(limits_id, **inches)
    response = people.anna.enter(body)
    assert response.status_code == 201, response.get_json()
    assert people.bert.verify(limits_id, second(**inches)).status_code == 201
    people.office.publish("inches")
    [row] = shop.get("/v1/releases/3/changes").get_json()["items"]
    told = {one["field"]: (one["old"], one["new"]) for one in row["fields"]}
    assert told["/unit"] == ("mm", "in")
    assert told["/discard_thickness"] == (24, 24.00046)


def kept_for_ever(limits_id: str, verdict_id: str) -> Iterator[str]:
    """Addresses that are answered alike whatever comes."""
    yield from ("/v1/releases/1", "/v1/releases/2", "/v1/releases/2/changes", "/v1/releases/2/changes?since=0")
    yield from ("/v1/releases/1/pack", "/v1/releases/2/pack")
    yield from ("/v1/limits?release=1&on=2026-11-02", "/v1/limits?release=2&on=2026-11-02&kind=rotor&limit=1")
    yield from ("/v1/limits?release=2&on=2040-01-01", f"/v1/limits/{limits_id}?revision=1")
    yield from (f"/v1/limits/{ROTOR_ID}?revision=1", f"/v1/verdicts/{verdict_id}", "/v1/policies/long?revision=1")


def test_what_never_changes_may_be_kept_for_ever_and_is_the_same_after_all_that_comes(
    people: People, shop: Caller, join: Joining, desk: Desk
) -> None:
    policies = join("policies:write")
    policy = json.dumps({"unit": "mm", "discard_margin": 0.1})
    assert policies.put("/v1/policies/long", policy, If_None_Match="*").status_code == 201
    limits_id = verified(people.anna, people.bert)
    people.office.publish("added")
    verdict_id = shop.post("/v1/verdicts", EXAMPLE).get_json()["id"]
    before = {}
    for path in kept_for_ever(limits_id, verdict_id):
        response = shop.get(path)
        assert (response.status_code, response.headers["Cache-Control"]) == (200, FOR_EVER), path
        before[path] = (response.data, response.headers["ETag"], response.headers.get("Link"))
        response.close()
    for revision in range(1, 8):
        size = D(24) + revision * D("0.01")
        assert people.anna.enter(corrected(limits_id, revision, discard_thickness=size)).status_code == 201
        assert people.bert.verify(limits_id, second(discard_thickness=size)).status_code == 201
        people.office.publish("corrected")
    people.office.withdraw(ROTOR_ID)
    people.office.withdraw(limits_id)
    people.office.publish("withdrawn")
    shop.post("/v1/verdicts", EXAMPLE)
    desk.shelf.clear()
    etag = policies.get("/v1/policies/long").headers["ETag"]
    policies.put("/v1/policies/long", policy.replace("0.1", "0.2"), If_Match=etag)
    for path, (content, etag, link) in before.items():
        response = shop.get(path)
        assert (response.data, response.headers["ETag"], response.headers.get("Link")) == (content, etag, link), path
        response.close()
        again = shop.get(path, If_None_Match=etag)
        assert (again.status_code, again.data, again.headers["Cache-Control"]) == (304, b"", FOR_EVER)


@pytest.mark.parametrize(
    "path",
    [
        "/v1/limits", "/v1/limits?release=1", "/v1/limits?on=2026-11-02", f"/v1/limits/{ROTOR_ID}",
        f"/v1/limits/{ROTOR_ID}/revisions", "/v1/releases", "/v1/verdicts", "/v1/coverage", "/v1/policies/default",
        "/v1/policies/default?revision=1", "/v1/coverage?list=review_due",
    ],
)  # fmt: skip
def test_what_may_change_is_asked_after(shop: Caller, path: str) -> None:
    response = shop.get(path)
    assert (response.status_code, response.headers["Cache-Control"]) == (200, ASKED_AFTER)
    assert response.headers["ETag"]


def test_a_draft_is_never_kept_for_ever_whoever_reads_it(people: People) -> None:
    limits_id = entered(people.anna)
    for person in (people.anna, people.bert):
        response = person.get(f"/v1/limits/{limits_id}?revision=1")
        assert (response.status_code, response.headers["Cache-Control"]) == (200, ASKED_AFTER)
    people.bert.verify(limits_id)
    assert people.bert.get(f"/v1/limits/{limits_id}?revision=1").headers["Cache-Control"] == FOR_EVER


def test_what_is_not_there_is_not_kept(shop: Caller) -> None:
    for path in (
        f"/v1/limits/{ROTOR_ID}?revision=2",
        "/v1/releases/9",
        "/v1/releases/9/changes",
        "/v1/limits?release=9",
    ):
        assert shop.get(path).headers["Cache-Control"] == "no-store"


def test_the_cursor_of_a_list_of_limits_cannot_be_forged_into_another(shop: Caller) -> None:
    for parts in ([1, "2026-13-01", 0, ""], [1, "2026-11-02", -1, ""], [9, "2026-11-02", 0, ""], [1, "2026-11-02", ""]):
        assert shop.get(f"/v1/limits?after={cursor_for(*parts)}").status_code == 400


def test_a_day_and_a_release_together_answer_any_past_question(people: People, shop: Caller, clock: Clock) -> None:
    """Two times: when limits hold, and when they were known."""
    whole = {**exact(EXAMPLE_LIMITS), "discard_thickness": D("24.3"), "effective_to": "2027-01-01"}
    correction = {**whole, "corrects": {"limits_id": ROTOR_ID, "revision": 1}, "reason": "a newer edition says so"}
    assert people.anna.enter(correction).status_code == 201
    assert people.bert.verify(ROTOR_ID, whole).status_code == 201
    clock.move(days=30)
    people.office.publish("a newer edition")

    def limit(release: int, on: str) -> list[float]:
        rows = shop.get(f"/v1/limits?kind=rotor&release={release}&on={on}").get_json()["items"]
        return [row["discard_thickness"] for row in rows]

    assert (limit(1, "2026-12-02"), limit(1, "2027-01-01")) == ([24.0], [24.0])
    assert (limit(2, "2026-12-02"), limit(2, "2026-12-31"), limit(2, "2027-01-01")) == ([24.3], [24.3], [])
    assert (limit(1, "2020-12-31"), limit(2, "2020-12-31")) == ([], [])
