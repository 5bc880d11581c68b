"""Axle verdicts over HTTP: each side as by itself, then the pair; recorded together before they are answered."""

from __future__ import annotations

import json
import sqlite3
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.api.axles import AXLE, DRUM_AXLE, GOOD, OPEN, UNEVEN, WORN, axle_of, faults, judged
from tests.api.bodies import EXAMPLE, changed, exact
from tests.api.callers import Caller, Clock
from tests.api.conftest import Joining
from tests.api.lathes import BENCH
from tests.api.test_contract import faults_of
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import canonical, digest_of, read_exact, write_exact
from turnrule.store.port import SiteRevision, VerdictQuery

D = Decimal
ALL = VerdictQuery()


def write_policy(join: Joining, name: str, **fields: object) -> None:
    """A policy of the store that inherits the default."""
    body = write_exact({"unit": "mm", **fields})
    assert join("policies:write").put(f"/v1/policies/{name}", body, If_None_Match="*").status_code == 201


def told(answer: dict[str, Any]) -> dict[str, tuple[str, str, list[str]]]:
    """Of each side: what its own verdict is, what is done with it, and why."""
    return {
        name: (side["own_verdict"], side["verdict"], side["reasons"])
        for name, side in answer["sides"].items()
        if side is not None
    }


def test_each_side_is_judged_as_it_would_be_by_itself(shop: Caller) -> None:
    """The left side of the sample is the contract's own example: the verdict on it is the same to the digest."""
    answer = judged(shop)
    alone = shop.post("/v1/verdicts", EXAMPLE).get_json()
    left = answer["sides"]["left"]
    assert left["judgement"]["digest"] == left["verdict_digest"] == alone["digest"]
    assert left["judgement"]["room"] == alone["room"]
    shared = {name: value for name, value in changed(AXLE).items() if name not in {"left", "right"}}
    body = write_exact({**shared, **changed(AXLE)["right"], "side": "right"})
    assert answer["sides"]["right"]["verdict_digest"] == shop.post("/v1/verdicts", body).get_json()["digest"]


def test_the_answer_says_what_is_done_with_each_side(shop: Caller) -> None:
    answer = judged(shop)
    assert answer["verdict"] == "machine"
    assert answer["summary"] == "The left side is to be machined, and the right side stays in service."
    assert answer["sentences"][:2] == [
        "The left side can be machined by itself.",
        "The right side can stay in service by itself.",
    ]
    assert answer["pair_rule"] == "advise"
    left, right = answer["sides"]["left"], answer["sides"]["right"]
    assert (left["cut"], left["final_thickness"]) == ({"inboard": 0.1, "outboard": 0.1}, 24.74)
    assert (right["cut"], right["final_thickness"], right["new_part"]) == (None, 25.12, None)
    [check] = answer["checks"]
    assert (check["value"], check["outcome"], check["unit"]) == (0.38, "not_assessed", "mm")
    assert (answer["release"], answer["policy"]) == (1, {"name": "default", "revision": 1})
    assert answer["judged_at"] == "2026-11-02T10:00:00.000000Z"
    assert answer["missing"] == []
    assert faults_of("AxleVerdict", answer) == []


def test_drums_in_inches_are_answered_in_inches(shop: Caller) -> None:
    answer = read_exact(shop.post("/v1/axle-verdicts", DRUM_AXLE).data)
    left, right = answer["sides"]["left"], answer["sides"]["right"]
    assert (left["own_verdict"], left["cut"], left["final_diameter"]) == (
        "serviceable",
        {"depth": D("0.01")},
        D("9.034"),
    )
    assert (right["final_diameter"], answer["checks"][0]["value"], answer["checks"][0]["unit"]) == (
        D("9.014"),
        D("0.02"),
        "in",
    )
    assert faults_of("AxleVerdict", json.loads(write_exact(answer))) == []


@pytest.mark.parametrize(
    ("rule", "left", "right", "wanted"),
    [
        ("advise", GOOD, WORN, ("serviceable", "replace")),
        ("machine_both", GOOD, WORN, ("serviceable", "replace")),
        ("replace_both", GOOD, WORN, ("replace", "replace")),
        ("advise", UNEVEN, GOOD, ("machine", "serviceable")),
        ("machine_both", UNEVEN, GOOD, ("machine", "machine")),
        ("replace_both", UNEVEN, GOOD, ("machine", "machine")),
        ("machine_both", GOOD, OPEN, ("inconclusive", "inconclusive")),
    ],
)
def test_the_pair_rule_of_the_policy_is_kept_and_a_partner_that_passed_is_told(
    shop: Caller, join: Joining, rule: str, left: object, right: object, wanted: tuple[str, str]
) -> None:
    write_policy(join, "pairs", pair_rule=rule)
    answer = judged(shop, axle_of(policy="pairs", left=left, right=right))
    own = judged(shop, axle_of(left=left, right=right))
    assert tuple(side["verdict"] for side in answer["sides"].values()) == wanted
    for name, side in answer["sides"].items():
        alone = own["sides"][name]["own_verdict"]
        assert side["own_verdict"] == alone
        assert side["passed_by_itself"] is (alone in {"serviceable", "machine"})
        assert side["because_of_partner"] is (side["verdict"] != alone)
        assert (", but it" in side["sentence"]) is side["because_of_partner"]
    assert answer["pair_rule"] == rule


def test_a_side_is_cut_to_match_the_other_where_the_policy_bounds_the_difference(shop: Caller, join: Joining) -> None:
    write_policy(join, "level", axle_difference=D("0.1"))
    lower = {"thickness": [D("24.9")] * 4, "lateral_runout": D("0.01")}
    answer = judged(shop, axle_of(policy="level", left=GOOD, right=lower))
    assert told(answer)["left"] == ("serviceable", "machine", ["cut_to_match"])
    assert answer["sides"]["left"]["final_thickness"] == 25
    assert [(check["value"], check["outcome"]) for check in answer["checks"]] == [(0.4, "fail"), (0.1, "pass")]


@pytest.mark.parametrize(
    ("left", "size", "origin"),
    [
        (WORN, 26, "reference"),
        ({**WORN, "new_part": {"thickness": D("25.9")}}, 25.9, "new_part"),
        ({**WORN, "limits": {"nominal_thickness": D("26.1"), "discard_thickness": D(24)}}, 26, "reference"),
    ],
)
def test_the_size_of_a_new_part_is_the_one_given_or_the_nominal_one(
    shop: Caller, left: object, size: float, origin: str
) -> None:
    answer = judged(shop, axle_of(left=left))
    side = answer["sides"]["left"]
    assert side["new_part"] == {"thickness": size, "origin": origin}
    assert side["final_thickness"] == size
    assert answer["checks"][-1]["value"] == round(size - 25.12, 2)


def test_the_nominal_size_of_the_callers_limits_serves_where_the_store_has_none(shop: Caller) -> None:
    limits = {"nominal_thickness": D(26), "discard_thickness": D(24)}
    answer = judged(shop, axle_of(application=None, limits=limits, left=WORN))
    assert answer["sides"]["left"]["new_part"] == {"thickness": 26, "origin": "caller"}
    unknown = judged(shop, axle_of(application=None, limits={"discard_thickness": D(24)}, left=WORN))
    assert unknown["sides"]["left"]["final_thickness"] is unknown["sides"]["left"]["new_part"] is None
    assert unknown["checks"][-1]["reason"] == "a side is replaced, and the size of the new part is not given"


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_axle_of_one_side_is_never_passed(shop: Caller, desk: Desk, side: str) -> None:
    other = "right" if side == "left" else "left"
    answer = judged(shop, axle_of(**{side: GOOD, other: None}))
    assert (answer["verdict"], answer["missing"]) == ("inconclusive", [other])
    assert answer["sides"][other] is None
    assert answer["sides"][side]["verdict"] == "serviceable"
    assert "not measured, so that the axle cannot be passed" in answer["summary"]
    assert faults_of("AxleVerdict", answer) == []
    assert judged(shop, axle_of(**{side: WORN, other: None}))["verdict"] == "replace"
    assert [one.side for one in desk.store.verdicts(ALL)] == [side, side]


def test_the_cautions_are_those_of_both_sides_each_once_the_loudest_first(shop: Caller) -> None:
    answer = judged(shop)
    listed = [(one["level"], one["code"], one["sides"]) for one in answer["cautions"]]
    levels = [level for level, _, _ in listed]
    assert levels == sorted(levels, key=["danger", "warning", "notice"].index)
    assert ("warning", "axle_partner", ["left", "right"]) in listed
    assert ("warning", "follow_service_data", ["left", "right"]) in listed
    assert ("notice", "finding_noted", ["left"]) in listed
    own = {(one["code"], one["text"]) for side in answer["sides"].values() for one in side["judgement"]["cautions"]}
    assert {(one["code"], one["text"]) for one in answer["cautions"] if one["code"] != "axle_partner"} == own
    assert len(listed) == len(own) + 1


def test_the_digest_can_be_worked_out_again_from_the_answer(shop: Caller) -> None:
    answer = read_exact(shop.post("/v1/axle-verdicts", AXLE).data)
    digest = answer.pop("digest")
    del answer["id"], answer["judged_at"]
    for side in answer["sides"].values():
        judgement = side.pop("judgement")
        del side["verdict_id"]
        own = judgement.pop("digest")
        del judgement["id"], judgement["judged_at"]
        assert own == side["verdict_digest"] == digest_of(canonical(judgement))
    assert digest == digest_of(canonical(answer))


def test_the_digest_hangs_on_no_id_moment_or_key(shop: Caller, join: Joining, clock: Clock) -> None:
    first = judged(shop)
    clock.move(hours=3)
    again = judged(join("verdicts", site="north"))
    assert first["id"] != again["id"]
    assert first["digest"] == again["digest"]
    assert first["digest"] != judged(shop, axle_of(right=WORN))["digest"]


def test_all_three_verdicts_are_stored_as_they_are_answered(shop: Caller, desk: Desk) -> None:
    response = shop.post("/v1/axle-verdicts", AXLE)
    answer = response.get_json()
    assert response.headers["Location"] == f"/v1/axle-verdicts/{answer['id']}"
    record = desk.store.axle(answer["id"])
    assert record is not None
    assert (record.answer, record.request, record.digest) == (response.data, AXLE.encode(), answer["digest"])
    assert (record.vehicle, record.reference, record.kind, record.ruling) == ("unit 114", "job 9", "rotor", "machine")
    sides = desk.store.verdicts(ALL)
    assert [(one.side, one.axle_id, one.id) for one in sides] == [
        (name, answer["id"], answer["sides"][name]["verdict_id"]) for name in ("left", "right")
    ]
    assert (record.left_id, record.right_id) == tuple(one.id for one in sides)
    assert {one.judged_at for one in sides} == {record.judged_at}
    assert {one.reference for one in sides} == {"job 9"}
    for one in sides:
        assert one.answer in response.data
        assert read_exact(one.answer) == read_exact(response.data)["sides"][one.side]["judgement"]


def test_a_side_can_be_judged_again_from_what_is_kept_of_it(shop: Caller, desk: Desk) -> None:
    """The request of a side is a whole request; written anyhow, it is kept in the same bytes."""
    judged(shop)
    judged(shop, json.dumps(dict(reversed(list(json.loads(AXLE).items()))), indent=3).replace("24.0", "240e-1"))
    first, second, *others = desk.store.verdicts(ALL)
    assert [one.request for one in (first, second)] == [one.request for one in others]
    for one in (first, second):
        assert read_exact(one.request) == read_exact(canonical(read_exact(one.request)))
        assert shop.post("/v1/verdicts", one.request).get_json()["digest"] == one.digest
        read = shop.get(f"/v1/verdicts/{one.id}")
        assert faults_of("RecordedVerdict", read.get_json()) == []
        assert read.get_json()["recorded"]["axle_id"] == one.axle_id


def test_a_stored_verdict_tells_of_which_axle_it_is_a_side(shop: Caller) -> None:
    axle_id = judged(shop)["id"]
    shop.post("/v1/verdicts", EXAMPLE)
    assert [one["axle_id"] for one in shop.get("/v1/verdicts").get_json()["items"]] == [axle_id, axle_id, None]


def test_an_axle_verdict_is_read_back_as_it_was_sent_with_its_request_and_record(shop: Caller) -> None:
    sent = shop.post("/v1/axle-verdicts", AXLE)
    read = shop.get(sent.headers["Location"])
    assert read.data.startswith(sent.data[:-1])
    beside = read_exact(read.data)
    assert beside["request"] == exact(AXLE)
    assert beside["recorded"] == {"sequence": 1, "key": "caller-1", "site": None}
    assert "immutable" in read.headers["Cache-Control"]
    assert shop.get(sent.headers["Location"], If_None_Match=read.headers["ETag"]).status_code == 304
    assert faults_of("RecordedAxleVerdict", read.get_json()) == []
    assert shop.get("/v1/axle-verdicts/nothing").status_code == 404
    assert shop.get(f"{sent.headers['Location']}?x=1").status_code == 400


def test_axle_verdicts_are_listed_page_by_page_by_site_and_vehicle(join: Joining) -> None:
    north, south, office = join("verdicts", site="north"), join("verdicts", site="south"), join("reports")
    ids = [judged(north)["id"] for _ in range(3)]
    other = judged(south, axle_of(vehicle={"label": "unit 7"}))["id"]
    page = north.get("/v1/axle-verdicts?limit=2")
    assert [one["id"] for one in page.get_json()["items"]] == ids[:2]
    assert faults_of("AxleVerdictPage", page.get_json()) == []
    rest = north.get(page.headers["Link"].partition("<")[2].partition(">")[0]).get_json()
    assert ([one["id"] for one in rest["items"]], rest["next"]) == (ids[2:], None)
    assert north.get("/v1/axle-verdicts?site=south").get_json()["items"] == []
    for query, found in (
        ("site=south", [other]),
        ("vehicle=unit%207", [other]),
        ("site=north", ids),
        ("", [*ids, other]),
    ):
        assert [one["id"] for one in office.get(f"/v1/axle-verdicts?{query}").get_json()["items"]] == found
    assert office.get("/v1/axle-verdicts?make=Corvane").status_code == 400


def test_a_key_of_a_site_reads_its_own_sites_axles_only(join: Joining) -> None:
    north, south, office = join("verdicts", site="north"), join("verdicts", site="south"), join("reports")
    sent = north.post("/v1/axle-verdicts", AXLE)
    side = f"/v1/verdicts/{sent.get_json()['sides']['left']['verdict_id']}"
    for path in (sent.headers["Location"], side):
        assert (north.get(path).status_code, south.get(path).status_code) == (200, 404)
        assert office.get(path).get_json()["recorded"]["site"] == "north"
    assert office.post("/v1/axle-verdicts", AXLE).status_code == 403


def test_an_idempotency_key_gives_the_same_bytes_again_and_refuses_another_body(
    shop: Caller, clock: Clock, desk: Desk
) -> None:
    first = shop.post("/v1/axle-verdicts", AXLE, Idempotency_Key="job-1")
    assert "Idempotency-Replayed" not in first.headers
    clock.move(days=3)
    again = shop.post("/v1/axle-verdicts", AXLE, Idempotency_Key="job-1")
    assert (again.status_code, again.data) == (201, first.data)
    assert again.headers["Idempotency-Replayed"] == "true"
    assert again.headers["Location"] == first.headers["Location"]
    other = shop.post("/v1/axle-verdicts", DRUM_AXLE, Idempotency_Key="job-1")
    assert (other.status_code, other.get_json()["type"]) == (422, "/problems/idempotency_key_reused")
    assert len(desk.store.axles()) == 1
    assert len(desk.store.verdicts(ALL)) == 2


def test_a_refused_axle_leaves_its_idempotency_key_unused_and_nothing_behind(shop: Caller, desk: Desk) -> None:
    bad = axle_of(right={**GOOD, "findings": ["no_such_thing"]})
    assert shop.post("/v1/axle-verdicts", bad, Idempotency_Key="job-1").status_code == 422
    assert (desk.store.axles(), desk.store.verdicts(ALL)) == ([], [])
    assert shop.post("/v1/axle-verdicts", AXLE, Idempotency_Key="job-1").status_code == 201


def test_what_cannot_be_stored_is_not_answered(shop: Caller, desk: Desk, tmp_path: Path) -> None:
    """Another process holds the store's only write lock for longer than the service waits."""
    holder = sqlite3.connect(tmp_path / "store.sqlite", isolation_level=None)
    try:
        holder.execute("BEGIN IMMEDIATE")
        refused = shop.post("/v1/axle-verdicts", AXLE)
        assert (refused.status_code, refused.mimetype) == (503, "application/problem+json")
        assert "sides" not in refused.get_json()
        holder.execute("ROLLBACK")
    finally:
        holder.close()
    assert (desk.store.axles(), desk.store.verdicts(ALL)) == ([], [])


def test_a_miss_is_counted_once_for_the_axle(shop: Caller, desk: Desk) -> None:
    application = changed(AXLE)["application"] | {"model": "Unheard"}
    response = shop.post("/v1/axle-verdicts", axle_of(application=application))
    assert response.get_json()["type"] == "/problems/application_not_found"
    assert faults(response) == [("/application", "application_not_found")]
    assert [miss.count for miss in desk.store.misses()] == [1]
    limits = {"discard_thickness": D(24), "minimum_machining_thickness": D("24.6")}
    judged(shop, axle_of(application=application, limits=limits))
    assert [miss.count for miss in desk.store.misses()] == [2]
    left = {**GOOD, "limits": limits}
    refused = shop.post("/v1/axle-verdicts", axle_of(application=application, left=left))
    assert faults(refused) == [("/application", "application_not_found")]
    assert [miss.count for miss in desk.store.misses()] == [3]


def test_the_verdicts_of_the_sides_are_counted_and_replays_are_not(shop: Caller) -> None:
    def counted() -> list[str]:
        text = shop.get("/metrics").get_data(as_text=True)
        return sorted(line for line in text.splitlines() if line.startswith("turnrule_verdicts_total"))

    for _ in range(2):
        judged(shop, axle_of(), Idempotency_Key="one")
    assert 'turnrule_verdicts_total{verdict="machine"} 1.0' in counted()
    assert 'turnrule_verdicts_total{verdict="serviceable"} 1.0' in counted()


def test_the_policy_of_the_keys_site_holds_for_both_sides(join: Joining, desk: Desk) -> None:
    write_policy(join, "north_policy", discard_margin=D("0.5"))
    desk.store.save_site(SiteRevision("north", 1, "north_policy", desk.clock(), "office"))
    north = join("verdicts", site="north")
    answer = judged(north, axle_of(left={"thickness": [D("24.3")] * 4}))
    assert answer["policy"] == {"name": "north_policy", "revision": 1}
    assert told(answer)["left"][0] == "replace"
    assert {side["judgement"]["policy"]["name"] for side in answer["sides"].values()} == {"north_policy"}
    refused = north.post("/v1/axle-verdicts", axle_of(policy="default"))
    assert faults(refused) == [("/policy", "policy_not_for_site")]
    assert judged(join("verdicts"), axle_of(policy="default"))["policy"]["name"] == "default"


def test_a_lathe_by_its_profile_is_the_lathe_of_both_sides_as_its_kind_alone_would_be(
    shop: Caller, join: Joining
) -> None:
    """The record lets the part be cut on the vehicle only: on a bench it is known that no side can be cut to match."""
    write_policy(join, "level", axle_difference=D("0.1"))
    office = join("policies:write")
    assert office.put("/v1/lathes/bench_one", BENCH, If_None_Match="*").status_code == 201
    limits = {"discard_thickness": D(24), "machining": "on_vehicle_only"}
    lower = {"thickness": [D("24.9")] * 4, "lateral_runout": D("0.01")}
    rulings = [
        told(
            judged(shop, axle_of(application=None, policy="level", limits=limits, lathe=lathe, left=GOOD, right=lower))
        )
        for lathe in ("bench", {"profile": "bench_one"})
    ]
    assert rulings[0] == rulings[1]
    assert rulings[0]["left"] == ("serviceable", "replace", ["sides_differ"])
