"""Impact lists every stored verdict that comes out differently under a release, and none besides.

Held against judging everything again, one by one, in two ways: through the same door as any other judgement, and by
sending the stored requests once more while the release is the newest.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from tests.actions.impact_world import SHOP, World
from tests.api.conftest import Clock
from tests.bench import fleet
from tests.bench.filling import COUNTER, judge_fleet, publish, revision_of
from turnrule.actions.answers import document_of
from turnrule.actions.desk import Desk
from turnrule.actions.impact import TELL_EVERY, Differ, ImpactDone, ImpactLine, ImpactSoFar, impact
from turnrule.actions.impact_advice import Action
from turnrule.actions.judging_parts import Sent, judge_part, reach
from turnrule.actions.numbers import read_exact, write_exact
from turnrule.actions.policies import read_policy
from turnrule.actions.refusals import RefusedError
from turnrule.api.impact import read_stored
from turnrule.judging.faults import PartError
from turnrule.judging.words import Effect, Ruling
from turnrule.store.limit_records import Withdrawal
from turnrule.store.port import Key, Store, VerdictQuery, VerdictRecord

SEEDS = range(6)
LAWS = {"id", "judged_at", "digest", "release", "pack", "engine"}
Answer = Mapping[str, Any]


def everything(store: Store) -> Iterator[VerdictRecord]:
    """Every stored verdict."""
    after = 0
    while page := store.verdicts(VerdictQuery(), after=after, limit=500):
        yield from page
        after = page[-1].sequence


@dataclass(frozen=True, slots=True)
class Again:
    """A part judged again: its answer, or the code with which it is refused."""

    answer: Answer
    refusal: str | None = None

    def differs(self, record: VerdictRecord, differ: Differ) -> bool:
        """True where the stored answer is another one."""
        if self.refusal is not None:
            return True
        before, now = read_exact(record.answer), self.answer
        if differ is Differ.ANYTHING:
            return any(before[name] != now[name] for name in before.keys() - LAWS)
        return asked(before) != asked(now)


def asked(answer: Answer) -> tuple[str, bool | None]:
    """The verdict, and whether the cut that was asked for is allowed."""
    cut = answer["cut"]
    return answer["verdict"], cut["allowed"] if cut and cut["asked"] else None


def judged_again(desk: Desk, record: VerdictRecord, number: int) -> Again:
    """A stored verdict judged again under a release, whether it can have been touched or not."""
    release = desk.store.release(number)
    view = read_policy(desk, record.policy_name, record.policy_revision)
    assert release is not None
    assert view is not None
    request = replace(read_stored(record.request), release=number)
    try:
        found = reach(desk, request, record.judged_at, policy=view.effective, withdrawn=release.withdrawn)
    except (PartError, RefusedError) as error:
        return Again({}, error.code)
    return Again(read_exact(write_exact(document_of(found.verdict, request.part, found.source, found.basis))))


def told(desk: Desk, release: int, since: int, differ: Differ = Differ.VERDICT, **more: Any) -> list[ImpactLine]:  # noqa: ANN401 - options of the call
    """The lines of a walk that came to its end."""
    *steps, done = impact(desk, read_stored, release, since, differ=differ, **more)
    lines = [step for step in steps if isinstance(step, ImpactLine)]
    assert isinstance(done, ImpactDone)
    assert done.changed == len(lines)
    assert done.lost == sum(line.obstacle is not None for line in lines)
    return lines


@pytest.fixture(params=SEEDS)
def world(request: pytest.FixtureRequest, desk: Desk, clock: Clock) -> World:
    """Some months in an invented shop."""
    lived = World(desk, clock, Random(request.param))
    lived.live()
    return lived


@pytest.fixture
def months(desk: Desk, clock: Clock) -> World:
    """The months of one seed."""
    lived = World(desk, clock, Random(4))
    lived.live()
    return lived


@pytest.mark.parametrize("differ", list(Differ))
def test_impact_lists_what_comes_out_differently_and_nothing_else(world: World, differ: Differ) -> None:
    desk = world.desk
    newest = desk.store.release()
    assert newest is not None
    records = {record.sequence: record for record in everything(desk.store)}
    for number in range(2, newest.number + 1):
        before = {at: one for at, one in records.items() if (one.release or 0) < number}
        again = {at: judged_again(desk, one, number) for at, one in before.items()}
        expected = [at for at, one in before.items() if again[at].differs(one, differ)]
        lines = told(desk, number, 0, differ)
        assert [line.verdict.sequence for line in lines] == expected
        for line in lines:
            require_right(line, records[line.verdict.sequence], again[line.verdict.sequence])
        for since in range(1, number):
            listed = [line.verdict.sequence for line in told(desk, number, since, differ)]
            assert set(listed) <= set(expected)
            # What was judged under `since` or later differs by what changed since, and by nothing else; but for a
            # request that names an old release, and is judged without what was withdrawn after that one.
            own = {at for at in expected if (records[at].release or 0) >= since and records[at].id not in world.pinned}
            assert own <= set(listed)


def require_right(line: ImpactLine, record: VerdictRecord, again: Again) -> None:
    """A line says what the stored answer and the new one say."""
    before = read_exact(record.answer)
    assert (line.verdict.id, line.verdict.judged_at, line.verdict.site) == (record.id, record.judged_at, record.site)
    assert (line.before.ruling, line.before.cut_allowed) == asked(before)
    assert (line.before.limits_id, line.before.limits_revision) == (record.limits_id, record.limits_revision)
    assert line.before.release == record.release
    if line.after is None:
        assert line.obstacle is not None
        assert line.obstacle.code == again.refusal
        return
    assert again.refusal is None
    now = again.answer
    assert (line.after.ruling, line.after.cut_allowed) == asked(now)
    assert (line.after.limits_id, line.after.limits_revision) == (now["limits"]["limits_id"], now["limits"]["revision"])
    assert set(line.differs) == {
        name for name in before.keys() - {"id", "judged_at", "digest", "release"} if before[name] != now[name]
    }
    outcomes = [
        Counter((one["check"], one["quantity"], one["outcome"]) for one in answer["checks"]) for answer in (before, now)
    ]
    gone, come = outcomes[0] - outcomes[1], outcomes[1] - outcomes[0]
    assert Counter((one.check, one.quantity, one.before) for one in line.checks if one.before) == gone
    assert Counter((one.check, one.quantity, one.after) for one in line.checks if one.after) == come


def test_sending_every_request_again_gives_what_impact_foretold(world: World) -> None:
    desk, clock = world.desk, world.clock
    clock.move(days=1)
    world.publish([])
    release = desk.store.release()
    assert release is not None
    records = list(everything(desk.store))
    foretold = {line.verdict.id: line for line in told(desk, release.number, 0, Differ.ANYTHING)}
    seen: Counter[str] = Counter()
    for record in records:
        view = read_policy(desk, record.policy_name)
        if view is None or view.revision != record.policy_revision:
            continue  # the policy has been written anew since, and a new request would be judged under that
        clock.now = record.judged_at
        body = {name: value for name, value in read_exact(record.request).items() if name != "release"}
        sent = Sent(Key("again", "", frozenset(), None, clock.now), write_exact(body))
        line = foretold.get(record.id)
        now = sent_again(desk, sent)
        if line is None or line.after is None:
            assert now.refusal == (line and line.obstacle and line.obstacle.code)
        else:
            assert (line.after.ruling, line.after.cut_allowed) == asked(now.answer)
        assert (line is not None) == now.differs(record, Differ.ANYTHING)
        seen["same" if line is None else "lost" if line.after is None else "differs"] += 1
    assert seen["differs"]
    assert seen["same"]


def sent_again(desk: Desk, sent: Sent) -> Again:
    """What a request gets when it is sent once more."""
    try:
        return Again(read_exact(judge_part(desk, read_stored(sent.body), sent).record.answer))
    except (PartError, RefusedError) as error:
        return Again({}, error.code)


def test_the_months_bring_every_kind_of_change(desk: Desk, clock: Clock) -> None:
    world = World(desk, clock, Random(1))
    world.live(months=8, parts=60)
    newest = desk.store.release()
    assert newest is not None
    lines = [line for number in range(2, newest.number + 1) for line in told(desk, number, number - 1, Differ.ANYTHING)]
    kinds = Counter((line.before.ruling, line.after and line.after.ruling) for line in lines)
    assert {line.obstacle.code for line in lines if line.obstacle} >= {"application_not_found"}
    assert {line.advice.action for line in lines} == set(Action)
    assert {line.verdict.kind for line in lines} == {"rotor", "drum"}
    assert any(line.before.limits_id is None and line.after and line.after.limits_id for line in lines)
    assert any(line.before.limits_id and line.after and not line.after.limits_id for line in lines)
    assert any(line.before.cut_allowed and line.after and not line.after.cut_allowed for line in lines)
    assert len({pair for pair in kinds if pair[0] != pair[1]}) >= 8
    assert world.refused
    assert {record.policy_name for record in everything(desk.store)} >= {SHOP, "default", "fleet_reserve"}


def test_a_walk_taken_up_after_any_line_tells_the_rest(months: World) -> None:
    newest = months.desk.store.release()
    assert newest is not None
    lines = told(months.desk, newest.number, 0, Differ.ANYTHING)
    assert lines
    for place, line in enumerate(lines, start=1):
        assert told(months.desk, newest.number, 0, Differ.ANYTHING, after=line.verdict.sequence) == lines[place:]
    assert told(months.desk, newest.number, 0, Differ.ANYTHING, after=lines[0].verdict.sequence - 1) == lines


def test_a_walk_for_a_site_tells_of_that_site_only(months: World) -> None:
    newest = months.desk.store.release()
    assert newest is not None
    lines = told(months.desk, newest.number, 0, Differ.ANYTHING)
    for site in ("north", "south", "nowhere"):
        own = [line for line in lines if line.verdict.site == site]
        assert told(months.desk, newest.number, 0, Differ.ANYTHING, site=site) == own


def test_a_walk_tells_how_far_it_is_even_where_nothing_differs(desk: Desk) -> None:
    count = 2 * TELL_EVERY + 300
    publish(desk, (revision_of(number) for number in range(8)))
    judge_fleet(desk, count, records=8, distinct=60)
    publish(desk, [revision_of(number, stricter=Decimal(0)) for number in range(8)])
    *steps, done = impact(desk, read_stored, 2, 1)
    assert steps == [ImpactSoFar(TELL_EVERY, TELL_EVERY), ImpactSoFar(2 * TELL_EVERY, 2 * TELL_EVERY)]
    assert done == ImpactDone(count, count, 0, 0)
    *steps, _ = impact(desk, read_stored, 2, 1, site="a site without verdicts")
    assert steps == [ImpactSoFar(TELL_EVERY, 0), ImpactSoFar(2 * TELL_EVERY, 0)]
    assert list(impact(desk, read_stored, 2, 1, after=count - 1)) == [ImpactDone(count, 1, 0, 0)]
    assert list(impact(desk, read_stored, 2, 1, after=count)) == [ImpactDone(count, 0, 0, 0)]


def test_there_is_no_impact_of_a_release_that_was_never_published(desk: Desk) -> None:
    with pytest.raises(RefusedError) as caught:
        next(impact(desk, read_stored, 1, 0))
    assert caught.value.code == "release_not_found"


def test_a_verdict_that_cannot_be_read_or_whose_policy_is_gone_is_told_with_the_reason(desk: Desk) -> None:
    publish(desk, [revision_of(0)])
    judge_fleet(desk, 1, records=1)
    (whole,) = everything(desk.store)
    body = json.loads(whole.request)
    changed = {
        "unreadable": replace(whole, request=b'{"unit": "mm"'),
        "misshapen": replace(whole, request=json.dumps({**body, "thicknes": [1]}).encode()),
        "policy": replace(whole, policy_name="careful_bench", policy_revision=99),
        "engine": replace(whole, request=json.dumps({**body, "findings": ["no_such_finding"]}).encode()),
    }
    for name, record in changed.items():
        desk.store.record_verdict(replace(record, id=name, sequence=0))
    publish(desk, [revision_of(0, stricter=Decimal(0))])
    found = {line.verdict.id: line.obstacle and line.obstacle.code for line in told(desk, 2, 1)}
    assert found == {
        "unreadable": "invalid_request",
        "misshapen": "invalid_request",
        "policy": "policy_not_found",
        "engine": "invalid_request",
    }


def test_another_pack_or_engine_alone_makes_nothing_come_out_differently(desk: Desk) -> None:
    publish(desk, [revision_of(0)])
    older = replace(desk, pack=replace(desk.pack, version="0", digest="sha256:00"))
    judge_fleet(older, 20, records=1)
    publish(desk, [revision_of(1)])  # another axle of the same vehicle
    assert told(desk, 2, 1, Differ.ANYTHING) == []
    publish(desk, [revision_of(0, stricter=Decimal("0.2"))])
    lines = told(desk, 3, 2, Differ.ANYTHING)
    assert len(lines) == 20
    assert all({"pack", "limits"} <= set(line.differs) for line in lines)


def test_another_pack_that_judges_otherwise_is_named_among_what_differs(desk: Desk) -> None:
    publish(desk, [revision_of(0)])
    milder = replace(desk.pack.catalogue.findings["crack_through"], effect=Effect.CAUTION)
    findings = {**desk.pack.catalogue.findings, "crack_through": milder}
    pack = replace(desk.pack, digest="sha256:00", catalogue=replace(desk.pack.catalogue, findings=findings))
    body = {**fleet.request_body(0, Random(1)), "thickness": [fleet.figures(0).nominal] * 8, "lateral_runout": 0}
    sent = Sent(COUNTER, write_exact({**body, "findings": ["crack_through"]}))
    judged = judge_part(replace(desk, pack=pack), read_stored(sent.body), sent)
    assert judged.record.ruling is Ruling.SERVICEABLE
    publish(desk, [revision_of(1)])  # another axle of the same vehicle
    (line,) = told(desk, 2, 1)
    assert line.after is not None
    assert (line.after.ruling, line.after.limits_revision) == (Ruling.REPLACE, 1)
    assert "pack" in line.differs
    assert "limits" not in line.differs


def test_a_past_release_counts_its_own_withdrawals_only(desk: Desk) -> None:
    publish(desk, [revision_of(0)])
    judge_fleet(desk, 1, records=1)
    publish(desk, [replace(revision_of(0), limits_id="the-same-again")])
    desk.store.withdraw(Withdrawal("the-same-again", 1, "office", desk.clock(), "It is the same as the other."))
    publish(desk, [])
    (line,) = told(desk, 2, 1)
    assert line.obstacle is not None
    assert line.obstacle.code == "application_ambiguous"
    assert told(desk, 3, 2, Differ.ANYTHING) == []
