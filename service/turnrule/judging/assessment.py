"""All checks of one case, in the order of the rules and without short circuit, with the cuts that they judge."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging import checks
from turnrule.judging.case import Case
from turnrule.judging.cuts import Cut, asked, cleans_up, least_cleaning, planned
from turnrule.judging.finished import MadeCut, made_cut
from turnrule.judging.part_life import PartLife
from turnrule.judging.verdict import Check
from turnrule.judging.wear_line import life_of_part
from turnrule.judging.words import CheckName, Effect, Outcome

_NO_CUT = "no machining is asked for"


@dataclass(frozen=True, slots=True)
class CutChecks:
    """One cut with what became of it."""

    cut: Cut
    machining: Check
    discard: Check
    total: Check
    balance: Check

    @property
    def outcomes(self) -> tuple[Check, ...]:
        """The checks that decide whether this cut may be made."""
        return (self.machining, self.discard, self.total, self.balance)

    def allowed(self, permitted: Check) -> bool | None:
        """True where every check passes, false where one does not, None where a limit is missing."""
        outcomes = [permitted.outcome, *(check.outcome for check in self.outcomes if _bound(check))]
        if Outcome.FAIL in outcomes or Outcome.UNPROVEN in outcomes:
            return False
        return None if Outcome.NOT_ASSESSED in outcomes else True


def _bound(check: Check) -> bool:
    """False for a policy's own bound that the policy does not set."""
    own = check.check in (CheckName.TOTAL_CUT, CheckName.FACE_BALANCE)
    return not (own and check.outcome is Outcome.NOT_ASSESSED)


@dataclass(frozen=True, slots=True)
class Assessment:
    """The checks of a case, sorted by what they are for."""

    findings: Check
    discard: Check
    form: tuple[Check, ...]
    needs_machining: bool
    was_asked: bool
    main: CutChecks | None
    least: CutChecks | None
    cleans: Check
    permitted: Check
    finished: Check | None
    made: MadeCut | None
    remaining: Check
    points: Check
    life: PartLife | None

    @property
    def cuts(self) -> tuple[CutChecks, ...]:
        """The cuts that were judged: the asked-for or planned one, and the least cleaning one beside it."""
        return tuple(cut for cut in (self.main, self.least) if cut is not None)

    def listed(self) -> tuple[Check, ...]:
        """Every check in the order of the rules; a check that nothing called for says so."""
        middle: list[Check] = []
        middle.append(self.cleans)
        bears = self.main is not None or self.finished is not None
        middle.append(self.permitted if bears else _idle(CheckName.MACHINING_PERMITTED))
        if self.finished is not None:
            middle.append(self.finished)
        judged = self.cuts
        middle += [cut.machining for cut in judged] or self._idle_machining()
        middle += [cut.discard for cut in judged] or [_idle(CheckName.DISCARD_AFTER_CUT)]
        made = [] if self.made is None else [self.made]
        totals = [*(one.total for one in made), *(cut.total for cut in judged)]
        balances = [*(one.balance for one in made), *(cut.balance for cut in judged)]
        middle += totals or [_idle(CheckName.TOTAL_CUT)]
        middle += balances or [_idle(CheckName.FACE_BALANCE)]
        return (
            self.findings,
            self.discard,
            *self.form,
            *middle,
            self.remaining,
            self.points,
            checks.axle_difference(),
        )

    def _idle_machining(self) -> list[Check]:
        return [] if self.finished is not None else [_idle(CheckName.MACHINING_LIMIT)]


def _idle(name: CheckName) -> Check:
    return Check(name, Outcome.NOT_ASSESSED, reason=_NO_CUT)


def assess(case: Case) -> Assessment:
    """Run every check."""
    form = checks.asks_for_machining(case)
    needs = any(check.outcome is Outcome.FAIL for check in form) or bool(case.having(Effect.MACHINE))
    main = _main_cut(case, needs=needs)
    cleaning = main is None or cleans_up(case.part, case.measured, main.cut)
    least = None
    if main is not None and not cleaning:
        cut = least_cleaning(case.part, case.measured, main.cut.zero)
        least = _judge_cut(case, cut, "after_least_cut")
    worst = case.measured.worst(case.part.kind)
    sizes = [cut.cut.after for cut in (main, least) if cut is not None and cut.cut.after is not None]
    life = life_of_part(case, _nearest(case, sizes) if needs and sizes else worst)
    return Assessment(
        findings=checks.findings(case),
        discard=checks.discard(case),
        form=form,
        needs_machining=needs,
        was_asked=case.part.cut is not None,
        main=main,
        least=least,
        cleans=_cleaning_check(main, clean=cleaning),
        permitted=checks.machining_permitted(case),
        finished=_finished(case, worst),
        made=made_cut(case),
        remaining=checks.remaining_distance(case, life),
        points=checks.measurement_points(case),
        life=life,
    )


def _main_cut(case: Case, *, needs: bool) -> CutChecks | None:
    """The cut that the caller asks for, else the planned one where machining is needed."""
    if case.part.cut is not None:
        return _judge_cut(case, asked(case.part, case.measured, case.part.cut), "after_cut")
    if needs:
        return _judge_cut(case, planned(case.part, case.measured, case.policy), "after_cut")
    return None


def plan_of(case: Case) -> CutChecks:
    """The planned cut, judged, whether it is needed or not."""
    return _judge_cut(case, planned(case.part, case.measured, case.policy), "after_cut")


def _judge_cut(case: Case, cut: Cut, suffix: str) -> CutChecks:
    size = "thickness" if case.part.kind.is_rotor else "diameter"
    machining, discard = checks.after_cut(case, cut, f"{size}_{suffix}")
    return CutChecks(
        cut,
        machining,
        discard,
        checks.by_policy(case, CheckName.TOTAL_CUT, cut.total, case.policy.total_cut),
        checks.by_policy(case, CheckName.FACE_BALANCE, cut.imbalance, case.policy.face_balance),
    )


def _cleaning_check(main: CutChecks | None, *, clean: bool) -> Check:
    if main is None:
        return _idle(CheckName.CUT_CLEANS_UP)
    return Check(
        CheckName.CUT_CLEANS_UP,
        Outcome.PASS if clean else Outcome.FAIL,
        "cut",
        reason=None if clean else "places are left uncut",
        measure=None,
    )


def _finished(case: Case, worst: Decimal | None) -> Check | None:
    """After machining, the size as measured is held against the machining limit."""
    if not case.finished:
        return None
    return checks.strength(case, CheckName.MACHINING_LIMIT, checks.worst_name(case), worst, case.machining)


def _nearest(case: Case, sizes: list[Decimal]) -> Decimal:
    """The size nearest its limit."""
    return min(sizes) if case.part.kind.is_rotor else max(sizes)
