"""The bootstrap over patients against closed forms: moments of the multinomial, errors of means and shares."""

import numpy as np
import pytest
from scipy.stats import chi2, norm

from hingeline.estimates.resample import Patients, bootstrap_curve, percentile_interval, resample

ONE_IN_A_MILLION = 1e-6


@pytest.fixture
def seed() -> int:
    chosen = int(np.random.SeedSequence().entropy % 2**32)
    print("seed", chosen)
    return chosen


@pytest.mark.parametrize("weights", [[5, 3, 2, 1, 9], [500, 30, 20, 1, 90]], ids=["few", "many"])
def test_redrawn_patients_have_the_moments_of_a_multinomial(weights, seed):
    """Mean N·p and covariance N(diag p − p p'); the Wald statistic of the mean is χ² with patterns − 1."""
    patients = Patients(np.array(weights, dtype=np.int64))
    replicates = 4000
    drawn = np.array([patients.draw(seed, i) for i in range(replicates)])
    assert np.all(drawn.sum(axis=1) == sum(weights))
    p = np.array(weights) / sum(weights)
    covariance = sum(weights) * (np.diag(p) - np.outer(p, p))
    off = (drawn.mean(axis=0) - sum(weights) * p)[:-1]
    wald = replicates * off @ np.linalg.solve(covariance[:-1, :-1], off)
    assert chi2.sf(wald, len(weights) - 1) > ONE_IN_A_MILLION
    spread = drawn.var(axis=0, ddof=1) / np.diag(covariance)
    tolerance = norm.isf(ONE_IN_A_MILLION / 10) * np.sqrt((2 + 1 / np.diag(covariance)) / replicates)
    assert np.all(np.abs(spread - 1) < tolerance)


def test_bootstrap_error_of_a_share_is_the_binomial_error(seed):
    """Var of the redrawn share is p(1 − p)/n exactly (Efron 1979)."""
    directs, patients, replicates = 37, 300, 4000
    shares = resample(
        lambda counts: counts[0] / counts.sum(),
        [directs, patients - directs],
        replicates=replicates,
        seed=seed,
    )[:, 0]
    expected = (directs / patients) * (1 - directs / patients) / patients
    tolerance = norm.isf(ONE_IN_A_MILLION) * np.sqrt(2.1 / replicates)
    assert shares.var(ddof=1) / expected == pytest.approx(1, abs=tolerance)


def test_bootstrap_error_of_a_share_over_patients_with_two_groins_is_the_ratio_estimators(seed):
    """Σ (direct − share·groins)² over patients, over groins²: the linearised variance of a ratio (Cochran 1977)."""
    direct, groins = np.array([0, 1, 0, 1, 2]), np.array([1, 1, 2, 2, 2])
    weights = np.array([3000, 400, 900, 80, 160])
    share = (weights @ direct) / (weights @ groins)
    expected = (weights @ (direct - share * groins) ** 2) / (weights @ groins) ** 2
    replicates = 4000
    shares = resample(
        lambda counts: (counts @ direct) / (counts @ groins), weights, replicates=replicates, seed=seed
    )[:, 0]
    assert shares.var(ddof=1) / expected == pytest.approx(1, abs=0.01 + 4.75 * np.sqrt(2.1 / replicates))
    assert expected > 1.2 * share * (1 - share) / (weights @ groins)  # two groins of one patient are alike


def test_a_bootstrapped_curve_spreads_as_the_binomial_where_ages_do_not_matter(seed):
    """Four ages far apart and hardly smoothed: each share's variance is p(1 − p)/n."""
    age, n = np.array([0.0, 20.0, 40.0, 60.0]), np.array([800, 900, 1000, 1100])
    direct = np.array([80, 270, 250, 660])
    boot = bootstrap_curve(
        age, direct, n, basis=4, smoothness=1e-6, replicates=1500, seed=seed, ages=age, workers=1
    )
    p = direct / n
    ratio = boot.shares.var(axis=0, ddof=1) / (p * (1 - p) / n)
    assert ratio == pytest.approx(np.ones(4), abs=0.03 + 5 * np.sqrt(2 / 1500))


def test_percentile_limits_are_the_order_statistics_of_davison_and_hinkley():
    """999 replicates: the 25th and the 975th (Davison & Hinkley 1997, section 5.2.1)."""
    values = np.random.default_rng(1).permutation(np.arange(1, 1000))
    assert percentile_interval(values, 0.95) == (25, 975)
