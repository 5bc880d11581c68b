"""`turnrule report`: the options of the API, tables that nothing breaks, CSV and JSON as the service sends them."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from pathlib import Path

import pytest

from tests.actions.fleet_world import judge, rotor, withdraw
from tests.actions.test_reporting_compliance import GOOD_ROTOR, WORN_ROTOR
from tests.api.bodies import EXAMPLE_LIMITS
from tests.api.callers import Clock
from tests.api.conftest import publish
from tests.api.test_reports import UGLY
from tests.cli.running import Ran, turnrule
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.keys import create_key
from turnrule.api.application import build_api
from turnrule.cli.report_tables import LONGEST, WIDE, columns_of, shortened
from turnrule.pack import load_pack
from turnrule.store.sqlite import open_sqlite

LABELS = (
    *(label.strip() for label in UGLY),
    "\u30e6\u30cb\u30c3\u30c8" * 12,
    "e\u0301" * 30,
    "unit 2 and a half of three",
)
HEAD = 93
"""Columns of a line of counts and figures behind one label."""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store in which parts of vehicles with ugly names were judged."""
    folder = tmp_path_factory.mktemp("reports")
    store = open_sqlite(folder / "store.sqlite")
    store.migrate()
    clock = Clock()
    desk = Desk(store, load_pack(), clock, new_id)
    publish(desk, EXAMPLE_LIMITS)
    for label in LABELS:
        clock.move(hours=1)
        judge(desk, rotor(WORN_ROTOR, "left", label, reference=label), "north")
        judge(desk, rotor(GOOD_ROTOR, "right", label, thickness=[Decimal("25.3")] * 3))
    withdraw(desk)
    store.close()
    return folder


def report(place: Path, *args: str) -> Ran:
    """Run a report that is to succeed."""
    done = turnrule("report", *args, folder=place, TURNRULE_DATABASE=str(place / "store.sqlite"))
    assert done.code == 0, done.err
    return done


def served(place: Path, address: str, accept: str) -> str:
    """What the service answers."""
    store = open_sqlite(place / "store.sqlite")
    desk = Desk(store, load_pack(), Clock(), new_id)
    secret = create_key(desk, f"office {len(store.keys())}", ["reports"]).secret
    headers = {"Authorization": f"Bearer {secret}", "Accept": accept}
    content = build_api(desk).test_client().get(address, headers=headers).get_data(as_text=True)
    store.close()
    return content


def test_the_table_of_counts_stands_in_columns_whatever_the_labels_are(place: Path) -> None:
    lines = report(place, "verdicts", "--unit", "mm", "--by", "vehicle").out.splitlines()
    head, *rows, total, legend = lines
    assert head.split()[:3] == ["vehicle", "verdicts", "serviceable"]
    assert len(rows) == len(LABELS)
    assert {columns_of(line) for line in (head, *rows, total)} == {columns_of(head)}
    assert columns_of(head) <= LONGEST + HEAD
    assert total.split()[:2] == ["all", str(2 * len(LABELS))]
    assert legend.endswith("below 0 is past it.")


def test_a_character_takes_as_many_columns_as_a_terminal_gives_it() -> None:
    """Unicode Standard Annex 11, East Asian Width: wide and fullwidth characters take two, others one."""
    assert [columns_of(text) for text in ("a", "\u30e6", "\uff1d", "e\u0301", "\u00e9", "")] == [1, 2, 2, 1, 1, 0]


def test_long_labels_are_cut_and_what_is_not_seen_is_written_out() -> None:
    assert shortened("x" * LONGEST) == "x" * LONGEST
    assert shortened("x" * (LONGEST + 1)) == "x" * (LONGEST - 3) + "..."
    assert columns_of(shortened("\u30e6" * 40)) <= LONGEST
    assert shortened("a\x1b[31mb\u202ec") == r"a\x1b[31mb\u202ec"


@pytest.mark.parametrize("name", ["compliance", "call-backs"])
def test_lines_to_read_fit_and_name_what_to_do(place: Path, name: str) -> None:
    done = report(place, name)
    assert max(map(len, done.out.splitlines())) <= WIDE
    assert done.err.count("\n") == 1
    assert "limits withdrawn" in done.out
    assert "judged again" in done.out


@pytest.mark.parametrize(
    ("args", "address"),
    [
        (
            ("verdicts", "--unit", "in", "--by", "vehicle", "--then-by", "site"),
            "verdicts?unit=in&by=vehicle&then_by=site",
        ),
        (("verdicts", "--unit", "mm", "--site", "north"), "verdicts?unit=mm&site=north"),
        (("compliance", "--vehicle", "unit 1"), "compliance?vehicle=unit%201"),
        (("call-backs", "--make", "CORVANE", "--axle", "front"), "call-backs?make=CORVANE&axle=front"),
        (("call-backs", "--since", "2026-11-02T14:00:00Z"), "call-backs?since=2026-11-02T14:00:00Z"),
    ],
)
def test_csv_is_what_the_service_sends(place: Path, args: tuple[str, ...], address: str) -> None:
    mine = report(place, *args, "--csv").out
    theirs = served(place, f"/v1/reports/{address}", "text/csv")
    assert mine.splitlines() == theirs.splitlines()
    rows = list(csv.reader(io.StringIO(mine.removeprefix("\ufeff")), strict=True))
    assert len(rows) > 1
    assert len({len(row) for row in rows}) == 1


def test_json_is_what_the_service_sends(place: Path) -> None:
    counted = report(place, "verdicts", "--unit", "mm", "--by", "kind", "--json").out
    assert counted.strip() == served(place, "/v1/reports/verdicts?unit=mm&by=kind", "application/json")
    for name in ("compliance", "call-backs"):
        mine = [json.loads(line) for line in report(place, name, "--json").out.splitlines()]
        theirs = served(place, f"/v1/reports/{name}", "application/x-ndjson")
        assert mine == [json.loads(line) for line in theirs.splitlines()]
        assert mine[-1]["done"] is True


@pytest.mark.parametrize(
    "args",
    [
        ("verdicts",),
        ("verdicts", "--unit", "cm"),
        ("verdicts", "--unit", "mm", "--then-by", "site"),
        ("verdicts", "--unit", "mm", "--by", "site", "--then-by", "site"),
        ("compliance", "--pair-days", "-1"),
        ("call-backs", "--since", "yesterday"),
    ],
)
def test_what_cannot_be_asked_is_refused(place: Path, args: tuple[str, ...]) -> None:
    done = turnrule("report", *args, folder=place, TURNRULE_DATABASE=str(place / "store.sqlite"))
    assert (done.code, done.out) == (2, "")
    assert "Error" in done.err


def test_where_there_is_no_store_nothing_is_made(tmp_path: Path) -> None:
    done = turnrule("report", "call-backs", folder=tmp_path, TURNRULE_DATABASE=str(tmp_path / "none.sqlite"))
    assert (done.code, done.out) == (6, "")
    assert list(tmp_path.iterdir()) == []
