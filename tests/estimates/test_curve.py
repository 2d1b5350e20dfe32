"""What the curve promises: refits, units, hospitals without directs, and refusals in three parts."""

import pickle

import numpy as np
import pytest

from hingeline.errors import HingelineError
from hingeline.estimates.curve import fit_curve, isotonic


@pytest.fixture(scope="module")
def counts():
    rng = np.random.default_rng(7)
    age = np.repeat(np.linspace(1, 80, 60), 3)
    hospital = np.tile(["a", "b", "c"], 60)
    n = rng.integers(5, 60, age.size)
    share = 1 / (1 + np.exp(-(-4 + 0.05 * age + np.tile([-0.3, 0, 0.3], 60))))
    return age, rng.binomial(n, share), n, hospital


@pytest.fixture(scope="module")
def fit(counts):
    age, direct, total, hospital = counts
    return fit_curve(age, direct, total, groups=hospital)


def test_a_refit_of_the_same_counts_is_the_fit(fit):
    again = fit.design.refit(fit.cells.direct, fit.cells.total)
    assert again.coefs == pytest.approx(fit.coefs, abs=1e-8)
    assert again.intercepts == pytest.approx(fit.intercepts, abs=1e-8)


def test_a_design_travels_to_another_process(fit):
    design = pickle.loads(pickle.dumps(fit.design))
    assert np.array_equal(
        design.refit(fit.cells.direct, fit.cells.total).coefs,
        fit.design.refit(fit.cells.direct, fit.cells.total).coefs,
    )


@pytest.mark.parametrize(("unit", "scale"), [("months", 12), ("days", 365.25)])
def test_years_months_and_days_give_the_same_curve(counts, fit, unit, scale):
    age, direct, total, hospital = counts
    other = fit_curve(age * scale, direct, total, groups=hospital, unit=unit)
    assert other.edf == pytest.approx(fit.edf, abs=1e-3)
    assert other.predict([10, 40]) == pytest.approx(fit.predict([10, 40]), rel=1e-4)


def test_split_rows_and_weights_are_the_same_counts(counts, fit):
    age, direct, total, hospital = counts
    halves = fit_curve(
        np.tile(age, 2),
        np.r_[direct, np.zeros_like(direct)],
        np.r_[direct, total - direct],
        groups=np.tile(hospital, 2),
    )
    assert halves.edf == pytest.approx(fit.edf, abs=1e-6)
    doubled = fit_curve(age, direct, total, groups=hospital, weights=np.full(age.size, 2))
    assert doubled.cells.total.sum() == 2 * total.sum()


def test_two_groins_alike_leave_robust_errors_and_shrink_naive_ones_by_root_two(counts, fit):
    age, direct, total, hospital = counts
    patients = np.repeat(np.arange(age.size), total)
    seen = np.concatenate([np.arange(n) < d for d, n in zip(direct, total, strict=True)]).astype(float)
    people = np.arange(patients.size)
    once = {"groups": hospital[patients], "smoothness": 1e-4, "basis": 12}
    twice = once | {"smoothness": 2e-4}  # twice the information against twice the cost: the same curve
    naive = fit_curve(age[patients], seen, np.ones(seen.size), **once)
    naive_twice = fit_curve(age[patients], 2 * seen, np.full(seen.size, 2), **twice)
    robust = fit_curve(age[patients], seen, np.ones(seen.size), clusters=people, **once)
    robust_twice = fit_curve(age[patients], 2 * seen, np.full(seen.size, 2), clusters=people, **twice)
    assert naive_twice.coefs == pytest.approx(naive.coefs, abs=1e-3)
    assert np.diag(naive.covariance) / np.diag(naive_twice.covariance) == pytest.approx(2, rel=1e-4)
    # the prior's part of the Bayesian covariance shrinks with its cost; with hardly any cost there is none
    assert np.diag(robust_twice.covariance) == pytest.approx(np.diag(robust.covariance), rel=0.02)


def test_a_hospital_without_directs_has_a_share_of_nought_and_leaves_the_others_alone(counts):
    age, direct, total, hospital = counts
    none = np.where(hospital == "b", 0, direct)
    fit = fit_curve(age, none, total, groups=hospital, smoothness=100.0)
    kept = hospital != "b"
    without = fit_curve(age[kept], direct[kept], total[kept], groups=hospital[kept], smoothness=100.0)
    assert fit.predict([5, 40, 70], mix=[0, 1, 0]) == pytest.approx(np.zeros(3), abs=1e-4)
    assert fit.predict([5, 40, 70], mix=[1, 0, 1]) == pytest.approx(
        without.predict([5, 40, 70], mix=[1, 1]), rel=1e-3
    )
    band = fit.band([5, 40, 70], "simultaneous")
    assert np.all(np.isfinite(band.low) & np.isfinite(band.high))


@pytest.mark.parametrize("what", ["none", "all", "parted"])
def test_counts_without_any_overlap_still_give_a_curve(counts, what):
    age, _, total, hospital = counts
    direct = {"none": 0 * total, "all": total, "parted": np.where(age > 30, total, 0)}[what]
    share = fit_curve(age, direct, total, groups=hospital, basis=12).predict([5, 60])
    assert share == pytest.approx({"none": [0, 0], "all": [1, 1], "parted": [0, 1]}[what], abs=1e-3)


def test_the_simultaneous_band_holds_the_pointwise_one(fit):
    near, whole = fit.band([10, 30, 60]), fit.band([10, 30, 60], "simultaneous")
    assert np.all((whole.low < near.low) & (near.low < near.share))
    assert np.all((whole.high > near.high) & (near.high > near.share))


def test_beyond_the_data_the_logit_is_a_straight_line(fit):
    out = fit.logit(np.array([80.0, 90.0, 100.0, 110.0]))
    assert np.diff(out) == pytest.approx(np.diff(out)[0])


def test_results_have_frames_and_sentences(fit):
    assert fit.to_frame().num_rows == 60
    assert "hospitals" in str(fit)
    assert fit.band([1, 2]).to_frame().num_rows == 2
    assert "simultaneous" in str(fit.band([1, 2], "simultaneous"))
    assert "points a year" in str(fit.steepest())
    assert fit.steepest().to_frame().num_rows == 1
    steps = isotonic([1, 2, 3], [0, 1, 2], [4, 4, 4])
    assert steps.to_frame().num_rows == 3
    assert "never falls" in str(steps)


@pytest.mark.parametrize(
    "options",
    [
        {"age": []},
        {"age": [1, 2, 3, np.nan, 5]},
        {"age": ["x", "y", "z", "v", "w"]},
        {"age": [1, 1, 2, 2, 3]},
        {"direct": [9, 0, 0, 0, 0]},
        {"direct": [-1, 0, 0, 0, 0]},
        {"direct": [0, 0, 0]},
        {"total": [0, 0, 0, 0, 0], "direct": [0, 0, 0, 0, 0]},
        {"unit": "weeks"},
        {"basis": 3},
        {"smoothnesses": 0},
        {"smoothness": -1},
        {"level": 95},
        {"sensitivity": 0.4, "specificity": 0.5},
        {"sensitivity": 1.2},
        {"clusters": [1, 1, 2, 3, 4], "weights": [1, 2, 1, 1, 1]},
        {"groups": ["a", "b"]},
    ],
)
def test_impossible_rows_and_options_are_refused(options):
    given = {"age": [1, 2, 3, 4, 5], "direct": [0, 1, 0, 2, 1], "total": [4, 4, 4, 4, 4]} | options
    with pytest.raises(HingelineError):
        fit_curve(given.pop("age"), given.pop("direct"), given.pop("total"), **given)


@pytest.mark.parametrize(
    "ask",
    [
        lambda f: f.predict([np.nan]),
        lambda f: f.predict(["a"]),
        lambda f: f.predict([5], mix=[1, 2]),
        lambda f: f.predict([5], mix=[0, 0, 0]),
        lambda f: f.band([5], "wide"),
        lambda f: f.steepest(lowest=50, highest=40),
    ],
)
def test_impossible_questions_are_refused(fit, ask):
    with pytest.raises(HingelineError):
        ask(fit)
