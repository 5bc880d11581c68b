"""Between which lengths a real part's figures lie, in mm, and what a figure outside of them may have been meant as.

Each range is "common practice, no source" but for the figures that are named beside it. Ranges are usual ones: a value
outside is a warning, which a written reason answers. What no part can have is refused elsewhere.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from turnrule.judging.lengths import MM_PER_INCH
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Construction, Kind, Unit


class Range(NamedTuple):
    """From the least to the greatest usual value, both included."""

    least: Decimal
    most: Decimal

    def holds(self, value: Decimal) -> bool:
        """Whether a value is usual."""
        return self.least <= value <= self.most


def _range(least: str, most: str) -> Range:
    return Range(Decimal(least), Decimal(most))


_SIZES: dict[Kind, Range] = {
    Kind.ROTOR: _range("5", "60"),
    Kind.DRUM: _range("140", "520"),
    Kind.PARKING_DRUM: _range("120", "330"),
}
"""Sizes as new. Drums in print: 11.15 to 16.62 in (TM 9-2320-289-34, page 7-3; TM 9-2330-384-14&P, page 5-5)."""

_CONSTRUCTIONS: dict[Construction, Range] = {
    Construction.SOLID: _range("5", "20"),
    Construction.VENTED: _range("15", "60"),
}
"""Rotors as new: vanes need room, and a thick solid disc would be vented."""

_HEAVY = {True: Decimal(32), False: Decimal(305)}
"""From this thickness (rotors, True) or diameter on, parts are those of trucks, and their limits of form wider."""

_HEAVY_WORN = Decimal(28)
"""The same of a rotor whose thickness as new is not known."""

_FORMS: dict[tuple[str, bool], Range] = {
    ("maximum_lateral_runout", False): _range("0.012", "0.16"),
    ("maximum_lateral_runout", True): _range("0.012", "0.51"),
    ("maximum_thickness_variation", False): _range("0.004", "0.14"),
    ("maximum_thickness_variation", True): _range("0.004", "0.14"),
    ("maximum_out_of_round", False): _range("0.015", "0.26"),
    ("maximum_out_of_round", True): _range("0.025", "0.4"),
    ("maximum_taper", False): _range("0.01", "0.26"),
    ("maximum_taper", True): _range("0.01", "0.4"),
}
"""Limits of form, of light and heavy (True) parts. In print: runout 0.004 in (TM 9-2320-289-34, page 7-2); variation
0.0005 in (the same) to 0.005 in (TM 9-2320-280-34, page 10-2); out-of-round 0.003 in (TM 9-2320-279-34-2, page 11-4),
0.010 in (TM 10-3930-630-34), 0.015 in and taper 0.010 in (TM 9-2330-384-14&P, page 5-5)."""


def is_heavy(limits: LimitSet) -> bool:
    """Whether a part is of a truck's size; a part of unknown size is taken as one, since its limits are wider."""
    rotor = limits.kind is Kind.ROTOR
    if limits.nominal is not None:
        return limits.nominal >= _HEAVY[rotor]
    worn = limits.machining or limits.discard
    return worn is None or worn >= (_HEAVY_WORN if rotor else _HEAVY[rotor])


def usual_form(figure: str, *, heavy: bool) -> Range:
    """The usual range of a limit of form."""
    return _FORMS[figure, heavy]


def usual_size(limits: LimitSet, *, nominal: bool) -> Range:
    """The usual range of a size as new, or of a worn one."""
    return _USUAL[limits.kind, limits.construction, nominal]


_WORN = {True: Decimal("0.75"), False: Decimal("1.02")}
"""A rotor's worn sizes reach down to three quarters of the range, a drum's up to one fiftieth beyond it."""


def _usual(kind: Kind, construction: Construction | None, *, nominal: bool) -> Range:
    rotor = kind is Kind.ROTOR
    usual = _SIZES[kind]
    if rotor and construction is not None:
        usual = _CONSTRUCTIONS.get(construction, usual)
    if nominal:
        return usual
    least, most = usual
    return Range(least * _WORN[True], most) if rotor else Range(least, most * _WORN[False])


_USUAL = {
    (kind, construction, nominal): _usual(kind, construction, nominal=nominal)
    for kind in Kind
    for construction in (None, *Construction)
    for nominal in (True, False)
}


class Slip(NamedTuple):
    """What a value may have been meant as: the unit it was read in, or the place of its point."""

    code: str
    words: str


UNIT_CODE = "possible_unit_mixup"
POINT_CODE = "possible_point_slip"

_POINTS = (
    (Decimal(10), "the point may stand one place too far to the left"),
    (Decimal("0.1"), "the point may stand one place too far to the right"),
    (Decimal("0.01"), "the point may stand two places too far to the right"),
    (Decimal("0.001"), "it may be in thousandths of the unit"),
    (Decimal(100), "the point may stand two places too far to the left"),
    (Decimal(1000), "the point may stand three places too far to the left"),
)


def likely_meant(value: Decimal, usual: Range, unit: Unit) -> Slip | None:
    """The slip that would explain a value (mm) outside its usual range, the unit before the point; None where none."""
    inches = unit is Unit.IN
    if usual.holds(value / MM_PER_INCH if inches else value * MM_PER_INCH):
        read, stated = ("millimetres", "inches") if inches else ("inches", "millimetres")
        return Slip(UNIT_CODE, f"it would be usual in {read}, and the body is in {stated}")
    for factor, words in _POINTS:
        if usual.holds(value * factor):
            return Slip(POINT_CODE, words)
    return None
