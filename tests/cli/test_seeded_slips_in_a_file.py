"""Slips that people make, planted into a file of limits: where each is caught on the way through the importer."""

from __future__ import annotations

import copy
import csv
import json
import random
import sys
from collections import Counter
from pathlib import Path

import pytest

from tests.actions.entry_checks.slips import SLIPS, Body, clean_bodies, written
from tests.api.callers import START as _AT
from tests.cli.running import turnrule
from turnrule.actions.publishing import as_revisions
from turnrule.api.json_reading import read_json
from turnrule.api.limits_schemas import read_limits
from turnrule.store.sqlite import open_sqlite

SEED = 20_261_126
EACH = 30
"""So many slips of each kind: 300 in all, in one file."""


def _renamed(body: Body, word: str) -> Body:
    own = copy.deepcopy(body)
    own["application"]["model"] = f"{own['application']['model'][:20]} {word}"
    return own


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """A folder with a store that holds the limits of some hundred vehicles."""
    store = open_sqlite(tmp_path / "turnrule.sqlite")
    store.migrate()
    known = [_renamed(body, f"known {number}") for number, body in enumerate(clean_bodies(11, 300))]
    entries = [read_limits(read_json(written(body))) for body in known]
    rows = as_revisions(entries, entered_by="one", verified_by="two")
    store.publish(rows, published_at=_AT, published_by="test", notes="")
    store.close()
    return tmp_path


def _key(folder: Path, name: str, scope: str) -> str:
    return turnrule("keys", "create", name, "--scope", scope, folder=folder).out.strip()


def _planted() -> list[tuple[str, Body, Body]]:
    """The kind of each slip, what the document says, and what is typed."""
    chance = random.Random(SEED)
    bodies = clean_bodies(SEED, 300)
    planted = []
    for kind, plant in SLIPS.items():
        made = 0
        while made < EACH:
            body = _renamed(chance.choice(bodies), f"{kind} {made}")
            slipped = plant(chance, body)
            if slipped is not None:
                planted.append((kind, body, slipped))
                made += 1
    return planted


def test_slips_in_a_file_are_caught_before_they_govern(store: Path) -> None:
    planted = _planted()
    first, second = _key(store, "first", "limits:write"), _key(store, "second", "limits:verify")
    (store / "typed.jsonl").write_bytes(b"\n".join(written(slipped) for _, _, slipped in planted))
    (store / "again.jsonl").write_bytes(b"\n".join(written(body) for _, body, _ in planted))
    refused = turnrule("limits", "import", "typed.jsonl", "--faults", "f.csv", folder=store, TURNRULE_KEY=first)
    assert refused.code == 3, refused.err
    with (store / "f.csv").open(encoding="utf-8-sig", newline="") as faults:
        questioned = {int(row["row"]) for row in csv.DictReader(faults)}
    through = [number for number in range(1, len(planted) + 1) if number not in questioned]
    rows = ",".join(map(str, through))
    entered = turnrule("limits", "import", "typed.jsonl", "--rows", rows, folder=store, TURNRULE_KEY=first)
    assert entered.code == 0, entered.err
    compared = turnrule("limits", "verify", "again.jsonl", "--rows", rows, "--json", folder=store, TURNRULE_KEY=second)
    missed = {int(row["row"]) for row in _outcomes(compared.out) if row["outcome"] == "verified"}
    table: dict[str, Counter[str]] = {kind: Counter() for kind in SLIPS}
    for number, (kind, _, _) in enumerate(planted, start=1):
        where = "at entry" if number in questioned else "not at all" if number in missed else "at verification"
        table[kind][where] += 1
    _show(table)
    assert len(missed) / len(planted) <= 0.01


def _outcomes(text: str) -> list[dict[str, str]]:
    lines = [json.loads(line) for line in text.splitlines()]
    return [line for line in lines if "row" in line]


def _show(table: dict[str, Counter[str]]) -> None:
    places = ("at entry", "at verification", "not at all")
    sys.stdout.write("\n" + f"{'slip':18}" + "".join(f"{place:>17}" for place in places) + "\n")
    for kind, counted in table.items():
        shares = "".join(f"{counted[place] / EACH:>17.1%}" for place in places)
        sys.stdout.write(f"{kind:18}{shares}\n")
