"""The triggers of limits: two people's entries, an order that never changes, nothing undone.

They bind every program that opens the file. `independence:` begins the message of one that keeps the two entries of a
record apart, `rules:` of one that keeps the store's rules from being loosened.
"""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.store.sqlite_triggers import TAKEN, append_only, idempotency_triggers, refusing, verdict_triggers

INDEPENDENCE = "independence: "
RULES = "rules: "
_SAME = "limits_id = NEW.limits_id AND revision = NEW.revision"
_RULE = "(SELECT one_person_pause_s FROM store_rules ORDER BY revision DESC LIMIT 1)"
_TOO_SOON = f"ifnull(strftime('%s', NEW.entered_at) - strftime('%s', entered_at) < {_RULE}, 1)"


def _exists(table: str, where: str) -> str:
    return f"EXISTS (SELECT 1 FROM {table} WHERE {where})"  # noqa: S608  # names of ours


def _next(table: str) -> str:
    last = f"(SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = '{table}')"  # noqa: S608  # names of ours
    return f"NEW.sequence IS NOT {last}"


def _releases() -> Iterator[str]:
    yield from append_only("releases", "a release")
    yield refusing(
        "releases",
        "INSERT",
        "next_number",
        "NEW.number IS NOT (SELECT ifnull(max(number), 0) + 1 FROM releases)",
        "releases are numbered one after another",
    )
    for column, table in (("accepted", "acceptances"), ("withdrawn", "withdrawals")):
        yield refusing(
            "releases",
            "INSERT",
            f"{column}_counted",
            f"NEW.{column} NOT BETWEEN (SELECT ifnull(max({column}), 0) FROM releases)"  # noqa: S608  # names of ours
            f" AND (SELECT ifnull(max(sequence), 0) FROM {table})",
            "a release counts what is there, and no less than the one before it",
        )


def _limit_revisions() -> Iterator[str]:
    finished = "ifnull((SELECT finished FROM imports WHERE id = {row}.import_id), 1) = 1"
    yield refusing("limit_revisions", "UPDATE", "no_update", "", "a limits revision is never changed once stored")
    yield refusing(
        "limit_revisions",
        "DELETE",
        "no_delete",
        finished.format(row="OLD"),
        "a limits revision is never deleted",
    )
    yield refusing(
        "limit_revisions",
        "INSERT",
        "no_replace",
        _exists("limit_revisions", _SAME),
        f"{TAKEN}this revision of the limits record is stored already",
    )
    yield refusing(
        "limit_revisions",
        "INSERT",
        "newer",
        "NEW.revision < (SELECT max(revision) FROM limit_revisions WHERE limits_id = NEW.limits_id)"  # noqa: S608  # fixed text
        f" AND NOT {_exists('limit_revisions', _SAME)}",
        "a revision of a limits record is newer than those before it",
    )
    yield refusing(
        "limit_revisions",
        "INSERT",
        "open_import",
        f"NEW.import_id IS NOT NULL AND {finished.format(row='NEW')}",
        "an import that is finished takes no more",
    )


def _acceptances() -> Iterator[str]:
    yield from append_only("acceptances", "an acceptance")
    yield refusing("acceptances", "INSERT", "in_order", _next("acceptances"), "acceptances are numbered one by one")
    yield refusing(
        "acceptances",
        "INSERT",
        "no_replace",
        _exists("acceptances", _SAME),
        f"{TAKEN}this revision of the limits record is verified already",
    )
    yield refusing(
        "acceptances",
        "INSERT",
        "newer",
        "NEW.revision < (SELECT max(revision) FROM acceptances WHERE limits_id = NEW.limits_id)",
        "a newer revision of the limits record is verified already",
    )
    yield refusing(
        "acceptances",
        "INSERT",
        "as_entered",
        "NOT " + _exists("limit_revisions", f"{_SAME} AND entered_by = NEW.entered_by AND entered_at = NEW.entered_at"),
        "an acceptance names who entered the revision, and when",
    )
    yield refusing(
        "acceptances",
        "INSERT",
        "not_rejected",
        _exists("rejections", _SAME),
        "a rejected draft is never verified",
    )
    yield refusing(
        "acceptances",
        "INSERT",
        "one_person",
        f"NEW.entered_by = NEW.verified_by AND (NEW.pause_s IS NULL OR NEW.pause_s IS NOT {_RULE}"
        " OR strftime('%s', NEW.verified_at) - strftime('%s', NEW.entered_at) < NEW.pause_s)",
        f"{INDEPENDENCE}the two entries of a record are made by two people, or by one after the pause of the store",
    )
    yield refusing(
        "acceptances",
        "INSERT",
        "third_person",
        f"(SELECT count(*) FROM mismatches WHERE {_SAME}) >= 2 AND (NEW.verified_by = NEW.entered_by OR "  # noqa: S608  # names of ours
        + _exists("mismatches", f"{_SAME} AND entered_by = NEW.verified_by")
        + ")",
        f"{INDEPENDENCE}after two mismatches somebody settles it who made none of the entries",
    )


def _mismatches() -> Iterator[str]:
    yield from append_only("mismatches", "a second entry")
    yield refusing(
        "mismatches",
        "INSERT",
        "in_order",
        f"NEW.attempt IS NOT (SELECT count(*) + 1 FROM mismatches WHERE {_SAME})",  # noqa: S608  # names of ours
        "second entries are numbered one after another",
    )
    yield refusing(
        "mismatches",
        "INSERT",
        "still_open",
        f"{_exists('acceptances', _SAME)} OR {_exists('rejections', _SAME)}",
        "a draft that is verified or rejected takes no more second entries",
    )
    yield refusing(
        "mismatches",
        "INSERT",
        "two_people",
        _exists("limit_revisions", f"{_SAME} AND entered_by = NEW.entered_by AND {_TOO_SOON}"),
        f"{INDEPENDENCE}the two entries of a record are made by two people, or by one after the pause of the store",
    )
    yield refusing(
        "mismatches",
        "INSERT",
        "third_person",
        f"NEW.attempt > 2 AND ({_exists('mismatches', f'{_SAME} AND entered_by = NEW.entered_by')}"
        f" OR {_exists('limit_revisions', f'{_SAME} AND entered_by = NEW.entered_by')})",
        f"{INDEPENDENCE}after two mismatches somebody settles it who made none of the entries",
    )


def _rejections() -> Iterator[str]:
    yield from append_only("rejections", "a rejection")
    yield refusing(
        "rejections",
        "INSERT",
        "not_accepted",
        _exists("acceptances", _SAME),
        "a verified revision is withdrawn, not rejected",
    )
    yield refusing(
        "rejections",
        "INSERT",
        "no_replace",
        _exists("rejections", _SAME),
        f"{TAKEN}this revision of the limits record is rejected already",
    )


def _withdrawals() -> Iterator[str]:
    yield from append_only("withdrawals", "a withdrawal")
    yield refusing("withdrawals", "INSERT", "in_order", _next("withdrawals"), "withdrawals are numbered one by one")


def _store_rules() -> Iterator[str]:
    yield from append_only("store_rules", "a rule of the store")
    yield refusing(
        "store_rules",
        "INSERT",
        "in_order",
        "NEW.revision IS NOT (SELECT ifnull(max(revision), 0) + 1 FROM store_rules)",
        "the rules of a store are numbered one after another",
    )
    yield refusing(
        "store_rules",
        "INSERT",
        "only_tighten",
        "NEW.signed_packs_only = 0 AND (SELECT max(signed_packs_only) FROM store_rules) = 1",
        f"{RULES}a store that takes signed packs only goes on doing so",
    )
    yield refusing(
        "store_rules",
        "INSERT",
        "set_at_first",
        f"NEW.one_person_pause_s IS NOT {_RULE} AND {_exists('limit_revisions', 'revision >= 1')}",
        f"{RULES}whether one person makes both entries is settled before the first limits are entered",
    )


def _kept_answers() -> Iterator[str]:
    yield refusing("kept_answers", "UPDATE", "no_update", "", "a kept answer is never changed once stored")
    yield refusing(
        "kept_answers",
        "INSERT",
        "no_replace",
        _exists("kept_answers", "key_name = NEW.key_name AND value = NEW.value"),
        f"{TAKEN}this idempotency key is stored already",
    )


def _imports() -> Iterator[str]:
    yield refusing(
        "imports",
        "INSERT",
        "no_replace",
        _exists("imports", "id = NEW.id"),
        f"{TAKEN}an import of this number is stored already",
    )
    yield refusing("imports", "UPDATE", "no_reopening", "OLD.finished = 1", "a finished import is never opened again")
    yield refusing("imports", "DELETE", "no_delete", "OLD.finished = 1", "a finished import is never deleted")


TRIGGERS = (
    *_releases(),
    *_imports(),
    *_limit_revisions(),
    *_acceptances(),
    *_mismatches(),
    *_rejections(),
    *_withdrawals(),
    *_store_rules(),
    *_kept_answers(),
    *verdict_triggers(),
    *idempotency_triggers(),
)
