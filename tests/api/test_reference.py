"""What the store and the pack hold, read over HTTP: limits, releases, catalogues, coverage."""

from __future__ import annotations

import re

import pytest

from tests.api.bodies import DRUM_LIMITS, EXAMPLE, EXAMPLE_LIMITS
from tests.api.conftest import Caller, Clock, Joining, publish
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.api.answering import cursor_for
from turnrule.api.application import build_api
from turnrule.pack import Pack

ROTOR_ID = "corvane-ostrel-2021-front-rotor-b16"
DRUM_ID = "harrow-tander-2018-rear-drum"


def ids(caller: Caller, path: str) -> list[str]:
    """The ids of a page of limits."""
    return [item["limits_id"] for item in caller.get(path).get_json()["items"]]


def test_a_limits_record_is_shown_as_printed_and_in_exact_millimetres(shop: Caller) -> None:
    response = shop.get(f"/v1/limits/{DRUM_ID}")
    assert b'"nominal_diameter":9.0,' in response.data
    assert b'"maximum_machining_diameter":230.124' in response.data
    record = response.get_json()
    assert record["unit"] == "in"
    assert record["millimetres"] == {
        "nominal_diameter": 228.6,
        "maximum_machining_diameter": 230.124,
        "discard_diameter": 230.886,
        "maximum_out_of_round": 0.1016,
    }
    assert record["application"] == {
        "make": "Harrow",
        "model": "Tander",
        "year_from": 2018,
        "year_to": None,
        "axle": "rear",
        "brake_option": None,
    }
    assert record["source"]["issued"] == "2019-05-01"
    assert (record["entered_by"], record["verified_by"]) == ("test-entry", "test-check")
    assert "maximum_taper" not in record


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("", [ROTOR_ID, DRUM_ID]),
        ("make=corvane", [ROTOR_ID]),
        ("make=Corvane&model=Tander", []),
        ("year=2022", [ROTOR_ID, DRUM_ID]),
        ("year=2025", [DRUM_ID]),
        ("axle=rear", [DRUM_ID]),
        ("kind=rotor", [ROTOR_ID]),
        ("brake_option=B16&kind=rotor", [ROTOR_ID]),
        ("on=2019-01-01", [DRUM_ID]),
        ("on=2017-12-31", []),
        ("release=1", [ROTOR_ID, DRUM_ID]),
    ],
)
def test_limits_are_found_by_what_they_are_for(shop: Caller, query: str, found: list[str]) -> None:
    assert ids(shop, f"/v1/limits?{query}") == found


def test_an_earlier_release_is_still_there(shop: Caller, desk: Desk) -> None:
    publish(desk, DRUM_LIMITS.replace("Tander", "Tolmar"))
    assert len(ids(shop, "/v1/limits")) == 3
    assert len(ids(shop, "/v1/limits?release=1")) == 2
    response = shop.get("/v1/limits?release=3")
    assert response.status_code == 400
    assert response.get_json()["errors"][0]["code"] == "release_not_found"


def test_a_release_in_between_moves_nothing_from_page_to_page(shop: Caller, desk: Desk, clock: Clock) -> None:
    publish(desk, DRUM_LIMITS.replace("Tander", "Aver"))
    first = shop.get("/v1/limits?limit=2")
    publish(desk, EXAMPLE_LIMITS.replace("Corvane", "Harrow"))
    clock.move(days=4000)
    rest = shop.get(first.headers["Link"].partition("<")[2].partition(">")[0])
    assert [item["limits_id"] for item in rest.get_json()["items"]] == [DRUM_ID]
    assert (rest.get_json()["release"], rest.get_json()["on"], rest.get_json()["next"]) == (2, "2026-11-02", None)


def test_an_empty_store_has_no_limits_and_no_release(desk: Desk) -> None:
    caller = Caller(build_api(desk).test_client(), create_key(desk, "k", ["reports", "verdicts"]).secret)
    assert caller.get("/v1/limits").get_json() == {"items": [], "next": None, "release": None, "on": "2026-11-02"}
    assert caller.get("/v1/releases").get_json() == {"items": [], "next": None}
    assert caller.post("/v1/verdicts", EXAMPLE).get_json()["type"] == "/problems/application_not_found"


@pytest.mark.parametrize(
    "path", [f"/v1/limits/{ROTOR_ID}?revision=2", "/v1/limits/none", "/v1/limits/%00", "/v1/releases/2"]
)
def test_what_is_not_there_is_not_found(shop: Caller, path: str) -> None:
    response = shop.get(path)
    assert (response.status_code, response.get_json()["type"]) == (404, "/problems/not_found")


@pytest.mark.parametrize("number", ["0", "-1", "1.0", "x", "99999999999999999999999999"])
def test_a_release_has_a_whole_number(shop: Caller, number: str) -> None:
    assert shop.get(f"/v1/releases/{number}").status_code == 404


def test_releases_are_listed_and_read(shop: Caller, desk: Desk) -> None:
    publish(desk, DRUM_LIMITS.replace("Tander", "Tolmar"))
    page = shop.get("/v1/releases?limit=1").get_json()
    assert [item["number"] for item in page["items"]] == [1]
    rest = shop.get(f"/v1/releases?after={page['next']}").get_json()
    assert [item["number"] for item in rest["items"]] == [2]
    release = shop.get("/v1/releases/2").get_json()
    assert release["published_at"] == "2026-11-02T10:00:00.000000Z"
    assert (release["records"], release["published_by"]) == (3, "test")
    assert re.fullmatch(r"sha256:[0-9a-f]{64}", release["digest"])


def test_the_catalogues_are_the_packs(shop: Caller, pack: Pack) -> None:
    book = pack.catalogue
    for name, codes in (("findings", book.findings), ("cautions", book.cautions), ("rules", book.rules)):
        answer = shop.get(f"/v1/{name}").get_json()
        assert [item["code"] for item in answer["items"]] == sorted(codes)
        assert all(item["text"] and item["source"] for item in answer["items"])
        assert answer["pack"] == {"version": pack.version, "digest": pack.digest}


def test_what_was_asked_for_and_not_found_is_listed_most_wanted_first(shop: Caller) -> None:
    for model, times in (("Elno", 1), ("Fyra", 3), ("Gant", 2)):
        for _ in range(times):
            assert shop.post("/v1/verdicts", EXAMPLE.replace("Ostrel", model)).status_code == 422
    seen = []
    path = "/v1/coverage?limit=2"
    while path:
        page = shop.get(path)
        seen += [(item["model"], item["count"]) for item in page.get_json()["items"]]
        path = page.headers.get("Link", "").partition("<")[2].partition(">")[0]
    assert seen == [("Fyra", 3), ("Gant", 2), ("Elno", 1)]


@pytest.mark.parametrize(
    "path",
    [
        "/v1/findings", "/v1/cautions", "/v1/rules", "/v1/limits", f"/v1/limits/{ROTOR_ID}", "/v1/releases",
        "/v1/releases/1", "/v1/policies/default", "/v1/coverage", "/problems", "/problems/stale",
    ],
)  # fmt: skip
def test_what_can_be_kept_has_an_etag_and_is_not_sent_twice(shop: Caller, path: str) -> None:
    first = shop.get(path)
    assert first.status_code == 200
    etag = first.headers["ETag"]
    for header in (etag, f"W/{etag}", f'"x", {etag}', "*"):
        again = shop.get(path, If_None_Match=header)
        assert (again.status_code, again.data, again.headers["ETag"]) == (304, b"", etag)
    assert shop.get(path, If_None_Match='"x"').status_code == 200


@pytest.mark.parametrize(
    ("query", "faults"),
    [
        ("limt=1", [("limt", "unknown_field")]),
        ("limit=0", [("limit", "out_of_range")]),
        ("limit=201", [("limit", "out_of_range")]),
        ("limit=1.5", [("limit", "invalid_number")]),
        ("limit=+1", [("limit", "invalid_number")]),
        ("limit=%D9%A1", [("limit", "invalid_number")]),
        ("limit=1&limit=1", [("limit", "doubled_parameter")]),
        ("after=!", [("after", "invalid_text")]),
        ("after=AAAA", [("after", "invalid_cursor")]),
        ("after=" + "WzFd", [("after", "invalid_cursor")]),
        (
            "year=22&axle=fron&on=2026-02-30",
            [("axle", "invalid_choice"), ("on", "invalid_date"), ("year", "out_of_range")],
        ),
        ("make=", [("make", "too_short")]),
        ("make=%00", [("make", "invalid_text")]),
        ("make=" + "x" * 81, [("make", "too_long")]),
        ("release=0", [("release", "out_of_range")]),
        ("release=99999999999999999999", [("release", "invalid_number")]),
    ],
)
def test_parameters_are_read_strictly_and_all_refused_at_once(
    shop: Caller, query: str, faults: list[tuple[str, str]]
) -> None:
    response = shop.get(f"/v1/limits?{query}")
    assert response.status_code == 400
    assert response.get_json()["type"] == "/problems/invalid_parameters"
    assert sorted((fault["parameter"], fault["code"]) for fault in response.get_json()["errors"]) == faults
    assert {fault["pointer"] for fault in response.get_json()["errors"]} == {""}


def test_a_forged_cursor_cannot_leave_the_calendar_or_the_numbers(shop: Caller) -> None:
    for parts in ([1, "2026-13-01", ""], [-1, "2026-01-01", ""], [2**63, "2026-01-01", ""], [True, "2026-01-01", ""]):
        response = shop.get(f"/v1/limits?after={cursor_for(*parts)}")
        assert response.get_json()["errors"][0]["code"] == "invalid_cursor"
    assert shop.get(f"/v1/limits?after={cursor_for(9, '2026-01-01', '')}").status_code == 400


def test_every_key_may_read_the_reference_whatever_its_scope(join: Joining) -> None:
    caller = join("limits:write")
    for path in ("/v1/limits", "/v1/findings", "/v1/coverage", "/v1/releases", "/v1/policies/default"):
        assert caller.get(path).status_code == 200
