"""The items of a batch as they come: elements of a JSON array, lines of NDJSON, rows of CSV; one held at a time.

What is wrong with an item is an error in its place. Where the frame itself breaks (an array that is not closed, a
quote that is never closed) that is told in the place of the next item, which is the last: nothing behind it could be
trusted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import BinaryIO, cast

from turnrule.actions.batching import Item
from turnrule.actions.file_rows import RowFault
from turnrule.actions.numbers import write_exact
from turnrule.actions.requests import ReadRequest
from turnrule.api.batch_columns import columns, document_of
from turnrule.api.faults import FaultsError, MalformedError, TooLargeError, did_you_mean, quoted
from turnrule.api.json_reading import LARGEST_BODY
from turnrule.api.limit_files.csv_rows import CsvTable
from turnrule.api.limit_files.json_rows import bodies_of
from turnrule.api.limit_files.unreadable import UnreadableError
from turnrule.judging.faults import Fault

_SPACE = b" \t\r\n"
_NAMED = "write the names of a request's fields there, with a dot for each step inwards: unit,kind,vehicle.label"
_BREAKS = (b"\n", b"")

ReadOne = Callable[[bytes], ReadRequest]
Items = Iterator[Item]


def lines(file: BinaryIO, read: ReadOne) -> Items:
    """One body on each line; blank lines are passed over and have no place."""
    place = 0
    while line := file.readline(LARGEST_BODY + 3):
        if not line.strip(_SPACE):
            continue
        if len(line) > LARGEST_BODY + 2:
            while line[-1:] not in _BREAKS:
                line = file.readline(LARGEST_BODY)
            yield Item(place, b"", error=TooLargeError(f"the line has more than {LARGEST_BODY} bytes"))
        else:
            yield _item(place, line.strip(_SPACE), read)
        place += 1


def elements(file: BinaryIO, read: ReadOne) -> Items:
    """The elements of an array. Raises `MalformedError` where it is none."""
    bodies = bodies_of(cast("BinaryIO", _OnlyArrays(file)))
    place = -1
    try:
        for place, (_, body) in enumerate(bodies):
            yield _item(place, body.strip(_SPACE), read)
    except UnreadableError as error:
        yield Item(place + 1, b"", error=_broken(error))


class _OnlyArrays:
    """A file whose first bytes must begin an array; else reading it raises `MalformedError`."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._is_first = True

    def read(self, size: int) -> bytes:
        """The next bytes."""
        chunk = self._file.read(size)
        while self._is_first and chunk and not chunk.strip(_SPACE):
            chunk = self._file.read(size)
        if self._is_first and not chunk.lstrip(_SPACE).startswith(b"["):
            detail = "the body is no JSON array; send one verdict request after another in square brackets"
            raise MalformedError([Fault("", "invalid_json", detail)])
        self._is_first = False
        return chunk


def rows(file: BinaryIO, read: ReadOne) -> Items:
    """The rows of a table. Raises `MalformedError` where its header cannot be taken."""
    table = _table(file)
    place = -1
    try:
        for place, (_, cells) in enumerate(table):
            if isinstance(cells, RowFault):
                yield Item(place, b"", error=MalformedError([Fault("", cells.code, cells.remedy)]))
                continue
            document = document_of(table.names, [str(cell) for cell in cells])
            yield _item(place, write_exact(document), read)
    except UnreadableError as error:
        yield Item(place + 1, b"", error=_broken(error))


def _table(file: BinaryIO) -> CsvTable:
    try:
        table = CsvTable(file, columns(), _NAMED)
    except UnreadableError as error:
        raise _broken(error) from None
    known, faults = columns(), []
    for name in dict.fromkeys(table.names):
        if name not in known:
            hint = did_you_mean(name, known)
            faults.append(Fault(f"/{name}", "no_such_column", f"there is no column {quoted(name)}{hint}"))
        elif table.names.count(name) > 1:
            faults.append(Fault(f"/{name}", "column_twice", f"the column {quoted(name)} stands twice; leave one out"))
    if faults:
        raise MalformedError(faults)
    return table


def _broken(error: UnreadableError) -> MalformedError:
    return MalformedError([Fault("", error.fault.code, error.fault.remedy)])


def _item(place: int, body: bytes, read: ReadOne) -> Item:
    try:
        return Item(place, body, read(body))
    except (FaultsError, TooLargeError) as error:
        return Item(place, body, error=error)
