"""A row of a pack: the same revision is the same line, and a line is read as nothing but the revision that it is."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given

from tests.actions.release_packs.drawing import revisions
from tests.actions.release_packs.stores import record, withdrawal
from turnrule.actions.release_packs.damage import RowError
from turnrule.actions.release_packs.limit_lines import limit_line, read_limit_line, row_digest
from turnrule.actions.release_packs.members import canonical_line
from turnrule.actions.release_packs.withdrawal_lines import read_withdrawal_line, withdrawal_line
from turnrule.store.content import content_digest
from turnrule.store.limit_records import LimitRevision

Row = dict[str, Any]


@given(revisions())
def test_a_line_is_read_as_the_revision_that_it_was_written_from(revision: LimitRevision) -> None:
    line = limit_line(revision)
    read = read_limit_line(line)
    assert (read.revision, read.content) == (revision, content_digest(revision))
    assert limit_line(read.revision) == line
    assert b"\n" not in line


@given(revisions())
def test_a_line_is_canonical_json_with_the_digest_of_the_rest_in_it(revision: LimitRevision) -> None:
    line = limit_line(revision)
    row = json.loads(line)
    # The definition written out once more, with another writer of JSON: sorted, no spaces, UTF-8, least escaping.
    assert json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode() == line
    stated = row.pop("row_digest")
    rest = json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    assert stated == f"sha256:{hashlib.sha256(rest).hexdigest()}"


def test_times_are_written_in_utc_whatever_zone_they_came_in() -> None:
    east = datetime.timezone(datetime.timedelta(hours=5, minutes=30))
    here = record("corvane-1")
    assert here.entered_at is not None
    there = replace(here, entered_at=here.entered_at.astimezone(east))
    assert limit_line(there) == limit_line(here)


@pytest.mark.parametrize("missing", [{"verified_by": ""}, {"verified_at": None}, {"entered_at": None}])
def test_a_revision_without_its_second_entry_or_a_moment_of_one_is_no_row(missing: dict[str, Any]) -> None:
    with pytest.raises(RowError, match="lacks its second entry"):
        limit_line(replace(record("corvane-1"), **missing))


def _row() -> Row:
    read: Row = json.loads(limit_line(record("corvane-1", note="as printed")))
    return read


def _sealed(row: Row) -> bytes:
    """The line of an edited row, its digests made to fit."""
    bare = {name: value for name, value in row.items() if name != "row_digest"}
    return canonical_line({**bare, "row_digest": row_digest(bare)})


def _set(*path: str | int, to: object) -> Callable[[Row], None]:
    def change(row: Row) -> None:
        inner: Any = row
        for step in path[:-1]:
            inner = inner[step]
        inner[path[-1]] = to

    return change


def _dropped(name: str) -> Callable[[Row], None]:
    def change(row: Row) -> None:
        del row[name]

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_set("surprise", to=1), "surprise is no member"),
        (_set("fits", "colour", to="red"), "fits.colour is no member"),
        (_dropped("note"), "note is missing"),
        (_set("limits_id", to="../etc"), "limits_id"),
        (_set("limits_id", to="Corvane"), "limits_id"),
        (_set("limits_id", to="-a"), "limits_id"),
        (_set("limits_id", to="a" * 81), "limits_id"),
        (_set("revision", to=0), "revision must be a whole number"),
        (_set("revision", to=True), "revision must be a whole number"),
        (_set("revision", to=1.0), "revision must be a whole number"),
        (_set("revision", to=2**31), "revision must be a whole number"),
        (_set("fits", to=[]), "fits must be an object"),
        (_set("fits", "make", to=""), "fits.make is blank"),
        (_set("fits", "make", to=7), "fits.make must be text"),
        (_set("fits", "make", to=None), "fits.make must be text"),
        (_set("fits", "make", to="Cor\u202evane"), "U\\+202E"),
        (_set("fits", "make", to="Cor\nvane"), "U\\+000A"),
        (_set("fits", "make", to="x" * 4001), "4001 characters"),
        (_set("fits", "year_from", to=0), "fits.year_from"),
        (_set("fits", "year_to", to=10_000), "fits.year_to"),
        (_set("fits", "axle", to="sixth"), "fits.axle is 'sixth'"),
        (_set("fits", "axle", to=["front"]), "fits.axle"),
        (_set("limits", "discard", to=24), "limits.discard must be a decimal in quotes"),
        (_set("limits", "discard", to="24,0"), "limits.discard must be a decimal in quotes"),
        (_set("limits", "discard", to="-24"), "limits.discard must be a decimal in quotes"),
        (_set("limits", "discard", to="2.4E1"), "limits.discard must be a decimal in quotes"),
        (_set("limits", "discard", to="\u0662\u0664"), "limits.discard must be a decimal in quotes"),
        (_set("limits", "discard", to="23"), "printed.discard_thickness is 24.00 mm"),
        (_set("limits", "discard", to="24.0"), "own form"),
        (_set("limits", "machining", to="24.5"), "content_digest"),
        (_set("printed", "discard_thickness", to="24.00 "), "printed.discard_thickness must be a decimal"),
        (_set("printed", "discard_thickness", to='24.00,"discard":1'), "printed.discard_thickness must be a decimal"),
        (_set("printed", "discard_diameter", to="24.00"), "printed must be an object with names out of"),
        (_set("printed", to=[]), "printed must be an object"),
        (_set("printed_unit", to="in"), "is another length"),
        (_set("printed_unit", to="cm"), "printed_unit is 'cm'"),
        (_set("also", to={"unit": "mm", "printed": {}}), "also.unit is mm"),
        (_set("also", to={"unit": "in", "printed": {"discard_thickness": "0.9.4"}}), "also.printed.discard_thickness"),
        (_set("source", "issued", to="2023-02-29"), "source.issued must be a day"),
        (_set("effective_from", to="20210101"), "effective_from must be a day"),
        (_set("effective_from", to=None), "effective_from must be a day"),
        (_set("entered_at", to="2026-03-02T12:00:00Z"), "entered_at must be a moment"),
        (_set("entered_at", to="2026-02-30T12:00:00.000000Z"), "entered_at must be a moment"),
        (_set("verified_at", to=None), "verified_at must be a moment"),
        (_set("verified_by", to=""), "verified_by is blank"),
        (_set("warnings", to={}), "warnings must be a list"),
        (_set("warnings", to=["x"]), "warnings\\[0\\] must be an object"),
        (_set("note", to="other"), "content_digest"),
        (_set("content_digest", to="sha256:" + "0" * 64), "content_digest"),
    ],
)
def test_an_edited_row_is_refused_with_the_member_named_though_its_digest_fits(
    change: Callable[[Row], None], words: str
) -> None:
    row = _row()
    assert read_limit_line(_sealed(row)).revision == record("corvane-1", note="as printed")
    change(row)
    with pytest.raises(RowError, match=words):
        read_limit_line(_sealed(row))


@pytest.mark.parametrize("name", sorted(_row().keys() - {"content_digest"}))
def test_each_member_is_covered_by_the_digest_of_the_row(name: str) -> None:
    row = _row()
    row[name] = "another"
    with pytest.raises(RowError, match=r"was changed: it has another digest than its row_digest"):
        read_limit_line(canonical_line(row))


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda line: line.replace(b'"revision":1', b'"revision":1,"revision":2'), "another digest|own form"),
        (lambda line: line.replace(b'"revision":1', b'"revision":2,"revision":1'), "own form"),
        (lambda line: line.replace(b'"revision":1', b'"revision": 1'), "own form"),
        (lambda line: b" " + line, "own form"),
        (lambda line: line.replace(b"Corvane", b"\\u0043orvane"), "own form"),
        (lambda line: line[:-1], "not JSON"),
        (lambda line: line.replace(b'"revision":1', b'"revision":NaN'), "not JSON"),
        (lambda line: line.replace(b"Corvane", b"Corv\xff"), "not JSON"),
        (lambda line: line.replace(b"Corvane", b"\\ud800"), "not JSON"),
        (lambda line: b"\xef\xbb\xbf" + line, "not JSON"),
        (lambda _: b"[" * 100_000, "not JSON"),
        (lambda _: b"{}", "is missing"),
        (lambda _: b"null", "must be an object"),
        (lambda _: b"", "not JSON"),
    ],
)
def test_a_line_in_another_form_is_refused_though_it_says_the_same(edit: Callable[[bytes], bytes], words: str) -> None:
    line = edit(limit_line(record("corvane-1")))
    with pytest.raises(RowError, match=words):
        read_limit_line(line)


def test_a_withdrawal_is_read_as_it_was_written_and_refused_where_it_was_edited() -> None:
    made = replace(withdrawal("corvane-1", 2), sequence=5)
    line = withdrawal_line(made)
    assert read_withdrawal_line(line) == made
    for name in json.loads(line):
        row = json.loads(line)
        row[name] = "another" if isinstance(row[name], str) else 77
        with pytest.raises(RowError, match=r"was changed|limits_id is|withdrawn_at must be"):
            read_withdrawal_line(canonical_line(row))
    with pytest.raises(RowError, match="own form"):
        read_withdrawal_line(b" " + line)
