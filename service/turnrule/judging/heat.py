"""Heat of one stop, for information only: what a lighter part means for its temperature."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal

from turnrule.judging.faults import Fault, PartError
from turnrule.judging.lengths import EXACT, on_grid, quotient
from turnrule.judging.trace import radians

_WORKING = decimal.Context(prec=28)
_HALF_TURN = Decimal(180)
_KG_PER_MM3 = Decimal("1E-9")

MASS_GRID = Decimal("1E-6")
"""A mass is kept to the milligram (kg), half to even."""

RISE_GRID = Decimal("1E-6")
"""A relative rise is rounded up on this grid."""

GREY_IRON_DENSITY = Decimal(7200)
"""kg/m3 of grey iron, where nothing better is known (MEMORY of textbooks, which give 7,100 to 7,250)."""


def temperature_rise(energy_j: Decimal, mass_kg: Decimal, specific_heat: Decimal) -> Decimal:
    """dT = E / (m c) in kelvin, for energy in J, mass in kg, specific heat in J/(kg K); nothing given off."""
    return _WORKING.divide(energy_j, _WORKING.multiply(mass_kg, specific_heat))


def relative_rise(mass_before: Decimal, mass_after: Decimal) -> Decimal:
    """By what fraction the same stop heats the lighter part more: before/after - 1 (both in the same unit)."""
    return _WORKING.subtract(_WORKING.divide(mass_before, mass_after), Decimal(1))


@dataclass(frozen=True, slots=True)
class Ring:
    """The ring that takes up the heat of a stop, in mm.

    A rotor's friction ring: outer and inner diameter, thickness over both faces, air gap between its cheeks (0 where
    it is solid). A drum's wall: outer diameter, inner diameter, width; no gap.
    """

    outer_diameter: Decimal
    inner_diameter: Decimal
    thickness: Decimal
    air_gap: Decimal = Decimal(0)

    @property
    def squares_by_width(self) -> Decimal:
        """The volume but for the factor pi/4, exactly (mm3)."""
        outer, inner = (EXACT.multiply(one, one) for one in (self.outer_diameter, self.inner_diameter))
        return EXACT.multiply(EXACT.subtract(outer, inner), EXACT.subtract(self.thickness, self.air_gap))


@dataclass(frozen=True, slots=True)
class Heating:
    """The ring's mass before and after (kg), and by what fraction the same stop then heats it more.

    `overestimated` is true where the ring has an air gap: its vanes are left out, and they keep their mass.
    """

    mass_before: Decimal
    mass_after: Decimal
    relative_rise: Decimal
    overestimated: bool


def ring_mass(ring: Ring, density: Decimal = GREY_IRON_DENSITY) -> Decimal:
    """Mass in kg of a ring without its vanes, on `MASS_GRID`; density in kg/m3. Raises `PartError` for no ring."""
    _refuse(_faults(ring))
    volume = _WORKING.divide(_WORKING.multiply(radians(_HALF_TURN), ring.squares_by_width), Decimal(4))
    mass = _WORKING.multiply(_WORKING.multiply(volume, density), _KG_PER_MM3)
    return on_grid(mass, ROUND_HALF_EVEN, MASS_GRID)


def heating(before: Ring, after: Ring, density: Decimal = GREY_IRON_DENSITY) -> Heating:
    """What taking metal off does to the temperature of the same stop; the density cancels but in the masses.

    dT is inversely proportional to mass: 5 % less metal, 5.263 % more rise. Rule: heat. Raises `PartError` for what is
    no ring, or where the ring has grown.
    """
    _refuse((*_faults(before), *_faults(after), *_growth(before, after)))
    rise = quotient(
        EXACT.subtract(before.squares_by_width, after.squares_by_width),
        after.squares_by_width,
        ROUND_CEILING,
        RISE_GRID,
    )
    return Heating(ring_mass(before, density), ring_mass(after, density), rise, before.air_gap > 0)


def _refuse(faults: Iterator[Fault] | tuple[Fault, ...]) -> None:
    found = tuple(faults)
    if found:
        raise PartError(found)


def _faults(ring: Ring) -> Iterator[Fault]:
    if not 0 <= ring.inner_diameter < ring.outer_diameter:
        yield Fault("/ring/inner_diameter", "out_of_range", "give an inner diameter smaller than the outer one")
    if not 0 <= ring.air_gap < ring.thickness:
        yield Fault("/ring/air_gap", "out_of_range", "give an air gap smaller than the thickness; 0 for a solid part")


def _growth(before: Ring, after: Ring) -> Iterator[Fault]:
    if after.squares_by_width > before.squares_by_width:
        yield Fault("/ring", "out_of_range", "a cut takes metal off: the ring cannot be larger after it")
