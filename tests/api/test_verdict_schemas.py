"""A request's document becomes exactly the part that it means, or every reason why it cannot."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.api.bodies import DRUM, EXAMPLE, changed, exact
from turnrule.api.faults import MOST_FAULTS, FaultsError
from turnrule.api.verdict_schemas import DRUM_REQUEST, ROTOR_REQUEST, read_request
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Application, AskedCut, EarlierReading, Instrument, ReportedFinding
from turnrule.judging.words import Axle, Face, Kind, LatheKind, Machining, RunoutPlace, Side, Stage, Unit, Zero

D = Decimal


def faults(document: object) -> list[tuple[str, str]]:
    """Pointer and code of every fault of a document."""
    with pytest.raises(FaultsError) as caught:
        read_request(document)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def codes_of_any(document: object) -> set[str]:
    """The codes of a document's faults, none where it is read."""
    try:
        read_request(document)
    except FaultsError as error:
        return {fault.code for fault in error.faults} or {""}
    return set()


def with_field(name: str, value: object) -> list[tuple[str, str]]:
    """The faults of the example with one field changed."""
    return faults(changed(EXAMPLE, **{name: value}))


def test_the_example_is_read_whole() -> None:
    request = read_request(exact(EXAMPLE))
    part = request.part
    assert (request.policy, request.vehicle, request.release, request.caller) == ("default", "unit 114", None, None)
    assert (part.unit, part.kind, part.side, part.stage) == (Unit.MM, Kind.ROTOR, Side.LEFT, Stage.BEFORE_MACHINING)
    assert part.application == Application("Corvane", "Ostrel", 2022, Axle.FRONT, "B16")
    assert part.readings.track == tuple(
        map(D, ["25.02", "25.01", "25.03", "25.04", "25.03", "25.02", "25.01", "25.02"])
    )
    assert part.readings.grooves == {Face.INBOARD: D("0.05"), Face.OUTBOARD: D("0.08")}
    assert part.findings == (ReportedFinding("heat_checking"),)
    assert part.instrument == Instrument(D("0.01"), D("0.004"), None, datetime.date(2027, 3, 1))
    assert part.cut == AskedCut(D("0.1"), D("0.1"), None, Zero.THINNEST_POINT)
    assert part.odometer_km == 61200


def test_inches_become_exact_millimetres_everywhere() -> None:
    document = changed(
        DRUM,
        diameter_inner=[D("9.011")],
        marking=D("9.09"),
        instrument={"resolution": D("0.001"), "repeatability": D("0.0002")},
        findings=[{"finding": "pit", "depth": D("0.01"), "length": D("0.5"), "note": "one"}],
        history=[{"diameter": D(9), "odometer": {"value": D(10), "unit": "mi"}, "date": "2020-02-29"}],
        vehicle={"odometer": {"value": D(20), "unit": "mi"}},
        surface_roughness={"value": D(80), "unit": "uin"},
        lathe="on_vehicle",
        limits={"discard_diameter": D("9.09"), "machining": "prohibited", "expansion_per_k": D("0.00001")},
    )
    request = read_request(document)
    part = request.part
    assert part.readings.track == (D("228.854"), D("228.9048"), D("228.8794"), D("228.854"))
    assert part.readings.inner_track == (D("228.8794"),)
    assert part.readings.setup_runout == D("0.0508")
    assert part.readings.grooves == {Face.DEPTH: D("0.1016")}
    assert part.readings.surface_roughness == D("0.002032")
    assert part.marking == D("230.886")
    assert part.instrument == Instrument(D("0.0254"), None, D("0.00508"))
    assert part.findings == (ReportedFinding("pit", None, D("0.254"), D("12.7"), "one"),)
    assert part.history == (EarlierReading(D("228.6"), D("16.09344"), datetime.date(2020, 2, 29)),)
    assert part.odometer_km == D("32.18688")
    assert part.cut == AskedCut(None, None, D("0.254"), Zero.THINNEST_POINT)
    assert part.lathe is LatheKind.ON_VEHICLE
    assert request.caller == LimitSet(
        Kind.DRUM, discard=D("230.886"), permission=Machining.PROHIBITED, expansion_per_k=D("0.00001")
    )


def test_what_may_be_written_short_may_be_written_long() -> None:
    short = read_request(changed(DRUM, lathe="bench", findings=["pit"])).part
    long = read_request(
        changed(DRUM, groove_depth={"depth": D("0.004")}, lathe={"kind": "bench"}, findings=[{"finding": "pit"}])
    ).part
    assert short == long


def test_the_other_readings_of_a_rotor_are_read() -> None:
    document = changed(
        EXAMPLE,
        lateral_runout_trace=[D("-0.02"), D(0), D("0.03")],
        runout_read_on="lathe",
        thickness_inner=[D(25)],
        part_temperature_c=D("-12.5"),
        stage="after_machining",
        release=D("7.0"),
        reference="job 4",
    )
    request = read_request(document)
    readings = request.part.readings
    assert readings.runout_trace == (D("-0.02"), D(0), D("0.03"))
    assert readings.runout_read_on is RunoutPlace.LATHE
    assert readings.inner_track == (D(25),)
    assert readings.part_temperature_c == D("-12.5")
    assert request.part.stage is Stage.AFTER_MACHINING
    assert (request.release, request.reference) == (7, "job 4")


@pytest.mark.parametrize("name", ["unit", "kind"])
def test_unit_and_kind_are_never_assumed(name: str) -> None:
    assert with_field(name, None) == [(f"/{name}", "missing")]


@pytest.mark.parametrize(
    ("value", "hint"),
    [
        ("12,5", "12.5"),
        ("25.02", "without quotes"),
        ("1_000", "without quotes"),
        ("١٢", "without quotes"),
        (" 12 ", "without quotes"),
        ("1e3", "without quotes"),
        (True, "true is no number"),
        (25.02, "not exact"),
        ([], "no number"),
        ({}, "no number"),
        (D("NaN"), "finite"),
    ],
)
def test_only_a_json_number_is_a_number(value: object, hint: str) -> None:
    for name in ("marking", "lateral_runout", "setup_runout"):
        with pytest.raises(FaultsError, match=hint) as caught:
            read_request(changed(EXAMPLE, **{name: value}))
        assert [(fault.pointer, fault.code) for fault in caught.value.faults] == [(f"/{name}", "invalid_number")]
    assert with_field("thickness", [D(25), value]) == [("/thickness/1", "invalid_number")]


@pytest.mark.parametrize(
    ("name", "bad", "good"),
    [
        ("thickness", [[D(0)], [D(-1)], [D("2000.0001")], [D("-0")], [D("1E-8")]], [[D("1E-7")], [D(2000)]]),
        ("marking", [D(0), D(-1), D(2001), D("-0")], [D(24)]),
        ("lateral_runout", [D(-1), D("100.1"), D("-0"), D("1E-9")], [D(0), D(100)]),
        ("lateral_runout_trace", [[D(0), D(0), D("-100.1")]], [[D("-0"), D(-100), D(100)]]),
        ("part_temperature_c", [D("-40.1"), D("600.1")], [D(-40), D(600), D("-0")]),
        ("release", [D(0), D(-1), D(2**31)], [D(1), D(2**31 - 1)]),
    ],
)
def test_bounds_hold_to_the_digit(name: str, bad: list[object], good: list[object]) -> None:
    for value in bad:
        (pointer, code), *more = with_field(name, value)
        assert pointer.startswith(f"/{name}")
        assert code == "out_of_range"
        assert not more
    for value in good:
        document = changed(EXAMPLE, **{name: value})
        assert codes_of_any(document) <= {"unit_mismatch"}  # within its bounds a size may be of the other unit


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("thickness", [], "too_few"),
        ("thickness", [D(25)] * 1001, "too_many"),
        ("thickness", D(25), "wrong_type"),
        ("lateral_runout_trace", [D(0)] * 2, "too_few"),
        ("lateral_runout_trace", [D(0)] * 3601, "too_many"),
        ("findings", "pit", "wrong_type"),
        ("findings", ["pit"] * 51, "too_many"),
        ("history", {}, "wrong_type"),
        ("application", [], "wrong_type"),
        ("application", "Corvane", "wrong_type"),
        ("side", "Left", "invalid_choice"),
        ("side", D(1), "invalid_choice"),
        ("stage", "after", "invalid_choice"),
        ("lathe", "workbench", "invalid_choice"),
        ("policy", "No Such", "invalid_text"),
        ("policy", "default\n", "invalid_text"),
        ("policy", D(1), "wrong_type"),
        ("reference", "", "too_short"),
        ("reference", "x" * 81, "too_long"),
        ("reference", " x", "invalid_text"),
        ("reference", "a\tb", "invalid_text"),
        ("reference", "ab\n", "invalid_text"),
        ("release", D("1.9"), "invalid_number"),
        ("release", "7", "invalid_number"),
    ],
)
def test_each_slip_has_its_own_code(name: str, value: object, code: str) -> None:
    told = with_field(name, value)
    assert {code for _, code in told} == {code}
    assert {pointer.split("/")[1] for pointer, _ in told} == {name}


@pytest.mark.parametrize(
    "value", ["2026-02-30", "2026-2-3", "2026-02-03T00:00:00Z", "20260203", "٢٠٢٦-01-01", D(20260203)]
)
def test_a_date_is_a_day_of_the_calendar_in_one_form(value: object) -> None:
    told = with_field("instrument", {"calibration_due": value})
    assert told == [("/instrument/calibration_due", "invalid_date")]


def test_nothing_is_said_by_null() -> None:
    for name in ROTOR_REQUEST.fields:
        document = exact(EXAMPLE)
        document[name] = None
        told = faults(document)
        expected = "invalid_choice" if name in {"unit", "kind"} else "wrong_type"
        assert (f"/{name}", "wrong_type") in told or (f"/{name}", expected) in told


def test_an_unknown_field_is_refused_with_the_name_that_may_have_been_meant() -> None:
    with pytest.raises(FaultsError, match="did you mean 'thickness'"):
        read_request(changed(EXAMPLE, thicknes=[D(25)]))
    with pytest.raises(FaultsError, match="did you mean 'expanded_uncertainty'"):
        read_request(changed(EXAMPLE, instrument={"expandeduncertainty": D(1)}))
    assert with_field("zzz", D(1)) == [("/zzz", "unknown_field")]
    assert faults(
        changed(EXAMPLE, application={"make": "a", "model": "b", "year": D(2020), "axle": "rear", "axel": 1})
    ) == [("/application/axel", "unknown_field")]


def test_a_field_of_the_other_kind_of_part_is_told_from_a_misspelt_one() -> None:
    assert with_field("diameter", [D(200)]) == [("/diameter", "field_of_another_kind")]
    assert faults(changed(DRUM, lateral_runout=D(0))) == [("/lateral_runout", "field_of_another_kind")]
    assert faults(changed(DRUM, limits={"discard_thickness": D(1)})) == [
        ("/limits/discard_thickness", "field_of_another_kind")
    ]
    assert set(faults(changed(DRUM, cut={"inboard": D(0)}))) == {
        ("/cut/inboard", "field_of_another_kind"),
        ("/cut/depth", "missing"),
    }


def test_without_a_kind_no_field_is_called_one_of_the_other_kind() -> None:
    assert faults(changed(DRUM, kind=None)) == [("/kind", "missing")]
    assert faults(changed(DRUM, kind="disc")) == [("/kind", "invalid_choice")]
    assert faults(changed(EXAMPLE, kind=D(1), diameter=[D(1)])) == [("/kind", "invalid_choice")]


@pytest.mark.parametrize("document", [None, [], "x", D(1), True])
def test_a_request_is_an_object(document: object) -> None:
    assert faults(document) == [("", "wrong_type")]


def test_all_faults_of_a_request_are_told_at_once() -> None:
    document = changed(
        EXAMPLE,
        unit="cm",
        knd="rotor",
        thickness=[D(25), "12,5", True],
        cut={"inboard": D(-1)},
        findings=["UPPER", {"finding": "pit", "depht": D(1)}, {"depth": D(1)}],
    )
    assert faults(document) == [
        ("/cut/inboard", "out_of_range"),
        ("/cut/outboard", "missing"),
        ("/findings/0", "invalid_text"),
        ("/findings/1/depht", "unknown_field"),
        ("/findings/2/finding", "missing"),
        ("/knd", "unknown_field"),
        ("/thickness/1", "invalid_number"),
        ("/thickness/2", "invalid_number"),
        ("/unit", "invalid_choice"),
    ]


def test_of_very_many_faults_a_hundred_are_told() -> None:
    assert len(faults(changed(EXAMPLE, thickness=[True] * 1000))) == MOST_FAULTS
    assert len(faults({f"field_{index}": D(1) for index in range(20000)})) == MOST_FAULTS


@pytest.mark.parametrize(
    ("document", "pointer"),
    [
        (changed(EXAMPLE, thickness=[D("0.985"), D("25.0")]), "/thickness/0"),
        (changed(EXAMPLE, marking=D("0.945")), "/marking"),
        (changed(EXAMPLE, unit="in", thickness=[D("25.0")], marking=None), "/thickness/0"),
        (changed(DRUM, unit="mm"), "/diameter/0"),
        (changed(DRUM, limits={"discard_diameter": D(230)}), "/limits/discard_diameter"),
    ],
)
def test_a_size_that_fits_only_the_other_unit_is_refused(document: dict[str, Any], pointer: str) -> None:
    told = faults(document)
    assert (pointer, "unit_mismatch") in told
    assert {code for _, code in told} == {"unit_mismatch"}


def test_limits_of_the_caller_that_contradict_each_other_are_refused() -> None:
    limits = {"minimum_machining_thickness": D(23), "discard_thickness": D(24), "nominal_thickness": D(22)}
    assert with_field("limits", limits) == [
        ("/limits/discard_thickness", "discard_past_nominal"),
        ("/limits/minimum_machining_thickness", "machining_past_discard"),
        ("/limits/minimum_machining_thickness", "machining_past_nominal"),
    ]


def test_what_could_be_read_of_a_faulty_request_goes_along() -> None:
    with pytest.raises(FaultsError) as caught:
        read_request(changed(EXAMPLE, marking="24", findings=["no_such"]))
    assert caught.value.partial is not None
    assert caught.value.partial.part.findings == (ReportedFinding("no_such"),)
    with pytest.raises(FaultsError) as caught:
        read_request(changed(EXAMPLE, unit="cm"))
    assert caught.value.partial is None


def test_every_field_says_what_it_is_and_has_bounds() -> None:
    """The contract is written from these objects: a field without bounds would be one without bounds there."""
    for schema in (ROTOR_REQUEST, DRUM_REQUEST):
        for name, field in schema.fields.items():
            assert field.metadata.get("description"), name
            bounded = field.validators or field.metadata.get("enum") or hasattr(field, "shape")
            assert bounded or type(field).__name__ in {"IsoDate", "Truth"}, name


_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.decimals(allow_nan=False, allow_infinity=False, places=3)
    | st.text(max_size=6)
    | st.sampled_from(["mm", "in", "rotor", "drum", "left", "bench", "default", "pit"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from([*ROTOR_REQUEST.fields, *DRUM_REQUEST.fields, "value", "depth", "x"]), inner)
    ),
    max_leaves=12,
)


@given(st.dictionaries(st.sampled_from([*ROTOR_REQUEST.fields, *DRUM_REQUEST.fields, "x"]), _VALUES))
def test_any_document_is_read_or_refused_with_its_faults(document: dict[str, object]) -> None:
    for start in ({}, {"unit": "mm", "kind": "rotor"}, {"unit": "in", "kind": "drum"}):
        assert "" not in codes_of_any(start | document)
