"""One withdrawal as one line of `withdrawals.jsonl`, and back."""

from __future__ import annotations

from dataclasses import fields

from turnrule.actions.answers import moment
from turnrule.actions.release_packs.damage import RowError
from turnrule.actions.release_packs.limit_lines import GREATEST_REVISION, read_id, row_digest
from turnrule.actions.release_packs.members import Members, canonical_line, parsed
from turnrule.store.limit_records import Withdrawal

NAMES = frozenset((*(field.name for field in fields(Withdrawal)), "row_digest"))
"""The members of a line: every field of a withdrawal, and the digest of the row."""


def withdrawal_line(withdrawal: Withdrawal) -> bytes:
    """The line of a withdrawal, without its line feed."""
    document = _document(withdrawal)
    return canonical_line({**document, "row_digest": row_digest(document)})


def _document(withdrawal: Withdrawal) -> dict[str, object]:
    return {
        "limits_id": withdrawal.limits_id,
        "revision": withdrawal.revision,
        "withdrawn_by": withdrawal.withdrawn_by,
        "withdrawn_at": moment(withdrawal.withdrawn_at),
        "reason": withdrawal.reason,
        "sequence": withdrawal.sequence,
    }


def read_withdrawal_line(line: bytes) -> Withdrawal:
    """The withdrawal of a line without its line feed. Raises `RowError`."""
    members = Members(parsed(line), NAMES)
    withdrawal = Withdrawal(
        limits_id=read_id(members),
        revision=members.whole("revision", most=GREATEST_REVISION),
        withdrawn_by=members.text("withdrawn_by"),
        withdrawn_at=members.moment("withdrawn_at"),
        reason=members.text("reason"),
        sequence=members.whole("sequence"),
    )
    document = _document(withdrawal)
    if members.text("row_digest") != row_digest(document):
        raise RowError("was changed: it has another digest than its row_digest")
    if withdrawal_line(withdrawal) != line:
        raise RowError("is not written in the pack's own form: names sorted, no spaces")
    return withdrawal
