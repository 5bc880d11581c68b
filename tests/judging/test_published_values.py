"""The engine's own functions reproduce values that others have published, to their printed digits.

Each value is named with its source and with how surely it is known: READ in a public copy, MEMORY (recalled), or
DERIVED (worked out exactly from the others).
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pytest

from tests.judging.published import data, lengths, uncertainties
from tests.judging.published.data import Univariate
from tests.judging.published.sources import Published, Status
from tests.judging.published.uncertainties import Conformity
from turnrule.judging.heat import relative_rise, temperature_rise
from turnrule.judging.lengths import MM_PER_INCH, from_mm, on_grid, quotient, to_mm
from turnrule.judging.trace import first_harmonic, total_indicator_reading
from turnrule.judging.uncertainty import (
    combine,
    conformity,
    expanded_uncertainty,
    probability,
    repeatability_of,
    standard_uncertainty,
)
from turnrule.judging.wear import fit
from turnrule.judging.words import Unit

D = Decimal


def named(rows: object) -> list[object]:
    """Rows as test parameters, each with the label of the published value at its end."""
    assert isinstance(rows, tuple)
    return [pytest.param(*row, id=row[-1].label) for row in rows]


@pytest.mark.parametrize(("z", "printed"), named(uncertainties.TABLE_1 + uncertainties.TABLE_1_EXACT))
def test_probability_of_conformity_has_the_values_of_the_table(z: str, printed: Published) -> None:
    assert printed.reproduced_by(probability(D(z)))


@pytest.mark.parametrize("case", [pytest.param(case, id=case.printed.label) for case in uncertainties.ONE_SIDED])
def test_one_sided_probability_is_the_published_one(case: Conformity) -> None:
    assert case.printed.reproduced_by(probability(case.z))


@pytest.mark.parametrize(("y", "u", "low", "high", "printed"), named(uncertainties.TWO_SIDED))
def test_two_sided_probability_is_the_difference_of_two(
    y: str, u: str, low: str, high: str, printed: Published
) -> None:
    below = probability((D(low) - D(y)) / D(u))
    assert printed.reproduced_by(probability((D(high) - D(y)) / D(u)) - below)


@pytest.mark.parametrize(("kept", "printed"), named(uncertainties.GUARD_BANDS))
def test_risk_at_the_acceptance_limit_is_the_published_one(kept: str, printed: Published) -> None:
    assert printed.reproduced_by(1 - probability(D(kept)))


@pytest.mark.parametrize(("kept", "bound", "status"), uncertainties.GREATEST_RISKS)
def test_risk_stays_under_the_bound_that_the_guard_band_is_named_for(kept: str, bound: str, status: Status) -> None:
    assert status in Status
    assert 1 - probability(D(kept)) < D(bound)


@pytest.mark.parametrize(("width", "printed"), named(uncertainties.RESOLUTIONS))
def test_standard_uncertainty_of_a_rectangle_is_its_width_over_root_twelve(width: str, printed: Published) -> None:
    assert printed.reproduced_by(standard_uncertainty(D(width), D(0), D(0)))


def test_components_of_the_end_gauge_combine_to_the_published_uncertainty() -> None:
    total = D(0)
    for component in uncertainties.END_GAUGE:
        total = standard_uncertainty(D(0), 2 * total, D(component))
    assert uncertainties.END_GAUGE_COMBINED.reproduced_by(total)


def test_a_half_chance_interval_is_1_48_standard_uncertainties_wide() -> None:
    # GUM 4.3.5 (MEMORY): half a width of 0.04 mm at even odds is u = 1.48 x 0.04, so that half lies within 1/1.48.
    within = 1 - 2 * (1 - probability(D(1) / D("1.48")))
    assert within.quantize(D("0.01")) == D("0.50")


def test_reading_just_over_an_inch_limit_is_accepted_by_the_simple_rule_alone() -> None:
    # DERIVED from 16 CCR 3321 (gauge of 0.001 in): 1.2305 in against 1.230 in.
    beyond, resolution = to_mm(D("0.0005"), Unit.IN), to_mm(D("0.001"), Unit.IN)
    uncertainty = combine(resolution, D(0), D(0))
    assert (uncertainty.standard / MM_PER_INCH).quantize(D("1E-9")) == D("0.000288675")
    assert (beyond / uncertainty.standard).quantize(D("1E-6")) == D("1.732051")
    assert conformity(beyond, uncertainty).quantize(D("1E-5")) == D("0.95837")
    exact = 2 * uncertainty.standard / MM_PER_INCH
    assert (D("1.230") + exact).quantize(D("1E-6")) == D("1.230577")
    assert (D("1.230") + D("0.83") * exact).quantize(D("1E-6")) == D("1.230479")
    assert D(0) <= beyond < uncertainty.expanded
    assert beyond > D("0.83") * uncertainty.expanded


@pytest.mark.parametrize("certified", [pytest.param(one, id=f"{one.name} [{one.status}]") for one in data.UNIVARIATE])
def test_deviation_of_repeated_readings_has_every_certified_digit(certified: Univariate) -> None:
    # NIST StRD, univariate summary statistics; the one-pass formula loses digits of NumAcc3 and NumAcc4.
    computed = repeatability_of(certified.readings)
    assert computed.quantize(D(certified.deviation)) == D(certified.deviation)
    total = sum(certified.readings, D(0))
    mean = quotient(total, D(len(certified.readings)), grid=D(certified.mean))
    assert mean == D(certified.mean)


def test_wear_line_has_every_certified_digit_of_norris() -> None:
    # NIST StRD, linear regression, Norris (READ); residual deviation certified to 15 digits.
    line = fit(data.NORRIS)
    assert line is not None
    assert line.slope_error is not None
    assert line.intercept_error is not None
    assert line.residual_deviation is not None
    for computed, certified in (
        (line.intercept, "-0.262323073774029"),
        (line.intercept_error, "0.232818234301152"),
        (line.slope, "1.00211681802045"),
        (line.slope_error, "0.000429796848199937"),
        (line.residual_deviation, "0.884796396144373"),
    ):
        assert computed.quantize(D(certified)) == D(certified)


@pytest.mark.parametrize(("inches", "printed"), named(lengths.DUAL_UNIT_PAIRS))
def test_inch_figure_becomes_the_printed_millimetres(inches: str, printed: Published) -> None:
    assert printed.reproduced_by(to_mm(D(inches), Unit.IN))
    assert from_mm(to_mm(D(inches), Unit.IN), Unit.IN) == D(inches)


@pytest.mark.parametrize(("inches", "printed"), named(lengths.PRINTED_SLIPS))
def test_slip_in_a_printed_pair_shows_beyond_its_rounding(inches: str, printed: Published) -> None:
    assert not printed.reproduced_by(to_mm(D(inches), Unit.IN))


@pytest.mark.parametrize(("inches", "printed"), named(lengths.FRACTIONS))
def test_fraction_of_an_inch_is_exact_in_millimetres(inches: str, printed: Published) -> None:
    numerator, denominator = inches.split("/")
    exact = to_mm(D(numerator) / D(denominator), Unit.IN)
    assert Fraction(exact) == Fraction(inches) * Fraction(254, 10)
    assert exact == printed.value


def test_tie_is_rounded_to_the_even_digit() -> None:
    # NIST SP 811, B.7.1 (MEMORY); a binary float would not see the tie.
    half_even = "ROUND_HALF_EVEN"
    assert on_grid(D("6.9749515"), half_even, D("1E-6")) == D("6.974952")
    assert on_grid(D("6.9749505"), half_even, D("1E-6")) == D("6.974950")


def test_indicator_reading_is_greatest_minus_least_whatever_the_signs() -> None:
    # Circular run-out, ISO 1101 and ASME Y14.5; the example -0.01 to +0.03 is READ (machinecalc.pages.dev).
    assert total_indicator_reading((D("-0.01"), D("0.01"), D("0.03"), D("0.00"))) == D("0.04")
    assert total_indicator_reading((D("-0.04"), D("-0.01"))) == D("0.03")


def test_eccentricity_is_half_of_the_indicator_reading() -> None:
    # r = R + e cos (DERIVED); TM 9-2330-380-14&P gives 0.004 in as the reading, so e is 0.002 in.
    e = to_mm(D("0.002"), Unit.IN)
    trace = lengths.wave(16, cosine=e, offset=D("209.5"))
    assert total_indicator_reading(trace) == to_mm(D("0.004"), Unit.IN)
    assert first_harmonic(trace).amplitude == e


def test_least_squares_circle_of_the_handbook_is_found() -> None:
    # NIST/SEMATECH e-Handbook 2.3.4.4 (READ); the profile is DERIVED: 100 + 0.05 cos + 0.02 sin + 0.01 cos 2.
    trace = lengths.wave(12, cosine=D("0.05"), sine=D("0.02"), twice=D("0.01"), offset=D(100))
    found = first_harmonic(trace)
    assert found.amplitude == D("0.0538516")  # root of 0.05^2 + 0.02^2
    assert found.angle == D("21.80")  # arctan of 0.4
    assert found.residual == D("0.0200000")


def test_runout_of_fixture_and_part_add_as_vectors() -> None:
    # DERIVED: 0.03 at 0 degrees and 0.04 at 90 degrees are 0.05 together, before and after half a turn of the part.
    before = lengths.wave(24, cosine=D("0.03"), sine=D("0.04"))
    after = lengths.wave(24, cosine=D("0.03"), sine=D("-0.04"))
    assert first_harmonic(before).amplitude == first_harmonic(after).amplitude == D("0.05")
    assert first_harmonic(before).angle == D("53.13")
    assert first_harmonic(after).angle == D("306.87")


@pytest.mark.parametrize(("energy", "mass", "heat", "printed"), named(lengths.HEAT))
def test_temperature_rise_is_the_published_one(energy: str, mass: str, heat: str, printed: Published) -> None:
    assert printed.reproduced_by(temperature_rise(D(energy), D(mass), D(heat)))


def test_printed_solution_with_a_slip_is_not_reproduced() -> None:
    # Holt Physics 2009, chapter 9, problem 32: a published solution prints 123.40 where its own inputs give 122.449.
    assert temperature_rise(D(768000), D(14), D(448)).quantize(D("0.01")) == D("122.45") != D("123.40")


def test_lighter_part_heats_more_in_proportion() -> None:
    # DERIVED: 5 % less mass is 1/0.95 - 1 = 5.263 % more heat; manuals say in words that a thin drum runs hotter.
    assert relative_rise(D("10.0"), D("9.5")).quantize(D("0.00001")) == D("0.05263")


def test_guard_band_is_never_a_step_too_small() -> None:
    # u = 0.001 in / root 12 (DERIVED): U = 0.014664696... mm, so 0.0147 and not 0.0146.
    assert expanded_uncertainty(D("0.0254"), D(0), D(0)) == D("0.0147")
    assert math.isclose(float(standard_uncertainty(D("0.0254"), D(0), D(0))), 0.0254 / math.sqrt(12), rel_tol=1e-12)
