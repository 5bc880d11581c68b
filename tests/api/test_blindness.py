"""The second entry is blind: whatever a draft says, everybody but its author is answered the same to the byte.

Two services differ in nothing but what a draft says. Every address, every refusal and every second entry is tried
on both by people who did not enter it, at every stage of the draft's life. Where an answer, a header or a line of the
log hung on the draft's values in any way, directly or by its length or tag, the two would not be the same.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import DRUM_LIMITS, EXAMPLE, EXAMPLE_LIMITS, exact
from tests.api.callers import START, Caller
from tests.api.conftest import publish
from tests.api.demo_service import REQUEST_ID, steady_ids
from tests.api.entering import Person, code_of, faults_of
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.api.application import build_api
from turnrule.api.contract_operations import OPERATIONS
from turnrule.api.queries import CoverageList
from turnrule.pack import Pack
from turnrule.store.sqlite import open_sqlite

D = Decimal
SOURCE = {"document": "Tavik brake data", "publisher": "Brennor", "section": "4.2", "edition": "6"}
VEHICLE = {"make": "Brennor", "model": "Tavik"}


class Secret(NamedTuple):
    """What a draft says, and how it would look if it showed anywhere."""

    draft: Mapping[str, Any]
    correction: Mapping[str, Any]
    signs: str


ONE = Secret(
    {
        "application": {**VEHICLE, "year_from": 2007, "year_to": 2013, "axle": "third", "brake_option": "Zq7"},
        "nominal_thickness": D("31.37"),
        "minimum_machining_thickness": D("29.83"),
        "discard_thickness": D("29.17"),
        "maximum_lateral_runout": D("0.0731"),
        "maximum_thickness_variation": D("0.0193"),
        "maximum_taper": D("0.0417"),
        "expansion_per_k": D("0.0000117"),
        "also": {"unit": "in", "nominal_thickness": D("1.235"), "discard_thickness": D("1.1484")},
        "machining": "on_vehicle_only",
        "construction": "solid",
        "effective_from": "2007-05-19",
        "effective_to": "2033-08-27",
        "review_due": "2031-07-23",
        "note": "Beside figure 9173.",
    },
    {"minimum_machining_thickness": D("24.57"), "discard_thickness": D("23.93"), "reason": "it says 23.93 in row 9174"},
    r"31\.37|29\.83|29\.17|0731|0193|0417|117|1\.235|1\.1484|2007|2013|2033|2031|third|Zq7|solid|on_vehicle|24\.57"
    r"|23\.93|917[345]",
)
OTHER = Secret(
    {
        "application": {**VEHICLE, "year_from": 2008, "year_to": 2012, "axle": "fourth", "brake_option": "Xw4"},
        "nominal_thickness": D("33.53"),
        "minimum_machining_thickness": D("31.9"),
        "discard_thickness": D("31.29"),
        "maximum_lateral_runout": D("0.06"),
        "maximum_thickness_variation": D("0.0217"),
        "maximum_taper": D("0.04"),
        "expansion_per_k": D("0.0000113"),
        "also": {"unit": "in", "nominal_thickness": D("1.32")},
        "machining": "not_stated",
        "construction": "vented",
        "effective_from": "2008-06-21",
        "effective_to": "2034-01-01",
        "review_due": "2030-02-03",
        "note": "Seen in the column at the right, below the line that is printed in bold.",
    },
    {"minimum_machining_thickness": D("24.4"), "discard_thickness": D("23.8"), "reason": "the row above was read"},
    "",
)

WRONG: Mapping[str, Any] = {
    "unit": "mm",
    "kind": "rotor",
    "application": {**VEHICLE, "year_from": 2010, "year_to": 2011, "axle": "front"},
    "nominal_thickness": D(22),
    "minimum_machining_thickness": D("20.6"),
    "discard_thickness": D(20),
    "machining": "permitted",
    "effective_from": "2010-01-01",
    "effective_to": "2035-01-01",
}
"""A second entry that differs from either draft in every field that can be told apart."""


class Seen(NamedTuple):
    """One answer, as it came."""

    asked: str
    status: int
    headers: tuple[tuple[str, str], ...]
    body: bytes


class Service:
    """A service over one store, with an author whose drafts are the secret and people who must not learn it."""

    def __init__(self, folder: Path, pack: Pack) -> None:
        folder.mkdir()
        self.store = open_sqlite(folder / "store.sqlite")
        self.store.migrate()
        self.desk = Desk(self.store, pack, lambda: START, steady_ids())
        publish(self.desk, EXAMPLE_LIMITS, DRUM_LIMITS)
        self.app = build_api(self.desk)
        self.anna = self.person("anna", "limits:write")
        everything = ("limits:verify", "verdicts", "reports")
        self.bert, self.carl, self.dora = (self.person(name, *everything) for name in ("bert", "carl", "dora"))
        self.office = self.person("office", "releases:publish")
        assert self.bert.caller.post("/v1/verdicts", EXAMPLE).status_code == 201

    def person(self, name: str, *scopes: str) -> Person:
        """Someone with a key."""
        return Person(Caller(self.app.test_client(), create_key(self.desk, name, scopes).secret))

    def entered(self, body: Mapping[str, Any]) -> str:
        """The id of a draft of the author, who gives a reason for whatever is warned of: the reasons are secret too."""
        response = self.anna.enter(body)
        if response.status_code != 201:
            assert code_of(response) == (422, "warnings_unanswered"), response.get_json()
            answers = [
                {"code": one["code"], "pointer": one["pointer"], "reason": f"so row 9175 says: {one['detail']}"[:500]}
                for one in response.get_json()["errors"]
            ]
            response = self.anna.enter({**body, "answered_warnings": answers})
        assert response.status_code == 201, response.get_json()
        limits_id: str = response.get_json()["limits_id"]
        return limits_id

    def ask(self, person: Person, method: str, path: str, body: object = None, **headers: str) -> Seen:
        """Send something, and keep everything that came back."""
        sent = body if isinstance(body, bytes) or body is None else write_exact(body)
        response = person.caller.send(method, path, sent, X_Request_ID=REQUEST_ID, **headers)
        told = " again" if "If_None_Match" in headers else ""
        found = Seen(f"{method} {path}{told}", response.status_code, *_whole(response))
        response.close()
        return found


def _whole(response: TestResponse) -> tuple[tuple[tuple[str, str], ...], bytes]:
    """All headers and the whole body of an answer."""
    return tuple(sorted(response.headers.items())), response.data


def addresses(limits_id: str) -> Iterator[str]:
    """Every address that can be read, the record's own and those that list, by the contract's own table."""
    ids = {"limits_id": limits_id, "number": "1", "code": "entries_differ", "name": "default", "verdict_id": "0" * 26}
    ids |= {"axle_id": "0" * 26, "site": "North"}
    for operation in OPERATIONS:
        if operation.method == "get" and operation.path != "/metrics":
            yield re.sub(r"\{(\w+)\}", lambda name: ids[name[1]], operation.path)
    record = f"/v1/limits/{limits_id}"
    yield from (f"{record}?revision={number}" for number in (1, 2, 3))
    yield from (
        f"{record}/revisions?limit=1",
        "/v1/limits?make=Brennor&model=Tavik",
        "/v1/limits?release=1&on=2026-11-02",
    )
    yield from (f"/v1/limits?axle={axle}" for axle in ("third", "fourth"))
    yield from (f"/v1/limits?year={year}" for year in (2007, 2010, 2012))
    yield from (f"/v1/coverage?list={name.value}" for name in CoverageList)
    yield from (f"/v1/verdicts?limits_id={limits_id}", f"/v1/verdicts?limits_id={limits_id}&limits_revision=2")
    yield from ("/v1/releases/1/changes?since=0", "/v1/releases/1/impact?since=0&differ=anything", "/v1/releases/2")


def crawl(service: Service, person: Person, *ids: str) -> Iterator[Seen]:
    """Every address, for each of the records, by GET and HEAD, and again with the tag that came."""
    for limits_id in ids:
        for address in addresses(limits_id):
            found = service.ask(person, "GET", address)
            yield found
            yield service.ask(person, "HEAD", address)
            tag = dict(found.headers).get("ETag")
            if tag is not None:
                yield service.ask(person, "GET", address, If_None_Match=tag)


def attempts(service: Service, person: Person, *ids: str) -> Iterator[Seen]:
    """Everything that is refused, as far as it comes near a draft."""
    bodies: list[object] = [
        b"{",
        b"[]",
        {},
        {**WRONG, "unit": "cm"},
        {**WRONG, "discard_thickness": D("20.7")},
        {**WRONG, "thickness": D(1)},
        {**WRONG, "discard_thickness": "20"},
        {**WRONG, "corrects": {"limits_id": ids[0], "revision": 1}},
        {"unit": "mm", "kind": "rotor", "application": {**VEHICLE, "year_from": 2012, "year_to": 2009}},
        {"unit": "in", "kind": "rotor", "application": WRONG["application"], "discard_thickness": D("29.17")},
    ]
    for limits_id in ids:
        for body in bodies:
            yield service.ask(person, "POST", f"/v1/limits/{limits_id}/verifications", body)
        yield service.ask(person, "POST", f"/v1/limits/{limits_id}/verifications", WRONG, Idempotency_Key="a b")
        for wanted in ({"reason": "short"}, {"reason": "long enough to be one", "revision": 9}):
            yield service.ask(person, "POST", f"/v1/limits/{limits_id}/withdrawals", wanted)
    yield service.ask(person, "POST", "/v1/limits", WRONG)
    yield service.ask(person, "POST", "/v1/releases", {"notes": "mine"})
    for old, new in (('"Ostrel"', '"Tavik"'), ('"Corvane"', '"Brennor"'), ('"front"', '"fifth"')):
        yield service.ask(person, "POST", "/v1/verdicts", EXAMPLE.replace(old, new).encode())


def life(service: Service, secret: Secret) -> Iterator[Seen]:
    """All that others see of a draft and of a correction, from the first entry to the day when they are given up."""
    new = service.entered(whole(secret))
    released = "corvane-ostrel-2021-front-rotor-b16"
    wanted = {"corrects": {"limits_id": released, "revision": 1}, **secret.correction}
    assert service.entered({**exact(EXAMPLE_LIMITS), **wanted}) == released
    both = (new, released)
    yield from crawl(service, service.bert, *both)
    yield from attempts(service, service.bert, *both)
    for place, person in enumerate((service.bert, service.carl, service.dora)):
        wrong = {**WRONG, "discard_thickness": D("19.6") + place * D("0.1")}
        for number, limits_id in enumerate(both):
            for _ in range(2):
                path = f"/v1/limits/{limits_id}/verifications"
                answer = service.ask(person, "POST", path, wrong, Idempotency_Key=f"key-{number}")
                assert answer.status == 409
                yield answer
        yield from crawl(service, service.bert, *both)
        yield from attempts(service, person, *both)
    assert service.anna.withdraw(new, "entered for the wrong vehicle").get_json()["state"] == "rejected"
    assert service.office.withdraw(released, "entered for the wrong row", 2).get_json()["state"] == "rejected"
    yield from crawl(service, service.bert, *both)
    yield from attempts(service, service.bert, *both)


def whole(secret: Secret) -> dict[str, Any]:
    """The body of a draft."""
    return {"unit": "mm", "kind": "rotor", "source": SOURCE, **secret.draft}


@pytest.fixture
def made(tmp_path: Path, pack: Pack) -> Iterator[Callable[[str], Service]]:
    """Make services, each over a store of its own."""
    services: list[Service] = []

    def make(name: str) -> Service:
        services.append(Service(tmp_path / name, pack))
        return services[-1]

    yield make
    for service in services:
        service.store.close()


def test_two_drafts_that_say_different_things_look_the_same_to_everybody_else(made: Callable[[str], Service]) -> None:
    one, other = list(life(made("one"), ONE)), list(life(made("other"), OTHER))
    assert len(one) == len(other) > 600
    for mine, theirs in zip(one, other, strict=True):
        assert mine == theirs, mine.asked


def test_nothing_of_a_draft_shows_in_any_answer_log_or_count(
    made: Callable[[str], Service], caplog: pytest.LogCaptureFixture
) -> None:
    service = made("one")
    with caplog.at_level(logging.DEBUG):
        before = {
            found.asked: found for found in crawl(service, service.bert, "none", "corvane-ostrel-2021-front-rotor-b16")
        }
        signs = re.compile(ONE.signs)
        for found in life(service, ONE):
            if found != before.get(found.asked) and not found.asked.startswith("POST"):
                assert signs.search(found.body.decode("latin-1")) is None, found.asked
                assert signs.search(str(found.headers)) is None, found.asked
        counted = service.app.test_client().get("/metrics").get_data(as_text=True)
    told = [f"{record.getMessage()} {said(record)}" for record in caplog.records]
    assert len(told) > 600
    assert "'route': '/v1/limits/<limits_id>/verifications'" in "".join(told)
    labels = [line.rpartition(" ")[0] for line in counted.splitlines() if not line.startswith("#")]
    for text in (*told, *labels):
        assert re.search(r"31\.37|29\.83|29\.17|0731|1\.1484|2007-05-19|third|Zq7|24\.57|23\.93|917[345]", text) is None


def said(record: logging.LogRecord) -> dict[str, object]:
    """What a line of the log says, without the clocks and numbers of process and thread."""
    plain = logging.LogRecord("", 0, "", 0, "", (), None).__dict__.keys() | {"milliseconds"}
    return {name: value for name, value in record.__dict__.items() if name not in plain}


def test_a_refusal_echoes_what_was_sent_and_adds_nothing(made: Callable[[str], Service]) -> None:
    """What a refusal of a second entry says hangs on that entry alone: it is the same where there is no draft."""
    service = made("one")
    for found in life(service, ONE):
        if found.asked.startswith("POST") and found.status == 422:
            assert (
                re.search(r"31\.37|29\.83|0731|0193|0417|1\.1484|2007|Zq7|24\.57|23\.93", found.body.decode("latin-1"))
                is None
            )


def test_an_overlap_names_the_other_draft_and_nothing_of_it(made: Callable[[str], Service]) -> None:
    service = made("one")
    service.entered(whole(ONE))
    prying = service.person("prying", "limits:write")
    vehicles = {**VEHICLE, "year_from": 2010, "year_to": 2010, "axle": "third", "brake_option": "zq7"}
    response = prying.enter({**WRONG, "application": vehicles, "source": SOURCE})
    assert "overlap" in [code for _, code in faults_of(response)]
    text = response.get_data(as_text=True)
    assert re.search(r"31\.37|29\.83|29\.17|2007|2013|Zq7|anna", text) is None


def test_the_author_alone_sees_a_draft_and_a_name_is_not_enough(made: Callable[[str], Service]) -> None:
    service = made("one")
    limits_id = service.entered(whole(ONE))
    admin = service.person("Anna", "admin")
    assert service.anna.get(f"/v1/limits/{limits_id}").get_json()["discard_thickness"] == 29.17
    assert admin.get(f"/v1/limits/{limits_id}").get_json()["values"] == "hidden"
    [listed] = service.anna.get("/v1/coverage?list=awaiting_verification").get_json()["items"]
    assert listed["values"] == "hidden"
    nobody = service.app.test_client().get(f"/v1/limits/{limits_id}")
    assert code_of(nobody) == (401, "unauthorized")


def test_the_check_would_notice_a_draft_that_shows(made: Callable[[str], Service]) -> None:
    """The author's own view of the two drafts is not the same, and bears the signs."""
    views = []
    for name, secret in (("one", ONE), ("other", OTHER)):
        service = made(name)
        limits_id = service.entered(whole(secret))
        views.append(service.ask(service.anna, "GET", f"/v1/limits/{limits_id}"))
    assert views[0] != views[1]
    assert len(set(re.findall(ONE.signs, views[0].body.decode()))) > 12
