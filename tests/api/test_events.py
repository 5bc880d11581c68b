"""The feed of events: in order, resumable, each with its address; what a site's key sees; and that nothing is lost."""

from __future__ import annotations

import json
import multiprocessing
import os
import re
import signal
import time
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import urlsplit

import pytest

from tests.actions.fleet_world import judge, rotor, withdraw
from tests.actions.test_reporting_compliance import GOOD_ROTOR
from tests.api.axles import AXLE
from tests.api.callers import Caller
from tests.api.conftest import Joining
from tests.api.test_contract import faults_of
from tests.store.samples import lathe, policy, site, verdict
from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.actions.following_events import MOST_PAGES, PAGE
from turnrule.actions.keys import create_key
from turnrule.actions.policies import write_policy
from turnrule.api.application import build_api
from turnrule.api.contract_examples import examples
from turnrule.pack import Pack, load_pack
from turnrule.store.port import EventKind, Key
from turnrule.store.sqlite import open_sqlite

EVENTS = "/v1/events"
ONLY_NEW = {"If_None_Match": "*"}


def page(caller: Caller, address: str = EVENTS) -> dict[str, Any]:
    """A page of the feed, whose link goes where its cursor does."""
    response = caller.get(address)
    assert response.status_code == 200, response.get_data(as_text=True)
    answer: dict[str, Any] = response.get_json()
    found = re.fullmatch(r'<(/v1/events\?[^>]*)>; rel="next"', response.headers["Link"])
    assert found is not None
    assert f"after={answer['next']}" in urlsplit(found[1]).query
    return answer


def pulled(caller: Caller, limit: int = 50) -> list[dict[str, Any]]:
    """The whole feed, page by page."""
    items: list[dict[str, Any]] = []
    answer = page(caller, f"{EVENTS}?limit={limit}")
    while True:
        items += answer["items"]
        if not answer["more"]:
            return items
        answer = page(caller, f"{EVENTS}?limit={limit}&after={answer['next']}")


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller who may read reports."""
    return join("reports")


def happenings(desk: Desk, join: Joining) -> None:
    """One of everything that can happen, some of it at sites; release 1 was before."""
    office = Key("office", "", frozenset({"policies:write"}), None, desk.clock())
    write_policy(desk, "careful", {"unit": "mm"}, office, over=None)
    shop = examples()["lathe-written"]
    assert join("policies:write").put(shop.path, json.dumps(shop.sent), **ONLY_NEW).status_code == 201
    desk.store.save_site(site("north", 1))
    desk.store.save_site(site("south", 1))
    judge(desk, rotor(GOOD_ROTOR), "north")
    judge(desk, rotor(GOOD_ROTOR), "south")
    judge(desk, rotor(GOOD_ROTOR))
    assert join("verdicts", site="north").post("/v1/axle-verdicts", AXLE).status_code == 201
    withdraw(desk)


def test_everything_that_happens_is_told_in_order_with_its_address(desk: Desk, join: Joining, office: Caller) -> None:
    happenings(desk, join)
    items = pulled(office)
    assert [item["sequence"] for item in items] == list(range(1, len(items) + 1))
    assert {item["kind"] for item in items} == set(EventKind)
    assert faults_of("EventPage", page(office)) == []
    reader = join("admin")
    for item in items:
        if item["kind"] in {"policy", "lathe", "site"}:
            assert item["href"].endswith(f"/{item['subject']}?revision=1")
        assert reader.get(item["href"]).status_code == 200, item


@pytest.mark.parametrize("limit", [1, 2, 3, 200])
def test_pages_hang_together(desk: Desk, join: Joining, office: Caller, limit: int) -> None:
    happenings(desk, join)
    assert pulled(office, limit) == pulled(office)


def test_the_cursor_is_kept_on_an_empty_page_and_goes_on_from_there(desk: Desk, join: Joining, office: Caller) -> None:
    happenings(desk, join)
    last = page(office, f"{EVENTS}?limit=200")
    empty = page(office, f"{EVENTS}?after={last['next']}")
    assert empty == {"items": [], "next": last["next"], "more": False}
    found = judge(desk, rotor(GOOD_ROTOR))
    after = page(office, f"{EVENTS}?after={empty['next']}")
    assert [item["subject"] for item in after["items"]] == [found.id]
    assert page(office, f"{EVENTS}?after={empty['next']}") == after  # at least once


def test_a_store_in_which_nothing_happened_has_a_cursor(tmp_path: Path, pack: Pack) -> None:
    store = open_sqlite(tmp_path / "empty.sqlite")
    store.migrate()
    fresh = Desk(store, pack, utc_now, new_id)
    caller = Caller(build_api(fresh).test_client(), create_key(fresh, "office", ["reports"]).secret)
    assert page(caller) == {"items": [], "next": page(caller)["next"], "more": False}
    judge_at = page(caller)["next"]
    store.save_site(site("north", 1))
    assert [item["subject"] for item in page(caller, f"{EVENTS}?after={judge_at}")["items"]] == ["north"]
    store.close()


def test_an_unchanged_page_need_not_be_sent_again_and_is_never_kept_for_ever(desk: Desk, office: Caller) -> None:
    first = office.get(EVENTS)
    assert first.headers["Cache-Control"] == "private, no-cache"
    assert office.get(EVENTS, If_None_Match=first.headers["ETag"]).status_code == 304
    judge(desk, rotor(GOOD_ROTOR))
    assert office.get(EVENTS, If_None_Match=first.headers["ETag"]).status_code == 200


def test_a_site_sees_its_own_verdicts_and_what_concerns_everyone(desk: Desk, join: Joining, office: Caller) -> None:
    happenings(desk, join)
    seen = pulled(join("reports", site="north"))
    of_sites = {"verdict", "axle_verdict", "site"}
    assert seen == [item for item in pulled(office) if item["kind"] not in of_sites or item["site"] == "north"]
    assert {item["kind"] for item in seen} == set(EventKind)
    assert "south" not in json.dumps(seen)


def test_the_cursor_of_a_site_moves_on_over_what_it_does_not_see(desk: Desk, join: Joining) -> None:
    others = PAGE * MOST_PAGES + 7
    desk.store.record_verdicts([(verdict(f"o{number}", site="south"), None) for number in range(others)])
    mine = judge(desk, rotor(GOOD_ROTOR), "north")
    north = join("reports", site="north")
    first = page(north, f"{EVENTS}?limit=5")
    assert ([item["kind"] for item in first["items"]], first["more"]) == (["release"], True)
    second = page(north, f"{EVENTS}?limit=5&after={first['next']}")
    assert ([item["subject"] for item in second["items"]], second["more"]) == ([mine.id], False)


def test_what_a_page_leaves_out_stands_on_the_next(desk: Desk, join: Joining) -> None:
    """A page that is full before what was looked at is through goes on behind its last item, not behind the look."""
    for number in range(20):
        judge(desk, rotor(GOOD_ROTOR, reference=f"job {number}"), ("north", "south")[number % 2])
    north = join("reports", site="north")
    assert [len(pulled(north, limit)) for limit in (1, 3, 10, 11, 12)] == [11] * 5
    assert page(north, f"{EVENTS}?limit=11")["more"] is True  # behind the last one there may be others


@pytest.mark.parametrize(
    ("address", "parameter", "code"),
    [
        (f"{EVENTS}?after=WyJhIl0", "after", "invalid_cursor"),
        (f"{EVENTS}?limit=0", "limit", "out_of_range"),
        (f"{EVENTS}?since=1", "since", "unknown_field"),
    ],
)
def test_a_parameter_that_cannot_be_taken_is_named(office: Caller, address: str, parameter: str, code: str) -> None:
    response = office.get(address)
    assert response.status_code == 400
    assert [(one["parameter"], one["code"]) for one in response.get_json()["errors"]] == [(parameter, code)]


def test_who_may_follow(join: Joining) -> None:
    assert [join(scope).get(EVENTS).status_code for scope in ("reports", "verdicts", "limits:write")] == [200, 200, 403]


WRITERS, EACH = 4, 40


def write(place: str, writer: int, told: Connection) -> None:
    """Store something of each kind over and over, and pause by chance."""
    store, chance = open_sqlite(Path(place)), Random(writer)
    for number in range(EACH):
        name = f"w{writer}_{number}"
        match chance.randrange(5):
            case 0:
                store.save_policy(policy(name, 1))
            case 1:
                store.save_site(site(name.replace("_", "-"), 1))
            case 2:
                store.save_lathe(lathe(name, 1))
            case 3:
                store.record_verdicts([(verdict(f"{name}-{one}"), None) for one in range(chance.randint(1, 5))])
            case _:
                store.record_verdict(verdict(name))
        time.sleep(chance.random() / 400)
    store.close()
    told.send(writer)


def follow(place: str, secret: str, notes: str, limit: int) -> None:
    """Pull the feed as a careful caller does: note what came and then the cursor, in one line; go on from the last."""
    store = open_sqlite(Path(place))
    client = build_api(Desk(store, load_pack(), utc_now, new_id)).test_client()
    with Path(notes).open("a+b") as file:
        cursor = _last_cursor(Path(notes))
        file.write(b"\n")  # behind half a line, if the one before was killed in it
        while True:
            query = {"limit": str(limit)} | ({} if cursor is None else {"after": cursor})
            answer = client.get(EVENTS, query_string=query, headers={"Authorization": f"Bearer {secret}"}).get_json()
            cursor = answer["next"]
            file.write(json.dumps([[item["sequence"] for item in answer["items"]], cursor]).encode() + b"\n")
            file.flush()
            if not answer["items"]:
                time.sleep(0.003)


def _whole_lines(notes: Path) -> list[Any]:
    """The notes that were written to their end; a killed writer may leave half a line in the middle of the file."""
    found = []
    for line in notes.read_bytes().split(b"\n"):
        try:
            found.append(json.loads(line))
        except ValueError:
            continue
    return found


def _last_cursor(notes: Path) -> str | None:
    lines = _whole_lines(notes)
    return lines[-1][1] if lines else None


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_four_writers_and_a_reader_that_is_killed_and_taken_up_again_lose_nothing(tmp_path: Path, seed: int) -> None:
    """Whatever the interleaving: every event is met, in order; again only what was met after the last noted cursor."""
    chance = Random(seed)
    place, notes = str(tmp_path / "store.sqlite"), tmp_path / "notes"
    notes.touch()
    store = open_sqlite(Path(place))
    store.migrate()
    secret = create_key(Desk(store, load_pack(), utc_now, new_id), "puller", ["reports"]).secret
    processes = multiprocessing.get_context("fork")
    here, there = processes.Pipe()
    writers = [processes.Process(target=write, args=(place, number, there)) for number in range(WRITERS)]
    for one in writers:
        one.start()
    killed = 0
    limit = chance.choice((1, 7, 50))
    while True:
        reader = processes.Process(target=follow, args=(place, secret, str(notes), limit))
        reader.start()
        reader.join(0.05 + chance.random() / 4)
        done = not any(one.is_alive() for one in writers)
        caught_up = done and _caught_up(notes, len(store.events(limit=10_000)))
        assert reader.is_alive(), reader.exitcode
        assert reader.pid is not None
        os.kill(reader.pid, signal.SIGKILL)
        reader.join()
        killed += 1
        if caught_up and killed >= 2:
            break
    assert sorted(here.recv() for _ in writers) == list(range(WRITERS))
    expected = [event.sequence for event in store.events(limit=10_000)]
    met = [sequence for items, _ in _whole_lines(notes) for sequence in items]
    first_met = list(dict.fromkeys(met))
    assert first_met == expected == list(range(1, len(expected) + 1))
    assert len(expected) >= WRITERS * EACH
    assert killed >= 2
    assert all(one.exitcode == 0 for one in writers)
    store.close()


def _caught_up(notes: Path, events: int) -> bool:
    met = {sequence for items, _ in _whole_lines(notes) for sequence in items}
    return len(met) >= events
