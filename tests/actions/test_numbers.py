"""Decimals are written exactly, plainly, and in one canonical form."""

from __future__ import annotations

import json
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.actions.numbers import Lengths, canonical, digest_of, read_exact, text_of, write_exact
from turnrule.judging.words import Unit

D = Decimal
DECIMALS = st.decimals(allow_nan=False, allow_infinity=False, min_value=D("-1e15"), max_value=D("1e15"), places=9)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("24.60", "24.6"), ("24.000", "24"), ("100", "100"), ("1E+2", "100"), ("1.50E-9", "0.0000000015"),
        ("0", "0"), ("-0", "0"), ("0.000", "0"), ("-0.00", "0"), ("0E-12", "0"), ("-1.50", "-1.5"),
        ("1E-7", "0.0000001"),
    ],
)  # fmt: skip
def test_a_decimal_is_written_out_plainly(value: str, text: str) -> None:
    assert text_of(D(value)) == text


@given(DECIMALS | st.integers(-(10**30), 10**30).map(D))
def test_what_is_written_is_the_same_number_without_ornaments(value: Decimal) -> None:
    text = text_of(value)
    assert D(text) == value
    assert "E" not in text
    assert not ("." in text and text.endswith(("0", ".")))
    assert read_exact(write_exact({"a": [value]})) == {"a": [value]}


def test_the_canonical_form_is_sorted_utf8_without_spaces() -> None:
    document = {"b": D("1.50"), "a": {"d": None, "c": ["\u00e9", True]}}
    assert canonical(document) == '{"a":{"c":["\u00e9",true],"d":null},"b":1.5}'.encode()
    assert canonical(document) == canonical(dict(reversed(document.items())))
    assert digest_of(b"{}") == "sha256:44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


def test_only_decimals_are_written_beside_plain_json() -> None:
    with pytest.raises(orjson.JSONEncodeError):
        write_exact({"a": object()})


def test_millimetres_are_shown_in_inches_exactly_or_rounded_as_told() -> None:
    def shown(value: str, unit: Unit, *rounding: str) -> Decimal:
        fragment = Lengths(unit)(D(value), *rounding)
        return D(json.loads(orjson.dumps([fragment]), parse_float=str, parse_int=str)[0])

    assert shown("25.4", Unit.MM) == D("25.4")
    assert shown("25.4", Unit.IN) == 1
    assert shown("0.0254", Unit.IN) == D("0.001")
    assert shown("0.00071", Unit.IN, ROUND_CEILING) == D("0.000028")
    assert shown("1", Unit.IN, ROUND_FLOOR) == D("0.0393700")
    assert shown("1", Unit.IN, ROUND_CEILING) == D("0.0393701")
    assert Lengths(Unit.IN)(None) is None
