"""The rules of a store: whether it is a shop of one person's, and which packs it takes."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from dataclasses import replace

from turnrule.actions.desk import Desk
from turnrule.actions.refusals import refused
from turnrule.store.errors import RulesError
from turnrule.store.limit_records import StoreRules

A_DAY = datetime.timedelta(days=1)
"""How long one person waits between the two entries of a record, where nothing else is said."""

_HEX_KEY = re.compile(r"[0-9a-f]{64}")


def set_for_one_person(desk: Desk, by: str, pause: datetime.timedelta = A_DAY) -> StoreRules:
    """Let one person make both entries of a record, with a pause of at least an hour between them.

    Raises `RefusedError` where the pause is shorter or limits were entered already.
    """
    if pause < datetime.timedelta(hours=1):
        detail = "the pause between two entries of one person is an hour or more; a day is good practice"
        raise refused("out_of_range", "/pause", detail)
    return _set(desk, replace(desk.store.rules(), one_person_pause=pause), by)


def take_signed_packs_only(desk: Desk, by: str) -> StoreRules:
    """Take no pack from now on that is not signed under a trusted key. Raises `RefusedError` where there is none."""
    rules = desk.store.rules()
    if not rules.trusted_keys:
        detail = "no key is trusted yet, so that no pack could come in; trust a key first"
        raise refused("no_trusted_key", "/trusted_keys", detail)
    return _set(desk, replace(rules, signed_packs_only=True), by)


def trust_keys(desk: Desk, keys: Iterable[str], by: str) -> StoreRules:
    """Trust packs that are signed under these Ed25519 public keys, each of 64 hexadecimal digits, from now on."""
    rules = desk.store.rules()
    wanted = [key.strip().lower() for key in keys]
    for key in wanted:
        if _HEX_KEY.fullmatch(key) is None:
            detail = f"{key[:80]!r} is no public key; it is the 64 hexadecimal digits that turnrule pack new-key prints"
            raise refused("invalid_key", "/trusted_keys", detail)
    return _set(desk, replace(rules, trusted_keys=tuple(dict.fromkeys((*rules.trusted_keys, *wanted)))), by)


def distrust_key(desk: Desk, key: str, by: str) -> StoreRules:
    """Trust a key no longer. Raises `RefusedError` where it was not trusted."""
    rules = desk.store.rules()
    if key not in rules.trusted_keys:
        raise refused("key_not_found", "/trusted_keys", f"{key[:80]!r} is not among the trusted keys")
    return _set(desk, replace(rules, trusted_keys=tuple(one for one in rules.trusted_keys if one != key)), by)


def _set(desk: Desk, rules: StoreRules, by: str) -> StoreRules:
    try:
        desk.store.set_rules(rules, at=desk.clock(), by=by)
    except RulesError as error:
        raise refused("rules_loosened", "", str(error)) from None
    return rules
