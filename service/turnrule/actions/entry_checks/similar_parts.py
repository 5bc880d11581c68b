"""Values far from those of similar parts that the store holds already.

For each ratio that describes a part (what may wear away to its size, each limit of form) the median and the median
absolute deviation of its logarithm over the similar parts are taken, which a few odd records do not move; a value
many deviations away is a warning. It informs and decides nothing, so that binary floats serve.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal
from statistics import median

from turnrule.actions.entry_checks.fields import forms_of
from turnrule.actions.entry_checks.remarks import Habit, Remark, Surroundings, bucket_of, warning
from turnrule.actions.figure_names import names_for
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.limits import LimitSet

FEWEST = 12
"""Of fewer similar parts nothing is concluded. Common practice, no source."""

NORMAL = 1.4826
"""The median absolute deviation times this is the standard deviation of a normal distribution (DERIVED: 1/0.67449)."""

LEAST_SPREAD = 0.3
"""Similar parts are never taken as more alike than this (a natural logarithm: 35 %); a store of one maker's parts
would else complain of every other maker's. Common practice, no source."""

FAR = 6.0
"""So many deviations are far: with the least spread, six times the median. Common practice, no source."""

MINORITY = 10
"""Where more than one in so many of the similar parts is as far out, the values are of two sorts, and neither is
unusual. Common practice, no source."""


def measures(limits: LimitSet) -> Iterator[tuple[str, Decimal]]:
    """What is compared, each by the name of the field that is pointed at."""
    nominal, machining, discard = limits.nominal, limits.machining, limits.discard
    names = names_for(limits.kind)
    if nominal is not None and discard is not None and nominal != discard:
        yield names.discard, abs(nominal - discard) / nominal
    if nominal is not None and machining is not None and nominal != machining:
        yield names.machining, abs(nominal - machining) / nominal
    for _, name, value in forms_of(limits):
        if value:
            yield name, value


def habits_of(similar: Iterable[LimitSet]) -> dict[str, Habit]:
    """The median and the spread of each measure that enough of the similar parts have."""
    logarithms: dict[str, list[float]] = defaultdict(list)
    for limits in similar:
        for name, value in measures(limits):
            logarithms[name].append(math.log(value))
    return {name: _habit(values) for name, values in logarithms.items() if len(values) >= FEWEST}


def _habit(values: list[float]) -> Habit:
    middle = median(values)
    deviation = median(abs(value - middle) for value in values)
    far = FAR * max(NORMAL * deviation, LEAST_SPREAD)
    least, most = middle - far, middle + far
    if sum(value < least for value in values) * MINORITY > len(values):
        least = -math.inf
    if sum(value > most for value in values) * MINORITY > len(values):
        most = math.inf
    return Habit(middle, least, most)


def check(entry: LimitsEntry, around: Surroundings) -> Iterator[Remark]:
    """Warns of each value that is far from what similar parts have."""
    limits = entry.figures.limits
    bucket = bucket_of(limits)
    if bucket is None:
        return
    habits = around.habits.get(bucket)
    if habits is None:
        habits = around.habits[bucket] = habits_of(around.similar(entry))
    if not habits:
        return
    for name, value in measures(limits):
        habit = habits.get(name)
        if habit is None:
            continue
        logarithm = math.log(value)
        if not habit.least <= logarithm <= habit.most:
            times = math.exp(abs(logarithm - habit.median))
            way = "greater" if logarithm > habit.median else "smaller"
            detail = f"{times:.1f} times {way} than with most parts of this size; look at the document again"
            yield warning(f"/{name}", "far_from_similar", detail)
