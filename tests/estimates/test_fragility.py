"""Fragility: what must hold whatever the counts."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import fisher_exact

from hingeline.errors import HingelineError
from hingeline.estimates.fragility import fisher_p, fragility, one_more, tipping_grid, walsh_index
from hingeline.estimates.fragility_verdict import Arms, verdict_of
from hingeline.estimates.proportion import miettinen_nurminen

arm = st.integers(1, 80).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@settings(max_examples=60, deadline=None)
@given(arm, arm)
def test_verdicts_are_those_of_the_score_limits(one: tuple[int, int], other: tuple[int, int]) -> None:
    found = miettinen_nurminen(*one, *other)
    arms = Arms(*one, *other)
    if min(abs(found.low), abs(found.high)) > 1e-6:
        told = verdict_of(arms, "superiority", 0.0, 0.95)
        assert told == (
            "first lower" if found.high < 0 else "second lower" if found.low > 0 else "no difference shown"
        )
    if min(abs(found.low - 0.1), abs(found.high - 0.1)) > 1e-6:
        told = verdict_of(arms, "non-inferiority", 0.1, 0.95)
        assert told == ("not worse" if found.high < 0.1 else "worse" if found.low > 0.1 else "not shown")


@settings(max_examples=60, deadline=None)
@given(arm, arm)
def test_fisher_p_is_scipys(one: tuple[int, int], other: tuple[int, int]) -> None:
    (x, n), (y, m) = one, other
    expected = fisher_exact([[x, n - x], [y, m - y]]).pvalue
    assert fisher_p(Arms(x, n, y, m)) == pytest.approx(expected, rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(arm, arm)
def test_the_index_is_the_first_change_and_does_not_depend_on_the_order(
    one: tuple[int, int], other: tuple[int, int]
) -> None:
    index = walsh_index(*one, *other)
    assert (index == 0) == (fisher_p(Arms(*one, *other)) >= 0.05 - 1e-12)
    if one[0] * other[1] != other[0] * one[1]:
        assert index == walsh_index(*other, *one)
    if index:
        arms = Arms(*one, *other)
        before = arms.gaining(arms.lower(), index - 1)
        assert fisher_p(before) < 0.05 <= fisher_p(arms.gaining(arms.lower(), index))


def test_a_p_of_just_the_level_is_not_below_it() -> None:
    """By counting: 1 of the 20 ways to place one event is 1/1 v 0/19; 2 of the 20 of three are 3/3 v 0/3 or worse."""
    assert fisher_p(Arms(1, 1, 0, 19)) == pytest.approx(1 / 20, rel=1e-12)
    assert walsh_index(1, 1, 0, 19) == walsh_index(0, 19, 1, 1) == 0
    assert fisher_p(Arms(3, 3, 0, 3)) == pytest.approx(2 / 20, rel=1e-12)
    assert walsh_index(3, 3, 0, 3, level=0.9) == 0
    assert walsh_index(3, 3, 0, 3, level=0.89) == 1  # 2/3 v 0/3, then P is 0.4


def test_rows_go_from_five_fewer_to_ten_more_as_far_as_the_counts_allow() -> None:
    assert [row.change for row in fragility(7, 100, 30, 100).rows] == list(range(-5, 11))
    assert [row.change for row in fragility(2, 6, 5, 6).rows] == [-2, -1, 0, 1, 2, 3, 4]


def test_the_verdict_turns_where_it_is_said_to() -> None:
    found = fragility(2, 400, 3, 400, question="non-inferiority", names=("high ligation", "mesh"))
    assert found.arm == 0
    assert found.observed.verdict == "not worse"
    assert found.overturned_by is not None
    by_change = {row.change: row.verdict for row in found.rows}
    assert by_change[found.overturned_by - 1] == "not worse"
    assert by_change[found.overturned_by] == "not shown"
    assert "shown not to be worse than mesh by more than 2 points" in str(found)


def test_a_verdict_that_nothing_changes_says_so() -> None:
    found = fragility(0, 1, 0, 1)
    assert found.overturned_by is None
    assert found.index == 0
    assert "no number of further events" in str(found)


def test_a_difference_not_shown_is_not_told_as_none() -> None:
    assert "which is not the same as none" in str(fragility(3, 40, 5, 40))


def test_one_event_moves_a_small_series() -> None:
    found = one_more(1, 30)
    assert found.change == tuple(range(-1, 11))
    assert found.count[0] == 0
    assert found.low[0] == 0
    assert str(found).startswith("1 of 30 is 3.3%")
    assert one_more(30, 30).change == (-5, -4, -3, -2, -1, 0)
    assert found.to_frame().num_rows == 12


def test_the_grid_overturns_beyond_its_boundary() -> None:
    found = tipping_grid((5, 40), (300, 320), (60, 80), names=("mesh", "high ligation"))
    assert found.verdict == found.as_followed == "first lower"
    assert len(found.cells) == 21 * 21
    least = found.boundary[0]
    assert least is not None
    other = round(80 * 40 / 320)
    shifted = {count: Arms(5 + count, 360, 40 + other, 400) for count in (least - 1, least)}
    assert verdict_of(shifted[least - 1], "superiority", 0.0, 0.95) == "first lower"
    assert verdict_of(shifted[least], "superiority", 0.0, 0.95) != "first lower"
    assert f"{least} events among the 60 lost after mesh" in str(found)
    assert found.worst == ("second lower", "first lower")


def test_an_arm_that_lost_no_one_has_one_row_of_cells() -> None:
    found = tipping_grid((1, 9), (100, 100), (0, 10))
    assert len(found.cells) == 11
    assert "no one was lost after the first" in str(found)


def test_a_verdict_that_more_patients_alone_would_change_says_so() -> None:
    found = tipping_grid((10, 20), (200, 200), (800, 800))
    assert found.verdict == "no difference shown"
    assert found.as_followed == "first lower"
    assert "would already be another" in str(found)


def test_impossible_counts_are_refused() -> None:
    for call in (
        lambda: fragility(5, 4, 1, 4),
        lambda: fragility(-1, 4, 1, 4),
        lambda: fragility(1, 0, 1, 4),
        lambda: fragility(1, 4, 1, 4, arm=2),
        lambda: fragility(1, 4, 1, 4, question="equivalence"),  # type: ignore[arg-type]
        lambda: fragility(1, 4, 1, 4, question="non-inferiority", margin=0),
        lambda: fragility(1, 4, 1, 4, level=1.2),
        lambda: one_more(5, 4),
        lambda: tipping_grid((1, 1), (4, 4), (0, 0)),
        lambda: tipping_grid((1, 1), (4, 4), (-1, 2)),
        lambda: tipping_grid((1, 1), (4, 4), (1, 2), shares=[1.5]),
        lambda: walsh_index(1, 2, 3, 2),
    ):
        with pytest.raises(HingelineError) as error:
            call()
        assert error.value.todo
