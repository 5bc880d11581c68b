"""Whatever a well-shaped request holds, it is judged or refused by name: at every bound, in both units, any digits."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from tests.api.conftest import Caller, Joining
from turnrule.actions.numbers import write_exact
from turnrule.api.exact_numbers import FINEST
from turnrule.judging.words import Kind, LatheKind, RunoutPlace, Side, Stage, Zero

D = Decimal
Documents = st.SearchStrategy[dict[str, Any]]
SIZES = {
    (True, "mm"): (D(2), D(150)),
    (True, "in"): (D("0.08"), D(6)),
    (False, "mm"): (D(40), D(800)),
    (False, "in"): (D("1.6"), D("31.5")),
}
FINDINGS = ("heat_checking", {"finding": "pitting", "depth": D("0.1")}, {"finding": "pitting"})


def between(least: Decimal, most: Decimal) -> st.SearchStrategy[Decimal]:
    """Numbers with few digits and with almost as many as are read, the bounds among them."""
    plain = st.decimals(least, most, places=2, allow_nan=False, allow_infinity=False)
    long = st.decimals(least, most, places=25, allow_nan=False, allow_infinity=False)
    return (st.sampled_from([least, most]) | plain | long).map(
        lambda value: value if not value or abs(value) >= FINEST else FINEST
    )


FORM = st.sampled_from([D(0), FINEST, D(100)]) | between(D(0), D(1))
DISTANCE = st.fixed_dictionaries({"value": between(D(0), D(10_000_000)), "unit": st.sampled_from(["km", "mi"])})
TODAY = st.just({"odometer": {"value": D(10_000_000), "unit": "mi"}})
DATE = st.dates().map(str)


@st.composite
def caller_limits(draw: st.DrawFn, *, rotor: bool, unit: str) -> dict[str, Any]:
    """Limits that contradict neither each other nor a worn part, some of them left out."""
    least, most = SIZES[rotor, unit]
    worn = sorted(draw(st.tuples(between(least, most), between(least, most))))
    names = ["discard_thickness", "minimum_machining_thickness", "nominal_thickness"]
    if not rotor:
        names = ["nominal_diameter", "maximum_machining_diameter", "discard_diameter"]
    sizes = [*worn, most] if rotor else [least, *worn]
    given_limits: dict[str, Any] = dict(zip(names, sizes, strict=True))
    for name in draw(st.sets(st.sampled_from(names))):
        del given_limits[name]
    return given_limits | draw(
        st.fixed_dictionaries(
            {},
            optional={"maximum_taper": FORM, "expansion_per_k": st.sampled_from([FINEST, D("0.0000105"), D("0.0001")])},
        )
    )


def request_about(kind: Kind, unit: str) -> Documents:
    """Requests about one kind of part in one unit, with any of their fields."""
    rotor = kind.is_rotor
    name = "thickness" if rotor else "diameter"
    size = between(*SIZES[rotor, unit])
    tracks = st.lists(size, min_size=1, max_size=9)
    earlier = st.fixed_dictionaries({name: size, "odometer": DISTANCE}, optional={"date": DATE})
    zero = st.sampled_from(list(Zero))
    gauge = {"resolution": between(FINEST, D(100)), "expanded_uncertainty": FORM, "repeatability": FORM}
    optional: dict[str, st.SearchStrategy[Any]] = {
        f"{name}_inner": tracks,
        "setup_runout": FORM,
        "part_temperature_c": between(D(-40), D(600)),
        "surface_roughness": st.fixed_dictionaries({"value": FORM, "unit": st.sampled_from(["um", "uin"])}),
        "findings": st.lists(st.sampled_from(FINDINGS), max_size=3),
        "instrument": st.fixed_dictionaries({}, optional={**gauge, "calibration_due": DATE}),
        "lathe": st.sampled_from(list(LatheKind)),
        "side": st.sampled_from(list(Side)),
        "stage": st.sampled_from(list(Stage)),
        "policy": st.sampled_from(["default", "careful_bench", "fleet_reserve"]),
        "history": st.lists(earlier, max_size=4),
        "limits": caller_limits(rotor=rotor, unit=unit),
        **(
            {
                "lateral_runout": FORM,
                "lateral_runout_trace": st.lists(between(D(-1), D(100)), min_size=3, max_size=9),
                "runout_read_on": st.sampled_from(list(RunoutPlace)),
                "groove_depth": st.fixed_dictionaries({}, optional={"inboard": FORM, "outboard": FORM}),
                "cut": st.fixed_dictionaries({"inboard": FORM, "outboard": FORM}, optional={"zero": zero}),
            }
            if rotor
            else {
                "groove_depth": FORM,
                "cut": st.fixed_dictionaries({"depth": FORM}, optional={"zero": zero}),
            }
        ),
    }
    needed = {"unit": st.just(unit), "kind": st.just(kind), "vehicle": TODAY, "marking": size, name: tracks}
    return st.fixed_dictionaries(needed, optional=optional)


REQUESTS = st.one_of(*(request_about(kind, unit) for kind in Kind for unit in ("mm", "in")))


@pytest.fixture
def caller(join: Joining) -> Caller:
    """A caller who may ask for verdicts."""
    return join("verdicts")


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(REQUESTS)
def test_every_well_shaped_request_is_judged_or_refused_by_name(caller: Caller, body: dict[str, Any]) -> None:
    response = caller.post("/v1/verdicts", write_exact(body))
    answer = response.get_json()
    if response.status_code == 201:
        event(answer["verdict"])
        assert answer["verdict"] in {"serviceable", "machine", "inconclusive", "replace"}
        return
    assert response.status_code == 422, response.get_data(as_text=True)
    codes = {fault["code"] for fault in answer["errors"]}
    event(str(codes))
    assert codes <= {"finding_of_another_kind", "caller_limits_refused", "unit_mismatch"}
