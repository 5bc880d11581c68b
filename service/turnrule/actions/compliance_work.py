"""What the verdicts on one part tell together: machined against the verdict, or never measured after machining.

The verdicts are those of one side of one vehicle's axle and of one kind of part, in the order of recording. They only
know what was measured: a part that was thrown away, or turned and fitted unmeasured, leaves no record.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence

from turnrule.actions.compliance_lines import ComplianceLine, Rule, Windows
from turnrule.actions.compliance_parts import Seen, day, line
from turnrule.judging.words import Ruling

_TAKE_OFF = "Take the part out of service, and replace it or have it judged anew by its maker's data."


def work_lines(part: Sequence[Seen], windows: Windows, now: datetime.datetime) -> Iterator[ComplianceLine]:
    """The rules that the work on one part did not keep."""
    for place, one in enumerate(part):
        if not one.told:
            continue
        if one.finished:
            yield from _against(one, verdict_before(part, place))
        elif one.ruling is Ruling.MACHINE:
            yield from _not_measured(one, part[place + 1 :], windows, now)


def verdict_before(part: Sequence[Seen], place: int) -> Seen | None:
    """The verdict before machining: the one that the finished part names, else the last one before it.

    None where there is none, or where the finished part is plainly another one: metal does not grow.
    """
    one = part[place]
    earlier = [other for other in part[:place] if not other.finished]
    named = [other for other in earlier if other.id == one.before]
    found = (named or earlier)[-1:]
    return found[0] if found and not _is_another(one, found[0]) else None


def _is_another(one: Seen, before: Seen) -> bool:
    """True where even the worst place of a part is better than the best place was."""
    if one.worn is None or before.best is None:
        return False
    return one.worn > before.best if one.kind.is_rotor else one.worn < before.best


def _against(one: Seen, before: Seen | None) -> Iterator[ComplianceLine]:
    """Why a finished part should not have been machined, or not so far."""
    reasons = []
    if before is not None and before.ruling is Ruling.REPLACE:
        reasons.append(f"the verdict of {day(before.judged_at)} before it was replace")
    if one.prohibited or (before is not None and before.prohibited):
        reasons.append("the limits say that the part must not be machined")
    if one.past_machining:
        reasons.append("it measured past its machining limit afterwards")
    if reasons:
        evidence = f"Measured after machining on {day(one.judged_at)}: {', and '.join(reasons)}."
        others = () if before is None else (before.id,)
        yield line(Rule.AGAINST_VERDICT, one, others, evidence, _TAKE_OFF)


def _not_measured(
    one: Seen, later: Sequence[Seen], windows: Windows, now: datetime.datetime
) -> Iterator[ComplianceLine]:
    """A part that was to be machined, and of which nothing was heard in time, or only the next wear."""
    if now - one.judged_at <= windows.after:
        return
    following = later[0] if later else None
    if following is not None and (following.finished or following.judged_at - one.judged_at <= windows.after):
        return
    next_heard = "nothing was recorded of it since"
    if following is not None:
        next_heard = f"the next record of it is of {day(following.judged_at)}, before machining again"
    evidence = f"To be machined on {day(one.judged_at)}; {next_heard}."
    todo = "Ask what was done; where it was machined, measure the part now and record it as after machining."
    yield line(Rule.NOT_MEASURED_AFTER, one, () if following is None else (following.id,), evidence, todo)
