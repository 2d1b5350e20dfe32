"""Shares and their differences: what must hold whatever the counts."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from hingeline.errors import HingelineError
from hingeline.estimates.proportion import (
    Difference,
    Proportion,
    clopper_pearson,
    clopper_pearson_limits,
    jeffreys,
    jeffreys_limits,
    miettinen_nurminen,
    newcombe,
    rule_of_three,
    three_over,
    wilson,
    wilson_limits,
)

METHODS = [(wilson, wilson_limits), (clopper_pearson, clopper_pearson_limits), (jeffreys, jeffreys_limits)]


@st.composite
def tables(draw: st.DrawFn) -> tuple[int, int]:
    total = draw(st.integers(1, 400))
    return draw(st.integers(0, total)), total


@pytest.mark.parametrize(("one", "many"), METHODS)
def test_arrays_give_what_single_tables_give(
    one: Callable[..., Proportion], many: Callable[..., tuple[np.ndarray, np.ndarray]]
) -> None:
    events, totals = np.array([[0, 3, 7], [9, 1, 20]]), np.array([10, 10, 20])
    low, high = many(events, totals, 0.9)
    assert low.shape == high.shape == (2, 3)
    for place in np.ndindex(2, 3):
        single = one(int(events[place]), int(totals[place[1]]), 0.9)
        assert (single.low, single.high) == (low[place], high[place])


@pytest.mark.parametrize(("one", "many"), METHODS)
@given(table=tables(), level=st.sampled_from([0.8, 0.95, 0.999]))
def test_limits_hold_the_share_and_mirror_when_events_are_counted_the_other_way(
    one: Callable[..., Proportion], many: object, table: tuple[int, int], level: float
) -> None:
    events, total = table
    found, mirrored = one(events, total, level), one(total - events, total, level)
    assert 0 <= found.low <= found.share <= found.high <= 1
    assert (found.low, found.high) == pytest.approx((1 - mirrored.high, 1 - mirrored.low), abs=1e-12)


def test_no_total_says_nothing() -> None:
    for one, _ in METHODS:
        found = one(0, 0)
        assert np.isnan(found.share)
        assert (found.low, found.high) == (0, 1)
    assert rule_of_three(0).high == 1
    assert three_over(2) == 1


@pytest.mark.parametrize("total", [5, 20, 60])
@pytest.mark.parametrize("true", [0.01, 0.1, 0.37, 0.5])
def test_clopper_pearson_never_covers_less_than_its_level(total: int, true: float) -> None:
    """Exact coverage: the sum of binomial chances of the counts whose interval holds the true share."""
    events = np.arange(total + 1)
    low, high = clopper_pearson_limits(events, total)
    assert binom.pmf(events, total, true)[(low <= true) & (true <= high)].sum() >= 0.95


@settings(deadline=None)
@given(first=tables(), second=tables())
def test_differences_hold_their_estimate_and_change_sign_with_the_arms(
    first: tuple[int, int], second: tuple[int, int]
) -> None:
    for method in (newcombe, miettinen_nurminen):
        there, back = method(*first, *second), method(*second, *first)
        assert -1 - 1e-12 <= there.low <= there.difference <= there.high <= 1 + 1e-12
        assert (there.low, there.high) == pytest.approx((-back.high, -back.low), abs=1e-9)


@settings(deadline=None, max_examples=50)
@given(first=tables(), second=tables())
def test_a_higher_level_widens_a_difference(first: tuple[int, int], second: tuple[int, int]) -> None:
    for method in (newcombe, miettinen_nurminen):
        narrow, wide = method(*first, *second, level=0.8), method(*first, *second, level=0.99)
        assert wide.low <= narrow.low
        assert narrow.high <= wide.high


def test_a_difference_of_all_and_none_ends_at_one() -> None:
    found = miettinen_nurminen(10, 10, 0, 10)
    assert found.high == 1
    assert 0 < found.low < 1


@pytest.mark.parametrize(
    "call",
    [
        lambda: wilson(3, 2),
        lambda: wilson(-1, 2),
        lambda: wilson(1, float("nan")),
        lambda: wilson(1, 2, 1.0),
        lambda: jeffreys_limits([1, 5], [2, 4]),
        lambda: newcombe(0, 0, 1, 2),
        lambda: miettinen_nurminen(1, 2, 3, 0),
        lambda: rule_of_three(-1),
    ],
)
def test_impossible_counts_are_refused_in_three_parts(call: Callable[[], object]) -> None:
    with pytest.raises(HingelineError) as refused:
        call()
    assert refused.value.where
    assert refused.value.todo


def test_a_refusal_names_the_place_in_the_array() -> None:
    with pytest.raises(HingelineError, match="5 of 4") as refused:
        wilson_limits([1, 5], [2, 4])
    assert "place 1" in refused.value.where


def test_results_print_as_a_sentence_and_as_a_frame() -> None:
    share, gap = wilson(1, 4), newcombe(1, 4, 0, 5)
    assert str(share) == "25.0% (95% CI 4.6–69.9%; 1 of 4)"
    assert share.to_frame().to_pylist()[0]["method"] == "Wilson"
    assert "points" in str(gap)
    assert isinstance(gap, Difference)
    assert gap.to_frame().column_names[:2] == ["first_events", "first_total"]
