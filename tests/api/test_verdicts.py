"""Verdicts over HTTP: judged, recorded before they are answered, read back as they were sent."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import DRUM, EXAMPLE, EXAMPLE_LIMITS, changed
from tests.api.conftest import Caller, Clock, Joining, publish
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import canonical, digest_of, read_exact, write_exact
from turnrule.store.port import VerdictQuery


def body_of(text: str = EXAMPLE, **changes: object) -> bytes:
    """A body with some fields changed."""
    return write_exact(changed(text, **changes))


def errors(response: TestResponse) -> list[tuple[str, str]]:
    """Pointer and code of every fault of an answer."""
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]


def test_the_contracts_example_gets_the_contracts_answer(shop: Caller) -> None:
    response = shop.post("/v1/verdicts", EXAMPLE)
    answer = response.get_json()
    assert response.status_code == 201
    assert response.headers["Location"] == f"/v1/verdicts/{answer['id']}"
    assert answer["verdict"] == "machine"
    assert answer["governing"] == {"check": "machining_limit", "limit": 24.6, "unit": "mm", "origin": "reference"}
    figures = answer["figures"]
    assert {name: figures[name] for name in ("least_thickness", "thickness_variation", "lateral_runout")} == {
        "least_thickness": 25.01,
        "thickness_variation": 0.03,
        "lateral_runout": 0.07,
    }
    assert (figures["clean_up_thickness"], figures["thickness_after_cut"]) == (24.94, 24.74)
    assert answer["margins"] == {"to_machining_limit": 0.14, "to_discard_limit": 0.74, "guard_band": 0.0071}
    room = answer["room"]
    assert (room["most_total_cut"], room["most_cut_per_face"]) == (0.3329, 0.16645)
    assert room["least_thickness_needed"] == 24.8771
    assert answer["limits"]["source"]["section"] == "6.2, table 3"
    assert answer["cut"]["allowed"] is True
    assert answer["release"] == 1
    assert answer["policy"] == {"name": "default", "revision": 1}
    assert answer["judged_at"] == "2026-11-02T10:00:00.000000Z"


def test_every_number_is_written_exactly_without_trailing_zeros_or_exponents(shop: Caller) -> None:
    text = shop.post("/v1/verdicts", EXAMPLE).get_data(as_text=True)
    numbers: list[str] = []
    json.loads(text, parse_float=numbers.append, parse_int=numbers.append)
    assert len(numbers) > 40
    for number in numbers:
        assert "e" not in number.lower()
        assert not ("." in number and number.endswith("0"))
    assert '"most_cut_per_face":0.16645' in text


def test_a_drum_in_inches_is_answered_in_inches(shop: Caller) -> None:
    answer = read_exact(shop.post("/v1/verdicts", DRUM).data)
    assert answer["unit"] == "in"
    assert answer["figures"]["greatest_diameter"] == Decimal("9.012")
    assert answer["figures"]["out_of_round"] == Decimal("0.002")
    assert answer["figures"]["clean_up_diameter"] == Decimal("9.014")
    assert answer["figures"]["diameter_after_cut"] == Decimal("9.034")
    assert answer["limits"]["machining"]["value"] == Decimal("9.06")
    assert answer["cut"] == {
        "depth": Decimal("0.01"),
        "zero": "thinnest_point",
        "asked": True,
        "allowed": True,
        "cleans_up": True,
        "least_cleaning": None,
        "passes": [],
        "plan": None,
    }
    assert "greatest_diameter_allowed" in answer["room"]
    assert "lateral_runout" not in answer["figures"]


def test_the_digest_can_be_worked_out_again_from_the_answer(shop: Caller) -> None:
    answer = read_exact(shop.post("/v1/verdicts", EXAMPLE).data)
    digest = answer.pop("digest")
    del answer["id"], answer["judged_at"]
    assert digest == digest_of(canonical(answer))


def test_the_same_request_gets_the_same_verdict_to_the_byte_but_for_its_id(shop: Caller) -> None:
    first, second = (shop.post("/v1/verdicts", EXAMPLE) for _ in range(2))
    assert first.get_json()["id"] != second.get_json()["id"]
    assert first.data.replace(first.get_json()["id"].encode(), second.get_json()["id"].encode()) == second.data
    assert first.get_json()["digest"] == second.get_json()["digest"]


def test_what_is_answered_is_stored_byte_for_byte(shop: Caller, desk: Desk) -> None:
    response = shop.post("/v1/verdicts", EXAMPLE)
    record = desk.store.verdict(response.get_json()["id"])
    assert record is not None
    assert (record.answer, record.request) == (response.data, EXAMPLE.encode())
    assert record.digest == response.get_json()["digest"]


def test_a_verdict_is_read_back_as_it_was_sent_with_its_request_and_record(shop: Caller) -> None:
    sent = shop.post("/v1/verdicts", EXAMPLE)
    read = shop.get(sent.headers["Location"])
    assert read.status_code == 200
    assert read.data.startswith(sent.data[:-1])
    beside = read_exact(read.data)
    assert beside["request"] == read_exact(EXAMPLE.encode())
    assert beside["recorded"] == {"sequence": 1, "key": "caller-1", "site": None, "axle_id": None}
    assert shop.get(sent.headers["Location"], If_None_Match=read.headers["ETag"]).status_code == 304


def test_faults_of_shape_and_faults_that_the_catalogue_finds_come_in_one_answer(shop: Caller) -> None:
    response = shop.post(
        "/v1/verdicts", body_of(marking="24,0", findings=["no_such_thing"], policy="defualt", history=[])
    )
    assert response.status_code == 422
    assert errors(response) == [("/marking", "invalid_number"), ("/policy", "policy_not_found")]
    response = shop.post("/v1/verdicts", body_of(marking="24,0", findings=["no_such_thing"]))
    assert errors(response) == [("/findings/0", "unknown_finding"), ("/marking", "invalid_number")]


def test_a_fault_is_not_told_twice_from_two_sides(shop: Caller) -> None:
    assert errors(shop.post("/v1/verdicts", body_of(application={"make": 1}))) == [
        ("/application/axle", "missing"),
        ("/application/make", "wrong_type"),
        ("/application/model", "missing"),
        ("/application/year", "missing"),
    ]
    assert errors(shop.post("/v1/verdicts", body_of(thickness=[True], thickness_inner=[Decimal(25)]))) == [
        ("/thickness/0", "invalid_number")
    ]


def test_a_finding_that_is_not_in_the_catalogue_is_named(shop: Caller) -> None:
    response = shop.post("/v1/verdicts", body_of(findings=["no_such_thing"]))
    assert response.status_code == 422
    assert errors(response) == [("/findings/0", "unknown_finding")]


@pytest.mark.parametrize(
    ("changes", "hint"),
    [
        ({"model": "Ostrell"}, "Corvane Ostrel"),
        ({"year": Decimal(2025)}, "front 2021 to 2024, option B16"),
        ({"axle": "rear"}, "front 2021 to 2024"),
        ({"brake_option": "B17"}, "option B16"),
        ({"make": "Zzzz", "model": "Qqqq"}, "nothing comes near it"),
    ],
)
def test_an_application_that_is_not_held_names_what_comes_nearest(
    shop: Caller, desk: Desk, changes: dict[str, object], hint: str
) -> None:
    application = changed(EXAMPLE)["application"] | changes
    response = shop.post("/v1/verdicts", body_of(application=application))
    assert response.status_code == 422
    assert response.get_json()["type"] == "/problems/application_not_found"
    assert hint in response.get_json()["detail"]
    assert errors(response) == [("/application", "application_not_found")]
    assert [miss.count for miss in desk.store.misses()] == [1]
    assert not desk.store.verdicts(VerdictQuery())


def test_names_match_without_regard_to_case_and_spacing(shop: Caller) -> None:
    application = changed(EXAMPLE)["application"] | {"make": "corVANE", "model": "OSTREL  ", "brake_option": "b16"}
    assert shop.post("/v1/verdicts", body_of(application=application)).get_json()["release"] == 1


def test_the_callers_limits_serve_where_the_store_holds_none_and_the_miss_is_counted(shop: Caller, desk: Desk) -> None:
    application = changed(EXAMPLE)["application"] | {"model": "Unheard"}
    limits = {"discard_thickness": Decimal(24), "minimum_machining_thickness": Decimal("24.6")}
    response = shop.post("/v1/verdicts", body_of(application=application, limits=limits))
    assert response.status_code == 201
    assert response.get_json()["limits"]["discard"]["origin"] == "caller"
    assert response.get_json()["limits"]["limits_id"] is None
    assert [(miss.model, miss.count) for miss in desk.store.misses()] == [("Unheard", 1)]


def test_a_marking_alone_is_enough_to_judge_by(shop: Caller) -> None:
    answer = shop.post("/v1/verdicts", body_of(application=None)).get_json()
    assert answer["limits"]["discard"]["origin"] == "marking"
    assert "marking_only" in {caution["code"] for caution in answer["cautions"]}


def test_one_brake_option_is_assumed_with_a_caution_and_of_two_one_must_be_named(shop: Caller, desk: Desk) -> None:
    application = {name: value for name, value in changed(EXAMPLE)["application"].items() if name != "brake_option"}
    answer = shop.post("/v1/verdicts", body_of(application=application)).get_json()
    (caution,) = [caution for caution in answer["cautions"] if caution["code"] == "brake_option_assumed"]
    assert "B16" in caution["text"]
    other = EXAMPLE_LIMITS.replace("B16", "B18")
    publish(desk, other)
    response = shop.post("/v1/verdicts", body_of(application=application))
    assert response.get_json()["type"] == "/problems/brake_option_needed"
    assert errors(response) == [("/application/brake_option", "brake_option_needed")]
    assert "'B16', 'B18'" in response.get_json()["detail"]
    assert shop.post("/v1/verdicts", body_of(application=application, release=Decimal(1))).status_code == 201


def test_two_records_for_the_same_part_are_not_chosen_between(shop: Caller, desk: Desk) -> None:
    publish(desk, EXAMPLE_LIMITS.replace('"year_from": 2021', '"year_from": 2022'))
    response = shop.post("/v1/verdicts", EXAMPLE)
    assert response.get_json()["type"] == "/problems/application_ambiguous"
    assert response.get_json()["detail"].count("corvane-ostrel") == 2


def test_a_record_without_an_option_serves_an_option_that_has_none_of_its_own(shop: Caller, desk: Desk) -> None:
    publish(desk, EXAMPLE_LIMITS.replace(', "brake_option": "B16"', "").replace("24.6", "24.7"))
    with_own = shop.post("/v1/verdicts", EXAMPLE).get_json()
    assert with_own["limits"]["machining"]["value"] == 24.6
    application = changed(EXAMPLE)["application"] | {"brake_option": "B99"}
    without = shop.post("/v1/verdicts", body_of(application=application)).get_json()
    assert without["limits"]["machining"]["value"] == 24.7


def test_a_release_may_be_named_and_must_exist(shop: Caller) -> None:
    assert shop.post("/v1/verdicts", body_of(release=Decimal(1))).status_code == 201
    response = shop.post("/v1/verdicts", body_of(release=Decimal(2)))
    assert response.get_json()["type"] == "/problems/release_not_found"
    assert errors(response) == [("/release", "release_not_found")]


def test_an_unknown_policy_names_the_nearest(shop: Caller) -> None:
    response = shop.post("/v1/verdicts", body_of(policy="defalt"))
    assert response.get_json()["type"] == "/problems/policy_not_found"
    assert "'defalt'; there is default" in response.get_json()["detail"]


def test_an_idempotency_key_gives_the_same_bytes_again_and_refuses_another_body(shop: Caller, clock: Clock) -> None:
    first = shop.post("/v1/verdicts", EXAMPLE, Idempotency_Key="job-1")
    assert "Idempotency-Replayed" not in first.headers
    clock.move(days=3)
    again = shop.post("/v1/verdicts", EXAMPLE, Idempotency_Key="job-1")
    assert (again.status_code, again.data) == (201, first.data)
    assert again.headers["Idempotency-Replayed"] == "true"
    assert again.headers["Location"] == first.headers["Location"]
    other = shop.post("/v1/verdicts", DRUM, Idempotency_Key="job-1")
    assert (other.status_code, other.get_json()["type"]) == (422, "/problems/idempotency_key_reused")


def test_an_idempotency_key_belongs_to_the_key_that_sent_it(shop: Caller, join: Joining) -> None:
    other = join("verdicts")
    ids = {who.post("/v1/verdicts", EXAMPLE, Idempotency_Key="job-1").get_json()["id"] for who in (shop, other)}
    assert len(ids) == 2


def test_a_refused_request_leaves_its_idempotency_key_unused(shop: Caller) -> None:
    assert shop.post("/v1/verdicts", body_of(unit=None), Idempotency_Key="job-1").status_code == 422
    assert shop.post("/v1/verdicts", EXAMPLE, Idempotency_Key="job-1").status_code == 201


@pytest.mark.parametrize("key", ["", " ", "a b", "é", "x" * 256, "a\tb"])
def test_an_idempotency_key_is_of_visible_ascii(shop: Caller, key: str) -> None:
    response = shop.post("/v1/verdicts", EXAMPLE, Idempotency_Key=key)
    assert response.status_code == 400
    assert response.get_json()["errors"][0]["parameter"] == "Idempotency-Key"
    assert shop.post("/v1/verdicts", EXAMPLE, Idempotency_Key="x" * 255).status_code == 201


def test_verdicts_are_listed_page_by_page_in_the_order_of_recording(shop: Caller) -> None:
    ids = [shop.post("/v1/verdicts", EXAMPLE).get_json()["id"] for _ in range(5)]
    seen: list[str] = []
    path = "/v1/verdicts?limit=2"
    for _ in range(3):
        page = shop.get(path)
        seen += [item["id"] for item in page.get_json()["items"]]
        link = page.headers.get("Link", "")
        assert (page.get_json()["next"] is None) == (not link)
        path = link.partition("<")[2].partition(">")[0]
    assert seen == ids
    assert not path


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("verdict=machine", 2),
        ("verdict=replace", 0),
        ("kind=drum", 1),
        ("make=CORVANE&model=ostrel", 2),
        ("vehicle=unit%20114", 2),
        ("reference=job%209", 1),
        ("since=2026-11-02T10:30:00Z", 1),
        ("until=2026-11-02T11:30:00%2B01:00", 2),
        ("since=2026-11-02T10:00:00Z&until=2026-11-02T10:00:01Z&kind=rotor", 1),
    ],
)
def test_verdicts_are_filtered(shop: Caller, clock: Clock, query: str, found: int) -> None:
    shop.post("/v1/verdicts", EXAMPLE)
    shop.post("/v1/verdicts", DRUM)
    clock.move(hours=1)
    shop.post("/v1/verdicts", body_of(reference="job 9"))
    assert len(shop.get(f"/v1/verdicts?{query}").get_json()["items"]) == found


def test_a_filter_goes_along_from_page_to_page(shop: Caller) -> None:
    for body in (EXAMPLE, DRUM, EXAMPLE, DRUM):
        shop.post("/v1/verdicts", body)
    page = shop.get("/v1/verdicts?kind=drum&limit=1")
    assert "kind=drum" in page.headers["Link"]
    rest = shop.get(page.headers["Link"].partition("<")[2].partition(">")[0])
    assert [item["kind"] for item in rest.get_json()["items"]] == ["drum"]


def test_a_key_of_a_site_sees_its_own_sites_records_only(join: Joining) -> None:
    north, south, office = join("verdicts", site="north"), join("verdicts", site="south"), join("reports")
    path = north.post("/v1/verdicts", EXAMPLE).headers["Location"]
    south.post("/v1/verdicts", DRUM)
    assert north.get(path).status_code == 200
    assert south.get(path).status_code == 404
    assert office.get(path).get_json()["recorded"]["site"] == "north"
    assert [item["kind"] for item in south.get("/v1/verdicts").get_json()["items"]] == ["drum"]
    assert south.get("/v1/verdicts?site=north").get_json()["items"] == []
    assert len(office.get("/v1/verdicts").get_json()["items"]) == 2
    assert [item["site"] for item in office.get("/v1/verdicts?site=north").get_json()["items"]] == ["north"]


def test_a_number_of_km_is_never_shown_as_a_length(shop: Caller) -> None:
    history = [{"thickness": Decimal("25.5"), "odometer": {"value": Decimal(40000), "unit": "km"}}]
    answer = shop.post("/v1/verdicts", body_of(history=history)).get_json()
    assert answer["figures"]["remaining_distance"]["unit"] == "km"
    units = {check["check"]: check["unit"] for check in answer["checks"]}
    assert (units["remaining_distance"], units["measurement_points"], units["machining_limit"]) == (
        "km",
        "points",
        "mm",
    )
