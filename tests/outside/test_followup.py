"""Follow-up against R's survival and cmprsk, lifelines, statsmodels, published values and closed forms.

R's values are made by reference/followup.R and lie in reference/followup.json with their versions.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import isotonic_regression
from scipy.stats import chi2 as chi_squared

import hingeline as hl
from hingeline.estimates.followup import weighted_risks

R = json.loads((Path(__file__).parent / "reference" / "followup.json").read_text(encoding="utf-8"))


def _arrays(name, *columns):
    return [np.array(R[name][column], dtype=float) for column in columns]


def _same_curve(curve, expected, se):
    for at, survival, error, low, high in zip(
        expected["at"], expected["survival"], expected["se"], expected["low"], expected["high"], strict=True
    ):
        told = curve.risk_at_days(at)
        assert 1 - told.risk == pytest.approx(survival, abs=1e-9)
        assert getattr(curve, se)[np.searchsorted(curve.days, at, side="right") - 1] == pytest.approx(
            error, abs=1e-9
        )
        assert (1 - told.high, 1 - told.low) == pytest.approx((low, high), abs=1e-9)


def test_aml_curve_and_log_log_limits_match_r_survival():
    time, status = _arrays("aml", "time", "status")
    curve = hl.survival(time, status)
    _same_curve(curve, R["aml"]["km"], "se")
    # the project's table of outside checks (R survival 3.5-3), typed
    told = curve.risk_at_days(48)
    assert (1 - told.risk, 1 - told.high, 1 - told.low) == pytest.approx((0.0828, 0.0070, 0.287), abs=5e-4)


def test_remissions_on_6_mp_match_the_published_textbook_values():
    # Freireich 1963, weeks; data and values from memory, recomputed with R
    time, status, arm = _arrays("six_mp", "time", "status", "arm")
    curve = hl.survival(time[arm == 0], status[arm == 0])
    _same_curve(curve, R["six_mp"]["km"], "se")
    for week, free in ((6, 0.857), (10, 0.753), (22, 0.538), (23, 0.448)):
        assert 1 - curve.risk_at_days(week).risk == pytest.approx(free, abs=5e-4)
    test = hl.log_rank(time, status, arm)
    assert test.chi2 == pytest.approx(16.8, abs=0.05)
    assert test.chi2 == pytest.approx(R["six_mp"]["log_rank"]["chi2"][0], rel=1e-9)
    assert hl.cox(time, status, arm).coefficients[0] == pytest.approx(1.572, abs=5e-4)
    assert hl.cox(time, status, arm, ties="breslow").coefficients[0] == pytest.approx(1.509, abs=5e-4)


@pytest.mark.parametrize("ties", ["efron", "breslow"])
def test_cox_on_heavy_ties_matches_r_survival(ties):
    time, status, arm = _arrays("six_mp", "time", "status", "arm")
    _same_cox(hl.cox(time, status, arm, ties=ties), R["six_mp"][ties])


def _same_cox(fit, expected, proportional=True):
    assert fit.coefficients == pytest.approx(expected["coefficients"], rel=1e-7)
    assert fit.se == pytest.approx(expected["se"], rel=1e-7)
    if fit.robust:
        assert fit.robust_se == pytest.approx(expected["robust_se"], rel=1e-6)
    assert [fit.null_log_likelihood, fit.log_likelihood] == pytest.approx(expected["loglik"], rel=1e-9)
    if proportional:
        for transform in ("km", "identity"):
            test = fit.proportional(transform)
            assert [*test.chi2, test.overall_chi2] == pytest.approx(expected[f"zph_{transform}"], rel=1e-5)


def test_paired_eyes_match_r_survival_with_errors_over_patients():
    ids, time, status, trt, age = _arrays("diabetic", "id", "time", "status", "trt", "age")
    curve = hl.survival(time, status, clusters=ids)
    _same_curve(curve, R["diabetic"]["robust"], "robust_se")
    _same_curve(hl.survival(time, status), R["diabetic"]["alone"], "se")
    at = np.searchsorted(curve.days, 48, side="right") - 1
    assert (curve.survival[at], curve.se[at], curve.robust_se[at]) == pytest.approx(
        (0.58922, 0.02677, 0.02877), abs=5e-6
    )
    fit = hl.cox(time, status, trt, clusters=ids)
    assert (fit.coefficients[0], fit.se[0], fit.robust_se[0]) == pytest.approx(
        (-0.77664, 0.16878, 0.14746), abs=5e-6
    )
    _same_cox(fit, R["diabetic"]["cox"])
    _same_cox(hl.cox(time, status, np.column_stack([trt, age]), clusters=ids), R["diabetic"]["cox_age"])


def test_log_rank_over_patients_is_the_robust_score_test_of_r_survival():
    ids, time, status, trt = _arrays("diabetic", "id", "time", "status", "trt")
    test = hl.log_rank(time, status, trt, clusters=ids)
    assert test.chi2 == pytest.approx(R["diabetic"]["log_rank"]["chi2"][0], rel=1e-9)
    assert test.robust_chi2 == pytest.approx(R["diabetic"]["robust_score"][0], rel=1e-9)


def test_length_of_follow_up_matches_quantiles_of_r_survival():
    time, status = _arrays("diabetic", "time", "status")
    length = hl.follow_up_length(time, status)
    told = np.array([length.quarter, length.median, length.three_quarters]) * 365.25
    assert told == pytest.approx(R["diabetic"]["ended"], rel=1e-9)
    assert np.array([length.low, length.high]) * 365.25 == pytest.approx(
        R["diabetic"]["ended_limits"], rel=1e-9
    )


def test_competing_risks_match_r_survival_and_cmprsk():
    ids, time, what = _arrays("mgus2", "id", "time", "what")
    alone = hl.cumulative_incidence(time, what)
    pairs = hl.cumulative_incidence(time, what, clusters=ids // 2)
    at = np.searchsorted(alone.days, R["mgus2"]["at"], side="right") - 1
    for found, expected, near in (
        (alone.incidence, "share", 1e-9),
        (alone.incidence, "cmprsk", 1e-9),
        (alone.se, "se", 1e-9),
        (pairs.robust_se, "robust_se", 1e-7),  # by a difference quotient: see followup.R
    ):
        np.testing.assert_allclose(found[:, at].T, R["mgus2"][expected], rtol=0, atol=near)
    # the project's table of outside checks, typed
    assert alone.incidence[0, at] == pytest.approx([0.03410, 0.06372, 0.09981], abs=5e-6)
    assert alone.incidence[1, at] == pytest.approx([0.32037, 0.53182, 0.72403], abs=5e-6)


def test_probability_weights_match_r_survival():
    time, status, inst, w, age, sex, ecog = _arrays(
        "lung", "time", "status", "inst", "w", "age", "sex", "ecog"
    )
    curve = hl.survival(time, status, clusters=inst, probability_weights=w)
    _same_curve(curve, R["lung"]["weighted_km"], "robust_se")
    later = np.searchsorted(curve.days, R["lung"]["weighted_km"]["at"], side="left")
    assert curve.weighted_at_risk[later] == pytest.approx(R["lung"]["weighted_km"]["at_risk"], rel=1e-9)
    x = np.column_stack([age, sex, ecog])
    fit = hl.cox(time, status, x, clusters=inst, probability_weights=w)
    _same_cox(fit, R["lung"]["weighted"], proportional=False)


def test_strata_match_r_survival():
    time, status, age, sex, ecog = _arrays("lung", "time", "status", "age", "sex", "ecog")
    x = np.column_stack([age, ecog])
    _same_cox(hl.cox(time, status, x, strata=sex), R["lung"]["stratified"])
    _same_cox(hl.cox(time, status, x, strata=sex, ties="breslow"), R["lung"]["stratified_breslow"])
    group = np.minimum(ecog, 2)
    for test, expected in (
        (hl.log_rank(time, status, group), R["lung"]["three"]),
        (hl.log_rank(time, status, group, strata=sex), R["lung"]["by_sex"]),
    ):
        assert test.chi2 == pytest.approx(expected["chi2"][0], rel=1e-9)
        assert test.expected == pytest.approx(expected["expected"], rel=1e-9)


def test_the_weighted_kernel_matches_lifelines():
    lifelines = pytest.importorskip("lifelines")
    rng = np.random.default_rng(1958)
    days, outcome, w = rng.integers(1, 40, 400), rng.choice([0, 1, 2], 400), rng.gamma(1, 1, (3, 400))
    found = weighted_risks(days, outcome, w, [0, 7, 30, 90])
    for weights, risks in zip(w, found, strict=True):
        with pytest.warns(lifelines.exceptions.StatisticalWarning):
            fit = lifelines.KaplanMeierFitter().fit(days, outcome == 1, weights=weights)
        assert risks == pytest.approx(1 - fit.predict([0, 7, 30, 90]).to_numpy(), abs=1e-12)


def test_stratified_cox_matches_statsmodels():
    from statsmodels.duration.hazard_regression import PHReg

    rng = np.random.default_rng(1972)
    x = rng.normal(size=(200, 2))
    days, outcome, stratum = rng.integers(1, 30, 200), rng.integers(0, 2, 200), rng.integers(0, 3, 200)
    theirs = PHReg(days, x, status=outcome, strata=stratum, ties="breslow").fit(disp=0)
    ours = hl.cox(days, outcome, x, strata=stratum, ties="breslow")
    assert ours.coefficients == pytest.approx(theirs.params, abs=1e-6)
    assert ours.se == pytest.approx(theirs.bse, abs=1e-6)


def test_turnbull_on_current_status_data_is_isotonic_regression():
    # closed form: Ayer et al., Ann Math Stat 1955;26:641–647
    rng = np.random.default_rng(1955)
    seen = rng.integers(1, 100, 800)
    had = rng.random(800) < 1 - np.exp(-seen / 60)
    curve = hl.turnbull(np.where(had, 0, seen), np.where(had, seen, np.inf))
    days, of = np.unique(seen, return_inverse=True)
    n = np.bincount(of)
    steps = isotonic_regression(np.bincount(of, weights=had) / n, weights=n).x
    assert [curve.risk_at_days(day)[0] for day in days] == pytest.approx(steps, abs=1e-6)
    assert curve.gap < 1e-6


def test_turnbull_on_known_days_is_kaplan_and_meiers_curve_of_r():
    time, status = _arrays("aml", "time", "status")
    curve = hl.turnbull(time, np.where(status == 1, time, np.inf))
    expected = R["aml"]["km"]
    assert [1 - curve.risk_at_days(at)[0] for at in expected["at"]] == pytest.approx(
        expected["survival"], abs=1e-8
    )


def test_turnbull_reaches_at_least_the_likelihood_of_r_survival():
    left = np.array(R["found"]["left"], dtype=float)
    right = np.array([np.inf if one is None else one for one in R["found"]["right"]])
    curve = hl.turnbull(left, right)
    time, survival = np.array(R["found"]["time"]), np.array(R["found"]["survival"])

    def theirs(day):
        # R places each mass at the middle of its stretch; no end of a row lies within a stretch
        return np.append(1.0, survival)[np.searchsorted(time, day, side="right")] if np.isfinite(day) else 0.0

    value = sum(math.log(theirs(a) - theirs(b)) for a, b in zip(left, right, strict=True))
    assert curve.log_likelihood >= value - 1e-9
    # its own iteration stops early: near, not equal
    assert [1 - curve.risk_at_days(day)[0] for day in (8, 12, 25)] == pytest.approx(
        [theirs(day) for day in (8, 12, 25)], abs=5e-3
    )


def test_exact_poisson_limits_are_chi_squared_quantiles():
    # Garwood, Biometrika 1936;28:437–442: half χ² quantiles of 2x and 2x + 2 degrees of freedom
    rate = hl.person_year_rate([2, 5], [365.25 * 100, 365.25 * 250])
    assert rate.rate == pytest.approx(2.0)
    limits = chi_squared.ppf(0.025, 14) / 2 / 350 * 100, chi_squared.ppf(0.975, 16) / 2 / 350 * 100
    assert (rate.low, rate.high) == pytest.approx(limits, rel=1e-10)
    # none: the upper limit is −log(0.025) events (closed form)
    none = hl.person_year_rate(0, 365.25 * 100)
    assert (none.low, none.high) == pytest.approx((0, -math.log(0.025)), abs=1e-9)


def test_none_of_347_followed_has_the_wilson_limit_of_the_trade_table():
    # 0 of 347 (Reistrup 2023): Wilson's upper limit 1.09% (recomputed; Newcombe 1998)
    told = hl.survival([400], [0], weights=[347]).risk(1)
    assert (told.risk, told.low) == (0, 0)
    assert told.high == pytest.approx(0.0109, abs=5e-5)
