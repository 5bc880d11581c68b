"""A pack is a Frictionless data package: the library of that standard finds nothing wrong with one, and finds edits."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from pathlib import Path

import frictionless
import pytest

from tests.actions.release_packs.stores import Shop, publish, record, taken_apart, withdrawal
from tests.store.samples import ENTERED
from turnrule.actions.release_packs import new_signer
from turnrule.actions.release_packs.limit_lines import NAMES
from turnrule.actions.release_packs.table_schemas import LIMITS_SCHEMA, WITHDRAWALS_SCHEMA
from turnrule.actions.release_packs.withdrawal_lines import NAMES as WITHDRAWAL_NAMES
from turnrule.judging.words import Unit
from turnrule.store.limit_records import AnsweredWarning, Twin, Withdrawal

FULL = record(
    "corvane-2",
    2,
    also=Twin(Unit.IN, {"nominal_thickness": "1.024"}),
    warnings=(AnsweredWarning("unusual_wear_allowance", "/discard_thickness", "0.6 mm", "The document says so."),),
    reason="A digit was wrong.",
    note="from right to left: \u05d0",
)


def _unpacked(shop: Shop, folder: Path, withdrawals: Sequence[Withdrawal]) -> Path:
    here = shop.desk()
    publish(here, [record("corvane-1"), FULL, record("corvane-3")], withdrawals)
    for name, content in taken_apart(shop.export(here, signer=new_signer())).items():
        (folder / name).write_bytes(content)
    shop.close()
    return folder / "datapackage.json"


def _problems(description: Path) -> list[tuple[str, str]]:
    report = frictionless.Package(str(description)).validate()
    assert report.stats["tasks"] == 3
    return [(task.place, error.type) for task in report.tasks for error in task.errors]


@pytest.mark.parametrize("withdrawals", [[], [withdrawal("corvane-3")]], ids=["none", "one"])
def test_the_librarys_own_check_finds_nothing_wrong(
    shop: Shop, tmp_path: Path, withdrawals: Sequence[Withdrawal]
) -> None:
    description = _unpacked(shop, tmp_path, withdrawals)
    assert not list(frictionless.Package.metadata_validate(json.loads(description.read_text("utf-8"))))
    assert _problems(description) == []


def test_the_librarys_own_check_finds_a_changed_file(shop: Shop, tmp_path: Path) -> None:
    description = _unpacked(shop, tmp_path, [withdrawal("corvane-3")])
    for name in ("limits.jsonl", "withdrawals.jsonl", "README.txt"):
        path = tmp_path / name
        before = path.read_bytes()
        path.write_bytes(before.replace(b"e", b"f", 1))
        assert (name, "hash-count") in _problems(description)
        path.write_bytes(before)
    assert _problems(description) == []


def test_the_rows_are_read_with_their_types(shop: Shop, tmp_path: Path) -> None:
    description = _unpacked(shop, tmp_path, [withdrawal("corvane-3")])
    package = frictionless.Package(str(description))
    first, second = [row.to_dict() for row in package.get_table_resource("limits").read_rows()]
    assert (first["limits_id"], first["revision"], first["effective_from"]) == ("corvane-1", 1, FULL.effective_from)
    assert second["entered_at"].replace(tzinfo=datetime.UTC) == ENTERED
    assert second["also"] == {"unit": "in", "printed": {"nominal_thickness": "1.024"}}
    assert second["warnings"][0]["reason"] == "The document says so."
    assert second["note"] == FULL.note


def test_the_schemas_name_every_member_in_the_order_of_the_lines() -> None:
    for schema, names in ((LIMITS_SCHEMA, NAMES), (WITHDRAWALS_SCHEMA, WITHDRAWAL_NAMES)):
        fields = schema["fields"]
        assert isinstance(fields, list)
        assert [field["name"] for field in fields] == sorted(names)


def test_the_readme_says_what_to_mind(shop: Shop, tmp_path: Path) -> None:
    _unpacked(shop, tmp_path, [])
    text = (tmp_path / "README.txt").read_text("utf-8")
    flat = " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 88
    for words in (
        "Limits for brake rotors and drums, release 1",
        "3 records, sha256:",
        "the maker's current service data, the law of the place and licensed practice go before it",
        "A record that was withdrawn after this release was published still stands in this pack",
        "It is not zero, and nothing may be put for it",
        "turnrule pack check FILE",
        "turnrule pack import FILE",
    ):
        assert words in flat
