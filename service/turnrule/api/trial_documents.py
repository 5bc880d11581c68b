"""A policy trial as it is told: the verdicts that change, and at last the counts, with what they cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from turnrule.actions.answers import Json
from turnrule.actions.impact_lines import Standing
from turnrule.actions.trial_candidates import Candidates
from turnrule.actions.trial_costs import Prices, cost_of
from turnrule.actions.trialling import TrialDone, TrialLine, TrialOutcome, TrialRow
from turnrule.api.impact import about_document, deciding_document
from turnrule.judging.catalogue import CautionText
from turnrule.judging.words import Ruling

CAUTION, OF_PRICES = "trial_of_readings", "prices_from_caller"


@dataclass(frozen=True, slots=True)
class Told:
    """What the end of a trial repeats of what was asked, and the cautions that it may carry."""

    candidates: Candidates
    unit: str | None
    prices: Prices | None
    cautions: Mapping[str, CautionText]


def line_document(line: TrialLine) -> Json:
    """One verdict that a candidate changes, with its outcome under each of them."""
    return {
        **about_document(line.verdict),
        "before": _standing(line.before),
        "after": [_outcome(one) for one in line.after],
    }


def _standing(standing: Standing) -> Json:
    return {
        "verdict": standing.ruling,
        "governing": deciding_document(standing.governing),
        "cut_allowed": standing.cut_allowed,
        "most_total_cut": standing.most_total_cut,
    }


def _outcome(one: TrialOutcome) -> Json:
    known = {"verdict": None, "governing": None, "cut_allowed": None, "most_total_cut": None}
    obstacle = one.obstacle and {"code": one.obstacle.code, "detail": one.obstacle.detail}
    return {**(known if one.standing is None else _standing(one.standing)), "cannot_be_judged": obstacle}


def done_document(done: TrialDone, told: Told) -> Json:
    """The end: what each candidate comes to."""
    codes = [CAUTION] if told.prices is None else [CAUTION, OF_PRICES]
    return {
        "done": True,
        "looked_at": done.looked_at,
        "cannot_be_judged": done.lost,
        "otherwise_today": done.otherwise,
        "not_tried": list(told.candidates.untried),
        "rows": [_row(row, told) for row in done.rows],
        "cautions": [
            {"code": one.code, "level": one.level, "text": one.text} for one in (told.cautions[code] for code in codes)
        ],
    }


def _row(row: TrialRow, told: Told) -> Json:
    return {
        "value": row.candidate.value,
        "unit": told.unit,
        "changed": row.changed,
        "verdicts": {before.value: {after.value: row.moved[before, after] for after in Ruling} for before in Ruling},
        "other_cut": row.cuts,
        "refused": row.refused,
        "cost": None if told.prices is None else _cost(row, told.prices),
    }


def _cost(row: TrialRow, prices: Prices) -> Json:
    cost = cost_of(row, prices)
    return {
        "currency": prices.currency,
        "before": cost.before,
        "after": cost.after,
        "difference": cost.difference,
        "open_before": cost.open_before,
        "open_after": cost.open_after,
    }
