"""Passes and heat in a verdict: for the cut that may be made, with the lathe's revision, and the same for ever."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.bodies import DRUM, EXAMPLE, changed, exact
from tests.api.conftest import Caller, Clock, Joining
from tests.api.lathes import BENCH, INCHES
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.judging.words import Zero
from turnrule.store.limit_records import LimitQuery

D = Decimal
RING = {"outer_diameter": 280, "inner_diameter": 160, "air_gap": 8}
Answer = dict[str, Any]


@pytest.fixture
def shop(join: Joining) -> Caller:
    """Someone who asks for verdicts, where two lathes stand."""
    office = join("policies:write", "verdicts")
    assert office.put("/v1/lathes/bench_one", BENCH, If_None_Match="*").status_code == 201
    assert office.put("/v1/lathes/hub_one", INCHES, If_None_Match="*").status_code == 201
    return office


def judged(shop: Caller, body: str = EXAMPLE, **changes: object) -> Answer:
    """The answer to a request that names the bench lathe, where nothing else is said."""
    whole = {"lathe": {"profile": "bench_one"}, **changes}
    response = shop.post("/v1/verdicts", write_exact(changed(body, **whole)).decode())
    assert response.status_code == 201, response.text
    answer: Answer = exact(response.text)
    return answer


def faults(shop: Caller, body: str = EXAMPLE, **changes: object) -> list[tuple[str, str]]:
    """Pointer and code of every fault of a request."""
    response = shop.post("/v1/verdicts", write_exact(changed(body, **changes)).decode())
    assert response.status_code == 422, response.text
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]


def taken(cut: Answer, face: str) -> Decimal:
    """What all passes take off a face."""
    return sum((one["depths"].get(face, D(0)) for one in cut["passes"]), D(0))


def test_passes_take_the_cut_and_what_stands_above_it_exactly(shop: Caller) -> None:
    answer = judged(shop, dimensions=RING, wanted_roughness={"value": D("1.5"), "unit": "um"})
    cut = answer["cut"]
    assert answer["lathe"] == {"name": "bench_one", "revision": 1, "kind": "bench"}
    # 0.10 a face from the thinnest point, and 0.07 of runout to be trued that stands above it: 0.17 = 0.09 + 0.08
    assert [one["depths"] for one in cut["passes"]] == [
        {"inboard": D("0.09"), "outboard": D("0.09")},
        {"inboard": D("0.08"), "outboard": D("0.08")},
    ]
    assert [one["work"] for one in cut["passes"]] == ["roughing", "finishing"]
    assert cut["passes"][-1]["reached"] == {"inboard": D("0.1"), "outboard": D("0.1")}
    # V = pi D n / 1000 with 280 mm: 120 a minute is 105.56 m/min and 150 would be 131.95, over 130 (textbook formula);
    # the faces are (280 - 160)/2 = 60 wide: 60/(0.2 x 120) = 2.5 and 60/(0.1 x 120) = 5 minutes
    assert (cut["plan"]["speed"], cut["plan"]["surface_speed"]) == (120, {"value": D("105.557513"), "unit": "m/min"})
    assert [one["minutes"] for one in cut["passes"]] == [D("2.5"), 5]
    assert cut["plan"]["minutes"] == D("7.5")
    # Rt = f^2/(8 r) = 0.01/3.2 mm; the greatest feed for Ra 1.5 um is the root of 1.5e-3 x 18 x 1.732 x 0.4
    assert cut["plan"]["finish"]["peak_roughness"] == {"value": D("3.125"), "unit": "um"}
    assert abs(cut["plan"]["finish"]["needed_feed"] - D("0.1367704")) <= D("1E-7")
    assert (cut["plan"]["finish"]["feed"], cut["plan"]["finish"]["reached"]) == (D("0.1"), True)
    assert (cut["plan"]["planned_for"], cut["plan"]["none_because"], cut["plan"]["notes"]) == ("cut", None, [])


def test_a_drum_in_inches_is_planned_in_inches(shop: Caller) -> None:
    dimensions = {"width": 2, "outer_diameter": D("9.8")}
    answer = judged(shop, DRUM, lathe={"profile": "hub_one"}, dimensions=dimensions)
    cut = answer["cut"]
    # 0.010 in and 0.002 in of set-up runout; 2/(0.008 x 160) and 2/(0.001 x 160) minutes
    assert [one["depths"]["depth"] for one in cut["passes"]] == [D("0.008"), D("0.004")]
    assert [one["minutes"] for one in cut["passes"]] == [D("1.5625"), D("12.5")]
    assert cut["passes"][0]["metal_removal_rate"]["unit"] == "in3/min"
    assert cut["plan"]["surface_speed"]["unit"] == "ft/min"
    assert cut["plan"]["finish"]["mean_roughness"]["unit"] == "uin"
    assert answer["heat"]["overestimated"] is False


def test_from_first_contact_nothing_stands_above_the_zero(shop: Caller) -> None:
    cut = judged(shop, cut={"inboard": D("0.2"), "outboard": D("0.2"), "zero": "first_contact"})["cut"]
    assert (taken(cut, "inboard"), cut["passes"][-1]["reached"]["inboard"]) == (D("0.2"), D("0.2"))


@pytest.mark.parametrize(
    ("changes", "because"),
    [
        ({"cut": {"inboard": D("0.3"), "outboard": D("0.3")}}, "cut_not_allowed"),
        ({"findings": ["crack_to_edge"]}, "part_is_replaced"),
        ({"cut": {"inboard": D("0.005"), "outboard": 0, "zero": "first_contact"}, "thickness": [D("25.02")] * 8,
          "lateral_runout": D("0.01"), "findings": None, "groove_depth": None}, "lathe_cannot"),
    ],
)  # fmt: skip
def test_no_passes_are_planned_that_may_or_can_not_be_made(shop: Caller, changes: dict[str, Any], because: str) -> None:
    cut = judged(shop, **changes)["cut"]
    assert (cut["passes"], cut["plan"]["none_because"]) == ([], because)
    if because == "lathe_cannot":
        assert cut["plan"]["refusals"] == [
            {"face": "inboard", "reason": "below_least_depth", "less": None, "more": D("0.02")}
        ]


def test_an_open_verdict_and_a_missing_limit_plan_nothing(shop: Caller) -> None:
    bare: dict[str, object] = {"application": None, "marking": D("24.0")}
    assert judged(shop, EXAMPLE, **bare)["cut"]["plan"]["none_because"] == "limit_is_missing"
    overdue: dict[str, object] = {"thickness": [D("25.02")] * 3, "policy": "careful_bench"}
    answer = judged(shop, EXAMPLE, **overdue)
    assert answer["verdict"] == "inconclusive"
    assert (answer["cut"]["passes"], answer["cut"]["plan"]["none_because"]) == ([], "verdict_is_open")


def test_where_the_cut_leaves_uncut_places_the_least_that_does_not_is_planned(shop: Caller) -> None:
    answer = judged(shop, cut={"inboard": D("0.01"), "outboard": D("0.1")})
    assert (answer["verdict"], answer["cut"]["cleans_up"]) == ("machine", False)
    assert answer["cut"]["plan"]["planned_for"] == "least_cleaning"
    least = answer["cut"]["least_cleaning"]
    last = answer["cut"]["passes"][-1]["reached"]
    assert last == {"inboard": least["inboard"], "outboard": least["outboard"]}


def test_no_lathe_no_plan_and_no_cut_no_passes(shop: Caller) -> None:
    assert (judged(shop, lathe=None)["lathe"], judged(shop, lathe=None)["cut"]["plan"]) == (None, None)
    kind = judged(shop, lathe="on_vehicle")
    assert (kind["lathe"], kind["cut"]["plan"]) == ({"name": None, "revision": None, "kind": "on_vehicle"}, None)
    sound: dict[str, object] = {
        "thickness": [D("25.02")] * 8,
        "lateral_runout": D("0.01"),
        "findings": None,
        "cut": None,
    }
    assert judged(shop, EXAMPLE, groove_depth=None, dimensions=RING, **sound)["cut"] is None
    assert judged(shop, EXAMPLE, groove_depth=None, dimensions=RING, **sound)["heat"] is None


@pytest.mark.parametrize(
    ("construction", "speed", "count"),
    [("drilled", 90, 3), ("slotted", 90, 3), ("composite", 90, 3), ("vented", 120, 2)],
)
def test_the_build_of_the_part_bounds_depth_and_speed_by_the_pack(
    shop: Caller, construction: str, speed: int, count: int
) -> None:
    """0.1 mm a pass and 100 turns a minute (common practice, no source): 0.27 is three passes, and 120 is too fast."""
    sizes = {"nominal_thickness": 26, "discard_thickness": 24, "minimum_machining_thickness": D("24.1")}
    answer = judged(
        shop,
        dimensions=RING,
        application=None,
        limits={**sizes, "machining": "permitted", "construction": construction},
        cut={"inboard": D("0.2"), "outboard": D("0.2")},
    )
    assert answer["cut"]["plan"]["speed"] == speed
    depths = [one["depths"]["inboard"] for one in answer["cut"]["passes"]]
    assert (len(depths), sum(depths)) == (count, D("0.27"))
    bound = D("0.25") if construction == "vented" else D("0.1")
    assert max(depths) <= bound


def test_heat_is_told_by_the_masses_of_the_ring(shop: Caller) -> None:
    # pi/4 (280^2 - 160^2) (25.0225 - 8) mm3 of 7200 kg/m3: 5.0825 kg; heat goes with 1/mass (E = m c dT)
    heat = judged(shop, dimensions=RING)["heat"]
    assert abs(heat["mass_before_kg"] - D("5.0825")) < D("0.0001")
    before, after = D("25.0225") - 8, D("24.74") - 8
    assert abs(heat["relative_rise"] - (before / after - 1)) <= D("0.000001")
    assert (heat["overestimated"], heat["caution"]) == (True, "heat_rises_with_cut")
    solid = judged(shop, dimensions={"outer_diameter": 280, "inner_diameter": 160})["heat"]
    assert solid["overestimated"] is False
    assert "heat_rises_with_cut" in [one["code"] for one in judged(shop, dimensions=RING)["cautions"]]


def test_what_cannot_be_planned_is_refused_by_its_field(shop: Caller) -> None:
    ring = {"outer_diameter": 280, "inner_diameter": 290, "air_gap": 26}
    assert faults(shop, dimensions=ring) == [
        ("/dimensions/inner_diameter", "inner_past_outer"),
        ("/dimensions/air_gap", "gap_past_thickness"),
    ]
    drum = {"width": 2, "outer_diameter": 9}
    assert faults(shop, DRUM, dimensions=drum) == [("/dimensions/outer_diameter", "inner_past_outer")]
    assert faults(shop, lathe={"profile": "bench_on"}) == [("/lathe/profile", "lathe_not_found")]
    assert faults(shop, lathe={"profile": "bench_one", "revision": 2}) == [("/lathe/revision", "lathe_not_found")]
    assert faults(shop, lathe={}) == [("/lathe", "kind_or_profile")]
    assert faults(shop, lathe={"kind": "bench", "revision": 1}) == [("/lathe/revision", "revision_without_profile")]
    assert faults(shop, lathe={"kind": "bench", "profile": "bench_one"}) == [("/lathe", "kind_or_profile")]
    assert faults(shop, wanted_roughness={"value": 0, "unit": "um"}) == [("/wanted_roughness/value", "out_of_range")]


def test_a_lathe_on_the_vehicle_trues_what_the_hub_shows(shop: Caller) -> None:
    """The profile's kind decides what runout is trued, as the bare kind does."""
    named = judged(shop, lathe={"profile": "hub_one"}, setup_runout=0)
    bare = judged(shop, lathe="on_vehicle", setup_runout=0)
    assert named["figures"] == bare["figures"]
    assert named["figures"]["runout_to_be_trued"] == D("0.07")


def test_a_replay_after_the_lathe_was_revised_gives_the_same_bytes(shop: Caller, desk: Desk) -> None:
    response = shop.post(
        "/v1/verdicts", write_exact(changed(EXAMPLE, lathe={"profile": "bench_one"}, dimensions=RING)).decode()
    )
    sent = response.data
    verdict_id = json.loads(sent)["id"]
    record = desk.store.verdict(verdict_id)
    assert record is not None
    assert (record.lathe_name, record.lathe_revision) == ("bench_one", 1)
    etag = shop.get("/v1/lathes/bench_one").headers["ETag"]
    other = write_exact(changed(BENCH, finishing_depth=D("0.03"), kind="on_vehicle")).decode()
    assert shop.put("/v1/lathes/bench_one", other, If_Match=etag).status_code == 200
    again = shop.post(f"/v1/verdicts/{verdict_id}/replays", "{}").get_json()
    assert again["identical"] is True
    answer = judged(shop, dimensions=RING)
    assert answer["lathe"] == {"name": "bench_one", "revision": 2, "kind": "on_vehicle"}
    assert answer["cut"]["passes"] != json.loads(sent)["cut"]["passes"]


def test_what_a_release_changes_is_planned_with_the_recorded_revision(
    shop: Caller, desk: Desk, join: Joining, clock: Clock
) -> None:
    judged(shop, dimensions=RING)
    etag = shop.get("/v1/lathes/bench_one").headers["ETag"]
    other = write_exact(changed(BENCH, finishing_depth=D("0.03"))).decode()
    assert shop.put("/v1/lathes/bench_one", other, If_Match=etag).status_code == 200
    (rotor,) = [row for row in desk.store.limits(LimitQuery(release=1)) if row.fits.make == "Corvane"]
    at = clock()
    corrected = replace(
        rotor, revision=2, reason="The next edition says so.", entered_at=at, verified_at=at,
        limits=replace(rotor.limits, machining=D("24.61")),
    )  # fmt: skip
    desk.store.publish([corrected], published_at=at, published_by="office", notes="")
    streamed = join("reports").get("/v1/releases/2/impact?since=1&differ=anything")
    line = json.loads(streamed.data.splitlines()[0])
    assert "limits" in line["differs"]
    assert {"cut", "lathe", "heat"}.isdisjoint(line["differs"])


sizes = st.decimals(D("24.0"), D("26.0"), places=3)
depths = st.decimals(D(0), D("0.6"), places=4)


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(sizes, min_size=4, max_size=4),
    depths,
    depths,
    st.decimals(D(0), D("0.1"), places=3),
    st.sampled_from(Zero),
)
def test_no_plan_ever_cuts_more_than_the_room(
    shop: Caller, thickness: list[Decimal], inboard: Decimal, outboard: Decimal, runout: Decimal, zero: Zero
) -> None:
    cut = {"inboard": inboard, "outboard": outboard, "zero": zero}
    answer = judged(shop, thickness=thickness, cut=cut, setup_runout=runout, lateral_runout=None)
    judgement = answer["cut"]
    if not judgement["passes"]:
        assert judgement["plan"]["none_because"] is not None
        return
    chosen = judgement["least_cleaning"] if judgement["plan"]["planned_for"] == "least_cleaning" else judgement
    last = judgement["passes"][-1]["reached"]
    for face in ("inboard", "outboard"):
        assert last.get(face, D(0)) <= chosen[face]
        if face in last:
            stands = D(0) if zero is Zero.FIRST_CONTACT else runout
            assert taken(judgement, face) == chosen[face] + stands
    from_thinnest = sum(chosen[face] for face in ("inboard", "outboard")) - (
        2 * runout if zero is Zero.FIRST_CONTACT else 0
    )
    assert from_thinnest <= answer["room"]["most_total_cut"]
