"""Agreement of readers against publications, R's vcd (reference/agreement.R) and statsmodels."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import binomtest
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.inter_rater import fleiss_kappa as other_fleiss

from hingeline.estimates.agreement import (
    cohen_kappa,
    fleiss_kappa,
    typing_rates,
    typing_rates_between,
)

REFERENCE = json.loads((Path(__file__).parent / "reference" / "agreement.json").read_text(encoding="utf-8"))
IMPOSSIBLE = 1e-6

DIAGNOSES = """00060 03003 01401 00006 03030 20400 00402 20310 20040 00006 10050 11040 03300 10050 02031
00501 30012 51000 02040 10203 00006 01050 02013 20040 10041 05010 40002 02040 10500 00006"""
"""Fleiss 1971, table 1 (memory): of six psychiatrists, how many gave each of 30 patients each of 5 diagnoses."""


def _diagnoses() -> list[list[int]]:
    return [[int(digit) for digit in patient] for patient in DIAGNOSES.split()]


def test_thirty_patients_and_six_psychiatrists_agree_as_fleiss_found() -> None:
    """Fleiss, Psychol Bull 1971;76:378 (memory): 0.430, of 0.556 observed and 0.220 expected."""
    found = fleiss_kappa(_diagnoses())
    assert found.kappa == pytest.approx(0.430, abs=5e-4)
    assert (found.observed, found.expected) == pytest.approx((0.5556, 0.220), abs=5e-4)
    assert found.shares == pytest.approx([0.144, 0.144, 0.167, 0.306, 0.239], abs=5e-4)


@pytest.mark.parametrize("row", REFERENCE["two"])
@pytest.mark.parametrize("weights", [None, "linear", "quadratic"])
def test_kappas_and_their_errors_match_vcd_and_statsmodels(row: dict[str, Any], weights: str | None) -> None:
    found = cohen_kappa(row["table"], weights=weights)
    other = cohens_kappa(
        np.array(row["table"]), wt={None: None, "linear": "linear", "quadratic": "quadratic"}[weights]
    )
    assert found.kappa == pytest.approx(row[weights or "kappa"], rel=1e-9)
    assert found.kappa == pytest.approx(float(other.kappa), rel=1e-9)
    assert found.se == pytest.approx(float(other.std_kappa), rel=1e-9)
    assert found.null_se == pytest.approx(float(other.std_kappa0), rel=1e-9)
    assert found.se == pytest.approx(row[f"{weights}_se" if weights else "se"], rel=1e-9)


@pytest.mark.parametrize("row", REFERENCE["many"])
def test_kappa_of_many_readers_matches_pairs_coded_apart_and_its_error_the_jackknife(
    row: dict[str, Any],
) -> None:
    found = fleiss_kappa(row["counts"])
    assert found.kappa == pytest.approx(row["kappa"], rel=1e-9)
    assert found.by_answer == pytest.approx(row["by_answer"], rel=1e-6)
    # the influence is the jackknife's limit: they part by terms of 1/groins
    assert found.se == pytest.approx(row["jackknife_se"], rel=3 / len(row["counts"]))
    if found.readers[0] == found.readers[1]:
        assert found.kappa == pytest.approx(other_fleiss(np.array(row["counts"])), rel=1e-9)


@pytest.mark.parametrize("row", REFERENCE["rates"])
def test_sensitivity_and_specificity_have_wilson_limits(row: dict[str, Any]) -> None:
    """R prop.test without correction."""
    right, of = row["right"], row["of"]
    found = typing_rates([[right, of - right], [of - right, right]])
    for low, high in (
        (found.sensitivity_low, found.sensitivity_high),
        (found.specificity_low, found.specificity_high),
    ):
        assert (low[0], high[0]) == pytest.approx((row["low"], row["high"]), abs=1e-12)


def test_high_agreement_with_a_low_kappa_is_the_paradox_of_the_publication() -> None:
    """Feinstein & Cicchetti, J Clin Epidemiol 1990;43:543 (memory): 85% agreement twice, kappa 0.70 and 0.32."""
    balanced, skewed = cohen_kappa([[40, 9], [6, 45]]), cohen_kappa([[80, 10], [5, 5]])
    assert (balanced.observed, skewed.observed) == pytest.approx((0.85, 0.85))
    assert (round(balanced.kappa, 2), round(skewed.kappa, 2)) == (0.70, 0.32)
    assert skewed.adjusted == pytest.approx(0.70)  # Byrt, Bishop & Carlin 1993: 2 · observed − 1
    assert balanced.note == ""
    assert "commoner" in skewed.note


def test_two_alike_readers_who_err_are_read_back_from_drawn_groins() -> None:
    """Drawn from the model itself: the stated specificity gives back the sensitivity, in 95% of draws."""
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    draws = np.random.default_rng(seed)
    share, se, sp, groins, studies = 0.3, 0.85, 0.97, 600, 1000
    truth = np.array([share, 1 - share])
    seen = np.array([[se, 1 - se], [1 - sp, sp]])
    chance = np.einsum("t,ta,tb->ab", truth, seen, seen).ravel()
    tables = draws.multinomial(groins, chance, studies).reshape(-1, 2, 2)
    least = (tables[:, 0, 1] + tables[:, 1, 0]) / (2 * tables[:, 1, 1] + tables[:, 0, 1] + tables[:, 1, 0])
    kept = tables[least >= 1 - sp]  # others differ too little for the specificity stated, and are refused
    found = typing_rates_between(kept, specificity=sp)
    covered = int(((found.sensitivity_low <= se) & (se <= found.sensitivity_high)).sum())
    # a delta limit at 600 groins: 93 to 97.5% is what it may cover
    assert binomtest(covered, len(kept), 0.93, alternative="less").pvalue > IMPOSSIBLE
    assert binomtest(covered, len(kept), 0.975, alternative="greater").pvalue > IMPOSSIBLE
    exact = typing_rates_between(chance.reshape(1, 2, 2) * 1e6, specificity=sp)
    assert exact.sensitivity[0] == pytest.approx(se, abs=1e-9)


def test_limits_of_kappa_cover_what_groins_are_drawn_from() -> None:
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    draws = np.random.default_rng(seed)
    chance = np.array([[0.35, 0.05, 0.02], [0.04, 0.25, 0.05], [0.01, 0.03, 0.20]])
    truth = cohen_kappa(chance * 1e6).kappa
    tables = draws.multinomial(400, chance.ravel(), 800).reshape(-1, 3, 3)
    covered = sum(k.low <= truth <= k.high for k in (cohen_kappa(t) for t in tables))
    assert binomtest(covered, 800, 0.93, alternative="less").pvalue > IMPOSSIBLE
    assert binomtest(covered, 800, 0.97, alternative="greater").pvalue > IMPOSSIBLE
