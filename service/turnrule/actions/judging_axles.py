"""Judge an axle and keep the verdict together with those on its sides: nothing is answered that is not stored."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from turnrule.actions.answers import Answer
from turnrule.actions.axle_answers import SideAnswer, axle_answer_of
from turnrule.actions.desk import Desk
from turnrule.actions.finding_limits import NOT_FOUND
from turnrule.actions.judging_parts import Sent, answer_to, count_miss, verdict_record
from turnrule.actions.reaching_axles import AxleReached, reach_axle
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import ReadAxle
from turnrule.judging.words import Ruling, Side
from turnrule.store.port import AxleRecord, Key, VerdictRecord
from turnrule.store.reference_port import Once


@dataclass(frozen=True, slots=True)
class JudgedAxle:
    """The stored verdict on an axle, and what the verdicts on its sides say by themselves."""

    record: AxleRecord
    own: tuple[Ruling, ...]


def judge_both(
    desk: Desk, request: ReadAxle, body: bytes, key: Key, *, once: Once[AxleRecord] | None = None
) -> JudgedAxle:
    """Judge an axle and store the verdict and those on its sides, with everything that they were judged from.

    What was asked for and not found is counted once, not once a side. Raises `PartError` and `RefusedError` for what
    cannot be judged, `StoreError` where it cannot be stored.
    """
    judged_at = desk.clock()
    try:
        reached = reach_axle(desk.of(key.site), request, judged_at)
    except RefusedError as refusal:
        if refusal.code == NOT_FOUND:
            count_miss(desk, request.shared.part, judged_at)
        raise
    if reached.missed:
        count_miss(desk, request.shared.part, judged_at)
    axle_id = desk.make_id(judged_at)
    answers = side_answers(desk, reached, judged_at)
    answer = axle_answer_of(desk.pack.catalogue, reached, answers, id=axle_id, judged_at=judged_at)
    sides = [_side_record(reached, side, one, key, judged_at) for side, one in answers.items()]
    record = _record(request, reached, answers, answer, Sent(key, body), axle_id, judged_at)
    return JudgedAxle(desk.store.record_axle(record, sides, once), tuple(side.ruling for side in sides))


def side_answers(desk: Desk, reached: AxleReached, judged_at: datetime.datetime) -> dict[Side, SideAnswer]:
    """The answers that tell the sides' own verdicts, each under an id of its own."""
    made: dict[Side, SideAnswer] = {}
    for side, one in reached.sides.items():
        verdict_id = desk.make_id(judged_at)
        made[side] = SideAnswer(verdict_id, answer_to(one.read.request, one.reached, verdict_id, judged_at))
    return made


def _side_record(
    reached: AxleReached, side: Side, given: SideAnswer, key: Key, judged_at: datetime.datetime
) -> VerdictRecord:
    """A side's verdict as a record of its own, its request the one that the side makes."""
    one = reached.sides[side]
    sent = Sent(key, one.read.body)
    return verdict_record(one.read.request, sent, one.reached, given.answer, given.verdict_id, judged_at)


def _record(  # noqa: PLR0917 - all that is kept of an axle
    request: ReadAxle,
    reached: AxleReached,
    answers: Mapping[Side, SideAnswer],
    answer: Answer,
    sent: Sent,
    axle_id: str,
    judged_at: datetime.datetime,
) -> AxleRecord:
    shared = request.shared
    left, right = (answers[side].verdict_id if side in answers else None for side in Side)
    return AxleRecord(
        id=axle_id,
        judged_at=judged_at,
        key_name=sent.key.name,
        site=sent.key.site,
        ruling=reached.axle.ruling,
        kind=shared.part.kind,
        vehicle=shared.vehicle,
        reference=shared.reference,
        left_id=left,
        right_id=right,
        digest=answer.digest,
        request=sent.body,
        answer=answer.content,
    )
