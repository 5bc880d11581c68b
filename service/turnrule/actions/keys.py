"""API keys: a secret that is shown once and kept only as its SHA-256, with scopes and perhaps a site."""

from __future__ import annotations

import hashlib
import re
import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from turnrule.actions.desk import Desk
from turnrule.actions.refusals import refused
from turnrule.store.port import Key

SCOPES = ("verdicts", "limits:write", "limits:verify", "releases:publish", "policies:write", "reports", "admin")
"""What a key may be allowed to do; `admin` stands for all of them."""

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,62}")
_SITE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,62}")
_SECRET = re.compile(r"tr_[A-Za-z0-9_-]{43}")


@dataclass(frozen=True, slots=True)
class NewKey:
    """A key that was just made, with the secret that nobody will see again."""

    key: Key
    secret: str


def create_key(desk: Desk, name: str, scopes: Iterable[str], site: str | None = None) -> NewKey:
    """Make and keep a key. Raises `RefusedError` for a name, scope or site that cannot be, `NameTakenError`."""
    wanted = frozenset(scopes)
    if _NAME.fullmatch(name) is None:
        raise refused("invalid_name", "/name", f"{name!r}: a key's name is of letters, digits, spaces and . _ -")
    unknown = sorted(wanted - set(SCOPES))
    if unknown or not wanted:
        of = ", ".join(SCOPES)
        raise refused("invalid_scope", "/scopes", f"{', '.join(unknown) or 'no scope'}: a key has one or more of {of}")
    if site is not None and _SITE.fullmatch(site) is None:
        raise refused("invalid_site", "/site", f"{site!r}: a site's name is of letters, digits, spaces and . _ -")
    secret = f"tr_{secrets.token_urlsafe(32)}"
    key = Key(name, digest_of_secret(secret), wanted, site, desk.clock())
    desk.store.add_key(key)
    return NewKey(key, secret)


def digest_of_secret(secret: str) -> str:
    """What the store keeps of a secret: its SHA-256 in hexadecimal."""
    return hashlib.sha256(secret.encode()).hexdigest()


def key_for(desk: Desk, secret: str) -> Key | None:
    """The key that a secret belongs to; None where there is none that still works.

    The secret has 256 random bits, so that looking its digest up gives nothing away by its timing.
    """
    if _SECRET.fullmatch(secret) is None:
        return None
    key = desk.store.key_by_digest(digest_of_secret(secret))
    return key if key is not None and key.revoked_at is None else None


def allows(key: Key, *scopes: str) -> bool:
    """True where the key has one of the scopes; any working key will do where none is named."""
    return not scopes or "admin" in key.scopes or not key.scopes.isdisjoint(scopes)


def list_keys(desk: Desk) -> Sequence[Key]:
    """All keys, oldest first."""
    return desk.store.keys()


def revoke_key(desk: Desk, name: str) -> None:
    """Let a key work no longer, at once. Raises `RefusedError` where none of this name works."""
    if not desk.store.revoke_key(name, desk.clock()):
        raise refused("key_not_found", "/name", f"there is no working key {name!r}")
