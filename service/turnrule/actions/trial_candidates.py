"""Candidates of a policy trial: a body that is not written yet, a revision, or one setting varied over some values.

Each is refused as writing it would be: none may be looser than what it inherits.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from turnrule.actions.desk import Desk
from turnrule.actions.policies import PolicyView, draft_policy, newest_policy, read_policy
from turnrule.actions.refusals import refused
from turnrule.judging.faults import Fault
from turnrule.judging.policy import Policy
from turnrule.pack import PolicyError, differences, loosenings, varied
from turnrule.pack.tightening import CHOICES, GREATER, INSTRUMENT, SMALLER, TRUTHS

ON_AXLES = ("axle_difference", "pair_rule")
"""Fields that bind the two parts of an axle together, and that no verdict on one part shows."""

MOST_VALUES = 10
LENGTHS = (*(name for name in (*GREATER, *SMALLER) if name not in ON_AXLES), *INSTRUMENT)
WORDS = {name: words for name, words in CHOICES.items() if name not in ON_AXLES}
SETTINGS = (*LENGTHS, "minimum_points", "remaining_distance", *WORDS, *TRUTHS)
"""What can be varied."""

SettingValue = Decimal | str | bool


@dataclass(frozen=True, slots=True)
class Setting:
    """One field of a policy and the values that it is to have in turn; `unit` that of lengths, or of a distance."""

    field: str
    values: Sequence[SettingValue]
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """A policy that stored verdicts are judged under in place of their own; `value` is that of the varied setting."""

    policy: Policy
    value: SettingValue | None = None


@dataclass(frozen=True, slots=True)
class Candidates:
    """One candidate, or one for each value of a setting.

    `untried` are the fields in which they differ from the named policy's newest revision, or from what they inherit
    where that is not written yet, and which no verdict on a single part can show.
    """

    each: tuple[Candidate, ...]
    untried: tuple[str, ...] = ()


def by_document(desk: Desk, name: str, document: Mapping[str, object]) -> Candidates:
    """A body that could be written as the next revision of this policy. Raises as writing it would."""
    over = read_policy(desk, name)
    draft = draft_policy(desk, name, document, 1 if over is None else over.revision + 1)
    return Candidates(
        (Candidate(draft.effective),), _untried(over.effective if over else draft.parent, draft.effective)
    )


def by_revision(desk: Desk, view: PolicyView) -> Candidates:
    """A revision of a policy that was written already."""
    return Candidates((Candidate(view.effective),), _untried(newest_policy(desk, view.name), view.effective))


def by_setting(desk: Desk, view: PolicyView, setting: Setting) -> Candidates:
    """The newest revision of a policy with one setting at each of the values in turn.

    A policy of the pack is varied as one that inherits from it would be. Raises `PolicyError` with every value that
    the setting cannot have, or that would loosen what is inherited.
    """
    parent = view.effective
    if not view.from_pack and view.parent is not None:
        above = read_policy(desk, *view.parent)
        if above is None:  # pragma: no cover - a stored policy keeps to what it was written over
            raise refused("policy_not_found", "", f"there is no policy {view.parent[0]!r} any more")
        parent = above.effective
    faults: list[Fault] = []
    made: list[Candidate] = []
    for place, value in enumerate(setting.values):
        try:
            made.append(Candidate(_varied(view.effective, parent, setting, value), value))
        except PolicyError as error:
            faults += [Fault(f"/setting/values/{place}", fault.code, fault.detail) for fault in error.faults]
    if faults:
        raise PolicyError(tuple(faults))
    return Candidates(tuple(made))


def _varied(policy: Policy, parent: Policy, setting: Setting, value: SettingValue) -> Policy:
    changed = replace(varied(_as_document(setting, value), policy), name=policy.name, revision=policy.revision)
    if faults := tuple(loosenings(parent, changed)):
        raise PolicyError(faults)
    return changed


def _as_document(setting: Setting, value: SettingValue) -> Mapping[str, object]:
    """The policy body that sets this field alone."""
    if setting.field in LENGTHS:
        inner: object = {setting.field: value}
        field = "instrument" if setting.field in INSTRUMENT else setting.field
        return {"unit": setting.unit, field: inner if field == "instrument" else value}
    if setting.field == "remaining_distance":
        return {"unit": "mm", setting.field: {"value": value, "unit": setting.unit}}
    return {"unit": "mm", setting.field: value}


def setting_faults(setting: Setting) -> Iterator[Fault]:
    """What the unit, and each value, of a setting would have to be."""
    units = _units(setting.field)
    if setting.unit not in units:
        takes = " or ".join(unit for unit in units if unit is not None)
        detail = f"{setting.field} is in {takes}; say which" if takes else f"{setting.field} has no unit; leave it out"
        yield Fault("/setting/unit", "setting_mismatch", detail)
    for place, value in enumerate(setting.values):
        if not _fits(setting.field, value):
            yield Fault(
                f"/setting/values/{place}", "setting_mismatch", f"{setting.field} takes {_takes(setting.field)}"
            )
    if len(set(setting.values)) < len(setting.values):
        yield Fault("/setting/values", "setting_mismatch", "a value stands twice; give each once")


def _units(field: str) -> tuple[str | None, ...]:
    if field in LENGTHS:
        return ("mm", "in")
    return ("km", "mi") if field == "remaining_distance" else (None,)


def _fits(field: str, value: SettingValue) -> bool:
    if field in TRUTHS:
        return isinstance(value, bool)
    if field in WORDS:
        return value in list(WORDS[field])
    if not isinstance(value, Decimal) or not _LEAST.get(field, Decimal(0)) <= value <= _MOST.get(field, _LONGEST):
        return False
    return field != "minimum_points" or value == value.to_integral_value()


_LONGEST = Decimal(100)
_LEAST = {"minimum_points": Decimal(1), "resolution": Decimal("0.0000001")}
_MOST = {"minimum_points": Decimal(1000), "remaining_distance": Decimal(10_000_000)}


def _takes(field: str) -> str:
    if field in TRUTHS:
        return "true or false"
    if field in WORDS:
        return f"one of {', '.join(WORDS[field])}"
    number = "whole numbers" if field == "minimum_points" else "numbers"
    return f"{number} from {_LEAST.get(field, Decimal(0)):f} to {_MOST.get(field, _LONGEST):f}"


def _untried(before: Policy, after: Policy) -> tuple[str, ...]:
    return tuple(one.field for one in differences(before, after) if one.field in ON_AXLES)
