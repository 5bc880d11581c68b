"""Strict reading: one tiny bad file a failure, and the words with which it is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from turnrule.pack import PackError, load_pack

FOLDER = Path(__file__).resolve().parent.parent.parent / "reference"
BAD = Path(__file__).resolve().parent / "bad"

EXPECTED = {
    "byte_order_mark": "findings.json: is not JSON: Unexpected UTF-8 BOM",
    "blank_text": "findings.json, item 1: title is blank",
    "doubled_key": "findings.json: 'code' stands twice in one object",
    "effect_of_no_kind": "findings.json, item 1: effect: 'destroy' is none of caution, measure, machine, replace",
    "items_are_no_list": "findings.json: items must be a list",
    "item_is_no_object": "findings.json, item 1: is not an object",
    "kinds_twice": "findings.json, item 1: kinds needs one word or more, each once",
    "kind_of_nothing": "findings.json, item 1: kinds: 'caliper' is none of rotor, drum, parking_drum",
    "lone_surrogate": "findings.json, item 1: parameters holds the unprintable character U+D800; take it out",
    "turned_reading_direction": "findings.json, item 1: title holds the unprintable character U+202E; take it out",
    "missing_field": "findings.json, item 1: source is missing",
    "not_a_number": "findings.json: NaN is no number",
    "not_json": "findings.json: is not JSON",
    "not_sorted": "findings.json: 'crack' stands after 'pit'",
    "number_for_text": "findings.json, item 1: title must be text, not 7",
    "parameters_of_numbers": "findings.json, item 1: parameters must be a list of text",
    "unknown_field": "findings.json, item 1: unknown field 'colour'; here may stand code, effect",
    "unknown_source": "findings.json, item 1: source 'hearsay' is not in sources.json",
    "wrong_version": "findings.json: version must be 1",
    "cautions__unknown_level": "cautions.json, item 1: level: 'loud' is none of notice, warning, danger",
    "practice__comma": "practice.json, item 1: value: '0,38' is no decimal; write one such as \"0.38\"",
    "practice__exponent": "practice.json, item 1: value: '1e-3' is no decimal",
    "practice__number_for_decimal": (
        'practice.json, item 1: value must be a decimal in quotes, such as "0.38", not 0.38'
    ),
    "practice__other_digits": "is no decimal; write one such as",
    "practice__unknown_field": "practice.json, item 1: unknown field 'note'; here may stand code, source, text",
    "regulations__binds_nothing": "regulations.json, item 1: binds: 'sale' is none of use, machining, both",
    "regulations__no_jurisdiction": "regulations.json, item 1: jurisdiction is missing",
    "regulations__oversize_of_a_rotor": "regulations.json, item 1: oversize_mm must be more than 0, and for drums only",
    "regulations__oversize_of_nothing": "regulations.json, item 1: oversize_mm must be more than 0",
    "rules__twice": "rules.json: 'a_rule' stands after 'a_rule'; sort by code, each once",
    "sources__no_address": "sources.json, item 1: address is missing; say where 'practice' stands",
    "sources__status_of_hearsay": "sources.json, item 1: status: 'HEARD' is none of READ, READ (secondary), MEMORY",
    "cases__day_in_another_form": "cases/bad.json: on: '20261102' is no date of the calendar; write YYYY-MM-DD",
    "cases__day_that_is_not": "cases/bad.json: on: '2026-02-30' is no date of the calendar",
    "cases__no_request": "cases/bad.json: request is missing",
    "cases__no_rules": "cases/bad.json: rules needs one code or more, each once",
    "cases__pair_of_nothing": "cases/bad.json: dual_unit is missing",
    "cases__record_of_text": "cases/bad.json, record: is not an object; write {...}",
    "cases__sort_of_nothing": "cases/bad.json: kind_of_case: 'other' is none of verdict, axle",
    "cases__unknown_field": "cases/bad.json: unknown field 'expected'; here may stand before, case, expect, ",
}
"""Name of a bad sample to the words that refuse it. `practice__comma` is a practice.json, `crack` a findings.json."""

_SOURCE = '{"code": "a", "title": "t", "status": "READ", "address": "x"}'
TWICE = f'{{"version": 1, "items": [{_SOURCE}, {_SOURCE}]}}'


def test_every_bad_sample_has_its_words() -> None:
    assert {path.stem for path in BAD.glob("*.json")} == set(EXPECTED)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The pack to spoil, without its worked cases."""
    place = tmp_path / "pack"
    shutil.copytree(FOLDER, place, ignore=shutil.ignore_patterns("cases"))
    (place / "cases").mkdir()
    return place


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_bad_file_is_refused_with_its_place_and_remedy(copy: Path, name: str) -> None:
    target = name.rpartition("__")[0] or "findings"
    place = "cases/bad.json" if target == "cases" else f"catalogue/{target}.json"
    shutil.copy(BAD / f"{name}.json", copy / place)
    with pytest.raises(PackError) as raised:
        list(load_pack(copy).cases())
    assert EXPECTED[name] in str(raised.value)


def test_a_source_that_is_practice_or_worked_out_here_needs_no_address(copy: Path) -> None:
    assert load_pack(copy).catalogue.cautions["dust_hazard"].source == (
        "Common practice of the trade, no source (COMMON PRACTICE)"
    )


def test_a_file_that_is_not_utf8_is_refused(copy: Path) -> None:
    (copy / "catalogue" / "findings.json").write_bytes('{"version": 1, "items": []}'.encode("utf-16"))
    with pytest.raises(PackError, match=r"findings\.json: cannot be read as UTF-8"):
        load_pack(copy)


def test_a_folder_that_is_no_pack_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PackError, match=r"no datapackage\.json here"):
        load_pack(tmp_path)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("policies/default.json", "[]", "must be an object with"),
        ("demo/limits/bad.json", "[]", "is not a limits body"),
        ("demo/inspections.json", '{"version": 1, "items": [{"name": "x", "request": 1}]}', "request is not an object"),
        ("datapackage.json", "[]", "is not an object"),
        ("catalogue/sources.json", TWICE, "stands twice"),
    ],
)
def test_other_files_of_the_wrong_shape_are_refused(copy: Path, name: str, text: str, words: str) -> None:
    (copy / name).write_text(text, encoding="utf-8")
    with pytest.raises(PackError, match=words):
        load_pack(copy)
