"""Which candidate governs each limit: the strictest, and of equals the first in order."""

from __future__ import annotations

from dataclasses import dataclass

from tests.judging.agreement.exact import length
from tests.judging.agreement.told import FORM_FIELDS, Given, Told

DISAGREEMENT = 5 * 10**7  # 0.05 mm
PERMISSIONS = ("prohibited", "on_vehicle_only", "permitted", "not_stated")  # strictest first, then silence
Candidates = list[tuple[int, str]]


@dataclass(frozen=True, slots=True)
class Governed:
    """A limit that governs (pm); one that is not `proper` (a law or a margin alone) fails a part, never passes it."""

    value: int
    origin: str
    proper: bool = True


@dataclass(frozen=True, slots=True)
class Rules:
    """Every limit of one case, the permission to machine, and the cautions that choosing them calls for."""

    discard: Governed | None
    machining: Governed | None
    form: dict[str, Governed]
    groove: Governed
    permission: str
    nominal_missing: bool
    cautions: frozenset[str]


def permission_of(told: Told) -> str:
    """The strictest of what the record and the caller's limits say of machining."""
    said = {given.permission for given in (told.record, told.caller) if given}
    return next((word for word in PERMISSIONS if word in said), "not_stated")


def _strictest(told: Told, candidates: Candidates, *, proper: bool) -> Governed | None:
    if not candidates:
        return None
    value, origin = max(candidates, key=lambda candidate: told.sign * candidate[0])
    return Governed(value, origin, proper)


def _oversizes(told: Told, nominal: int | None) -> tuple[dict[str, int], bool]:
    """The strictest size that the policy's laws allow in use and in machining, and whether a nominal is missing."""
    found: dict[str, int] = {}
    missing = False
    for code in told.policy.get("regulations", []):
        law = told.case["regulations"][code]
        if told.request["kind"] not in law["kinds"] or law["oversize"] is None:
            continue
        if nominal is None:
            missing = True
            continue
        value = nominal + length(law["oversize"], "mm")
        for bound in ("use", "machining"):
            if law["binds"] in {bound, "both"}:
                found[bound] = min(value, found.get(bound, value))
    return found, missing


def _with_margin(told: Told, bases: Candidates, margin: int) -> Candidates:
    return [(value + told.sign * margin, "policy") for value, _ in bases] if margin else []


def _machining(
    told: Told, given: list[tuple[Given, str]], discard: Governed | None, law: int | None
) -> Governed | None:
    policy = told.policy
    bases: Candidates = [(one.machining, origin) for one, origin in given if one.machining is not None]
    margins = _with_margin(told, bases, length(policy.get("machining_margin", "0"), "mm"))
    allowance = length(policy.get("wear_allowance", "0"), "mm")
    if discard:
        worn = discard.value + told.sign * allowance
        if not bases and discard.proper and policy.get("derive_machining_limit", False):
            bases = [(worn, "derived")]
        if allowance:
            margins.append((worn, "policy"))
    laws: Candidates = [] if law is None else [(law, "regulation")]
    return _strictest(told, bases + margins + laws, proper=bool(bases))


def _form(told: Told, given: list[tuple[Given, str]]) -> dict[str, Governed]:
    fields = FORM_FIELDS | {"lateral_runout": "maximum_runout"}
    chosen = {}
    for quantity, field in fields.items():
        if quantity in {"lateral_runout", "thickness_variation"} and not told.rotor:
            continue
        if quantity == "out_of_round" and told.rotor:
            continue
        candidates: Candidates = [(one.form[quantity], origin) for one, origin in given if quantity in one.form]
        own = told.policy.get(field)
        if isinstance(own, str):
            candidates.append((length(own, "mm"), "policy"))
        if candidates:
            value, origin = min(candidates, key=lambda candidate: candidate[0])
            chosen[quantity] = Governed(value, origin)
    return chosen


def _cautions(told: Told, printed: Candidates, *, derived: bool, nominal_missing: bool) -> frozenset[str]:
    marking = told.marking
    due = told.case["record"].get("review_due") if told.case["record"] else None
    marks = {
        "limits_from_caller": told.caller is not None,
        "marking_only": marking is not None and not printed,
        "marking_disagrees": marking is not None
        and bool(printed)
        and any(abs(marking - value) > DISAGREEMENT for value, _ in printed),
        "limit_derived": derived,
        "regulation_needs_nominal": nominal_missing,
        "limits_review_due": due is not None and due < told.case["on"],
    }
    return frozenset(code for code, holds in marks.items() if holds)


def rules_of(told: Told) -> Rules:
    """The limits that govern this case."""
    given = [(one, origin) for one, origin in ((told.record, "reference"), (told.caller, "caller")) if one]
    nominal = min((one.nominal for one, _ in given if one.nominal is not None), default=None)
    laws, nominal_missing = _oversizes(told, nominal)
    printed: Candidates = [(one.discard, origin) for one, origin in given if one.discard is not None]
    bases = printed + ([] if told.marking is None else [(told.marking, "marking")])
    margins = _with_margin(told, bases, length(told.policy.get("discard_margin", "0"), "mm"))
    use: Candidates = [(laws["use"], "regulation")] if "use" in laws else []
    discard = _strictest(told, bases + margins + use, proper=bool(bases))
    machining = _machining(told, given, discard, laws.get("machining"))
    # Without a printed machining limit only a derived one can be proper, whatever stricter candidate then governs.
    derived = machining is not None and machining.proper and all(one.machining is None for one, _ in given)
    return Rules(
        discard=discard,
        machining=machining,
        form=_form(told, given),
        groove=Governed(length(told.policy.get("groove_limit", "0.38"), "mm"), "policy"),
        permission=permission_of(told),
        nominal_missing=nominal_missing,
        cautions=_cautions(told, printed, derived=derived, nominal_missing=nominal_missing),
    )
