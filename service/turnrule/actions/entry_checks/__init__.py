"""The checks that limits meet when they are entered, one a module: refusals, and warnings that need a reason."""

from turnrule.actions.entry_checks.checking import (
    CHECKS,
    check_entry,
    day_refusals,
    entry_refusals,
    figure_refusals,
)
from turnrule.actions.entry_checks.codes import REFUSALS, WARNINGS
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, around

__all__ = [
    "CHECKS",
    "REFUSALS",
    "WARNINGS",
    "Remark",
    "Surroundings",
    "around",
    "check_entry",
    "day_refusals",
    "entry_refusals",
    "figure_refusals",
]
