"""Keys, policies, lathes, sites and misses in the embedded store."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace

from turnrule.store.folding import fold
from turnrule.store.port import Key, LatheRevision, Miss, PolicyRevision, SiteRevision
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_rows import one
from turnrule.store.sqlite_tables import (
    API_KEYS,
    LATHES,
    MISSES,
    POLICIES,
    SITES,
    key_of,
    key_values,
    lathe_of,
    lathe_values,
    miss_of,
    miss_values,
    policy_of,
    policy_values,
    site_of,
    site_values,
)

_INSERT_KEY, _INSERT_POLICY, _INSERT_MISS = API_KEYS.insert, POLICIES.insert, MISSES.insert
_KEY_BY_DIGEST = API_KEYS.select("WHERE digest = ?")
_WORKING_KEY = API_KEYS.select("WHERE name = ? AND revoked_at IS NULL")
_KEYS = API_KEYS.select("ORDER BY created_at, name")
_POLICY = POLICIES.select("WHERE name = ? AND revision = ?")
_NEWEST_POLICY = POLICIES.select("WHERE name = ? ORDER BY revision DESC LIMIT 1")
_POLICIES = POLICIES.select(
    "WHERE revision = (SELECT max(revision) FROM policies AS newer WHERE newer.name = policies.name) ORDER BY name"
)
_INSERT_LATHE = LATHES.insert
_LATHE = LATHES.select("WHERE name = ? AND revision = ?")
_NEWEST_LATHE = LATHES.select("WHERE name = ? ORDER BY revision DESC LIMIT 1")
_LATHES = LATHES.select(
    "WHERE revision = (SELECT max(revision) FROM lathes AS newer WHERE newer.name = lathes.name) ORDER BY name"
)
_INSERT_SITE = SITES.insert
_SITE = SITES.select("WHERE site = ? AND revision = ?")
_NEWEST_SITE = SITES.select("WHERE site = ? ORDER BY revision DESC LIMIT 1")
_SITES = SITES.select(
    "WHERE revision = (SELECT max(revision) FROM sites AS newer WHERE newer.site = sites.site) ORDER BY site"
)
_SAME_APPLICATION = (
    "WHERE make_key = ? AND model_key = ? AND year = ? AND axle = ? AND kind = ? AND ifnull(brake_option, '') = ?"
)
_MISS = MISSES.select(_SAME_APPLICATION)
_COUNT = f"UPDATE misses SET count = ?, first_at = ?, last_at = ?, seal = ? {_SAME_APPLICATION}"  # noqa: S608  # fixed text, no value in it
_MISSES = MISSES.select("ORDER BY count DESC, make_key, model_key, year, axle, kind, brake_option LIMIT ? OFFSET ?")


def add_key(connections: Connections, key: Key) -> None:
    """Keep a new key. Raises `NameTakenError`."""
    with connections.writing() as conn:
        conn.execute(_INSERT_KEY, API_KEYS.sealed(key_values(key)))


def key_by_digest(connections: Connections, digest: str) -> Key | None:
    """The key with this secret's digest, revoked or not."""
    with connections.reading() as conn:
        row = one(conn.execute(_KEY_BY_DIGEST, (digest,)), API_KEYS)
    return None if row is None else key_of(row)


def keys(connections: Connections) -> Sequence[Key]:
    """All keys, oldest first, those of one moment by name."""
    with connections.reading() as conn:
        return [key_of(API_KEYS.opened(row)) for row in conn.execute(_KEYS).fetchall()]


def revoke_key(connections: Connections, name: str, at: datetime.datetime) -> bool:
    """Revoke a key; false when there is none of this name that still works."""
    with connections.writing() as conn:
        row = one(conn.execute(_WORKING_KEY, (name,)), API_KEYS)
        if row is None:
            return False
        *_, revoked_at, seal = API_KEYS.sealed(key_values(replace(key_of(row), revoked_at=at)))
        conn.execute("UPDATE api_keys SET revoked_at = ?, seal = ? WHERE name = ?", (revoked_at, seal, name))
    return True


def save_policy(connections: Connections, policy: PolicyRevision) -> None:
    """Keep the next revision of a policy. Raises `NameTakenError` when that revision exists."""
    with connections.writing() as conn:
        conn.execute(_INSERT_POLICY, POLICIES.sealed(policy_values(policy)))


def policy(connections: Connections, name: str, revision: int | None) -> PolicyRevision | None:
    """A policy's revision, or its newest."""
    with connections.reading() as conn:
        cursor = conn.execute(_NEWEST_POLICY, (name,)) if revision is None else conn.execute(_POLICY, (name, revision))
        row = one(cursor, POLICIES)
    return None if row is None else policy_of(row)


def policies(connections: Connections) -> Sequence[PolicyRevision]:
    """The newest revision of each policy, by name."""
    with connections.reading() as conn:
        return [policy_of(POLICIES.opened(row)) for row in conn.execute(_POLICIES).fetchall()]


def save_lathe(connections: Connections, lathe: LatheRevision) -> None:
    """Keep the next revision of a lathe. Raises `NameTakenError` when that revision exists."""
    with connections.writing() as conn:
        conn.execute(_INSERT_LATHE, LATHES.sealed(lathe_values(lathe)))


def lathe(connections: Connections, name: str, revision: int | None) -> LatheRevision | None:
    """A lathe's revision, or its newest."""
    with connections.reading() as conn:
        cursor = conn.execute(_NEWEST_LATHE, (name,)) if revision is None else conn.execute(_LATHE, (name, revision))
        row = one(cursor, LATHES)
    return None if row is None else lathe_of(row)


def lathes(connections: Connections) -> Sequence[LatheRevision]:
    """The newest revision of each lathe, by name."""
    with connections.reading() as conn:
        return [lathe_of(LATHES.opened(row)) for row in conn.execute(_LATHES).fetchall()]


def save_site(connections: Connections, site: SiteRevision) -> None:
    """Keep the next revision of a site. Raises `NameTakenError` when that revision exists."""
    with connections.writing() as conn:
        conn.execute(_INSERT_SITE, SITES.sealed(site_values(site)))


def site(connections: Connections, name: str, revision: int | None) -> SiteRevision | None:
    """A site's revision, or its newest."""
    with connections.reading() as conn:
        cursor = conn.execute(_NEWEST_SITE, (name,)) if revision is None else conn.execute(_SITE, (name, revision))
        row = one(cursor, SITES)
    return None if row is None else site_of(row)


def sites(connections: Connections) -> Sequence[SiteRevision]:
    """The newest revision of each site, by name."""
    with connections.reading() as conn:
        return [site_of(SITES.opened(row)) for row in conn.execute(_SITES).fetchall()]


def count_miss(connections: Connections, miss: Miss) -> None:
    """Count a miss on top of those of the same application; it keeps the spelling of the first one."""
    same = (fold(miss.make), fold(miss.model), miss.year, miss.axle, miss.kind, miss.brake_option or "")
    with connections.writing() as conn:
        row = one(conn.execute(_MISS, same), MISSES)
        if row is None:
            conn.execute(_INSERT_MISS, MISSES.sealed(miss_values(miss)))
            return
        before = miss_of(row)
        counted = replace(
            before,
            count=before.count + miss.count,
            # A clock that was set back must not make the last one come before the first.
            first_at=min(before.first_at, miss.first_at),
            last_at=max(before.last_at, miss.last_at),
        )
        *_, count, first_at, last_at, seal = MISSES.sealed(miss_values(counted))
        conn.execute(_COUNT, (count, first_at, last_at, seal, *same))


def misses(connections: Connections, after: int, limit: int) -> Sequence[Miss]:
    """What was asked for and not found, most wanted first, then by application."""
    with connections.reading() as conn:
        rows = conn.execute(_MISSES, (max(limit, 0), max(after, 0))).fetchall()
        return [miss_of(MISSES.opened(row)) for row in rows]
