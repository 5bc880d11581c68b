"""Strict reading: one tiny bad file a failure, and the words with which it is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from turnrule.pack import PackError, load_pack

FOLDER = Path(__file__).resolve().parent.parent.parent / "reference"
BAD = Path(__file__).resolve().parent / "bad"

EXPECTED = {
    "blank_text": "findings.json, item 1: title is blank",
    "doubled_key": "findings.json: 'code' stands twice in one object",
    "effect_of_no_kind": "findings.json, item 1: effect: 'destroy' is none of caution, measure, machine, replace",
    "items_are_no_list": "findings.json: items must be a list",
    "item_is_no_object": "findings.json, item 1: is not an object",
    "kinds_twice": "findings.json, item 1: kinds needs one word or more, each once",
    "missing_field": "findings.json, item 1: source is missing",
    "not_a_number": "findings.json: NaN is no number",
    "not_json": "findings.json: is not JSON",
    "not_sorted": "findings.json: 'crack' stands after 'pit'",
    "number_for_text": "findings.json, item 1: title must be text, not Decimal('7')",
    "parameters_of_numbers": "findings.json, item 1: parameters must be a list of text",
    "unknown_field": "findings.json, item 1: unknown field 'colour'; here may stand code, effect",
    "unknown_source": "findings.json, item 1: source 'hearsay' is not in sources.json",
    "wrong_version": "findings.json: version must be 1",
}


_SOURCE = '{"code": "a", "title": "t", "status": "READ"}'
TWICE = f'{{"version": 1, "items": [{_SOURCE}, {_SOURCE}]}}'


def test_every_bad_sample_has_its_words() -> None:
    assert {path.stem for path in BAD.glob("*.json")} == set(EXPECTED)


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_bad_file_is_refused_with_its_place_and_remedy(tmp_path: Path, name: str) -> None:
    copy = tmp_path / "pack"
    shutil.copytree(FOLDER, copy)
    shutil.copy(BAD / f"{name}.json", copy / "catalogue" / "findings.json")
    with pytest.raises(PackError) as raised:
        load_pack(copy)
    assert EXPECTED[name] in str(raised.value)


def test_a_file_that_is_not_utf8_is_refused(tmp_path: Path) -> None:
    copy = tmp_path / "pack"
    shutil.copytree(FOLDER, copy)
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
def test_other_files_of_the_wrong_shape_are_refused(tmp_path: Path, name: str, text: str, words: str) -> None:
    copy = tmp_path / "pack"
    shutil.copytree(FOLDER, copy)
    (copy / name).write_text(text, encoding="utf-8")
    with pytest.raises(PackError, match=words):
        load_pack(copy)
