"""The codes of all remarks, each with what it means; refusals and warnings apart."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

REFUSALS: Mapping[str, str] = MappingProxyType(
    {
        "unit_mismatch": "No such part has this size in the unit stated, and many have it in the other one.",
        "impossible_size": "No such part has this size, in whichever unit.",
        "machining_past_discard": "The machining limit lies past the discard limit.",
        "discard_past_nominal": "The discard limit lies on the new side of the nominal size.",
        "machining_past_nominal": "The machining limit lies on the new side of the nominal size.",
        "finer_than_any_gauge": "A limit of form that no workshop gauge could read.",
        "greater_than_any_part": "A limit of form that no part in service could reach.",
        "too_fine": "A length with more digits than are kept: no whole number of 0.1 nm.",
        "same_unit": "`also` is in the unit of the body; it is for the other unit.",
        "twin_differs": "The value in the other unit is another length, beyond half a last printed digit of each.",
        "twin_without_value": "A value stands in `also` only.",
        "missing": "A field that is needed is not there; nothing is assumed in its place.",
        "nothing_limited": "The body holds no figure at all.",
        "construction_of_another_kind": "A drum is not built so, or a rotor is not.",
        "out_of_range": "Years or days run backwards.",
        "placeholder": "The text stands in place of a text: nobody could find the document or the vehicle by it.",
        "reason_without_correction": "A reason is given, and nothing is corrected.",
        "overlap": "A live record is for some of the same vehicles on some of the same days; detail names it.",
    }
)
"""An entry with one of these is not taken."""

WARNINGS: Mapping[str, str] = MappingProxyType(
    {
        "unusual_value": "The value is far from what parts of this kind and construction have.",
        "possible_unit_mixup": "The value would be usual in the other unit.",
        "possible_point_slip": "The value would be usual with its point in another place.",
        "unusual_form_ratio": "The limits of runout and thickness variation do not go together.",
        "unusual_allowance": "Unusually little or much may wear away, or is kept in reserve.",
        "no_strength_limit": "There is no discard limit and no machining limit.",
        "machining_without_limit": "Machining is permitted, and there is no machining limit.",
        "limit_without_machining": "Machining is prohibited, and there is a machining limit.",
        "unusual_construction": "The construction says nothing of this kind of part.",
        "unusual_axle": "Such a part seldom sits on this axle.",
        "long_year_range": "The record is for more model years than vehicles are mostly built.",
        "year_long_past": "The first model year is that of a very old vehicle.",
        "year_to_come": "A model year lies far ahead.",
        "before_vehicle": "The limits would hold before the first vehicle was made.",
        "after_document": "The first vehicle is younger than the document.",
        "review_before_start": "The review is due before the limits hold.",
        "far_ahead": "The limits would not hold for more than a year from now.",
        "document_to_come": "The document is issued on a day that is still to come.",
        "far_from_similar": "The value is many times greater or smaller than with similar parts in the store.",
    }
)
"""An entry with one of these is taken once each is answered with a reason."""
