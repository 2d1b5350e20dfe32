"""The curve against R's mgcv (tests/outside/reference/curve.R made curve.json) and against closed forms."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.special import expit, logit

from hingeline.estimates.curve import fit_curve, isotonic

REFERENCE = json.loads((Path(__file__).parent / "reference" / "curve.json").read_text("utf-8"))
ONE = pytest.mark.parametrize("case", REFERENCE["one"], ids=lambda c: c["name"])
SEVERAL = pytest.mark.parametrize("case", REFERENCE["several"], ids=lambda c: c["name"])


def fitted(case: dict[str, Any], **options: Any):
    return fit_curve(
        case["age"], case["y"], case["n"], groups=case["hospital"], basis=case["size"], **options
    )


def first_hospital(fit) -> np.ndarray:
    return np.eye(len(fit.labels))[0]


@ONE
def test_smoothness_by_reml_matches_mgcv(case):
    """mgcv 1.8-41, bs = "bs", m = c(3, 2), method = "REML", on the same knots."""
    fit = fitted(case, smoothnesses=1)
    assert np.log(fit.smoothness[0]) == pytest.approx(np.log(case["smoothness"]), abs=1e-4)
    assert fit.edf == pytest.approx(case["edf"], abs=1e-4)


@ONE
def test_restricted_likelihood_differences_match_mgcv(case):
    ours = [fitted(case, smoothness=value) for value in case["fixed"]]
    differences = [fit.criterion - ours[1].criterion for fit in ours]
    assert differences == pytest.approx([case["reml"][1] - r for r in case["reml"]], abs=1e-4)
    assert [fit.edf for fit in ours] == pytest.approx(case["fixed_edf"], abs=1e-4)


@ONE
def test_shares_and_bayesian_errors_match_mgcv(case):
    fit = fitted(case, smoothnesses=1)
    band = fit.band(case["new_age"], mix=first_hospital(fit))
    assert logit(band.share) == pytest.approx(np.array(case["link"]), abs=1e-4)
    errors = (logit(band.high) - logit(band.share)) / band.critical
    assert errors == pytest.approx(np.array(case["se"]), rel=1e-4)


@ONE
def test_simultaneous_band_is_as_wide_as_simulation_in_r(case):
    """100,000 draws in R, 10,000 here; the tolerance is seven Monte Carlo standard errors of the quantile."""
    fit = fitted(case, smoothnesses=1)
    band = fit.band(case["new_age"], "simultaneous", mix=first_hospital(fit))
    assert band.critical == pytest.approx(case["simultaneous"], abs=0.1)


def test_errors_over_patients_match_summed_scores_in_r():
    """Two neighbouring cases are one patient; covariance from mgcv's own pieces."""
    case = REFERENCE["one"][1]
    n = np.array(case["n"])
    row = np.repeat(np.arange(n.size), n)
    seen = np.concatenate([np.arange(total) < direct for direct, total in zip(case["y"], n, strict=True)])
    fit = fit_curve(
        np.array(case["age"])[row],
        seen.astype(float),
        np.ones(row.size),
        groups=np.array(case["hospital"])[row],
        clusters=np.arange(row.size) // 2,
        basis=case["size"],
        smoothnesses=1,
    )
    band = fit.band(case["new_age"], mix=first_hospital(fit))
    errors = (logit(band.high) - logit(band.share)) / band.critical
    assert errors == pytest.approx(np.array(case["robust_se"]), rel=1e-4)


@SEVERAL
def test_smoothness_that_differs_by_age_matches_mgcv(case):
    """mgcv's paraPen with the penalty cut into hats, each with its own multiplier."""
    fit = fitted(case, smoothnesses=case["places"])
    theirs = fitted(case, smoothness=case["smoothness"])
    hospital = np.array(case["hospital"]) - 1
    for mine, tolerance in ((theirs, 1e-5), (fit, 1e-4)):
        link = mine.logit(np.array(case["age"], dtype=float)) + mine.intercepts[hospital]
        assert link == pytest.approx(np.array(case["fitted_link"]), abs=tolerance)
    assert fit.edf == pytest.approx(case["edf"], abs=1e-3)
    assert fit.criterion == pytest.approx(theirs.criterion, abs=1e-3)


def test_misread_types_give_back_the_share_that_was_there():
    """Closed form: seen = (1 − sp) + (se + sp − 1)·p; expected counts (scaled up) return p itself."""
    age = np.linspace(1, 60, 60)
    share = expit(-4 + 0.06 * age)
    se, sp, n = 0.9, 0.98, 10**9
    seen = np.round(n * ((1 - sp) + (se + sp - 1) * share))
    fit = fit_curve(age, seen, np.full(60, n), sensitivity=se, specificity=sp, basis=10)
    assert fit.predict(age) == pytest.approx(share, rel=1e-5)


def test_steepest_growth_of_a_logistic_line_is_at_its_middle():
    """Closed form: d/da expit(b(a − m)) is greatest at m, where it is b/4 a year."""
    age = np.linspace(0, 60, 121)
    n = 10**7
    share = expit(0.2 * (age - 31.4))
    steepest = fit_curve(age, np.round(n * share), np.full(121, n), basis=20).steepest()
    assert steepest.age == pytest.approx(31.4, abs=0.1)
    assert steepest.points_per_year == pytest.approx(100 * 0.2 / 4, rel=1e-3)
    assert steepest.interval[0] <= steepest.age <= steepest.interval[1]


def test_isotonic_shares_pool_adjacent_violators():
    """Worked by hand: 1/2, 1/4, 3/4, 1/2 pool to 2/6, 2/6, 5/8, 5/8 (Ayer et al. 1955)."""
    fit = isotonic([1, 2, 3, 4], [1, 1, 3, 2], [2, 4, 4, 4])
    assert fit.share == pytest.approx([1 / 3, 1 / 3, 5 / 8, 5 / 8])
    assert fit.predict([0.5, 1.5, 3, 9]) == pytest.approx([1 / 3, 1 / 3, 5 / 8, 5 / 8])


def test_isotonic_share_is_the_greatest_least_average():
    """Closed form (Barlow et al. 1972): at i, the max over s ≤ i of the min over t ≥ i of the average of s..t."""
    seed = int(np.random.SeedSequence().entropy % 2**32)
    print("seed", seed)
    rng = np.random.default_rng(seed)
    n = rng.integers(1, 30, 25)
    y = rng.binomial(n, np.linspace(0.1, 0.6, 25))
    expected = [
        max(min(y[s : t + 1].sum() / n[s : t + 1].sum() for t in range(i, 25)) for s in range(i + 1))
        for i in range(25)
    ]
    assert isotonic(np.arange(25.0), y, n).share == pytest.approx(expected)
