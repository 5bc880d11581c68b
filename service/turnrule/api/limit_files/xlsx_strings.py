"""The texts that the cells of a workbook share: kept in a passing file, so that memory does not grow with them."""

from __future__ import annotations

import re
import tempfile
from array import array
from collections.abc import Iterator
from functools import lru_cache

from turnrule.api.limit_files.cells import LONGEST_CELL
from turnrule.api.limit_files.xlsx_xml import Attributes, Readable, damaged, fed, local

_KEPT = 20_000
"""So many texts are held in memory: most cells of a table share few."""

_ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")
_TO_ESCAPE = re.compile("_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ufffe\uffff]")


def unescaped(text: str) -> str:
    """Text as it was meant: `_x000D_` stands for a character that XML cannot hold (ECMA-376, 22.9.2.19)."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def escaped(text: str) -> str:
    """Text as a workbook keeps it."""
    return _TO_ESCAPE.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


class SharedStrings:
    """Texts by number. Raises `UnreadableError` for a number that it does not have."""

    def __init__(self) -> None:
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed by close()
        self._starts = array("Q", [0])
        self.text = lru_cache(_KEPT)(self._read)

    def fill(self, part: Readable) -> None:
        """Put the texts of the workbook aside. Raises `UnreadableError`."""
        for text in _texts(part):
            self._file.write(text.encode("utf-8", "surrogatepass"))
            self._starts.append(self._file.tell())

    def close(self) -> None:
        """Let go of the passing file."""
        self._file.close()

    def _read(self, number: int) -> str:
        if not 0 <= number < len(self._starts) - 1:
            raise damaged(f"a cell refers to a text number {number}, which is not there")
        self._file.seek(self._starts[number])
        return self._file.read(self._starts[number + 1] - self._starts[number]).decode("utf-8", "surrogatepass")


class Pieces:
    """The text of one cell or item as it comes; of a giant one no more is kept than shows that it is too long."""

    def __init__(self) -> None:
        self.kept: list[str] = []
        self._length = 0

    def add(self, piece: str) -> None:
        """Keep one more piece; expat hands on some thousand characters at a time."""
        if self._length <= LONGEST_CELL:
            self.kept.append(piece)
            self._length += len(piece)

    def clear(self) -> None:
        """Begin anew."""
        self.kept.clear()
        self._length = 0

    def taken(self) -> str:
        """The text, and nothing is left of it."""
        text = "".join(self.kept)
        self.clear()
        return text


class _Texts:
    """Takes the elements and text of the part; `done` are the texts that are whole.

    The pieces of one text are put together, without the reading aids (`rPh`) that some languages add.
    """

    def __init__(self) -> None:
        self.depth = 0
        self.done: list[str] = []
        self._pieces = Pieces()
        self._within = False
        self._aside = False

    def start(self, name: str, _attributes: Attributes) -> None:
        """An element begins."""
        self.depth += 1
        match local(name):
            case "t":
                self._within = not self._aside
            case "rPh":
                self._aside = True

    def end(self, name: str) -> None:
        """An element ends."""
        self.depth -= 1
        match local(name):
            case "t":
                self._within = False
            case "rPh":
                self._aside = False
            case "si":
                self.done.append(unescaped(self._pieces.taken()))

    def text(self, piece: str) -> None:
        """Text within an element."""
        if self._within:
            self._pieces.add(piece)


def _texts(part: Readable) -> Iterator[str]:
    """Each shared text in its order."""
    texts = _Texts()
    for _ in fed(part, texts):
        yield from texts.done
        texts.done.clear()
