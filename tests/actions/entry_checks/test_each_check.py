"""Every check lets its good samples pass, and says of each bad one where, what, and whether it is refused."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from tests.actions.entry_checks.entries import ALONE, only, rotor, told
from tests.actions.entry_checks.figure_samples import FIGURE_SAMPLES, FORM_ONLY
from tests.actions.entry_checks.record_samples import RECORD_SAMPLES
from turnrule.actions.entry_checks import CHECKS, REFUSALS, WARNINGS, Remark, Surroundings, check_entry, entry_refusals
from turnrule.actions.requests import LimitsEntry

Check = Callable[[LimitsEntry, Surroundings], Iterator[Remark]]

BY_NAME: dict[str, Check] = {check.__module__.rpartition(".")[2]: check for check in CHECKS}
SAMPLES = FIGURE_SAMPLES | RECORD_SAMPLES
SEEN_WITH_A_STORE = {"overlap", "similar_parts"}
GOOD = [(name, entry) for name, samples in SAMPLES.items() for entry in samples.good]
BAD = [(name, *bad) for name, samples in SAMPLES.items() for bad in samples.bad]


def test_every_check_has_good_and_bad_samples() -> None:
    assert {name for name, samples in SAMPLES.items() if samples.good and samples.bad} == set(
        BY_NAME
    ) - SEEN_WITH_A_STORE


@pytest.mark.parametrize(("name", "entry"), GOOD, ids=lambda value: value if isinstance(value, str) else "")
def test_a_check_says_nothing_of_a_good_entry(name: str, entry: LimitsEntry) -> None:
    assert not list(BY_NAME[name](entry, ALONE))


@pytest.mark.parametrize(
    ("name", "entry", "pointer", "code", "refused"), BAD, ids=lambda value: value if isinstance(value, str) else ""
)
def test_a_check_names_the_field_of_a_bad_entry(
    name: str,
    entry: LimitsEntry,
    pointer: str,
    code: str,
    refused: bool,  # noqa: FBT001 - a column of the table
) -> None:
    remark = only(tuple(BY_NAME[name](entry, ALONE)))
    assert (remark.pointer, remark.code, remark.refused) == (pointer, code, refused)
    assert remark.detail
    assert "{" not in remark.detail


@pytest.mark.parametrize(("entry", "pointer", "code"), [(bad[1], *bad[2:4]) for bad in BAD if bad[4]])
def test_what_is_refused_is_refused_as_soon_as_the_entry_is_read(entry: LimitsEntry, pointer: str, code: str) -> None:
    refused = [(remark.pointer, remark.code) for remark in entry_refusals(entry)]
    assert refused.count((pointer, code)) == 1
    assert sorted(refused) == sorted(
        (remark.pointer, remark.code) for remark in check_entry(entry, ALONE) if remark.refused
    )


def test_every_code_is_met_in_the_samples_and_listed_as_what_it_is() -> None:
    met = {(code, refused) for *_, code, refused in BAD}
    listed = {(code, True) for code in REFUSALS} | {(code, False) for code in WARNINGS}
    assert listed - met == {("overlap", True), ("far_from_similar", False)}
    assert met <= listed


def test_refusals_come_first_and_no_warning_stands_beside_one_on_the_same_field() -> None:
    entry = rotor(*FORM_ONLY, maximum_thickness_variation="0.0005")
    assert told(entry) == [
        ("/maximum_thickness_variation", "finer_than_any_gauge", True),
        ("/discard_thickness", "no_strength_limit", False),
    ]


def test_without_a_day_nothing_is_said_of_what_lies_ahead() -> None:
    no_day = Surroundings(ALONE.overlapping, ALONE.similar)
    ahead = [bad for bad in BAD if bad[3] in {"year_to_come", "far_ahead", "document_to_come"}]
    assert ahead
    for _, entry, _, code, _ in ahead:
        assert code not in {remark.code for remark in check_entry(entry, no_day)}


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (rotor(maximum_lateral_runout="0.002"), "it would be usual in inches, and the body is in millimetres"),
        (rotor(maximum_lateral_runout="0.5"), "the point may stand one place too far to the right"),
        (rotor(maximum_lateral_runout="5"), "the point may stand two places too far to the right"),
        (rotor(maximum_lateral_runout="50"), "it may be in thousandths of the unit"),
        (rotor(maximum_lateral_runout="0.0005"), "it would be usual in inches"),
        (rotor(discard_thickness="0.945"), "state the unit that was read"),
    ],
)
def test_the_likely_slip_is_named(entry: LimitsEntry, words: str) -> None:
    assert any(words in remark.detail for remark in check_entry(entry, ALONE)), check_entry(entry, ALONE)
