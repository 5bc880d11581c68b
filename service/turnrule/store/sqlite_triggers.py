"""The triggers of the embedded store: what is written stays as it was written.

They bind every program that opens the file, not only this one. A message that begins with `taken:` says that
a name or number is in use already; it is raised before the row is stored, so that a replacing insert (which would
delete the older row without a word) is refused as well.
"""

from __future__ import annotations

from collections.abc import Iterator

TAKEN = "taken: "
"""How the message of a trigger begins that refuses a name or number in use."""


def refusing(table: str, event: str, name: str, when: str, message: str) -> str:
    """A trigger that refuses an event where a condition holds; always, where there is none."""
    condition = f"WHEN {when} " if when else ""
    body = f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    return f"CREATE TRIGGER {table}_{name} BEFORE {event} ON {table} {condition}{body}"


def append_only(table: str, what: str) -> Iterator[str]:
    """Triggers that let nothing of a table be changed or deleted."""
    yield refusing(table, "UPDATE", "no_update", "", f"{what} is never changed once stored")
    yield refusing(table, "DELETE", "no_delete", "", f"{what} is never deleted")


def stored(table: str, owner: str) -> str:
    """True where the revision is stored already."""
    return f"EXISTS (SELECT 1 FROM {table} WHERE {owner} = NEW.{owner} AND revision = NEW.revision)"  # noqa: S608


def older(table: str, owner: str) -> str:
    """True where a newer revision is stored, and this one is not: triggers run in no order that could be relied on."""
    newest = f"(SELECT max(revision) FROM {table} WHERE {owner} = NEW.{owner})"  # noqa: S608  # names of ours
    return f"NEW.revision < {newest} AND NOT {stored(table, owner)}"


def _releases() -> Iterator[str]:
    yield from append_only("releases", "a release")
    yield refusing(
        "releases",
        "INSERT",
        "next_number",
        "NEW.number IS NOT (SELECT ifnull(max(number), 0) + 1 FROM releases)",
        "releases are numbered one after another",
    )
    yield refusing(
        "releases",
        "INSERT",
        "counted",
        "NEW.records IS NOT (SELECT count(DISTINCT limits_id) FROM limit_revisions)",
        "a release says how many records it holds",
    )


def _limit_revisions() -> Iterator[str]:
    yield from append_only("limit_revisions", "a limits revision")
    yield refusing(
        "limit_revisions",
        "INSERT",
        "no_replace",
        stored("limit_revisions", "limits_id"),
        f"{TAKEN}this revision of the limits record is stored already",
    )
    yield refusing(
        "limit_revisions",
        "INSERT",
        "newer",
        older("limit_revisions", "limits_id"),
        "a revision of a limits record is newer than those before it",
    )
    yield refusing(
        "limit_revisions",
        "INSERT",
        "closed",
        "EXISTS (SELECT 1 FROM releases WHERE number >= NEW.release)",
        "a published release takes no more revisions",
    )


def _policies() -> Iterator[str]:
    yield from append_only("policies", "a policy revision")
    yield refusing(
        "policies",
        "INSERT",
        "no_replace",
        stored("policies", "name"),
        f"{TAKEN}this revision of the policy is stored already",
    )
    yield refusing(
        "policies",
        "INSERT",
        "newer",
        older("policies", "name"),
        "a revision of a policy is newer than those before it",
    )


def verdict_triggers() -> Iterator[str]:
    """Verdicts are numbered one after another, and stay."""
    yield from append_only("verdicts", "a verdict")
    yield refusing(
        "verdicts",
        "INSERT",
        "no_replace",
        "EXISTS (SELECT 1 FROM verdicts WHERE id = NEW.id)",
        f"{TAKEN}a verdict with this id is stored already",
    )
    yield refusing(
        "verdicts",
        "INSERT",
        "in_order",
        "NEW.sequence IS NOT (SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = 'verdicts')",
        "verdicts are numbered one after another",
    )


def _api_keys() -> Iterator[str]:
    same = " AND ".join(f"NEW.{name} IS OLD.{name}" for name in ("name", "digest", "scopes", "site", "created_at"))
    yield refusing("api_keys", "DELETE", "no_delete", "", "a key is revoked, never deleted")
    yield refusing(
        "api_keys",
        "UPDATE",
        "only_revoked",
        f"NOT ({same} AND OLD.revoked_at IS NULL AND NEW.revoked_at IS NOT NULL)",
        "a key is revoked once, and nothing else of it changes",
    )
    yield refusing(
        "api_keys",
        "INSERT",
        "no_replace",
        "EXISTS (SELECT 1 FROM api_keys WHERE name = NEW.name OR digest = NEW.digest)",
        f"{TAKEN}a key of this name, or with this secret, is stored already",
    )


def idempotency_triggers() -> Iterator[str]:
    """An idempotency key stays with what it led to."""
    yield refusing("idempotency_keys", "UPDATE", "no_update", "", "an idempotency key is never changed once stored")
    yield refusing(
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
    *verdict_triggers(),
    *_api_keys(),
    *idempotency_triggers(),
)
