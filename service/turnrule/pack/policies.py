"""Policy documents into policies: inherited, complete, and never looser than their parent.

A document holds the fields of a policy that differ from its parent's, in `unit` mm or in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lengths import to_mm
from turnrule.judging.policy import Policy
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule, Reading, Unit

KM_PER_MILE = Decimal("1.609344")
"""One mile, exactly (NIST SP 811, appendix B)."""

_ABOUT = frozenset({"name", "revision", "inherits", "inherits_revision", "why", "unit"})
_GREATER = ("discard_margin", "machining_margin", "wear_allowance", "minimum_cut")
_SMALLER = (
    "maximum_runout",
    "maximum_thickness_variation",
    "maximum_out_of_round",
    "maximum_taper",
    "groove_limit",
    "total_cut",
    "face_balance",
    "axle_difference",
)
_CHOICES: dict[str, type[DecisionRule | PairRule | Overdue]] = {
    "decision_rule": DecisionRule,
    "pair_rule": PairRule,
    "limits_review_due": Overdue,
    "calibration_overdue": Overdue,
}
_INSTRUMENT = ("resolution", "expanded_uncertainty", "repeatability")
FIELDS = frozenset(
    {
        *_GREATER,
        *_SMALLER,
        *_CHOICES,
        "instrument",
        "minimum_points",
        "require",
        "derive_machining_limit",
        "accept_caller_limits",
        "remaining_distance",
        "findings",
        "regulations",
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

    `parents` gives the policy of a name. Raises `PolicyError` with every field that is unknown, unreadable, or
    looser than the parent's, naming both values.
    """
    reading = _Reading(document, _unit(document), [])
    inherits = document.get("inherits")
    parent = parents(inherits) if isinstance(inherits, str) else Policy()
    for field in sorted(document.keys() - FIELDS - _ABOUT):
        reading.refuse(field, "unknown_field", f"a policy has no field {field!r}")
    policy = _filled(reading, parent)
    if not reading.faults:
        reading.faults += _loosenings(parent, policy)
    if reading.faults:
        raise PolicyError(tuple(reading.faults))
    return policy


def _unit(document: Mapping[str, object]) -> Unit:
    try:
        return Unit(str(document.get("unit")))
    except ValueError:
        fault = Fault("/unit", "missing", "say in which unit the lengths are: mm or in")
        raise PolicyError((fault,)) from None


def _filled(reading: _Reading, parent: Policy) -> Policy:
    document = reading.document
    changes: dict[str, object] = {}
    for field in (*_GREATER, *_SMALLER):
        if field in document and (value := reading.length(field, document[field])) is not None:
            changes[field] = value
    for field, words in _CHOICES.items():
        if field in document:
            changes |= _choice(reading, field, words)
    for field in ("derive_machining_limit", "accept_caller_limits"):
        if field in document:
            changes |= _truth(reading, field)
    changes |= _instrument(reading, parent)
    changes |= _minimum_points(reading)
    changes |= _remaining_distance(reading)
    changes |= _listed(reading, parent)
    name, revision = document.get("name"), document.get("revision")
    changes["name"] = name if isinstance(name, str) else parent.name
    changes["revision"] = int(revision) if isinstance(revision, int | Decimal) else 1
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
    given = reading.document.get("instrument")
    if given is None:
        return {}
    if not isinstance(given, Mapping):
        reading.refuse("instrument", "wrong_type", f"give an object of {', '.join(_INSTRUMENT)}")
        return {}
    for field in sorted(given.keys() - set(_INSTRUMENT)):
        reading.refuse(f"instrument/{field}", "unknown_field", f"an instrument has {', '.join(_INSTRUMENT)}")
    changes = {}
    for field in _INSTRUMENT:
        if field in given and (value := reading.length(f"instrument/{field}", given[field])) is not None:
            changes[field] = value
    return {"instrument": replace(parent.instrument, **changes)}


def _minimum_points(reading: _Reading) -> dict[str, object]:
    value = reading.document.get("minimum_points")
    if value is None:
        return {}
    if isinstance(value, bool) or not isinstance(value, int | Decimal) or value < 1 or value != int(value):
        reading.refuse("minimum_points", "out_of_range", "give a whole number of 1 or more")
        return {}
    return {"minimum_points": int(value)}


def _remaining_distance(reading: _Reading) -> dict[str, object]:
    given = reading.document.get("remaining_distance")
    if given is None:
        return {}
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


def _loosenings(parent: Policy, child: Policy) -> Iterator[Fault]:
    """Every field in which the child is looser than its parent."""
    yield from _looser_figures(parent, child)
    yield from _looser_words(parent, child)


def _looser_figures(parent: Policy, child: Policy) -> Iterator[Fault]:
    for field in (*_GREATER, "minimum_points"):
        if getattr(child, field) < getattr(parent, field):
            yield _looser(field, getattr(parent, field), getattr(child, field), "greater")
    for field in _SMALLER:
        before, after = getattr(parent, field), getattr(child, field)
        if before is not None and after > before:
            yield _looser(field, before, after, "smaller")
    for field in _INSTRUMENT:
        before, after = getattr(parent.instrument, field), getattr(child.instrument, field)
        if after < before:
            yield _looser(f"instrument/{field}", before, after, "greater")
    before, after = parent.remaining_distance_km, child.remaining_distance_km
    if before is not None and after is not None and after < before:
        yield _looser("remaining_distance", f"{before} km", f"{after} km", "greater")


def _looser_words(parent: Policy, child: Policy) -> Iterator[Fault]:
    for field, words in _CHOICES.items():
        order = list(words)
        if order.index(getattr(child, field)) < order.index(getattr(parent, field)):
            yield _looser(field, getattr(parent, field), getattr(child, field), "later in the list")
    for field in ("derive_machining_limit", "accept_caller_limits"):
        if getattr(child, field) and not getattr(parent, field):
            yield _looser(field, "false", "true", "false")
    for code, effect in child.findings.items():
        known = parent.findings.get(code)
        if known is not None and effect.rank < known.rank:
            yield _looser(f"findings/{code}", known, effect, "harder")


def _looser(field: str, before: object, after: object, stricter: str) -> Fault:
    return Fault(
        f"/{field}",
        "policy_loosens",
        f"{after} is looser than the {before} that it inherits; a policy may only tighten ({stricter} is stricter)",
    )
