"""Crossings against closed forms and against scipy's root finder on the share written out."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import expit, logit

from hingeline.estimates.crossing import crossing
from hingeline.estimates.curve import fit_curve
from hingeline.estimates.first_reach import curve_crossings, hinge_crossings
from hingeline.estimates.hinge import fit_hinges
from hingeline.estimates.mix import threshold_logit
from hingeline.estimates.resample import bootstrap_hinges
from hingeline.estimates.spline import equal_spline


@pytest.fixture
def rng() -> np.random.Generator:
    seed = int(np.random.SeedSequence().entropy % 2**32)
    print("seed", seed)
    return np.random.default_rng(seed)


@pytest.mark.parametrize("threshold", [0.05, 0.1, 0.2, 0.3])
def test_an_exact_logistic_line_crosses_where_its_formula_says(threshold):
    """Closed form: (logit t − α)/β."""
    alpha, beta, n = -4.0, 0.06, 10**8
    age = np.linspace(0, 90, 181)
    direct = np.round(n * expit(alpha + beta * age))
    total = np.full(age.size, n)
    expected = (logit(threshold) - alpha) / beta
    assert crossing(fit_curve(age, direct, total), threshold).age == pytest.approx(expected, abs=1e-3)
    hinges = fit_hinges(age, direct, total, turns=0, certify=False, intervals=False)
    assert crossing(hinges, threshold).age == pytest.approx(expected, abs=1e-3)


def test_an_exact_hinge_crosses_where_its_formula_says():
    """Closed form on the second stretch: τ + (logit t − α − βτ)/(β + γ)."""
    alpha, beta, gamma, tau, n = -4.2, 0.01, 0.2, 15.0, 10**8
    age = np.arange(0, 40.5, 0.5)
    share = expit(alpha + beta * age + gamma * np.maximum(age - tau, 0))
    fit = fit_hinges(age, np.round(n * share), np.full(age.size, n), turns=1, certify=False, intervals=False)
    expected = tau + (logit(0.1) - alpha - beta * tau) / (beta + gamma)
    assert crossing(fit, 0.1).age == pytest.approx(expected, abs=1e-3)


def test_first_crossings_of_hinges_are_those_of_a_root_finder(rng):
    """scipy's brentq on the standardised share between the first grid age above and the one before."""
    replicates, hospitals = 60, 4
    coefficients = np.column_stack(
        [
            rng.normal(-4, 0.5, (replicates, hospitals)),
            rng.normal(0.02, 0.02, replicates),
            rng.normal(0.3, 0.1, replicates),
            rng.normal(-0.35, 0.1, replicates),
        ]
    )
    turns = np.sort(rng.uniform(8, 50, (replicates, 2)), axis=1)
    mix = rng.dirichlet(np.ones(hospitals))
    found = hinge_crossings(coefficients, turns, 0.1, mix, 0.0, 90.0)
    grid = np.linspace(0, 90, 3001)
    for theta, tau, at in zip(coefficients, turns, found, strict=True):

        def share(age: float, theta=theta, tau=tau) -> float:
            bent = theta[4] * age + theta[5:] @ np.maximum(age - tau, 0)
            return float(mix @ expit(theta[:hospitals] + bent))

        above = np.array([share(a) for a in grid]) >= 0.1
        if above[0]:
            assert at == -np.inf
        elif not above.any():
            assert at > 90 or np.isclose(share(at), 0.1, atol=1e-9)  # a peak between two grid ages
        else:
            first = int(np.argmax(above))
            expected = brentq(lambda a: share(a) - 0.1, grid[first - 1], grid[first], xtol=1e-10)
            assert at <= expected + 1e-7
            assert share(at) == pytest.approx(0.1, abs=1e-9)


def test_first_crossings_of_curves_are_those_of_a_root_finder(rng):
    spline = equal_spline(0.0, 90.0, 16)
    coefs = np.cumsum(rng.normal(0.25, 0.5, (40, 16)), axis=1) - 4.5
    intercepts = rng.normal(0, 0.4, (40, 3))
    mix = rng.dirichlet(np.ones(3))
    found = curve_crossings(intercepts, coefs, spline, 0.1, mix, 0.0, 90.0)
    grid = np.linspace(0, 90, 4001)
    smooth = coefs @ spline.basis(grid).T
    for row, at in enumerate(found):
        above = (mix * expit(smooth[row][:, None] + intercepts[row])).sum(axis=1) >= 0.1
        if above[0]:
            assert at == -np.inf
        elif above.any():
            first = int(np.argmax(above))

            def gap(age: float, row=row) -> float:
                level = spline.basis(np.array([age]))[0] @ coefs[row]
                return float(mix @ expit(level + intercepts[row])) - 0.1

            assert at == pytest.approx(brentq(gap, grid[first - 1], grid[first], xtol=1e-10), abs=1e-6) or (
                at < grid[first - 1] and abs(gap(at)) < 1e-6
            )


def test_the_logit_of_a_threshold_under_a_mix_with_empty_hospitals():
    """By hand: a hospital without directs halves the share, so 10% needs 20% of the other; 60% is out of reach."""
    intercepts = np.array([[0.5, -np.inf], [0.5, np.nan], [np.inf, 0.5]])
    mix = np.array([0.5, 0.5])
    assert threshold_logit(intercepts, mix, 0.1)[:2] == pytest.approx([logit(0.2) - 0.5, logit(0.1) - 0.5])
    assert threshold_logit(intercepts, mix, 0.6)[0] == np.inf
    assert threshold_logit(intercepts, mix, 0.4)[2] == -np.inf
    assert threshold_logit(intercepts, mix, 0.6)[2] == pytest.approx(logit(0.2) - 0.5)


def test_standardised_shares_of_replicates_are_the_weighted_sums_by_hand(rng):
    age = np.tile(np.arange(0.5, 60), 2)
    hospital = np.repeat([0, 1], 60)
    total = np.full(120, 60)
    direct = rng.binomial(total, expit(-3.5 + 0.05 * age + 0.4 * hospital))
    boot = bootstrap_hinges(
        age, direct, total, groups=hospital, turns=1, replicates=5, seed=2, audit=0, ages=[20, 50], mix=[3, 1]
    )
    theta, tau = boot.coefficients, boot.turns
    for place, at in enumerate([20, 50]):
        bent = theta[:, 2] * at + theta[:, 3] * np.maximum(at - tau[:, 0], 0)
        by_hand = 0.75 * expit(theta[:, 0] + bent) + 0.25 * expit(theta[:, 1] + bent)
        assert boot.shares[:, place] == pytest.approx(by_hand)


def test_bootstrapped_crossings_spread_as_the_delta_method_says(rng):
    """A straight logit: var of (logit t − α)/β from the Fisher information; 0 turns, so nothing else moves."""
    alpha, beta, threshold = -3.0, 0.05, 0.2
    age = np.arange(0.5, 80)
    total = np.full(age.size, 300)
    direct = np.round(total * expit(alpha + beta * age))
    replicates = 1200
    boot = bootstrap_hinges(
        age, direct, total, turns=0, replicates=replicates, seed=int(rng.integers(2**31)), audit=0,
        thresholds=[threshold], workers=1,
    )  # fmt: skip
    p = expit(alpha + beta * age)
    design = np.column_stack([np.ones_like(age), age])
    covariance = np.linalg.inv((design * (total * p * (1 - p))[:, None]).T @ design)
    at = (logit(threshold) - alpha) / beta
    gradient = np.array([-1 / beta, -at / beta])
    expected = gradient @ covariance @ gradient
    ratio = boot.crossings[:, 0].var(ddof=1) / expected
    assert ratio == pytest.approx(1, abs=0.03 + 5 * np.sqrt(2 / replicates))
