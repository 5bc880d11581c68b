"""How each error of lathes, set-up checks, finished parts, histories and reports comes about."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE, changed, exact
from tests.api.counter import Counter
from turnrule.api.contract_examples import examples

D = Decimal
Trigger = Callable[[Counter], TestResponse]
TURN = {"value": D(1), "unit": "km"}
PART = {"unit": "mm", "kind": "rotor", "thickness": [D("25.02")] * 4, "marking": D(24)}
FLAT = [D(0)] * 3


def part(**more: object) -> Trigger:
    """A request for a verdict with some more fields."""
    return lambda counter: counter.judge({**PART, **more})


def setup(**more: object) -> Trigger:
    """A set-up check of a rotor with these blocks."""
    return lambda counter: counter.send("POST", "/v1/setup-checks", {"unit": "mm", "kind": "rotor", **more})


def scratched(**scratch: object) -> Trigger:
    """A set-up check of one scratch."""
    return setup(readings=[{"scratch": {"depth": D("0.1"), **scratch}}])


def tracks(*given: dict[str, Any]) -> Trigger:
    """A set-up check of a drum's tracks."""
    return lambda counter: counter.send(
        "POST", "/v1/setup-checks", {"unit": "mm", "kind": "drum", "tracks": list(given)}
    )


def lathe(**more: object) -> Trigger:
    """A lathe with some figures changed."""

    def write(counter: Counter) -> TestResponse:
        sent = examples()["lathe-written"].sent
        body = {**exact(json.dumps(sent)), **more}
        return counter.send("PUT", "/v1/lathes/another", body, If_None_Match="*")

    return write


def finished_after(kept: dict[str, Any], **more: object) -> Trigger:
    """A finished part that names the verdict on another request as the one before machining."""

    def judge(counter: Counter) -> TestResponse:
        before = json.loads(counter.judge(kept).data)["id"]
        return counter.judge({**PART, "stage": "after_machining", "before": before, **more})

    return judge


LATHE_FAULTS: dict[str, Trigger] = {
    "kind_or_profile": part(lathe={}),
    "revision_without_profile": part(lathe={"kind": "bench", "revision": D(1)}),
    "inner_past_outer": part(dimensions={"outer_diameter": D(200), "inner_diameter": D(280)}),
    "gap_past_thickness": part(
        dimensions={"outer_diameter": D(280), "inner_diameter": D(200), "air_gap": D(26)},
    ),
    "out_of_order": lathe(greatest_depth=D("0.01")),
    "thread_cut": lathe(finishing_feeds=[D("0.05"), D("0.8")]),
    "not_machined_yet": part(cut_made={"inboard": D(0), "outboard": D(0)}),
    "verdict_not_found": part(stage="after_machining", before="01m7q5st00000000000000000z"),
    "not_before_machining": finished_after({**PART, "stage": "after_machining"}),
    "not_the_same_part": finished_after({**PART, "side": "left"}, side="right"),
    "interval_or_odometers": part(vehicle={"odometer": TURN}, services={}),
    "last_without_interval": part(
        vehicle={"odometer": TURN}, services={"at": [{"value": D(2), "unit": "km"}], "last": TURN}
    ),
    "nothing_read": setup(),
    "scratch_or_trace": setup(readings=[{"turned": D(0)}]),
    "fraction_or_arcs": scratched(),
    "empty_arc": scratched(arcs=[{"start": D(9), "end": D(9)}]),
    "arcs_overlap": scratched(arcs=[{"start": D(0), "end": D(9)}, {"start": D(8), "end": D(20)}]),
    "not_an_angle": setup(hub={"studs": D(5), "readings": [{"turned": D(0), "runout": D(1), "high_spot": D(360)}]}),
    "trace_or_high_spot": setup(hub={"studs": D(5), "readings": [{"turned": D(0)}]}),
    "studs_or_turns": setup(hub={"readings": [{"turned": D(0), "trace": FLAT}]}),
    "below_the_least": setup(
        readings=[{"trace": FLAT}],
        passes={"least_depth": D(2), "greatest_depth": D(1)},
    ),
    "no_trace": setup(faces={"thickness": [D(25)] * 3}),
    "different_angles": setup(faces={"outboard": FLAT, "inboard": [D(0)] * 4}),
    "distance_or_place": tracks({"diameters": [D(230)]}),
    "distances_or_places": tracks(
        {"distance": D(1), "diameters": [D(230)]}, {"place": "closed", "diameters": [D(230)]}
    ),
    "same_track_twice": tracks(*[{"place": "closed", "diameters": [D(230)]}] * 2),
    "nothing_to_group": lambda counter: counter.send("GET", "/v1/reports/verdicts?unit=mm&then_by=site"),
}

ELSEWHERE = {
    "too_many_groups": "tests/api/test_reports.py shows it with a lower bound",
    "must_be_positive": "the shapes refuse it before the engine would, which its own tests ask directly",
}
"""Codes that no single small request meets."""

LATHE_PROBLEMS: dict[str, Trigger] = {
    "lathe_not_found": lambda counter: counter.judge(changed(EXAMPLE, lathe={"profile": "nobodys"})),
}
