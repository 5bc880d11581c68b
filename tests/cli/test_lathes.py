"""`turnrule lathe`, and passes in what `turnrule judge` prints, on a store of its own."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest

from tests.api.bodies import EXAMPLE, changed
from tests.api.lathes import BENCH, INCHES
from tests.cli.running import turnrule
from turnrule.actions.numbers import write_exact

D = Decimal
LIMITS = {
    "nominal_thickness": 26,
    "discard_thickness": 24,
    "minimum_machining_thickness": D("24.6"),
    "machining": "permitted",
    "construction": "drilled",
}


@pytest.fixture
def store(tmp_path: Path) -> dict[str, str]:
    """The variables that lead to a fresh store, with a key that may write lathes."""
    variables = {"TURNRULE_DATABASE": "store.sqlite"}
    assert turnrule("store", "migrate", folder=tmp_path, **variables).code == 0
    made = turnrule("keys", "create", "office", "--scope", "policies:write", "--json", folder=tmp_path, **variables)
    return {**variables, "TURNRULE_KEY": json.loads(made.out)["key"]}


def test_lathes_are_written_listed_and_shown(tmp_path: Path, store: dict[str, str]) -> None:
    first = turnrule("lathe", "write", "bench_one", "-", folder=tmp_path, text=BENCH, **store)
    assert (first.code, first.out, first.err) == (0, "1\n", "bench_one, revision 1 is written.\n")
    second = turnrule("lathe", "write", "hub_one", "-", "--json", folder=tmp_path, text=INCHES, **store)
    assert json.loads(second.out)["in_mm"]["least_depth"] == 0.0254
    listed = turnrule("lathe", "list", folder=tmp_path, **store)
    assert [line.split("\t")[:2] for line in listed.out.splitlines()] == [
        ["bench_one, revision 1", "bench"],
        ["hub_one, revision 1", "on_vehicle"],
    ]
    as_json = turnrule("lathe", "list", "--json", folder=tmp_path, **store)
    assert [json.loads(line)["name"] for line in as_json.out.splitlines()] == ["bench_one", "hub_one"]
    shown = turnrule("lathe", "show", "hub_one", folder=tmp_path, **store)
    assert "  finishing feeds: 0.001 to 0.006\n" in shown.out
    assert "  surface speed: 100 to 400 ft/min\n" in shown.out
    again = turnrule("lathe", "write", "bench_one", "-", "--over", "1", folder=tmp_path, text=BENCH, **store)
    assert again.out == "2\n"
    old = turnrule("lathe", "show", "bench_one", "--revision", "1", "--json", folder=tmp_path, **store)
    assert json.loads(old.out)["revision"] == 1


def test_what_cannot_be_written_is_refused_with_every_fault(tmp_path: Path, store: dict[str, str]) -> None:
    turnrule("lathe", "write", "bench_one", "-", folder=tmp_path, text=BENCH, **store)
    stale = turnrule("lathe", "write", "bench_one", "-", "--over", "0", folder=tmp_path, text=BENCH, **store)
    assert (stale.code, "[stale]" in stale.err) == (3, True)
    body = write_exact(changed(BENCH, greatest_depth=D("0.01"), speeds=["x"])).decode()
    bad = turnrule("lathe", "write", "bad_one", "-", folder=tmp_path, text=body, **store)
    assert bad.code == 3
    assert "/greatest_depth: 0.02 and 0.01 run backwards" in bad.err
    assert "/speeds/0: " in bad.err
    assert turnrule("lathe", "write", "Bad-1", "-", folder=tmp_path, text=BENCH, **store).code == 2
    missing = turnrule("lathe", "show", "bench_two", folder=tmp_path, **store)
    assert (missing.code, "there is bench_one" in missing.err) == (3, True)


def test_the_table_of_a_verdict_shows_its_passes_and_its_heat(tmp_path: Path, store: dict[str, str]) -> None:
    turnrule("lathe", "write", "bench_one", "-", folder=tmp_path, text=BENCH, **store)
    ring = {"outer_diameter": 280, "inner_diameter": 160, "air_gap": 8}
    whole = {"application": None, "limits": LIMITS, "lathe": {"profile": "bench_one"}, "dimensions": ring}
    body = write_exact(changed(EXAMPLE, **whole)).decode()
    shown = turnrule("judge", "-", "--table", folder=tmp_path, text=body, **store)
    assert shown.code == 0
    lines = [line.split() for line in shown.out.splitlines()]
    # drilled: no more than 0.1 a pass and 100 turns a minute (common practice, no source), of which 90 is there
    assert ["1", "roughing", "0.09", "0.09", "0.02", "0.02", "0.2", "3.3334"] in lines
    assert "90 turns a minute" in shown.out
    assert "Heat, for information only: 5.08 kg before" in shown.out
    deep = {**whole, "cut": {"inboard": D("0.9"), "outboard": D("0.9")}}
    none = turnrule(
        "judge", "-", "--table", folder=tmp_path, text=write_exact(changed(EXAMPLE, **deep)).decode(), **store
    )
    assert "No passes on bench_one, revision 1: the cut is not allowed." in none.out
    shallow = {**whole, "cut": {"inboard": D("0.005"), "outboard": D("0.1"), "zero": "first_contact"}}
    bare = {**shallow, "groove_depth": None, "lateral_runout": D(0), "thickness": [D("25.02")] * 8}
    text = write_exact(changed(EXAMPLE, **bare)).decode()
    small = turnrule("judge", "-", "--table", folder=tmp_path, text=text, **store)
    assert "inboard: it is less than the lathe's least depth; it can make more, 0.02 mm." in small.out
