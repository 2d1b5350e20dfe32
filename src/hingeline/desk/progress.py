"""Progress as a callback: what is being done, how much of it is done, how much there is.

The command line draws a bar from it and machines get it as JSON lines; no part of the house prints.
"""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str, int, int], None]
"""``progress(what, done, of)``."""


def silent(what: str, done: int, of: int) -> None:
    """Tell nobody."""


def part(progress: Progress, what: str) -> Callable[[int, int], None]:
    """Return a two-number callback that reports under one name."""
    return lambda done, of: progress(what, done, of)
