"""What of outcomes may leave: no small count is told, nor follows from what is told and a sum."""

from __future__ import annotations

import itertools
import secrets

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.answers.outcome_cells import Leaving

HOME, ALLOWED = Leaving(5, False), Leaving(5, True)
CELLS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 30)), min_size=1, max_size=6)


def _sound(cells):
    return [people for people, _ in cells], [min(people, events) for people, events in cells]


def test_events_from_one_to_four_stay_without_consent_and_leave_with_it():
    assert HOME.standing(300, 4) == "few events"
    assert HOME.standing(300, 5) == HOME.standing(300, 0) == "told"
    assert ALLOWED.standing(300, 1) == "told"


def test_fewer_than_five_patients_are_never_told():
    assert ALLOWED.standing(4, 1) == HOME.standing(4, 0) == "few people"


def test_nobody_followed_may_be_told():
    assert HOME.standings([0, 40, 40], [0, 8, 9]) == ["told"] * 3


def test_a_single_small_row_takes_another_with_it():
    found = HOME.standings([100, 100, 100], [3, 20, 40])
    assert found == ["few events", "few events", "told"]
    assert ALLOWED.standings([3, 100, 200], [1, 20, 40]) == ["few people", "few events", "told"]


def test_rows_of_one_event_each_are_not_given_away_by_their_sum():
    # five rows kept back with five events in all would be one each
    assert HOME.standings([50] * 6, [1] * 5 + [30]).count("told") == 0
    # two with eight would be four each
    assert HOME.standings([50] * 3, [4, 4, 30]).count("told") == 0
    assert HOME.standings([50] * 3, [4, 3, 30]).count("told") == 1


@settings(max_examples=200, deadline=None)
@given(CELLS)
def test_no_small_count_follows_from_the_rows_told_and_the_sum(cells):
    people, events = _sound(cells)
    found = HOME.standings(people, events)
    hidden = [i for i, one in enumerate(found) if one != "told"]
    for place, one in enumerate(found):
        if one == "told" and people[place]:
            assert people[place] >= 5
            assert events[place] == 0 or events[place] >= 5
    if not hidden or len(hidden) == len([n for n in people if n]):
        return  # nothing kept back, or everything: then the sum is judged as a stratum of its own
    rest = sum(events) - sum(events[i] for i, one in enumerate(found) if one == "told")
    assert len(hidden) >= 2
    assert rest >= 5
    # what an outsider can fill in: every row may hold any number that adds up; a small one must have another choice
    size = len(hidden)
    for place, mine in enumerate(hidden):
        if not 0 < events[mine] < 5:
            continue
        others = (
            filled
            for filled in itertools.product(range(1, 5), repeat=size)
            if sum(filled) == rest and filled[place] != events[mine]
        )
        larger = rest - (size - 1) >= 5  # one of them may be a row that was not small
        assert larger or next(others, None) is not None


@settings(max_examples=100, deadline=None)
@given(CELLS)
def test_with_consent_only_rows_of_few_people_and_one_beside_are_kept_back(cells):
    people, events = _sound(cells)
    found = ALLOWED.standings(people, events)
    if all(n == 0 or n >= 5 for n in people):
        assert found == ["told"] * len(people)
        return
    hidden = sum(people[i] for i, one in enumerate(found) if one != "told")
    assert hidden >= 5 or all(one != "told" for one, n in zip(found, people, strict=True) if n)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(0, 9), min_size=1, max_size=8), st.integers(0, 7))
def test_between_two_times_that_are_told_come_no_events_or_five(steps, first):
    so_far = np.cumsum(steps).tolist()
    years = [float(year + 1) for year in range(len(so_far))]
    headline = years[first % len(years)]
    told = HOME.times(years, so_far, headline)
    at = dict(zip(years, so_far, strict=True))
    for earlier, later in itertools.pairwise([0.0, *told]):
        assert at[later] - at.get(earlier, 0) == 0 or at[later] - at.get(earlier, 0) >= 5
    if at[headline] == 0 or at[headline] >= 5:
        assert headline in told
    assert ALLOWED.times(years, so_far, headline) == tuple(years)


@pytest.mark.parametrize("trial", range(20))
def test_no_step_of_a_curve_and_no_time_told_has_one_to_four_events_between(trial):
    seed = secrets.randbits(32)
    random = np.random.default_rng(seed)
    days = np.sort(random.choice(2000, 60, replace=False)).astype(float)
    events = random.integers(0, 4, 60).astype(float)
    at_risk = np.linspace(400, 3, 60)
    ends = [500.0, 1000.0, 1900.0]
    so_far = [int(events[days <= end].sum()) for end in ends]
    told = list(HOME.times(ends, so_far, 1900.0))
    drawn = HOME.drawn(days, events, at_risk, 10, told)
    assert np.all(at_risk[drawn] >= 10)
    stops = sorted({*days[drawn].tolist(), *told})
    for earlier, later in itertools.pairwise([-1.0, *stops]):
        between = events[(days > earlier) & (days <= later)].sum()
        assert between == 0 or between >= 5, f"seed {seed}"
    assert ALLOWED.drawn(days, events, at_risk, 10, told).size == (events[at_risk >= 10] > 0).sum()
