"""Rates against R (reference/incidence.R) and the sources of the standard populations."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from hingeline.estimates.incidence import (
    EUROPEAN_STANDARD_2013,
    PER,
    WHO_WORLD_STANDARD,
    incidence_limits,
    standard_weights,
    standardise,
)

REFERENCE = json.loads((Path(__file__).parent / "reference" / "incidence.json").read_text(encoding="utf-8"))


def test_standardised_rate_matches_epitools_example() -> None:
    """R epitools' help page of ageadjust.direct; method of Fay & Feuer, Stat Med 1997;16:791–801."""
    found = standardise(
        [107, 141, 60, 40, 39, 25],
        [230061, 329449, 114920, 39487, 14208, 3052],
        [319933, 931318, 786511, 488235, 237863, 61313],
    )
    expected = (0.00056348, 0.00092305, 0.00080442, 0.00105763)
    got = [value / PER for value in (found.crude, found.rate, found.low, found.high)]
    assert got == pytest.approx(expected, abs=5e-9)


def test_standardised_rates_match_r() -> None:
    for row in REFERENCE["adjusted"]:
        found = standardise(row["cases"], row["person_years"], row["standard"])
        got = [value / PER for value in (found.crude, found.rate, found.low, found.high)]
        assert got == pytest.approx([row[name] for name in ("crude", "rate", "low", "high")], rel=1e-9), row


def test_poisson_limits_match_r() -> None:
    rows = REFERENCE["poisson"]
    low, high = incidence_limits([row["cases"] for row in rows], PER)
    assert low == pytest.approx([row["low"] for row in rows], rel=1e-9)
    assert high == pytest.approx([row["high"] for row in rows], rel=1e-9)


def test_european_standard_is_the_one_of_2013() -> None:
    """Eurostat task force 2013, annex F (memory, and public copies of the table): five-year bands, 90 open."""
    printed = [5000, 5500, 5500, 5500, 6000, 6000, 6500, 7000, 7000, 7000, 7000, 6500, 6000, 5500, 5000]
    printed += [4000, 2500, 1500, 1000]
    assert standard_weights(EUROPEAN_STANDARD_2013, range(0, 95, 5)).tolist() == printed
    assert sum(EUROPEAN_STANDARD_2013.values()) == 100_000


def test_world_standard_is_whos() -> None:
    """Ahmad et al. 2001: in 18 bands, 85 open, the last is printed as 0.63 (memory, and public copies)."""
    printed = [8.86, 8.69, 8.60, 8.47, 8.22, 7.93, 7.61, 7.15, 6.59, 6.04, 5.37, 4.55, 3.72, 2.96, 2.21]
    printed += [1.52, 0.91, 0.63]
    assert standard_weights(WHO_WORLD_STANDARD, range(0, 90, 5)) == pytest.approx(printed, abs=0.006)
