"""Dips and critical bandwidths against R and Silverman (reference/ages_dip.R, ages_silverman.R, ages_density.R)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import binomtest

from hingeline.estimates.ages import age_modes, dip, silverman
from hingeline.estimates.ages_dip import _uniform_dips

FOLDER = Path(__file__).parent / "reference"
DIPS = json.loads((FOLDER / "ages_dip.json").read_text(encoding="utf-8"))
DENSITY = json.loads((FOLDER / "ages_density.json").read_text(encoding="utf-8"))["rows"]
SILVERMAN = json.loads((FOLDER / "ages_silverman.json").read_text(encoding="utf-8"))["rows"]


def _named(name: str) -> dict[str, Any]:
    return next(case for case in DIPS["cases"] if case["name"] == name)


@pytest.mark.parametrize(
    ("name", "expected"), [("datasets::faithful$eruptions", 0.09238), ("diptest::statfaculty", 0.05952)]
)
def test_dips_of_open_data_match_diptest(name: str, expected: float) -> None:
    """R diptest 0.76."""
    assert dip(_named(name)["x"], replicates=0).statistic == pytest.approx(expected, abs=5e-6)


def test_dips_match_diptest_with_and_without_ties() -> None:
    for case in DIPS["cases"]:
        assert dip(case["x"], replicates=0).statistic == pytest.approx(case["dip"], abs=1e-12), case["name"]


def test_counts_of_tied_ages_give_the_dip_of_the_single_cases() -> None:
    for case in DIPS["cases"]:
        if case["name"].startswith("tied"):
            age, count = np.unique(case["x"], return_counts=True)
            assert dip(age, count, replicates=0).statistic == pytest.approx(case["dip"], abs=1e-12)


def test_p_of_the_dip_matches_diptests_table() -> None:
    """Over all cases; the table is of 1,000,001 samples, ours of 999: six binomial standard errors are allowed."""
    for seed, case in enumerate(DIPS["cases"][:8]):
        p, replicates = case["p"], 999
        error = np.sqrt(max(p * (1 - p), 1 / replicates) / replicates)
        found = dip(case["x"], replicates=replicates, seed=seed).p
        assert found == pytest.approx(p, abs=6 * error + 2 / replicates), case["name"]


def test_our_null_distribution_of_the_dip_has_the_quantile_of_diptests_table() -> None:
    """95% quantiles of √n × dip of uniform samples: ours by simulation, diptest's table by R."""
    seed = int(np.random.SeedSequence().generate_state(1)[0])
    print(f"seed {seed}")
    table = {row["n"]: row["q"] for row in DIPS["quantile_95_of_uniform"]}
    ours = _uniform_dips(100, 1500, np.random.default_rng(seed))
    above = int((ours > table[100]).sum())
    # a random rate fails only at p < 1e-6
    assert binomtest(above, 1500, 0.05).pvalue > 1e-6


@pytest.mark.parametrize(("modes", "expected"), [(1, 2.40), (2, 1.83), (3, 0.69)])
def test_critical_bandwidths_of_the_chondrites_match_silverman(modes: int, expected: float) -> None:
    """Silverman, J R Stat Soc B 1981;43:97–99; the 22 values from memory."""
    chondrites = SILVERMAN[0]["x"]
    assert silverman(chondrites, modes=modes, replicates=0).bandwidth == pytest.approx(expected, abs=0.005)


def test_critical_bandwidths_match_direct_sums_in_r() -> None:
    for row in SILVERMAN:
        found = silverman(row["x"], modes=row["modes"], replicates=0)
        assert found.bandwidth == pytest.approx(row["bandwidth"], rel=1e-3), row["name"]


def test_p_of_silvermans_test_matches_case_by_case_resampling_in_r() -> None:
    replicates = 500
    for seed, row in enumerate(SILVERMAN):
        p = row["p"]
        error = np.sqrt(max(p * (1 - p), 0.002) * (1 / replicates + 1 / row["replicates"]))
        found = silverman(row["x"], modes=row["modes"], replicates=replicates, seed=seed).p
        assert found == pytest.approx(p, abs=6 * error), row["name"]


@pytest.mark.parametrize("row", DENSITY, ids=lambda row: row["name"])
def test_humps_and_troughs_of_open_data_match_the_plain_density_in_r(row: dict[str, Any]) -> None:
    """R's bw.nrd0 is the same rule (Silverman 1986, 3.31) with n − 1 in the variance and interpolated quartiles."""
    x = np.array(row["x"])
    far = 10 * row["bandwidth"]
    ours = age_modes(x, np.ones(len(x)), lowest=x.min() - far, highest=x.max() + far)
    assert ours.bandwidth == pytest.approx(row["bandwidth"], rel=0.02)
    same = age_modes(
        x, np.ones(len(x)), lowest=x.min() - far, highest=x.max() + far, bandwidth=row["bandwidth"]
    )
    cell = same.pooled.age[1] - same.pooled.age[0]
    assert [hump.age for hump in same.humps] == pytest.approx(row["humps"], abs=cell)
    assert [hump.height for hump in same.humps] == pytest.approx(row["heights"], rel=2e-3)
    assert [trough.age for trough in same.troughs] == pytest.approx(row["troughs"], abs=cell)
