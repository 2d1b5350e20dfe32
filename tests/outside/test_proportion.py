"""Shares and their differences against publications and R (reference/proportion.R)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from statsmodels.stats.proportion import proportion_confint

from hingeline.estimates.proportion import (
    clopper_pearson,
    clopper_pearson_limits,
    jeffreys,
    miettinen_nurminen,
    newcombe,
    rule_of_three,
    three_over,
    wilson,
    wilson_limits,
)

REFERENCE = json.loads((Path(__file__).parent / "reference" / "proportion.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("events", "total", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_limits_match_newcombe(events: int, total: int, low: float, high: float) -> None:
    """Newcombe, Stat Med 1998;17:857–872, table I (memory, recomputed)."""
    found = wilson(events, total)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("events", "total", "low", "high"),
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (1, 29, 0.0009, 0.1776)],
)
def test_clopper_pearson_limits_match_newcombe(events: int, total: int, low: float, high: float) -> None:
    """Newcombe, Stat Med 1998;17:857–872, table I (memory, recomputed)."""
    found = clopper_pearson(events, total)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("table", "low", "high"),
    [
        ((56, 70, 48, 80), 0.0524, 0.3339),  # Newcombe, Stat Med 1998;17:873–890, table II (memory)
        ((9, 10, 3, 10), 0.1705, 0.8090),  # the other three: same source, recomputed
        ((5, 56, 0, 29), -0.0381, 0.1926),
        ((0, 10, 0, 10), -0.2775, 0.2775),
    ],
)
def test_newcombes_difference_matches_his_examples(
    table: tuple[int, int, int, int], low: float, high: float
) -> None:
    found = newcombe(*table)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("table", "low", "high"),
    [
        ((56, 70, 48, 80), 0.0528, 0.3382),
        ((9, 10, 3, 10), 0.1700, 0.8406),
        ((5, 56, 0, 29), -0.0326, 0.1933),
        ((0, 10, 0, 10), -0.2879, 0.2879),
    ],
)
def test_miettinen_nurminens_difference_matches_newcombes_examples(
    table: tuple[int, int, int, int], low: float, high: float
) -> None:
    """Newcombe, Stat Med 1998;17:873–890, table II, method 7 has these examples; values hand-coded in R."""
    found = miettinen_nurminen(*table)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


def test_shares_match_r() -> None:
    rows = REFERENCE["shares"]
    events, total = [row["events"] for row in rows], [row["total"] for row in rows]
    for name, limits in (("wilson", wilson_limits), ("clopper_pearson", clopper_pearson_limits)):
        low, high = limits(events, total)
        assert low == pytest.approx([row[name][0] for row in rows], abs=1e-8), name
        assert high == pytest.approx([row[name][1] for row in rows], abs=1e-8), name


def test_differences_match_a_maximum_found_by_search_in_r() -> None:
    for row in REFERENCE["differences"]:
        found = miettinen_nurminen(row["events"], row["total"], row["other_events"], row["other_total"])
        assert (found.low, found.high) == pytest.approx(row["miettinen_nurminen"], abs=2e-6), row


@pytest.mark.parametrize(("events", "total"), [(0, 20), (3, 20), (20, 20), (16, 267), (813, 9856)])
@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
def test_shares_match_statsmodels(events: int, total: int, level: float) -> None:
    for ours, theirs in ((wilson, "wilson"), (clopper_pearson, "beta")):
        found = ours(events, total, level)
        expected = proportion_confint(events, total, 1 - level, method=theirs)
        assert (found.low, found.high) == pytest.approx(expected, abs=1e-12)


def test_jeffreys_matches_statsmodels_away_from_the_ends() -> None:
    found = jeffreys(16, 267)
    assert (found.low, found.high) == pytest.approx(proportion_confint(16, 267, method="jeffreys"), abs=1e-12)


def test_jeffreys_is_opened_at_the_ends() -> None:
    """Brown, Cai & DasGupta, Stat Sci 2001;16:101–133: lower limit 0 at no event, upper limit 1 at all."""
    assert jeffreys(0, 20).low == 0
    assert jeffreys(20, 20).high == 1


@pytest.mark.parametrize("total", [30, 100, 347, 5000])
def test_rule_of_three_is_three_over_n(total: int) -> None:
    """Hanley & Lippman-Hand, JAMA 1983;249:1743: the upper 95% limit of 0 of n is close to 3/n."""
    assert rule_of_three(total).high == pytest.approx(three_over(total), rel=0.05)
    assert rule_of_three(total).high < three_over(total)
    assert (1 - rule_of_three(total).high) ** total == pytest.approx(0.05, rel=1e-9)
