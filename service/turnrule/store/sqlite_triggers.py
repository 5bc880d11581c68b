"""The triggers of the embedded store: what is written stays as it was written.

They bind every program that opens the file, not only this one. A message that begins with `taken:` says that
a name or number is in use already; it is raised before the row is stored, so that a replacing insert (which would
delete the older row without a word) is refused as well.
"""

from __future__ import annotations

from collections.abc import Iterator

TAKEN = "taken: "
"""How the message of a trigger begins that refuses a name or number in use."""


def _refuse(table: str, event: str, name: str, when: str, message: str) -> str:
    condition = f"WHEN {when} " if when else ""
    body = f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    return f"CREATE TRIGGER {table}_{name} BEFORE {event} ON {table} {condition}{body}"


def _append_only(table: str, what: str) -> Iterator[str]:
    yield _refuse(table, "UPDATE", "no_update", "", f"{what} is never changed once stored")
    yield _refuse(table, "DELETE", "no_delete", "", f"{what} is never deleted")


def _stored(table: str, owner: str) -> str:
    """True where the revision is stored already."""
    return f"EXISTS (SELECT 1 FROM {table} WHERE {owner} = NEW.{owner} AND revision = NEW.revision)"  # noqa: S608


def _older(table: str, owner: str) -> str:
    """True where a newer revision is stored, and this one is not: triggers run in no order that could be relied on."""
    newest = f"(SELECT max(revision) FROM {table} WHERE {owner} = NEW.{owner})"  # noqa: S608  # names of ours
    return f"NEW.revision < {newest} AND NOT {_stored(table, owner)}"


def _releases() -> Iterator[str]:
    yield from _append_only("releases", "a release")
    yield _refuse(
        "releases",
        "INSERT",
        "next_number",
        "NEW.number IS NOT (SELECT ifnull(max(number), 0) + 1 FROM releases)",
        "releases are numbered one after another",
    )
    yield _refuse(
        "releases",
        "INSERT",
        "counted",
        "NEW.records IS NOT (SELECT count(DISTINCT limits_id) FROM limit_revisions)",
        "a release says how many records it holds",
    )


def _limit_revisions() -> Iterator[str]:
    yield from _append_only("limit_revisions", "a limits revision")
    yield _refuse(
        "limit_revisions",
        "INSERT",
        "no_replace",
        _stored("limit_revisions", "limits_id"),
        f"{TAKEN}this revision of the limits record is stored already",
    )
    yield _refuse(
        "limit_revisions",
        "INSERT",
        "newer",
        _older("limit_revisions", "limits_id"),
        "a revision of a limits record is newer than those before it",
    )
    yield _refuse(
        "limit_revisions",
        "INSERT",
        "closed",
        "EXISTS (SELECT 1 FROM releases WHERE number >= NEW.release)",
        "a published release takes no more revisions",
    )


def _policies() -> Iterator[str]:
    yield from _append_only("policies", "a policy revision")
    yield _refuse(
        "policies",
        "INSERT",
        "no_replace",
        _stored("policies", "name"),
        f"{TAKEN}this revision of the policy is stored already",
    )
    yield _refuse(
        "policies",
        "INSERT",
        "newer",
        _older("policies", "name"),
        "a revision of a policy is newer than those before it",
    )


def _verdicts() -> Iterator[str]:
    yield from _append_only("verdicts", "a verdict")
    yield _refuse(
        "verdicts",
        "INSERT",
        "no_replace",
        "EXISTS (SELECT 1 FROM verdicts WHERE id = NEW.id)",
        f"{TAKEN}a verdict with this id is stored already",
    )
    yield _refuse(
        "verdicts",
        "INSERT",
        "in_order",
        "NEW.sequence IS NOT (SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = 'verdicts')",
        "verdicts are numbered one after another",
    )


def _api_keys() -> Iterator[str]:
    same = " AND ".join(f"NEW.{name} IS OLD.{name}" for name in ("name", "digest", "scopes", "site", "created_at"))
    yield _refuse("api_keys", "DELETE", "no_delete", "", "a key is revoked, never deleted")
    yield _refuse(
        "api_keys",
        "UPDATE",
        "only_revoked",
        f"NOT ({same} AND OLD.revoked_at IS NULL AND NEW.revoked_at IS NOT NULL)",
        "a key is revoked once, and nothing else of it changes",
    )
    yield _refuse(
        "api_keys",
        "INSERT",
        "no_replace",
        "EXISTS (SELECT 1 FROM api_keys WHERE name = NEW.name OR digest = NEW.digest)",
        f"{TAKEN}a key of this name, or with this secret, is stored already",
    )


def _idempotency_keys() -> Iterator[str]:
    yield _refuse("idempotency_keys", "UPDATE", "no_update", "", "an idempotency key is never changed once stored")
    yield _refuse(
        "idempotency_keys",
        "INSERT",
        "no_replace",
        "EXISTS (SELECT 1 FROM idempotency_keys WHERE key_name = NEW.key_name AND value = NEW.value)",
        f"{TAKEN}this idempotency key is stored already",
    )


TRIGGERS = (
    *_releases(),
    *_limit_revisions(),
    *_policies(),
    *_verdicts(),
    *_api_keys(),
    *_idempotency_keys(),
)
