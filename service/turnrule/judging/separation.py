"""Two wobbles told apart by turning the one on the other: the part's own, and that of what it sits on.

In the part's frame the k-th reading is w_k = R + M exp(-i phi_k): R is the part's own wobble, M that of the mount
(or hub) as it lies at phi = 0, and phi_k how far the part was turned on it since, in the sense in which angles run.
One reading cannot separate the two (NIST/SEMATECH e-Handbook 2.3.4.4); two at different phi do, and more are a
least-squares fit.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import negative
from turnrule.judging.trace import around, radians, sine
from turnrule.judging.vectors import FINE, Vector, of_trace, total, turn

_NO_TURN = Decimal("0.0001")
"""Turned by less than this, in degrees, is not turned at all."""

_GREATEST_TURN = Decimal(3600)


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far what was read at the lathe may be off: expanded uncertainties (k = 2).

    `reading`: of one depth or indicator reading, mm. `angle`: of one angle along the part or turned, degrees.
    `covered`: of a covered fraction judged without angles.
    """

    reading: Decimal
    angle: Decimal
    covered: Decimal


@dataclass(frozen=True, slots=True)
class Placed:
    """One wobble as read with the part turned by `turned` degrees; `error` is the vector's U (mm of TIR)."""

    turned: Decimal
    wobble: Vector
    error: Decimal


@dataclass(frozen=True, slots=True)
class Separated:
    """The part's own wobble and that of the seat it was turned on, each with its U (mm of TIR).

    `misfit` is how far the worst reading is from what the two add up to: 0 for two readings, which always fit.
    """

    own: Vector
    seat: Vector
    own_error: Decimal
    seat_error: Decimal
    misfit: Decimal


def faults_of_doubt(doubt: Doubt) -> Iterator[Fault]:
    """Uncertainties below 0."""
    yield from negative("/uncertainty/reading", doubt.reading)
    yield from negative("/uncertainty/angle", doubt.angle)
    yield from negative("/uncertainty/covered", doubt.covered)


def faults_of_turn(pointer: str, turned: Decimal) -> Iterator[Fault]:
    """A turn beyond what anyone counts."""
    if abs(turned) > _GREATEST_TURN:
        yield Fault(pointer, "not_a_turn", f"{turned:f} degrees is more than ten turns; leave whole turns out")


def same_turn(turned: Sequence[Decimal]) -> bool:
    """True where the part was never turned, or only by whole turns."""
    with decimal.localcontext(FINE):
        return all(_folded(phi - turned[0]) < _NO_TURN for phi in turned)


def _folded(degrees: Decimal) -> Decimal:
    """How far apart two directions are that differ by so many degrees: 0 to 180."""
    turned = around(degrees)
    return min(turned, 360 - turned)


def trace_error(doubt: Doubt, count: int) -> Decimal:
    """U of the TIR of a trace's once-per-turn part, the errors of its readings being independent: U sqrt(8/N)."""
    with decimal.localcontext(FINE):
        return doubt.reading * (Decimal(8) / count).sqrt()


def separate(readings: Sequence[Placed], doubt: Doubt) -> Separated | None:
    """The two wobbles that add up to the readings, by least squares; None where the part was not turned.

    Rule: mount_separation.
    """
    if len(readings) < 2 or same_turn([reading.turned for reading in readings]):  # noqa: PLR2004 - two to compare
        return None
    with decimal.localcontext(FINE):
        return _least_squares(readings, doubt)


def _least_squares(readings: Sequence[Placed], doubt: Doubt) -> Separated:
    count = Decimal(len(readings))
    spokes = [turn(reading.turned.copy_negate()) for reading in readings]
    hub = total(spokes).over(count)
    middle = total([reading.wobble for reading in readings]).over(count)
    arms = [(spoke - hub).mirrored for spoke in spokes]
    spread = sum((arm.square for arm in arms), Decimal(0))
    seat = total([arm * (reading.wobble - middle) for arm, reading in zip(arms, readings, strict=True)]).over(spread)
    own = middle - seat * hub
    off = [r.wobble - own - seat * spoke for r, spoke in zip(readings, spokes, strict=True)]
    errors = _errors(readings, seat, off, doubt)
    shares = [Vector(1 / count, Decimal(0)) - hub * arm.over(spread) for arm in arms]
    seat_error = sum((arm.square * e for arm, e in zip(arms, errors, strict=True)), Decimal(0)).sqrt() / spread
    own_error = sum((share.square * e for share, e in zip(shares, errors, strict=True)), Decimal(0)).sqrt()
    return Separated(own, seat, own_error, seat_error, max(vector.length for vector in off))


def _errors(readings: Sequence[Placed], seat: Vector, off: Sequence[Vector], doubt: Doubt) -> list[Decimal]:
    """U squared of each reading: its own, what the turned angle puts in, and how badly more than two readings fit."""
    swing = seat.square * radians(doubt.angle) ** 2
    freedom = 2 * len(readings) - 4
    scatter = 4 * sum((vector.square for vector in off), Decimal(0)) / freedom if freedom else Decimal(0)
    return [reading.error**2 + scatter + (swing if k else 0) for k, reading in enumerate(readings)]


def chord(turned: Decimal, doubt: Doubt) -> tuple[Decimal, Decimal]:
    """The least and greatest length of 1 - exp(-i phi), phi being known to the doubt of an angle."""
    with decimal.localcontext(FINE):
        folded = _folded(turned)
        least, most = max(Decimal(0), folded - doubt.angle), min(Decimal(180), folded + doubt.angle)
        return 2 * sine(least / 2), 2 * sine(most / 2)


def placed_trace(trace: Sequence[Decimal], turned: Decimal, doubt: Doubt) -> Placed:
    """The once-per-turn wobble of a trace, with its U."""
    return Placed(turned, of_trace(trace), trace_error(doubt, len(trace)))
