"""Follow-up estimates: tallies in place of rows, weights, ties, horizons, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

import hingeline as hl
from hingeline.errors import HingelineError
from hingeline.estimates.followup import risk_kernel, weighted_risks


def _rows(seed=0, size=300):
    rng = np.random.default_rng(seed)
    days = rng.integers(1, 25, size)
    return (
        days,
        rng.choice([0, 1, 2], size, p=[0.5, 0.3, 0.2]),
        rng.integers(0, 3, size),
        rng.normal(size=size).round(1),
    )


def _tallied(*columns):
    table, n = np.unique(np.column_stack(columns), axis=0, return_counts=True)
    return (*table.T, n)


def test_a_tally_gives_what_its_rows_give():
    days, outcome, group, x = _rows()
    d, o, g, v, n = _tallied(days, outcome, group, x)
    assert hl.survival(d, o, weights=n).robust_se == pytest.approx(hl.survival(days, outcome).robust_se)
    both = hl.cumulative_incidence(d, o, weights=n), hl.cumulative_incidence(days, outcome)
    assert both[0].low[1] == pytest.approx(both[1].low[1])
    tests = hl.log_rank(d, o, g, weights=n), hl.log_rank(days, outcome, group)
    assert (tests[0].chi2, tests[0].robust_chi2) == pytest.approx((tests[1].chi2, tests[1].robust_chi2))
    fits = hl.cox(d, o, v, weights=n, strata=g), hl.cox(days, outcome, x, strata=group)
    assert fits[0].robust_se == pytest.approx(fits[1].robust_se, rel=1e-8)
    assert fits[0].coefficients == pytest.approx(fits[1].coefficients, rel=1e-8)


def test_many_plain_rows_give_what_their_tally_gives():
    days, outcome, *_ = _rows(8, 30_000)
    d, o, n = _tallied(days, outcome)
    plain, tally = hl.survival(days, outcome), hl.survival(d, o, weights=n)
    assert plain.survival == pytest.approx(tally.survival)
    assert plain.robust_se == pytest.approx(tally.robust_se)
    assert plain.groins == 30_000
    with pytest.raises(HingelineError, match="negative"):
        hl.survival(days - 5, outcome)
    with pytest.raises(HingelineError, match="no outcome"):
        hl.survival(days, outcome + 1)


def test_patterns_of_patients_give_what_their_patients_give():
    # two groins a patient; patients alike in both groins are one pattern with many patients
    days, outcome, *_ = _rows(1, 200)
    days, outcome = days % 4 + 1, outcome
    pairs = np.sort((days * 3 + outcome).reshape(-1, 2), axis=1)
    seen, patients = np.unique(pairs, axis=0, return_counts=True)
    flat = seen.ravel()
    arguments = {"clusters": np.repeat(np.arange(len(seen)), 2), "weights": np.repeat(patients, 2)}
    by_pattern = hl.cumulative_incidence(flat // 3, flat % 3, **arguments)
    by_patient = hl.cumulative_incidence(days, outcome, clusters=np.repeat(np.arange(100), 2))
    assert by_pattern.robust_se == pytest.approx(by_patient.robust_se)
    assert by_pattern.effective == pytest.approx(by_patient.effective)
    x = (flat % 2).astype(float), pairs.ravel() % 2
    fit = hl.cox(flat // 3, flat % 3 % 2, x[0], **arguments)
    rows = hl.cox(pairs.ravel() // 3, pairs.ravel() % 3 % 2, x[1], clusters=np.repeat(np.arange(100), 2))
    assert fit.robust_se == pytest.approx(rows.robust_se, rel=1e-8)


def test_robust_errors_are_the_derivatives_of_the_curve_by_each_patients_weight():
    days, outcome, patient, _ = _rows(2, 60)
    patient = np.arange(60) // 2
    step = 1e-5
    base = hl.survival(days, outcome, clusters=patient)
    moved = [
        hl.survival(days, outcome, probability_weights=np.where(patient == one, 1 + step, 1)).survival
        for one in range(30)
    ]
    by_hand = np.sqrt((((np.array(moved) - base.survival) / step) ** 2).sum(axis=0))
    assert base.robust_se == pytest.approx(by_hand, abs=1e-5)


def test_the_kernel_agrees_with_the_curves_for_real_weights():
    days, outcome, *_ = _rows(3)
    w = np.random.default_rng(4).gamma(1, 1, (4, days.size))
    at = [0, 3, 10, 24, 80]
    plain = weighted_risks(days, outcome, w, at)
    competing = weighted_risks(days, outcome, w, at, competing=True)
    for row, weights in enumerate(w):
        curve = hl.survival(days, outcome, probability_weights=weights)
        both = hl.cumulative_incidence(days, outcome, probability_weights=weights)
        assert plain[row] == pytest.approx([curve.risk_at_days(day).risk for day in at], abs=1e-12)
        assert competing[row] == pytest.approx([both.risk_at_days(day).risk for day in at], abs=1e-12)
    assert np.isnan(risk_kernel(days, outcome, at).risks(np.zeros(days.size))).all()


def test_who_is_censored_on_the_day_of_an_event_was_at_risk_on_it():
    curve = hl.survival([5, 5], [1, 0])
    assert (curve.survival[0], curve.at_risk[0]) == (0.5, 2)


def test_without_deaths_both_curves_and_their_limits_agree():
    days, outcome, *_ = _rows(5)
    one = hl.survival(days, outcome % 2)
    both = hl.cumulative_incidence(days, outcome % 2)
    assert both.incidence[0] == pytest.approx(1 - one.survival)
    assert both.low[0] == pytest.approx(1 - one.high)


@pytest.mark.parametrize("groins", [6, 10, 19, 30])  # 1/n summed n times misses 1 by its last digit
def test_where_everybody_had_the_event_both_curves_have_wilsons_limit_of_the_last_one(groins):
    days, every = np.arange(groins), np.ones(groins, dtype=int)
    z2 = 1.959963984540054**2
    for told in (hl.survival(days, every), hl.cumulative_incidence(days, every)):
        risk = told.risk_at_days(groins)
        assert (risk.risk, risk.high) == (1.0, 1.0)
        assert risk.low == pytest.approx(1 / (1 + z2), rel=1e-12)  # Wilson, 1 of 1


def test_no_event_gives_a_score_limit_and_never_nought_to_nought():
    told = hl.survival([400] * 50, [0] * 50).risk(1)
    assert told.low == told.risk == 0
    assert told.high > 0.05
    # the two groins of 25 patients tell as much as 25, weights that are all alike take nothing away
    pairs = hl.survival([400] * 50, [0] * 50, clusters=np.arange(50) // 2).risk(1)
    alone = hl.survival([400] * 25, [0] * 25, probability_weights=[3.5] * 25).risk(1)
    assert pairs.high == pytest.approx(alone.high)
    assert pairs.high > told.high


def test_a_horizon_beyond_follow_up_is_told_at_the_last_day():
    told = hl.survival([100, 200, 300], [0, 1, 0]).risk(5)
    assert told.told_at_years == pytest.approx(300 / 365.25)
    assert told.at_risk == 0
    assert "Nobody was followed for 5 years" in str(told)


def test_few_left_at_a_horizon_carry_a_warning():
    curve = hl.survival(np.arange(1, 41) * 30, np.zeros(40, dtype=int))
    assert curve.risk(1).warning == ""
    assert "Only 4 still followed" in curve.risk(3.03).warning


def test_numbers_at_risk_count_those_followed_that_long():
    assert hl.numbers_at_risk([365, 366, 800], [0, 1, 2, 3], weights=[2, 3, 4]).tolist() == [9, 7, 4, 0]


def test_an_arm_without_events_has_an_infinite_coefficient_with_a_limit():
    days = np.arange(1, 41)
    arm = np.arange(40) % 2
    outcome = ((np.arange(40) % 4) == 0).astype(int)
    fit = hl.cox(days, outcome, arm, names=["mesh"])
    assert fit.infinite == ("mesh",)
    assert fit.hazard_ratio[0] == 0
    # closed form: with nobody's event on one side the partial likelihood falls from its supremum by this much
    at_risk = [((days >= day) & (arm == side)).sum() for day in days[outcome == 1] for side in (0, 1)]
    zero, one = np.array(at_risk).reshape(-1, 2).T
    drop = np.log1p(fit.high[0] * one / zero).sum()
    assert drop == pytest.approx(3.841459 / 2, rel=1e-4)
    assert "no event on one side" in str(fit)
    with pytest.raises(HingelineError, match="no finite maximum"):
        fit.proportional()


@pytest.mark.parametrize(
    ("level", "half_quantile"), [(0.95, 3.841458820694124 / 2), (0.9, 2.705543454095404 / 2)]
)
def test_the_limit_of_an_infinite_hazard_ratio_is_the_profiles_in_closed_form(level, half_quantile):
    """One event while two of either arm are at risk: the likelihood is 1/(2 + 2·HR), and falls from ½ to e^−q/2."""
    fit = hl.cox([1, 2, 3, 4], [1, 0, 0, 0], [0, 0, 1, 1], level=level)
    assert (fit.hazard_ratio[0], fit.low[0]) == (0.0, 0.0)
    assert fit.high[0] == pytest.approx(math.exp(half_quantile) - 1, rel=1e-6)


def test_turnbull_leaves_open_what_the_visits_leave_open():
    curve = hl.turnbull([0, 0, 730.5], [730.5, 730.5, math.inf], weights=[10, 10, 20])
    risk = curve.risk(1.5)
    assert (risk.low, risk.high) == pytest.approx((0, 0.5))
    assert "the visits do not tell more" in str(risk)
    assert curve.gap < 1e-6


def test_turnbull_meets_the_conditions_of_a_maximum():
    rng = np.random.default_rng(6)
    left = rng.integers(0, 50, 400)
    right = np.where(rng.random(400) < 0.4, np.inf, left + rng.integers(0, 20, 400))
    curve = hl.turnbull(left, right)
    inside = (curve.after >= left[:, None]) & (curve.upto <= right[:, None])
    known = left == right
    exact = curve.after == curve.upto
    inside &= ~exact | (curve.after > left[:, None]) | known[:, None]
    held = inside @ curve.mass
    # Gentleman & Geyer 1994: the gradient equals n wherever there is mass
    assert (inside / held[:, None]).sum(axis=0) == pytest.approx(np.full(curve.mass.size, 400.0), rel=1e-3)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: hl.survival([-1], [0]), "negative or missing"),
        (lambda: hl.survival([1], [3]), "no outcome"),
        (lambda: hl.survival([1, 2], [0]), "differ in length"),
        (lambda: hl.survival([1], [0], weights=[0]), "Nobody is followed"),
        (lambda: hl.survival([], []), "Nobody is followed"),
        (lambda: hl.survival([1], [0], level=95), "no coverage level"),
        (
            lambda: hl.survival([1, 2], [0, 0], clusters=[1, 1], weights=[1, 2]),
            "different numbers of patients",
        ),
        (lambda: hl.survival([1], [0]).risk(-1), "no horizon"),
        (lambda: hl.cumulative_incidence([1], [0]).risk(1, cause=3), "no cause"),
        (lambda: hl.log_rank([1, 2], [1, 0], ["a", "a"]), "fewer than two groups"),
        (lambda: hl.log_rank([1, 2], [0, 0], ["a", "b"]), "Nobody had the event"),
        (lambda: hl.cox([1, 2], [0, 0], [0, 1]), "Nobody had the event"),
        (lambda: hl.cox([1, 2], [1, 0], [1, 1]), "same for everybody"),
        (lambda: hl.cox([1, 2, 3], [1, 0, 1], [[0, 0], [1, 2], [2, 4]]), "follows from"),
        (lambda: hl.cox([1, 2], [1, 0], [0, math.nan]), "missing"),
        (lambda: hl.cox([1, 2], [1, 0], [0, 1], weights=[1.5, 1]), "not whole"),
        (lambda: hl.cox([1, 2, 3], [0, 1, 1], [0, 1, 1]), "did not differ"),
        (lambda: hl.turnbull([5], [3]), "ends before it begins"),
        (lambda: hl.person_year_rate(1, 0), "no person-years"),
        (lambda: hl.person_year_rate(-1, 10), "negative"),
        (lambda: weighted_risks([1], [0], [[1, 2]], [5]), "do not fit"),
    ],
)
def test_what_cannot_be_is_refused_in_three_parts(call, said):
    with pytest.raises(HingelineError, match=said) as refused:
        call()
    assert refused.value.where
    assert refused.value.todo


def test_every_result_has_a_frame_and_a_sentence():
    days, outcome, group, x = _rows(7)
    found = [
        hl.survival(days, outcome),
        hl.survival(days, outcome).risk(0.05),
        hl.cumulative_incidence(days, outcome),
        hl.follow_up_length(days, outcome),
        hl.person_year_rate(3, 4000),
        hl.log_rank(days, outcome, group),
        hl.turnbull(days, np.where(outcome == 1, days + 3.0, np.inf)),
        hl.cox(days, outcome, x),
        hl.cox(days, outcome, x).proportional(),
    ]
    for one in found:
        assert one.to_frame().num_rows > 0
        assert len(str(one)) > 20
        assert "nan" not in str(one)
