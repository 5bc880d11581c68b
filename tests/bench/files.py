"""The fleet's limits as the files that people enter them from."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

from tests.bench import fleet

HEAD = (
    *("unit", "kind", "make", "model", "year_from", "year_to", "axle", "nominal", "machining_limit", "discard_limit"),
    *("maximum_lateral_runout", "maximum_thickness_variation", "maximum_out_of_round", "machining", "construction"),
    *("publisher", "document", "section", "edition", "issued", "effective_from"),
)
_SIZES = {
    "rotor": ("nominal_thickness", "minimum_machining_thickness", "discard_thickness"),
    "drum": ("nominal_diameter", "maximum_machining_diameter", "discard_diameter"),
}


def write_first_entries(path: Path, count: int) -> None:
    """A table of so many records, each under the id that the file gives it."""
    _write(path, ("limits_id", *HEAD), ((fleet.limits_id(number), *_cells(number)) for number in range(count)))


def write_second_entries(path: Path, count: int) -> None:
    """The same read once more from the documents, by somebody who does not know the ids."""
    _write(path, HEAD, map(_cells, range(count)))


def _write(path: Path, head: tuple[str, ...], rows: Iterator[tuple[str, ...]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(head)
        writer.writerows(rows)


def _cells(number: int) -> tuple[str, ...]:
    body = fleet.limits_body(number)
    nominal, machining, discard = _SIZES[body["kind"]]
    by_column = {
        **body,
        **body["application"],
        **body["source"],
        "nominal": body[nominal],
        "machining_limit": body[machining],
        "discard_limit": body[discard],
    }
    return tuple(str(by_column.get(name, "")) for name in HEAD)
