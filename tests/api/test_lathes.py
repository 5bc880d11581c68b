"""Lathes over HTTP: as they were written and in millimetres, changed only by who has read the last."""

from __future__ import annotations

import json
import threading

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import changed, exact
from tests.api.conftest import Caller, Joining
from tests.api.lathes import BENCH, INCHES
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller who may write lathes and ask for verdicts."""
    return join("policies:write", "verdicts")


def made(office: Caller, name: str = "bench_one", body: str = BENCH) -> TestResponse:
    """The answer to making a lathe."""
    return office.put(f"/v1/lathes/{name}", body, If_None_Match="*")


def bench(**changes: object) -> str:
    """The bench lathe with some figures changed."""
    return write_exact(changed(BENCH, **changes)).decode()


def faults(response: TestResponse) -> list[tuple[str, str]]:
    """Pointer and code of every fault."""
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]


def test_a_lathe_is_made_and_read_back_as_written_and_in_millimetres(office: Caller) -> None:
    response = made(office, "hub_one", INCHES)
    assert (response.status_code, response.headers["Location"]) == (201, "/v1/lathes/hub_one")
    lathe = exact(response.text)
    assert (lathe["name"], lathe["revision"], lathe["kind"], lathe["written_by"]) == (
        "hub_one",
        1,
        "on_vehicle",
        "caller-1",
    )
    assert lathe["document"] == exact(INCHES)
    # 1 in = 25.4 mm and 1 ft = 0.3048 m exactly (NIST SP 811, appendix B)
    assert {name: str(value) for name, value in lathe["in_mm"].items() if name.endswith(("depth", "radius"))} == {
        "least_depth": "0.0254",
        "greatest_depth": "0.254",
        "finishing_depth": "0.1016",
        "nose_radius": "0.39624",
    }
    assert lathe["in_mm"]["finishing_feeds"] == exact('{"least": 0.0254, "greatest": 0.1524}')
    assert lathe["in_mm"]["speeds"] == {"least": 40, "greatest": 160}
    assert lathe["in_mm"]["surface_speed"] == exact('{"least": 30.48, "greatest": 121.92, "unit": "m/min"}')
    read = office.get("/v1/lathes/hub_one")
    assert (read.data, read.headers["ETag"]) == (response.data, response.headers["ETag"])
    assert "immutable" not in read.headers["Cache-Control"]


def test_a_named_revision_never_changes_and_is_kept_for_ever(office: Caller) -> None:
    first = made(office)
    office.put("/v1/lathes/bench_one", bench(note="Set up anew."), If_Match=first.headers["ETag"])
    read = office.get("/v1/lathes/bench_one?revision=1")
    assert (read.data, "immutable" in read.headers["Cache-Control"]) == (first.data, True)
    assert office.get("/v1/lathes/bench_one", If_None_Match=first.headers["ETag"]).status_code == 200
    assert office.get("/v1/lathes/bench_one?revision=1", If_None_Match=first.headers["ETag"]).status_code == 304
    assert office.get("/v1/lathes/bench_one?revision=3").status_code == 404
    assert office.get("/v1/lathes/another").status_code == 404
    assert office.get("/v1/lathes/another/revisions").status_code == 404


def test_a_change_says_what_it_is_based_on(office: Caller) -> None:
    assert office.put("/v1/lathes/bench_one", BENCH).status_code == 428
    assert office.put("/v1/lathes/bench_one", BENCH, If_Match='"x"').status_code == 412
    first = made(office)
    assert made(office).status_code == 412
    assert office.put("/v1/lathes/bench_one", BENCH).status_code == 428
    second = office.put("/v1/lathes/bench_one", BENCH, If_Match=first.headers["ETag"])
    assert (second.status_code, second.get_json()["revision"]) == (200, 2)
    assert office.put("/v1/lathes/bench_one", BENCH, If_Match=first.headers["ETag"]).status_code == 412


def test_lathes_and_their_revisions_come_in_pages(office: Caller) -> None:
    for name in ("c", "a", "b"):
        made(office, name)
    etag = office.get("/v1/lathes/a").headers["ETag"]
    for note in ("one", "two"):
        etag = office.put("/v1/lathes/a", bench(note=note), If_Match=etag).headers["ETag"]
    page = office.get("/v1/lathes?limit=2").get_json()
    rest = office.get(f"/v1/lathes?limit=2&after={page['next']}").get_json()
    listed = [(one["name"], one["revision"]) for one in [*page["items"], *rest["items"]]]
    assert (listed, rest["next"]) == ([("a", 3), ("b", 1), ("c", 1)], None)
    page = office.get("/v1/lathes/a/revisions?limit=2").get_json()
    rest = office.get(f"/v1/lathes/a/revisions?after={page['next']}").get_json()
    notes = [one["document"]["note"] for one in [*page["items"], *rest["items"]]]
    assert notes == ["An invented lathe.", "one", "two"]


def test_any_key_reads_and_one_that_may_not_write_does_not(join: Joining, office: Caller) -> None:
    made(office)
    reader = join("reports")
    assert reader.get("/v1/lathes/bench_one").status_code == 200
    assert reader.get("/v1/lathes").status_code == 200
    assert made(reader, "another").status_code == 403
    assert office.get("/v1/lathes?colour=red").status_code == 400
    assert office.put("/v1/lathes/Bench-1", BENCH, If_None_Match="*").status_code == 404


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"greatest_depth": 0.01}, [("/finishing_depth", "out_of_order"), ("/greatest_depth", "out_of_order")]),
        ({"finishing_depth": 0.3}, [("/finishing_depth", "out_of_order")]),
        ({"finishing_feeds": [0.05, 0.8]}, [("/finishing_feeds", "thread_cut")]),
        ({"finishing_feeds": []}, [("/finishing_feeds", "too_few")]),
        ({"speeds": {"least": 90, "greatest": 60}}, [("/speeds/greatest", "out_of_order")]),
        ({"speeds": [60, 0, "x"]}, [("/speeds/1", "out_of_range"), ("/speeds/2", "invalid_number")]),
        ({"speeds": 60}, [("/speeds", "wrong_type")]),
        (
            {"surface_speed": {"least": 9, "greatest": 8, "unit": "m/min"}},
            [("/surface_speed/greatest", "out_of_order")],
        ),
        ({"surface_speed": {"least": 9, "greatest": 8, "unit": "mm/s"}}, [("/surface_speed/unit", "invalid_choice")]),
        ({"both_faces_at_once": "yes"}, [("/both_faces_at_once", "wrong_type")]),
        ({"unit": None, "colour": "red"}, [("/colour", "unknown_field"), ("/unit", "missing")]),
    ],
)
def test_every_fault_is_named_by_its_field(
    office: Caller, changes: dict[str, object], expected: list[tuple[str, str]]
) -> None:
    response = made(
        office, body=json.dumps({**json.loads(BENCH), **{k: v for k, v in changes.items() if v is not None}})
    )
    if None in changes.values():
        body = {name: value for name, value in {**json.loads(BENCH), **changes}.items() if value is not None}
        response = made(office, body=json.dumps(body))
    assert (response.status_code, faults(response)) == (422, expected)
    assert office.get("/v1/lathes/bench_one").status_code == 404


def test_figures_that_contradict_are_told_beside_those_that_cannot_be_read(office: Caller) -> None:
    response = made(office, body=bench(greatest_depth=0.05, nose_radius="big", roughing_feed=None))
    assert faults(response) == [
        ("/finishing_depth", "out_of_order"),
        ("/nose_radius", "invalid_number"),
        ("/roughing_feed", "missing"),
    ]


def test_of_two_who_write_over_the_same_revision_one_is_told(office: Caller, desk: Desk) -> None:
    etag = made(office).headers["ETag"]
    statuses: list[int] = []
    gate = threading.Barrier(4)

    def write(number: int) -> None:
        gate.wait()
        response = office.put("/v1/lathes/bench_one", bench(note=f"by {number}"), If_Match=etag)
        statuses.append(response.status_code)

    threads = [threading.Thread(target=write, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [200, 412, 412, 412]
    newest = desk.store.lathe("bench_one")
    assert newest is not None
    assert newest.revision == 2
