"""Sites and the policies that they are given; and which policy a part is judged under, chosen in one place."""

from __future__ import annotations

import re
from collections.abc import Sequence

from turnrule.actions.desk import Desk
from turnrule.actions.policies import DEFAULT, newest_policy, policy_line, read_policy
from turnrule.actions.policy_changes import catalogued
from turnrule.actions.refusals import refused
from turnrule.judging.policy import Policy
from turnrule.pack import Difference, Direction, differences
from turnrule.store.port import Key, SiteRevision

SITE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,62}")


def policy_for(desk: Desk, named: str | None) -> Policy:
    """The policy that a part is judged under: its newest revision.

    That is the one that the request names; else the one that the site at the desk was given; else the default. A site's
    policy is never got around: another one that is named has to inherit from it and be nowhere looser than its newest
    revision. Raises `RefusedError` with `policy_not_found` or `policy_not_for_site`.
    """
    given = desk.store.site(desk.site) if desk.site is not None else None
    if given is None:
        return newest_policy(desk, named or DEFAULT)
    own = newest_policy(desk, given.policy)
    if named is None or named == given.policy:
        return own
    policy = newest_policy(desk, named)
    _require_stricter(desk, given, own, policy)
    return policy


def _require_stricter(desk: Desk, given: SiteRevision, own: Policy, policy: Policy) -> None:
    """Raise `RefusedError` unless a policy inherits from the site's own and is nowhere looser."""
    view = read_policy(desk, policy.name, policy.revision)
    above = [] if view is None else [one.name for one in policy_line(desk, view)][1:]
    told = f"the site {given.site!r} is judged under its policy {given.policy!r}"
    if given.policy not in above:
        detail = f"{told}, and {policy.name!r} does not inherit from that; leave policy out, or name one that does"
        raise refused("policy_not_for_site", "/policy", detail)
    looser = [one.field for one in loosened(desk, own, policy)]
    if looser:
        detail = (
            f"{told}, revision {own.revision}, and {policy.name!r} was written over an earlier one and is looser in "
            f"{', '.join(dict.fromkeys(looser))}; write {policy.name!r} again, or leave policy out"
        )
        raise refused("policy_not_for_site", "/policy", detail)


def loosened(desk: Desk, before: Policy, after: Policy) -> list[Difference]:
    """Where the second policy is looser than the first, with what the catalogue says for what neither does."""
    book = desk.pack.catalogue
    found = differences(catalogued(before, book), catalogued(after, book))
    return [one for one in found if one.direction is Direction.LOOSER]


def read_site(desk: Desk, key: Key, site: str, revision: int | None = None) -> SiteRevision | None:
    """Which policy a site has, or had; None where it was never given one, or the key is bound to another site."""
    return desk.store.site(site, revision) if key.site in {None, site} else None


def list_sites(desk: Desk, key: Key, *, after: str = "", limit: int = 50) -> Sequence[SiteRevision]:
    """The sites that were given a policy, by name after one of them; a key that is bound to a site sees its own."""
    seen = [site for site in desk.store.sites() if key.site in {None, site.site} and site.site > after]
    return seen[:limit]


def site_revisions(
    desk: Desk, key: Key, site: str, *, after: int = 0, limit: int = 50
) -> Sequence[SiteRevision] | None:
    """Which policies a site was given, oldest first; None where there was none that this key may see."""
    newest = read_site(desk, key, site)
    if newest is None:
        return None
    numbers = range(after + 1, min(after + limit, newest.revision) + 1)
    return [found for number in numbers if (found := desk.store.site(site, number)) is not None]


def give_policy(desk: Desk, site: str, policy: str, key: Key, *, over: SiteRevision | None) -> SiteRevision:
    """Give a site a policy from now on, over what it has, or for the first time where that is None.

    Raises `RefusedError` for a site that cannot be and a policy that there is none of, `NameTakenError` where somebody
    else gave it one first.
    """
    if SITE_NAME.fullmatch(site) is None:
        raise refused("invalid_site", "", f"{site!r}: a site's name is of letters, digits, spaces and . _ -")
    newest_policy(desk, policy)
    made = SiteRevision(site, over.revision + 1 if over is not None else 1, policy, desk.clock(), key.name)
    desk.store.save_site(made)
    return made
