"""XML parts of a workbook, read as a stream within bounds: no document types, no entities, no giant tags.

What expat holds at any time is one tag and its ancestors; both are bounded here, so that a part of any size, or one
that was made to do harm, is read in constant memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol
from xml.parsers import expat

from turnrule.api.limit_files.unreadable import UnreadableError, unreadable

CHUNK = 64 * 1024
LONGEST_TAG = 1024 * 1024
"""Bytes that may wait for the end of one tag or comment."""

DEEPEST = 64
Attributes = dict[str, str]
_SEPARATOR = " "


class Readable(Protocol):
    """What can be read a piece at a time."""

    def read(self, size: int, /) -> bytes:
        """At most so many bytes; none at the end."""


def local(name: str) -> str:
    """An element's or attribute's name without its namespace: strict and transitional workbooks differ in theirs."""
    return name.rpartition(_SEPARATOR)[2]


def damaged(what: str) -> UnreadableError:
    """The workbook is not as such files are written."""
    remedy = f"{what}; open the file in a spreadsheet program and save it again as .xlsx"
    return unreadable(0, "damaged_file", remedy)


class Handler(Protocol):
    """Takes the elements and the text of a part; names come as namespace, a space, local name.

    It counts in `depth` how many elements are open.
    """

    depth: int

    def start(self, name: str, attributes: Attributes, /) -> None:
        """An element begins."""

    def end(self, name: str, /) -> None:
        """An element ends."""

    def text(self, piece: str, /) -> None:
        """Text within an element, perhaps a piece of it."""


def fed(file: Readable, handler: Handler) -> Iterator[int]:
    """Hand a part on to the handler, stopping after each chunk with how much was read. Raises `UnreadableError`."""
    parser = expat.ParserCreate(namespace_separator=_SEPARATOR)
    parser.buffer_text = True
    parser.StartElementHandler = handler.start
    parser.EndElementHandler = handler.end
    parser.CharacterDataHandler = handler.text
    parser.StartDoctypeDeclHandler = _no_doctype
    total = 0
    try:
        while chunk := file.read(CHUNK):
            total += len(chunk)
            parser.Parse(chunk, False)
            if total - parser.CurrentByteIndex > LONGEST_TAG:
                raise damaged("it holds a tag without an end")
            if handler.depth > DEEPEST:
                raise damaged(f"it is nested more than {DEEPEST} levels deep")
            yield total
        parser.Parse(b"", True)
        yield total
    except expat.ExpatError as error:
        raise damaged(f"one of its parts is not XML ({error})") from None


def _no_doctype(*_declared: object) -> None:
    raise damaged("it holds a document type, which no workbook has")


class _Elements:
    """Gathers every element with its path and attributes."""

    def __init__(self) -> None:
        self.depth = 0
        self.gathered: list[tuple[tuple[str, ...], Attributes]] = []
        self._path: list[str] = []

    def start(self, name: str, attributes: Attributes) -> None:
        """An element begins."""
        self.depth += 1
        del self._path[DEEPEST:]
        self._path.append(local(name))
        self.gathered.append((tuple(self._path), {local(key): value for key, value in attributes.items()}))

    def end(self, _name: str) -> None:
        """An element ends."""
        self.depth -= 1
        del self._path[self.depth :]

    def text(self, _piece: str) -> None:
        """Text says nothing here."""


def elements(file: Readable) -> Iterator[tuple[tuple[str, ...], Attributes]]:
    """Every element of a small part: its path of local names, and its attributes by local name."""
    found = _Elements()
    for _ in fed(file, found):
        yield from found.gathered
        found.gathered.clear()
