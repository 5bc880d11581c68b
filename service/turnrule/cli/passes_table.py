"""The passes of a verdict, and a lathe's figures, as lines to read in a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from turnrule.actions.numbers import text_of
from turnrule.cli.tables import rows, wrapped

Document = Mapping[str, Any]

_WHY_NONE = MappingProxyType(
    {
        "part_is_replaced": "the part is to be replaced",
        "verdict_is_open": "the verdict is open; settle it first",
        "cut_not_allowed": "the cut is not allowed",
        "limit_is_missing": "a limit that the cut would be held against is missing",
        "lathe_cannot": "this lathe cannot make the cut",
    }
)
_NOTES = MappingProxyType(
    {
        "surface_unknown": "No times and no speed: the request gives no dimensions.",
        "no_speed_in_range": "None of the lathe's speeds keeps the face within what the tool bears.",
        "finish_out_of_reach": "The finish that is wanted is out of reach of the lathe's slowest feed.",
        "wrong_lathe": "The limits ask for a lathe on the vehicle, and this one is not.",
    }
)
_REASONS = MappingProxyType(
    {
        "nothing_to_cut": "there is nothing to cut",
        "below_least_depth": "it is less than the lathe's least depth",
        "cannot_be_split": "it cannot be split into passes within the lathe's depths",
        "lathe_too_coarse": "the part bears no pass as deep as the lathe's least",
        "too_many_passes": "it would take too many passes",
    }
)


def passes_lines(document: Document) -> Iterator[str]:
    """The passes of a verdict, or why there are none; nothing where no lathe was named by its profile."""
    cut, lathe = document["cut"], document["lathe"]
    if cut is None or cut["plan"] is None:
        return
    plan, unit = cut["plan"], document["unit"]
    on = f"{lathe['name']}, revision {lathe['revision']}"
    if plan["none_because"] is not None:
        yield from wrapped(f"No passes on {on}: {_WHY_NONE[plan['none_because']]}.")
        for one in plan["refusals"]:
            yield from wrapped(f"  {_refusal(one, unit)}")
    else:
        least = ", for the least cut that cleans up" if plan["planned_for"] == "least_cleaning" else ""
        yield from wrapped(f"Passes on {on}{least}; lengths in {unit}, feed a turn:")
        yield from rows(_columns(cut), [_row(one) for one in cut["passes"]])
        yield from wrapped(_summing_up(plan))
        for note in plan["notes"]:
            yield from wrapped(_NOTES[note])
    yield ""


def _columns(cut: Document) -> tuple[str, ...]:
    faces = [face for face in ("inboard", "outboard", "depth") if any(face in one["depths"] for one in cut["passes"])]
    return ("pass", "work", *faces, *(f"reached_{face}" for face in faces), "feed", "minutes")


def _row(one: Document) -> Document:
    reached = {f"reached_{face}": plain(value) for face, value in one["reached"].items()}
    depths = {face: plain(value) for face, value in one["depths"].items()}
    told = {"feed": plain(one["feed"]), "minutes": plain(one["minutes"])}
    return {"pass": one["number"], "work": one["work"], **depths, **reached, **told}


def _summing_up(plan: Document) -> str:
    surface, finish = plan["surface_speed"], plan["finish"]
    told = []
    if surface is not None:
        told.append(f"{plain(plan['speed'])} turns a minute, {_short(surface['value'])} {surface['unit']}")
        told.append(f"{_short(plan['minutes'])} minutes of cutting")
    rough = finish["mean_roughness"]
    reached = {None: "", True: ", as wanted", False: ", not as wanted"}[finish["reached"]]
    told.append(f"Ra {_short(rough['value'])} {rough['unit']} in theory{reached}")
    return "; ".join(told) + "."


def _refusal(one: Document, unit: str) -> str:
    near = [f"{name} {plain(one[field])} {unit}" for name, field in _NEAR if one[field] is not None]
    tail = f"; it can make {' or '.join(near)}" if near else ""
    return f"{one['face']}: {_REASONS[one['reason']]}{tail}."


_NEAR = (("less,", "less"), ("more,", "more"))


def heat_lines(document: Document) -> Iterator[str]:
    """What the cut means for heat; nothing where that is not known."""
    heat = document["heat"]
    if heat is None:
        return
    percent = _short(Decimal(str(heat["relative_rise"])) * 100)
    most = " at most" if heat["overestimated"] else ""
    yield from wrapped(
        f"Heat, for information only: {_short(heat['mass_before_kg'])} kg before and "
        f"{_short(heat['mass_after_kg'])} kg after the cut; the same stop heats it {percent} % more{most}."
    )
    yield ""


def lathe_table(name: str, document: Document) -> str:
    """A lathe's figures as they were written, a line each."""
    lines = [name]
    for field, value in document.items():
        lines += wrapped(f"  {field.replace('_', ' ')}: {_figure(value)}")
    return "\n".join(lines) + "\n"


def _figure(value: object) -> str:
    if isinstance(value, Mapping):
        unit = f" {value['unit']}" if "unit" in value else ""
        return f"{plain(value['least'])} to {plain(value['greatest'])}{unit}"
    if isinstance(value, list | tuple):
        return ", ".join(map(plain, value))
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else plain(value)


def plain(value: object) -> str:
    """A number without an exponent, and anything else as it is."""
    if value is None:
        return "-"
    return text_of(Decimal(str(value))) if isinstance(value, int | float | Decimal) else str(value)


def _short(value: object) -> str:
    return text_of(round(Decimal(str(value)), 2))
