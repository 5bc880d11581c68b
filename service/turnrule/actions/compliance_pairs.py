"""The two sides of an axle against the pair rule of the policy: work on one side alone.

Sides that were judged together tell of each other by their axle verdict. Others belong together where they are of one
vehicle, axle, kind of part and job number, and were judged within so many days of each other.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence

from turnrule.actions.compliance_lines import ComplianceLine, Rule, Windows
from turnrule.actions.compliance_parts import Seen, day, line
from turnrule.judging.words import PairRule, Ruling, Side

_WORDS = {
    Ruling.SERVICEABLE: "stays in service",
    Ruling.MACHINE: "is to be machined",
    Ruling.INCONCLUSIVE: "is not settled",
    Ruling.REPLACE: "is to be replaced",
}
_ANSWERED = {
    PairRule.MACHINE_BOTH: {Ruling.MACHINE: frozenset({Ruling.MACHINE, Ruling.REPLACE})},
    PairRule.REPLACE_BOTH: {
        Ruling.MACHINE: frozenset({Ruling.MACHINE, Ruling.REPLACE}),
        Ruling.REPLACE: frozenset({Ruling.REPLACE}),
    },
}
"""By pair rule and by what is done with one side: what has to be done with the other."""

RuleOf = Callable[[Seen], PairRule]


def pair_lines(
    axle: Sequence[Seen], rule_of: RuleOf, windows: Windows, now: datetime.datetime
) -> Iterator[ComplianceLine]:
    """The sides of one axle of which the other one did not get what the policy asks; each such axle once."""
    for one in axle:
        if not one.told or one.finished or one.side is None:
            continue
        needed = _ANSWERED.get(rule_of(one), {}).get(one.ruling)
        if needed is None:
            continue
        if one.axle_id is not None:
            yield from _judged_together(one, axle, needed, windows, now)
        elif now - one.judged_at > windows.pair and not _measured_again(one, axle, windows):
            yield from _judged_apart(one, axle, needed, windows)


def _other(one: Seen) -> str:
    return Side.RIGHT if one.side == Side.LEFT else Side.LEFT


def _judged_together(
    one: Seen, axle: Sequence[Seen], needed: frozenset[Ruling], windows: Windows, now: datetime.datetime
) -> Iterator[ComplianceLine]:
    """By an axle verdict, which says itself what the other side needs: what was done with the other side counts."""
    partner = next((other for other in axle if other.axle_id == one.axle_id and other.side == _other(one)), None)
    if partner is None:
        yield _single(one, None, f"the {_other(one)} side was not measured for the axle verdict")
        return
    if partner.ruling in needed or partner.ruling is Ruling.INCONCLUSIVE:
        return
    turned = _turned_after(partner, axle)
    if one.ruling is Ruling.REPLACE and turned is not None:
        yield _single(one, turned, f"the {partner.side} side was machined and not replaced ({day(turned.judged_at)})")
    elif one.ruling is Ruling.MACHINE and turned is None and now - one.judged_at > windows.after:
        mine = _turned_after(one, axle)
        if mine is not None:
            done = f"after {day(mine.judged_at)} only this side was measured as machined"
            yield _single(one, partner, f"the axle verdict asks for both, and {done}")


def _judged_apart(
    one: Seen, axle: Sequence[Seen], needed: frozenset[Ruling], windows: Windows
) -> Iterator[ComplianceLine]:
    near = [
        other
        for other in axle
        if other.side == _other(one)
        and other.reference == one.reference
        and abs(other.judged_at - one.judged_at) <= windows.pair
    ]
    before = [other for other in near if not other.finished]
    if one.ruling is Ruling.MACHINE and any(other.finished for other in near):
        return
    if not before:
        yield _single(one, None, f"there is no verdict on the {_other(one)} side within {windows.pair_days} days")
    elif before[-1].ruling not in needed:
        partner = before[-1]
        yield _single(one, partner, f"the {partner.side} side {_WORDS[partner.ruling]} ({day(partner.judged_at)})")


def _measured_again(one: Seen, axle: Sequence[Seen], windows: Windows) -> bool:
    """True where the same side was judged again for the same job: then that verdict counts."""
    return any(
        other.sequence > one.sequence
        and other.side == one.side
        and other.reference == one.reference
        and not other.finished
        and other.judged_at - one.judged_at <= windows.pair
        for other in axle
    )


def _turned_after(one: Seen, axle: Sequence[Seen]) -> Seen | None:
    """The next record of a side, where it is one after machining."""
    later = (other for other in axle if other.side == one.side and other.sequence > one.sequence)
    following = next(later, None)
    return following if following is not None and following.finished else None


def _single(one: Seen, other: Seen | None, what: str) -> ComplianceLine:
    evidence = f"The {one.side} side {_WORDS[one.ruling]} ({day(one.judged_at)}), and {what}."
    work = "replaced" if one.ruling is Ruling.REPLACE else "machined"
    todo = f"Have the {_other(one)} side measured, and {work} as well where the policy asks for both."
    return line(Rule.SINGLE_SIDE, one, () if other is None else (other.id,), evidence, todo)
