"""Pooling: what must hold whatever the counts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.errors import HingelineError
from hingeline.estimates.pooling import compare_pools, pool_effects, pool_rates, pool_shares
from hingeline.estimates.pooling_mixed import Counts, fit_mixed, marginal
from hingeline.estimates.pooling_normal import restricted_loglik
from hingeline.estimates.pooling_series import leave_one_out, pool_series

series = st.lists(
    st.tuples(st.integers(1, 400), st.floats(0, 1)).map(lambda pair: (round(pair[0] * pair[1]), pair[0])),
    min_size=1,
    max_size=8,
)


@settings(max_examples=40, deadline=None)
@given(series)
def test_any_counts_have_an_answer_within_its_limits(rows: list[tuple[int, int]]) -> None:
    events, n = zip(*rows, strict=True)
    found = pool_shares(events, n)
    assert 0 <= found.low <= found.share <= found.high <= 1
    assert sum(found.weights) == pytest.approx(1)
    assert math.isnan(found.tau2) or 0 <= found.tau2_low <= found.tau2 <= found.tau2_high
    assert math.isnan(found.prediction_low) or found.prediction_low <= found.share <= found.prediction_high
    assert str(found)


@settings(max_examples=25, deadline=None)
@given(series.filter(lambda rows: sum(x for x, _ in rows) > 0))
def test_events_and_their_absence_are_told_as_mirror_images(rows: list[tuple[int, int]]) -> None:
    events, n = (np.array(part) for part in zip(*rows, strict=True))
    one, other = pool_shares(events, n), pool_shares(n - events, n)
    assert one.share == pytest.approx(1 - other.share, abs=1e-6)
    assert one.low == pytest.approx(1 - other.high, abs=1e-5)


@settings(max_examples=25, deadline=None)
@given(series)
def test_rates_scale_with_the_unit_of_time(rows: list[tuple[int, int]]) -> None:
    events, years = zip(*rows, strict=True)
    one, other = pool_rates(events, years, per=100), pool_rates(events, np.array(years) * 10.0, per=1000)
    got, same = [(p.estimate, p.low, p.high) for p in (one, other)]
    assert got == pytest.approx(same, rel=1e-4, abs=1e-6)


@pytest.mark.parametrize("family", ["binomial", "poisson"])
@pytest.mark.parametrize("tau", [0.05, 0.7, 2.0])
def test_derivatives_are_those_of_the_likelihood(family: str, tau: float) -> None:
    counts = Counts(np.array([0.0, 3, 11]), np.array([40.0, 55, 300]), family)  # type: ignore[arg-type]
    step = 1e-5
    _, gradient, hessian = marginal(counts, -3.1, tau, 101)
    for axis, move in enumerate(np.eye(2) * step):
        up = marginal(counts, -3.1 + move[0], tau + move[1], 101)
        down = marginal(counts, -3.1 - move[0], tau - move[1], 101)
        assert gradient[axis] == pytest.approx((up[0] - down[0]) / (2 * step), abs=1e-4)
        assert hessian[axis] == pytest.approx((up[1] - down[1]) / (2 * step), abs=2e-3)


def test_equal_series_have_no_spread_and_the_share_of_all() -> None:
    found = pool_shares([4, 4, 4], [200, 200, 200])
    assert found.tau2 == found.tau2_low == 0
    assert found.share == pytest.approx(0.02)
    assert found.tau2_high > 0
    assert found.weights == pytest.approx([1 / 3] * 3)


def test_the_fit_is_no_lower_than_any_point_of_a_grid() -> None:
    counts = Counts(np.array([1.0, 0, 14, 2, 30]), np.array([60.0, 90, 120, 33, 200]), "binomial")
    fit = fit_mixed(counts)
    best = max(
        float(marginal(counts, level, tau, 101)[0])
        for level in np.linspace(-6, 0, 61)
        for tau in np.linspace(0, 4, 41)
    )
    assert fit.loglik - counts.constant() >= best - 1e-9


def test_no_event_at_all_is_told_with_an_exact_one_sided_limit() -> None:
    found = pool_shares([0, 0, 0], [60, 40, 120])
    assert (found.share, found.low, found.one_sided) == (0, 0, True)
    assert found.high == pytest.approx(1 - 0.05 ** (1 / 220))
    assert math.isnan(found.tau2)
    assert "no event" in found.warnings[0]
    assert "one-sided" in str(found)


def test_nothing_but_events_is_the_mirror_image_of_none() -> None:
    found = pool_shares([4, 5], [4, 5])
    assert (found.share, found.high, found.one_sided) == (1, 1, True)
    assert found.low == pytest.approx(0.05 ** (1 / 9))


def test_one_series_is_no_pool_and_says_so() -> None:
    for found in (pool_shares([1], [30]), pool_rates([1], [30]), pool_effects([0.2], [0.1])):
        assert math.isnan(found.tau2)
        assert any("no pool" in warning for warning in found.warnings)


def test_two_hospitals_that_share_nothing_have_no_bound_to_their_spread() -> None:
    found = pool_shares([0, 10], [10, 10])
    assert found.tau2_high == math.inf
    assert any("no upper bound" in warning for warning in found.warnings)
    assert any("2 series" in warning for warning in found.warnings)


def test_the_half_is_never_added_silently() -> None:
    mixed, inverse = compare_pools([0, 3, 5], [50, 60, 70], ["Elm", "Oak", "Ash"])
    assert any("½" in warning and "Elm" in warning for warning in inverse.warnings)
    assert not any("½" in warning for warning in mixed.warnings)
    _, bare = compare_pools([1, 3, 5], [50, 60, 70])
    assert not any("½" in warning for warning in bare.warnings)


def test_reml_finds_the_higher_of_two_maxima() -> None:
    effects, variances = np.array([0.0, 0.01, 3.0]), np.array([1e-4, 1e-4, 9.0])
    tau2 = pool_effects(effects, np.sqrt(variances)).tau2
    fine = restricted_loglik(effects, variances, np.concatenate([[0.0], np.geomspace(1e-9, 100, 20_000)]))
    assert restricted_loglik(effects, variances, np.array([tau2]))[0] >= fine.max() - 1e-9


def test_leaving_one_out_is_pooling_the_others() -> None:
    events, n, labels = [1, 9, 3, 2], [60, 90, 120, 33], ["Elm", "Oak", "Ash", "Yew"]
    out = leave_one_out(pool_shares(events, n, labels, limits="wald"))
    without = pool_shares([1, 3, 2], [60, 120, 33], limits="wald")
    assert (out.rows[1].estimate, out.rows[1].low) == (without.share, without.low)
    assert out.biggest.label == "Oak"
    assert "Oak moves the pool most" in str(out)


def test_leaving_out_the_only_series_with_events_leaves_none() -> None:
    out = leave_one_out(pool_shares([0, 0, 4], [50, 60, 70]))
    assert out.rows[2].estimate == 0
    assert out.rows[2].high == pool_shares([0, 0], [50, 60]).high


def test_leaving_out_keeps_model_limits_and_unit() -> None:
    effects = pool_effects([0.1, 0.4, -0.2], [0.1, 0.2, 0.15], limits="z")
    assert leave_one_out(effects).rows[0].low == pool_effects([0.4, -0.2], [0.2, 0.15], limits="z").low
    rates = pool_rates([1, 2, 5], [30, 40, 50], per=1000)
    assert leave_one_out(rates).rows[0].high == pool_rates([2, 5], [40, 50], per=1000).high
    with pytest.raises(HingelineError, match="left out"):
        leave_one_out(pool_shares([1], [3]))


def test_summaries_are_shown_and_never_pooled_unless_asked() -> None:
    rows = {
        "label": ["Elm", "Oak", "A review"],
        "events": [1, 4, None],
        "n": [50, 80, 900],
        "share": [None, None, 0.02],
        "low": [None, None, 0.01],
        "high": [None, None, 0.03],
        "kind": ["series", "series", "summary"],
    }
    shown = pool_series(**rows)  # type: ignore[arg-type]
    assert shown.pooled is not None
    assert shown.pooled.share == pool_shares([1, 4], [50, 80]).share
    assert [row.kind for row in shown.rows()] == ["series", "series", "summary", "pooled", "prediction"]
    assert any("not pooled" in warning for warning in shown.warnings)
    asked = pool_series(**rows, summaries="pooled")  # type: ignore[arg-type]
    assert asked.pooled is not None
    assert asked.pooled.share == pool_shares([1, 4, 18], [50, 80, 900]).share
    assert any("counted twice" in warning for warning in asked.warnings)
    assert [row.kind for row in asked.rows()][:3] == ["series", "series", "summary"]


def test_a_table_of_summaries_alone_pools_nothing() -> None:
    found = pool_series(["A"], [None], [100], share=[0.1], low=[0.05], high=[0.2], kind=["summary"])  # type: ignore[list-item]
    assert found.pooled is None
    assert "Nothing is pooled" in str(found)


@pytest.mark.parametrize(
    ("events", "n"),
    [
        ([5], [4]),
        ([-1], [4]),
        ([1.5], [4]),
        ([1], [0]),
        ([], []),
        ([1, 2], [3]),
        ([float("nan")], [4]),
        (["x"], [4]),
    ],
)
def test_impossible_counts_are_refused(events: list[float], n: list[float]) -> None:
    with pytest.raises(HingelineError) as error:
        pool_shares(events, n)
    assert error.value.todo


def test_unknown_names_and_levels_are_refused() -> None:
    for call in (
        lambda: pool_shares([1], [2], model="other"),  # type: ignore[arg-type]
        lambda: pool_shares([1, 2], [9, 9], limits="z"),
        lambda: pool_shares([1], [2], level=95),
        lambda: pool_shares([1], [2], ["a", "b"]),
        lambda: pool_rates([1], [2], per=0),
        lambda: pool_rates([1], [-2]),
        lambda: pool_effects([1], [0]),
        lambda: pool_effects([1], [1], limits="wald"),  # type: ignore[arg-type]
        lambda: pool_series(["a"], [1], [2], kind=["other"]),
    ):
        with pytest.raises(HingelineError):
            call()


def test_profile_limits_cover_as_often_as_they_say() -> None:
    """Twelve hospitals with rare events; 120 studies, each covering with probability about 0.95."""
    seed = int(np.random.default_rng().integers(2**31))
    print("seed", seed)
    rng = np.random.default_rng(seed)
    truth, sizes = -3.5, rng.integers(40, 400, 12)
    inside = 0
    for _ in range(120):
        level = truth + 0.5 * rng.normal(size=12)
        found = pool_shares(rng.binomial(sizes, 1 / (1 + np.exp(-level))), sizes)
        inside += found.low <= 1 / (1 + np.exp(-truth)) <= found.high
    # at a coverage of 0.95 fewer than 100 of 120 come out in less than one run in 10⁶
    assert inside >= 100


def test_frames_hold_series_pool_and_prediction() -> None:
    table = pool_shares([1, 4, 2], [50, 80, 90], ["Elm", "Oak", "Ash"]).to_frame()
    assert table["label"].to_pylist()[:3] == ["Elm", "Oak", "Ash"]
    assert table["kind"].to_pylist() == ["series"] * 3 + ["pooled", "prediction"]
    assert table["events"].to_pylist()[3] == 7
