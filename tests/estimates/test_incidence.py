"""Rates: what must hold whatever the counts."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import poisson

from hingeline.errors import HingelineError
from hingeline.estimates.incidence import (
    EUROPEAN_STANDARD_2013,
    WHO_WORLD_STANDARD,
    incidence,
    incidence_limits,
    standard_weights,
    standardise,
)


@pytest.mark.parametrize("true", [0.3, 2.0, 11.0, 80.0])
def test_exact_limits_never_cover_less_than_their_level(true: float) -> None:
    cases = np.arange(0, 300)
    low, high = incidence_limits(cases, 100_000)
    assert poisson.pmf(cases, true)[(low <= true) & (true <= high)].sum() >= 0.95


def test_no_case_has_a_rate_of_none_and_an_upper_limit() -> None:
    found = incidence(0, 50_000)
    assert found.rate == found.low == 0
    assert found.high == pytest.approx(3.6889 * 2, abs=1e-3)  # −ln(0.025), two-sided


def test_a_standard_like_the_population_gives_the_crude_rate() -> None:
    cases, years = np.array([3, 8, 20]), np.array([1e4, 2e4, 5e3])
    found = standardise(cases, years, years)
    assert found.rate == pytest.approx(found.crude)
    # with equal weights a case the gamma limits are the exact Poisson limits (Fay & Feuer 1997, section 3)
    exact = incidence(cases.sum(), years.sum())
    assert (found.low, found.high) == pytest.approx((exact.low, exact.high), rel=1e-9)


def test_the_unit_of_the_standard_does_not_matter() -> None:
    cases, years, standard = [3, 8, 20], [1e4, 2e4, 5e3], np.array([5.0, 3.0, 1.0])
    assert standardise(cases, years, standard).rate == pytest.approx(
        standardise(cases, years, 7 * standard).rate
    )


def test_no_cases_at_all_have_an_upper_limit() -> None:
    found = standardise([0, 0], [1e4, 1e4], [1, 1])
    assert found.rate == found.low == 0
    assert found.high > 0


def test_standard_populations_are_added_up_over_wider_groups() -> None:
    wide = standard_weights(EUROPEAN_STANDARD_2013, [0, 20, 65])
    assert wide.tolist() == [21_500, 59_000, 19_500]
    assert standard_weights(WHO_WORLD_STANDARD, [0]).sum() == pytest.approx(sum(WHO_WORLD_STANDARD.values()))


def test_a_boundary_that_the_standard_lacks_is_refused_and_named() -> None:
    with pytest.raises(HingelineError, match="18 years"):
        standard_weights(WHO_WORLD_STANDARD, [0, 18])


@pytest.mark.parametrize(
    "call",
    [
        lambda: incidence(-1, 10),
        lambda: incidence(1, 0),
        lambda: incidence(1, 10, level=2),
        lambda: standardise([1], [10], [1, 2]),
        lambda: standardise([1], [10], [0]),
        lambda: standardise([1], [10], [1], method="byars"),
        lambda: standard_weights(WHO_WORLD_STANDARD, [5, 10]),
    ],
)
def test_impossible_rates_are_refused(call: object) -> None:
    with pytest.raises(HingelineError):
        call()  # type: ignore[operator]


def test_rates_print_as_sentences_and_frames() -> None:
    crude, standardised = incidence(12, 20_000), standardise([5, 7], [1e4, 1e4], [1, 3])
    assert str(crude) == "60.0 per 100,000 person-years (95% CI 31.0–104.8)"
    assert "directly standardised" in str(standardised)
    assert crude.to_frame().num_rows == standardised.to_frame().num_rows == 1
