"""The reports as callers read them: JSON, streams of lines, CSV; what each key sees, and what is refused."""

from __future__ import annotations

import csv
import io
import json
import logging
import re
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.actions.fleet_world import judge, live, rotor
from tests.actions.test_reporting_compliance import GOOD_ROTOR, WORN_ROTOR
from tests.api.bodies import exact
from tests.api.callers import Clock
from tests.api.conftest import Caller, Joining
from tests.api.test_contract import faults_of
from turnrule.actions import reporting_verdicts
from turnrule.actions.desk import Desk
from turnrule.store.port import StoreUnavailableError, VerdictRecord

D = Decimal
COUNTED, COMPLIANCE, CALL_BACKS = "/v1/reports/verdicts?unit=mm", "/v1/reports/compliance", "/v1/reports/call-backs"
ALL = (COUNTED, COMPLIANCE, CALL_BACKS)
UGLY = (
    '=HYPERLINK("http://x","y")',
    "+1-1",
    "-1+1",
    "@cmd",
    " =1+1",
    "\uff1dcmd",
    "a;=1+1",
    'O"Brien, "the" van',
    "'quoted",
    "x" * 80,
    "unit 1",
)
STARTS = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller who may read reports."""
    return join("reports")


def lines_of(response: TestResponse) -> list[dict[str, Any]]:
    """The lines of a stream that came to its end, without those that tell how far it is."""
    assert response.status_code == 200, response.get_data(as_text=True)
    assert response.mimetype == "application/x-ndjson"
    lines = [exact(line.decode()) for line in response.get_data().splitlines()]
    assert [line.get("done", False) for line in lines] == [False] * (len(lines) - 1) + [True]
    return [line for line in lines if "looked_at" not in line]


@pytest.mark.parametrize("seed", [33, 34])
def test_every_answer_is_as_the_contract_says(desk: Desk, clock: Clock, office: Caller, seed: int) -> None:
    live(desk, clock, Random(seed), 80)
    for address in (COUNTED, f"{COUNTED}&by=site&then_by=vehicle"):
        assert faults_of("VerdictReport", office.get(address).get_json()) == []
    for address, schema in ((COMPLIANCE, "ComplianceStream"), (CALL_BACKS, "CallBackStream")):
        lines = [json.loads(line) for line in office.get(address).get_data().splitlines()]
        assert len(lines) > 5
        assert faults_of(schema, lines) == []


def table_of(response: TestResponse) -> list[dict[str, str]]:
    """The rows of a table."""
    assert response.status_code == 200, response.get_data(as_text=True)
    assert response.content_type == "text/csv; charset=utf-8; header=present"
    text = response.get_data().decode("utf-8-sig")
    assert text.endswith("\r\n")
    assert text.count("\n") == text.count("\r\n")
    return list(csv.DictReader(io.StringIO(text), strict=True))


def test_counts_and_margins_are_told_in_one_unit(desk: Desk, office: Caller) -> None:
    for size, site in (("25.3", "north"), ("25.9", "north"), ("23.8", None)):
        judge(desk, rotor(size), site)
    report = exact(office.get("/v1/reports/verdicts?unit=mm&by=site").get_data(as_text=True))
    assert report["by"] == ["site"]
    north, nobody = report["groups"]
    assert (north["group"], nobody["group"]) == ({"site": "north"}, {"site": None})
    assert north["rulings"] == {"serviceable": 2, "machine": 0, "inconclusive": 0, "replace": 0}
    assert north["margins"]["to_discard_limit"] == {
        "known": 2,
        "least": D("1.3"),
        "lower_quartile": D("1.45"),
        "median": D("1.6"),
        "upper_quartile": D("1.75"),
        "greatest": D("1.9"),
    }
    assert report["total"]["verdicts"] == 3
    assert [caution["code"] for caution in report["cautions"]] == ["follow_service_data"]


def test_margins_in_inches_are_never_shown_greater_than_they_are(desk: Desk, office: Caller) -> None:
    judge(desk, rotor("25"))
    judge(desk, rotor("23.9"))
    report = exact(office.get("/v1/reports/verdicts?unit=in").get_data(as_text=True))
    spread = report["total"]["margins"]["to_discard_limit"]
    assert report["groups"] == []
    assert (spread["least"], spread["greatest"]) == (D("-0.0039371"), D("0.0393700"))
    assert spread["least"] * D("25.4") <= D("-0.1") <= (spread["least"] + D("1E-7")) * D("25.4")


def test_the_report_says_whether_it_is_still_the_same(desk: Desk, office: Caller) -> None:
    judge(desk, rotor("25"))
    for accept in ("application/json", "text/csv"):
        first = office.get(COUNTED, Accept=accept)
        assert (first.headers["Vary"], first.headers["Cache-Control"]) == ("Accept", "private, no-cache")
        again = office.get(COUNTED, Accept=accept, If_None_Match=first.headers["ETag"])
        assert (again.status_code, again.get_data()) == (304, b"")
    judge(desk, rotor("25"))
    assert office.get(COUNTED, If_None_Match=first.headers["ETag"]).status_code == 200


def test_a_table_has_the_numbers_of_the_document(desk: Desk, clock: Clock, office: Caller) -> None:
    live(desk, clock, Random(31), 60)
    address = "/v1/reports/verdicts?unit=in&by=vehicle&then_by=month"
    document = exact(office.get(address).get_data(as_text=True))
    rows = table_of(office.get(address, Accept="text/csv"))
    assert len(rows) == len(document["groups"])
    for row, group in zip(rows, document["groups"], strict=True):
        assert row["month"] == group["group"]["month"]
        assert row["unit"] == "in"
        assert int(row["verdicts"]) == group["verdicts"]
        for margin, spread in group["margins"].items():
            told = {name: row[f"{margin}_{name}"] for name in spread}
            assert {name: D(text) if text else None for name, text in told.items()} == spread
    total = table_of(office.get("/v1/reports/verdicts?unit=in", Accept="text/csv"))
    assert [int(row["verdicts"]) for row in total] == [60]


@pytest.mark.parametrize("address", [f"{COUNTED}&by=vehicle", COMPLIANCE, CALL_BACKS])
def test_no_cell_can_begin_a_formula_and_numbers_stay_numbers(
    desk: Desk, office: Caller, released: object, address: str
) -> None:
    assert released is not None
    for label in UGLY:
        judge(desk, rotor(WORN_ROTOR, vehicle=label.strip(), reference=label.strip(), thickness=[D("23.8")] * 3))
    response = office.get(address, Accept="text/csv")
    rows = table_of(response)
    assert len(rows) == len(UGLY)
    for row in rows:
        for cell in row.values():
            assert cell == "" or not cell.lstrip(" \u00a0").startswith(STARTS) or _is_number(cell), cell
    text = response.get_data().decode("utf-8-sig")
    assert not re.search(r'[;\n]\s*"?[=@\uff1d]', text)
    numbers = re.findall(r'"\'?-?[0-9.]+"', text.partition("\n")[2])
    assert numbers == []  # none is text, and none has an apostrophe
    labels = {row["vehicle"].replace("'", "") for row in rows}
    assert labels == {label.strip().replace("'", "") for label in UGLY}


def _is_number(cell: str) -> bool:
    return re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", cell) is not None


def test_the_lines_say_what_shows_it_and_what_to_do(desk: Desk, office: Caller, released: object) -> None:
    assert released is not None
    found = judge(desk, rotor(GOOD_ROTOR, thickness=[D("25.3")] * 3, reference="job 7"), "north")
    line, done = lines_of(office.get(COMPLIANCE))
    assert line == {
        "rule": "few_points",
        "verdict_ids": [found.id],
        "axle_id": None,
        "judged_at": "2026-11-02T10:00:00.000000Z",
        "site": "north",
        "vehicle": "unit 1",
        "reference": "job 7",
        "kind": "rotor",
        "axle": "front",
        "side": "left",
        "policy": {"name": "default", "revision": 1},
        "evidence": "3 readings on a track, and the policy asks for 4.",
        "what_to_do": "Measure again at as many points as the policy asks for.",
    }
    assert (done["verdicts"], done["rules"]["few_points"], sum(done["rules"].values())) == (1, 1, 1)
    (row,) = table_of(office.get(COMPLIANCE, Accept="text/csv"))
    assert (row["rule"], row["verdict_ids"], row["policy_revision"]) == ("few_points", found.id, "1")


def test_the_list_says_whom_to_call_back(desk: Desk, office: Caller, released: object) -> None:
    assert released is not None
    found = judge(desk, rotor(WORN_ROTOR), "north")
    entry, done = lines_of(office.get(CALL_BACKS))
    assert (entry["urgency"], entry["vehicle"], entry["axle"], entry["site"]) == ("replace", "unit 1", "front", "north")
    assert entry["parts"][0]["verdict_id"] == found.id
    assert (done["release"], done["parts"], done["urgencies"]["replace"]) == (1, 1, 1)
    (row,) = table_of(office.get(CALL_BACKS, Accept="text/csv"))
    assert (row["urgency"], row["verdict_id"], row["comes_out_as"]) == ("replace", found.id, "")


def test_an_empty_store_has_empty_reports(office: Caller) -> None:
    report = office.get(COUNTED).get_json()
    assert report["total"]["verdicts"] == 0
    assert report["total"]["margins"]["to_discard_limit"]["median"] is None
    assert [len(lines_of(office.get(address))) for address in (COMPLIANCE, CALL_BACKS)] == [1, 1]
    assert [len(table_of(office.get(address, Accept="text/csv"))) for address in ALL] == [1, 0, 0]


@pytest.mark.parametrize("address", ALL)
def test_a_key_that_is_bound_to_a_site_sees_that_site_only(
    desk: Desk, clock: Clock, join: Joining, address: str
) -> None:
    live(desk, clock, Random(32), 60)
    joiner = "&" if "?" in address else "?"
    everybody, north = join("reports"), join("reports", site="north")
    mine = north.get(address, Accept="text/csv").get_data()
    assert north.get(f"{address}{joiner}site=north", Accept="text/csv").get_data() == mine
    assert mine != everybody.get(address, Accept="text/csv").get_data()
    assert b"south" not in mine
    other = north.get(f"{address}{joiner}site=south", Accept="text/csv")
    assert len(table_of(other)) == (1 if address == COUNTED else 0)


@pytest.mark.parametrize("address", ALL)
def test_only_a_key_with_the_scope_reads_reports(join: Joining, address: str) -> None:
    assert join("verdicts").get(address).status_code == 403
    assert join("admin").get(address).status_code == 200


@pytest.mark.parametrize("accept", ["*/*", "text/csv;q=0.5, */*", "application/*"])
def test_csv_is_sent_where_it_is_rather_had(office: Caller, accept: str) -> None:
    types = [office.get(address, Accept=accept).mimetype for address in ALL]
    assert types == ["application/json", "application/x-ndjson", "application/x-ndjson"]
    assert {office.get(address, Accept=f"text/csv, {accept};q=0.1").mimetype for address in ALL} == {"text/csv"}


@pytest.mark.parametrize("address", ALL)
def test_other_types_are_not_acceptable(office: Caller, address: str) -> None:
    response = office.get(address, Accept="application/pdf")
    assert (response.status_code, response.get_json()["type"]) == (406, "/problems/not_acceptable")


@pytest.mark.parametrize(
    ("address", "faults"),
    [
        ("/v1/reports/verdicts", [("unit", "missing")]),
        ("/v1/reports/verdicts?unit=cm&by=colour", [("by", "invalid_choice"), ("unit", "invalid_choice")]),
        ("/v1/reports/verdicts?unit=mm&then_by=site", [("then_by", "nothing_to_group")]),
        ("/v1/reports/verdicts?unit=mm&by=site&then_by=site", [("then_by", "nothing_to_group")]),
        ("/v1/reports/verdicts?unit=mm&since=yesterday", [("since", "invalid_date")]),
        (
            "/v1/reports/compliance?pair_days=-1&after_days=367",
            [("after_days", "out_of_range"), ("pair_days", "out_of_range")],
        ),
        ("/v1/reports/call-backs?vehicles=1", [("vehicles", "unknown_field")]),
        ("/v1/reports/compliance?unit=mm", [("unit", "unknown_field")]),
    ],
)
def test_every_parameter_that_cannot_be_taken_is_named(
    office: Caller, address: str, faults: list[tuple[str, str]]
) -> None:
    response = office.get(address)
    assert response.status_code == 400
    assert sorted((one["parameter"], one["code"]) for one in response.get_json()["errors"]) == faults


def test_more_groups_than_are_counted_are_refused_with_what_to_do(
    desk: Desk, office: Caller, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reporting_verdicts, "MOST_GROUPS", 1)
    for vehicle in ("unit 1", "unit 2"):
        judge(desk, rotor(GOOD_ROTOR, vehicle=vehicle))
    response = office.get(f"{COUNTED}&by=vehicle")
    assert response.status_code == 400
    (fault,) = response.get_json()["errors"]
    assert (fault["parameter"], fault["code"]) == ("by", "too_many_groups")
    assert "since" in response.get_json()["detail"]


@pytest.mark.parametrize("accept", ["application/x-ndjson", "text/csv"])
def test_a_stream_that_breaks_does_not_look_whole(
    desk: Desk,
    clock: Clock,
    office: Caller,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    accept: str,
) -> None:
    for _ in range(150):
        clock.move(minutes=1)
        judge(desk, rotor(GOOD_ROTOR, thickness=[D("25.3")] * 3))
    pages = type(desk.store).verdicts
    called = 0

    def failing(self: Any, *args: Any, **options: Any) -> Any:  # noqa: ANN401 - whatever the store is asked
        nonlocal called
        called += 1
        if called > 1:
            raise StoreUnavailableError("the disk is gone")
        return pages(self, *args, **options)

    monkeypatch.setattr(type(desk.store), "verdicts", failing)
    response = office.get(COMPLIANCE, Accept=accept)
    with caplog.at_level(logging.ERROR), pytest.raises(StoreUnavailableError):
        response.get_data()
    assert "stream_broken" in caplog.messages


def test_the_first_page_that_cannot_be_read_is_a_problem(
    desk: Desk, office: Caller, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_args: object, **_options: object) -> list[VerdictRecord]:
        raise StoreUnavailableError("the disk is gone")

    monkeypatch.setattr(type(desk.store), "verdicts", failing)
    for address in ALL:
        response = office.get(address, Accept="text/csv")
        assert response.status_code == 503
        assert json.loads(response.data)["type"] == "/problems/store_unavailable"
