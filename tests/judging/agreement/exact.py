"""Lengths as whole picometres: reading them from text, rounding them, and the guard band, all in integers."""

from __future__ import annotations

from math import erfc, isqrt, sqrt

PM_PER_MM = 10**9
# One least digit of an answer: 0.0000001 of the unit. One inch is 25.4 mm exactly (international inch, 1959).
TICK = {"mm": 100, "in": 2540}
GUARD_STEP = 10**5  # the guard band is rounded up to 0.0001 mm
KM_IN_UM = 10**9
UM_PER_MILE = 1_609_344_000  # one international mile is 1609.344 m exactly


class GridError(ValueError):
    """A number has more digits than the integers here can hold exactly."""


def scaled(text: str, places: int) -> int:
    """The number in `text`, times 10**places, exactly; GridError where that is no whole number."""
    whole, _, fraction = text.partition(".")
    surplus = places - len(fraction)
    if surplus >= 0:
        return int(whole + fraction) * int(10**surplus)
    value, rest = divmod(int(whole + fraction), int(10**-surplus))
    if rest:
        raise GridError(text)
    return value


def length(text: str, unit: str) -> int:
    """Picometres in a length given in `mm` (at most 9 places) or `in` (at most 8 places)."""
    return scaled(text, 9) if unit == "mm" else scaled(text, 8) * 254


def distance(text: str, unit: str) -> int:
    """Micrometres in a distance given in `km` or `mi` (at most 3 places)."""
    return scaled(text, 9) if unit == "km" else scaled(text, 3) * (UM_PER_MILE // 1000)


def as_text(ticks: int) -> str:
    """`ticks` of 0.0000001 as a plain decimal, without needless zeros."""
    whole, part = divmod(abs(ticks), 10**7)
    digits = f"{part:07d}".rstrip("0")
    return f"{'-' if ticks < 0 else ''}{whole}{'.' + digits if digits else ''}"


def down(value: int, step: int) -> int:
    """The greatest multiple of `step` that is no greater than `value`."""
    return value // step * step


def up(value: int, step: int) -> int:
    """The least multiple of `step` that is no less than `value`."""
    return -(-value // step) * step


def twelve_u_squared(resolution: int, calibration: int, repeatability: int) -> int:
    """12 u^2 in pm^2, where u^2 = (resolution/sqrt 12)^2 + (calibration U/2)^2 + s^2 (JCGM 100, 4.3.7 and 5.1.2)."""
    return resolution * resolution + 3 * calibration * calibration + 12 * repeatability * repeatability


def guard_band(twelve: int) -> int:
    """U = 2u rounded up to the next 0.0001 mm: the least k with 3 (k step)^2 >= 12 u^2."""
    if not twelve:
        return 0
    squares = -(-twelve // (3 * GUARD_STEP * GUARD_STEP))
    return (isqrt(squares - 1) + 1) * GUARD_STEP


def conformity(safe_by: int, twelve: int) -> float:
    """Phi(safe_by / u): the probability that the true size is on the safe side (JCGM 106, clause 7)."""
    if not twelve:
        return 1.0 if safe_by >= 0 else 0.0
    return 0.5 * erfc(-safe_by / sqrt(twelve / 12) / sqrt(2))
