"""Fragility against Walsh 2014 and R's fisher.test (reference/pooling.R)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from hingeline.estimates.fragility import fisher_p, fragility, one_more, walsh_index
from hingeline.estimates.fragility_verdict import Arms

REFERENCE = json.loads((Path(__file__).parent / "reference" / "pooling.json").read_text(encoding="utf-8"))


def test_fragility_indices_are_walsh_ones() -> None:
    """Walsh et al., J Clin Epidemiol 2014;67:622–628 (memory, recomputed)."""
    assert walsh_index(1, 100, 9, 100) == 1
    assert walsh_index(9, 100, 1, 100) == 1
    assert walsh_index(200, 4000, 250, 4000) == 9


def test_fisher_p_matches_r() -> None:
    for row in REFERENCE["fisher"]:
        assert fisher_p(Arms(*row["table"])) == pytest.approx(row["p"], rel=1e-9), row


def test_national_insurance_data_of_adolescents_and_young_adults() -> None:
    """18/947 v 84/9,856, crude Fisher P 0.0040 (published abstract, synapse.koreamed 1516086947; P recomputed)."""
    found = fragility(18, 947, 84, 9856)
    assert round(found.observed.p, 4) == 0.0040
    assert found.observed.verdict == "second lower"
    assert found.arm == 1


def test_differences_have_miettinen_and_nurminens_limits() -> None:
    """56/70 − 48/80: 0.0528 to 0.3382 (outside-checks, hand-coded in R)."""
    row = fragility(56, 70, 48, 80).observed
    assert (row.low, row.high) == pytest.approx((0.0528, 0.3382), abs=6e-5)


def test_one_of_thirty_has_exact_limits() -> None:
    """1/29: 0.0009 to 0.1776, 0/20: up to 0.1684 (Newcombe 1998, Stat Med 17:857; memory, recomputed)."""
    found = one_more(1, 29)
    place = found.change.index(0)
    assert (found.low[place], found.high[place]) == pytest.approx((0.0009, 0.1776), abs=6e-5)
    assert one_more(1, 20).high[0] == pytest.approx(0.1684, abs=6e-5)
