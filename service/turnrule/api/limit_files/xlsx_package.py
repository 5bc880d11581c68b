"""An XLSX file as a package of parts: opened within bounds, its sheets found, its cell formats told apart.

What a part declares as its size is all that is ever inflated of it: zipfile stops there.
"""

from __future__ import annotations

import posixpath
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import IO, BinaryIO

from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format

from turnrule.api.faults import did_you_mean
from turnrule.api.limit_files.unreadable import unreadable
from turnrule.api.limit_files.xlsx_xml import damaged, elements

LARGEST_PART = 8 * 1024 * 1024
"""Bytes of a part that is read as a whole: the lists of sheets, parts and formats."""

LARGEST_STREAM = 4 * 1024 * 1024 * 1024
"""Bytes of a part that is read as a stream: a sheet, or the texts that its cells share."""

LARGEST_LIST = 1024 * 1024
"""Bytes of the list of the parts, which is held as a whole."""

SHEET = "limits"
_END = b"PK\x05\x06"
_END_SIZE = 22
_OLD_OFFICE = b"\xd0\xcf\x11\xe0"


class Look(Enum):
    """How a cell's format shows its number."""

    PLAIN = "plain"
    DAY = "day"
    PERCENT = "percent"


@dataclass(frozen=True, slots=True)
class Sheet:
    """The sheet that is read: its part, and what its cells refer to."""

    part: str
    size: int
    strings: str | None
    looks: Sequence[Look]
    from_1904: bool


class Part:
    """One part, unpacked as it is read. Raises `UnreadableError` where it is damaged."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file = file

    def read(self, size: int) -> bytes:
        """At most so many bytes; none at the end."""
        try:
            return self._file.read(size)
        except (zipfile.BadZipFile, zlib.error, EOFError) as error:
            raise damaged(f"a part cannot be unpacked ({error})") from None


class Package:
    """The parts of a workbook."""

    def __init__(self, file: BinaryIO) -> None:
        """Raises `UnreadableError` where the file is no workbook, or one that would inflate beyond all bounds."""
        _require_small_list(file)
        try:
            self._zip = zipfile.ZipFile(file)
        except (zipfile.BadZipFile, NotImplementedError, ValueError, OSError) as error:
            raise damaged(f"this is no .xlsx file ({error})") from None
        self._parts = {info.filename: info for info in self._zip.infolist()}

    def size(self, part: str) -> int:
        """Bytes that a part declares."""
        return self._parts[part].file_size

    def open(self, part: str, most: int) -> Part:
        """A part to be read as a stream. Raises `UnreadableError` where there is none, or it is too large."""
        info = self._parts.get(part)
        if info is None:
            raise damaged(f"its part {part!r} is not there")
        if info.file_size > most:
            remedy = f"{part} has {info.file_size} bytes, and at most {most} are read; save it as CSV and import that"
            raise unreadable(0, "file_too_large", remedy)
        if info.flag_bits & 1 or info.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
            raise damaged(f"its part {part!r} is packed in an unusual way")
        try:
            return Part(self._zip.open(info))
        except (zipfile.BadZipFile, EOFError) as error:
            raise damaged(f"its part {part!r} cannot be unpacked ({error})") from None

    def sheet(self, named: str | None) -> Sheet:
        """The sheet of a name; the one called `limits`, or the only one, where none is named."""
        top = self._related("", "officeDocument")
        if not top:
            raise damaged("it names no workbook")
        workbook = next(iter(top.values()))[1]
        sheets: dict[str, str] = {}
        from_1904 = False
        for path, attributes in elements(self.open(workbook, LARGEST_PART)):
            if path[-1] == "sheet":
                sheets[attributes.get("name", "")] = attributes.get("id", "")
            elif path[-1] == "workbookPr":
                from_1904 = attributes.get("date1904", "0") in {"1", "true"}
        related = self._related(workbook, "worksheet")
        kind, part = related.get(sheets[_chosen(sheets, named)], ("", ""))
        if not kind:
            raise damaged("the sheet is no table of cells")
        strings = [name for _, name in self._related(workbook, "sharedStrings").values()]
        styles = [name for _, name in self._related(workbook, "styles").values()]
        looks = self._looks(styles[0]) if styles else ()
        if part not in self._parts:
            raise damaged(f"its part {part!r} is not there")
        return Sheet(part, self.size(part), strings[0] if strings else None, looks, from_1904)

    def _related(self, part: str, kind: str) -> Mapping[str, tuple[str, str]]:
        """The parts of a kind that a part refers to, by the id of the reference."""
        folder, name = posixpath.split(part)
        place = posixpath.join(folder, "_rels", f"{name}.rels")
        found = {}
        for _, attributes in elements(self.open(place, LARGEST_PART)):
            if attributes.get("Type", "").rpartition("/")[2] == kind and attributes.get("TargetMode") != "External":
                target = posixpath.normpath(posixpath.join("/", folder, attributes.get("Target", "")))
                found[attributes.get("Id", "")] = (kind, target.lstrip("/"))
        return found

    def _looks(self, part: str) -> Sequence[Look]:
        """How each cell format of the workbook shows numbers, in the order in which cells number them."""
        formats: dict[int, str] = dict(BUILTIN_FORMATS)
        looks = []
        for path, attributes in elements(self.open(part, LARGEST_PART)):
            if path[-2:] == ("numFmts", "numFmt"):
                formats[_whole(attributes.get("numFmtId"))] = attributes.get("formatCode", "")
            elif path[-2:] == ("cellXfs", "xf"):
                looks.append(_look(formats.get(_whole(attributes.get("numFmtId")), "General")))
        return tuple(looks)


def _require_small_list(file: BinaryIO) -> None:
    """Refuse what is no zip file, or one whose list of parts alone would fill the memory."""
    if file.read(len(_OLD_OFFICE)) == _OLD_OFFICE:
        remedy = "this is an old .xls file, or one with a password; save it as .xlsx without a password"
        raise unreadable(0, "not_xlsx", remedy)
    size = file.seek(0, 2)
    file.seek(max(0, size - _END_SIZE - 0xFFFF))
    tail = file.read()
    place = tail.rfind(_END)
    listed = int.from_bytes(tail[place + 12 : place + 16], "little") if place >= 0 else 0
    file.seek(0)
    if place < 0:
        raise damaged("this is no .xlsx file")
    if listed > LARGEST_LIST:
        raise damaged("it has more parts than any workbook")


def _chosen(sheets: Mapping[str, str], named: str | None) -> str:
    if named is None and SHEET not in sheets and len(sheets) == 1:
        return next(iter(sheets))
    wanted = SHEET if named is None else named
    if wanted in sheets:
        return wanted
    there = ", ".join(repr(name) for name in list(sheets)[:20]) or "none"
    remedy = f"there is no sheet {wanted!r}{did_you_mean(wanted, sheets)}; name one with --sheet: {there}"
    raise unreadable(0, "no_such_sheet", remedy)


def _whole(text: str | None) -> int:
    return int(text) if text is not None and text.isascii() and text.isdigit() and len(text) < 10 else 0  # noqa: PLR2004


def _look(code: str) -> Look:
    if is_date_format(code):
        return Look.DAY
    return Look.PERCENT if "%" in code else Look.PLAIN
