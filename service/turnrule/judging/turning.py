"""The arithmetic of turning: surface speed, time, and the finish that feed and tool nose leave in theory.

Lengths in mm, feeds in mm a turn, speeds in turns a minute, surface speeds in m a minute. V = pi D n / 1000 and
t = L / (f n) are in every textbook of turning; Rt = f^2 / (8 r) and Ra = f^2 / (18 sqrt 3 r) hold for the parabola
that a round tool nose leaves while the feed is small against its radius. A real finish is rougher, never finer.
"""

from __future__ import annotations

import decimal
from decimal import ROUND_CEILING, ROUND_DOWN, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from turnrule.judging.lengths import EXACT, GRID, on_grid, quotient
from turnrule.judging.trace import radians

SPEED_GRID = Decimal("1E-6")
"""Surface speed (m/min) half to even; a speed that keeps within one (turns/min) rounded down."""

TIME_GRID = Decimal("0.0001")
"""A time (min) is rounded up on this grid."""

_WORKING = decimal.Context(prec=34, rounding=ROUND_HALF_EVEN)
_DOWN = decimal.Context(prec=60, rounding=ROUND_DOWN)
_PI = radians(Decimal(180))
_MM_PER_M = Decimal(1000)
_SQUARE_OF_MEAN = 972
"""(18 sqrt 3)^2: with it, whether a feed reaches a mean roughness is decided without a root."""


def surface_speed(diameter: Decimal, speed: Decimal) -> Decimal:
    """V = pi D n in m/min, on `SPEED_GRID`."""
    path = _WORKING.multiply(_WORKING.multiply(_PI, diameter), speed)
    return on_grid(_WORKING.divide(path, _MM_PER_M), ROUND_HALF_EVEN, SPEED_GRID)


def speed_for(surface: Decimal, diameter: Decimal) -> Decimal:
    """The turns a minute at which a diameter moves at `surface` m/min, rounded down on `SPEED_GRID`."""
    turns = _WORKING.divide(_WORKING.multiply(surface, _MM_PER_M), _WORKING.multiply(_PI, diameter))
    return on_grid(turns, ROUND_FLOOR, SPEED_GRID)


def turning_time(width: Decimal, feed: Decimal, speed: Decimal) -> Decimal:
    """t = width / (f n) in minutes, rounded up on `TIME_GRID`; a ring is half the difference of its diameters wide."""
    return quotient(width, EXACT.multiply(feed, speed), ROUND_CEILING, TIME_GRID)


def removal_rate(mean_diameter: Decimal, depth: Decimal, feed: Decimal, speed: Decimal) -> Decimal:
    """Metal off in a minute, pi D a f n, in mm3/min to four decimals: what loads the lathe."""
    product = _WORKING.multiply(_WORKING.multiply(mean_diameter, depth), _WORKING.multiply(feed, speed))
    return on_grid(_WORKING.multiply(_PI, product), ROUND_HALF_EVEN, TIME_GRID)


def peak_roughness(feed: Decimal, nose_radius: Decimal) -> Decimal:
    """Rt = f^2 / (8 r) in mm, rounded up on 0.1 nm."""
    return quotient(EXACT.multiply(feed, feed), EXACT.multiply(8, nose_radius), ROUND_CEILING)


def mean_roughness(feed: Decimal, nose_radius: Decimal) -> Decimal:
    """Ra = f^2 / (18 sqrt 3 r) in mm, rounded up on 0.1 nm."""
    square = _WORKING.multiply(feed, feed)
    divisor = _WORKING.multiply(_WORKING.sqrt(Decimal(_SQUARE_OF_MEAN)), nose_radius)
    return on_grid(_WORKING.divide(square, divisor), ROUND_CEILING, GRID)


def reaches(feed: Decimal, nose_radius: Decimal, wanted: Decimal) -> bool:
    """True where the theoretical Ra of this feed is no greater than the wanted one (mm), decided exactly."""
    square, bound = EXACT.multiply(feed, feed), EXACT.multiply(nose_radius, wanted)
    return EXACT.multiply(square, square) <= EXACT.multiply(_SQUARE_OF_MEAN, EXACT.multiply(bound, bound))


def feed_for(wanted: Decimal, nose_radius: Decimal) -> Decimal:
    """The greatest feed whose theoretical Ra is no greater than the wanted one (mm), rounded down on 0.1 nm a turn."""
    bound = _DOWN.multiply(nose_radius, wanted)
    root = _DOWN.sqrt(_DOWN.multiply(_SQUARE_OF_MEAN, _DOWN.multiply(bound, bound)))
    return on_grid(_DOWN.sqrt(root), ROUND_FLOOR)
