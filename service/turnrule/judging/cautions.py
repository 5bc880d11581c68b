"""Cautions: every code that the engine raises, the parameters that its text may use, and the text filled in."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from types import MappingProxyType

from turnrule.judging.catalogue import Catalogue
from turnrule.judging.lengths import from_mm, on_grid, plain
from turnrule.judging.verdict import Caution
from turnrule.judging.words import Level, Unit

PARAMETERS = MappingProxyType(
    {
        "calibration_overdue": ("date",),
        "coated_part": (),
        "composite_part": (),
        "cut_leaves_uncut": ("cut",),
        "cut_made_disagrees": ("value", "cut"),
        "discard_limit_missing": (),
        "do_not_machine": ("source",),
        "drilled_or_slotted_part": (),
        "dust_hazard": (),
        "entered_by_one_person": (),
        "eye_protection": (),
        "few_points": ("points", "limit"),
        "finding_needs_depth": ("text",),
        "finding_noted": ("text",),
        "finish_after_machining": (),
        "first_contact_without_trace": (),
        "follow_service_data": (),
        "heat_rises_with_cut": (),
        "history_suspect": (),
        "limit_derived": ("limit",),
        "limits_from_caller": (),
        "limits_review_due": ("date",),
        "limits_withdrawn": ("text",),
        "machining_limit_missing": (),
        "machining_not_stated": (),
        "marking_disagrees": ("value", "limit"),
        "marking_only": (),
        "near_limit": ("check", "value", "limit"),
        "not_measured": ("list",),
        "on_vehicle_lathe_only": (),
        "part_grew": ("value",),
        "part_not_at_reference_temperature": ("value",),
        "prices_from_caller": (),
        "regulation_applies": ("text", "source"),
        "regulation_needs_nominal": ("text",),
        "remaining_distance_unknown": (),
        "rotating_part": (),
        "runout_may_include_hub": (),
        "setup_runout_unknown": (),
        "smaller_cut_possible": ("cut",),
        "vehicle_support": (),
        "wheel_fastening": (),
        "within_uncertainty": ("check", "value", "limit"),
    }
)
"""Code to the names of the parameters that its text may hold in braces; each comes as text, with its unit."""

_LOUDEST_FIRST = (Level.DANGER, Level.WARNING, Level.NOTICE)
_SHOWN = MappingProxyType({Unit.MM: Decimal("0.0001"), Unit.IN: Decimal("0.00001")})


def shown(length: Decimal, unit: Unit) -> str:
    """A length for people: in the caller's unit, to 0.1 micrometre or a hundred-thousandth of an inch."""
    rounded = on_grid(from_mm(length, unit), ROUND_HALF_EVEN, _SHOWN[unit])
    return f"{plain(rounded):f} {unit.value}"


@dataclass(slots=True)
class CautionList:
    """Cautions as they are raised, in the order in which the case calls for them."""

    catalogue: Catalogue
    raised: list[Caution] = field(default_factory=list)

    def add(self, code: str, **parameters: str) -> None:
        """Raise a caution of the catalogue, its text filled in."""
        entry = self.catalogue.cautions[code]
        caution = Caution(code, entry.level, entry.text.format_map(parameters))
        self.raised.append(caution)

    def loudest_first(self) -> tuple[Caution, ...]:
        """All cautions, each once: dangers before warnings before notices, else in the order of raising."""
        return tuple(sorted(dict.fromkeys(self.raised), key=lambda caution: _LOUDEST_FIRST.index(caution.level)))
