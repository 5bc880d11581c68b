"""How each error of entering, verifying, releasing and withdrawing comes about."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from werkzeug.test import TestResponse

from tests.api.bodies import DRUM_LIMITS, changed
from tests.api.counter import Counter
from tests.api.entering import BREN, bren, corrected, second
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.keys import create_key
from turnrule.store.limit_records import StoreRules
from turnrule.store.sqlite import open_sqlite

D = Decimal
Trigger = Callable[[Counter], TestResponse]
INCH_DRUM = changed(DRUM_LIMITS, application={"make": "Harrow", "model": "Lind", "year_from": D(2018), "axle": "rear"})


class Vehicle:
    """Limits of a vehicle that nobody has entered yet."""

    def __init__(self, counter: Counter) -> None:
        self.counter = counter
        named = {**BREN["application"], "model": f"Tavik {counter.desk.make_id(counter.desk.clock())}"}
        self.body = bren(application=named)
        self.limits_id = ""

    def entered(self) -> Vehicle:
        """Enter them."""
        response = self.counter.enter(self.body)
        assert response.status_code == 201, response.get_json()
        self.limits_id = response.get_json()["limits_id"]
        return self

    def verified(self) -> Vehicle:
        """Enter them twice."""
        assert self.entered().again().status_code == 201
        return self

    def again(self, reader: int = 0, **changes: object) -> TestResponse:
        """Enter them a second time."""
        return self.counter.verify(self.limits_id, second(application=self.body["application"], **changes), reader)

    def corrected(self, size: str, revision: int = 1) -> TestResponse:
        """Enter a correction."""
        application = self.body["application"]
        changes = {"application": application, "discard_thickness": D(size)}
        return self.counter.enter(corrected(self.limits_id, revision, **changes))


OTHER = D("23.9")


def by_the_same_person(counter: Counter) -> TestResponse:
    """Both entries under one key."""
    vehicle = Vehicle(counter)
    headers = {"Authorization": f"Bearer {create_key(counter.desk, 'chief', ['admin']).secret}"}
    limits_id = counter.enter(vehicle.body, **headers).get_json()["limits_id"]
    return counter.send("POST", f"/v1/limits/{limits_id}/verifications", second(), **headers)


def by_a_party_of_the_dispute(counter: Counter) -> TestResponse:
    """Two entries that differ, and then one more by one of those who made them."""
    vehicle = Vehicle(counter).entered()
    for reader in (0, 1):
        vehicle.again(reader, discard_thickness=OTHER)
    return vehicle.again()


def before_the_pause_is_over(counter: Counter) -> TestResponse:
    """Both entries by one person, too soon, in a store that was made for one."""
    store = open_sqlite(counter.place / "for-one.sqlite")
    store.migrate()
    desk = Desk(store, counter.desk.pack, counter.desk.clock, new_id)
    store.set_rules(StoreRules(one_person_pause=datetime.timedelta(days=1)), at=desk.clock(), by="operator")
    alone = Counter(desk, counter.place)
    alone.key = create_key(desk, "solo", ["admin"]).secret
    limits_id = Vehicle(alone).entered().limits_id
    response = alone.send("POST", f"/v1/limits/{limits_id}/verifications", second())
    store.close()
    return response


def while_a_correction_is_under_way(counter: Counter) -> TestResponse:
    """Two corrections of one revision."""
    vehicle = Vehicle(counter).verified()
    assert vehicle.corrected("23.9").status_code == 201
    return vehicle.corrected("23.8")


def twice_withdrawn(counter: Counter) -> TestResponse:
    """A withdrawal of what is withdrawn already."""
    vehicle = Vehicle(counter).verified()
    assert counter.withdraw(vehicle.limits_id).status_code == 201
    return counter.withdraw(vehicle.limits_id)


def after_another_release(counter: Counter) -> TestResponse:
    """A release that was to follow one that is no longer the newest."""
    Vehicle(counter).verified()
    return counter.publish(follows=D(0))


def after_all_was_released(counter: Counter) -> TestResponse:
    """A release of nothing."""
    counter.publish()
    return counter.publish()


ENTRY_PROBLEMS: Mapping[str, Trigger] = {
    "entries_differ": lambda counter: Vehicle(counter).entered().again(discard_thickness=OTHER),
    "second_person_needed": by_the_same_person,
    "third_person_needed": by_a_party_of_the_dispute,
    "pause_not_over": before_the_pause_is_over,
    "draft_open": while_a_correction_is_under_way,
    "stale_revision": lambda counter: Vehicle(counter).verified().corrected("23.9", 7),
    "nothing_to_verify": lambda counter: Vehicle(counter).verified().again(),
    "nothing_to_withdraw": twice_withdrawn,
    "nothing_to_publish": after_all_was_released,
    "release_race": after_another_release,
    "warnings_unanswered": lambda counter: counter.enter(bren(maximum_lateral_runout=D("0.3"))),
}
"""The problems of those who keep the reference."""


def on_vehicle(**changes: object) -> dict[str, Any]:
    """The vehicles of the limits, some of it changed."""
    return {**BREN["application"], **changes}


def far_from_the_others(counter: Counter) -> TestResponse:
    """A wear allowance of another order than that of a dozen parts of the same size."""
    for _ in range(14):
        Vehicle(counter).verified()
    counter.publish()
    odd = {"maximum_thickness_variation": D("0.13"), "maximum_lateral_runout": D("0.1")}
    return counter.enter(bren(application=on_vehicle(axle="rear"), **odd))


def entering(**changes: object) -> Trigger:
    """Entering the limits with some fields changed; None takes one out."""
    return lambda counter: counter.enter(bren(**changes))


BY_STATE = (
    "second_person_needed",
    "third_person_needed",
    "pause_not_over",
    "draft_open",
    "stale_revision",
    "nothing_to_verify",
    "nothing_to_withdraw",
    "nothing_to_publish",
    "release_race",
)
FORMS = ("maximum_lateral_runout", "maximum_thickness_variation")
SIZES = ("nominal_thickness", "minimum_machining_thickness", "discard_thickness")
ANSWER = {"code": "unusual_axle", "pointer": "/application/axle", "reason": "to be on the safe side"}

ENTRY_FAULTS: Mapping[str, Trigger] = {
    **{code: ENTRY_PROBLEMS[code] for code in BY_STATE},
    "differs": ENTRY_PROBLEMS["entries_differ"],
    "impossible_size": entering(nominal_thickness=D(1500)),
    "too_fine": lambda counter: counter.enter({**INCH_DRUM, "discard_diameter": D("9.0900003")}),
    "same_unit": entering(also={"unit": "mm", "discard_thickness": D(24)}),
    "twin_without_value": entering(also={"unit": "in", "maximum_taper": D("0.001")}),
    "twin_differs": entering(also={"unit": "in", "discard_thickness": D("0.994")}),
    "construction_of_another_kind": lambda counter: counter.enter({**INCH_DRUM, "construction": "vented"}),
    "finer_than_any_gauge": entering(maximum_thickness_variation=D("0.0001")),
    "greater_than_any_part": entering(maximum_lateral_runout=D(5)),
    "nothing_limited": entering(**dict.fromkeys((*SIZES, *FORMS))),
    "placeholder": entering(source={**BREN["source"], "section": "n/a"}),
    "reason_without_correction": entering(reason="because it is so"),
    "overlap": lambda counter: counter.enter(Vehicle(counter).entered().body),
    "warning_not_raised": entering(answered_warnings=[ANSWER]),
    "possible_unit_mixup": entering(maximum_lateral_runout=D("0.002")),
    "possible_point_slip": entering(maximum_lateral_runout=D("0.5")),
    "unusual_value": entering(nominal_thickness=D(70), minimum_machining_thickness=None, discard_thickness=D(66)),
    "unusual_allowance": entering(discard_thickness=D(21)),
    "unusual_form_ratio": entering(maximum_lateral_runout=D("0.013"), maximum_thickness_variation=D("0.1")),
    "unusual_axle": entering(application=on_vehicle(axle="third")),
    "unusual_construction": entering(construction="cast"),
    "far_from_similar": far_from_the_others,
    "machining_without_limit": entering(minimum_machining_thickness=None),
    "limit_without_machining": entering(machining="prohibited"),
    "no_strength_limit": entering(minimum_machining_thickness=None, discard_thickness=None, machining=None),
    "before_vehicle": entering(effective_from="2012-01-01"),
    "after_document": entering(application=on_vehicle(year_from=D(2019))),
    "review_before_start": entering(review_due="2015-01-01"),
    "far_ahead": entering(effective_from="2029-01-01"),
    "document_to_come": entering(source={**BREN["source"], "issued": "2028-01-01"}),
    "long_year_range": entering(application=on_vehicle(year_to=D(2045))),
    "year_long_past": entering(application=on_vehicle(year_from=D(1930))),
    "year_to_come": entering(application=on_vehicle(year_to=D(2031))),
}
"""The faults and warnings of entries, and how entries, releases and withdrawals stand."""
