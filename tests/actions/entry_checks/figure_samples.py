"""For each check of figures: entries that it lets pass, and entries that it does not, with what it says of them."""

from __future__ import annotations

from typing import NamedTuple

from tests.actions.entry_checks.entries import drum, drum_of, rotor, rotor_of
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.words import Construction, Kind, Machining, Unit


class Samples(NamedTuple):
    """Entries that pass one check, and those that do not with pointer, code and whether they are refused."""

    good: tuple[LimitsEntry, ...]
    bad: tuple[tuple[LimitsEntry, str, str, bool], ...]


NOMINAL, MACHINING, DISCARD = "nominal_thickness", "minimum_machining_thickness", "discard_thickness"
RUNOUT, VARIATION = "maximum_lateral_runout", "maximum_thickness_variation"
FORM_ONLY = (NOMINAL, MACHINING, DISCARD)
PRINTED_MM = {"nominal_diameter": "228.6", "maximum_machining_diameter": "230.12", "discard_diameter": "230.89"}
INCHES = {
    "nominal_thickness": "1.024",
    "minimum_machining_thickness": "0.969",
    "discard_thickness": "0.945",
    "maximum_lateral_runout": "0.002",
    "maximum_thickness_variation": "0.0005",
}
PUBLISHED = {"minimum_machining_thickness": "1.230", "discard_thickness": "1.215"}
"""Minimum after refinishing and discard (TM 9-2320-289-34, page 7-2)."""
HEAVY_DRUM = {"nominal_diameter": "16.5", "maximum_machining_diameter": "16.58", "discard_diameter": "16.62"}
REFUSED, WARNED = True, False

FIGURE_SAMPLES: dict[str, Samples] = {
    "stated_unit": Samples(
        (rotor(), drum(), rotor_of(INCHES)),
        (
            (rotor(discard_thickness="0.945"), "/discard_thickness", "unit_mismatch", REFUSED),
            (drum(nominal_diameter="228.6"), "/nominal_diameter", "unit_mismatch", REFUSED),
            (drum_of({"discard_diameter": "9.09"}, Unit.MM), "/discard_diameter", "unit_mismatch", REFUSED),
        ),
    ),
    "usual_range": Samples(
        (
            rotor(more={"construction": Construction.VENTED}),
            rotor(
                nominal_thickness="10.0",
                minimum_machining_thickness="8.6",
                discard_thickness="8.0",
                more={"construction": Construction.SOLID},
            ),
            drum_of(HEAVY_DRUM),
        ),
        (
            (rotor(discard_thickness="240"), "/discard_thickness", "impossible_size", REFUSED),
            (drum(discard_diameter="909.0"), "/discard_diameter", "impossible_size", REFUSED),
            (
                rotor(*FORM_ONLY[1:], nominal_thickness="12.0", more={"construction": Construction.VENTED}),
                "/nominal_thickness",
                "unusual_value",
                WARNED,
            ),
            (
                rotor(*FORM_ONLY[1:], more={"construction": Construction.SOLID}),
                "/nominal_thickness",
                "unusual_value",
                WARNED,
            ),
        ),
    ),
    "other_unit": Samples(
        (rotor(), drum(), rotor_of(INCHES)),
        (
            (rotor(maximum_lateral_runout="0.002"), f"/{RUNOUT}", "possible_unit_mixup", WARNED),
            (
                rotor_of(INCHES | {"maximum_lateral_runout": "0.05"}),
                f"/{RUNOUT}",
                "possible_unit_mixup",
                WARNED,
            ),
            (rotor(maximum_lateral_runout="0.5"), f"/{RUNOUT}", "possible_point_slip", WARNED),
            (
                drum_of(PRINTED_MM | {"maximum_out_of_round": "0.004"}, Unit.MM),
                "/maximum_out_of_round",
                "possible_unit_mixup",
                WARNED,
            ),
            (rotor(*FORM_ONLY[1:], nominal_thickness="2.6"), f"/{NOMINAL}", "possible_point_slip", WARNED),
            (rotor(*FORM_ONLY[1:], nominal_thickness="120"), f"/{NOMINAL}", "possible_point_slip", WARNED),
        ),
    ),
    "gauge_reading": Samples(
        (
            rotor(maximum_thickness_variation="0.005"),
            rotor(maximum_lateral_runout="0.02", maximum_thickness_variation="0.02"),
            rotor(maximum_lateral_runout="0.10", maximum_thickness_variation="0.13"),
        ),
        (
            (rotor(maximum_thickness_variation="0.0005"), f"/{VARIATION}", "finer_than_any_gauge", REFUSED),
            (rotor(maximum_lateral_runout="0"), f"/{RUNOUT}", "finer_than_any_gauge", REFUSED),
            (drum(maximum_out_of_round="0.00004"), "/maximum_out_of_round", "finer_than_any_gauge", REFUSED),
            (rotor(maximum_lateral_runout="5"), f"/{RUNOUT}", "greater_than_any_part", REFUSED),
            (drum(maximum_taper="0.06"), "/maximum_taper", "greater_than_any_part", REFUSED),
            (rotor(maximum_thickness_variation="0.13"), f"/{VARIATION}", "unusual_form_ratio", WARNED),
            (
                rotor(maximum_lateral_runout="0.08", maximum_thickness_variation="0.08"),
                f"/{VARIATION}",
                "unusual_form_ratio",
                WARNED,
            ),
            (
                rotor(maximum_lateral_runout="0.16", maximum_thickness_variation="0.0039"),
                f"/{VARIATION}",
                "unusual_form_ratio",
                WARNED,
            ),
        ),
    ),
    "order": Samples(
        (rotor(), drum(), rotor(minimum_machining_thickness="24.0")),
        (
            (rotor(minimum_machining_thickness="23.9"), f"/{MACHINING}", "machining_past_discard", REFUSED),
            (rotor(MACHINING, nominal_thickness="23.9"), f"/{DISCARD}", "discard_past_nominal", REFUSED),
            (drum(nominal_diameter="9.07"), "/maximum_machining_diameter", "machining_past_nominal", REFUSED),
        ),
    ),
    "wear_allowance": Samples(
        (
            rotor(),
            drum(),
            rotor_of(PUBLISHED),
            rotor(NOMINAL, minimum_machining_thickness="23.0"),
            drum(discard_diameter="8.0"),
        ),
        (
            (rotor(discard_thickness="21.0"), f"/{DISCARD}", "unusual_allowance", WARNED),
            (rotor(nominal_thickness="24.7"), f"/{DISCARD}", "unusual_allowance", WARNED),
            (rotor(NOMINAL, discard_thickness="23.0"), f"/{MACHINING}", "unusual_allowance", WARNED),
            (drum(discard_diameter="9.190"), "/discard_diameter", "unusual_allowance", WARNED),
            (
                drum_of({"nominal_diameter": "9.0", "discard_diameter": "9.09"}, kind=Kind.PARKING_DRUM),
                "/discard_diameter",
                "unusual_allowance",
                WARNED,
            ),
            (
                rotor(DISCARD, minimum_machining_thickness="25.9"),
                f"/{MACHINING}",
                "unusual_allowance",
                WARNED,
            ),
        ),
    ),
    "kept_exactly": Samples(
        (
            rotor(discard_thickness="24.0000001"),
            rotor(discard_thickness="24.00000000000"),
            drum(discard_diameter="9.090001"),
            drum(discard_diameter="9.0900005"),
        ),
        (
            (rotor(discard_thickness="24.00000001"), f"/{DISCARD}", "too_fine", REFUSED),
            (drum(discard_diameter="9.0900001"), "/discard_diameter", "too_fine", REFUSED),
        ),
    ),
    "twin_values": Samples(
        (
            rotor(more={"also": {"nominal_thickness": "1.024", "discard_thickness": "0.945"}}),
            drum(more={"also": PRINTED_MM}),
        ),
        (
            (rotor(more={"also": {"discard_thickness": "0.954"}}), f"/also/{DISCARD}", "twin_differs", REFUSED),
            (rotor(more={"also": {"maximum_taper": "0.002"}}), "/also/maximum_taper", "twin_without_value", REFUSED),
            (rotor(more={"also": {DISCARD: "24"}, "also_unit": Unit.MM}), "/also/unit", "same_unit", REFUSED),
            (rotor(more={"also": {}}), "/also", "missing", REFUSED),
        ),
    ),
    "something_to_judge": Samples(
        (rotor(DISCARD), rotor(MACHINING), rotor(NOMINAL, RUNOUT, VARIATION)),
        (
            (rotor(*FORM_ONLY), f"/{DISCARD}", "no_strength_limit", WARNED),
            (rotor(MACHINING, DISCARD), f"/{DISCARD}", "no_strength_limit", WARNED),
            (rotor(*FORM_ONLY, RUNOUT, VARIATION), "", "nothing_limited", REFUSED),
        ),
    ),
    "machining_statement": Samples(
        (
            rotor(more={"permission": Machining.PERMITTED}),
            rotor(MACHINING),
            rotor(MACHINING, more={"permission": Machining.PROHIBITED}),
        ),
        (
            (
                rotor(MACHINING, more={"permission": Machining.PERMITTED}),
                "/machining",
                "machining_without_limit",
                WARNED,
            ),
            (
                rotor(MACHINING, more={"permission": Machining.ON_VEHICLE_ONLY}),
                "/machining",
                "machining_without_limit",
                WARNED,
            ),
            (rotor(more={"permission": Machining.PROHIBITED}), "/machining", "limit_without_machining", WARNED),
        ),
    ),
    "construction": Samples(
        (rotor(more={"construction": Construction.DRILLED}), drum(more={"construction": Construction.CAST})),
        (
            (
                drum(more={"construction": Construction.VENTED}),
                "/construction",
                "construction_of_another_kind",
                REFUSED,
            ),
            (rotor(more={"construction": Construction.CAST}), "/construction", "unusual_construction", WARNED),
            (drum(more={"construction": Construction.SOLID}), "/construction", "unusual_construction", WARNED),
        ),
    ),
}
"""By the name of the check's module."""
