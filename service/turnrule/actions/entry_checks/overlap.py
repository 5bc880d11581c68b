"""Whether a live record is for some of the same vehicles on some of the same days already."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal
from turnrule.actions.requests import LimitsEntry


def check(entry: LimitsEntry, around: Surroundings) -> Iterator[Remark]:
    """Refuses a second record for the same vehicles; names the other one, and what to do with it."""
    for other in around.overlapping(entry):
        if other.verified_by:
            remedy = f'correct it, with "corrects" naming {other.limits_id} and its newest revision'
        else:
            remedy = "it is a draft: make its second entry, or give it up, before another one"
        detail = f"the record {other.limits_id} is for some of the same vehicles on some of the same days; {remedy}"
        yield refusal("/application", "overlap", detail)
