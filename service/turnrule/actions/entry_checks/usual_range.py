"""Whether a figure is plausible for the kind of part and its construction; what a slip explains is told elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.other_unit import unusual
from turnrule.actions.entry_checks.ranges import likely_meant
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal, warning
from turnrule.actions.entry_checks.stated_unit import POSSIBLE, impossible
from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.judging.cautions import shown
from turnrule.judging.words import Unit


def size_remarks(figures: LimitFigures) -> Iterator[Remark]:
    """A refusal for each size that no part has, in either unit."""
    unit = figures.printed_unit
    other = POSSIBLE[figures.limits.kind.is_rotor, Unit.IN if unit is Unit.MM else Unit.MM]
    for name, value in impossible(figures):
        if not other.least <= value <= other.greatest:
            kind = figures.limits.kind.value.replace("_", " ")
            detail = f"no {kind} has a size of {value:f} {unit.value}; look at the value and its point again"
            yield refusal(f"/{name}", "impossible_size", detail)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses a size that no part has; warns of a figure that is far from usual and that no slip explains."""
    figures = entry.figures
    yield from size_remarks(figures)
    unit = figures.printed_unit
    for name, value, usual in unusual(figures):
        if likely_meant(value, usual, unit) is None:
            detail = (
                f"{figures.printed[name]} {unit.value} is unusual: most parts of this kind and construction lie "
                f"between {shown(usual.least, unit)} and {shown(usual.most, unit)}; look at the document again"
            )
            yield warning(f"/{name}", "unusual_value", detail)
