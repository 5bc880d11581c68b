"""Checks of a set-up over the API: limits as a verdict finds them, every fault at once, either unit, nothing stored."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE, changed, exact
from tests.api.callers import START
from tests.api.conftest import Caller, Joining, People
from tests.api.test_contract import faults_of
from tests.api.test_no_input_crashes import FORM, between
from turnrule.actions.desk import Desk
from turnrule.actions.lathes import write_lathe
from turnrule.actions.numbers import write_exact
from turnrule.api.contract_codes import FAULT_CODES
from turnrule.api.exact_numbers import FINEST
from turnrule.judging.words import Kind, LatheKind
from turnrule.store.port import Key, VerdictQuery

D = Decimal
PATH = "/v1/setup-checks"
MOUNTED_RIGHT = """{
  "unit": "mm",
  "kind": "rotor",
  "application": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
  "thickness": [25.02, 25.01, 25.03, 25.04, 25.03, 25.02, 25.01, 25.02],
  "instrument": {"resolution": 0.001, "expanded_uncertainty": 0},
  "angle_uncertainty": 0,
  "readings": [
    {"trace": [0.004, 0.02, -0.004, -0.02]},
    {"turned": 180, "trace": [-0.004, 0.02, 0.004, -0.02]}
  ]
}"""


def sent(caller: Caller, body: object) -> TestResponse:
    """The response to a check."""
    return caller.post(PATH, write_exact(body))


def told(caller: Caller, body: object) -> Any:  # noqa: ANN401 - a document of any shape
    """The answer to a check, its numbers exact."""
    response = sent(caller, body)
    assert response.status_code == 200, response.get_data(as_text=True)
    return exact(response.get_data(as_text=True))


def codes(response: TestResponse) -> set[tuple[str, str]]:
    """Pointer and code of every fault."""
    assert response.status_code == 422, response.get_data(as_text=True)
    return {(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]}


def test_limits_and_guard_band_are_those_of_a_verdict(shop: Caller) -> None:
    check = told(shop, exact(MOUNTED_RIGHT))
    body = changed(EXAMPLE, instrument=exact(MOUNTED_RIGHT)["instrument"], marking=None, setup_runout=D("0.04"))
    verdict = exact(shop.post("/v1/verdicts", write_exact(body)).get_data(as_text=True))
    assert check["limits"] == verdict["limits"]
    assert check["affordance"]["guard_band"] == verdict["margins"]["guard_band"]
    assert check["affordance"]["clean_up_thickness"] == verdict["figures"]["clean_up_thickness"]
    assert [check[name] for name in ("release", "policy", "pack", "engine")] == [
        verdict[name] for name in ("release", "policy", "pack", "engine")
    ]
    assert check["ready"] is True


def test_nothing_is_stored_and_an_idempotency_key_is_not_looked_at(shop: Caller, desk: Desk) -> None:
    first = shop.post(PATH, MOUNTED_RIGHT, Idempotency_Key="k-1")
    other = shop.post(PATH, write_exact(changed(MOUNTED_RIGHT, thickness=None)), Idempotency_Key="k-1")
    assert (first.status_code, other.status_code) == (200, 200)
    assert first.data == shop.post(PATH, MOUNTED_RIGHT).data
    unknown = changed(MOUNTED_RIGHT, application={"make": "Nobody", "model": "X", "year": 2020, "axle": "rear"})
    assert codes(sent(shop, unknown)) == {("/application", "application_not_found")}
    assert list(desk.store.verdicts(VerdictQuery(), after=0, limit=5)) == []
    assert list(desk.store.misses(after=0, limit=5)) == []


def test_it_takes_the_scope_of_verdicts_and_no_parameters(shop: Caller, join: Joining) -> None:
    assert join("reports").post(PATH, MOUNTED_RIGHT).status_code == 403
    assert shop.post(f"{PATH}?after=1", MOUNTED_RIGHT).status_code == 400
    assert shop.get(PATH).status_code == 405
    assert shop.post(PATH, "[1]").status_code == 422


def test_every_fault_is_told_at_once_whichever_room_finds_it(shop: Caller) -> None:
    body = changed(
        MOUNTED_RIGHT,
        thickness=[1, 99],
        unti="mm",
        policy="defualt",
        readings=None,
        faces={"outboard": [0, 1, 2], "thickness": [25, 25, 25, 25]},
        hub={"readings": [{"turned": 0, "runout": 1, "high_spot": 360}], "studs": 0},
        mount_limit=-1,
    )
    assert codes(sent(shop, body)) == {
        ("/unti", "unknown_field"),
        ("/hub/studs", "out_of_range"),
        ("/mount_limit", "out_of_range"),
        ("/thickness/0", "unit_mismatch"),
        ("/policy", "policy_not_found"),
    }
    del body["policy"], body["unti"], body["mount_limit"]
    body["hub"]["studs"] = 5
    body["thickness"] = [25, 99]
    body["passes"] = {"least_depth": 2, "greatest_depth": 1}
    assert codes(sent(shop, body)) == {
        ("/thickness/1", "past_nominal_size"),
        ("/faces/outboard", "different_angles"),
        ("/hub/readings/0/high_spot", "not_an_angle"),
        ("/passes/greatest_depth", "below_the_least"),
    }


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"tracks": [{"distance": 1, "diameters": [200]}]}, "/tracks", "field_of_another_kind"),
        ({"setup_runout": 1}, "/setup_runout", "field_of_another_kind"),
        ({"readings": None}, "", "nothing_read"),
        ({"readings": [{"turned": 0}]}, "/readings/0", "scratch_or_trace"),
        ({"readings": [{"scratch": {"depth": 0.1}}]}, "/readings/0/scratch", "fraction_or_arcs"),
        ({"readings": [{"scratch": {"depth": 0.1, "covered": 0}}]}, "/readings/0/scratch/covered", "out_of_range"),
        ({"readings": [{"turned": 3601, "trace": [0, 0, 0]}]}, "/readings/0/turned", "out_of_range"),
        (
            {"readings": [{"scratch": {"depth": 0.1, "arcs": [{"start": 9, "end": 9}]}}]},
            "/readings/0/scratch/arcs/0",
            "empty_arc",
        ),
        (
            {"readings": [{"scratch": {"depth": 0.1, "arcs": [{"start": 0, "end": 9}, {"start": 8, "end": 20}]}}]},
            "/readings/0/scratch/arcs",
            "arcs_overlap",
        ),
        ({"hub": {"readings": [{"turned": 0, "trace": [0, 0, 0]}]}}, "/hub", "studs_or_turns"),
        ({"faces": {"thickness": [25, 25, 25]}}, "/faces/outboard", "no_trace"),
        ({"faces": {"outboard": [0, 0, 0], "thickness": [0.9, 25, 25]}}, "/faces/thickness/0", "unit_mismatch"),
        ({"limits": {"discard_thickness": 25, "minimum_machining_thickness": 24}}, "/limits", "machining_past_discard"),
    ],
)
def test_a_fault_names_its_field_and_has_a_code_of_the_contract(
    shop: Caller, changes: dict[str, object], pointer: str, code: str
) -> None:
    found = codes(sent(shop, changed(MOUNTED_RIGHT, **changes)))
    assert any(at.startswith(pointer) and code == name for at, name in found), found
    assert {name for _, name in found} <= FAULT_CODES.keys()


def test_sizes_of_the_blocks_serve_where_none_stand_by_themselves(shop: Caller) -> None:
    body = changed(MOUNTED_RIGHT, thickness=None, faces={"outboard": [0, 0, 0], "thickness": [25, 25, 25.1]})
    assert told(shop, body)["affordance"]["clean_up_thickness"] == D("24.96")
    body["faces"]["thickness"][1] = 99
    assert codes(sent(shop, body)) == {("/faces/thickness/1", "past_nominal_size")}
    drum = {"unit": "mm", "kind": "drum", "limits": {"nominal_diameter": 200}, **both(body)}
    drum["tracks"] = [{"place": "open", "diameters": [200.5]}, {"place": "closed", "diameters": [200.1, 150]}]
    assert codes(sent(shop, drum)) == {("/tracks/1/diameters/1", "past_nominal_size")}
    drum["tracks"][1]["diameters"][1] = 200.2
    assert told(shop, drum)["affordance"]["clean_up_diameter"] == D("200.54")


def both(body: dict[str, Any]) -> dict[str, Any]:
    """What is read alike of a rotor and of a drum."""
    return {name: body[name] for name in ("readings", "instrument", "angle_uncertainty")}


def test_a_withdrawn_record_affords_nothing(shop: Caller, people: People) -> None:
    limits_id = told(shop, exact(MOUNTED_RIGHT))["limits"]["limits_id"]
    withdrawal = {"reason": "misread by a whole millimetre"}
    withdrawn = people.bert.caller.post(f"/v1/limits/{limits_id}/withdrawals", json.dumps(withdrawal))
    assert withdrawn.status_code == 201, withdrawn.get_data(as_text=True)
    answer = told(shop, exact(MOUNTED_RIGHT))
    assert "limits_withdrawn" in {caution["code"] for caution in answer["cautions"]}
    assert (answer["ready"], answer["affordance"]["affordable"], answer["readings"]["mounted"]) == (None, None, "right")
    assert [one["code"] for one in answer["affordance"]["missing"]] == ["limits"]


def test_an_assumed_brake_option_is_said(shop: Caller) -> None:
    application = {**exact(MOUNTED_RIGHT)["application"]}
    del application["brake_option"]
    answer = told(shop, changed(MOUNTED_RIGHT, application=application))
    assert "brake_option_assumed" in {caution["code"] for caution in answer["cautions"]}


LATHE = """{
  "unit": "mm", "kind": "bench", "least_depth": 0.02, "greatest_depth": 0.4, "finishing_depth": 0.1,
  "roughing_feed": 0.2, "finishing_feeds": [0.05, 0.1], "speeds": [100, 150], "nose_radius": 0.8,
  "both_faces_at_once": true,
  "surface_speed": {"least": 60, "greatest": 160, "unit": "m/min"}
}"""


def test_a_lathe_of_the_shop_gives_the_depths_of_a_pass(shop: Caller, desk: Desk) -> None:
    key = Key("fleet-office", "", frozenset(), None, START)
    write_lathe(desk, "bench_1", exact(LATHE), key, over=None)
    body = changed(
        MOUNTED_RIGHT, lathe={"profile": "bench_1"}, readings=[{"scratch": {"depth": D("0.1"), "covered": D("0.25")}}]
    )
    answer = told(shop, body)
    assert answer["figures"]["passes"] == {"least_depth": D("0.02"), "greatest_depth": D("0.4"), "given": "lathe"}
    assert answer["figures"]["lathe"] == {"name": "bench_1", "revision": 1, "kind": "bench"}
    assert answer["readings"]["each"][0]["passes"]["least"] == 2
    body["passes"] = {"least_depth": D("0.05"), "greatest_depth": D("0.1")}
    assert told(shop, body)["figures"]["passes"]["given"] == "request"
    body["lathe"] = {"profile": "bench_2"}
    assert codes(sent(shop, body)) == {("/lathe/profile", "lathe_not_found")}


def lengths(unit: str) -> st.SearchStrategy[Decimal]:
    """Indicator readings with few digits or many."""
    return between(D(-1), D(100)) | between(D("-0.1"), D("0.1")) if unit == "mm" else between(D("-0.01"), D("0.01"))


def blocks(kind: Kind, unit: str) -> dict[str, st.SearchStrategy[Any]]:
    """Every block that a check of this kind may have."""
    angle, turned = (
        between(D(0), D("359.9")),
        st.sampled_from([D(0), D(360), D(-3600), FINEST]) | between(D(-9), D(360)),
    )
    traces = st.lists(lengths(unit), min_size=3, max_size=9)
    fraction = st.sampled_from([FINEST, D(1)]) | between(FINEST, D(1))
    depth = st.sampled_from([FINEST, D(100)]) | between(FINEST, D("0.2"))
    arcs = st.lists(st.fixed_dictionaries({"start": angle, "end": angle}), min_size=1, max_size=2)
    scratch = st.fixed_dictionaries({"depth": depth, "covered": fraction}) | st.fixed_dictionaries(
        {"depth": depth, "arcs": arcs}
    )
    either = st.fixed_dictionaries({"scratch": scratch}, optional={"turned": turned}) | st.fixed_dictionaries(
        {"trace": traces}, optional={"turned": turned}
    )
    spot = st.fixed_dictionaries({"turned": turned, "runout": FORM, "high_spot": angle})
    size = between(D(2), D(150)) if kind.is_rotor else between(D(40), D(800))
    if unit == "in":
        size = between(D("0.1"), D(5)) if kind.is_rotor else between(D(2), D(30))
    found: dict[str, st.SearchStrategy[Any]] = {
        "readings": st.lists(either, min_size=1, max_size=4),
        "hub": st.fixed_dictionaries(
            {"readings": st.lists(spot, min_size=1, max_size=4), "studs": st.integers(1, 60)}, optional={"now": turned}
        ),
    }
    if kind.is_rotor:
        faces = st.integers(3, 6).flatmap(
            lambda count: st.fixed_dictionaries(
                {"outboard": st.lists(lengths(unit), min_size=count, max_size=count)},
                optional={
                    "inboard": st.lists(lengths(unit), min_size=count, max_size=count),
                    "thickness": st.lists(size, min_size=count, max_size=count),
                },
            )
        )
        found |= {"faces": faces, "thickness": st.lists(size, min_size=1, max_size=9)}
        found["groove_depth"] = st.fixed_dictionaries({}, optional={"inboard": FORM, "outboard": FORM})
        found["cut"] = st.fixed_dictionaries({"inboard": FORM, "outboard": FORM})
    else:
        read = {"diameters": st.lists(size, min_size=1, max_size=5), "trace": traces}
        track = st.sampled_from(sorted(read)).flatmap(
            lambda name: st.fixed_dictionaries(
                {"distance": between(D(0), D(100)), name: read[name]}, optional=without(read, name)
            )
        )
        found |= {
            "tracks": st.lists(track, min_size=1, max_size=4),
            "diameter": st.lists(size, min_size=1, max_size=9),
            "setup_runout": FORM,
            "groove_depth": FORM,
            "cut": st.fixed_dictionaries({"depth": FORM}),
        }
    return found


def without(fields: dict[str, Any], taken: str) -> dict[str, Any]:
    """The fields but one."""
    return {name: value for name, value in fields.items() if name != taken}


def checks(kind: Kind, unit: str) -> st.SearchStrategy[dict[str, Any]]:
    """Well-shaped checks with any of their fields."""
    fine = st.sampled_from([D(0), FINEST]) | between(D(0), D(1))
    pass_depth = st.sampled_from([FINEST, D(100)]) | between(FINEST, D(1))
    optional = blocks(kind, unit) | {
        "instrument": st.fixed_dictionaries({}, optional={"resolution": between(FINEST, D(1)), "repeatability": FORM}),
        "angle_uncertainty": fine | st.just(D(90)),
        "covered_uncertainty": fine,
        "mount_limit": FORM,
        "lathe": st.sampled_from(list(LatheKind)),
        "marking": between(D(2), D(5)) if kind.is_rotor and unit == "in" else between(D(40), D(150)),
        "policy": st.sampled_from(["default", "careful_bench", "fleet_reserve"]),
        "passes": st.fixed_dictionaries({"least_depth": pass_depth, "greatest_depth": st.just(D(100))}),
    }
    about = {"unit": st.just(unit), "kind": st.just(kind)}
    return st.one_of(
        *(
            st.fixed_dictionaries(about | {block: optional[block]}, optional=without(optional, block))
            for block in ("readings", "readings", "hub", "faces" if kind.is_rotor else "tracks")
        )
    )


CHECKS = st.one_of(*(checks(kind, unit) for kind in Kind for unit in ("mm", "in")))
BEYOND_THE_SHAPE = {"empty_arc", "arcs_overlap", "same_track_twice", "unit_mismatch"}


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(CHECKS)
def test_every_well_shaped_check_is_answered_as_the_contract_says_or_refused_by_name(
    shop: Caller, body: dict[str, Any]
) -> None:
    response = sent(shop, body)
    answer = response.get_json()
    if response.status_code == 200:
        event(f"ready: {answer['ready']}")
        assert faults_of("SetupCheck", answer) == []
        assert answer["summary"].endswith(".")
        return
    found = {code for _, code in codes(response)}
    event(str(found))
    assert found <= BEYOND_THE_SHAPE


THOU = st.integers(-200, 200).map(lambda count: count * D("0.0001"))


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    st.lists(st.lists(THOU, min_size=4, max_size=4), min_size=2, max_size=3),
    st.lists(st.integers(9500, 10500).map(lambda count: count * D("0.0001")), min_size=1, max_size=4),
)
def test_inches_and_millimetres_are_told_the_same(
    shop: Caller, traces: list[list[Decimal]], sizes: list[Decimal]
) -> None:
    def body(unit: str, factor: Decimal) -> dict[str, Any]:
        return {
            "unit": unit,
            "kind": "rotor",
            "instrument": {"resolution": D("0.0001") * factor, "expanded_uncertainty": 0},
            "mount_limit": D("0.001") * factor,
            "passes": {"least_depth": D("0.001") * factor, "greatest_depth": D("0.01") * factor},
            "limits": {"discard_thickness": D("0.9") * factor, "minimum_machining_thickness": D("0.95") * factor},
            "cut": {"inboard": D("0.004") * factor, "outboard": D("0.004") * factor},
            "thickness": [size * factor for size in sizes],
            "readings": [
                {"turned": 90 * place, "trace": [reading * factor for reading in trace]}
                for place, trace in enumerate(traces)
            ],
        }

    inches, millimetres = told(shop, body("in", D(1))), told(shop, body("mm", D("25.4")))
    assert alike(inches, millimetres, "") == []


def alike(inches: object, millimetres: object, place: str) -> list[str]:
    """Where two answers differ by more than the rounding of a length at the seventh decimal of an inch."""
    if place.startswith(("/unit", "/summary", "/cautions")):
        return []
    if isinstance(inches, dict) and isinstance(millimetres, dict):
        return [line for name in inches for line in alike(inches[name], millimetres[name], f"{place}/{name}")]
    if isinstance(inches, list) and isinstance(millimetres, list):
        pairs = enumerate(zip(inches, millimetres, strict=True))
        return [line for index, pair in pairs for line in alike(*pair, f"{place}/{index}")]
    if isinstance(inches, Decimal) and isinstance(millimetres, Decimal):
        same = abs(inches * D("25.4") - millimetres) < D("6E-6")
        return [] if same or inches == millimetres else [f"{place}: {inches} in, {millimetres} mm"]
    return [] if inches == millimetres else [f"{place}: {inches}, {millimetres}"]
