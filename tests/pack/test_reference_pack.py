"""The pack that comes with the program: whole, consistent, and what its README says."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import frictionless
import jsonschema
import pytest

from turnrule.judging.cautions import PARAMETERS
from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.words import DecisionRule, Effect, Kind, Overdue, PairRule
from turnrule.pack import check_pack, load_pack, policy_from_document
from turnrule.pack.building import datapackage_text
from turnrule.pack.digest import pack_digest

ROOT = Path(__file__).resolve().parent.parent.parent
FOLDER = ROOT / "reference"
PACK = load_pack(FOLDER)


def test_the_pack_is_sound() -> None:
    assert check_pack(FOLDER) == ()


def test_the_pack_that_the_program_finds_is_this_one() -> None:
    assert load_pack().digest == PACK.digest


def test_the_pack_is_a_valid_frictionless_data_package() -> None:
    problems = frictionless.Package.metadata_validate(json.loads((FOLDER / "datapackage.json").read_text("utf-8")))
    assert not list(problems)


def test_the_list_of_files_is_built_from_the_files() -> None:
    assert (FOLDER / "datapackage.json").read_text("utf-8") == datapackage_text(FOLDER)


def _files() -> Iterator[tuple[str, Path]]:
    for name in ("findings", "cautions", "rules", "practice", "regulations", "sources"):
        yield name, FOLDER / "catalogue" / f"{name}.json"
    for path in sorted((FOLDER / "policies").glob("*.json")):
        yield "policy", path
    for path in sorted((FOLDER / "demo" / "limits").glob("*.json")):
        yield "limits", path
    yield "inspections", FOLDER / "demo" / "inspections.json"
    for path in sorted((FOLDER / "cases").glob("*.json")):
        yield "case", path


@pytest.mark.parametrize(("schema", "path"), list(_files()), ids=lambda value: getattr(value, "stem", value))
def test_every_file_is_as_its_schema_says(schema: str, path: Path) -> None:
    rules = json.loads((FOLDER / "schema" / f"{schema}.schema.json").read_text("utf-8"))
    validator = jsonschema.Draft202012Validator(rules)
    faults = [
        f"{fault.json_path}: {fault.message}" for fault in validator.iter_errors(json.loads(path.read_text("utf-8")))
    ]
    assert not faults


def _properties(node: object, place: str) -> Iterator[tuple[str, Any]]:
    if isinstance(node, dict):
        for name, inner in node.get("properties", {}).items():
            yield f"{place}/{name}", inner
        for name, inner in node.items():
            yield from _properties(inner, f"{place}/{name}")
    elif isinstance(node, list):
        for index, inner in enumerate(node):
            yield from _properties(inner, f"{place}/{index}")


@pytest.mark.parametrize("path", sorted((FOLDER / "schema").glob("*.json")), ids=lambda path: path.stem)
def test_every_schema_is_valid_and_every_property_speaks_to_people(path: Path) -> None:
    schema = json.loads(path.read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    for place, inner in _properties(schema, ""):
        assert inner.get("description"), place
        assert inner.get("errorMessage"), place


def test_there_are_thirty_findings_or_more_with_every_effect_on_every_kind_of_part() -> None:
    findings = PACK.catalogue.findings.values()
    assert len(findings) >= 30
    assert {finding.effect for finding in findings} == set(Effect)
    for kind in Kind:
        assert sum(kind in finding.kinds for finding in findings) >= 20
    for finding in findings:
        assert finding.effect is not Effect.MEASURE or "depth" in finding.parameters


def test_every_caution_that_the_engine_raises_uses_the_parameters_that_it_is_given() -> None:
    for code, names in PARAMETERS.items():
        text = PACK.catalogue.cautions[code].text
        filled = text.format_map({name: f"<{name}>" for name in names})
        assert "{" not in filled, code
        assert all(f"<{name}>" in filled for name in names), code


def test_the_default_policy_adds_nothing_to_the_reference() -> None:
    default = policy_from_document(PACK.policies["default"], pytest.fail)
    assert default == Policy(
        decision_rule=DecisionRule.GUARDED,
        instrument=InstrumentDefaults(Decimal("0.01"), Decimal("0.005"), Decimal(0)),
        minimum_points=4,
        require=frozenset(),
        discard_margin=Decimal(0),
        machining_margin=Decimal(0),
        wear_allowance=Decimal(0),
        derive_machining_limit=False,
        accept_caller_limits=True,
        groove_limit=Decimal("0.38"),
        minimum_cut=Decimal("0.05"),
        pair_rule=PairRule.ADVISE,
        limits_review_due=Overdue.CAUTION,
        calibration_overdue=Overdue.CAUTION,
    )


def test_two_policies_or_more_tighten_the_default() -> None:
    assert len(PACK.policies) >= 3
    assert all(document["why"] for document in PACK.policies.values())


def test_the_readme_counts_right() -> None:
    text = (FOLDER / "CHANGELOG.md").read_text("utf-8")
    book = PACK.catalogue
    for count, what in ((len(book.findings), "findings"), (len(book.cautions), "cautions"), (len(book.rules), "rules")):
        assert f"{count} {what}" in text


def test_the_digest_does_not_see_spacing_or_the_order_of_keys_and_sees_every_value(tmp_path: Path) -> None:
    copy = tmp_path / "pack"
    shutil.copytree(FOLDER, copy)
    path = copy / "policies" / "default.json"
    document = json.loads(path.read_text("utf-8"))
    path.write_text(json.dumps(dict(reversed(document.items()))), encoding="utf-8")
    assert pack_digest(copy) == PACK.digest
    path.write_text(re.sub(r"0\.38", "0.39", path.read_text("utf-8")), encoding="utf-8")
    assert pack_digest(copy) != PACK.digest


def test_the_demo_scenario_is_large_enough_and_says_that_it_is_invented() -> None:
    assert len(PACK.demo.limits) >= 40
    assert len(PACK.demo.inspections) >= 200
    assert "invented" in (FOLDER / "demo" / "scenario.md").read_text("utf-8").lower()
    kinds = {limits["kind"] for limits in PACK.demo.limits}
    assert kinds == {kind.value for kind in Kind}
    assert {limits["unit"] for limits in PACK.demo.limits} == {"mm", "in"}
    assert {limits.get("machining", "not_stated") for limits in PACK.demo.limits} == {
        "permitted",
        "on_vehicle_only",
        "prohibited",
        "not_stated",
    }
    assert any(
        "minimum_machining_thickness" not in limits and "maximum_machining_diameter" not in limits
        for limits in PACK.demo.limits
    )
    assert sum(inspection.expect_problem is not None for inspection in PACK.demo.inspections) >= 10
