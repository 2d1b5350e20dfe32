"""Hinges: the maximum is global, and does not depend on units, bins or how patients are counted."""

from __future__ import annotations

import pickle
from itertools import pairwise

import numpy as np
import pytest
from scipy.special import gammaln
from scipy.stats import binom

from hingeline.errors import HingelineError
from hingeline.estimates.hinge import choose_turns, fit_hinges, prepare_hinges, share

from .hinge_cases import (
    KINDS,
    fresh_seed,
    one_hospital,
    plain_maximum,
    separated_infancy,
    straight,
    unequal_gaps,
)


def plain(age, direct, total, group, **options):
    return fit_hinges(age, direct, total, groups=group, intervals=False, **options)


def coefficients_of(y, n):
    return float((gammaln(n + 1) - gammaln(y + 1) - gammaln(n - y + 1)).sum())


@pytest.mark.parametrize("turns", [1, 2])
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_an_independent_solver_never_beats_the_fit(kind, turns):
    rng = np.random.default_rng(fresh_seed())
    age, y, n, group = kind(rng)
    fit = plain(age, y, n, group, turns=turns)
    assert fit.certificate.gap <= 1e-6
    assert fit.certificate.proven
    assert plain_maximum(age, y, n, group, turns) + coefficients_of(y, n) <= fit.loglik + 1e-6


def test_many_small_data_sets_are_all_at_their_maximum():
    rng = np.random.default_rng(fresh_seed())
    for number in range(20):
        age, y, n, group = KINDS[number % len(KINDS)](rng)
        fit = plain(age, y, n, group, turns=1)
        assert plain_maximum(age, y, n, group, 1) + coefficients_of(y, n) <= fit.loglik + 1e-6


def test_three_turns_are_no_worse_than_two_and_certified():
    rng = np.random.default_rng(fresh_seed())
    age, y, n, group = one_hospital(rng)
    fits = [plain(age, y, n, group, turns=k) for k in (0, 1, 2, 3)]
    assert all(a.loglik <= b.loglik + 1e-6 for a, b in pairwise(fits))
    assert fits[3].certificate.gap <= 1e-6


def test_years_months_and_days_give_the_same_turns_and_as_many():
    rng = np.random.default_rng(fresh_seed())
    age, y, n, group = unequal_gaps(rng)
    factors = {"years": 1.0, "months": 12.0, "days": 365.25}
    fits = [plain(age * f, y, n, group, turns=2, unit=unit) for unit, f in factors.items()]
    chosen = [
        choose_turns(
            age * f, y, n, groups=group, unit=unit, most=2, replicates=0, intervals=False, certify=False
        ).by_bic
        for unit, f in factors.items()
    ]
    for fit in fits[1:]:
        assert fit.loglik == pytest.approx(fits[0].loglik, abs=1e-6)
        assert fit.taus == pytest.approx(fits[0].taus, abs=1e-3)
        assert fit.slopes == pytest.approx(fits[0].slopes, abs=1e-4)
    assert len(set(chosen)) == 1


def test_splitting_bins_leaves_differences_of_the_criterion_unchanged():
    rng = np.random.default_rng(fresh_seed())
    age, y, n, group = one_hospital(rng)
    part = rng.binomial(n, 0.4)
    y_part = np.array(
        [rng.hypergeometric(a, b - a, c) if b else 0 for a, b, c in zip(y, n, part, strict=True)]
    )
    whole = [plain(age, y, n, group, turns=k).bic for k in (0, 1, 2)]
    two = np.tile(age, 2), np.concatenate([y_part, y - y_part]), np.concatenate([part, n - part])
    split = [plain(*two, np.tile(group, 2), turns=k).bic for k in (0, 1, 2)]
    assert np.diff(split) == pytest.approx(np.diff(whole), abs=1e-5)


def test_every_groin_duplicated_leaves_robust_errors_and_halves_naive_variances():
    rng = np.random.default_rng(fresh_seed())
    who = np.arange(1200)
    age = rng.integers(0, 70, 1200) + 0.5
    direct = rng.binomial(1, 1 / (1 + np.exp(3 - 0.06 * np.maximum(age - 20, 0))))
    one = np.ones_like(direct)
    once = fit_hinges(age, direct, one, clusters=who, intervals=False)
    twice = fit_hinges(
        np.tile(age, 2), np.tile(direct, 2), np.tile(one, 2), clusters=np.tile(who, 2), intervals=False
    )
    assert twice.taus == pytest.approx(once.taus, abs=1e-4)
    assert twice.coefficients == pytest.approx(once.coefficients, rel=1e-3, abs=1e-5)
    assert twice.robust_standard_errors == pytest.approx(once.robust_standard_errors, rel=1e-3)
    assert twice.standard_errors == pytest.approx(once.standard_errors / np.sqrt(2), rel=1e-3)
    assert twice.n_patients == once.n_patients == 1200


def test_weights_count_a_pattern_as_often_as_its_patients():
    rng = np.random.default_rng(fresh_seed())
    age = rng.integers(0, 60, 400) + 0.5
    direct, weight = rng.binomial(1, 0.1 + age / 100), rng.integers(1, 4, 400)
    one, who = np.ones(400, int), np.arange(400)
    short = fit_hinges(age, direct, one, weights=weight, clusters=who, intervals=False)
    times = np.repeat(who, weight)
    long = fit_hinges(age[times], direct[times], one[times], clusters=np.arange(times.size), intervals=False)
    assert short.loglik == pytest.approx(long.loglik, abs=1e-7)
    assert short.bic == pytest.approx(long.bic, abs=1e-6)
    assert short.robust_standard_errors == pytest.approx(long.robust_standard_errors, rel=1e-5)


def test_no_directs_of_40_is_not_predicted_as_one_per_cent():
    """Penalties on intercepts turn 0 of 40 into 1.2%; ours leaves fitted directs equal to the observed."""
    age = np.concatenate([np.linspace(0, 60, 40), np.linspace(0, 60, 60)])
    group = np.repeat([0, 1], [40, 60])
    total = np.concatenate([np.ones(40, int), np.full(60, 30)])
    rng = np.random.default_rng(fresh_seed())
    p = 1 / (1 + np.exp(-np.interp(age, [0, 20, 60], [-3, -2, 0.5])))
    direct = np.where(group == 0, 0, rng.binomial(total, p))
    fit = plain(age, direct, total, group, turns=1)
    assert fit.intercepts[0] == -np.inf
    assert np.all(fit.predict([1.0, 30.0, 60.0], group_weights=[1, 0]) == 0)
    alone = plain(age[40:], direct[40:], total[40:], None, turns=1)
    assert fit.loglik == pytest.approx(alone.loglik, abs=1e-7)
    # at its top the likelihood is flat: a log-likelihood known to 1e-7 tells a place to about a third of a day
    assert fit.taus == pytest.approx(alone.taus, abs=1e-3)
    assert np.sum(total[40:] * alone.predict(age[40:])) == pytest.approx(direct[40:].sum(), rel=1e-6)


def test_no_directs_in_infancy_gives_a_finite_fit_and_small_shares_there():
    rng = np.random.default_rng(fresh_seed())
    age, y, n, group = separated_infancy(rng)
    fit = plain(age, y, n, group, turns=1)
    assert np.isfinite(fit.loglik)
    assert np.all(np.isfinite(fit.penalised))
    assert fit.predict([0.5])[0] < 0.005


def test_groins_with_typing_errors_recover_the_true_bend():
    """A straight share with false directs seems to bend; told of the specificity, the fit needs no bend."""
    age = np.arange(0.25, 60, 0.5)
    n = np.full(age.size, 4000)
    true = 1 / (1 + np.exp(7 - 0.1 * age))
    rng = np.random.default_rng(fresh_seed())
    y = rng.binomial(n, 0.01 + 0.99 * true)
    ignored = [plain(age, y, n, None, turns=k, certify=False).loglik for k in (0, 1)]
    told = [plain(age, y, n, None, turns=k, specificity=0.99).loglik for k in (0, 1)]
    assert 2 * (ignored[1] - ignored[0]) > 40
    assert 2 * (told[1] - told[0]) < 30
    fit = plain(age, y, n, None, turns=1, specificity=0.99)
    assert not fit.certificate.proven
    assert "no proof" in fit.certificate.method


def test_a_straight_logit_gives_no_turn_at_the_stated_rate():
    rng = np.random.default_rng(fresh_seed())
    samples, rejected = 16, 0
    for _ in range(samples):
        age, y, n, group = straight(rng)
        choice = choose_turns(
            age,
            y,
            n,
            groups=group,
            most=1,
            replicates=39,
            selection_replicates=0,
            intervals=False,
            certify=False,
            seed=int(rng.integers(2**31)),
        )
        rejected += choice.by_test
    assert binom.sf(rejected - 1, samples, 0.05) > 1e-6


def test_a_turn_that_is_not_there_is_not_identified_and_its_interval_is_the_whole_range():
    rng = np.random.default_rng(3)
    age = np.arange(0.5, 60, 1.0)
    n = np.full(age.size, 40)
    y = rng.binomial(n, 1 / (1 + np.exp(2 - 0.03 * age)))
    turn = fit_hinges(age, y, n, calibration=39).turns[0]
    assert turn.identified is False
    assert turn.interval == (2.5, 57.5)
    assert "not identified" in str(turn)


def test_a_strong_turn_stays_identified_beside_one_that_is_not_there():
    age = np.arange(0.5, 70, 1.0)
    n = np.full(age.size, 200)
    rng = np.random.default_rng(5)
    y = rng.binomial(n, 1 / (1 + np.exp(3 - 0.12 * np.maximum(age - 30, 0))))
    turns = fit_hinges(age, y, n, turns=2, calibration=39).turns
    strong = min(turns, key=lambda turn: abs(turn.age - 30))
    other = max(turns, key=lambda turn: abs(turn.age - 30))
    assert strong.identified
    assert strong.interval[0] <= 30 <= strong.interval[1]
    assert strong.interval[1] - strong.interval[0] < 15
    assert other.identified is False


def test_intervals_cover_the_true_turn_at_the_stated_rate():
    rng = np.random.default_rng(fresh_seed())
    age = np.arange(0.5, 50, 1.0)
    n = np.full(age.size, 60)
    p = 1 / (1 + np.exp(2.5 - 0.1 * np.maximum(age - 22, 0)))
    samples, missed = 10, 0
    for _ in range(samples):
        turn = fit_hinges(
            age, rng.binomial(n, p), n, calibration=39, certify=False, seed=int(rng.integers(2**31))
        ).turns[0]
        missed += not any(low <= 22 <= high for low, high in turn.stretches)
    assert binom.sf(missed - 1, samples, 0.05) > 1e-6


def test_slopes_are_told_on_both_scales():
    age = np.arange(0.5, 60, 1.0)
    n = np.full(age.size, 100_000)
    eta = -3 + 0.02 * age + 0.08 * np.maximum(age - 25, 0)
    p = 1 / (1 + np.exp(-eta))
    fit = plain(age, np.round(n * p).astype(int), n, None, turns=1)
    assert fit.taus[0] == pytest.approx(25, abs=0.05)
    assert fit.odds_per_year == pytest.approx(np.exp([0.02, 0.1]), rel=1e-3)
    assert fit.odds_per_decade == pytest.approx(np.exp([0.2, 1.0]), rel=1e-2)
    middle = (25 + 59.5) / 2
    q = fit.predict([middle - 0.05, middle + 0.05])
    assert fit.points_per_year[1] == pytest.approx(100 * (q[1] - q[0]) / 0.1, rel=1e-4)
    frame = fit.to_frame()
    assert frame.num_rows == 2
    assert frame["turn_age"][1].as_py() == pytest.approx(25, abs=0.05)
    assert "each year" in str(fit)


def test_a_design_refits_as_the_fit_does_and_travels():
    rng = np.random.default_rng(fresh_seed())
    age, y, n, group = unequal_gaps(rng)
    design = pickle.loads(pickle.dumps(prepare_hinges(age, n, turns=2, groups=group)))
    direct, total = design.by_cell(y), design.by_cell(n)
    refit = design.refit(direct, total)
    assert design.certify(direct, total, refit) < 0.5
    fit = plain(age, y, n, group, turns=2)
    assert fit.loglik - coefficients_of(y, n) == pytest.approx(
        refit.loglik + design.certify(direct, total, refit), abs=2e-6
    )
    again = design.refit(direct, total, also=fit.taus)
    assert again.loglik == pytest.approx(fit.loglik - coefficients_of(y, n), abs=1e-6)
    ours = share(fit.penalised, fit.taus, [10.0, 40.0], [1, 1, 1])
    # turns 2 years apart may slide along a ridge on which the likelihood is the same to the digit (1 seed of 10):
    # then either is a maximum, and the penalised shares are those of its turns
    if np.abs(again.turns - fit.taus).max() < 1e-3:
        refitted = share(again.coefficients, again.turns, [10.0, 40.0], [1, 1, 1])
        assert refitted == pytest.approx(ours, abs=1e-3)
    both = share(np.stack([fit.penalised] * 2), np.stack([fit.taus] * 2), [10.0, 40.0], [1, 1, 1])
    assert both == pytest.approx(np.stack([ours] * 2))


def test_rows_in_any_order_and_split_in_any_way_give_the_same_cells():
    rng = np.random.default_rng(fresh_seed())
    age, y, n, group = unequal_gaps(rng)
    order = rng.permutation(age.size)
    fit, shuffled = plain(age, y, n, group), plain(age[order], y[order], n[order], group[order])
    assert shuffled.taus == pytest.approx(fit.taus, abs=1e-9)
    assert shuffled.loglik == pytest.approx(fit.loglik, abs=1e-9)


def test_a_sample_without_directs_refits_to_no_turn():
    design = prepare_hinges([1.0, 5, 9, 13, 17, 21], [9] * 6, turns=1)
    refit = design.refit(np.zeros(6), np.full(6, 9))
    assert np.isnan(refit.turns).all()
    assert np.isneginf(refit.intercepts).all(), "a share of nought is an intercept at minus infinity"


GOOD = {"age": np.arange(0, 30, 1.0), "direct": np.arange(30) // 3, "total": np.full(30, 20)}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"direct": np.full(30, 21)}, "above total"),
        ({"direct": np.full(30, -1)}, "negative"),
        ({"direct": np.full(30, 0.5)}, "whole number"),
        ({"age": np.where(np.arange(30) == 4, np.nan, np.arange(30))}, "missing"),
        ({"total": np.full(29, 20)}, "29 rows"),
        ({"age": np.arange(60).reshape(30, 2)}, "dimensions"),
        ({"age": ["old"] * 30}, "not numeric"),
        ({"groups": ["a", "b"]}, "shape"),
        ({"age": [], "direct": [], "total": []}, "no rows"),
        ({"age": np.zeros(30)}, "no room"),
        ({"turns": 4}, "4 turns"),
        ({"turns": -1}, "-1 turns"),
        ({"apart_years": 20}, "no room"),
        ({"apart_years": 0}, "0 years apart"),
        ({"sensitivity": 0.4, "specificity": 0.6}, "not above 1"),
        ({"sensitivity": 1.4}, "outside 0 to 1"),
        ({"unit": "weeks"}, "unknown unit"),
        ({"family": "normal"}, "unknown family"),
        ({"family": "poisson", "specificity": 0.9}, "typing errors"),
        ({"family": "poisson", "total": np.zeros(30)}, "without person-years"),
        ({"direct": np.zeros(30)}, "both directs and others"),
        ({"direct": np.full(30, 20)}, "both directs and others"),
        ({"total": np.zeros(30), "direct": np.zeros(30)}, "every total is 0"),
        ({"clusters": np.zeros(30), "weights": np.arange(30)}, "two weights"),
        ({"level": 95}, "level 95"),
        ({"calibration": -1}, "calibration"),
    ],
)
def test_impossible_input_is_told_in_three_parts(change, words):
    with pytest.raises(HingelineError, match=words) as caught:
        fit_hinges(**{**GOOD, **change})
    assert caught.value.where
    assert caught.value.todo


@pytest.mark.parametrize("change", [{"most": 5}, {"replicates": -1}, {"alpha": 2}])
def test_impossible_choices_are_told(change):
    with pytest.raises(HingelineError):
        choose_turns(**GOOD, **change)


def test_the_choice_prints_and_tabulates_and_is_the_same_on_any_number_of_cores():
    rng = np.random.default_rng(fresh_seed())
    age, y, n, _ = one_hospital(rng)
    seen: list[tuple[int, int]] = []
    options = {"most": 1, "replicates": 9, "calibration": 9, "certify": False, "seed": 4}
    one = choose_turns(age, y, n, workers=1, progress=lambda done, of: seen.append((done, of)), **options)
    two = choose_turns(age, y, n, workers=2, **options)
    assert repr(one.to_frame().to_pylist()) == repr(two.to_frame().to_pylist())
    assert one.fit.turns == two.fit.turns
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert seen[-1][0] == seen[-1][1] > 0
    assert sum(one.frequencies) == pytest.approx(1)
    assert "turn" in str(one)
