"""The same value in both units that a document prints: both must be the same length, as far as they are printed.

The tolerance is half of the last printed digit of each value, converted exactly (1 in = 25.4 mm). A twin finds the
slips that nothing else finds: one wrong digit, or two that changed places. Some documents print a wrong equivalent;
government manuals among them (TM 9-2320-279-34-2, page 11-4: 16.51 in beside 419.36 mm, where 419.35 is right).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from decimal import Decimal

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal
from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.judging.lengths import EXACT, MM_PER_INCH, to_mm
from turnrule.judging.words import Unit
from turnrule.store.limit_records import Twin

_HALF = Decimal("0.5")


def twin_remarks(figures: LimitFigures) -> Iterator[Remark]:
    """A refusal for each value whose twin is another length, has no partner, or is in the same unit."""
    twin = figures.also
    if twin is None:
        return
    if twin.unit is figures.printed_unit:
        yield refusal("/also/unit", "same_unit", f"the body is in {twin.unit.value} already; also is in the other unit")
        return
    if not twin.printed:
        yield refusal("/also", "missing", "also repeats at least one value in the other unit; leave it out otherwise")
    for name, text in twin.printed.items():
        main = figures.printed.get(name)
        if main is None:
            detail = f"{name} stands in also only; it has to stand in the body as well"
            yield refusal(f"/also/{name}", "twin_without_value", detail)
        elif not agree(main, figures.printed_unit, text, twin.unit):
            yield refusal(f"/also/{name}", "twin_differs", _why(figures, twin, name))


def agree(text: str, unit: Unit, other_text: str, other_unit: Unit) -> bool:
    """Whether two printed values can be one length: apart by no more than half a last digit of each."""
    value, other = Decimal(text), Decimal(other_text)
    apart = EXACT.subtract(to_mm(value, unit), to_mm(other, other_unit)).copy_abs()
    return apart <= EXACT.add(_half_digit(value, unit), _half_digit(other, other_unit))


def _half_digit(value: Decimal, unit: Unit) -> Decimal:
    """Half of the last digit that was printed, in mm."""
    exponent = value.as_tuple().exponent
    half = EXACT.scaleb(_HALF, min(exponent, 0) if isinstance(exponent, int) else 0)
    return EXACT.multiply(half, MM_PER_INCH) if unit is Unit.IN else half


def _why(figures: LimitFigures, twin: Twin, name: str) -> str:
    main, other = figures.printed[name], twin.printed[name]
    unit = figures.printed_unit
    hint = ""
    if any(agree(swapped, unit, other, twin.unit) for swapped in swaps(main)):
        hint = f"; two digits of {main} may have changed places"
    elif any(agree(main, unit, swapped, twin.unit) for swapped in swaps(other)):
        hint = f"; two digits of {other} may have changed places"
    return (
        f"{main} {unit.value} and {other} {twin.unit.value} are not the same length{hint}; look at the document again, "
        "and where it really prints both so, leave this one out of also and say so in the note"
    )


def swaps(text: str) -> Iterator[str]:
    """The number with each two neighbouring digits in each other's place."""
    places = [place for place, letter in enumerate(text) if letter.isdigit()]
    for first, second in itertools.pairwise(places):
        if text[first] != text[second]:
            letters = list(text)
            letters[first], letters[second] = letters[second], letters[first]
            yield "".join(letters)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses values in both units that are not the same length."""
    return twin_remarks(entry.figures)
