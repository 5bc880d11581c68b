"""What became of each item of a batch, as it is sent: a JSON array, one document on each line, or a row of CSV."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from turnrule.actions.batching import Outcome
from turnrule.actions.numbers import read_exact
from turnrule.api.errors import told
from turnrule.api.limit_files.bodies import OutCell
from turnrule.api.limit_files.export import BOM, csv_line
from turnrule.api.limit_files.faults_csv import shown
from turnrule.api.limit_files.spreadsheet_text import shown_safely
from turnrule.api.problems import PROBLEMS, problem_bytes

_CREATED = 201
COLUMNS = (
    *("index", "status", "id", "replayed", "verdict", "summary", "unit", "kind", "governing_check"),
    *("governing_limit", "governing_unit", "least_thickness", "greatest_diameter", "clean_up", "after_cut"),
    *("to_machining_limit", "to_discard_limit", "guard_band", "most_total_cut", "cut_allowed", "cut_cleans_up"),
    *("cautions", "next_steps", "release", "policy", "policy_revision", "limits_id", "limits_revision"),
    *("problem", "problem_detail", "errors"),
)
"""What a row of an answer in CSV holds; a list stands in one cell, its entries with a space or a bar between."""


@dataclass(frozen=True, slots=True)
class Place:
    """What every problem of a batch says of the request that it belongs to."""

    instance: str
    request_id: str | None


def json_item(outcome: Outcome, place: Place) -> bytes:
    """One item as a JSON document."""
    record = outcome.record
    if record is not None:
        replayed = b"true" if outcome.replayed else b"false"
        head = b'{"index":%d,"status":%d,"replayed":%b,"verdict":' % (outcome.place, _CREATED, replayed)
        return head + record.answer + b"}"
    code, content = _problem(outcome, place)
    return b'{"index":%d,"status":%d,"problem":' % (outcome.place, PROBLEMS[code].status) + content + b"}"


def _problem(outcome: Outcome, place: Place) -> tuple[str, bytes]:
    if outcome.error is None:  # pragma: no cover - an outcome has a record or an error
        raise AssertionError(outcome)
    code, detail, faults = told(outcome.error)
    return code, problem_bytes(code, detail, instance=place.instance, request_id=place.request_id, faults=faults)


def ndjson(outcomes: Iterable[Outcome], place: Place) -> Iterator[bytes]:
    """One document on each line."""
    return (json_item(outcome, place) + b"\n" for outcome in outcomes)


def json_array(outcomes: Iterable[Outcome], place: Place) -> Iterator[bytes]:
    """One array; where it is not closed, the answer did not reach its end."""
    before = b"["
    for outcome in outcomes:
        yield before + json_item(outcome, place)
        before = b",\n"
    yield b"]\n" if before != b"[" else b"[]\n"


def csv_table(outcomes: Iterable[Outcome], _place: Place) -> Iterator[bytes]:
    """A table with a header; no cell of it can begin a formula."""
    yield BOM + csv_line(COLUMNS)
    for outcome in outcomes:
        cells = _cells(outcome)
        row = (cells.get(name) for name in COLUMNS)
        yield csv_line([shown(cell) if isinstance(cell, str) else cell for cell in row], shown_safely)


def _cells(outcome: Outcome) -> dict[str, OutCell]:
    if outcome.record is None:
        return _problem_cells(outcome)
    answer: dict[str, Any] = read_exact(outcome.record.answer)
    figures, governing, cut = answer["figures"], answer["governing"] or {}, answer["cut"] or {}
    size = "thickness" if "least_thickness" in figures else "diameter"
    return {
        "index": Decimal(outcome.place),
        "status": Decimal(_CREATED),
        "id": answer["id"],
        "replayed": "true" if outcome.replayed else "false",
        "verdict": answer["verdict"],
        "summary": answer["summary"],
        "unit": answer["unit"],
        "kind": answer["kind"],
        "governing_check": governing.get("check"),
        "governing_limit": governing.get("limit"),
        "governing_unit": governing.get("unit"),
        "least_thickness": figures.get("least_thickness"),
        "greatest_diameter": figures.get("greatest_diameter"),
        "clean_up": figures[f"clean_up_{size}"],
        "after_cut": figures[f"{size}_after_cut"],
        **answer["margins"],
        "most_total_cut": answer["room"]["most_total_cut"],
        "cut_allowed": _truth(cut.get("allowed")),
        "cut_cleans_up": _truth(cut.get("cleans_up")),
        "cautions": " ".join(caution["code"] for caution in answer["cautions"]),
        "next_steps": " | ".join(answer["next_steps"]),
        "release": answer["release"],
        "policy": answer["policy"]["name"],
        "policy_revision": answer["policy"]["revision"],
        "limits_id": answer["limits"]["limits_id"],
        "limits_revision": answer["limits"]["revision"],
    }


def _truth(value: bool | None) -> str | None:  # noqa: FBT001 - a value of an answer
    return None if value is None else str(value).lower()


def _problem_cells(outcome: Outcome) -> dict[str, OutCell]:
    if outcome.error is None:  # pragma: no cover - an outcome has a record or an error
        raise AssertionError(outcome)
    code, detail, faults = told(outcome.error)
    return {
        "index": Decimal(outcome.place),
        "status": Decimal(PROBLEMS[code].status),
        "problem": code,
        "problem_detail": detail,
        "errors": " | ".join(f"{fault.pointer} {fault.code}: {fault.detail}" for fault in faults),
    }


Written = Callable[[Iterable[Outcome], Place], Iterator[bytes]]
