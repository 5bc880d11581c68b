"""Workbooks that are damaged, strange, or made to do harm: told with the remedy, in little memory and time."""

from __future__ import annotations

import random
import time
import tracemalloc
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import Workbook

from tests.api.limit_files.reading import CELLS, NAMES, cells, entries, faults, read, xlsx_file
from tests.api.limit_files.workbooks import (
    MAIN,
    SAMPLE_ROW,
    STRICT,
    parts_of,
    row_of,
    sheet_of,
    strings_of,
    text_cell,
    workbook,
)
from turnrule.api.limit_files import xlsx_package
from turnrule.api.limit_files.xlsx_strings import escaped, unescaped

DOCTYPE = '<!DOCTYPE a [<!ENTITY b "bbbbbbbbbb"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>'


def test_a_workbook_put_together_by_hand_is_read(tmp_path: Path) -> None:
    [entry] = entries(workbook(tmp_path, parts_of(sheet_of(SAMPLE_ROW))))
    assert entry.fits.model == "Ostrel"


def test_shared_texts_are_found_by_their_number_and_put_together(tmp_path: Path) -> None:
    texts = [
        *(f"<t>{cell}</t>" for cell in CELLS),
        '<r><t xml:space="preserve">Ostrel </t></r><r><rPr><b/></rPr><t>manual</t></r>',
        "<t>Ostrel</t><rPh sb='0' eb='1'><t>OSUTORERU</t></rPh><phoneticPr fontId='1'/>",
        "<t>6.2_x002C_ table 3 _x005F_x0041_</t>",
    ]
    first = len(CELLS)
    numbers = list(range(first))
    numbers[NAMES.index("document")], numbers[NAMES.index("model")] = first, first + 1
    numbers[NAMES.index("section")] = first + 2
    row = "<row>" + "".join(f'<c t="s"><v>{number}</v></c>' for number in numbers) + "</row>"
    [entry] = entries(workbook(tmp_path, parts_of(sheet_of(row), strings_of(*texts))))
    assert (entry.source.document, entry.fits.model) == ("Ostrel manual", "Ostrel")
    assert entry.source.section == "6.2, table 3 _x0041_"


@pytest.mark.parametrize("text", ["a", "_x0041_", "_x005F_", "a\ufffeb", "_x", "\uffff_x0041_x0042_", "_x00e9_"])
def test_what_xml_cannot_hold_is_written_and_read_as_the_format_says(text: str) -> None:
    assert unescaped(escaped(text)) == text
    assert not {"\ufffe", "\uffff"} & set(escaped(text))


def test_prefixes_and_the_strict_namespace_make_no_difference(tmp_path: Path) -> None:
    plain = sheet_of(SAMPLE_ROW)
    prefixed = plain.replace("<", "<x:").replace("<x:/", "</x:").replace("<x:?", "<?").replace("xmlns=", "xmlns:x=")
    strict = plain.replace(MAIN, STRICT)
    for sheet in (prefixed, strict):
        assert entries(workbook(tmp_path, parts_of(sheet))) == entries(workbook(tmp_path, parts_of(plain)))


def test_elements_of_other_namespaces_are_no_cells(tmp_path: Path) -> None:
    extra = '<e:ext xmlns:e="urn:other"><e:c><e:v>7</e:v></e:c><e:row/></e:ext>'
    sheet = sheet_of(SAMPLE_ROW).replace("</sheetData>", f"</sheetData>{extra}")
    assert len(entries(workbook(tmp_path, parts_of(sheet)))) == 1


def _sheet(change: Callable[[str], str]) -> dict[str, str | bytes]:
    return parts_of(change(sheet_of(SAMPLE_ROW)))


def _without(part: str) -> dict[str, str | bytes]:
    return {name: content for name, content in parts_of(sheet_of(SAMPLE_ROW)).items() if name != part}


DAMAGED: dict[str, dict[str, str | bytes]] = {
    "no relations": _without("_rels/.rels"),
    "no workbook": _without("xl/workbook.xml"),
    "no relations of the workbook": _without("xl/_rels/workbook.xml.rels"),
    "no sheet": _without("xl/worksheets/sheet1.xml"),
    "cut off": _sheet(lambda sheet: sheet[: len(sheet) // 2]),
    "not XML": _sheet(lambda _sheet: "unit,kind\n"),
    "empty part": _sheet(lambda _sheet: ""),
    "a document type": _sheet(lambda sheet: sheet.replace("?>", f"?>{DOCTYPE}", 1)),
    "an entity": _sheet(lambda sheet: sheet.replace("Corvane", "&c;")),
    "rows out of order": _sheet(lambda sheet: sheet.replace("<row>", '<row r="5">')),
    "a row beyond all rows": _sheet(lambda sheet: sheet.replace("</sheetData>", '<row r="9999999"/></sheetData>')),
    "a row with a strange number": _sheet(lambda sheet: sheet.replace("<row>", '<row r="-1">')),
    "cells out of order": _sheet(lambda sheet: sheet.replace("</row>", '<c r="A2"><v>1</v></c></row>')),
    "a strange place": _sheet(lambda sheet: sheet.replace("</row>", '<c r="aa1"><v>1</v></c></row>')),
    "a number that is none": _sheet(lambda sheet: sheet.replace("</row>", "<c><v>1_000</v></c></row>")),
    "a number beyond all numbers": _sheet(lambda sheet: sheet.replace("</row>", "<c><v>1e999</v></c></row>")),
    "not a number": _sheet(lambda sheet: sheet.replace("</row>", "<c><v>nan</v></c></row>")),
    "a text that is not there": _sheet(lambda sheet: sheet.replace("</row>", '<c t="s"><v>7</v></c></row>')),
    "an unknown type": _sheet(lambda sheet: sheet.replace("</row>", '<c t="z"><v>7</v></c></row>')),
    "nested too deep": _sheet(lambda sheet: sheet.replace("</row>", f"{'<a>' * 99_000}{'</a>' * 99_000}</row>")),
    "a tag without an end": _sheet(lambda sheet: sheet.replace("</row>", f'<a b="{"x" * 3_000_000}"></a></row>')),
    "a comment without an end": _sheet(lambda sheet: sheet.replace("</row>", f"<!-- {'x' * 3_000_000} --></row>")),
    "shared texts with a document type": parts_of(sheet_of(SAMPLE_ROW), DOCTYPE + strings_of("<t>a</t>")),
    "formats that are not XML": parts_of(sheet_of(SAMPLE_ROW), styles="<styleSheet>"),
    "a chart in place of a table": {
        name: content.replace("/worksheet", "/chartsheet", 1) if name.endswith("xml.rels") else content
        for name, content in parts_of(sheet_of(SAMPLE_ROW)).items()
        if isinstance(content, str)
    },
}


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_or_hostile_workbook_is_told_and_not_read_on(name: str, tmp_path: Path) -> None:
    found = faults(workbook(tmp_path, DAMAGED[name]))
    assert [fault.code for fault in found][-1] == "damaged_file"
    assert "save it again" in found[-1].remedy
    assert len(found[-1].remedy) < 300


def test_many_cells_in_a_row_are_refused_before_they_are_held(tmp_path: Path) -> None:
    sheet = sheet_of(SAMPLE_ROW, "<row>" + "<c><v>1</v></c>" * 300_000 + "</row>")
    assert [fault.code for fault in faults(workbook(tmp_path, parts_of(sheet)))] == ["too_many_columns"]


def test_a_giant_text_is_told_as_too_long_and_not_held(tmp_path: Path) -> None:
    giant = list(CELLS)
    giant[NAMES.index("section")] = "x" * 20_000_000
    path = workbook(tmp_path, parts_of(sheet_of(row_of(giant), row_of(giant))))
    tracemalloc.start()
    found = faults(path)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert [(fault.row, fault.column, fault.code) for fault in found] == [
        (2, "section", "too_long"),
        (3, "section", "too_long"),
    ]
    assert most < 5_000_000
    shared = workbook(
        tmp_path, parts_of(sheet_of('<row><c t="s"><v>0</v></c></row>'), strings_of(f"<t>{'x' * 10**7}</t>"))
    )
    assert "too_long" in {fault.code for fault in faults(shared)}


def test_a_part_that_is_larger_than_is_read_is_refused_by_what_it_declares(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = sheet_of(*[SAMPLE_ROW] * 20_000)
    path = workbook(tmp_path, parts_of(sheet))
    assert path.stat().st_size * 50 < len(sheet)
    monkeypatch.setattr("turnrule.api.limit_files.xlsx_rows.LARGEST_STREAM", len(sheet) - 1)
    [fault] = faults(path)
    assert (fault.row, fault.code) == (0, "file_too_large")
    assert "save it as CSV" in fault.remedy


def test_a_part_that_is_read_as_a_whole_is_small(tmp_path: Path) -> None:
    parts = parts_of(sheet_of(SAMPLE_ROW))
    parts["xl/workbook.xml"] = str(parts["xl/workbook.xml"]) + " " * xlsx_package.LARGEST_PART
    assert [fault.code for fault in faults(workbook(tmp_path, parts))] == ["file_too_large"]


def test_a_part_that_inflates_beyond_what_it_declares_is_damaged(tmp_path: Path) -> None:
    """The size in the list of parts is made smaller than what is packed, as a bomb would."""
    sheet = sheet_of(*[SAMPLE_ROW] * 5000)
    path = workbook(tmp_path, parts_of(sheet))
    content = bytearray(path.read_bytes())
    size = len(sheet.encode()).to_bytes(4, "little")
    assert content.count(size) == 2
    path.write_bytes(bytes(content).replace(size, (2000).to_bytes(4, "little")))
    assert [fault.code for fault in faults(path)][-1] == "damaged_file"


def test_a_list_of_parts_that_would_fill_the_memory_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "many.xlsx"
    with zipfile.ZipFile(path, "w") as book:
        for number in range(20_000):
            book.writestr(f"xl/a-rather-long-name-of-a-part-that-is-of-no-use-{number}.xml", "")
    assert [fault.code for fault in faults(path)] == ["damaged_file"]
    assert "more parts" in faults(path)[0].remedy


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (b"", "damaged_file", "no .xlsx file"),
        (b"unit,kind\n", "damaged_file", "no .xlsx file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "not_xlsx", "without a password"),
        (b"PK\x03\x04" + bytes(100), "damaged_file", "no .xlsx file"),
        (b"PK\x05\x06" + bytes(18), "damaged_file", ""),
    ],
)
def test_what_is_no_workbook_is_told(content: bytes, code: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "none.xlsx"
    path.write_bytes(content)
    [fault] = faults(path)
    assert (fault.row, fault.code) == (0, code)
    assert words in fault.remedy


def test_no_flipped_byte_crashes_the_reader_or_changes_a_value_unseen(tmp_path: Path) -> None:
    path = xlsx_file(tmp_path, cells(), cells(year_from="2011", year_to="2014"))
    sound = [row.entry for row in read(path)]
    content = path.read_bytes()
    chance = random.Random(7)
    told = 0
    for _ in range(300):
        spoilt = bytearray(content)
        spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
        path.write_bytes(bytes(spoilt))
        rows = read(path)
        if any(row.faults for row in rows):
            told += 1
        else:
            assert [row.entry for row in rows] == sound
    assert told > 100


def test_reading_takes_no_longer_for_a_workbook_of_empty_rows(tmp_path: Path) -> None:
    path = workbook(tmp_path, parts_of(sheet_of(SAMPLE_ROW, f'<row r="1048576">{text_cell("mm")}</row>')))
    began = time.process_time()
    rows = read(path)
    assert [row.place.number for row in rows] == [2, 1_048_576]
    assert time.process_time() - began < 1


def test_the_check_of_a_part_is_seen(tmp_path: Path) -> None:
    """The sample is not damaged by itself: the tests above would otherwise see nothing."""
    assert zlib.crc32(b"") == 0
    assert not faults(workbook(tmp_path, parts_of(sheet_of(SAMPLE_ROW))))
    book = Workbook()
    book.save(tmp_path / "empty.xlsx")
    assert [fault.code for fault in faults(tmp_path / "empty.xlsx")] == ["no_header"]
