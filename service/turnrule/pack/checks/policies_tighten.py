"""Every policy of the pack can be used, inherits within the pack, only tightens, and names what the pack holds."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.judging.faults import Fault
from turnrule.judging.policy import Policy
from turnrule.pack.model import Pack
from turnrule.pack.policies import PolicyError, policy_from_document


def faults(pack: Pack) -> Iterator[str]:
    """What is wrong with each policy document."""
    if "default" not in pack.policies:
        yield "policies: there is no default.json; every policy rests on it"
    for name, document in pack.policies.items():
        if "inherits" in document and document["inherits"] not in list(pack.policies):
            yield f"{name}.json: inherits {document['inherits']!r}, which the pack does not hold"
            continue
        try:
            policy = _effective(pack, name, ())
        except PolicyError as error:
            yield from (f"{name}.json: {fault.pointer}: {fault.detail}" for fault in error.faults)
            continue
        for code, effect in sorted(policy.findings.items()):
            rule = pack.catalogue.findings.get(code)
            if rule is None:
                yield f"{name}.json: there is no finding {code!r} to raise"
            elif effect.rank < rule.effect.rank:
                yield f"{name}.json: {code!r}: {effect} is milder than the catalogue's {rule.effect}; only raise it"
        for code in sorted(set(policy.regulations) - pack.catalogue.regulations.keys()):
            yield f"{name}.json: there is no regulation {code!r} to turn on"
        for code in sorted(set(policy.jurisdictions) - pack.catalogue.jurisdictions):
            yield f"{name}.json: the laws of {code!r} cannot be turned on: there are none"


def _effective(pack: Pack, name: str, above: tuple[str, ...]) -> Policy:
    if name in above or name not in pack.policies:
        detail = "inherits itself" if name in above else f"inherits {name!r}, which the pack does not hold"
        raise PolicyError((Fault("/inherits", "policy_not_found", detail),))
    return policy_from_document(pack.policies[name], lambda parent: _effective(pack, parent, (*above, name)))
