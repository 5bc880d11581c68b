"""Workbooks put together by hand: as other programs write them, and as nobody should."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from xml.sax.saxutils import escape

from tests.api.limit_files.reading import CELLS, NAMES

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
_RELATED = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_RELS = "http://schemas.openxmlformats.org/package/2006/relationships"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'


def _rels(*related: tuple[str, str, str]) -> str:
    inner = "".join(
        f'<Relationship Id="{id_}" Type="{_RELATED}/{kind}" Target="{target}"/>' for id_, kind, target in related
    )
    return f'{_HEAD}<Relationships xmlns="{_RELS}">{inner}</Relationships>'


def text_cell(text: str) -> str:
    """A cell that holds its text itself."""
    return f'<c t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'


def row_of(cells: Iterable[str], number: int | None = None) -> str:
    """A row of text cells."""
    at = "" if number is None else f' r="{number}"'
    return f"<row{at}>{''.join(map(text_cell, cells))}</row>"


def sheet_of(*rows: str, head: str = row_of(NAMES)) -> str:
    """A sheet of these rows below the header."""
    return f'{_HEAD}<worksheet xmlns="{MAIN}"><sheetData>{head}{"".join(rows)}</sheetData></worksheet>'


SAMPLE_ROW = row_of(CELLS)


def parts_of(sheet: str, strings: str | None = None, styles: str | None = None) -> dict[str, str | bytes]:
    """The parts of a workbook with one sheet."""
    parts: dict[str, str | bytes] = {
        "_rels/.rels": _rels(("rId1", "officeDocument", "xl/workbook.xml")),
        "xl/workbook.xml": (
            f'{_HEAD}<workbook xmlns="{MAIN}" xmlns:r="{_RELATED}"><sheets>'
            '<sheet name="limits" sheetId="1" r:id="rId1"/></sheets></workbook>'
        ),
        "xl/_rels/workbook.xml.rels": _rels(
            ("rId1", "worksheet", "worksheets/sheet1.xml"),
            *([("rId2", "sharedStrings", "/xl/sharedStrings.xml")] if strings is not None else []),
            *([("rId3", "styles", "styles.xml")] if styles is not None else []),
        ),
        "xl/worksheets/sheet1.xml": sheet,
    }
    if strings is not None:
        parts["xl/sharedStrings.xml"] = strings
    if styles is not None:
        parts["xl/styles.xml"] = styles
    return parts


def workbook(folder: Path, parts: Mapping[str, str | bytes], name: str = "made.xlsx") -> Path:
    """A workbook of these parts."""
    path = folder / name
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for part, content in parts.items():
            book.writestr(part, content)
    return path


def strings_of(*items: str) -> str:
    """The texts that cells share, each as the inside of its `si`."""
    return f'{_HEAD}<sst xmlns="{MAIN}">{"".join(f"<si>{item}</si>" for item in items)}</sst>'
