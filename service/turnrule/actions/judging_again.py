"""Stored verdicts judged again as they were judged: as of their own day, their own release and withdrawals."""

from __future__ import annotations

from dataclasses import replace

from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import Ground, ground_for
from turnrule.actions.planning import recorded_lathe
from turnrule.actions.requests import ReadRequest
from turnrule.judging.policy import Policy
from turnrule.store.port import VerdictRecord


def ground_again(desk: Desk, record: VerdictRecord, request: ReadRequest, policy: Policy) -> Ground:
    """What a stored verdict was judged by, but for the policy, which is given. Raises `RefusedError`."""
    lathe = recorded_lathe(desk, record)
    if record.release is None:  # nothing was released yet: what has been since, was not there
        return Ground(policy, None, None, record.withdrawn, lathe)
    pinned = replace(request, release=record.release)
    counted = record.withdrawn
    return ground_for(desk, pinned, record.judged_at, policy=policy, withdrawn=counted, lathe=lathe)
