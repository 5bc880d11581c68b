"""A limits body becomes exact limits with every value kept as printed, or every reason why it cannot."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, changed, exact
from turnrule.actions.requests import Corrects, WarningAnswer
from turnrule.api.faults import FaultsError
from turnrule.api.limits_schemas import read_figures, read_limits
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.limit_records import FitsTo, Source, Twin

D = Decimal


def faults(document: object) -> list[tuple[str, str]]:
    """Pointer and code of every fault of a limits body."""
    with pytest.raises(FaultsError) as caught:
        read_limits(document)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def faults_of_any(document: object) -> list[tuple[str, str]]:
    """Pointer and code of every fault, none where the body is read."""
    try:
        read_limits(document)
    except FaultsError as error:
        return [(fault.pointer, fault.code) for fault in error.faults] or [("", "")]
    return []


def test_a_rotors_limits_are_read_whole() -> None:
    entry = read_limits(exact(EXAMPLE_LIMITS))
    assert entry.figures.limits == LimitSet(
        Kind.ROTOR,
        nominal=D(26),
        machining=D("24.6"),
        discard=D(24),
        maximum_lateral_runout=D("0.05"),
        maximum_thickness_variation=D("0.013"),
        permission=Machining.PERMITTED,
        construction=Construction.VENTED,
    )
    assert entry.figures.printed == {
        "nominal_thickness": "26.0",
        "minimum_machining_thickness": "24.6",
        "discard_thickness": "24.0",
        "maximum_lateral_runout": "0.05",
        "maximum_thickness_variation": "0.013",
    }
    assert entry.fits == FitsTo("Corvane", "Ostrel", 2021, 2024, Axle.FRONT, "B16")
    assert entry.source == Source(
        "Ostrel workshop manual", "Corvane", "6.2, table 3", "2023-04", datetime.date(2023, 4, 1)
    )
    assert (entry.effective_from, entry.effective_to) == (datetime.date(2021, 1, 1), None)


def test_a_drums_limits_in_inches_are_exact_millimetres() -> None:
    entry = read_limits(changed(DRUM_LIMITS, maximum_taper=D("0.0070"), expansion_per_k=D("0.000011")))
    assert entry.figures.printed_unit is Unit.IN
    assert entry.figures.printed["maximum_taper"] == "0.0070"
    assert entry.figures.limits == LimitSet(
        Kind.DRUM,
        nominal=D("228.6"),
        machining=D("230.124"),
        discard=D("230.886"),
        maximum_out_of_round=D("0.1016"),
        maximum_taper=D("0.1778"),
        permission=Machining.PERMITTED,
        expansion_per_k=D("0.000011"),
    )
    assert entry.fits.year_to is None


def test_what_the_document_does_not_give_is_not_guessed() -> None:
    bare = changed(EXAMPLE_LIMITS, machining=None, construction=None, minimum_machining_thickness=None)
    limits = read_limits(bare).figures.limits
    assert (limits.machining, limits.permission, limits.construction) == (None, Machining.NOT_STATED, None)


def test_figures_alone_need_no_vehicle_and_no_source() -> None:
    document = changed(EXAMPLE_LIMITS, application=None, source=None, effective_from=None, review_due="2026-01-31")
    figures = read_figures(document)
    assert figures.limits == read_limits(exact(EXAMPLE_LIMITS)).figures.limits
    assert figures.review_due == datetime.date(2026, 1, 31)
    assert faults(document) == [("/application", "missing"), ("/effective_from", "missing"), ("/source", "missing")]


@pytest.mark.parametrize("name", ["unit", "kind"])
def test_figures_alone_still_need_their_unit_and_kind(name: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_figures(changed(EXAMPLE_LIMITS, **{name: None}))
    assert (f"/{name}", "missing") in [(fault.pointer, fault.code) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"minimum_machining_thickness": D("23.99")}, [("/minimum_machining_thickness", "machining_past_discard")]),
        ({"minimum_machining_thickness": D("24.0")}, []),
        ({"discard_thickness": D("24.61")}, [("/minimum_machining_thickness", "machining_past_discard")]),
        ({"nominal_thickness": D("24.59")}, [("/minimum_machining_thickness", "machining_past_nominal")]),
        ({"nominal_thickness": D("24.6")}, []),
        (
            {"nominal_thickness": D("23.9"), "minimum_machining_thickness": None},
            [("/discard_thickness", "discard_past_nominal")],
        ),
    ],
)
def test_a_rotors_limits_that_contradict_each_other_are_refused(
    changes: dict[str, object], expected: list[tuple[str, str]]
) -> None:
    document = changed(EXAMPLE_LIMITS, **changes)
    assert faults_of_any(document) == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"maximum_machining_diameter": D("9.091")}, [("/maximum_machining_diameter", "machining_past_discard")]),
        ({"maximum_machining_diameter": D("9.09")}, []),
        ({"nominal_diameter": D("9.061")}, [("/maximum_machining_diameter", "machining_past_nominal")]),
        (
            {"nominal_diameter": D("9.1"), "maximum_machining_diameter": None},
            [("/discard_diameter", "discard_past_nominal")],
        ),
    ],
)
def test_a_drums_limits_that_contradict_each_other_are_refused(
    changes: dict[str, object], expected: list[tuple[str, str]]
) -> None:
    document = changed(DRUM_LIMITS, **changes)
    assert faults_of_any(document) == expected


@pytest.mark.parametrize(
    ("document", "pointers"),
    [
        (
            changed(EXAMPLE_LIMITS, unit="in"),
            {"/nominal_thickness", "/minimum_machining_thickness", "/discard_thickness"},
        ),
        (changed(DRUM_LIMITS, unit="mm"), {"/nominal_diameter", "/maximum_machining_diameter", "/discard_diameter"}),
        (changed(EXAMPLE_LIMITS, discard_thickness=D("0.945")), {"/discard_thickness"}),
    ],
)
def test_a_limit_that_makes_sense_in_the_other_unit_only_is_refused(
    document: dict[str, Any], pointers: set[str]
) -> None:
    told = faults(document)
    assert {pointer for pointer, code in told if code == "unit_mismatch"} == pointers


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"effective_to": "2021-01-01"}, [("/effective_to", "out_of_range")]),
        ({"effective_to": "2021-01-02"}, []),
        ({"application": {"year_to": D(2020)}}, [("/application/year_to", "out_of_range")]),
        ({"application": {"year_to": D(2021)}}, []),
    ],
)
def test_years_and_days_do_not_run_backwards(changes: dict[str, Any], expected: list[tuple[str, str]]) -> None:
    document = exact(EXAMPLE_LIMITS)
    document["application"] |= changes.pop("application", {})
    document |= changes
    assert faults_of_any(document) == expected


def test_fields_of_the_other_kind_and_unknown_ones_are_refused_by_name() -> None:
    document = changed(DRUM_LIMITS, discard_thickness=D(24), maximum_outofround=D(1))
    with pytest.raises(FaultsError, match="did you mean 'maximum_out_of_round'"):
        read_limits(document)
    assert faults(document) == [
        ("/discard_thickness", "field_of_another_kind"),
        ("/maximum_outofround", "unknown_field"),
    ]


@pytest.mark.parametrize("document", [None, [], "x", {"kind": []}, {"kind": {}}])
def test_what_is_no_limits_body_is_refused(document: object) -> None:
    assert faults(document)


ALSO = {"unit": "in", "nominal_thickness": D("1.024"), "discard_thickness": D("0.9450")}
CORRECTS = {"limits_id": "corvane-ostrel-7k2m9x", "revision": D(3)}
REASON = "page 14 of the reissue prints another value"


def test_values_in_the_other_unit_are_kept_as_printed() -> None:
    assert read_limits(changed(EXAMPLE_LIMITS, also=ALSO)).figures.also == Twin(
        Unit.IN, {"nominal_thickness": "1.024", "discard_thickness": "0.9450"}
    )
    assert read_limits(exact(EXAMPLE_LIMITS)).figures.also is None


@pytest.mark.parametrize(
    ("also", "expected"),
    [
        ({"unit": "in", "discard_thickness": D("0.954")}, [("/also/discard_thickness", "twin_differs")]),
        ({"unit": "mm", "discard_thickness": D("24.0")}, [("/also/unit", "same_unit")]),
        ({"unit": "in"}, [("/also", "missing")]),
        ({"discard_thickness": D("0.945")}, [("/also/unit", "missing")]),
        ({"unit": "in", "maximum_taper": D("0.002")}, [("/also/maximum_taper", "twin_without_value")]),
        ({"unit": "in", "discard_diameter": D("0.945")}, [("/also/discard_diameter", "field_of_another_kind")]),
        ({"unit": "in", "construction": "vented"}, [("/also/construction", "unknown_field")]),
        ({"unit": "in", "discard_thickness": "0.945"}, [("/also/discard_thickness", "invalid_number")]),
        ([], [("/also", "wrong_type")]),
    ],
)
def test_values_in_the_other_unit_are_read_as_strictly(also: object, expected: list[tuple[str, str]]) -> None:
    assert faults(changed(EXAMPLE_LIMITS, also=also)) == expected


def test_a_correction_names_the_revision_that_it_replaces_and_why() -> None:
    entry = read_limits(changed(EXAMPLE_LIMITS, corrects=CORRECTS, reason=REASON))
    assert (entry.corrects, entry.reason) == (Corrects("corvane-ostrel-7k2m9x", 3), REASON)
    revision = entry.as_revision("corvane-ostrel-7k2m9x", entered_by="anna", entered_at=None)
    assert (revision.revision, revision.reason, revision.verified_by) == (4, REASON, "")


def test_a_new_record_begins_with_its_first_revision() -> None:
    entry = read_limits(changed(EXAMPLE_LIMITS, also=ALSO))
    revision = entry.as_revision("new-one", entered_by="anna", entered_at=None)
    assert (revision.revision, revision.reason, revision.also) == (1, None, entry.figures.also)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"corrects": CORRECTS}, [("/reason", "missing")]),
        ({"reason": REASON}, [("/reason", "reason_without_correction")]),
        ({"corrects": CORRECTS, "reason": "too short"}, [("/reason", "too_short")]),
        ({"corrects": CORRECTS, "reason": "ten letter"}, []),
        ({"corrects": CORRECTS, "reason": "x" * 500}, []),
        ({"corrects": CORRECTS, "reason": "x" * 501}, [("/reason", "too_long")]),
        ({"corrects": {"limits_id": "x"}, "reason": REASON}, [("/corrects/revision", "missing")]),
        (
            {"corrects": {"limits_id": "Not An Id", "revision": D("1.5")}, "reason": REASON},
            [("/corrects/limits_id", "invalid_text"), ("/corrects/revision", "invalid_number")],
        ),
        ({"limits_id": "chosen-by-hand"}, [("/limits_id", "unknown_field")]),
    ],
)
def test_a_correction_is_read_strictly(changes: dict[str, object], expected: list[tuple[str, str]]) -> None:
    assert faults_of_any(changed(EXAMPLE_LIMITS, **changes)) == expected


def test_answers_to_warnings_are_read_in_their_order() -> None:
    first = {"code": "unusual_allowance", "pointer": "/discard_thickness", "reason": "so printed, and confirmed"}
    second = {"code": "no_strength_limit", "pointer": "", "reason": "the document gives none"}
    document = changed(EXAMPLE_LIMITS, answered_warnings=[first])
    assert read_limits(document).answers == (WarningAnswer(**first),)
    assert faults(changed(EXAMPLE_LIMITS, answered_warnings=[first, second, {"code": "Code", "note": "x"}])) == [
        ("/answered_warnings/1/pointer", "too_short"),
        ("/answered_warnings/2/code", "invalid_text"),
        ("/answered_warnings/2/note", "unknown_field"),
        ("/answered_warnings/2/pointer", "missing"),
        ("/answered_warnings/2/reason", "missing"),
    ]
    assert faults(changed(EXAMPLE_LIMITS, answered_warnings=[first] * 51)) == [("/answered_warnings", "too_many")]


def test_all_that_a_body_is_refused_for_is_told_at_once() -> None:
    document = changed(
        EXAMPLE_LIMITS,
        minimum_machining_thickness=D("23.9"),
        maximum_lateral_runout=D("5"),
        maximum_thickness_variation=D("0.0130000001"),
        effective_to="2020-01-01",
        reason=REASON,
        also={"unit": "in", "nominal_thickness": D("1.042")},
    )
    document["source"]["section"] = "n/a"
    document["application"]["year_to"] = D(2012)
    assert faults(document) == [
        ("/also/nominal_thickness", "twin_differs"),
        ("/application/year_to", "out_of_range"),
        ("/effective_to", "out_of_range"),
        ("/maximum_lateral_runout", "greater_than_any_part"),
        ("/maximum_thickness_variation", "too_fine"),
        ("/minimum_machining_thickness", "machining_past_discard"),
        ("/reason", "reason_without_correction"),
        ("/source/section", "placeholder"),
    ]


@pytest.mark.parametrize(
    ("text", "figure", "expected"),
    [
        (EXAMPLE_LIMITS, D("24.0000001"), []),
        (EXAMPLE_LIMITS, D("24.00000001"), [("/discard_thickness", "too_fine")]),
        (DRUM_LIMITS, D("9.090001"), []),
        (DRUM_LIMITS, D("9.0900005"), []),
        (DRUM_LIMITS, D("9.0900001"), [("/discard_diameter", "too_fine")]),
    ],
)
def test_a_figure_finer_than_is_kept_is_refused_at_its_field(
    text: str, figure: Decimal, expected: list[tuple[str, str]]
) -> None:
    name = "discard_thickness" if text is EXAMPLE_LIMITS else "discard_diameter"
    assert faults_of_any(changed(text, **{name: figure})) == expected
