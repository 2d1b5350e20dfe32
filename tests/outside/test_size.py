"""Sizes of studies against publications, R's power.prop.test and closed forms (reference/size.R), and simulation."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binomtest, norm

from hingeline.estimates.proportion import score_variance, wilson_limits
from hingeline.estimates.simulate import Shape, shape_through, simulate_patients
from hingeline.estimates.size import (
    Allowance,
    chance_of_event,
    power_noninferiority,
    power_two_proportions,
    precision_of_ages,
    schoenfeld_events,
    size_log_rank,
    size_noninferiority,
    size_proportion,
    size_two_proportions,
)
from hingeline.estimates.two_by_two import two_by_two

REFERENCE = json.loads((Path(__file__).parent / "reference" / "size.json").read_text(encoding="utf-8"))
IMPOSSIBLE = 1e-6
"""A test on random draws fails only when what was drawn is this unlikely."""


@pytest.fixture
def draws() -> np.random.Generator:
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    return np.random.default_rng(seed)


@pytest.mark.parametrize(
    ("variance", "groins"), [("pooled", 2318.2), ("unpooled", 2315.4), ("corrected", 2514.2)]
)
def test_two_against_one_per_cent_needs_the_published_size(variance: str, groins: float) -> None:
    """R power.prop.test and closed form (outside-checks)."""
    assert size_two_proportions(0.02, 0.01, variance=variance).exact[0] == pytest.approx(groins, abs=0.05)


@pytest.mark.parametrize("row", REFERENCE["shares"])
@pytest.mark.parametrize("variance", ["pooled", "unpooled", "corrected"])
def test_sizes_of_two_shares_match_r(row: dict[str, float], variance: str) -> None:
    """R 4.2 power.prop.test; the corrected size by root finding."""
    found = size_two_proportions(
        row["first"], row["second"], power=row["power"], ratio=row["ratio"], variance=variance
    )
    assert found.exact == pytest.approx((row[variance], row["ratio"] * row[variance]), rel=1e-7)


@pytest.mark.parametrize(("power", "groins"), [(0.8, 871.9), (0.9, 1148.0)])
def test_a_margin_of_two_points_needs_the_size_of_farrington_and_manning(power: float, groins: float) -> None:
    """Hand-coded in R (outside-checks); Stat Med 1990;9:1447."""
    assert size_noninferiority(0.02, 0.02, 0.02, power=power).exact[0] == pytest.approx(groins, abs=0.05)


@pytest.mark.parametrize("row", REFERENCE["margins"])
def test_sizes_with_a_margin_match_the_restricted_maximum_found_by_search(row: dict[str, float]) -> None:
    """R: restricted likelihood by optimize(), not by the cubic."""
    found = size_noninferiority(
        row["new"], row["standard"], row["margin"], power=row["power"], ratio=row["ratio"]
    )
    assert found.exact[0] == pytest.approx(row["first"], rel=1e-6)


def test_halving_the_hazard_needs_65_events() -> None:
    """Schoenfeld 1983, closed form: (1.95996 + 0.84162)² · 4 / log² 2."""
    assert schoenfeld_events(0.5) == pytest.approx(65.3, abs=0.05)


@pytest.mark.parametrize("row", REFERENCE["over_time"])
def test_sizes_over_time_match_integration_over_entry(row: dict[str, float]) -> None:
    """R integrate() over uniform entry."""
    found = size_log_rank(
        row["hr"],
        row["risk"],
        row["years"],
        accrual_years=row["accrual"],
        follow_up_years=row["follow_up"],
        lost_a_year=row["lost"],
        power=row["power"],
        ratio=row["ratio"],
    )
    assert found.events == pytest.approx(row["events"], rel=1e-9)
    assert found.exact[0] == pytest.approx(row["first"], rel=1e-9)


@pytest.mark.parametrize("row", REFERENCE["known"])
def test_the_size_for_a_wilson_interval_is_the_first_that_prop_test_finds_narrow_enough(
    row: dict[str, float],
) -> None:
    assert size_proportion(row["share"], row["half_width"]).per_arm == (row["groins"],)


@pytest.mark.parametrize("row", REFERENCE["two_by_two"])
def test_tests_of_two_arms_match_r(row: dict[str, int | float]) -> None:
    """R fisher.test and chisq.test."""
    found = two_by_two(*(int(row[name]) for name in "anbm"))
    assert (found.fisher_p, found.chi2_p, found.yates_p) == pytest.approx(
        (row["fisher"], row["chi2"], row["yates"]), rel=1e-6
    )


def test_the_chronic_pain_trials_printed_p_is_that_of_the_swapped_arms() -> None:
    """9.0% v 1.7%, P 0.023 of 243 men (Kim 2021, Ann Surg Treat Res 100:246, published).

    Yates' χ² of 11/122 v 2/121 gives it; the arm sizes as the abstract has them, 11/121 v 2/122, do not.
    """
    swapped, printed = two_by_two(11, 122, 2, 121), two_by_two(11, 121, 2, 122)
    assert [round(100 * x / n, 1) for x, n in zip(swapped.events, swapped.totals, strict=True)] == [9.0, 1.7]
    assert swapped.yates_p == pytest.approx(0.0235, abs=5e-5)
    assert printed.yates_p == pytest.approx(0.0217, abs=5e-5)


def test_ligation_alone_against_repair_in_insurance_data() -> None:
    """18/947 v 84/9,856 (published abstract, synapse.koreamed 1516086947): Fisher 0.0040, χ² 0.0014 (recomputed)."""
    found = two_by_two(18, 947, 84, 9856)
    assert found.fisher_p == pytest.approx(0.0040, abs=5e-5)
    assert found.chi2_p == pytest.approx(0.0014, abs=5e-5)


def test_the_size_for_a_margin_has_its_power_in_drawn_trials(draws: np.random.Generator) -> None:
    """The score test itself on trials of the size: as powerful as stated, to within 3 points of approximation."""
    size = size_noninferiority(0.06, 0.06, 0.05, power=0.8)
    n, trials = size.per_arm[0], 2000
    new, standard = draws.binomial(n, 0.06, trials), draws.binomial(n, 0.06, trials)
    shown = sum(
        (x - y) / n - 0.05 < -norm.ppf(0.975) * np.sqrt(score_variance(x, n, y, n, 0.05))
        for x, y in zip(new.tolist(), standard.tolist(), strict=True)
    )
    assert binomtest(shown, trials, 0.77, alternative="less").pvalue > IMPOSSIBLE
    assert binomtest(shown, trials, 0.83, alternative="greater").pvalue > IMPOSSIBLE
    assert power_noninferiority(0.06, 0.06, 0.05, n).power == pytest.approx(0.8, abs=0.002)


def test_the_size_for_two_shares_has_its_power_in_drawn_trials(draws: np.random.Generator) -> None:
    size = size_two_proportions(0.15, 0.25, ratio=2, power=0.9)
    (n, m), trials = size.per_arm, 20_000
    x, y = draws.binomial(n, 0.15, trials), draws.binomial(m, 0.25, trials)
    both = (x + y) / (n + m)
    z = np.abs(x / n - y / m) / np.sqrt(both * (1 - both) * (1 / n + 1 / m))
    shown = int((z > norm.ppf(0.975)).sum())
    assert binomtest(shown, trials, 0.88, alternative="less").pvalue > IMPOSSIBLE
    assert binomtest(shown, trials, 0.92, alternative="greater").pvalue > IMPOSSIBLE
    assert power_two_proportions(0.15, 0.25, n, ratio=2).power == pytest.approx(0.9, abs=0.003)


def test_the_chance_of_an_event_is_that_of_drawn_patients(draws: np.random.Generator) -> None:
    hazard, lost, accrual, follow_up, patients = 0.06, 0.04, 3.0, 2.0, 200_000
    event, gone = draws.exponential(1 / hazard, patients), draws.exponential(1 / lost, patients)
    held = draws.uniform(follow_up, follow_up + accrual, patients)
    seen = int(((event < gone) & (event < held)).sum())
    assert binomtest(seen, patients, chance_of_event(hazard, accrual, follow_up, lost)).pvalue > IMPOSSIBLE


def test_the_log_rank_size_has_its_power_in_drawn_trials(draws: np.random.Generator) -> None:
    """Log-rank tests on drawn trials, by the score of the definition; 3 points allowed for the approximation."""
    size = size_log_rank(0.6, 0.3, 2, accrual_years=2, follow_up_years=2, power=0.8)
    n, trials = size.per_arm[0], 800
    hazard = -np.log(0.7) / 2
    shown = 0
    for _ in range(trials):
        rate = np.repeat([hazard * 0.6, hazard], n)
        time, held = draws.exponential(1 / rate), draws.uniform(2, 4, 2 * n)
        seen, arm = time <= held, np.repeat([1, 0], n)
        order = np.argsort(np.minimum(time, held))
        arm, seen = arm[order], seen[order]
        part = np.cumsum(arm[::-1])[::-1] / np.arange(2 * n, 0, -1)
        score = (arm - part)[seen].sum() / np.sqrt((part * (1 - part))[seen].sum())
        shown += abs(score) > norm.ppf(0.975)
    assert binomtest(int(shown), trials, 0.77, alternative="less").pvalue > IMPOSSIBLE
    assert binomtest(int(shown), trials, 0.83, alternative="greater").pvalue > IMPOSSIBLE


def test_an_assured_interval_is_narrow_enough_as_often_as_assured(draws: np.random.Generator) -> None:
    size = size_proportion(0.05, 0.02, assurance=0.9)
    n, trials = size.per_arm[0], 50_000
    low, high = wilson_limits(draws.binomial(n, 0.05, trials), n)
    narrow = int(((high - low) / 2 <= 0.02).sum())
    assert binomtest(narrow, trials, 0.9, alternative="less").pvalue > IMPOSSIBLE


def test_the_design_effect_is_the_variance_of_drawn_clusters(draws: np.random.Generator) -> None:
    """Kish: variance of a mean of alike groins over that of independent ones, 1 + (m − 1)·ICC, from drawn patients."""
    studies, patients, share, rho, both = 4000, 200, 0.3, 0.5, 0.4
    shape = Shape(float(np.log(share / (1 - share))), 0.0)
    drawn = simulate_patients(
        np.full(studies * patients, 20.0), shape, draws, bilateral=both, correlation=rho
    )
    study = drawn.patient // patients
    groins = np.bincount(study)
    error = np.bincount(study, drawn.direct - share)  # Σ(x − p): its variance is groins · p(1 − p) · effect
    seen = float((error**2).sum() / (groins.sum() * share * (1 - share)))
    told = Allowance(bilateral=both, groin_correlation=rho).design_effect
    # the squares are χ²(1) to within the sum of 200: relative error √(2/4000); six of them is p < 1e-8
    assert abs(seen / told - 1) < 6 * np.sqrt(2 / studies)


def test_the_precision_of_a_crossing_on_a_straight_logit_is_that_of_fishers_information() -> None:
    """Delta method: the crossing −(a − logit t)/b has variance g'I⁻¹g, I of a logistic regression on the same ages."""
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    line, groins, studies, threshold = shape_through([0, 30], [0.02, 0.4]), 6000, 300, 0.1
    ages = np.arange(5.25, 30, 1.0)
    share = line.share(ages)
    weight = groins / ages.size * share * (1 - share)
    information = np.array([[weight.sum(), weight @ ages], [weight @ ages, weight @ ages**2]])
    gradient = np.array([-1 / line.slope, -line.crossing(threshold) / line.slope])
    half = norm.ppf(0.975) * np.sqrt(gradient @ np.linalg.solve(information, gradient))
    found = precision_of_ages(
        line, ages, groins, threshold=threshold, allow=Allowance(), studies=studies, seed=seed
    )
    # the 95th percentile of |normal| among so many draws errs by √(0.0475/studies)/0.1169/1.96 of itself; five of those
    chance = np.sqrt(0.0475 / studies) / 0.1169 / 1.96
    assert abs(found.half_width / half - 1) < 5.2 * chance + 0.02
