"""What there is to do: not found, waiting for the second entry, past the review date; each in pages, with counts."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.api.bodies import EXAMPLE
from tests.api.callers import Caller, Clock
from tests.api.conftest import People
from tests.api.entering import BREN, bren, entered, second, verified

D = Decimal
AXLES = ("front", "rear", "second")


def on_axle(axle: str) -> dict[str, object]:
    """Limits of the same vehicle's other axle."""
    return bren(application={**BREN["application"], "axle": axle})


def pages(caller: Caller, path: str) -> list[list[str]]:
    """The ids of every page of a list."""
    seen = []
    while path:
        response = caller.get(path)
        seen.append([item["limits_id"] for item in response.get_json()["items"]])
        path = response.headers.get("Link", "").partition("<")[2].partition(">")[0]
    return seen


def test_the_list_of_what_was_not_found_is_the_first_choice(shop: Caller) -> None:
    shop.post("/v1/verdicts", EXAMPLE.replace("Ostrel", "Elno"))
    plain = shop.get("/v1/coverage").get_json()
    assert plain == shop.get("/v1/coverage?list=not_found").get_json()
    assert plain["list"] == "not_found"
    assert plain["counts"] == {"not_found": 1, "awaiting_verification": 0, "review_due": 0}


def test_drafts_wait_by_id_hidden_and_leave_when_they_are_verified(people: People, shop: Caller) -> None:
    ids = sorted(entered(people.anna, on_axle(axle)) for axle in AXLES[:2])
    assert pages(shop, "/v1/coverage?list=awaiting_verification&limit=1") == [[ids[0]], [ids[1]]]
    page = shop.get("/v1/coverage?list=awaiting_verification").get_json()
    assert page["counts"]["awaiting_verification"] == 2
    assert {item["values"] for item in page["items"]} == {"hidden"}
    first = people.anna.get(f"/v1/limits/{ids[0]}").get_json()
    assert people.bert.verify(ids[0], second(application=without_none(first["application"]))).status_code == 201
    assert pages(shop, "/v1/coverage?list=awaiting_verification") == [[ids[1]]]


def without_none(document: dict[str, object]) -> dict[str, object]:
    """A document as it is sent: what says nothing is left out."""
    return {name: value for name, value in document.items() if value is not None}


def test_a_disputed_draft_still_waits_and_says_so(people: People, shop: Caller) -> None:
    limits_id = entered(people.anna)
    for person in (people.bert, people.carl):
        person.verify(limits_id, second(discard_thickness=D("23.9")))
    [item] = shop.get("/v1/coverage?list=awaiting_verification").get_json()["items"]
    assert (item["state"], item["mismatches"]) == ("disputed", 2)


def test_records_past_their_review_date_are_listed_as_of_today(people: People, shop: Caller, clock: Clock) -> None:
    bodies = [
        {**on_axle(axle), "review_due": day} for axle, day in zip(AXLES, ("2026-12-01", "2026-12-02"), strict=False)
    ]
    ids = [verified(people.anna, people.bert, body) for body in bodies]
    people.office.publish()
    clock.move(days=29)  # it is 2026-12-01
    assert pages(shop, "/v1/coverage?list=review_due") == [[]]
    clock.move(days=1)
    assert pages(shop, "/v1/coverage?list=review_due") == [[ids[0]]]
    clock.move(days=1)
    page = shop.get("/v1/coverage?list=review_due&limit=1")
    assert page.get_json()["counts"]["review_due"] == 2
    clock.move(days=-2)  # a cursor keeps to the day of its first page
    assert pages(shop, "/v1/coverage?list=review_due") == [[]]
    rest = shop.get(page.headers["Link"].partition("<")[2].partition(">")[0]).get_json()["items"]
    found = [page.get_json()["items"][0]["limits_id"], *(item["limits_id"] for item in rest)]
    assert found == sorted(ids)


def test_a_withdrawn_record_is_not_due_for_review(people: People, shop: Caller, clock: Clock) -> None:
    limits_id = verified(people.anna, people.bert, bren(review_due="2026-12-01"))
    people.office.publish()
    clock.move(days=60)
    assert pages(shop, "/v1/coverage?list=review_due") == [[limits_id]]
    people.office.withdraw(limits_id)
    assert pages(shop, "/v1/coverage?list=review_due") == [[]]


@pytest.mark.parametrize(
    ("query", "fault"),
    [
        ("list=everything", ("list", "invalid_choice")),
        ("list=review_due&after=WzFd", ("after", "invalid_cursor")),
        ("list=awaiting_verification&after=WzFd", ("after", "invalid_cursor")),
        ("list=not_found&after=WyJhIl0", ("after", "invalid_cursor")),
        ("list=review_due&after=WyJhIiwgImIiXQ", ("after", "invalid_cursor")),
        ("lists=review_due", ("lists", "unknown_field")),
    ],
)
def test_a_list_is_asked_for_strictly(shop: Caller, query: str, fault: tuple[str, str]) -> None:
    response = shop.get(f"/v1/coverage?{query}")
    assert response.status_code == 400
    [told] = response.get_json()["errors"]
    assert (told["parameter"], told["code"]) == fault
