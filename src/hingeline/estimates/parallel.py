"""Many independent small computations on all cores, with the same bytes out whatever the number of cores.

A function of a number comes in, one row a number goes out, in order. What a row holds may depend on its
number alone: seeds are made from it, and every process, this one included, computes with one thread of linear
algebra.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import sys
import time
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import Final, TypeVar, cast

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped, unused-ignore]

from hingeline.errors import HingelineError

T = TypeVar("T")
Array = NDArray[np.float64]
Task = Callable[[int], Array]
Progress = Callable[[int, int], None]

START_SECONDS: Final = {"fork": 0.1, "spawn": 2.0}
"""What starting processes costs; less work than this is done where it is. Measured on two cores."""
CHUNKS_EACH: Final = 8
MOST_IN_CHUNK: Final = 25
"""Work sent to a process at a time: long against the sending, short against a progress bar."""

_task: Task | None = None
"""The work of this process: inherited where processes are forked, sent once where they are started anew."""


def run_tasks(
    task: Task,
    count: int,
    *,
    workers: int | None = None,
    progress: Progress | None = None,
    long: bool = False,
) -> Array:
    """Compute ``task(0)`` to ``task(count - 1)`` on several cores.

    Parameters
    ----------
    task : callable
        Takes a number from 0, returns a one-dimensional array of always the same length.
    count : int
        How many, at least 1.
    workers : int or None
        Most processes to use; None is one a core. 1 starts none.
    progress : callable or None
        Told (done, of) in this process as work comes in; what it raises stops the work.
    long : bool
        Whether each is known to take long against starting processes, so that none is tried here first.

    Returns
    -------
    array, shape (count, values)

    Raises
    ------
    HingelineError
        When ``count`` or ``workers`` is under 1.
    """
    if count < 1:
        raise HingelineError(f"{count} replicates", "argument replicates", "ask for 1 or more")
    if workers is not None and workers < 1:
        raise HingelineError(f"{workers} workers", "argument workers", "give 1 or more, or leave it out")
    most = min(workers or cores(), count)
    with threadpool_limits(limits=1):
        at_once = long and min(most, count) > 1 and _start_method(task) is not None
        rows = [] if at_once else _alone(task, count, most, progress)
        if len(rows) < count:
            rows += _together(task, len(rows), count, most, progress)
    return np.stack(rows)


@contextmanager
def beside(work: Callable[[], T], workers: int | None = None) -> Iterator[Callable[[], T]]:
    """Begin one piece of work in a process of its own; the function that is given waits for what it returns.

    Where nothing can be forked, or that process dies or fails, the work is done here when it is waited for; ``workers``
    of 1 starts none.
    """
    if workers == 1 or cores() < 2 or sys.platform != "linux" or multiprocessing.current_process().daemon:
        yield work
        return
    context = multiprocessing.get_context("fork")
    ours, theirs = context.Pipe(duplex=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # as in `_pool`
        # a daemon starts no processes of its own, and does not outlive this one
        process = context.Process(target=_send, args=(work, theirs), daemon=True)
        process.start()
    theirs.close()

    def wait() -> T:
        try:
            done, value = ours.recv()
        except (EOFError, OSError):
            done, value = False, None
        return cast("T", value) if done else work()

    try:
        yield wait
    finally:
        ours.close()
        process.kill()
        process.join()
        process.close()


def _send(work: Callable[[], T], theirs: Connection) -> None:
    _one_thread()
    try:
        told = (True, work())
    except Exception:  # raised again where it is waited for
        told = (False, None)  # type: ignore[assignment]
    theirs.send(told)
    theirs.close()


def cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _alone(task: Task, count: int, most: int, progress: Progress | None) -> list[Array]:
    """Work here until all is done, or until what is left is worth other processes."""
    method = _start_method(task)
    began = time.perf_counter()
    rows: list[Array] = []
    while len(rows) < count:
        rows.append(task(len(rows)))
        spent = time.perf_counter() - began
        if progress is not None:
            progress(len(rows), count)
        saved = spent / len(rows) * (count - len(rows)) * (1 - 1 / most)
        if method is not None and spent > 0.03 and saved > START_SECONDS[method]:
            break
    return rows


def _together(task: Task, first: int, count: int, most: int, progress: Progress | None) -> list[Array]:
    """Send the numbers from ``first`` on to processes, and take over here should one of them die."""
    size = max(1, min(MOST_IN_CHUNK, (count - first) // (CHUNKS_EACH * most)))
    chunks = [(low, min(low + size, count)) for low in range(first, count, size)]
    finished: dict[int, list[Array]] = {}
    done = first
    with _pool(task, most) as pool:
        waiting = {pool.submit(_work, low, high): low for low, high in chunks}
        try:
            for future in as_completed(waiting):
                finished[waiting[future]] = future.result()
                done += len(finished[waiting[future]])
                if progress is not None:
                    progress(done, count)
        except BrokenProcessPool:  # killed from outside, for want of memory as a rule
            pool.shutdown(wait=False, cancel_futures=True)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    for low, high in chunks:
        if low not in finished:
            finished[low] = [task(number) for number in range(low, high)]
            done += high - low
            if progress is not None:
                progress(done, count)
    return [row for low, _ in chunks for row in finished[low]]


def _start_method(task: Task) -> str | None:
    """How processes start here; None where they cannot.

    Forking shares the task's arrays and costs nothing; it is safe here because the children only compute, on
    one thread, and leave without tidying up. Elsewhere a process starts anew and is sent the task.
    """
    if multiprocessing.current_process().daemon:
        return None
    if sys.platform == "linux":
        return "fork"
    try:
        pickle.dumps(task)
    except Exception:  # whatever cannot be sent is computed here
        return None
    return "spawn"


@contextmanager
def _pool(task: Task, most: int) -> Iterator[ProcessPoolExecutor]:
    global _task
    method = _start_method(task) or "spawn"
    context = multiprocessing.get_context(method)
    if method == "fork":
        _task = task
        pool = ProcessPoolExecutor(most, mp_context=context, initializer=_one_thread)
    else:
        pool = ProcessPoolExecutor(most, mp_context=context, initializer=_receive, initargs=(task,))
    try:
        with warnings.catch_warnings():
            # Python 3.12 warns of any fork beside threads; `_start_method` says why this one is safe
            warnings.simplefilter("ignore", DeprecationWarning)
            with pool:
                yield pool
    finally:
        _task = None


def _one_thread() -> None:
    threadpool_limits(limits=1)


def _receive(task: Task) -> None:
    global _task
    _task = task
    _one_thread()


def _work(low: int, high: int) -> list[Array]:
    if _task is None:
        raise RuntimeError("a process was started without its task")
    return [_task(number) for number in range(low, high)]
