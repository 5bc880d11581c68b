"""Policies: read from documents, inherited, tightened and never loosened."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule, Reading
from turnrule.pack import PolicyError, policy_from_document, varied
from turnrule.pack.policies import FIELDS

D = Decimal
PARENT = Policy(
    name="parent",
    decision_rule=DecisionRule.GUARDED,
    instrument=InstrumentDefaults(D("0.01"), D("0.005"), D("0.001")),
    minimum_points=6,
    discard_margin=D("0.1"),
    machining_margin=D("0.1"),
    wear_allowance=D("0.1"),
    accept_caller_limits=False,
    maximum_runout=D("0.05"),
    maximum_thickness_variation=D("0.02"),
    maximum_out_of_round=D("0.1"),
    maximum_taper=D("0.1"),
    total_cut=D("1"),
    face_balance=D("0.2"),
    axle_difference=D("0.3"),
    pair_rule=PairRule.MACHINE_BOTH,
    remaining_distance_km=D(10_000),
    require=frozenset({Reading.MARKING}),
    findings={"pit": Effect.MACHINE},
    regulations=("a_law",),
    jurisdictions=("a_place",),
    limits_review_due=Overdue.INCONCLUSIVE,
    calibration_overdue=Overdue.INCONCLUSIVE,
)


def _child(**fields: object) -> Policy:
    document = {"name": "child", "revision": D(3), "inherits": "parent", "unit": "mm", **fields}
    return policy_from_document(document, lambda _: PARENT)


def test_a_child_is_its_parent_but_for_what_it_says() -> None:
    child = _child(discard_margin=D("0.2"))
    assert (child.name, child.revision, child.discard_margin) == ("child", 3, D("0.2"))
    assert (child.wear_allowance, child.instrument) == (PARENT.wear_allowance, PARENT.instrument)


def test_lengths_in_inches_are_exact_millimetres_and_miles_exact_kilometres() -> None:
    child = _child(unit="in", discard_margin=D("0.015"), remaining_distance={"value": D(10_000), "unit": "mi"})
    assert child.discard_margin == D("0.381")
    assert child.remaining_distance_km == D("16093.44")


def test_what_is_listed_is_added_to_what_is_inherited() -> None:
    child = _child(require=["thickness"], regulations=["another", "a_law"], findings={"crack": "replace"})
    assert _child(jurisdictions=["b", "a_place"]).jurisdictions == ("a_place", "b")
    assert child.require == {Reading.MARKING, Reading.THICKNESS}
    assert child.regulations == ("a_law", "another")
    assert child.findings == {"pit": Effect.MACHINE, "crack": Effect.REPLACE}


LOOSER = {
    "decision_rule": "simple",
    "minimum_points": D(5),
    "discard_margin": D("0.09"),
    "machining_margin": D("0.09"),
    "wear_allowance": D("0.09"),
    "minimum_cut": D("0.04"),
    "derive_machining_limit": True,
    "accept_caller_limits": True,
    "maximum_runout": D("0.06"),
    "maximum_thickness_variation": D("0.03"),
    "maximum_out_of_round": D("0.2"),
    "maximum_taper": D("0.2"),
    "groove_limit": D("0.39"),
    "total_cut": D("2"),
    "face_balance": D("0.3"),
    "axle_difference": D("0.4"),
    "pair_rule": "advise",
    "remaining_distance": {"value": D(9_999), "unit": "km"},
    "limits_review_due": "caution",
    "calibration_overdue": "caution",
}


def _inherited(field: str) -> object:
    return getattr(PARENT, "remaining_distance_km" if field == "remaining_distance" else field)


def _told(value: object) -> str:
    return re.escape(str(value).lower() if isinstance(value, bool) else str(value))


def test_a_looser_length_in_inches_is_told_in_millimetres_beside_the_parents() -> None:
    with pytest.raises(PolicyError, match=r"2\.54 mm is looser than the 1 mm that it inherits"):
        _child(unit="in", total_cut=D("0.1"))


@pytest.mark.parametrize("field", sorted(LOOSER))
def test_a_looser_value_is_refused_with_both_values(field: str) -> None:
    with pytest.raises(PolicyError) as raised:
        _child(**{field: LOOSER[field]})
    [fault] = raised.value.faults
    assert (fault.pointer, fault.code) == (f"/{field}", "policy_loosens")
    value = LOOSER[field]
    wrong, inherited = _told(value["value"] if isinstance(value, dict) else value), _told(_inherited(field))
    assert re.search(rf"^{wrong}( mm| km)? is looser than the {inherited}( mm| km)? that it inherits", fault.detail)


@pytest.mark.parametrize("field", ["resolution", "expanded_uncertainty", "repeatability"])
def test_a_finer_gauge_than_the_parents_is_refused(field: str) -> None:
    with pytest.raises(PolicyError) as raised:
        _child(instrument={field: D("0.0001")})
    assert raised.value.faults[0].pointer == f"/instrument/{field}"


def test_every_field_is_tried_with_a_looser_value_or_only_ever_adds() -> None:
    adding = {"require", "regulations", "jurisdictions"}
    assert {*LOOSER, *adding, "instrument", "findings"} == FIELDS
    for field in adding:
        child = _child(**{field: []})
        assert set(getattr(child, field)) == set(getattr(PARENT, field))


def test_a_finding_is_not_lowered() -> None:
    with pytest.raises(PolicyError) as raised:
        _child(findings={"pit": "caution"})
    assert raised.value.faults[0].pointer == "/findings/pit"


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("unit", "cm", "missing"),
        ("no_such_field", D(1), "unknown_field"),
        ("discard_margin", "0.1", "wrong_type"),
        ("discard_margin", True, "wrong_type"),
        ("discard_margin", D("-0.1"), "out_of_range"),
        ("discard_margin", D("NaN"), "out_of_range"),
        ("decision_rule", "strict", "invalid_choice"),
        ("accept_caller_limits", "no", "wrong_type"),
        ("minimum_points", D("4.5"), "out_of_range"),
        ("minimum_points", D(0), "out_of_range"),
        ("minimum_points", True, "out_of_range"),
        ("minimum_points", None, "out_of_range"),
        ("revision", D("1.5"), "out_of_range"),
        ("inherits", ["parent"], "wrong_type"),
        ("total_cut", None, "wrong_type"),
        ("instrument", None, "wrong_type"),
        ("remaining_distance", None, "wrong_type"),
        ("instrument", D(1), "wrong_type"),
        ("instrument", {"brand": "x"}, "unknown_field"),
        ("remaining_distance", D(1), "wrong_type"),
        ("remaining_distance", {"value": D(1), "unit": "m"}, "wrong_type"),
        ("remaining_distance", {"value": True, "unit": "km"}, "wrong_type"),
        ("require", ["weight"], "invalid_choice"),
        ("require", "thickness", "wrong_type"),
        ("regulations", [D(1)], "wrong_type"),
        ("jurisdictions", "a_place", "wrong_type"),
        ("findings", {"pit": "destroy"}, "wrong_type"),
        ("findings", ["pit"], "wrong_type"),
    ],
)
def test_what_cannot_be_read_is_refused_by_field(field: str, value: object, code: str) -> None:
    with pytest.raises(PolicyError) as raised:
        _child(**{field: value})
    assert raised.value.faults[0].code == code
    assert raised.value.faults[0].pointer.startswith(f"/{field}")
    assert len(raised.value.faults[0].detail) > 15


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(PolicyError) as raised:
        _child(minimum_points=D(0), pair_rule="never", total_cut="much")
    assert len(raised.value.faults) == 3


def test_a_policy_that_inherits_nothing_chooses_freely() -> None:
    document = {"name": "root", "unit": "mm", "decision_rule": "simple", "derive_machining_limit": True}
    root = policy_from_document(document, pytest.fail)
    assert (root.decision_rule, root.derive_machining_limit) == (DecisionRule.SIMPLE, True)
    assert root.minimum_cut == Policy().minimum_cut


def test_a_varied_policy_may_go_either_way_and_keeps_all_else() -> None:
    looser = varied({"unit": "in", "total_cut": D("0.1"), "instrument": {"resolution": D("0.001")}}, PARENT)
    assert (looser.total_cut, looser.instrument.resolution) == (D("2.54"), D("0.0254"))
    assert looser.instrument.repeatability == PARENT.instrument.repeatability
    with pytest.raises(PolicyError, match="no field 'total'"):
        varied({"unit": "mm", "total": D(1)}, PARENT)
