"""Random hospital intercepts: what must hold whatever the numbers are, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from hingeline.errors import HingelineError
from hingeline.estimates.hinge import fit_hinges
from hingeline.estimates.hinge_random import random_intercepts

TURNS = (15.0, 40.0)


def hospitals(spread: float, seed: int, each: int = 12, n_hospitals: int = 6):
    draw = np.random.default_rng(seed)
    age = np.tile(np.arange(1.0, 80.0, 2), n_hospitals)
    group = np.repeat(np.arange(n_hospitals), 40)
    total = draw.poisson(each, age.size)
    logit = -3 + 0.03 * age + 0.06 * np.maximum(age - 15, 0) - 0.06 * np.maximum(age - 40, 0)
    logit = logit + spread * draw.normal(size=n_hospitals)[group]
    return age, draw.binomial(total, 1 / (1 + np.exp(-logit))), total, group


@pytest.fixture(scope="module")
def fit():
    age, direct, total, group = hospitals(0.7, 5)
    return random_intercepts(age, direct, total, TURNS, groups=group)


def test_rows_split_or_weighted_change_nothing():
    age, direct, total, group = hospitals(0.7, 5)
    whole = random_intercepts(age, direct, total, TURNS, groups=group)
    first = np.minimum(direct, 1)
    split = random_intercepts(
        np.r_[age, age],
        np.r_[first, direct - first],
        np.r_[first, total - first],
        TURNS,
        groups=np.r_[group, group],
    )
    assert split.coefficients == pytest.approx(whole.coefficients, abs=1e-9)
    assert split.tau == pytest.approx(whole.tau, abs=1e-9)
    doubled = random_intercepts(age, direct, total, TURNS, groups=group, weights=np.full(age.size, 2))
    twice = random_intercepts(age, 2 * direct, 2 * total, TURNS, groups=group)
    assert doubled.coefficients == pytest.approx(twice.coefficients, abs=1e-9)
    assert doubled.hospital_totals == pytest.approx(2 * whole.hospital_totals)


def test_months_and_years_tell_the_same():
    age, direct, total, group = hospitals(0.7, 5)
    years = random_intercepts(age, direct, total, TURNS, groups=group)
    months = random_intercepts(12 * age, direct, total, TURNS, groups=group, unit="months")
    assert months.coefficients == pytest.approx(years.coefficients, abs=1e-9)


def test_the_age_of_origin_changes_only_the_intercept():
    age, direct, total, group = hospitals(0.7, 5)
    here = random_intercepts(age, direct, total, TURNS, groups=group)
    later = random_intercepts(age + 7, direct, total, np.add(TURNS, 7), groups=group)
    assert later.coefficients[1:] == pytest.approx(here.coefficients[1:], abs=1e-8)
    assert later.standard_errors[1:] == pytest.approx(here.standard_errors[1:], rel=1e-6)
    assert later.predict(37) == pytest.approx(here.predict(30), abs=1e-9)


def test_shrunken_intercepts_lie_between_the_fixed_ones_and_the_mean(fit):
    age, direct, total, group = hospitals(0.7, 5)
    fixed = fit_hinges(age, direct, total, turns=0, groups=group, intervals=False, certify=False)
    random = random_intercepts(age, direct, total, (), groups=group)
    apart = fixed.intercepts - random.intercept
    shrunken = random.hospital_intercepts - random.intercept
    assert np.std(shrunken) < np.std(apart)
    assert np.corrcoef(shrunken, apart)[0, 1] > 0.99


def test_the_averaged_share_is_the_integral_over_hospitals(fit):
    for age in (3.0, 25.0, 70.0):
        logit = float(fit.median_logit(age)[0])
        whole, _ = quad(
            lambda z, logit=logit: norm.pdf(z) / (1 + math.exp(-logit - fit.tau * z)), -9, 9, epsabs=1e-12
        )
        assert fit.predict(age) == pytest.approx([whole], abs=1e-10)


@pytest.mark.parametrize("threshold", [0.1, 0.2, 0.3, 0.5])
def test_the_averaged_share_at_a_crossing_is_the_threshold_and_not_before(fit, threshold):
    found = fit.crossing(threshold)
    assert fit.predict(found) == pytest.approx([threshold], abs=1e-9)
    assert np.all(fit.predict(np.linspace(fit.ages[0], found - 1e-6, 2000)) < threshold)


def test_a_threshold_never_reached_or_reached_already_is_an_answer(fit):
    assert fit.crossing(0.999) == math.inf
    assert fit.crossing(1e-4) == -math.inf


def test_more_nodes_change_nothing_that_is_told(fit):
    age, direct, total, group = hospitals(0.7, 5)
    finer = random_intercepts(age, direct, total, TURNS, groups=group, nodes=61)
    assert finer.coefficients == pytest.approx(fit.coefficients, abs=1e-7)
    assert finer.tau == pytest.approx(fit.tau, abs=1e-7)
    assert finer.loglik == pytest.approx(fit.loglik, abs=1e-7)


def test_hospitals_that_are_alike_have_no_spread():
    age, direct, total, _ = hospitals(0.0, 3, n_hospitals=1)
    alike = random_intercepts(
        np.tile(age, 4), np.tile(direct, 4), np.tile(total, 4), TURNS, groups=np.repeat(range(4), age.size)
    )
    assert alike.tau == 0
    assert alike.tau_limits[0] == 0 < alike.tau_limits[1]
    assert alike.hospital_intercepts == pytest.approx([alike.intercept] * 4)
    assert alike.predict(30) == pytest.approx(alike.share_at_median(30), abs=1e-12)
    assert "do not differ beyond chance" in str(alike)


def test_a_hospital_without_directs_is_shrunk_and_one_without_cases_is_the_mean():
    age, direct, total, group = hospitals(0.7, 5)
    direct = np.where(group == 0, 0, direct)
    direct, total = np.where(group == 1, 0, direct), np.where(group == 1, 0, total)
    found = random_intercepts(age, direct, total, TURNS, groups=group)
    assert np.isfinite(found.hospital_intercepts[0])
    assert found.hospital_intercepts[0] == found.hospital_intercepts.min()
    assert found.hospital_intercepts[1] == found.intercept
    kept = group != 1
    without = random_intercepts(age[kept], direct[kept], total[kept], TURNS, groups=group[kept])
    assert found.coefficients == pytest.approx(without.coefficients, abs=1e-9)
    assert str(found).startswith("5 hospitals differ by")


def test_errors_of_typing_are_undone():
    """With the expected counts of a known share seen through errors, that share comes back (closed form)."""
    age = np.repeat([10.0, 30.0, 50.0, 70.0], 2)
    group = np.tile([0, 1], 4)
    true = 1 / (1 + np.exp(-(-3 + 0.05 * age)))
    seen = 0.02 + 0.93 * true
    total = np.full(age.size, 10**7)
    found = random_intercepts(
        age, np.round(total * seen), total, (), groups=group, sensitivity=0.95, specificity=0.98
    )
    assert found.coefficients == pytest.approx([-3, 0.05], abs=1e-4)
    assert found.tau < 1e-3


def test_the_limits_of_the_spread_hold_it(fit):
    low, high = fit.tau_limits
    assert 0 < low < fit.tau < high
    age, direct, total, group = hospitals(0.7, 5)
    narrower = random_intercepts(age, direct, total, TURNS, groups=group, level=0.5).tau_limits
    assert low < narrower[0] < fit.tau < narrower[1] < high


def test_slopes_of_stretches_add_the_changes_up(fit):
    assert fit.slopes == pytest.approx(np.cumsum(fit.coefficients[1:]))
    assert fit.slope_errors[0] == pytest.approx(fit.standard_errors[1])
    pair = fit.covariance[1, 1] + fit.covariance[2, 2] + 2 * fit.covariance[1, 2]
    assert fit.slope_errors[1] == pytest.approx(math.sqrt(pair))


def test_the_tables_and_the_sentence_tell_the_fit(fit):
    table = fit.to_frame().to_pylist()
    assert [row["turn_age"] for row in table] == [None, None, 15.0, 40.0, None]
    assert table[-1]["estimate"] == fit.tau
    assert fit.hospitals_to_frame().num_rows == 6
    assert "6 hospitals differ by a standard deviation of" in str(fit)
    assert str(fit).count("the odds of a direct hernia multiply by") == 3


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"turns": (40, 15)}, "turns"),
        ({"turns": (95,)}, "turns"),
        ({"turns": "fifteen"}, "turns"),
        ({"turns": (math.nan,)}, "turns"),
        ({"turns": (15.1, 15.2, 15.3)}, "turns"),
        ({"nodes": 5}, "nodes"),
        ({"level": 95}, "level"),
        ({"groups": None}, "groups"),
        ({"groups": np.zeros(240)}, "groups"),
        ({"direct": np.zeros(240)}, "direct"),
        ({"unit": "weeks"}, "unit"),
        ({"sensitivity": 0.4, "specificity": 0.5}, "row 0"),
    ],
)
def test_what_cannot_be_is_refused(change, where):
    age, direct, total, group = hospitals(0.7, 5)
    given = {"age": age, "direct": direct, "total": total, "turns": TURNS, "groups": group} | change
    with pytest.raises(HingelineError) as refused:
        random_intercepts(**given)
    assert refused.value.where == where


def test_a_stretch_without_directs_is_refused_and_not_told_as_a_number():
    age, direct, total, group = hospitals(0.7, 5)
    with pytest.raises(HingelineError, match="no finite estimate"):
        random_intercepts(age, np.where(age < 15, 0, direct), total, (14.5, 40), groups=group)


def test_a_threshold_outside_the_shares_is_refused(fit):
    with pytest.raises(HingelineError, match="threshold"):
        fit.crossing(1)
