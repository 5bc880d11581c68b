"""How much the checks at entry find by themselves, and how seldom they complain of what is right.

The thresholds were set on clean records and slips of other seeds than those here. What no check at entry can see (a
row or an axle that is right for another vehicle, a digit that gives another usual value) is left to the second entry.
"""

from __future__ import annotations

import contextlib
import json
import random
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest

from tests.actions.entry_checks.entries import ALONE, TODAY
from tests.actions.entry_checks.published_records import PUBLISHED_RECORDS
from tests.actions.entry_checks.slips import SLIPS, Body, clean_bodies, written
from turnrule.actions.entry_checks import REFUSALS, WARNINGS, Surroundings, check_entry, entry_refusals
from turnrule.actions.entry_checks.remarks import MOST_SIMILAR, Bucket, bucket_of
from turnrule.actions.requests import LimitsEntry
from turnrule.api.faults import FaultsError
from turnrule.api.json_reading import read_json
from turnrule.api.limits_schemas import read_limits
from turnrule.judging.limits import LimitSet

SEED, OTHERS_SEED = 20270117, 20270118
"""Not used while thresholds were set."""

CLEAN = clean_bodies(SEED, 600)
DEMO_LIMITS = Path(__file__).parents[3] / "reference" / "demo" / "limits"
DEMO = [
    json.loads(path.read_text(encoding="utf-8"), parse_float=Decimal, parse_int=Decimal)
    for path in sorted(DEMO_LIMITS.glob("*.json"))
]

CAUGHT_AT_LEAST = {
    "digit": 0.7,
    "transposition": 0.9,
    "dropped_point": 0.99,
    "times_ten": 0.93,
    "unit_swap": 0.97,
    "wrong_row": 0.5,
    "wrong_column": 0.6,
    "swapped_limits": 1.0,
    "wrong_year_range": 0.6,
    "wrong_axle": 0.08,
}
"""The share that entry alone must catch, by kind; a few points below what was measured."""


def among(bodies: Sequence[Body]) -> Surroundings:
    """A store that holds these records, of other vehicles."""
    held: dict[Bucket | None, list[LimitSet]] = defaultdict(list)
    for body in bodies:
        limits = read_limits(body).figures.limits
        if limits.nominal is not None:
            held[bucket_of(limits)].append(limits)

    def similar(entry: LimitsEntry) -> Sequence[LimitSet]:
        return held[bucket_of(entry.figures.limits)][:MOST_SIMILAR]

    return Surroundings(ALONE.overlapping, similar, TODAY)


FILLED = among(clean_bodies(OTHERS_SEED, 1200))
STORES = {"an empty store": ALONE, "a store of 1,200 others": FILLED}


def tell(capsys: pytest.CaptureFixture[str], text: str) -> None:
    """Print what was measured, whether the test passes or not."""
    with capsys.disabled():
        sys.stdout.write(text)


def codes_of(body: Body, around: Surroundings) -> set[str]:
    """The codes that a body meets on its way in, as a caller would send it."""
    try:
        entry = read_limits(read_json(written(body)))
    except FaultsError as error:
        return {fault.code for fault in error.faults}
    return {remark.code for remark in check_entry(entry, around)}


@pytest.mark.parametrize("store", STORES)
def test_fewer_than_one_clean_record_in_a_hundred_raises_anything(
    store: str, capsys: pytest.CaptureFixture[str]
) -> None:
    alarms = [codes for body in CLEAN + DEMO if (codes := codes_of(body, STORES[store]))]
    share = len(alarms) / len(CLEAN + DEMO)
    kinds = dict(Counter(code for codes in alarms for code in codes))
    tell(capsys, f"\n{store}: {len(alarms)} false alarms in {len(CLEAN + DEMO)} clean records: {share:.2%} {kinds}\n")
    assert share < 0.01


@pytest.mark.parametrize("body", DEMO + PUBLISHED_RECORDS)
def test_the_demo_and_limits_out_of_government_manuals_raise_nothing(body: Body) -> None:
    assert not codes_of(body, ALONE)


def test_clean_records_are_of_every_sort_and_the_same_for_the_same_seed() -> None:
    assert written({"all": CLEAN}) == written({"all": clean_bodies(SEED, 600)})
    assert {(body["kind"], body["unit"]) for body in CLEAN} == {
        (kind, unit) for kind in ("rotor", "drum", "parking_drum") for unit in ("mm", "in")
    }
    assert {"solid", "vented", "cast"} <= {body.get("construction") for body in CLEAN}
    assert sum("also" in body for body in CLEAN) > 100


def test_clean_records_do_not_overlap() -> None:
    seen: set[tuple[object, ...]] = set()
    for body in CLEAN:
        fits = body["application"]
        for year in range(int(fits["year_from"]), int(fits.get("year_to", 2026)) + 1):
            place = (fits["make"], fits["model"], fits["axle"], body["kind"], year)
            assert place not in seen
            seen.add(place)


def test_slips_are_caught_at_entry_by_kind(capsys: pytest.CaptureFixture[str]) -> None:
    planted: Counter[str] = Counter()
    caught: Counter[str] = Counter()
    lines = [f"\n{'slip':18}{'planted':>8}{'caught at entry':>17}  mostly by"]
    for kind, slip in SLIPS.items():
        chance = random.Random(SEED)
        told = [codes_of(slipped, FILLED) for body in CLEAN if (slipped := slip(chance, body)) is not None]
        planted[kind] = len(told)
        caught[kind] = sum(bool(codes) for codes in told)
        mostly = Counter(code for codes in told for code in codes).most_common(3)
        words = ", ".join(code for code, _ in mostly)
        lines.append(f"{kind:18}{planted[kind]:>8}{caught[kind] / planted[kind]:>17.1%}  {words}")
    lines.append(f"{'all':18}{planted.total():>8}{caught.total() / planted.total():>17.1%}")
    tell(capsys, "\n".join(lines) + "\n")
    assert min(planted.values()) >= 300
    assert {kind: share for kind in SLIPS if (share := caught[kind] / planted[kind]) < CAUGHT_AT_LEAST[kind]} == {}


def test_a_slip_changes_the_body_and_leaves_the_original_alone() -> None:
    before = written({"all": CLEAN})
    chance = random.Random(SEED)
    for slip in SLIPS.values():
        for body in CLEAN[:100]:
            slipped = slip(chance, body)
            assert slipped is None or slipped != body
    assert written({"all": CLEAN}) == before


def test_what_is_refused_at_reading_is_listed_as_a_refusal_or_is_no_number() -> None:
    chance = random.Random(SEED)
    refused: Counter[str] = Counter()
    for slip in SLIPS.values():
        for body in CLEAN[:150]:
            slipped = slip(chance, body)
            if slipped is not None:
                with contextlib.suppress(FaultsError):
                    read_limits(slipped)
                    continue
                refused.update(codes_of(slipped, ALONE))
    assert refused.total() > 300
    assert set(refused) <= set(REFUSALS)


def test_a_body_that_is_read_has_nothing_left_that_is_refused_for_itself() -> None:
    chance = random.Random(SEED)
    read = 0
    for slip in SLIPS.values():
        for body in CLEAN[:150]:
            slipped = slip(chance, body)
            try:
                entry = read_limits(body if slipped is None else slipped)
            except FaultsError:
                continue
            read += 1
            remarks = check_entry(entry, FILLED)
            assert not [remark for remark in remarks if remark.refused]
            assert not entry_refusals(entry)
            assert {remark.code for remark in remarks} <= set(WARNINGS)
    assert read > 300


def test_an_entry_is_checked_in_well_under_a_third_of_a_millisecond(capsys: pytest.CaptureFixture[str]) -> None:
    entries = [read_limits(body) for body in CLEAN]
    for entry in entries:
        check_entry(entry, FILLED)
    best = min(_seconds(entries) for _ in range(10)) / len(entries)
    tell(capsys, f"\n{best * 1e6:.0f} us for an entry\n")
    assert best < 0.0003


def _seconds(entries: Sequence[LimitsEntry]) -> float:
    """Time of this process alone, so that a busy machine does not count."""
    begin = time.process_time()
    for entry in entries:
        check_entry(entry, FILLED)
    return time.process_time() - begin
