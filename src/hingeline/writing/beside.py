"""Drawing on another core: specifications go out to a process that was started beforehand, SVG comes back.

To start the converter takes half a second, in which Python does nothing else, so that it is started in a process of its
own while the last estimates are made. Where nothing can be forked, or that process dies, pictures are drawn here, with
the same bytes.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import warnings
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from types import TracebackType
from typing import Any

from hingeline import pictures

Spec = dict[str, Any]


class Drawer:
    """Draws specifications, in a process of its own once `start` was called and where one can be forked."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None

    def start(self) -> None:
        """Start the process, if it can be and is not there yet."""
        if self._pool is not None or not _can_fork():
            return
        with warnings.catch_warnings():
            # Python 3.12 warns of any fork beside threads: this child uses nothing that they hold
            warnings.simplefilter("ignore", DeprecationWarning)
            self._pool = ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("fork"))
            self._pool.submit(_warm)

    def draw(self, specs: Iterable[Spec]) -> Iterator[str]:
        """Yield the SVG of each specification in turn, the others being drawn meanwhile."""
        wanted = list(specs)
        begun: list[Future[str]] = []
        try:
            if self._pool is not None:
                begun = [self._pool.submit(pictures.svg, spec) for spec in wanted]
        except BrokenProcessPool:
            begun = []
        for place, spec in enumerate(wanted):
            try:
                drawing = begun[place].result() if begun else pictures.svg(spec)
            except BrokenProcessPool:  # killed from outside
                begun, drawing = [], pictures.svg(spec)
            yield drawing

    def close(self) -> None:
        """End the process."""
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None

    def __enter__(self) -> Drawer:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None:
        self.close()


def _can_fork() -> bool:
    # a converter that was started in this process does not live on in a forked one
    return (
        sys.platform == "linux"
        and not multiprocessing.current_process().daemon
        and (os.cpu_count() or 1) > 1
        and not pictures.has_drawn()
    )


def _warm() -> None:
    pictures.svg({"mark": "point", "data": {"values": []}})
