"""Equally spaced indicator traces: range, first harmonic, and the thickest true disc inside a wobbling part.

Angles in degrees, counted from the first reading in the order of reading. Sine and cosine are computed in
decimals, so that a replay gives the same bytes on any machine.
"""

from __future__ import annotations

import decimal
import functools
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal

from turnrule.judging.verdict import Harmonic

_WORKING = decimal.Context(prec=34, rounding=ROUND_HALF_EVEN)
_MICRO = Decimal("1E-7")
_HUNDREDTH = Decimal("0.01")
_PI = Decimal("3.141592653589793238462643383279502884197")
_FULL_TURN = 360
_QUARTER_TURN = Decimal(90)
_RATIONAL = {Decimal(0): Decimal(1), Decimal(60): Decimal("0.5"), Decimal(90): Decimal(0)}


def total_indicator_reading(trace: Sequence[Decimal]) -> Decimal:
    """Greatest minus least reading over one turn (ISO 1101, ASME Y14.5: circular run-out)."""
    return max(trace) - min(trace)


@functools.lru_cache(maxsize=64)
def circle(count: int) -> tuple[tuple[Decimal, Decimal], ...]:
    """(cos, sin) at `count` equal steps of a turn, built by turning a unit vector step by step."""
    with decimal.localcontext(_WORKING):
        step = 2 * _PI / count
        cosine, sine = _cosine(step), _sine(step)
        x, y = Decimal(1), Decimal(0)
        points = []
        for _ in range(count):
            points.append((x, y))
            x, y = x * cosine - y * sine, x * sine + y * cosine
        return tuple(points)


def cosine(degrees: Decimal) -> Decimal:
    """The cosine to 32 digits; exact where it is rational, which of whole degrees only 0, 60, 90 and their like are."""
    with decimal.localcontext(_WORKING):
        turned = abs(degrees) % _FULL_TURN
        turned = min(turned, _FULL_TURN - turned)
        if turned > _QUARTER_TURN:
            return -cosine(2 * _QUARTER_TURN - turned)
        if turned in _RATIONAL:
            return _RATIONAL[turned]
        if turned > _QUARTER_TURN / 2:
            return _sine((_QUARTER_TURN - turned) * _PI / (2 * _QUARTER_TURN))
        return _cosine(turned * _PI / (2 * _QUARTER_TURN))


def sine(degrees: Decimal) -> Decimal:
    """The sine to 32 digits; exact where it is rational."""
    with decimal.localcontext(_WORKING):
        return cosine(degrees - _QUARTER_TURN)


def around(degrees: Decimal) -> Decimal:
    """The same angle, 0 up to but not including 360."""
    with decimal.localcontext(_WORKING):
        turned = degrees % _FULL_TURN
        return turned + _FULL_TURN if turned < 0 else turned


def radians(degrees: Decimal) -> Decimal:
    """An angle in radians."""
    with decimal.localcontext(_WORKING):
        return degrees * _PI / (2 * _QUARTER_TURN)


def direction(x: Decimal, y: Decimal) -> Decimal | None:
    """Where the vector (x, y) points: degrees to a hundredth, 0 up to but not including 360; None for no vector."""
    if x == 0 and y == 0:
        return None
    with decimal.localcontext(_WORKING):
        return _angle(x, y)


def _cosine(angle: Decimal) -> Decimal:
    return _series(Decimal(1), angle, 0)


def _sine(angle: Decimal) -> Decimal:
    return _series(angle, angle, 1)


def _series(first: Decimal, angle: Decimal, power: int) -> Decimal:
    """The alternating Taylor series that starts with `first` at this power of the angle."""
    term = total = first
    while abs(term) > Decimal("1E-34"):
        term = -term * angle * angle / ((power + 1) * (power + 2))
        total += term
        power += 2
    return total


def first_harmonic(trace: Sequence[Decimal]) -> Harmonic:
    """Amplitude and angle of the once-per-turn part of a trace, and the range of what is left without it.

    a = 2/N sum o cos, b = 2/N sum o sin (NIST/SEMATECH e-Handbook 2.3.4.4). The angle is where the harmonic is
    highest, 0 up to but not including 360; 0 for a trace without a first harmonic.
    """
    points = circle(len(trace))
    with decimal.localcontext(_WORKING):
        scale = Decimal(2) / len(trace)
        a = scale * sum((o * c for o, (c, _) in zip(trace, points, strict=True)), Decimal(0))
        b = scale * sum((o * s for o, (_, s) in zip(trace, points, strict=True)), Decimal(0))
        left = [o - a * c - b * s for o, (c, s) in zip(trace, points, strict=True)]
        amplitude = (a * a + b * b).sqrt().quantize(_MICRO)
        residual = (max(left) - min(left)).quantize(_MICRO)
        angle = _angle(a, b) if amplitude else Decimal(0)
    return Harmonic(amplitude, angle, residual)


def _angle(a: Decimal, b: Decimal) -> Decimal:
    """The direction of (a, b) in degrees, to a hundredth."""
    x, y = abs(a), abs(b)
    turned = _arctangent(y / x) if x >= y else _PI / 2 - _arctangent(x / y)
    degrees = turned * 180 / _PI
    if a < 0:
        degrees = 180 - degrees
    if b < 0:
        degrees = _FULL_TURN - degrees
    return degrees.quantize(_HUNDREDTH) % _FULL_TURN


def _arctangent(ratio: Decimal) -> Decimal:
    """Arctan of 0 to 1, by halving the angle thrice and then the series."""
    for _ in range(3):
        ratio = ratio / (1 + (1 + ratio * ratio).sqrt())
    square = ratio * ratio
    power = ratio
    total = ratio
    odd = 1
    while abs(power) > Decimal("1E-34"):
        power = -power * square
        odd += 2
        total += power / odd
    return total * 8


def thickest_true_disc(trace: Sequence[Decimal], thickness: Sequence[Decimal]) -> Decimal:
    """min(o) - max(o - t): the thickest disc with flat, parallel faces inside the part as it sits (mm).

    `trace` is the outboard face, larger further outboard; `thickness` is read at the same angles.
    Rule: clean_up_thickness.
    """
    return min(trace) - max(o - t for o, t in zip(trace, thickness, strict=True))
