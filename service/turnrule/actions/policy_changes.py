"""What differs between two policies, or two revisions of one, in words; what they inherit included."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from turnrule.actions.desk import Desk
from turnrule.actions.policies import PolicyView, policy_line, read_policy
from turnrule.actions.policy_words import sentence
from turnrule.judging.catalogue import Catalogue
from turnrule.judging.policy import Policy
from turnrule.pack import Difference, Direction, differences


@dataclass(frozen=True, slots=True)
class PolicyChange:
    """One field that differs, with the sentence that tells it.

    `set_by` is the policy and revision whose document sets what holds now; None where none in the line does.
    """

    difference: Difference
    sentence: str
    set_by: tuple[str, int] | None


@dataclass(frozen=True, slots=True)
class PolicyChanges:
    """All that differs from one policy revision to another, in the order of a policy body."""

    old: PolicyView
    new: PolicyView
    changes: tuple[PolicyChange, ...]

    def count(self, direction: Direction) -> int:
        """How many of the changes go this way."""
        return sum(change.difference.direction is direction for change in self.changes)


def policy_changes(desk: Desk, old: PolicyView, new: PolicyView) -> PolicyChanges:
    """What holds otherwise under `new` than under `old`; and what is told of it that binds nothing."""
    book = desk.pack.catalogue
    line = list(policy_line(desk, new))
    found = differences(catalogued(old.effective, book), catalogued(new.effective, book))
    told = (PolicyChange(one, sentence(one, book), _set_by(one, line)) for one in (*found, *_about(old, new)))
    return PolicyChanges(old, new, tuple(told))


def compared_with(desk: Desk, new: PolicyView, against: str | None, since: int | None) -> PolicyView | None:
    """What a revision is compared with: revision `since` of `against`, or of itself.

    Left out they are the newest of another policy, the one before of the same, and what the first one inherits. None
    where there is no such thing.
    """
    if against is not None and against != new.name:
        return read_policy(desk, against, since)
    if since is None and new.revision == 1:
        return None if new.parent is None else read_policy(desk, *new.parent)
    wanted = new.revision - 1 if since is None else since
    return read_policy(desk, new.name, wanted) if 0 < wanted < new.revision else None


def catalogued(policy: Policy, book: Catalogue) -> Policy:
    """A policy with what it leaves to the catalogue filled in: every finding's effect, every law that is on."""
    effects = {code: rule.effect for code, rule in book.findings.items()}
    laws = book.in_force((code for code in policy.regulations if code in book.regulations), policy.jurisdictions)
    return replace(policy, findings=effects | policy.findings, regulations=tuple(law.code for law in laws))


def _about(old: PolicyView, new: PolicyView) -> Iterator[Difference]:
    """What differs between revisions of one policy without binding anything: what is inherited from, and why."""
    if old.name != new.name:
        return
    parents = [None if view.parent is None else f"{view.parent[0]}, revision {view.parent[1]}" for view in (old, new)]
    whys = [view.document.get("why") for view in (old, new)]
    for field, (before, after) in (("inherits", parents), ("why", whys)):
        if before != after:
            yield Difference(field, before, after, Direction.OTHER)


def _set_by(one: Difference, line: list[PolicyView]) -> tuple[str, int] | None:
    """The nearest in the line whose document says something of this field, or names this entry of a list."""
    field, _, inner = one.field.partition("/")
    for view in line:
        said = view.document.get(field)
        if said is None or (isinstance(said, dict) and inner and inner not in said):
            continue
        if isinstance(said, list) and one.new not in said:
            continue
        return view.name, view.revision
    return None
