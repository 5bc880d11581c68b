"""Heat of one stop, for information only: what a lighter part means for its temperature."""

from __future__ import annotations

import decimal
from decimal import Decimal

_WORKING = decimal.Context(prec=28)


def temperature_rise(energy_j: Decimal, mass_kg: Decimal, specific_heat: Decimal) -> Decimal:
    """dT = E / (m c) in kelvin, for energy in J, mass in kg, specific heat in J/(kg K); nothing given off."""
    return _WORKING.divide(energy_j, _WORKING.multiply(mass_kg, specific_heat))


def relative_rise(mass_before: Decimal, mass_after: Decimal) -> Decimal:
    """By what fraction the same stop heats the lighter part more: before/after - 1 (both in the same unit)."""
    return _WORKING.subtract(_WORKING.divide(mass_before, mass_after), Decimal(1))
