"""Limits bodies in JSON: one, an array, one a line, a folder of files; all as strict as a request's body."""

from __future__ import annotations

import io
import json
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS
from tests.api.limit_files.reading import FIRST, entries, faults, read, told
from turnrule.api.json_reading import LARGEST_BODY
from turnrule.api.limit_files.json_rows import bodies_of
from turnrule.api.limit_files.opening import opened
from turnrule.pack import Pack, load_pack

BOTH = json.dumps([json.loads(EXAMPLE_LIMITS), json.loads(DRUM_LIMITS)])


def _one_line(body: str) -> str:
    return " ".join(body.split())


def _file(folder: Path, name: str, content: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def test_one_body_an_array_and_lines_give_the_same_entries(tmp_path: Path) -> None:
    [one] = entries(_file(tmp_path, "one.json", EXAMPLE_LIMITS))
    array = entries(_file(tmp_path, "array.json", f" \n[{EXAMPLE_LIMITS}\n,\n{DRUM_LIMITS}]\n "))
    lines = entries(_file(tmp_path, "a.jsonl", f"{_one_line(EXAMPLE_LIMITS)}\n\n{_one_line(DRUM_LIMITS)}\r\n"))
    assert array[0] == lines[0] == one
    assert array[1] == lines[1]
    assert [row.place.number for row in read(tmp_path / "a.jsonl")] == [1, 3]


def test_the_packs_own_files_are_read_as_a_folder_in_the_order_of_their_names() -> None:
    pack: Pack = load_pack()
    rows = read(pack.folder / "demo" / "limits")
    assert len(rows) == len(pack.demo.limits)
    assert [row.place.file for row in rows] == sorted(row.place.file for row in rows)
    assert [row.place.number for row in rows] == list(range(1, len(rows) + 1))
    assert all(row.entry is not None for row in rows)


def test_a_fault_names_its_file_and_its_pointer(tmp_path: Path) -> None:
    _file(tmp_path, "b.json", EXAMPLE_LIMITS.replace('"front"', '"frnt"'))
    _file(tmp_path, "a.jsonl", f"{_one_line(EXAMPLE_LIMITS)}\n{_one_line(DRUM_LIMITS)}\n")
    _file(tmp_path, "notes.txt", "not read")
    [fault] = faults(tmp_path)
    assert (fault.row, fault.file, fault.column, fault.value) == (3, "b.json", "/application/axle", "frnt")


def test_what_cannot_be_read_of_a_folder_does_not_hide_the_rest(tmp_path: Path) -> None:
    _file(tmp_path, "a.json", "")
    _file(tmp_path, "b.json", f"[{EXAMPLE_LIMITS}")
    _file(tmp_path, "c.json", EXAMPLE_LIMITS.replace('"front"', '"frnt"'))
    assert [(fault.file, fault.code) for fault in faults(tmp_path)] == [
        ("a.json", "empty_file"),
        ("b.json", "invalid_json"),
        ("c.json", "invalid_choice"),
    ]
    empty = tmp_path / "empty"
    empty.mkdir()
    assert [fault.code for fault in faults(empty)] == ["empty_folder"]


@pytest.mark.parametrize(
    ("limits_id", "code"), [("corvane-1", None), ("", "invalid_id"), (7, "invalid_id"), ("A", "invalid_id")]
)
def test_a_body_may_name_the_id_of_its_record(limits_id: object, code: str | None, tmp_path: Path) -> None:
    document = {**json.loads(EXAMPLE_LIMITS), "limits_id": limits_id}
    path = _file(tmp_path, "a.json", json.dumps(document))
    if code is None:
        assert [row.limits_id for row in read(path)] == [limits_id]
    else:
        assert told(path) == [(1, "/limits_id", code)]


@pytest.mark.parametrize(
    ("content", "code"),
    [
        ("", "empty_file"),
        (" \n ", "empty_file"),
        ("{", "invalid_json"),
        ("[", "invalid_json"),
        ("[]", "no_rows"),
        (f"[{EXAMPLE_LIMITS},]", "invalid_json"),
        (f"[{EXAMPLE_LIMITS}] x", "invalid_json"),
        (f"[{EXAMPLE_LIMITS}][", "invalid_json"),
        (f"{EXAMPLE_LIMITS} {EXAMPLE_LIMITS}", "invalid_json"),
        ("[,]", "invalid_json"),
        ('["', "invalid_json"),
        ('["\\', "invalid_json"),
        ("[}]", "invalid_json"),
        ("null", "wrong_type"),
        ("[null, 1]", "wrong_type"),
        (b"\xef\xbb\xbf" + EXAMPLE_LIMITS.encode(), "not_utf8"),
        (EXAMPLE_LIMITS.encode("utf-16"), "not_utf8"),
        ("[" * 600_000, "row_too_long"),
        ('[{"a": ' * 90_000, "row_too_long"),
        (EXAMPLE_LIMITS.replace("26.0", "NaN"), "non_finite_number"),
        (EXAMPLE_LIMITS.replace("26.0", "1" * 5000), "number_too_long"),
        (EXAMPLE_LIMITS.replace("26.0", '"26.0"'), "invalid_number"),
        (EXAMPLE_LIMITS.replace("26.0", "26.0, " + '"nominal_thickness": 26.0'), "duplicate_key"),
        (" " * 100 + EXAMPLE_LIMITS + " " * LARGEST_BODY, "body_too_large"),
        ("[" + EXAMPLE_LIMITS + " " * 2 * LARGEST_BODY + "]", "row_too_long"),
    ],
)
def test_what_no_request_could_send_no_file_can_hold(content: str | bytes, code: str, tmp_path: Path) -> None:
    found = faults(_file(tmp_path, "a.json", content))
    assert code in {fault.code for fault in found}
    assert all(fault.remedy for fault in found)


def test_a_line_that_is_too_long_ends_the_reading(tmp_path: Path) -> None:
    path = _file(tmp_path, "a.jsonl", f"{_one_line(EXAMPLE_LIMITS)}\n{'x' * (LARGEST_BODY + 5)}\n")
    assert told(path) == [(2, "", "row_too_long")]


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(st.sampled_from(list('[]{},"\\ a\n'))),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text('[]{}"\\,', max_size=3), inner, max_size=3),
    max_leaves=8,
)


@given(values=st.lists(VALUES, max_size=6), chunk=st.integers(1, 40))
@example(values=["\\"], chunk=1)
@example(values=['"]', {"]": ["["]}], chunk=2)
def test_an_array_is_cut_into_its_elements_wherever_its_chunks_end(values: list[object], chunk: int) -> None:
    file = io.BytesIO(json.dumps(values).encode())
    assert [json.loads(raw) for _, raw in bodies_of(file, chunk)] == values


@given(content=st.binary(max_size=200) | st.text(st.sampled_from(list('[]{},:"\\ 1a\n')), max_size=80).map(str.encode))
def test_no_bytes_crash_the_reader(content: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    for name in ("any.json", "any.jsonl"):
        path = _file(tmp_path_factory.getbasetemp(), name, content)
        with opened(path, FIRST) as found:
            rows = list(found.rows)
        assert rows
        assert all(row.faults for row in rows)


def test_an_array_is_read_in_little_memory(tmp_path: Path) -> None:
    path = _file(tmp_path, "a.json", "[" + ",".join([_one_line(EXAMPLE_LIMITS)] * 4000) + "]")
    assert path.stat().st_size > 1_800_000
    tracemalloc.start()
    with opened(path, FIRST) as found:
        assert sum(1 for _ in found.rows) == 4000
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 1_500_000
