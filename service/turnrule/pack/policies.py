"""Policy documents into policies: inherited, complete, and never looser than their parent.

A document holds the fields of a policy that differ from its parent's, in `unit` mm or in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lengths import to_mm
from turnrule.judging.policy import Policy
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule, Reading, Unit
from turnrule.pack.tightening import CHOICES, GREATER, INSTRUMENT, LISTED, SMALLER, TRUTHS, loosenings

KM_PER_MILE = Decimal("1.609344")
"""One mile, exactly (NIST SP 811, appendix B)."""

_ABOUT = frozenset({"name", "revision", "inherits", "inherits_revision", "why", "unit"})
FIELDS = frozenset(
    {
        *GREATER,
        *SMALLER,
        *CHOICES,
        *TRUTHS,
        *LISTED,
        "instrument",
        "minimum_points",
        "remaining_distance",
        "findings",
    }
)
"""The fields that a policy sets; beside them a document says its name, what it inherits, its unit and why."""


class PolicyError(Exception):
    """A policy document cannot be used; `faults` says why, all at once."""

    code = "invalid_policy"

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("; ".join(f"{fault.pointer}: {fault.detail}" for fault in faults))
        self.faults = faults


@dataclass(slots=True)
class _Reading:
    """A document while it is read: its unit and the faults so far."""

    document: Mapping[str, object]
    unit: Unit
    faults: list[Fault]

    def refuse(self, field: str, code: str, detail: str) -> None:
        self.faults.append(Fault(f"/{field}", code, detail))

    def length(self, field: str, value: object) -> Decimal | None:
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            self.refuse(field, "wrong_type", f"give a number in {self.unit.value}")
            return None
        exact = Decimal(value)
        if not exact.is_finite() or exact < 0:
            self.refuse(field, "out_of_range", f"{value} is not a length of 0 or more")
            return None
        return to_mm(exact, self.unit)


def policy_from_document(document: Mapping[str, object], parents: Callable[[str], Policy]) -> Policy:
    """The policy that a document describes, with everything that it inherits filled in.

    `parents` gives the policy of a name. A document that inherits nothing is a root: it starts from the default's
    values and chooses freely among them, for none of them loosens a limit of the reference. Raises `PolicyError`
    with every field that is unknown, unreadable, or looser than the parent's, naming both values.
    """
    reading = _Reading(document, _unit(document), [])
    inherits = document.get("inherits")
    if inherits is not None and not isinstance(inherits, str):
        reading.refuse("inherits", "wrong_type", "give the name of the policy that it tightens")
    parent = parents(inherits) if isinstance(inherits, str) else Policy()
    policy = _filled(reading, parent)
    if not reading.faults and isinstance(inherits, str):
        reading.faults += loosenings(parent, policy)
    if reading.faults:
        raise PolicyError(tuple(reading.faults))
    return policy


def varied(document: Mapping[str, object], policy: Policy) -> Policy:
    """A policy with the fields of a document in place of its own, looser or stricter; what is listed is added.

    Raises `PolicyError` with every field that is unknown or unreadable.
    """
    reading = _Reading(document, _unit(document), [])
    changed = _filled(reading, policy)
    if reading.faults:
        raise PolicyError(tuple(reading.faults))
    return changed


def _unit(document: Mapping[str, object]) -> Unit:
    try:
        return Unit(str(document.get("unit")))
    except ValueError:
        fault = Fault("/unit", "missing", "say in which unit the lengths are: mm or in")
        raise PolicyError((fault,)) from None


def _filled(reading: _Reading, parent: Policy) -> Policy:
    document = reading.document
    for field in sorted(document.keys() - FIELDS - _ABOUT):
        reading.refuse(field, "unknown_field", f"a policy has no field {field!r}")
    changes: dict[str, object] = {}
    for field in (*GREATER, *SMALLER):
        if field in document and (value := reading.length(field, document[field])) is not None:
            changes[field] = value
    for field, words in CHOICES.items():
        if field in document:
            changes |= _choice(reading, field, words)
    for field in TRUTHS:
        if field in document:
            changes |= _truth(reading, field)
    changes |= _instrument(reading, parent)
    changes |= _whole(reading, "minimum_points")
    changes |= _remaining_distance(reading)
    changes |= _listed(reading, parent)
    name = document.get("name")
    changes["name"] = name if isinstance(name, str) else parent.name
    changes["revision"] = 1
    changes |= _whole(reading, "revision")
    return replace(parent, **changes)  # type: ignore[arg-type]  # each value was read for its field


def _choice(reading: _Reading, field: str, words: type[DecisionRule | PairRule | Overdue]) -> dict[str, object]:
    value = reading.document[field]
    if value not in list(words):
        reading.refuse(field, "invalid_choice", f"{value!r} is none of {', '.join(words)}")
        return {}
    return {field: words(str(value))}


def _truth(reading: _Reading, field: str) -> dict[str, object]:
    value = reading.document[field]
    if not isinstance(value, bool):
        reading.refuse(field, "wrong_type", "give true or false")
        return {}
    return {field: value}


def _instrument(reading: _Reading, parent: Policy) -> dict[str, object]:
    if "instrument" not in reading.document:
        return {}
    given = reading.document["instrument"]
    if not isinstance(given, Mapping):
        reading.refuse("instrument", "wrong_type", f"give an object of {', '.join(INSTRUMENT)}")
        return {}
    for field in sorted(given.keys() - set(INSTRUMENT)):
        reading.refuse(f"instrument/{field}", "unknown_field", f"an instrument has {', '.join(INSTRUMENT)}")
    changes = {}
    for field in INSTRUMENT:
        if field in given and (value := reading.length(f"instrument/{field}", given[field])) is not None:
            changes[field] = value
    return {"instrument": replace(parent.instrument, **changes)}


def _whole(reading: _Reading, field: str) -> dict[str, object]:
    if field not in reading.document:
        return {}
    value = reading.document[field]
    if isinstance(value, bool) or not isinstance(value, int | Decimal) or value < 1 or value != int(value):
        reading.refuse(field, "out_of_range", "give a whole number of 1 or more")
        return {}
    return {field: int(value)}


def _remaining_distance(reading: _Reading) -> dict[str, object]:
    if "remaining_distance" not in reading.document:
        return {}
    given = reading.document["remaining_distance"]
    value = given.get("value") if isinstance(given, Mapping) else None
    unit = given.get("unit") if isinstance(given, Mapping) else None
    number = isinstance(value, int | Decimal) and not isinstance(value, bool)
    if not number or unit not in {"km", "mi"} or Decimal(value) < 0:  # type: ignore[arg-type]  # number says so
        reading.refuse("remaining_distance", "wrong_type", 'give {"value": 0 or more, "unit": "km" or "mi"}')
        return {}
    exact = Decimal(value)  # type: ignore[arg-type]  # number says so
    return {"remaining_distance_km": exact * KM_PER_MILE if unit == "mi" else exact}


def _listed(reading: _Reading, parent: Policy) -> dict[str, object]:
    changes: dict[str, object] = {}
    document = reading.document
    if "require" in document:
        names = _texts(reading, "require", set(Reading))
        changes["require"] = parent.require | {Reading(name) for name in names}
    if "regulations" in document:
        changes["regulations"] = tuple(dict.fromkeys([*parent.regulations, *_texts(reading, "regulations", None)]))
    if "jurisdictions" in document:
        places = _texts(reading, "jurisdictions", None)
        changes["jurisdictions"] = tuple(dict.fromkeys([*parent.jurisdictions, *places]))
    if "findings" in document:
        given = document["findings"]
        if not isinstance(given, Mapping) or not all(effect in list(Effect) for effect in given.values()):
            reading.refuse("findings", "wrong_type", f"give finding codes with one of {', '.join(Effect)}")
        else:
            changes["findings"] = parent.findings | {code: Effect(str(effect)) for code, effect in given.items()}
    return changes


def _texts(reading: _Reading, field: str, allowed: set[Reading] | None) -> list[str]:
    given = reading.document[field]
    if not isinstance(given, list) or not all(isinstance(entry, str) for entry in given):
        reading.refuse(field, "wrong_type", "give a list of text")
        return []
    wrong = [entry for entry in given if allowed is not None and entry not in allowed]
    if wrong:
        words = ", ".join(sorted(Reading))
        reading.refuse(field, "invalid_choice", f"{wrong[0]!r} is none of {words}")
        return []
    return given
