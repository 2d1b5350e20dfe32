"""The funnel of hospitals: what must hold whatever the counts."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from hingeline.errors import HingelineError
from hingeline.estimates.pooling import funnel, funnel_limits


@pytest.mark.parametrize("share", [0.01, 0.08, 0.5])
def test_limits_lie_between_whole_counts_about_the_exact_quantile(share: float) -> None:
    sizes = np.array([20, 47, 150, 900])
    found = funnel_limits(share, sizes)
    for name, probability in (("low95", 0.025), ("high95", 0.975), ("low998", 0.001), ("high998", 0.999)):
        count = binom.ppf(probability, sizes, share)
        assert (getattr(found, name) * sizes <= count + 1e-9).all()
        assert (getattr(found, name) * sizes >= np.maximum(count - 1, 0) - 1e-9).all()


def test_limits_close_in_as_hospitals_grow() -> None:
    found = funnel_limits(0.05, np.array([10, 100, 1000, 10_000]))
    for name, sign in (("low95", 1), ("high95", -1), ("low998", 1), ("high998", -1)):
        assert (np.diff(getattr(found, name)) * sign >= 0).all()
    assert (found.low998 <= found.low95).all()
    assert (found.high95 <= found.high998).all()


def test_a_hospital_far_outside_is_named_with_its_side() -> None:
    found = funnel([1, 2, 60, 40], [100, 90, 200, 2000], ["Elm", "Oak", "Ash", "Yew"])
    assert found.outside == ("", "", "high 99.8", "low 99.8")
    assert "Ash and Yew outside the 95%" in str(found)
    assert found.to_frame()["outside"].to_pylist()[0] == ""
    assert found.curve.to_frame().column_names == ["n", "centre", "low95", "high95", "low998", "high998"]


def test_no_event_anywhere_puts_no_one_outside() -> None:
    found = funnel([0, 0], [10, 500])
    assert found.outside == ("", "")
    assert str(found).startswith("All 2 series lie within")


def test_a_centre_may_come_from_outside() -> None:
    found = funnel([9, 1], [100, 100], centre=0.02)
    assert found.centre_given
    assert found.at.centre == 0.02
    assert found.outside[0] == "high 99.8"


def test_impossible_hospitals_are_refused() -> None:
    for call in (
        lambda: funnel([3], [2]),
        lambda: funnel([-3], [2]),
        lambda: funnel([1], [0]),
        lambda: funnel([], []),
        lambda: funnel([1], [2], ["a", "b"]),
        lambda: funnel_limits(1.2, [3]),
        lambda: funnel_limits(0.2, [0.5]),
    ):
        with pytest.raises(HingelineError):
            call()


def test_what_is_not_rare_by_the_binomial_is_not_outside() -> None:
    """By counting: 1 of 1 has a chance of a half; of 20 at 2%, 2 or more have one of 6.0%, 3 or more of 0.7%."""
    assert funnel([0, 1], [1, 1], centre=0.5).outside == ("", "")
    assert funnel([2, 3], [20, 20], centre=0.02).outside == ("", "high 95")
