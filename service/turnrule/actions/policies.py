"""Policies: found by name, the store's before the pack's; written as revisions that never change.

A policy of the store keeps the revision of its parent that it was written over: a parent that is revised later
changes no verdict of a child until the child is written again, and so a verdict can be judged again for ever.
"""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import orjson

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import read_exact, write_exact
from turnrule.actions.refusals import RefusedError, refused
from turnrule.judging.policy import Policy
from turnrule.pack import PolicyError, policy_from_document
from turnrule.store.port import Key, PolicyRevision

INHERITS, INHERITS_REVISION = "inherits", "inherits_revision"
PACK_REVISION = 1
"""The revision of every policy of the pack: the pack's own version tells its editions apart."""


@dataclass(frozen=True, slots=True)
class PolicyView:
    """One revision of a policy: as it was written, and with everything that it inherits filled in."""

    name: str
    revision: int
    from_pack: bool
    document: Mapping[str, object]
    effective: Policy
    written_at: datetime.datetime | None = None
    written_by: str | None = None


def policy_for(desk: Desk, name: str) -> Policy:
    """The newest revision of a policy. Raises `RefusedError` naming the nearest where there is none."""
    stored = desk.store.policy(name)
    if stored is not None:
        return _effective(desk, stored)
    if name in desk.pack.policies:
        return _from_pack(desk, name)
    raise _not_found(desk, name, "/policy")


def _not_found(desk: Desk, name: str, pointer: str) -> RefusedError:
    names = sorted({*desk.pack.policies, *(policy.name for policy in desk.store.policies())})
    near = difflib.get_close_matches(name, names, n=1) or names
    return refused("policy_not_found", pointer, f"there is no policy {name!r}; there is {', '.join(near)}")


def _from_pack(desk: Desk, name: str) -> Policy:
    found = desk.shelf.get((name, 0))
    if found is None:
        found = policy_from_document(desk.pack.policies[name], lambda parent: _from_pack(desk, parent))
        desk.shelf[name, 0] = found
    return found


def _effective(desk: Desk, stored: PolicyRevision) -> Policy:
    found = desk.shelf.get((stored.name, stored.revision))
    if found is None:
        found = _filled_in(desk, stored.name, stored.revision, _document(stored))
        desk.shelf[stored.name, stored.revision] = found
    return found
