"""What was set aside is told so that no small count can be had by subtraction."""

from __future__ import annotations

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from hingeline.answers.flow import _visits, without_few


@given(
    st.dictionaries(st.text("abcdef", min_size=1, max_size=3), st.integers(0, 30), max_size=8),
    st.integers(2, 9),
)
def test_small_counts_are_put_together_and_nobody_is_lost(reasons, least):
    told = without_few(reasons, least)
    assert sum(told.values()) == sum(reasons.values())
    small = [n for n in told.values() if 0 < n < least]
    assert len(small) <= 1
    if small:
        # only when there is nothing to put it with
        assert len([n for n in reasons.values() if n > 0]) == 1 or sum(reasons.values()) < least


def test_one_small_reason_takes_the_next_smallest_with_it():
    assert without_few({"a": 12, "b": 6, "c": 4}, 5) == {"a": 12, "other reasons": 10}


def test_visits_have_boxes_of_their_own_that_balance():
    rows = Counter({"visits read": 900, "visits joined": 860, "visits set aside": 40})
    boxes = {box["id"]: box for box in _visits(rows, {"visit before the operation": 40}, 5)}
    assert [boxes[name]["n"] for name in ("visits", "visits joined", "visits aside")] == ["900", "860", "40"]
    assert "visit before the operation (40)" in boxes["visits aside"]["label"]
    assert boxes["visits"]["of"] == "", "visits make no cases"


def test_a_small_number_of_visits_set_aside_cannot_be_had_by_subtraction():
    rows = Counter({"visits read": 900, "visits joined": 897, "visits set aside": 3})
    told = " ".join(f"{box['label']} {box['n']}" for box in _visits(rows, {"visit after the death": 3}, 5))
    assert "897" not in told
    assert " 3" not in told


def test_without_visits_there_are_no_boxes_of_them():
    assert _visits(Counter({"rows read": 12}), {}, 5) == []
