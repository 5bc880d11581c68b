"""The second judgement itself, held against figures worked by hand and against published ones."""

from __future__ import annotations

from dataclasses import fields, replace
from fractions import Fraction
from random import Random
from typing import cast

import pytest

from tests.judging.agreement.answers import Answer, LifeAnswer, Line, differences
from tests.judging.agreement.drawing import EFFECTS, REGULATIONS
from tests.judging.agreement.exact import GridError, as_text, conformity, guard_band, length, scaled, twelve_u_squared
from tests.judging.agreement.generate import cases
from tests.judging.agreement.oracle import judge_case
from tests.judging.agreement.shapes import Case, LimitsBody, PolicyBody, RequestBody

RECORD: LimitsBody = {
    "unit": "mm",
    "nominal_thickness": "26.0",
    "minimum_machining_thickness": "24.6",
    "discard_thickness": "24.0",
    "maximum_lateral_runout": "0.05",
    "maximum_thickness_variation": "0.013",
    "machining": "permitted",
}
REQUEST: RequestBody = {
    "unit": "mm",
    "kind": "rotor",
    "thickness": ["25.02", "25.01", "25.03", "25.04", "25.03", "25.02", "25.01", "25.02"],
    "lateral_runout": "0.07",
    "groove_depth": {"inboard": "0.05", "outboard": "0.08"},
    "marking": "24.0",
    "findings": [{"finding": "crazing"}],
    "instrument": {"resolution": "0.01", "expanded_uncertainty": "0.004"},
    "cut": {"inboard": "0.10", "outboard": "0.10"},
}


def case(request: RequestBody, record: LimitsBody | None, policy: PolicyBody | None = None) -> Case:
    return Case(
        on="2026-06-15",
        request=request,
        record=record,
        policy=policy or PolicyBody(),
        effects=EFFECTS,
        regulations=REGULATIONS,
    )


def line_of(answer: Answer, check: str) -> Line:
    """The first check of this name."""
    return next(line for line in answer.lines if line.check == check)


def test_a_rotor_worked_by_hand_comes_out_to_the_last_digit() -> None:
    # T0 = 25.01 - 0.07 = 24.94; after 0.20 off: 24.74. 4u^2 = 0.01^2/3 + 0.004^2, so U = 0.0070238 -> 0.0071.
    # Room: 24.94 - 24.6 - 0.0071 = 0.3329. Needed: 24.6 + 0.0071 + 0.20 + 0.07 = 24.8771.
    answer = judge_case(case(REQUEST, RECORD))
    assert answer.verdict == "machine"
    assert answer.figures["clean_up"] == length("24.94", "mm")
    assert answer.figures["after_cut"] == length("24.74", "mm")
    assert answer.margins["to_machining_limit"] == length("0.14", "mm")
    assert answer.margins["to_discard_limit"] == length("0.74", "mm")
    assert answer.margins["guard_band"] == length("0.0071", "mm")
    assert answer.room["most_total_cut"] == length("0.3329", "mm")
    assert answer.room["most_cut_per_face"] == length("0.16645", "mm")
    assert answer.room["reading_needed"] == length("24.8771", "mm")


def test_between_the_refinish_and_the_discard_limit_a_rotor_may_stay_but_may_not_be_cut() -> None:
    # TM 9-2320-289-34 prints 1.230 in to refinish to and 1.215 in to discard at.
    record: LimitsBody = {
        "unit": "in",
        "minimum_machining_thickness": "1.230",
        "discard_thickness": "1.215",
        "machining": "permitted",
    }
    worn: RequestBody = {"unit": "in", "kind": "rotor", "thickness": ["1.2225"] * 4, "setup_runout": "0"}
    assert judge_case(case(worn, record)).verdict == "serviceable"
    rough: RequestBody = {**worn, "findings": [{"finding": "hard_spot"}]}
    assert judge_case(case(rough, record)).verdict == "replace"


@pytest.mark.parametrize(("depth", "outcome"), [("0.0300", "pass"), ("0.03005", "fail")])
def test_a_drum_may_be_turned_to_the_legal_oversize_and_no_further(depth: str, outcome: str) -> None:
    # Massachusetts General Laws c. 90 s. 7G: no drum may be turned to more than 0.060 in oversize,
    # so 9.000 in nominal allows 9.060 in (230.124 mm) whatever the casting says.
    record: LimitsBody = {
        "unit": "in",
        "nominal_diameter": "9.000",
        "maximum_machining_diameter": "9.075",
        "discard_diameter": "9.090",
    }
    request: RequestBody = {
        "unit": "in",
        "kind": "drum",
        "diameter": ["9.000"] * 4,
        "setup_runout": "0",
        "cut": {"depth": depth},
    }
    answer = judge_case(case(request, record, {"regulations": ["oversize_turned"], "decision_rule": "simple"}))
    turned = line_of(answer, "machining_limit")
    assert (turned.limit, turned.origin) == (length("230.124", "mm"), "regulation")
    assert turned.outcome == outcome


@pytest.mark.parametrize(
    ("safe_by", "u", "published"),
    [
        ("0.07", "0.05", 0.919243),  # JCGM 106:2012, clause 7, upper limit (figures from MEMORY, p derived)
        ("19.7", "8.6", 0.989010),  # JCGM 106:2012, clause 7, lower limit (figures from MEMORY, p derived)
        ("0", "1", 0.5),
    ],
)
def test_the_probability_of_conformity_is_the_published_one(safe_by: str, u: str, published: float) -> None:
    deviation = scaled(u, 6)
    assert conformity(scaled(safe_by, 6), 12 * deviation * deviation) == pytest.approx(published, abs=1e-6)


def test_a_gauge_without_any_uncertainty_is_certain() -> None:
    assert (conformity(0, 0), conformity(-1, 0), guard_band(0)) == (1.0, 0.0, 0)


def test_the_guard_band_is_the_least_step_that_covers_twice_the_standard_uncertainty() -> None:
    rng = Random(5)
    for _ in range(2_000):
        parts = [rng.choice((0, 100, rng.randrange(10**8))) for _ in range(3)]
        twelve = twelve_u_squared(*parts)
        squared = Fraction(parts[0] ** 2, 3) + parts[1] ** 2 + 4 * parts[2] ** 2  # (2u)^2, JCGM 100
        band = guard_band(twelve)
        assert band % 10**5 == 0
        assert band**2 >= squared
        assert band == 0 or (band - 10**5) ** 2 < squared


def test_text_and_whole_numbers_are_the_same_length() -> None:
    rng = Random(6)
    for _ in range(500):
        ticks = rng.randrange(-(10**9), 10**9)
        assert length(as_text(ticks), "mm") == ticks * 100
        assert length(as_text(ticks), "in") == ticks * 2540
    with pytest.raises(GridError):
        length("0.00000000001", "mm")


def _changed(value: object) -> object:
    """Another value in the same place."""
    match value:
        case str():
            return value + "x"
        case tuple():
            return value[:-1] if value else ("more",)
        case frozenset():
            return value | {"more"}
        case dict():
            key = next(iter(value))
            return {**value, key: None if value[key] is not None else 1}
        case _:
            return "more" if value is None else None


@pytest.mark.parametrize("name", [part.name for part in fields(Answer)])
def test_a_difference_in_any_part_of_an_answer_is_found(name: str) -> None:
    answer = judge_case(case(REQUEST, RECORD))
    other = replace(answer, **{name: _changed(getattr(answer, name))})  # type: ignore[arg-type] # meant to be wrong
    assert differences(answer, answer) == []
    assert differences(answer, other)


@pytest.mark.parametrize("name", [part.name for part in fields(Line)])
def test_a_difference_in_any_figure_of_a_check_is_found(name: str) -> None:
    answer = judge_case(case(REQUEST, RECORD))
    place = [line.check for line in answer.lines].index("machining_limit")
    line = answer.lines[place]
    changed = 0.5 if name == "probability" else _changed(getattr(line, name))
    wrong = replace(line, **{name: changed})  # type: ignore[arg-type] # meant to be wrong
    lines = (*answer.lines[:place], wrong, *answer.lines[place + 1 :])
    assert differences(answer, replace(answer, lines=lines))


LASTING: RequestBody = {
    "unit": "mm",
    "kind": "rotor",
    "thickness": ["24.8"] * 4,
    "setup_runout": "0",
    "odometer": {"value": "40000", "unit": "km"},
    "history": [
        {"thickness": "26", "odometer": {"value": "0", "unit": "km"}},
        {"thickness": "25.7", "odometer": {"value": "10000", "unit": "km"}},
        {"thickness": "25.95", "odometer": {"value": "20000", "unit": "km"}},
        {"thickness": "25.1", "odometer": {"value": "30000", "unit": "km"}},
    ],
    "services": {"interval": {"value": "15000", "unit": "km"}},
}


def test_a_life_worked_by_hand_comes_out_without_the_reading_that_grows() -> None:
    # 0.3 mm in 10,000 km but for 25.95; (24.8 - 24) / 0.00003 = 26,666.7; 40,000 + 26,666 is past 45,000 and 60,000.
    life = judge_case(case(LASTING, RECORD)).life
    assert life is not None
    assert life.left_out == ((2, "grown", (1,)),)
    assert (life.rate, life.left, life.untold, life.disputed) == (Fraction(30, 10**6), 26_666, (), False)
    assert life.reached == (2, 45_000 * 10**9, 60_000 * 10**9, 75_000 * 10**9)
    assert life.at_least == pytest.approx(26_666.67, abs=0.01)


@pytest.mark.parametrize("name", [part.name for part in fields(LifeAnswer)])
def test_a_difference_in_any_figure_of_a_life_is_found(name: str) -> None:
    answer = judge_case(case(LASTING, RECORD))
    assert answer.life is not None
    changed = 1.0 if name == "at_least" else _changed(getattr(answer.life, name))
    wrong = replace(answer.life, **{name: changed})  # type: ignore[arg-type] # meant to be wrong
    assert differences(answer, replace(answer, life=wrong))


def test_no_least_cleaning_cut_leaves_more_than_the_clean_up_size() -> None:
    # The clean-up size is the thickest that lies inside the part: no cut that cleans up can leave a thicker disc.
    seen = 0
    for _, one in cases(0, 2_000):
        answer = judge_case(one)
        sizes = [line.value for line in answer.lines if line.quantity and line.quantity.endswith("after_least_cut")]
        clean_up = answer.figures["clean_up"]
        for size in sizes:
            sign = 1 if one["request"]["kind"] == "rotor" else -1
            assert sign * cast("int", size) <= sign * cast("int", clean_up)
            seen += 1
    assert seen > 100
