"""What was set aside is told so that no small count can be had by subtraction."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from hingeline.answers.flow import without_few


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
