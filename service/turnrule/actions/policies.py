"""Policies: found by name, the store's before the pack's; written as revisions that never change.

A policy of the store keeps the revision of its parent that it was written over: a parent that is revised later
changes no verdict of a child until the child is written again, and so a verdict can be judged again for ever.
"""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import read_exact, write_exact
from turnrule.actions.refusals import RefusedError, refused
from turnrule.judging.faults import Fault
from turnrule.judging.policy import Policy
from turnrule.pack import PolicyError, policy_from_document
from turnrule.store.port import Key, PolicyRevision

_OWN = ("name", "revision", "inherits_revision")
"""What the store adds to a document as it was written."""

DEFAULT = "default"
_SO_MANY_CODES = 12
DEEPEST_LINE = 16
"""So many policies may inherit from each other in one line."""


@dataclass(frozen=True, slots=True)
class PolicyView:
    """One revision of a policy: as it was written, and with everything that it inherits filled in."""

    name: str
    revision: int
    document: Mapping[str, object]
    effective: Policy
    parent: tuple[str, int] | None
    written_at: datetime.datetime | None = None
    written_by: str | None = None

    @property
    def from_pack(self) -> bool:
        """True where the policy came with the reference pack."""
        return self.written_at is None


def newest_policy(desk: Desk, name: str, pointer: str = "/policy") -> Policy:
    """The newest revision of a policy. Raises `RefusedError` naming the nearest where there is none."""
    found = _newest(desk, name)
    if found is None:
        raise _not_found(desk, name, pointer)
    return found


def _newest(desk: Desk, name: str) -> Policy | None:
    stored = desk.store.policy(name)
    if stored is not None:
        return _of_store(desk, stored)
    return _of_pack(desk, name) if name in desk.pack.policies else None


def _not_found(desk: Desk, name: str, pointer: str) -> RefusedError:
    names = sorted({*desk.pack.policies, *(policy.name for policy in desk.store.policies())})
    return refused("policy_not_found", pointer, f"there is no policy {name!r}; there is {_nearest(name, names)}")


def _of_pack(desk: Desk, name: str) -> Policy:
    found = desk.shelf.get((name, 0))
    if found is None:
        found = policy_from_document(desk.pack.policies[name], lambda parent: _of_pack(desk, parent))
        desk.shelf[name, 0] = found
    return found


def _of_store(desk: Desk, stored: PolicyRevision) -> Policy:
    found = desk.shelf.get((stored.name, stored.revision))
    if found is None:
        document = read_exact(stored.document)
        revision = int(document["inherits_revision"])
        try:
            found = policy_from_document(document, lambda parent: _parent(desk, parent, revision))
        except PolicyError as error:
            detail = f"policy {stored.name!r} no longer stands over what it inherits ({error}); write it again"
            raise refused("invalid_policy", "/policy", detail) from error
        desk.shelf[stored.name, stored.revision] = found
    return found


def _parent(desk: Desk, name: str, revision: int) -> Policy:
    """The revision of a parent that a policy was written over."""
    stored = desk.store.policy(name, revision)
    return _of_store(desk, stored) if stored is not None else _of_pack(desk, name)


def read_policy(desk: Desk, name: str, revision: int | None = None) -> PolicyView | None:
    """One revision of a policy, or its newest; None where there is none."""
    stored = desk.store.policy(name, revision)
    if stored is not None:
        return _view(desk, stored)
    if name not in desk.pack.policies:
        return None
    view = _view_of_pack(desk, name)
    return view if revision in {None, view.revision} else None


def _view_of_pack(desk: Desk, name: str) -> PolicyView:
    policy, document = _of_pack(desk, name), desk.pack.policies[name]
    inherits = document.get("inherits")
    parent = (inherits, _of_pack(desk, inherits).revision) if isinstance(inherits, str) else None
    return PolicyView(name, policy.revision, _as_written(document), policy, parent)


def recorded_policy(desk: Desk, name: str, revision: int) -> Policy:
    """The policy revision that a verdict was judged under. Raises `RefusedError` where it cannot be had any more."""
    view = read_policy(desk, name, revision)
    if view is None:
        detail = f"there is no revision {revision} of the policy {name!r} any more"
        raise refused("policy_not_found", "/policy", detail)
    return view.effective


def _view(desk: Desk, stored: PolicyRevision) -> PolicyView:
    document = read_exact(stored.document)
    return PolicyView(
        stored.name,
        stored.revision,
        _as_written(document),
        _of_store(desk, stored),
        (document["inherits"], int(document["inherits_revision"])),
        stored.written_at,
        stored.written_by,
    )


def _as_written(document: Mapping[str, object]) -> Mapping[str, object]:
    return {name: value for name, value in document.items() if name not in _OWN}


def list_policies(desk: Desk, *, after: str = "", limit: int = 50) -> Sequence[PolicyView]:
    """The newest revision of each policy, the store's and the pack's, by name after one of them."""
    stored = {policy.name: policy for policy in desk.store.policies() if policy.name > after}
    names = sorted({*stored, *(name for name in desk.pack.policies if name > after)})[:limit]
    return [_view(desk, stored[name]) if name in stored else _view_of_pack(desk, name) for name in names]


def policy_line(desk: Desk, view: PolicyView) -> Iterator[PolicyView]:
    """A revision, and then those that it inherits from, each as the one before was written over it."""
    deeper: PolicyView | None = view
    while deeper is not None:
        yield deeper
        deeper = read_policy(desk, *deeper.parent) if deeper.parent is not None else None


def policy_revisions(desk: Desk, name: str, *, after: int = 0, limit: int = 50) -> Sequence[PolicyView] | None:
    """The revisions of a policy in rising order; None where there is no such policy."""
    newest = read_policy(desk, name)
    if newest is None:
        return None
    if newest.from_pack:
        return [newest] if after < newest.revision else []
    numbers = range(after + 1, min(after + limit, newest.revision) + 1)
    return [view for number in numbers if (view := read_policy(desk, name, number)) is not None]


def write_policy(
    desk: Desk, name: str, document: Mapping[str, object], key: Key, *, over: PolicyView | None
) -> PolicyView:
    """Write the revision of a policy of the store that comes after `over`, or its first where that is None.

    Raises `RefusedError` for a policy of the pack and an unknown parent, `PolicyError` for what does not tighten
    or names what the catalogue lacks, `NameTakenError` where somebody else wrote that revision first.
    """
    revision = over.revision + 1 if over is not None else 1
    draft = draft_policy(desk, name, document, revision)
    stored = PolicyRevision(name, revision, write_exact(draft.document), desk.clock(), key.name)
    desk.store.save_policy(stored)
    return _view(desk, stored)


@dataclass(frozen=True, slots=True)
class PolicyDraft:
    """A revision of a policy that is not stored: its document as the store would keep it, and all that would hold."""

    document: Mapping[str, object]
    effective: Policy
    parent: Policy


def draft_policy(desk: Desk, name: str, document: Mapping[str, object], revision: int) -> PolicyDraft:
    """What a body would make of a policy of the store. Raises as `write_policy` does; nothing is written."""
    require_own(desk, name)
    inherits = str(document.get("inherits", DEFAULT))
    parent = _newest(desk, inherits)
    if parent is None or inherits == name:
        raise _not_found(desk, inherits, "/inherits")
    whole = {
        **document,
        "name": name,
        "revision": revision,
        "inherits": inherits,
        "inherits_revision": parent.revision,
    }
    effective = policy_from_document(whole, lambda _: parent)
    if faults := (*unknown_to_catalogue(desk, effective), *_too_long_a_line(desk, inherits, parent.revision)):
        raise PolicyError(faults)
    return PolicyDraft(whole, effective, parent)


def require_own(desk: Desk, name: str) -> None:
    """Raise `RefusedError` where a policy belongs to the pack."""
    if name in desk.pack.policies:
        detail = f"{name!r} is a policy of the reference pack; write one of your own that inherits from it"
        raise refused("pack_policy", "", detail)


def unknown_to_catalogue(desk: Desk, policy: Policy) -> Iterator[Fault]:
    """Findings, laws and places that are not in the catalogue, and findings whose effect would be lowered."""
    book = desk.pack.catalogue
    for code, effect in policy.findings.items():
        rule = book.findings.get(code)
        if rule is None:
            detail = f"{code!r} is not in the catalogue of findings; there is {_nearest(code, book.findings)}"
            yield Fault(f"/findings/{code}", "unknown_finding", detail)
        elif effect.rank < rule.effect.rank:
            detail = f"{effect} is milder than the catalogue's {rule.effect}; a policy may only raise an effect"
            yield Fault(f"/findings/{code}", "policy_loosens", detail)
    for code in policy.regulations:
        if code not in book.regulations:
            detail = f"{code!r} is not in the catalogue; there is {_nearest(code, book.regulations)}"
            yield Fault("/regulations", "unknown_regulation", detail)
    for code in policy.jurisdictions:
        if code not in book.jurisdictions:
            detail = f"the catalogue has no laws of {code!r}; there is {_nearest(code, book.jurisdictions)}"
            yield Fault("/jurisdictions", "unknown_jurisdiction", detail)


def _nearest(code: str, known: Iterable[str]) -> str:
    """The known code that is nearest to one that is not known, or all of them where none is near."""
    codes = sorted(known)
    near = difflib.get_close_matches(code, codes, n=1) or codes[:_SO_MANY_CODES]
    return ", ".join(near)


def _too_long_a_line(desk: Desk, parent: str, revision: int) -> Iterator[Fault]:
    """A fault where a policy would inherit over too many others."""
    for _ in range(DEEPEST_LINE):
        stored = desk.store.policy(parent, revision)
        if stored is None:
            return
        document = read_exact(stored.document)
        parent, revision = document["inherits"], int(document["inherits_revision"])
    yield Fault("/inherits", "inherits_too_deep", f"at most {DEEPEST_LINE} policies may inherit in one line")
