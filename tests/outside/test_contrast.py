"""The comparison of repairs against R, publications and closed forms (reference/contrast.R)."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom

from hingeline.estimates.contrast import contrast, e_value, propensity
from hingeline.estimates.contrast_verdict import score_ratio

REFERENCE = json.loads((Path(__file__).parent / "reference" / "contrast.json").read_text(encoding="utf-8"))
COVARIATES = ("age", "sex", "obstruct", "adhere", "node4")
HORIZONS = (1.0, 2.0, 5.0)  # 365, 730 and 1,826 days


def trial(arms: list[str]) -> dict[str, Any]:
    """The open trial's patients in these arms, one row each."""
    patients = {name: np.array(values) for name, values in REFERENCE["patients"].items()}
    own = np.isin(patients["arm"], arms)
    return {
        "arm": patients["arm"][own],
        "days": patients["days"][own],
        "outcome": patients["outcome"][own],
        "covariates": np.column_stack([patients[name][own] for name in COVARIATES]),
        "names": COVARIATES,
        "arms": arms,
    }


ARMS = {"three": ["Obs", "Lev", "Lev+5FU"], "two": ["Obs", "Lev+5FU"]}


@cache
def compared(which: str, estimand: str) -> Any:
    return contrast(
        **trial(ARMS[which]), estimand=estimand, horizons_years=HORIZONS, replicates=20, seed=1, workers=1
    )


@pytest.mark.parametrize("which", ["three", "two"])
def test_a_propensity_is_rs(which: str) -> None:
    """R nnet::multinom for three arms, stats::glm for two, on survival::colon."""
    given, kept = trial(ARMS["three"]), REFERENCE[which]["place"]
    codes = np.array([ARMS[which].index(arm) for arm in given["arm"][kept]])
    counts = np.eye(len(ARMS[which]))[codes]
    found = propensity(given["covariates"][kept], counts)
    expected = np.array(REFERENCE[which]["probability"])
    # multinom stops by a quasi-Newton rule; glm goes to the maximum
    assert found.probability[:25] == pytest.approx(expected, abs=2e-6 if which == "three" else 1e-10)
    if which == "three":
        assert found.loglik == pytest.approx(REFERENCE["loglik"], abs=1e-7)


@pytest.mark.parametrize("which", ["three", "two"])
@pytest.mark.parametrize("estimand", ["overlap", "all"])
def test_weighted_risks_with_death_competing_are_rs(which: str, estimand: str) -> None:
    """R survival::survfit with weights and three states, on survival::colon within the ages that all arms have."""
    found = compared(which, estimand)
    assert found.overlap.inside == len(REFERENCE[which]["place"])
    assert found.overlap.outside > 0
    risks = [arm.risk for arm in found.arms]
    assert risks == pytest.approx(REFERENCE[which][estimand], abs=3e-6 if which == "three" else 1e-10)


@pytest.mark.parametrize("which", ["three", "two"])
@pytest.mark.parametrize("estimand", ["overlap", "all"])
def test_weighted_hazard_ratios_and_their_robust_errors_are_rs(which: str, estimand: str) -> None:
    """R survival::coxph with weights, Efron's ties and robust errors over patients, on survival::colon."""
    found = compared(which, estimand).cox
    expected = REFERENCE[which][f"cox_{estimand}"]
    tolerance = 1e-5 if which == "three" else 1e-7
    assert [math.log(each.ratio) for each in found] == pytest.approx(expected["log"], abs=tolerance)
    spread = [math.log(each.high / each.low) / (2 * 1.959963984540054) for each in found]
    assert spread == pytest.approx(expected["robust_se"], abs=tolerance)
    assert all(0 < each.proportional_p < 1 for each in found)


@pytest.mark.parametrize(
    ("ratio", "low", "high", "of_ratio", "of_limit"),
    [
        (3.9, 1.8, 8.7, 7.26, 3.0),  # VanderWeele & Ding, Ann Intern Med 2017;167:268 (memory)
        (1 / 3.9, 1 / 8.7, 1 / 1.8, 7.26, 3.0),  # turned over: by the definition
    ],
)
def test_e_values_are_the_published_ones(
    ratio: float, low: float, high: float, of_ratio: float, of_limit: float
) -> None:
    found = e_value(ratio, low, high)
    assert found.estimate == pytest.approx(of_ratio, abs=5e-3)
    assert found.limit == pytest.approx(of_limit, abs=5e-3)


def test_score_limits_of_a_ratio_are_koopmans() -> None:
    """Koopman, Biometrics 1984;40:513: 36/40 against 16/80, ratio 4.5 (memory)."""
    assert score_ratio(36, 40, 16, 80) == pytest.approx((2.94, 7.15), abs=5e-3)


def one_by_one(events: list[int], sizes: list[int], names: list[str]) -> dict[str, Any]:
    """Arms without covariates, everyone followed for six years unless a recurrence came at one."""
    arm = np.repeat(names, sizes)
    outcome = np.concatenate([np.arange(size) < x for x, size in zip(events, sizes, strict=True)])
    return {
        "arm": arm,
        "days": np.where(outcome, 365, 2192),
        "outcome": outcome.astype(int),
        "covariates": {},
        "arms": names,
        "horizons_years": (5.0,),
        "replicates": 199,
        "workers": 1,
    }


def test_none_of_347_has_a_score_limit_and_never_nought_to_nought() -> None:
    """0 of 347: Wilson's upper limit 1.09% (z²/(n + z²), recomputed); Reistrup, Langenbecks Arch Surg 2023."""
    found = contrast(**one_by_one([0, 13], [347, 2167], ["mesh", "high_ligation"]), reference="high_ligation")
    mesh = found.arms[0]
    z2 = 1.959963984540054**2
    assert (mesh.risk, mesh.low) == (0, 0)
    assert mesh.high == pytest.approx(z2 / (347 + z2), abs=1e-12)
    assert round(100 * mesh.high, 2) == 1.09
    assert mesh.method == "score"
    pair = found.pair("mesh", "high_ligation", 5)
    assert pair.low < pair.difference < pair.high
    assert (pair.ratio, pair.ratio_low) == (0, 0)
    assert pair.ratio_high > 0


def test_without_covariates_a_comparison_is_the_two_by_two() -> None:
    """High ligation 18/947 against 84/9,856 with the posterior wall repaired (published abstract, ages 16–30)."""
    found = contrast(
        **one_by_one([18, 84], [947, 9856], ["high_ligation", "tissue"]) | {"replicates": 999},
        reference="tissue",
    )
    pair = found.pair("high_ligation", "tissue", 5)
    assert pair.difference == pytest.approx(18 / 947 - 84 / 9856, abs=1e-12)
    assert pair.ratio == pytest.approx((18 / 947) / (84 / 9856), abs=1e-12)
    # the bootstrap's limits lie near the normal ones of two binomials, within their own Monte Carlo error
    spread = math.sqrt(18 / 947 * (1 - 18 / 947) / 947 + 84 / 9856 * (1 - 84 / 9856) / 9856)
    assert pair.low == pytest.approx(pair.difference - 1.96 * spread, abs=0.25 * spread)
    assert pair.high == pytest.approx(pair.difference + 1.96 * spread, abs=0.25 * spread)
    assert pair.superiority == "worse"  # P 0.004 by Fisher's test


def strata(seed: int, sizes: tuple[int, ...] = (60, 90, 50)) -> dict[str, Any]:
    """Three levels of one factor, three arms in each, all followed to five years or to recurrence."""
    rng = np.random.default_rng(seed)
    rows = []
    for level, size in enumerate(sizes):
        shares = rng.dirichlet([3, 3, 3])
        for arm in np.r_[np.arange(3), rng.choice(3, p=shares, size=size)]:
            rows.append((arm, level, rng.random() < 0.1 + 0.1 * level + 0.05 * arm))
    arm, level, recurred = np.array(rows).T
    return {"arm": arm, "level": level, "recurred": recurred.astype(bool)}


@pytest.mark.parametrize("seed", range(4))
def test_weights_of_a_saturated_propensity_standardise_directly(seed: int) -> None:
    """Inverse-probability weights of a saturated model are the g-formula (Hernán & Robins, What If, 2020, 2.3–2.4).

    And generalised overlap weights then standardise to the levels' harmonic shares (Li & Li 2019, by definition).
    """
    given = strata(seed)
    arm, level, recurred = given["arm"], given["level"], given["recurred"]
    for estimand in ("all", "overlap"):
        found = contrast(
            arm,
            np.where(recurred, 400, 2000),
            recurred.astype(int),
            {"level": np.array(["a", "b", "c"])[level]},
            arms=["first", "second", "third"],
            horizons_years=(5.0,),
            estimand=estimand,
            replicates=20,
            workers=1,
        )
        share = np.array([[np.mean(arm[level == v] == a) for a in range(3)] for v in range(3)])
        risk = np.array([[recurred[(level == v) & (arm == a)].mean() for a in range(3)] for v in range(3)])
        mix = np.array([np.mean(level == v) for v in range(3)])
        if estimand == "overlap":
            mix = mix / (1 / share).sum(axis=1)
        expected = (mix / mix.sum()) @ risk
        assert [each.risk for each in found.arms] == pytest.approx(expected, abs=1e-10)


@pytest.mark.parametrize("seed", range(4))
def test_overlap_weights_of_two_arms_balance_every_covariate_exactly(seed: int) -> None:
    """Li, Morgan & Zaslavsky, J Am Stat Assoc 2018;113:390, theorem 3: to 1e-10."""
    rng = np.random.default_rng(seed)
    size = 800
    age, hospital, late = rng.uniform(12, 30, size), rng.integers(0, 4, size), rng.random(size) < 0.3
    arm = (rng.random(size) < 1 / (1 + np.exp(-(0.2 * (age - 20) + 0.4 * (hospital - 1))))).astype(int)
    found = contrast(
        arm,
        rng.integers(1, 3000, size),
        rng.random(size) < 0.2,
        {"age": age, "hospital": np.array(["A", "B", "C", "D"])[hospital], "late": late},
        arms=["high_ligation", "mesh"],
        horizons_years=(1.0,),
        replicates=20,
        workers=1,
    )
    assert max(abs(each.before) for each in found.balance) > 0.3
    assert max(abs(each.after) for each in found.balance) < 1e-10


def test_limits_hold_the_true_difference_as_often_as_they_say() -> None:
    """Confounded patients with a known truth: the risk at a year is linear in age on the log, repairs differ by 0.

    With the arms' hazards alike, every estimand's true difference is 0; the crude one is far off. Fails at binomial
    p < 1e-6 only.
    """
    seed = int(np.random.SeedSequence().generate_state(1)[0])
    print("seed", seed)
    rng = np.random.default_rng(seed)
    studies, size = 40, 1500
    held = crude_held = 0
    for study in range(studies):
        age = rng.integers(24, 60, size) / 2
        arm = (rng.random(size) < 1 / (1 + np.exp(-0.25 * (age - 21)))).astype(int)
        event = rng.exponential(1 / (0.15 * np.exp(-0.12 * (age - 21))))
        until = rng.uniform(1, 4, size)
        found = contrast(
            arm,
            np.floor(np.minimum(event, until) * 365.25),
            (event <= until).astype(int),
            {"age": age},
            arms=["high_ligation", "mesh"],
            horizons_years=(1.0,),
            replicates=199,
            seed=study,
            workers=1,
        )
        pair = found.pairs[0]
        held += pair.low <= 0 <= pair.high
        crude_held += pair.crude_low <= 0 <= pair.crude_high
    assert binom.cdf(held, studies, 0.95) > 1e-6
    assert binom.cdf(crude_held, studies, 0.95) < 1e-6  # the check can fail: unweighted it does


def test_three_arms_recover_the_truth_of_all_patients() -> None:
    """Hazards by age group and repair are set, so each repair's risk in all patients is a sum over age groups.

    Fails at binomial p < 1e-6 only.
    """
    seed = int(np.random.SeedSequence().generate_state(1)[0])
    print("seed", seed)
    rng = np.random.default_rng(seed)
    hazard = np.array(
        [[0.20, 0.10, 0.05], [0.12, 0.08, 0.05], [0.05, 0.05, 0.04]]
    )  # by age group, then repair
    chosen = np.array([[0.6, 0.3, 0.1], [0.3, 0.4, 0.3], [0.1, 0.3, 0.6]])
    mix = np.array([0.5, 0.3, 0.2])
    truth = mix @ -np.expm1(-2 * hazard)
    studies, size, held = 30, 1200, 0
    for study in range(studies):
        group = rng.choice(3, p=mix, size=size)
        arm = (rng.random(size)[:, None] > np.cumsum(chosen[group], axis=1)).sum(axis=1)
        event, until = rng.exponential(1 / hazard[group, arm]), rng.uniform(1, 6, size)
        found = contrast(
            arm,
            np.floor(np.minimum(event, until) * 365.25),
            (event <= until).astype(int),
            {"group": np.array(["young", "middle", "old"])[group]},
            arms=["high_ligation", "tissue", "mesh"],
            estimand="all",
            horizons_years=(2.0,),
            replicates=199,
            seed=study,
            workers=1,
        )
        for pair in found.pairs:
            codes = [["high_ligation", "tissue", "mesh"].index(name) for name in (pair.arm, pair.against)]
            held += pair.low <= truth[codes[0]] - truth[codes[1]] <= pair.high
    # the three differences of one study hang together: a third as many trials, at the least favourable
    assert binom.cdf(held / 3, studies, 0.95) > 1e-6
