"""Each check of a pack, on the pack as it is and on one that was spoilt in just that way."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from turnrule.pack import check_pack, checks
from turnrule.pack.building import datapackage_text
from turnrule.pack.checking import CHECKS

FOLDER = Path(__file__).resolve().parent.parent.parent / "reference"
Document = Any


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A pack to spoil."""
    place = tmp_path / "pack"
    shutil.copytree(FOLDER, place)
    return place


def _change(copy: Path, name: str, change: Callable[[Document], None]) -> None:
    path = copy / name
    document = json.loads(path.read_text("utf-8"))
    change(document)
    path.write_text(json.dumps(document), encoding="utf-8")


def _spoil(copy: Path, name: str, change: Callable[[Document], None]) -> tuple[str, ...]:
    """The faults once one file was changed and the list of files built again."""
    _change(copy, name, change)
    (copy / "datapackage.json").write_text(datapackage_text(copy), encoding="utf-8")
    return tuple(str(fault) for fault in check_pack(copy))


def test_an_unspoilt_copy_is_sound(copy: Path) -> None:
    assert check_pack(copy) == ()


def test_a_missing_caution_is_found(copy: Path) -> None:
    def drop(document: Document) -> None:
        document["items"] = [item for item in document["items"] if item["code"] != "few_points"]

    [fault] = _spoil(copy, "catalogue/cautions.json", drop)
    assert "'few_points' is raised by the program" in fault


def test_a_placeholder_that_nothing_fills_is_found(copy: Path) -> None:
    def add(document: Document) -> None:
        document["items"][0]["text"] += " {nobody}"

    [fault] = _spoil(copy, "catalogue/cautions.json", add)
    assert "{nobody}" in fault


def test_a_changed_file_is_found(copy: Path) -> None:
    _change(copy, "catalogue/rules.json", lambda document: document["items"][0].update(title="Another"))
    [fault] = check_pack(copy)
    assert fault.check == "files_listed"
    assert "catalogue/rules.json: was changed" in fault.detail


def test_a_file_of_a_kind_that_a_pack_does_not_hold_is_found(copy: Path) -> None:
    (copy / "catalogue" / "findings.json.bak").write_text("{}", encoding="utf-8")
    [fault] = check_pack(copy)
    assert "catalogue/findings.json.bak: is of no kind that a pack holds" in str(fault)


def test_a_file_whose_schema_is_not_there_is_found(copy: Path) -> None:
    (copy / "schema" / "rules.schema.json").unlink()
    (copy / "datapackage.json").write_text(datapackage_text(copy), encoding="utf-8")
    [fault] = check_pack(copy)
    assert "catalogue/rules.json: its schema schema/rules.schema.json is not there" in str(fault)


def test_a_file_too_many_and_a_file_too_few_are_found(copy: Path) -> None:
    (copy / "catalogue" / "more.md").write_text("more", encoding="utf-8")
    (copy / "entry" / "limits.csv").unlink()
    details = [fault.detail for fault in check_pack(copy)]
    assert any("catalogue/more.md is not listed" in detail for detail in details)
    assert any("entry/limits.csv is listed and not there" in detail for detail in details)


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        ("careful_bench", {"minimum_points": 3}, "/minimum_points: 3 is looser than the 4"),
        ("careful_bench", {"findings": {"crack_to_edge": "machine"}}, "machine is milder than the catalogue's replace"),
        ("careful_bench", {"inherits": ["default"]}, "inherits ['default']"),
        ("careful_bench", {"revision": 1.5}, "/revision: give a whole number"),
        ("careful_bench", {"findings": {"no_such": "replace"}}, "no finding 'no_such'"),
        ("fleet_reserve", {"regulations": ["no_such_law"]}, "no regulation 'no_such_law'"),
        ("fleet_reserve", {"jurisdictions": ["nowhere"]}, "the laws of 'nowhere' cannot be turned on"),
        ("fleet_reserve", {"inherits": "nobody"}, "inherits 'nobody'"),
        ("careful_bench", {"inherits": "fleet_reserve"}, "inherits itself"),
        ("fleet_reserve", {"inherits": "default", "accept_caller_limits": True, "x": 1}, "no field 'x'"),
    ],
)
def test_a_policy_that_loosens_or_names_what_is_not_there_is_found(
    copy: Path, name: str, change: dict[str, object], words: str
) -> None:
    faults = _spoil(copy, f"policies/{name}.json", lambda document: document.update(change))
    assert any(words in fault for fault in faults)


def test_a_pack_without_a_default_policy_is_found(copy: Path) -> None:
    (copy / "policies" / "default.json").unlink()
    (copy / "datapackage.json").write_text(datapackage_text(copy), encoding="utf-8")
    assert any("no default.json" in str(fault) for fault in check_pack(copy))


@pytest.mark.parametrize(("unit", "words"), [("readings", "must be given in um or mm"), (None, "is needed")])
def test_a_practice_figure_that_the_engine_needs_is_missed(copy: Path, unit: str | None, words: str) -> None:
    def spoil(document: Document) -> None:
        for item in document["items"]:
            if item["code"] == "greatest_surface_roughness":
                item.update({"unit": unit} if unit else {"code": "greatest_surface_rough"})

    assert any(words in fault for fault in _spoil(copy, "catalogue/practice.json", spoil))


@pytest.mark.parametrize(
    ("code", "change", "words"),
    [
        ("greatest_mount_runout", {"unit": "deg"}, "must be given in um or mm, not deg"),
        ("angle_on_part_uncertainty", {"unit": "mm"}, "must be given in deg, not mm"),
        ("covered_part_uncertainty", {"value": "0"}, "must be more than 0"),
        ("finish_cut_least", {"value": "0.2"}, "'finish_cut_least' is more than 'finish_cut_greatest'"),
    ],
)
def test_a_practice_figure_that_checks_of_a_set_up_cannot_go_by_is_found(
    copy: Path, code: str, change: dict[str, str], words: str
) -> None:
    def spoil(document: Document) -> None:
        for item in document["items"]:
            if item["code"] == code:
                item.update(change)

    assert any(words in fault for fault in _spoil(copy, "catalogue/practice.json", spoil))


def test_a_case_that_cannot_be_read_is_found(copy: Path) -> None:
    [fault] = _spoil(copy, "cases/contract-example.json", lambda document: document.update(on="2026-02-30"))
    assert "cases/contract-example.json: on: '2026-02-30' is no date" in fault


def test_a_case_of_a_rule_that_is_not_there_is_found(copy: Path) -> None:
    faults = _spoil(copy, "cases/contract-example.json", lambda document: document["rules"].append("no_such_rule"))
    assert [fault for fault in faults if "there is no rule 'no_such_rule'" in fault] == list(faults)
    assert faults


def test_a_rule_that_no_case_shows_is_found(copy: Path) -> None:
    def add(document: Document) -> None:
        document["items"].insert(0, document["items"][0] | {"code": "a_new_rule"})

    [fault] = _spoil(copy, "catalogue/rules.json", add)
    assert "no worked case shows 'a_new_rule'" in fault


def test_two_cases_that_say_the_same_are_found(copy: Path) -> None:
    shutil.copy(copy / "cases" / "contract-example.json", copy / "cases" / "contract-example-again.json")
    (copy / "datapackage.json").write_text(datapackage_text(copy), encoding="utf-8")
    [fault] = check_pack(copy)
    assert "says the same as" in str(fault)


def test_a_source_that_nothing_rests_on_is_found(copy: Path) -> None:
    def add(document: Document) -> None:
        document["items"].append({"code": "zz", "title": "Nothing", "status": "MEMORY", "address": "nowhere"})

    [fault] = _spoil(copy, "catalogue/sources.json", add)
    assert "nothing names 'zz'" in fault


def test_each_check_has_a_module_and_each_module_is_run() -> None:
    modules = {path.stem for path in Path(checks.__file__).parent.glob("*.py")} - {"__init__"}
    assert modules == set(CHECKS)


def test_a_pack_that_cannot_be_read_is_one_fault_that_says_where(copy: Path) -> None:
    faults = _spoil(copy, "catalogue/practice.json", lambda document: document["items"][0].update(value=0.13))
    assert faults == ('practice.json, item 1: value must be a decimal in quotes, such as "0.38", not 0.13 [readable]',)
