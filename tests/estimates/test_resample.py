"""What the resampling promises whoever calls it: the same bytes, progress, and refusals in three parts."""

import multiprocessing
import os

import numpy as np
import pytest

from hingeline.errors import HingelineError
from hingeline.estimates import parallel
from hingeline.estimates.resample import percentile_interval, resample, run_tasks


def heavy(number: int) -> np.ndarray:
    matrix = np.random.default_rng(number).normal(size=(40, 40))
    for _ in range(200):
        matrix = np.tanh(matrix @ matrix.T / 40)
    return matrix[0]


def dies_elsewhere(number: int) -> np.ndarray:
    if multiprocessing.parent_process() is not None and number == 150:
        os._exit(9)
    return heavy(number)


@pytest.fixture
def eager(monkeypatch):
    """Start processes even for work that is too small to be worth it."""
    monkeypatch.setattr(parallel, "START_SECONDS", {"fork": 0.0, "spawn": 0.0})


def test_the_same_bytes_come_out_on_one_core_and_on_two(eager):
    one, two = run_tasks(heavy, 200, workers=1), run_tasks(heavy, 200, workers=2)
    assert one.tobytes() == two.tobytes()
    assert one.shape == (200, 40)


def test_processes_that_start_anew_give_the_same_bytes(eager, monkeypatch):
    monkeypatch.setattr(parallel.sys, "platform", "darwin")  # where forking is not safe
    assert run_tasks(heavy, 120, workers=2).tobytes() == run_tasks(heavy, 120, workers=1).tobytes()


def test_replicates_do_not_depend_on_how_many_are_asked_for():
    few = resample(lambda c: c, [5, 6, 7], replicates=10, seed=3)
    many = resample(lambda c: c, [5, 6, 7], replicates=30, seed=3)
    assert np.array_equal(few, many[:10])
    assert not np.array_equal(few, resample(lambda c: c, [5, 6, 7], replicates=10, seed=4))


def test_two_statistics_under_one_seed_see_the_same_patients():
    weights = [50, 3, 20]
    first = resample(lambda c: c[0], weights, replicates=20, seed=8)
    both = resample(lambda c: [c.sum(), c[0]], weights, replicates=20, seed=8)
    assert np.array_equal(first[:, 0], both[:, 1])


def test_work_goes_on_here_when_a_process_is_killed(eager):
    assert np.array_equal(run_tasks(dies_elsewhere, 200, workers=2), run_tasks(heavy, 200, workers=1))


def test_progress_counts_up_to_the_end(eager):
    told: list[tuple[int, int]] = []
    run_tasks(heavy, 200, workers=2, progress=lambda done, of: told.append((done, of)))
    assert [done for done, _ in told] == sorted({done for done, _ in told})
    assert told[-1] == (200, 200)


def test_what_a_progress_callback_raises_stops_the_work(eager):
    def stop(done: int, of: int) -> None:
        if done > 40:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_tasks(heavy, 400, workers=2, progress=stop)


def test_what_a_statistic_raises_is_raised(eager):
    def fails(counts: np.ndarray) -> float:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        resample(fails, [1, 2], replicates=5, seed=1, workers=2)


def test_limits_open_when_more_than_a_tail_of_replicates_lies_beyond():
    finite = np.arange(1000.0)
    assert np.isfinite(percentile_interval(np.r_[finite[24:], [-np.inf] * 24])).all()
    low, high = percentile_interval(np.r_[finite[26:], [np.inf] * 26])
    assert np.isfinite(low)
    assert high == np.inf
    low, high = percentile_interval(np.r_[finite[26:], [-np.inf] * 26])
    assert low == -np.inf
    assert np.isfinite(high)
    assert np.isnan(percentile_interval([np.nan, np.nan])).all()


@pytest.mark.parametrize(
    ("weights", "options"),
    [
        ([], {}),
        ([1, -2], {}),
        ([1, 2.5], {}),
        ([np.nan, 1], {}),
        ([0, 0], {}),
        (["a", "b"], {}),
        ([1, 2], {"replicates": 0}),
        ([1, 2], {"seed": -1}),
        ([1, 2], {"seed": 1.5}),
        ([1, 2], {"workers": 0}),
    ],
)
def test_impossible_weights_and_options_are_refused(weights, options):
    with pytest.raises(HingelineError):
        resample(lambda c: c, weights, **({"replicates": 5, "seed": 1} | options))


@pytest.mark.parametrize("level", [0, 1, 95])
def test_a_level_outside_0_to_1_is_refused(level):
    with pytest.raises(HingelineError):
        percentile_interval([1, 2, 3], level)
