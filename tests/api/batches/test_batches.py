"""Batches: the same verdicts as one by one, in the same order, each in its place whatever is wrong with the others."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.bodies import DRUM, EXAMPLE, changed
from tests.api.conftest import Caller, Joining
from tests.store.raw import raw
from turnrule.actions import batching
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.api.batch_columns import columns
from turnrule.api.json_reading import LARGEST_BODY
from turnrule.store.port import EventKind, VerdictQuery

NDJSON, CSV = "application/x-ndjson", "text/csv"
PATH = "/v1/verdict-batches"
ONE_LINE = " ".join(EXAMPLE.split())
DRUM_LINE = " ".join(DRUM.split())


def edited(**changes: object) -> str:
    """The example on one line, with other values in some fields."""
    return write_exact(changed(EXAMPLE, **changes)).decode()


BAD = edited(thickness=[Decimal("25.02"), "25,01"])


@pytest.fixture
def caller(join: Joining) -> Caller:
    """Someone who may ask for verdicts."""
    return join("verdicts")


def _lines(content: bytes) -> list[Any]:
    return [json.loads(line, parse_float=Decimal) for line in content.splitlines()]


def _without_moment(answer: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in answer.items() if name not in {"id", "judged_at"}}


def _stored(desk: Desk) -> list[str]:
    return [record.id for record in desk.store.verdicts(VerdictQuery(), limit=100_000)]


def test_each_line_is_answered_as_it_would_be_alone(caller: Caller, desk: Desk) -> None:
    alone = [json.loads(caller.post("/v1/verdicts", body).data) for body in (ONE_LINE, DRUM_LINE)]
    response = caller.post(PATH, f"{ONE_LINE}\n\n{DRUM_LINE}\n", Content_Type=NDJSON)
    assert (response.status_code, response.mimetype) == (200, NDJSON)
    told = [json.loads(line) for line in response.data.splitlines()]
    assert [(line["index"], line["status"], line["replayed"]) for line in told] == [(0, 201, False), (1, 201, False)]
    assert [_without_moment(line["verdict"]) for line in told] == [_without_moment(one) for one in alone]
    for line in told:
        record = desk.store.verdict(line["verdict"]["id"])
        assert record is not None
        assert json.loads(record.answer) == line["verdict"]
    assert [record.request for record in desk.store.verdicts(VerdictQuery(), after=2)] == [
        ONE_LINE.encode(),
        DRUM_LINE.encode(),
    ]


@pytest.mark.parametrize("answers", ["after", "at_once"])
def test_a_bad_line_is_answered_in_its_place_and_holds_up_nobody(caller: Caller, desk: Desk, answers: str) -> None:
    unknown = edited(application={"make": "Nobody", "model": "None", "year": 2020, "axle": "front"})
    lines = [ONE_LINE, BAD, "{", "[]", '{"unit": NaN}', unknown, " " * 9 + "x" * LARGEST_BODY, "\udcff", DRUM_LINE]
    body = b"\n".join(line.encode("utf-8", "surrogateescape") for line in lines)
    response = caller.post(f"{PATH}?answers={answers}", body, Content_Type=NDJSON)
    told = _lines(response.data)
    assert [line["index"] for line in told] == list(range(9))
    assert [line["status"] for line in told] == [201, 422, 400, 422, 400, 422, 413, 400, 201]
    problems = [line.get("problem", {}).get("type", "").removeprefix("/problems/") for line in told]
    assert problems == [
        *("", "invalid_request", "malformed_body", "invalid_request", "malformed_body"),
        *("application_not_found", "body_too_large", "malformed_body", ""),
    ]
    assert [(fault["pointer"], fault["code"]) for fault in told[1]["problem"]["errors"]] == [
        ("/thickness/1", "invalid_number")
    ]
    assert told[1]["problem"]["request_id"] == response.headers["X-Request-ID"]
    assert len(_stored(desk)) == 2
    assert len(desk.store.misses()) == 1


def test_an_array_is_answered_by_an_array(caller: Caller, desk: Desk) -> None:
    response = caller.post(PATH, f" \n[{EXAMPLE},\n {BAD} , {DRUM}]\n")
    assert response.mimetype == "application/json"
    told = json.loads(response.data)
    assert [line["status"] for line in told] == [201, 422, 201]
    assert _stored(desk) == [told[0]["verdict"]["id"], told[2]["verdict"]["id"]]


@pytest.mark.parametrize(
    ("body", "code", "kept"),
    [
        (f"[{EXAMPLE}, {EXAMPLE}", "invalid_json", 1),
        (f"[{EXAMPLE}] x", "invalid_json", 1),
        (f"[{EXAMPLE}, {{" + '"a": "' + "x" * LARGEST_BODY + '"}', "row_too_long", 1),
    ],
)
def test_an_array_that_breaks_is_told_in_the_place_of_the_next_item(
    caller: Caller, desk: Desk, body: str, code: str, kept: int
) -> None:
    told = json.loads(caller.post(PATH, body).data)
    assert [line["status"] for line in told] == [*([201] * kept), 400]
    assert told[-1]["problem"]["errors"][0]["code"] == code
    assert len(_stored(desk)) == kept


@pytest.mark.parametrize("body", ["", " \n", EXAMPLE, "null", '"["', "{}"])
def test_what_is_no_array_is_refused_as_a_whole(caller: Caller, body: str) -> None:
    response = caller.post(PATH, body)
    assert (response.status_code, response.json["type"]) == (400, "/problems/malformed_body")  # type: ignore[index]


@pytest.mark.parametrize(("body", "kind", "answer"), [("[]", "application/json", b"[]\n"), ("\n\n", NDJSON, b"")])
def test_an_empty_batch_is_answered_emptily(caller: Caller, body: str, kind: str, answer: bytes) -> None:
    response = caller.post(PATH, body, Content_Type=kind)
    assert (response.status_code, response.data) == (200, answer)


def test_rows_of_a_table_are_judged_as_the_documents_that_they_stand_for(caller: Caller, desk: Desk) -> None:
    header = (
        "unit,kind,application.make,application.model,application.year,application.axle,application.brake_option,"
        "thickness,lateral_runout,groove_depth.inboard,groove_depth.outboard,findings,vehicle.label,"
        "vehicle.odometer.value,vehicle.odometer.unit,reference"
    )
    row = "mm,rotor,Corvane,Ostrel,2022,front,B16,25.02 25.01 25.03 25.04,0.07,0.05,0.08,heat_checking,unit 7,61200,km,"
    body = f"{header}\n{row}job 1\n{row.replace('25.02', '25,02')}\n{row.replace('rotor', 'rotr')}x,y\n{row}\n"
    response = caller.post(PATH, body, Content_Type="text/csv; charset=utf-8; header=present", Accept=NDJSON)
    told = _lines(response.data)
    assert [line["status"] for line in told] == [201, 400, 400, 201]
    assert [line["problem"]["errors"][0]["code"] for line in told[1:3]] == ["ragged_row", "ragged_row"]
    records = desk.store.verdicts(VerdictQuery())
    sent = json.loads(records[0].request)
    assert sent["thickness"] == [25.02, 25.01, 25.03, 25.04]
    assert sent["vehicle"] == {"label": "unit 7", "odometer": {"value": 61200, "unit": "km"}}
    assert (sent["findings"], sent["reference"]) == (["heat_checking"], "job 1")
    assert "reference" not in json.loads(records[1].request)
    alone = json.loads(caller.post("/v1/verdicts", records[0].request).data)
    assert alone["digest"] == records[0].digest


def test_a_bad_cell_is_named_as_the_field_that_it_is(caller: Caller) -> None:
    body = "unit;kind;thickness;lateral_runout;marking\nmm;rotr;25.02 25,01;x;\nmm;rotor;25.0;;24.0\n"
    told = _lines(caller.post(PATH, body, Content_Type=CSV, Accept=NDJSON).data)
    assert [(fault["pointer"], fault["code"]) for fault in told[0]["problem"]["errors"]] == [
        ("/kind", "invalid_choice"),
        ("/lateral_runout", "invalid_number"),
        ("/thickness/1", "invalid_number"),
    ]
    assert told[1]["verdict"]["verdict"] in {"serviceable", "inconclusive"}


@pytest.mark.parametrize(
    ("header", "code", "detail"),
    [
        ("unit,kind,thicknes", "no_such_column", "did you mean 'thickness'"),
        ("unit,kind,unit", "column_twice", "stands twice"),
        ("a,b,c", "no_header", "does not name the columns"),
        ("unit,kind,history", "no_such_column", "no column 'history'"),
    ],
)
def test_a_header_that_cannot_be_taken_refuses_the_whole_batch(
    caller: Caller, header: str, code: str, detail: str
) -> None:
    response = caller.post(PATH, f"{header}\nmm,rotor,25.0\n", Content_Type=CSV)
    assert response.status_code == 400
    [fault] = json.loads(response.data)["errors"]
    assert fault["code"] == code
    assert detail in fault["detail"]


def test_every_field_of_a_request_that_fits_into_a_cell_has_a_column() -> None:
    assert {"unit", "kind", "thickness", "diameter", "cut.inboard", "cut.depth", "lathe", "lathe.kind"} <= set(
        columns()
    )
    assert {"limits.discard_thickness", "limits.discard_diameter", "instrument.calibration_due"} <= set(columns())
    assert not {"history", "application", "limits"} & set(columns())


def test_an_answer_in_csv_has_numbers_as_numbers_and_no_formula(caller: Caller) -> None:
    evil = edited(policy="=cmd()")
    lines = [ONE_LINE, DRUM_LINE, evil, edited(unit="=1+1")]
    response = caller.post(PATH, "\n".join(lines), Content_Type=NDJSON, Accept=CSV)
    assert response.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    rows = list(csv.DictReader(io.StringIO(response.data.decode("utf-8-sig"))))
    assert [row["index"] for row in rows] == ["0", "1", "2", "3"]
    assert (rows[0]["verdict"], rows[0]["least_thickness"], rows[0]["to_machining_limit"]) == (
        "machine",
        "25.01",
        "0.14",
    )
    assert (rows[1]["unit"], rows[1]["greatest_diameter"]) == ("in", "9.012")
    assert (rows[2]["status"], rows[2]["problem"]) == ("422", "invalid_request")
    for row in rows:
        for cell in row.values():
            assert cell[:1] not in set("=+-@\t\r") or Decimal(cell) is not None
    assert b",25.01," in response.data


@pytest.mark.parametrize(
    ("kind", "accept", "status"),
    [
        ("text/plain", None, 415),
        ("application/json; charset=latin-1", None, 415),
        (NDJSON, "text/html", 406),
        (NDJSON, "image/png, application/x-ndjson;q=0", 406),
        (NDJSON, "*/*", 200),
        (NDJSON, "text/*", 200),
    ],
)
def test_types_that_are_not_read_or_written_are_refused(
    caller: Caller, kind: str, accept: str | None, status: int
) -> None:
    headers = {"Content_Type": kind, **({"Accept": accept} if accept is not None else {})}
    assert caller.post(PATH, ONE_LINE, **headers).status_code == status


def test_a_batch_that_is_sent_again_under_its_key_is_answered_from_what_was_kept(caller: Caller, desk: Desk) -> None:
    body = f"{ONE_LINE}\n{BAD}\n{DRUM_LINE}\n"
    first = _lines(caller.post(PATH, body, Content_Type=NDJSON, Idempotency_Key="evening").data)
    longer = f"{body}{ONE_LINE}\n"
    again = _lines(caller.post(PATH, longer, Content_Type=NDJSON, Idempotency_Key="evening").data)
    assert [line["status"] for line in again] == [201, 422, 201, 201]
    assert [line.get("replayed") for line in again] == [True, None, True, False]
    assert [line["verdict"]["id"] for line in (again[0], again[2])] == [
        line["verdict"]["id"] for line in (first[0], first[2])
    ]
    other = f"{DRUM_LINE}\n{DRUM_LINE}\n"
    mixed = _lines(caller.post(PATH, other, Content_Type=NDJSON, Idempotency_Key="evening").data)
    assert [line["status"] for line in mixed] == [422, 201]
    assert mixed[0]["problem"]["type"] == "/problems/idempotency_key_reused"
    assert len(_stored(desk)) == 4
    alone = caller.post("/v1/verdicts", ONE_LINE, Idempotency_Key="evening")
    assert alone.status_code == 201
    assert "Idempotency-Replayed" not in alone.headers


def test_an_atomic_batch_is_kept_whole(caller: Caller, desk: Desk) -> None:
    body = "\n".join([ONE_LINE, DRUM_LINE] * 60)
    response = caller.post(f"{PATH}?atomic=true", body, Content_Type=NDJSON, Idempotency_Key="k")
    told = _lines(response.data)
    assert [line["index"] for line in told] == list(range(120))
    assert [line["verdict"]["id"] for line in told] == _stored(desk)
    again = _lines(caller.post(f"{PATH}?atomic=true", body, Content_Type=NDJSON, Idempotency_Key="k").data)
    assert [line["verdict"] for line in again] == [line["verdict"] for line in told]
    assert {line["replayed"] for line in again} == {True}
    assert len(_stored(desk)) == 120


@pytest.mark.parametrize("bad", [BAD, "{", edited(policy="none_such")])
def test_an_atomic_batch_with_one_bad_item_keeps_nothing_and_names_it(caller: Caller, desk: Desk, bad: str) -> None:
    body = f"{ONE_LINE}\n{bad}\n{DRUM_LINE}"
    response = caller.post(f"{PATH}?atomic=true", body, Content_Type=NDJSON)
    assert response.status_code == 422
    told = json.loads(response.data)
    assert told["type"] == "/problems/batch_refused"
    assert {fault["pointer"].split("/")[1] for fault in told["errors"]} == {"1"}
    assert (_stored(desk), len(desk.store.events())) == ([], 1)


def test_an_atomic_batch_under_a_key_of_another_body_keeps_nothing(caller: Caller, desk: Desk) -> None:
    caller.post(PATH, ONE_LINE, Content_Type=NDJSON, Idempotency_Key="k")
    body = f"{DRUM_LINE}\n{DRUM_LINE}\n"
    response = caller.post(f"{PATH}?atomic=true", body, Content_Type=NDJSON, Idempotency_Key="k")
    assert response.status_code == 422
    assert json.loads(response.data)["errors"][0] == {
        "pointer": "/0",
        "code": "idempotency_key_reused",
        "detail": "this Idempotency-Key came before, with another body",
    }
    assert len(_stored(desk)) == 1


def test_more_items_than_are_kept_together_are_refused(
    caller: Caller, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batching, "MOST_TOGETHER", 3)
    three, four = "\n".join([ONE_LINE] * 3), "\n".join([ONE_LINE] * 4)
    response = caller.post(f"{PATH}?atomic=true", four, Content_Type=NDJSON)
    assert (response.status_code, json.loads(response.data)["type"]) == (422, "/problems/too_many_items")
    assert _stored(desk) == []
    assert caller.post(f"{PATH}?atomic=true", three, Content_Type=NDJSON).status_code == 200


@pytest.mark.parametrize("query", ["?atomic=yes", "?answers=never", "?limit=3"])
def test_parameters_are_read_strictly(caller: Caller, query: str) -> None:
    assert caller.post(f"{PATH}{query}", ONE_LINE, Content_Type=NDJSON).status_code == 400


def test_only_a_key_with_the_scope_may_send_a_batch(join: Joining) -> None:
    assert join("reports").post(PATH, ONE_LINE, Content_Type=NDJSON).status_code == 403


def test_verdicts_that_cannot_be_kept_are_answered_so_in_their_places(
    caller: Caller, desk: Desk, tmp_path: Path
) -> None:
    with raw(tmp_path / "store.sqlite") as conn:
        conn.execute(
            "CREATE TRIGGER broken BEFORE INSERT ON verdicts WHEN NEW.reference = 'breaks'"
            " BEGIN SELECT RAISE(ABORT, 'broken'); END"
        )
    lines = [*([ONE_LINE] * 101), BAD, edited(reference="breaks"), *([ONE_LINE] * 97), DRUM_LINE]
    told = _lines(caller.post(PATH, "\n".join(lines), Content_Type=NDJSON).data)
    assert [line["status"] for line in told] == [*([201] * 100), 503, 422, *([503] * 98), 201]
    assert _stored(desk) == [line["verdict"]["id"] for line in told if line["status"] == 201]
    assert len([event for event in desk.store.events(limit=1000) if event.kind is EventKind.VERDICT]) == 101


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.sampled_from([ONE_LINE, DRUM_LINE, BAD, "{"]), max_size=7), st.integers(1, 4))
def test_groups_and_forms_change_nothing_of_what_is_told(caller: Caller, lines: list[str], group: int) -> None:
    def statuses(path: str, body: str, kind: str, accept: str) -> list[int]:
        content = caller.post(path, body, Content_Type=kind, Accept=accept).data
        if accept == CSV:
            return [int(row["status"]) for row in csv.DictReader(io.StringIO(content.decode("utf-8-sig")))]
        told = json.loads(content) if accept == "application/json" else _lines(content)
        return [line["status"] for line in told]

    wanted = [{ONE_LINE: 201, DRUM_LINE: 201, "{": 400}.get(line, 422) for line in lines]
    before, batching.GROUP = batching.GROUP, group
    try:
        for accept in (NDJSON, "application/json", CSV):
            for answers in ("after", "at_once"):
                assert statuses(f"{PATH}?answers={answers}", "\n".join(lines), NDJSON, accept) == wanted
        if "{" not in lines:
            assert statuses(PATH, f"[{','.join(lines)}]", "application/json", NDJSON) == wanted
    finally:
        batching.GROUP = before
