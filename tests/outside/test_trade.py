"""What the trade has published, against our arithmetic: shares with their limits from printed counts."""

from __future__ import annotations

import pytest

from hingeline.estimates.proportion import (
    clopper_pearson,
    miettinen_nurminen,
    newcombe,
    rule_of_three,
    wilson,
    wilson_limits,
)
from hingeline.invented.patients import SHAPE_AGES, SHAPE_SHARES, shape


def test_none_of_347_has_three_upper_limits_that_are_told_apart() -> None:
    """Reistrup 2023, Langenbecks Arch Surg: laparoscopic mesh in adolescents, 0 of 347; limits recomputed."""
    assert clopper_pearson(0, 347).high == pytest.approx(0.0106, abs=5e-5)
    assert wilson(0, 347).high == pytest.approx(0.0109, abs=5e-5)
    assert rule_of_three(347).high == pytest.approx(0.0086, abs=5e-5)
    assert "one-sided" in str(rule_of_three(347))
    assert "one-sided" not in str(wilson(0, 347))


def test_direct_hernias_among_boys_operated_laparoscopically() -> None:
    """Montupet & Esposito 2011, Surg Endosc: 7 of 596 boys, 1.2% (Wilson 0.6–2.4%)."""
    found = wilson(7, 596)
    assert (found.share, found.low, found.high) == pytest.approx((0.0117, 0.0057, 0.0240), abs=5e-5)
    assert str(found) == "1.2% (95% CI 0.6–2.4%; 7 of 596)"


def test_recurrence_after_high_ligation_at_12_to_18() -> None:
    """J Pediatr Surg, doi 10.1016/j.jpedsurg.2020.11.006: 267 hernias, 6.0%, which is 16 (Wilson 3.7–9.5)."""
    assert str(wilson(16, 267)) == "6.0% (95% CI 3.7–9.5%; 16 of 267)"


def test_high_ligation_alone_against_posterior_wall_repair() -> None:
    """National insurance data, synapse.koreamed 1516086947: 18/947 (1.9%) v 84/9,856 (0.85%), log-rank P 0.003.

    Both intervals of the difference must leave 0 out, as the log-rank test does.
    """
    low, high = wilson_limits([18, 84], [947, 9856])
    assert str(wilson(18, 947)).startswith("1.9%")
    assert str(wilson(84, 9856)).startswith("0.9%")
    assert low[0] > high[1]
    for method in (newcombe, miettinen_nurminen):
        assert method(18, 947, 84, 9856).low > 0


def test_types_in_adults_leave_a_tenth_for_both() -> None:
    """Ris 1987, Chirurg 58:93: of 726, 31.5% direct, 58% indirect, 9% combined; our shape at 60 lies near."""
    published = (0.315 + 0.09) / (0.315 + 0.58 + 0.09)
    assert float(shape().share(60)) == pytest.approx(published, abs=0.1)


def test_the_invented_shape_is_what_the_trade_describes() -> None:
    """About 10% near 17–18 years and under 30% below 18, take-off in the teens, faster about 40 (common practice,
    no source)."""
    true = shape()
    assert 17 <= true.crossing(0.10) <= 18.5
    assert float(true.share(17.99)) < 0.30
    assert true.changes[0] > 0
    assert true.changes[2] > 0
    assert 13 <= true.turns[0] <= 16
    assert 35 <= true.turns[2] <= 45
    assert dict(zip(SHAPE_AGES, SHAPE_SHARES, strict=True))[0] < 0.01
