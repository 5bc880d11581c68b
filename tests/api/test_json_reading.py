"""The strict reader of JSON takes what the contract allows, exactly, and says why of everything else."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.api.faults import MOST_FAULTS, MalformedError, TooLargeError
from turnrule.api.json_reading import DEEPEST, LARGEST_BODY, read_json
from turnrule.judging.faults import Fault


def refusals(raw: bytes) -> list[tuple[str, str]]:
    """Pointer and code of every fault."""
    with pytest.raises(MalformedError) as caught:
        read_json(raw)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def faults_of_any(raw: bytes) -> tuple[Fault, ...]:
    """The faults of a body, none where it is read."""
    try:
        read_json(raw)
    except MalformedError as error:
        return error.faults or (Fault("", "", ""),)
    return ()


def test_numbers_are_read_with_every_digit_that_was_written() -> None:
    document = read_json(b'{"a": 25.020, "b": 0.1, "c": 12, "d": -1.5e-3, "e": 12345678901234567890.123456789}')
    assert document == {
        "a": Decimal("25.020"),
        "b": Decimal("0.1"),
        "c": Decimal(12),
        "d": Decimal("-0.0015"),
        "e": Decimal("12345678901234567890.123456789"),
    }
    assert str(read_json(b"25.020")) == "25.020"


@pytest.mark.parametrize("raw", [b"\xef\xbb\xbf{}", "{}".encode("utf-16"), "{}".encode("utf-32"), b'{"a": "\xff"}'])
def test_only_plain_utf8_is_read(raw: bytes) -> None:
    assert refusals(raw) == [("", "not_utf8")]


@pytest.mark.parametrize("raw", [b"", b"{", b"[1,]", b"{'a': 1}", b'{"a": 01}', b'{"a": +1}', b'{"a": .5}', b"{} {}"])
def test_what_is_not_json_is_refused_with_its_place(raw: bytes) -> None:
    with pytest.raises(MalformedError, match=r"line 1, column \d+") as caught:
        read_json(raw)
    assert caught.value.faults[0].code == "invalid_json"


@pytest.mark.parametrize("digits", ["\u0661\u0662", "\uff11\uff12", "1_000"])
def test_digits_of_other_scripts_and_grouped_ones_are_no_json(digits: str) -> None:
    assert refusals(f'{{"a": {digits}}}'.encode()) == [("", "invalid_json")]


def test_nesting_is_counted_before_anything_is_parsed() -> None:
    assert read_json(b"[" * DEEPEST + b"]" * DEEPEST)
    assert refusals(b"[" * (DEEPEST + 1) + b"]" * (DEEPEST + 1)) == [("", "too_deep")]
    assert refusals(b'{"a":' * 40000) == [("", "too_deep")]


def test_brackets_within_text_and_side_by_side_do_not_nest() -> None:
    assert read_json(b'["' + b"[" * 100 + b'"]') == ["[" * 100]
    assert read_json(b'["\\"' + b"{" * 100 + b'"]') == ['"' + "{" * 100]
    assert read_json(b"[" + b"[]," * 100 + b"[]]") == [[]] * 101


def test_a_body_beyond_the_cap_is_too_large() -> None:
    fits = b'"' + b"a" * (LARGEST_BODY - 2) + b'"'
    assert read_json(fits) == "a" * (LARGEST_BODY - 2)
    with pytest.raises(TooLargeError):
        read_json(fits + b" ")


@pytest.mark.parametrize(
    ("number", "code"),
    [
        ("NaN", "non_finite_number"),
        ("Infinity", "non_finite_number"),
        ("-Infinity", "non_finite_number"),
        ("1e400", "non_finite_number"),
        ("1e13", "number_out_of_range"),
        ("1E-400", "number_out_of_range"),
        ("1" * 33, "number_too_long"),
        ("1" * 5000, "number_too_long"),
        ("0." + "3" * 40, "number_too_long"),
    ],
)
def test_a_number_that_no_figure_needs_is_refused_where_it_stands(number: str, code: str) -> None:
    assert refusals(f'{{"a": [1, {{"b/c~d": {number}}}]}}'.encode()) == [("/a/1/b~1c~0d", code)]


@pytest.mark.parametrize("number", ["1" * 32, "1e12", "1e-12", "-0.0", "1E+5"])
def test_a_number_just_within_the_caps_is_read(number: str) -> None:
    assert read_json(number.encode()) == Decimal(number)


def test_a_name_that_stands_twice_is_refused_wherever_it_is() -> None:
    assert refusals(b'{"a": 1, "a": 1}') == [("/a", "duplicate_key")]
    assert refusals(b'{"a": [{"b": 1, "c": 2, "b": 3, "b": 4}], "d": 1, "d": 1}') == [
        ("/a/0/b", "duplicate_key"),
        ("/d", "duplicate_key"),
    ]
    assert read_json(b'{"a": {"a": 1}, "b": {"a": 1}}')


@pytest.mark.parametrize(
    "hidden", ["\\u0000", "\\ud800", "\\udfff", "\\u202e", "\\u2066", "\\u200f", "\u202e", "\u2069"]
)
def test_text_that_hides_or_reorders_is_refused_in_values_and_names(hidden: str) -> None:
    assert refusals(f'{{"a": "x{hidden}y"}}'.encode()) == [("/a", "forbidden_character")]
    assert refusals(f'{{"x{hidden}y": 1}}'.encode()) == [("/x\ufffdy", "forbidden_character")]


def test_other_scripts_and_paired_surrogates_are_text() -> None:
    assert read_json('{"a": "Šorva \\ud83d\\ude00 мм"}'.encode()) == {"a": "Šorva 😀 мм"}


def test_all_faults_of_a_body_are_told_at_once_up_to_a_hundred() -> None:
    assert len(refusals(b'{"a": NaN, "b": [Infinity, 1e99], "c": "\\u0000", "d": 1, "d": 2}')) == 5
    assert len(refusals(b"[" + b"NaN," * 1000 + b"NaN]")) == MOST_FAULTS


def test_many_doubled_names_are_counted_in_no_time() -> None:
    names = ",".join(f'"n{i}":1' for i in range(9000))
    assert len(refusals(f"{{{names},{names}}}".encode())) == MOST_FAULTS


_SCALARS = st.none() | st.booleans() | st.integers(-(10**15), 10**15) | st.text('abc[]{}"\\é', max_size=8)
_DOCUMENTS = st.recursive(
    _SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("ab~/", max_size=3), inner, max_size=4),
)


@given(_DOCUMENTS)
def test_every_document_of_the_common_kind_is_read_as_the_standard_library_reads_it(document: object) -> None:
    assert read_json(json.dumps(document).encode()) == document
    assert read_json(json.dumps(document, ensure_ascii=False).encode()) == document


@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
def test_any_bytes_are_read_or_refused_with_a_reason(raw: bytes) -> None:
    assert all(fault.code and fault.detail for fault in faults_of_any(raw))
