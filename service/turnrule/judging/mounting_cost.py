"""What a mount that wobbles costs in metal, and whether the part can still afford it."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.lathe_faults import negative, not_positive, refuse
from turnrule.judging.lathe_words import Missing
from turnrule.judging.lengths import EXACT
from turnrule.judging.words import Kind


@dataclass(frozen=True, slots=True)
class Affordance:
    """The size after the cut, mounted right and as mounted (mm), and whether each still meets every limit.

    `most_mount_runout` is the greatest TIR of the mount that the cut can still afford: 0 or more, None where the part
    cannot be cut even when mounted right. The answers about limits are None where none is known.
    """

    left_mounted_right: Decimal
    left_as_mounted: Decimal
    affordable_mounted_right: bool | None
    affordable_as_mounted: bool | None
    most_mount_runout: Decimal | None
    missing: tuple[Missing, ...] = ()


def afford(
    kind: Kind,
    *,
    clean_up: Decimal,
    cut: Decimal,
    mount_runout: Decimal,
    limits: Sequence[Decimal],
    guard: Decimal = Decimal(0),
) -> Affordance:
    """Whether the part can pay for its mount. Raises `LatheDataError`.

    `clean_up` is the size that is true before any cut when the part is mounted right (T0 or D0), `cut` what the cut
    takes off that size: both faces of a rotor together, twice the depth in a drum. With parallel faces a mount of TIR S
    takes S off a rotor's thickness and adds S to a drum's diameter. `limits`: the machining limit and the discard
    limit, as far as known; `guard`: the guard band that the decision rule keeps to them. All in mm; exact.
    """
    refuse(
        [
            *not_positive("/clean_up", clean_up),
            *negative("/cut", cut),
            *negative("/mount_runout", mount_runout),
            *negative("/guard_band", guard),
        ]
    )
    sign = -1 if kind.is_rotor else 1
    with decimal.localcontext(EXACT):
        right = clean_up + sign * cut
        mounted = right + sign * mount_runout
        if not limits:
            return Affordance(right, mounted, None, None, None, (Missing.LIMITS,))
        strictest = max(limits) if kind.is_rotor else min(limits)
        spare = (strictest - right) * sign - guard
        return Affordance(right, mounted, spare >= 0, spare >= mount_runout, spare if spare >= 0 else None)
