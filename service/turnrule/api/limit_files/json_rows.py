"""Limits bodies in JSON: one in a file, an array of them, or one on each line; read one at a time.

Each body goes through the service's own strict reader, as a request's body would. Beside the fields of a body it may
hold `limits_id`: the id of its record.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from turnrule.actions.file_rows import Entry, Row, RowFault
from turnrule.actions.numbers import write_exact
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.json_reading import LARGEST_BODY, read_json
from turnrule.api.limit_files.cells import CellError
from turnrule.api.limit_files.reading import Asked
from turnrule.api.limit_files.table_rows import require_id
from turnrule.api.limit_files.unreadable import unreadable
from turnrule.judging.faults import Fault

CHUNK = 256 * 1024
_SHOWN = 60
_ONLY_FIRST = frozenset({"corrects", "reason", "answered_warnings"})
"""Fields that say nothing in a second entry, and are not read there: an exported file may hold them."""

_SPACE = b" \t\r\n"
_TOKEN = re.compile(rb'"[^"\\]*(?:\\.[^"\\]*)*(?:(")|\\?\Z)|[\[\]{},]', re.DOTALL)
"""Text, perhaps cut off where the chunk ends (then without its first group), or a mark."""


@dataclass(frozen=True, slots=True)
class JsonPlace:
    """Where a body stands, and the body as far as it could be read."""

    number: int
    file: str
    document: object

    def told(self, fault: Fault, *, is_warning: bool = False) -> RowFault:
        """A fault of the body, with its JSON Pointer and what stands there."""
        shown = _shown(self.document, fault.pointer)
        return RowFault(self.number, fault.pointer, shown, fault.code, fault.detail, is_warning, self.file)


def _shown(document: object, pointer: str) -> str:
    """The value at a JSON Pointer in short; "" where there is none, or it is an object or list."""
    for name in pointer.split("/")[1:]:
        name = name.replace("~1", "/").replace("~0", "~")  # noqa: PLW2901 - RFC 6901 asks for it
        if isinstance(document, dict):
            document = document.get(name, "")
        elif isinstance(document, list) and name.isdigit() and int(name) < len(document):
            document = document[int(name)]
        else:
            return ""
    if isinstance(document, str):
        return document[:_SHOWN]
    return "" if isinstance(document, dict | list) else write_exact(document).decode()[:_SHOWN]


def lines_of(file: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """The lines of a file with one body on each, and their numbers; blank ones are left out.

    Raises `UnreadableError`.
    """
    number = 0
    while line := file.readline(LARGEST_BODY + 3):
        number += 1
        if len(line) > LARGEST_BODY + 2:
            raise unreadable(number, "row_too_long", f"the line has more than {LARGEST_BODY} bytes")
        if line.strip(_SPACE):
            yield number, line.rstrip(b"\r\n")


def bodies_of(file: BinaryIO, size: int = CHUNK) -> Iterator[tuple[int, bytes]]:
    """The body of a file, or each of an array of them, and their numbers. Raises `UnreadableError`."""
    head = file.read(size).lstrip(_SPACE)
    if not head.startswith(b"["):
        rest = file.read(LARGEST_BODY + 1)
        if not (head + rest).strip(_SPACE):
            raise unreadable(0, "empty_file", "there is nothing in it")
        yield 1, head + rest
        return
    number = 0
    splitter = _Elements()
    chunk = head[1:] or file.read(size)
    while chunk and not splitter.is_over:
        for element in splitter.taken(chunk):
            number += 1
            yield number, element
        if splitter.waiting > LARGEST_BODY:
            raise unreadable(number + 1, "row_too_long", f"the body has more than {LARGEST_BODY} bytes")
        chunk = file.read(size)
    behind = splitter.rest + (chunk if splitter.is_over else b"") + file.read(1)
    if not splitter.is_over or behind.strip(_SPACE):
        what = "text stands behind the array's end" if splitter.is_over else "the array is not closed"
        raise unreadable(number + 1, "invalid_json", f"{what}; nothing further was read")


class _Elements:
    """Cuts an array into its elements as it comes, without reading them: by brackets and commas outside of text."""

    def __init__(self) -> None:
        self.rest = b""
        self.is_over = False
        self._depth = 0
        self._seen = 0
        self._any = False

    @property
    def waiting(self) -> int:
        """Bytes of the element that is not complete yet."""
        return len(self.rest)

    def taken(self, chunk: bytes) -> Iterator[bytes]:
        """The elements that are complete with this chunk."""
        text = self.rest + chunk
        begun, seen = 0, len(text)
        for token in _TOKEN.finditer(text, self._seen):
            mark = token.group()
            if mark.startswith(b'"'):
                if token[1] is None:
                    seen = token.start()
            elif mark in {b"[", b"{"}:
                self._depth += 1
            elif mark in {b"]", b"}"} and self._depth:
                self._depth -= 1
            elif mark in {b",", b"]"} and not self._depth:
                element = text[begun : token.start()]
                if mark == b"," or element.strip(_SPACE) or self._any:
                    yield element
                self._any = True
                begun = token.end()
                if mark == b"]":
                    self.is_over = True
                    break
        self.rest = text[begun:]
        self._seen = seen - begun


def row_of(number: int, file: str, raw: bytes, asked: Asked[Entry]) -> Row[Entry]:
    """One body, read."""
    try:
        document = read_json(raw)
    except FaultsError as error:
        place = JsonPlace(number, file, None)
        return Row(place, None, [place.told(fault) for fault in error.faults])
    except TooLargeError as error:
        return Row(JsonPlace(number, file, None), None, [RowFault(number, "", "", error.code, str(error), file=file)])
    place = JsonPlace(number, file, document)
    limits_id, faults = None, []
    if asked.is_second and isinstance(document, dict):
        document = {name: value for name, value in document.items() if name not in _ONLY_FIRST}
    if isinstance(document, dict) and "limits_id" in document:
        limits_id = document["limits_id"]
        document = {name: value for name, value in document.items() if name != "limits_id"}
        try:
            require_id(limits_id if isinstance(limits_id, str) else "")
        except CellError as error:
            faults.append(place.told(Fault("/limits_id", error.code, error.remedy)))
    try:
        entry = asked(document, is_spoilt=bool(faults))
    except FaultsError as error:
        return Row(place, None, [*faults, *(place.told(fault) for fault in error.faults)])
    if faults:
        return Row(place, None, faults)
    return Row(place, entry, (), limits_id)
