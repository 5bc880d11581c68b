"""What a release changes in the stored verdicts, as a caller reads it: the lines, the end, what breaks before it."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.actions.impact_world import World
from tests.api.bodies import EXAMPLE, changed, exact
from tests.api.conftest import Caller, Clock, Joining
from tests.api.test_contract import faults_of
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.api.application import build_api
from turnrule.store.limit_records import LimitQuery, LimitRevision, Release, Withdrawal

D = Decimal
IMPACT = "/v1/releases/2/impact"


def documents(response: TestResponse) -> list[dict[str, Any]]:
    """The lines of a stream that came to its end."""
    assert response.status_code == 200, response.get_data(as_text=True)
    assert response.mimetype == "application/x-ndjson"
    content = response.get_data()
    assert content.endswith(b"\n")
    lines = [json.loads(line) for line in content.splitlines()]
    assert [line.get("done", False) for line in lines] == [False] * (len(lines) - 1) + [True]
    return lines


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller who may read reports."""
    return join("reports")


@pytest.fixture
def rotor(desk: Desk, released: Release) -> LimitRevision:
    """The contract's example record, as release 1 holds it."""
    (found,) = desk.store.limits(LimitQuery(make="Corvane", release=released.number))
    return found


def correct(desk: Desk, clock: Clock, record: LimitRevision, **changes: Any) -> LimitRevision:  # noqa: ANN401 - fields by name
    """Publish the next revision of a record."""
    at = clock()
    whole = {
        "revision": record.revision + 1,
        "reason": "The next edition says so.",
        "entered_at": at,
        "verified_at": at,
    }
    correction = replace(record, **{**whole, **changes})
    desk.store.publish([correction], published_at=at, published_by="office", notes="A correction.")
    return correction


def test_a_line_says_who_is_concerned_what_was_answered_what_holds_now_and_what_to_do(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    judged = shop.post("/v1/verdicts", write_exact(changed(EXAMPLE, reference="job 7"))).get_json()
    assert judged["verdict"] == "machine"
    clock.move(days=20)
    limits = replace(rotor.limits, machining=D("25.2"), discard=D("24.8"))
    correct(desk, clock, rotor, limits=limits)
    line, done = documents(office.get(IMPACT))
    assert line == {
        "after": 1,
        "id": judged["id"],
        "judged_at": "2026-11-02T10:00:00.000000Z",
        "site": None,
        "vehicle": "unit 114",
        "reference": "job 7",
        "kind": "rotor",
        "application": exact(EXAMPLE)["application"],
        "side": "left",
        "unit": "mm",
        "verdict": {"before": "machine", "after": "replace"},
        "governing": {
            "before": {"check": "machining_limit", "limit": 24.6, "unit": "mm", "origin": "reference"},
            "after": {"check": "machining_limit", "limit": 25.2, "unit": "mm", "origin": "reference"},
        },
        "cut_allowed": {"before": True, "after": False},
        # 24.94 is left once both faces run true; 24.6 + 0.0071 and 25.2 + 0.0071 must stay.
        "most_total_cut": {"before": 0.3329, "after": None},
        "checks": [
            {"check": "machining_limit", "quantity": "thickness_after_cut", "before": "pass", "after": "fail"},
            {"check": "discard_after_cut", "quantity": "thickness_after_cut", "before": "pass", "after": "fail"},
        ],
        "limits": {
            "before": {"limits_id": rotor.limits_id, "revision": 1},
            "after": {"limits_id": rotor.limits_id, "revision": 2},
        },
        "release": {"before": 1, "after": 2},
        "differs": line["differs"],
        "cannot_be_judged": None,
        "action": "call_back",
        "what_to_do": "Call the vehicle back: the part was passed and has to be replaced.",
    }
    assert set(line["differs"]) >= {"verdict", "summary", "governing", "limits", "margins", "room", "cut", "checks"}
    assert not set(line["differs"]) & {"id", "digest", "release", "figures", "kind", "unit", "policy", "pack", "engine"}
    assert done == {"done": True, "after": 1, "compared": 1, "changed": 1, "cannot_be_judged": 0}


def test_a_verdict_that_stands_is_told_only_where_anything_is_asked_for(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    shop.post("/v1/verdicts", EXAMPLE)
    correct(desk, clock, rotor, source=replace(rotor.source, section="7.1"))
    (done,) = documents(office.get(IMPACT))
    assert done == {"done": True, "after": 1, "compared": 1, "changed": 0, "cannot_be_judged": 0}
    line, _ = documents(office.get(f"{IMPACT}?differ=anything"))
    assert line["verdict"] == {"before": "machine", "after": "machine"}
    assert line["limits"]["after"]["revision"] == 2
    assert line["checks"] == []
    assert line["action"] == "nothing_lost"


def test_less_room_for_a_cut_asks_that_a_machined_part_be_measured(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    shop.post("/v1/verdicts", EXAMPLE)
    correct(desk, clock, rotor, limits=replace(rotor.limits, machining=D("24.7")))
    line, _ = documents(office.get(f"{IMPACT}?differ=anything"))
    assert line["most_total_cut"] == {"before": 0.3329, "after": 0.2329}
    assert line["action"] == "check"


def test_a_cut_that_is_no_longer_allowed_counts_although_the_part_is_serviceable_as_before(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    body = changed(EXAMPLE, thickness=[D("25.01")] * 8, lateral_runout=D("0.02"), findings=None, groove_depth=None)
    judged = shop.post("/v1/verdicts", write_exact(body)).get_json()
    assert (judged["verdict"], judged["cut"]["allowed"]) == ("serviceable", True)
    correct(desk, clock, rotor, limits=replace(rotor.limits, machining=D("24.9")))
    line, _ = documents(office.get(IMPACT))
    assert line["verdict"] == {"before": "serviceable", "after": "serviceable"}
    assert line["cut_allowed"] == {"before": True, "after": False}
    assert line["action"] == "call_back"


def test_a_verdict_whose_record_no_longer_fits_is_told_with_the_reason(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    shop.post("/v1/verdicts", EXAMPLE)
    correct(desk, clock, rotor, fits=replace(rotor.fits, year_from=2023))
    line, done = documents(office.get(IMPACT))
    assert line["cannot_be_judged"]["code"] == "application_not_found"
    assert "2023 to 2024" in line["cannot_be_judged"]["detail"]
    assert line["verdict"] == {"before": "machine", "after": None}
    assert line["limits"] == {"before": {"limits_id": rotor.limits_id, "revision": 1}, "after": None}
    assert line["action"] == "call_back"
    assert done["cannot_be_judged"] == 1


def test_a_withdrawal_shows_from_the_release_on_that_counts_it(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    shop.post("/v1/verdicts", EXAMPLE)
    desk.store.withdraw(Withdrawal(rotor.limits_id, 1, "office", clock(), "The document was recalled."))
    shop.post("/v1/verdicts", EXAMPLE)  # judged without the record already
    desk.store.publish([], published_at=clock(), published_by="office", notes="Without it.")
    line, done = documents(office.get(IMPACT))
    assert (line["after"], line["verdict"]) == (1, {"before": "machine", "after": "inconclusive"})
    assert line["limits"]["after"] is None
    assert line["action"] == "call_back"
    assert done["compared"] == 2


def test_a_stream_is_taken_up_again_after_any_line(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    for _ in range(5):
        shop.post("/v1/verdicts", EXAMPLE)
    correct(desk, clock, rotor, limits=replace(rotor.limits, machining=D("25.2")))
    *lines, done = documents(office.get(IMPACT))
    assert [line["after"] for line in lines] == [1, 2, 3, 4, 5]
    for place, line in enumerate(lines, start=1):
        *rest, end = documents(office.get(f"{IMPACT}?after={line['after']}"))
        assert rest == lines[place:]
        assert end == {**done, "compared": 5 - place, "changed": 5 - place}


def test_a_key_of_a_site_sees_its_own_verdicts_only(
    desk: Desk, clock: Clock, join: Joining, office: Caller, rotor: LimitRevision
) -> None:
    for site in ("north", "south", "north"):
        join("verdicts", site=site).post("/v1/verdicts", EXAMPLE)
    correct(desk, clock, rotor, limits=replace(rotor.limits, machining=D("25.2")))
    *lines, done = documents(join("reports", site="north").get(IMPACT))
    assert [line["site"] for line in lines] == ["north", "north"]
    assert done["compared"] == 2
    assert len(documents(office.get(IMPACT))) == 4


def test_since_reaches_back_over_several_releases(
    desk: Desk, clock: Clock, shop: Caller, office: Caller, rotor: LimitRevision
) -> None:
    shop.post("/v1/verdicts", EXAMPLE)
    correct(desk, clock, rotor, limits=replace(rotor.limits, machining=D("25.2")))
    desk.store.publish([], published_at=clock(), published_by="office", notes="Nothing new.")
    assert len(documents(office.get("/v1/releases/3/impact"))) == 1
    assert len(documents(office.get("/v1/releases/3/impact?since=1"))) == 2
    assert len(documents(office.get("/v1/releases/3/impact?since=0"))) == 2
    assert len(documents(office.get("/v1/releases/1/impact"))) == 1


def test_every_line_of_some_months_is_as_the_contract_says(desk: Desk, clock: Clock) -> None:
    World(desk, clock, Random(3)).live(months=6)
    office = Caller(build_api(desk).test_client(), create_key(desk, "office", ["reports"]).secret)
    newest = desk.store.release()
    assert newest is not None
    lost = 0
    for number in range(2, newest.number + 1):
        *lines, done = documents(office.get(f"/v1/releases/{number}/impact?since=0&differ=anything"))
        assert [fault for line in lines for fault in faults_of("ImpactLine", line)] == []
        assert faults_of("ImpactDone", done) == []
        lost += done["cannot_be_judged"]
    assert lost


def test_only_keys_for_reports_or_releases_open_it(join: Joining, shop: Caller) -> None:
    for scope in ("reports", "releases:publish", "admin"):
        assert join(scope).get("/v1/releases/1/impact").status_code == 200
    for scope in ("verdicts", "limits:write", "limits:verify", "policies:write"):
        assert join(scope).get("/v1/releases/1/impact").status_code == 403
    assert shop.client.get("/v1/releases/1/impact").status_code == 401


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("since=1", "since"),
        ("since=7", "since"),
        ("since=-1", "since"),
        ("since=x", "since"),
        ("after=-1", "after"),
        ("after=WzFd", "after"),
        ("differ=all", "differ"),
        ("limit=5", "limit"),
        ("after=1&after=2", "after"),
    ],
)
def test_a_parameter_that_cannot_be_taken_is_named(office: Caller, query: str, parameter: str) -> None:
    response = office.get(f"/v1/releases/1/impact?{query}")
    assert response.status_code == 400
    assert parameter in {error["parameter"] for error in response.get_json()["errors"]}


@pytest.mark.parametrize("number", ["2", "0", "99999999999"])
def test_a_release_that_was_never_published_is_not_found(office: Caller, number: str) -> None:
    assert office.get(f"/v1/releases/{number}/impact").status_code == 404
