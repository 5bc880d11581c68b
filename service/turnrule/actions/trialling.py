"""A policy trial: stored verdicts judged under candidates in place of their own policy, and nothing is stored.

Each is judged as of its own day, from its own release, with the withdrawals that it counted; only the policy is another
one. What it is compared with is how the part stands by its own policy: as it was answered, or, where another engine or
pack has answered it, as this one judges it, so that what differs is what the policy does. Each is read once, whatever
the number of candidates, and memory does not grow with the number of verdicts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from turnrule.actions.desk import Desk
from turnrule.actions.impact import answer_now, answer_stored
from turnrule.actions.impact_lines import Concerned, Obstacle, Standing, concerned, standing
from turnrule.actions.judging_again import ground_again
from turnrule.actions.judging_parts import Ground, Reached, reach_from
from turnrule.actions.numbers import write_exact
from turnrule.actions.policies import recorded_policy
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import ReadRequest
from turnrule.actions.trial_candidates import Candidate
from turnrule.judging import ENGINE
from turnrule.judging.faults import PartError
from turnrule.judging.policy import Policy
from turnrule.judging.words import Ruling
from turnrule.store.port import VerdictQuery, VerdictRecord

PAGE = 100
"""So many verdicts are taken from the store at a time, and after each page a walk tells how far it is."""

MOST_VERDICTS = 10_000


@dataclass(frozen=True, slots=True)
class TrialOutcome:
    """How a part stands under one candidate; `obstacle` says why it cannot be judged under it."""

    standing: Standing | None
    obstacle: Obstacle | None = None


@dataclass(frozen=True, slots=True)
class TrialLine:
    """A stored verdict that comes out differently under a candidate, with its outcome under each of them."""

    verdict: Concerned
    before: Standing
    after: tuple[TrialOutcome, ...]


@dataclass(frozen=True, slots=True)
class TrialSoFar:
    """How many verdicts were looked at so far."""

    looked_at: int


@dataclass(slots=True)
class TrialRow:
    """What one candidate comes to over all verdicts that could be judged.

    `moved` counts verdicts by what they are and what they become, those that stay included. `cuts` is how many keep
    their verdict while the answer to the cut that was asked for is another one, `refused` how many cannot be judged
    under the candidate.
    """

    candidate: Candidate
    moved: Counter[tuple[Ruling, Ruling]] = field(default_factory=Counter)
    cuts: int = 0
    refused: int = 0

    @property
    def changed(self) -> int:
        """How many come out differently."""
        other = sum(count for (before, after), count in self.moved.items() if before is not after)
        return other + self.cuts + self.refused

    def before(self, ruling: Ruling) -> int:
        """How many are of this ruling by their own policy, of those that both can judge."""
        return sum(count for (before, _), count in self.moved.items() if before is ruling)

    def after(self, ruling: Ruling) -> int:
        """How many are of this ruling under the candidate."""
        return sum(count for (_, after), count in self.moved.items() if after is ruling)


@dataclass(frozen=True, slots=True)
class TrialDone:
    """The end of a trial.

    `lost` of the verdicts that were looked at cannot be judged any more, whatever the policy; `otherwise` stand
    otherwise by their own policy than they were answered, since another engine or pack answered them.
    """

    looked_at: int
    lost: int
    otherwise: int
    rows: tuple[TrialRow, ...]


@dataclass(slots=True)
class _Trial:
    """What every verdict of one trial shares, and what it has come to."""

    desk: Desk
    read: Callable[[bytes], ReadRequest]
    pack: bytes
    rows: tuple[TrialRow, ...]
    lost: int = 0
    otherwise: int = 0


@dataclass(frozen=True, slots=True)
class _Base:
    """A verdict by its own policy; `reached` is None where that is what was answered."""

    record: VerdictRecord
    request: ReadRequest
    ground: Ground
    ruling: Ruling
    reached: Reached | None


def run_trial(
    desk: Desk,
    read: Callable[[bytes], ReadRequest],
    candidates: Sequence[Candidate],
    query: VerdictQuery,
    *,
    newest: int,
    site: str | None = None,
) -> Iterator[TrialLine | TrialSoFar | TrialDone]:
    """Judge the newest verdicts that a query finds under each candidate; from the newest to the oldest.

    The last thing told is `TrialDone`. `site` is the one that whoever asks is bound to: others' verdicts are left out.
    `read` takes the bytes of a request and raises `PartError` where they cannot be read any more. Raises `StoreError`.
    """
    pack = write_exact({"pack": {"version": desk.pack.version, "digest": desk.pack.digest}})[1:-1]
    trial = _Trial(desk, read, pack, tuple(TrialRow(candidate) for candidate in candidates))
    seen = 0
    for page in _pages(desk, query, newest, site):
        for record in page:
            seen += 1
            line = _tried(trial, record)
            if line is not None:
                yield line
        yield TrialSoFar(seen)
    yield TrialDone(seen, trial.lost, trial.otherwise, trial.rows)


def _pages(desk: Desk, query: VerdictQuery, newest: int, site: str | None) -> Iterator[Sequence[VerdictRecord]]:
    if site is not None:
        if query.site not in {None, site}:
            return
        query = replace(query, site=site)
    before, left = None, newest
    while left and (page := desk.store.newest_verdicts(query, before=before, limit=min(PAGE, left))):
        yield page
        before, left = page[-1].sequence, left - len(page)


def _tried(trial: _Trial, record: VerdictRecord) -> TrialLine | None:
    """The line of a verdict; None where no candidate changes it. Counts it either way."""
    try:
        base = _base(trial, record)
    except (PartError, RefusedError):
        trial.lost += 1
        return None
    trial.otherwise += base.ruling is not record.ruling
    found = [_under(trial, base, row) for row in trial.rows]
    if not any(one is not None for one in found):
        return None
    answered = answer_stored(record)
    before = standing(answered if base.reached is None else answer_now(base.request, base.reached))
    about = concerned(record, base.request.part.application, answered)
    return TrialLine(about, before, tuple(TrialOutcome(before) if one is None else one for one in found))


def _base(trial: _Trial, record: VerdictRecord) -> _Base:
    """How a part stands by its own policy."""
    request = trial.read(record.request)
    policy = recorded_policy(trial.desk, record.policy_name, record.policy_revision)
    ground = ground_again(trial.desk, record, request, policy)
    if record.engine == ENGINE and trial.pack in record.answer:
        return _Base(record, request, ground, record.ruling, None)
    reached = reach_from(trial.desk, request, record.judged_at, ground, drawn=record.drawn)
    return _Base(record, request, ground, reached.verdict.ruling, reached)


def _under(trial: _Trial, base: _Base, row: TrialRow) -> TrialOutcome | None:
    """What becomes of a part under one candidate; None where it stands as it does."""
    policy = row.candidate.policy
    if _alike(policy, base.ground.policy):
        row.moved[base.ruling, base.ruling] += 1
        return None
    try:
        record, ground = base.record, replace(base.ground, policy=policy)
        reached = reach_from(trial.desk, base.request, record.judged_at, ground, drawn=record.drawn)
    except (PartError, RefusedError) as error:
        row.refused += 1
        return TrialOutcome(None, Obstacle(error.faults[0].code, str(error)))
    ruling = reached.verdict.ruling
    row.moved[base.ruling, ruling] += 1
    if ruling is base.ruling:
        if _same_cut(base, reached):
            return None
        row.cuts += 1
    return TrialOutcome(standing(answer_now(base.request, reached)))


def _alike(one: Policy, other: Policy) -> bool:
    """True where two policies ask for the same, whatever they are called."""
    return replace(one, name=other.name, revision=other.revision) == other


def _same_cut(base: _Base, reached: Reached) -> bool:
    """True where the cut that was asked for, if one was, is allowed as it is by the part's own policy."""
    cut = reached.verdict.cut
    if cut is None or not cut.asked:
        return True
    if base.reached is not None:
        own = base.reached.verdict.cut
        return own is not None and own.allowed == cut.allowed
    return bool(standing(answer_stored(base.record)).cut_allowed == cut.allowed)
