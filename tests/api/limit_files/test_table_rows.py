"""Cells of a table: each is read for what its column is, or told with the remedy."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.api.limit_files.reading import HEADER, LINE, NAMES, csv_file, entries, faults, line, read, told
from turnrule.actions.file_rows import OpenAnswer
from turnrule.api.limit_files.columns import BY_NAME, COLUMNS, NEEDED_FIRST, column_of, in_columns, pointer_of
from turnrule.api.limit_shapes import DrumLimits, RotorLimits
from turnrule.judging.words import Unit

ALSO_HEADER = HEADER + ",also_discard_limit,limits_id,corrects_revision,reason,answered_warnings,maximum_out_of_round"


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("26,0", "write a decimal point and not a comma: 26.0"),
        ('"26,0"', "write a decimal point and not a comma: 26.0"),
        ("+26,0", "not a comma: 26.0"),
        (" 26.0", "has a space before or behind it"),
        ("26.0 ", "has a space before or behind it"),
        ("26.0 mm", "without a unit"),
        ("26.0mm", "without a unit"),
        (".5", "a digit before and behind the point"),
        ("5.", "a digit before and behind the point"),
        ("1_000", "is no number"),
        ("١٢", "is no number"),
        ("\uff11\uff12", "is no number"),
        ("1e3", "is no number"),
        ("0x1A", "is no number"),
        ("NaN", "is no number"),
        ("inf", "is no number"),
        ("026.0", "is no number"),
        ("+26.0", "is no number"),
        ("26.0.0", "is no number"),
        ("twenty-six", "is no number"),
        ("1" * 40, "40 characters; a number has at most 32"),
    ],
)
def test_what_is_no_plain_number_is_told_with_the_way_to_write_it(cell: str, words: str, tmp_path: Path) -> None:
    quoted = cell if cell.startswith('"') or "," not in cell else f'"{cell}"'
    [fault] = faults(csv_file(tmp_path, line(nominal=quoted)))
    assert (fault.row, fault.column, fault.code, fault.value) == (2, "nominal", "invalid_number", cell.strip('"'))
    assert words in fault.remedy


def test_a_number_beyond_its_bounds_is_told_by_its_column(tmp_path: Path) -> None:
    assert told(csv_file(tmp_path, line(nominal="-26.0"))) == [(2, "nominal", "out_of_range")]
    assert told(csv_file(tmp_path, line(nominal="0"))) == [(2, "nominal", "out_of_range")]


@pytest.mark.parametrize("year", ["2021.0", "2021.5", "MMXXI", "21", "20211", "2021-2024", ""])
def test_a_year_is_four_digits(year: str, tmp_path: Path) -> None:
    [fault] = faults(csv_file(tmp_path, line(year_from=year, year_to="")))
    assert fault.column == "year_from"
    assert fault.code in {"invalid_number", "out_of_range", "missing"}


def test_every_fault_of_a_row_and_of_every_row_is_told_in_one_reading(tmp_path: Path) -> None:
    path = csv_file(
        tmp_path,
        line(unit="cm", axle="frnt", year_from="twenty", edition=""),
        line(nominal='"2,6"', effective_from="2021-02-30", make=""),
    )
    assert told(path) == [
        (2, "year_from", "invalid_number"),
        (2, "axle", "invalid_choice"),
        (2, "edition", "missing"),
        (2, "unit", "invalid_choice"),
        (3, "nominal", "invalid_number"),
        (3, "make", "missing"),
        (3, "effective_from", "invalid_date"),
    ]


def test_figures_are_held_against_each_other_although_another_cell_cannot_be_read(tmp_path: Path) -> None:
    path = csv_file(tmp_path, line(axle="frnt", machining_limit="23.6"), line(machining_limit="23.6", make=""))
    assert set(told(path)) == {
        (2, "axle", "invalid_choice"),
        (2, "machining_limit", "machining_past_discard"),
        (3, "make", "missing"),
        (3, "machining_limit", "machining_past_discard"),
    }


def test_nothing_is_told_that_only_follows_from_a_cell_that_cannot_be_read(tmp_path: Path) -> None:
    only_discard = line(nominal="", machining_limit="", discard_limit="24,0".join('""'))
    assert told(csv_file(tmp_path, only_discard)) == [(2, "discard_limit", "invalid_number")]
    path = csv_file(tmp_path, f"{line(kind='rotr')},,,,,,0.05", header=ALSO_HEADER)
    assert told(path) == [(2, "kind", "invalid_choice")]
    twin = f"{line(discard_limit='x')},0.9449,,,,,"
    assert told(csv_file(tmp_path, twin, header=ALSO_HEADER)) == [(2, "discard_limit", "invalid_number")]


def test_sentences_speak_of_columns_and_not_of_a_bodys_fields(tmp_path: Path) -> None:
    [fault] = faults(csv_file(tmp_path, line(machining_limit="23.6")))
    assert fault.remedy.startswith("machining_limit is less than discard_limit")
    assert in_columns('name it in "corrects"') == "name it in limits_id and corrects_revision"
    assert in_columns("minimum_machining_thickness and discard_diameter") == "machining_limit and discard_limit"


def test_the_same_column_is_a_thickness_or_a_diameter(tmp_path: Path) -> None:
    drum = line(kind="drum", nominal="228.6", machining_limit="230.1", discard_limit="230.6")
    rotor, other = entries(csv_file(tmp_path, LINE, drum))
    assert set(rotor.figures.printed) == {"nominal_thickness", "minimum_machining_thickness", "discard_thickness"}
    assert set(other.figures.printed) == {"nominal_diameter", "maximum_machining_diameter", "discard_diameter"}


def test_a_twin_is_in_the_other_unit(tmp_path: Path) -> None:
    inches = line(unit="in", nominal="1.02", machining_limit="0.97", discard_limit="0.945")
    path = csv_file(tmp_path, f"{LINE},0.9449,,,,,", f"{inches},24.003,,,,,", header=ALSO_HEADER)
    twins = [entry.figures.also for entry in entries(path)]
    assert [(twin.unit, twin.printed) for twin in twins if twin is not None] == [
        (Unit.IN, {"discard_thickness": "0.9449"}),
        (Unit.MM, {"discard_thickness": "24.003"}),
    ]
    [fault] = faults(csv_file(tmp_path, f"{LINE},0.9494,,,,,", header=ALSO_HEADER))
    assert (fault.column, fault.code, fault.value) == ("also_discard_limit", "twin_differs", "0.9494")


def test_a_correction_names_its_record_its_revision_and_its_reason(tmp_path: Path) -> None:
    path = csv_file(tmp_path, f"{LINE},,corvane-ostrel-1,3,The maker changed it.,,", header=ALSO_HEADER)
    [entry] = entries(path)
    assert entry.corrects is not None
    assert (entry.corrects.limits_id, entry.corrects.revision, entry.reason) == (
        "corvane-ostrel-1",
        3,
        "The maker changed it.",
    )
    without_id = csv_file(tmp_path, f"{LINE},,,3,The maker changed it.,,", header=ALSO_HEADER)
    assert told(without_id) == [(2, "limits_id", "missing")]
    without_reason = csv_file(tmp_path, f"{LINE},,corvane-ostrel-1,3,,,", header=ALSO_HEADER)
    assert told(without_reason) == [(2, "reason", "missing")]
    assert "this cell is needed: say why" in faults(without_reason)[0].remedy
    without_revision = csv_file(tmp_path, f"{LINE},,corvane-ostrel-1,,The maker changed it.,,", header=ALSO_HEADER)
    assert told(without_revision) == [(2, "reason", "reason_without_correction")]


@pytest.mark.parametrize("limits_id", ["Corvane", "-a", "a b", "a_b", "x" * 81, "é"])
def test_an_id_is_of_small_letters_digits_and_hyphens(limits_id: str, tmp_path: Path) -> None:
    assert told(csv_file(tmp_path, f"{LINE},,{limits_id},,,,", header=ALSO_HEADER)) == [(2, "limits_id", "invalid_id")]


def test_answers_to_warnings_come_with_their_row(tmp_path: Path) -> None:
    cell = r'"unusual_value: looked twice \| it is so | unusual_allowance @discard_limit: as the page has it"'
    [row] = read(csv_file(tmp_path, f"{LINE},,,,,{cell},", header=ALSO_HEADER))
    assert row.answers == (
        OpenAnswer("unusual_value", None, "looked twice | it is so"),
        OpenAnswer("unusual_allowance", "/discard_thickness", "as the page has it"),
    )


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("it is so", "invalid_text"),
        ("unusual_value", "invalid_text"),
        ("unusual_value: short", "too_short"),
        ("unusual_value: " + "long " * 101, "too_long"),
        ("unusual_value @discard: looked at it twice", "unknown_field"),
        ("unusual_value: looked at it twice\\", "invalid_text"),
    ],
)
def test_an_answer_that_cannot_be_read_is_told(cell: str, code: str, tmp_path: Path) -> None:
    path = csv_file(tmp_path, f"{LINE},,,,,{cell},", header=ALSO_HEADER)
    assert told(path) == [(2, "answered_warnings", code)]


def test_rows_that_explain_the_columns_are_not_read(tmp_path: Path) -> None:
    rest = "," * (len(NAMES) - 1)
    path = csv_file(tmp_path, f"# what goes in: mm or in{rest}", f"# for example: mm{rest}", LINE)
    assert [row.place.number for row in read(path)] == [4]
    assert told(csv_file(tmp_path, f"# mm{rest}"))[0][0] == 2


@pytest.mark.parametrize(("shape", "is_rotor"), [(RotorLimits(), True), (DrumLimits(), False)])
def test_every_field_of_a_body_has_a_column(shape: RotorLimits | DrumLimits, is_rotor: bool) -> None:  # noqa: FBT001
    paths = {column.path(is_rotor=is_rotor) for column in COLUMNS}
    apart = {"also", "application", "source", "corrects"}
    assert {(name,) for name in shape.fields if name not in apart} <= paths
    for name in apart:
        inner = {(name, field) for field in shape.fields[name].schema.fields}  # type: ignore[attr-defined]
        assert inner - paths <= {("also", "unit"), ("corrects", "limits_id")}
    for path in paths - {("limits_id",)}:
        known = shape.fields.get(path[0])
        other_kind = path[-1] in {"maximum_out_of_round", "maximum_lateral_runout", "maximum_thickness_variation"}
        assert known is not None or other_kind


def test_columns_and_pointers_lead_to_each_other() -> None:
    for column in COLUMNS:
        for is_rotor in (True, False):
            pointer = pointer_of(column.name, is_rotor=is_rotor)
            assert pointer is not None
            assert column_of(pointer, is_rotor=is_rotor) == column.name
    assert column_of("/answered_warnings/3/reason", is_rotor=True) == "answered_warnings"
    assert column_of("/corrects/limits_id", is_rotor=True) == "limits_id"
    assert column_of("/application", is_rotor=True) == ""
    assert pointer_of("colour", is_rotor=True) is None
    assert set(NEEDED_FIRST) <= set(BY_NAME)
