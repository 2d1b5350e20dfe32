from __future__ import annotations

import narwhals as nw
import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hingeline.counts import age_bin, edges_days, edges_years, n_bins
from hingeline.counts.bins import age_bin_expression
from hingeline.errors import HingelineError

from .cases import bin_by_fractions


def test_bins_are_half_years_to_thirty_and_years_after():
    edges = edges_years()
    assert edges[:4].tolist() == [0, 0.5, 1, 1.5]
    assert edges[58:64].tolist() == [29, 29.5, 30, 31, 32, 33]
    assert edges[-2:].tolist() == [110, 111]
    assert n_bins() == 60 + 81


@pytest.mark.parametrize(
    ("days", "place"),
    [
        (0, 0), (182, 0), (183, 1), (365, 1), (366, 2), (10957, 59), (10958, 60), (11322, 60), (11323, 61),
        (40177, 139), (40178, 140), (45_000, 140), (-1, -1),
    ],
)  # fmt: skip
def test_days_about_an_edge_fall_on_the_right_side(days, place):
    # half a year is 182.625 days, so day 183 is the first of the second half-year; 30 years are 10,957.5 days
    assert age_bin([days]).tolist() == [place]


@given(st.lists(st.integers(0, 42_000)), st.integers(0, 112), st.integers(1, 110))
def test_bins_equal_those_of_exact_fractions(days, half_years_to, highest):
    halves = min(half_years_to, highest)
    expected = [bin_by_fractions(day, halves, highest) for day in days]
    assert age_bin(days, half_years_to, highest).tolist() == expected


@pytest.mark.parametrize(("half_years_to", "highest"), [(30, 110), (0, 90), (20, 20), (200, 5)])
def test_engine_and_arrays_agree_on_every_edge_and_its_neighbours(half_years_to, highest):
    edges = edges_days(half_years_to, highest)
    days = np.unique(np.concatenate([edges - 1, edges, edges + 1, [0, 1, 50_000]]))
    frame = nw.from_native(pa.table({"age_days": pa.array(days, pa.int32())}))
    there = frame.select(age_bin_expression(nw.col("age_days"), half_years_to, highest).alias("bin"))
    assert there["bin"].to_list() == age_bin(days, half_years_to, highest).tolist()


def test_each_first_day_of_a_bin_is_in_it_and_the_day_before_is_not():
    edges = edges_days()[:-1]
    assert age_bin(edges).tolist() == list(range(n_bins()))
    assert age_bin(edges - 1).tolist() == list(range(-1, n_bins() - 1))


def test_bins_that_cannot_be_are_refused():
    with pytest.raises(HingelineError, match="Ages cannot be binned"):
        edges_years(30, 0)
    with pytest.raises(HingelineError, match="Ages cannot be binned"):
        age_bin([3], -1, 110)
