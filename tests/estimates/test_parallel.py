"""Work begun beside: the same comes back whether a process of its own did it, died of it, or none was started."""

from __future__ import annotations

import os
import signal

import numpy as np
import pytest

from hingeline.estimates.parallel import beside, run_tasks


def test_work_begun_beside_comes_back():
    with beside(lambda: {"pid": os.getpid(), "sum": int(np.arange(10).sum())}) as wait:
        assert wait()["sum"] == 45
    with beside(os.getpid, workers=1) as wait:
        assert wait() == os.getpid()


def test_work_whose_process_dies_is_done_here():
    here = os.getpid()

    def work() -> str:
        if os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return "done"

    with beside(work) as wait:
        assert wait() == "done"


def test_what_fails_beside_fails_where_it_is_waited_for():
    def work() -> None:
        raise ValueError("no such age")

    with beside(work) as wait, pytest.raises(ValueError, match="no such age"):
        wait()


def test_long_tasks_give_the_same_rows_as_short_ones():
    def task(number: int) -> np.ndarray:
        return np.random.default_rng([3, number]).normal(size=4)

    assert np.array_equal(run_tasks(task, 5, long=True), run_tasks(task, 5, workers=1))
