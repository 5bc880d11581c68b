"""The key of a make or model is the same however it is written."""

from __future__ import annotations

import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.store.folding import fold


@given(st.text())
def test_folding_a_key_gives_the_key(text: str) -> None:
    assert fold(fold(text)) == fold(text)


@given(st.text())
def test_case_composition_and_spacing_do_not_matter(text: str) -> None:
    key = fold(text)
    assert fold(f" {text}\t") == key
    assert fold(text.replace(" ", "  ")) == key
    for form in ("NFC", "NFD"):
        assert fold(unicodedata.normalize(form, text)) == key


def test_every_single_character_folds_to_a_key_that_stays() -> None:
    for code in range(sys.maxunicode + 1):
        if not 0xD800 <= code <= 0xDFFF:
            key = fold(chr(code))
            assert fold(key) == key, hex(code)


@given(st.text(st.characters(max_codepoint=127)))
def test_plain_letters_fold_as_all_others_do(text: str) -> None:
    # A letter that is not ASCII takes the general way, and its key is set apart by a space.
    assert fold(f"{text} \u00e9") == f"{fold(text)} \u00e9".strip()


@pytest.mark.parametrize(
    ("one", "other"), [("Corvane", "Corvan"), ("F 150", "F150"), ("B16", "B-16"), ("Tarn", "T\u00e4rn"), ("O", "0")]
)
def test_what_differs_in_more_than_that_stays_different(one: str, other: str) -> None:
    assert fold(one) != fold(other)
