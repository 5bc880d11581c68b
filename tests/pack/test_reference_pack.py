"""The pack that comes with the program: whole, consistent, and what its README says."""

from __future__ import annotations

import csv
import datetime
import json
import re
import shutil
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import frictionless
import jsonschema
import pytest

from turnrule.judging.cautions import PARAMETERS
from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.words import Binds, CheckName, DecisionRule, Effect, Kind, Level, Overdue, PairRule
from turnrule.pack import check_pack, load_pack, policy_from_document
from turnrule.pack.building import datapackage_text, listed_files
from turnrule.pack.cases import Sort
from turnrule.pack.digest import BEARING, pack_digest

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
    report = frictionless.Package(str(FOLDER / "datapackage.json")).validate()
    assert report.stats["tasks"] == len(listed_files(FOLDER))
    assert not [(task.place, error.message) for task in report.tasks for error in task.errors]


def test_each_file_is_listed_with_its_schema() -> None:
    resources = json.loads((FOLDER / "datapackage.json").read_text("utf-8"))["resources"]
    schemas = {resource["path"]: resource.get("jsonSchema") for resource in resources}
    assert {path: schemas.pop(path.relative_to(FOLDER).as_posix()) for _, path in _files()} == {
        path: f"schema/{schema}.schema.json" for schema, path in _files()
    }
    assert set(schemas.values()) == {None}
    assert all(path.endswith(".md") or path.split("/")[0] in {"schema", "entry"} for path in schemas)


def test_the_entry_template_holds_lines_of_the_invented_scenario() -> None:
    table = frictionless.Package(str(FOLDER / "datapackage.json")).get_table_resource("entry-limits-csv")
    names = {
        "rotor": {"nominal": "nominal_thickness", "machining_limit": "minimum_machining_thickness"},
        "drum": {"nominal": "nominal_diameter", "machining_limit": "maximum_machining_diameter"},
    }
    discard = {"rotor": "discard_thickness", "drum": "discard_diameter"}
    rows = [row.to_dict() for row in table.read_rows()]
    assert {row["kind"] for row in rows} == {"rotor", "drum"}
    assert {row["unit"] for row in rows} == {"mm", "in"}
    for row in rows:
        named = names[row["kind"]] | {"discard_limit": discard[row["kind"]]}
        line = {named.get(name, name): value for name, value in row.items() if value is not None}
        assert line in [_one_line(limits) for limits in PACK.demo.limits]


def _one_line(limits: Mapping[str, Any]) -> dict[str, object]:
    """A limits body as one line of the template: no objects inside, years whole, days as days."""
    flat = {**limits, **limits["application"], **limits["source"]}
    del flat["application"], flat["source"]
    for name in flat.keys() & {"year_from", "year_to"}:
        flat[name] = int(flat[name])
    for name in flat.keys() & {"issued", "effective_from", "review_due"}:
        flat[name] = datetime.date.fromisoformat(flat[name])
    return flat


def test_the_template_explains_each_of_its_columns_in_words_and_for_programs() -> None:
    with (FOLDER / "entry" / "limits.csv").open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    columns = json.loads((FOLDER / "entry" / "limits.columns.json").read_text("utf-8"))
    words = (FOLDER / "entry" / "limits.columns.md").read_text("utf-8")
    assert [field["name"] for field in columns["fields"]] == header
    assert all(len(field["description"]) > 15 for field in columns["fields"])
    assert all(f"`{name}`" in words for name in header)


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


def _objects(node: object) -> Iterator[Any]:
    if isinstance(node, dict):
        if "properties" in node and isinstance(node.get("type"), str):
            yield node
        for inner in node.values():
            yield from _objects(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from _objects(inner)


@pytest.mark.parametrize("path", sorted((FOLDER / "schema").glob("*.json")), ids=lambda path: path.stem)
def test_no_object_of_a_schema_takes_a_field_that_it_does_not_describe(path: Path) -> None:
    objects = list(_objects(json.loads(path.read_text("utf-8"))))
    assert objects
    assert all(node["additionalProperties"] is False for node in objects)


@pytest.mark.parametrize(
    ("schema", "name", "field", "value"),
    [
        ("practice", "practice", "value", 0.38),
        ("practice", "practice", "value", "1e-3"),
        ("regulations", "regulations", "oversize_mm", 1.524),
        ("regulations", "regulations", "oversize_mm", "0.000"),
        ("findings", "findings", "effect", "destroy"),
        ("cautions", "cautions", "level", "loud"),
        ("sources", "sources", "status", "HEARD"),
        ("rules", "rules", "colour", "red"),
    ],
)
def test_a_schema_refuses_what_the_reader_refuses(schema: str, name: str, field: str, value: object) -> None:
    document = json.loads((FOLDER / "catalogue" / f"{name}.json").read_text("utf-8"))
    document["items"][0][field] = value
    rules = json.loads((FOLDER / "schema" / f"{schema}.schema.json").read_text("utf-8"))
    [fault] = jsonschema.Draft202012Validator(rules).iter_errors(document)
    assert list(fault.absolute_path)[:2] == ["items", 0]


def test_there_are_thirty_findings_or_more_with_every_effect_on_every_kind_of_part() -> None:
    findings = PACK.catalogue.findings.values()
    assert len(findings) >= 30
    assert {finding.effect for finding in findings} == set(Effect)
    for kind in Kind:
        assert sum(kind in finding.kinds for finding in findings) >= 20
    for finding in findings:
        assert finding.effect is not Effect.MEASURE or "depth" in finding.parameters


def test_heat_checking_is_a_caution_that_may_have_a_depth() -> None:
    rule = PACK.catalogue.findings["heat_checking"]
    assert (rule.effect, "depth" in rule.parameters) == (Effect.CAUTION, True)


def test_the_usual_hazards_are_cautions_and_the_bodily_ones_are_loud() -> None:
    book = PACK.catalogue.cautions
    hazards = {"dust_hazard", "eye_protection", "rotating_part", "vehicle_support", "wheel_fastening"}
    deference = {"follow_service_data", "licensed_practice", "local_law", "replace_in_doubt"}
    assert hazards | deference <= book.keys()
    assert all(book[code].level is not Level.NOTICE for code in hazards | deference)


def test_every_check_has_a_rule_in_words() -> None:
    assert {check.value for check in CheckName} <= PACK.catalogue.rules.keys()


def test_every_source_of_a_law_can_be_found_and_only_drums_have_an_oversize() -> None:
    """General Laws of Massachusetts c. 90 s. 7G: 0.060 in over, which is 1.524 mm exactly."""
    laws = PACK.catalogue.regulations
    assert {code: law.oversize for code, law in laws.items() if law.oversize is not None} == {
        "massachusetts_drum_oversize": Decimal("1.524")
    }
    assert laws["massachusetts_drum_oversize"].binds is Binds.MACHINING
    assert laws["maryland_marking"].binds is Binds.BOTH
    for law in laws.values():
        assert re.search(r"\((READ|READ \(secondary\)|MEMORY)\)$", law.source), law.code


def test_every_law_is_of_a_place_whose_code_is_the_beginning_of_its_name_and_every_place_can_be_turned_on() -> None:
    book = PACK.catalogue
    for law in book.regulations.values():
        assert law.jurisdiction is not None
        assert law.jurisdiction.replace("_", " ") == law.place.partition(",")[0].lower(), law.code
    assert len(book.jurisdictions) == 8
    for place in book.jurisdictions:
        on = book.in_force((), (place,))
        assert on
        assert {law.jurisdiction for law in on} == {place}


INCHES = {
    "example_drum_discard_oversize": "0.090",
    "example_drum_machining_oversize": "0.060",
    "example_drum_scoring_discard": "0.090",
    "example_heavy_drum_machining_oversize": "0.080",
    "example_lateral_runout": "0.004",
    "example_thickness_variation_lenient": "0.005",
    "example_thickness_variation_strict": "0.0005",
    "gauge_step_diameter": "0.005",
    "gauge_step_runout": "0.001",
    "gauge_step_thickness": "0.001",
    "greatest_surface_roughness": "0.000080",
    "groove_limit": "0.015",
    "surface_roughness_good": "0.000060",
    "surface_roughness_good_least": "0.000020",
}
"""As printed: TM 9-2320-289-34, TM 9-2320-280-34, TM 9-2320-279-34-2, TM 9-2330-389-14&P, 16 CCR 3321.

The finish is common practice, no source.
"""


@pytest.mark.parametrize("code", sorted(INCHES))
def test_a_figure_that_is_printed_in_inches_is_kept_in_exact_millimetres(code: str) -> None:
    figure = PACK.catalogue.practice[code]
    assert (figure.value, figure.unit) == (Decimal(INCHES[code]) * Decimal("25.4"), "mm")


def test_the_worked_cases_are_read_in_the_order_of_their_files() -> None:
    cases = list(PACK.cases())
    assert [case.name for case in cases] == [path.stem for path in sorted((FOLDER / "cases").glob("*.json"))]
    assert len(cases) >= 60
    assert all(case.on is not None for case in cases if case.sort is Sort.VERDICT)


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
    for count, what in (
        (len(book.findings), "findings"),
        (len(book.cautions), "cautions"),
        (len(book.rules), "rules"),
        (len(book.practice), "practice"),
        (len(book.regulations), "regulations"),
    ):
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


def test_each_file_of_catalogue_and_policies_bears_on_the_digest(tmp_path: Path) -> None:
    seen = {PACK.digest}
    for number, path in enumerate(sorted([*FOLDER.glob("catalogue/*.json"), *FOLDER.glob("policies/*.json")])):
        copy = tmp_path / str(number)
        for part in BEARING:
            shutil.copytree(FOLDER / part, copy / part)
        (copy / path.relative_to(FOLDER)).unlink()
        seen.add(pack_digest(copy))
    assert len(seen) == 12


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
