"""An invented fleet over some weeks, by chance: parts of a few vehicles judged alone and in pairs, before and after.

The same seed gives the same weeks.
"""

from __future__ import annotations

from decimal import Decimal
from random import Random
from typing import Any

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS
from tests.api.callers import Clock
from tests.api.conftest import publish
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import Sent, judge_part
from turnrule.actions.numbers import write_exact
from turnrule.api.impact import read_stored
from turnrule.store.limit_records import Withdrawal
from turnrule.store.port import Key, LimitQuery, VerdictQuery, VerdictRecord

D = Decimal
VEHICLES = ("unit 1", "unit 2", "=unit 3", None)
SITES = (None, "north", "south")
POLICIES = ("default", "careful_bench", "fleet_reserve")
ROTOR = {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"}
DRUM = {"make": "Harrow", "model": "Tander", "year": 2020, "axle": "rear"}
EVERY = VerdictQuery()


def judge(desk: Desk, body: dict[str, Any], site: str | None = None) -> VerdictRecord:
    """Have a part judged and recorded for a site."""
    sent = Sent(Key("counter", "", frozenset({"verdicts"}), site, desk.clock()), write_exact(body))
    return judge_part(desk, read_stored(sent.body), sent).record


def rotor(size: str, side: str = "left", vehicle: str | None = "unit 1", **beside: Any) -> dict[str, Any]:  # noqa: ANN401
    """A request about a front rotor of the contract's example vehicle."""
    body = {
        "unit": "mm",
        "kind": "rotor",
        "application": ROTOR,
        "side": side,
        "thickness": [D(size)] * 8,
        "lateral_runout": D("0.01"),
        **beside,
    }
    return body if vehicle is None else body | {"vehicle": {"label": vehicle}}


def withdraw(desk: Desk, make: str = "Corvane") -> Withdrawal:
    """Withdraw what governs for a make."""
    (held,) = desk.store.limits(LimitQuery(make=make))
    gone = Withdrawal(held.limits_id, held.revision, "office", desk.clock(), "The table is another rotor's.")
    return desk.store.withdraw(gone)


def live(desk: Desk, clock: Clock, chance: Random, parts: int) -> list[VerdictRecord]:
    """Have so many parts judged, some of the limits withdrawn in between; what was recorded, in order."""
    if desk.store.release() is None:
        publish(desk, EXAMPLE_LIMITS, DRUM_LIMITS)
    made = []
    for number in range(parts):
        clock.move(hours=chance.choice((1, 7, 30, 200)))
        if number == parts // 2:
            withdraw(desk, chance.choice(("Corvane", "Harrow")))
        made.append(judge(desk, _request(chance), chance.choice(SITES)))
    return made


def _request(chance: Random) -> dict[str, Any]:
    is_rotor = chance.random() < 0.7
    unit = chance.choice(("mm", "in"))
    size = D(chance.randint(2380, 2600)) / 100 if is_rotor else D(chance.randint(22860, 23100)) / 100
    if unit == "in":
        size = round(size / D("25.4"), 4)
    track = [size + D(chance.choice((0, 0, 1))) / 1000 for _ in range(chance.choice((3, 4, 8)))]
    body: dict[str, Any] = {
        "unit": unit,
        "kind": "rotor" if is_rotor else "drum",
        "application": ROTOR if is_rotor else DRUM,
        "thickness" if is_rotor else "diameter": track,
        "policy": chance.choice(POLICIES),
        "stage": chance.choice(("before_machining", "before_machining", "after_machining")),
    }
    vehicle = chance.choice(VEHICLES)
    if vehicle is not None:
        body["vehicle"] = {"label": vehicle}
    if chance.random() < 0.9:
        body["side"] = chance.choice(("left", "right"))
    if chance.random() < 0.3:
        body["instrument"] = {"resolution": D("0.001"), "calibration_due": chance.choice(("2026-01-01", "2099-01-01"))}
    if chance.random() < 0.2:
        body.pop("application")
        body["marking"] = size - D("0.2")
    return body
