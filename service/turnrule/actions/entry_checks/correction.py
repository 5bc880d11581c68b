"""Whether a correction says why it is made, and nothing else claims to be one."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal
from turnrule.actions.requests import LimitsEntry


def reason_remarks(entry: LimitsEntry) -> Iterator[Remark]:
    """A refusal where one of the two stands without the other."""
    if entry.corrects is not None and entry.reason is None:
        detail = "this field is needed: say why the record is corrected, for whoever asks later"
        yield refusal("/reason", "missing", detail)
    elif entry.corrects is None and entry.reason is not None:
        detail = 'a reason belongs to a correction; name the record in "corrects", or write a note instead'
        yield refusal("/reason", "reason_without_correction", detail)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses a correction without a reason, and a reason without a correction."""
    return reason_remarks(entry)
