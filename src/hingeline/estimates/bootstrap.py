"""What every bootstrap of a fit keeps, and how it is asked.

Thresholds, ages and hospitals come in; checked ones go out, with the mix that is frozen for each threshold
and the column of replicates that a question is about.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hingeline.errors import HingelineError
from hingeline.estimates.first_reach import SharedLogit, local_crossing

Array = NDArray[np.float64]


def checked_thresholds(thresholds: ArrayLike) -> Array:
    """Shares strictly between 0 and 1, or a refusal."""
    try:
        values = np.atleast_1d(np.asarray(thresholds, dtype=np.float64))
    except (TypeError, ValueError):
        raise HingelineError("A threshold is not a number", "argument thresholds", "give shares") from None
    bad = ~((values > 0) & (values < 1))
    if values.ndim != 1 or np.any(bad):
        first = f"{values[bad][0]}" if np.any(bad) else "a table"
        raise HingelineError(
            f"The threshold is {first}", "argument thresholds", "give shares between 0 and 1"
        )
    return values


def checked_span(
    lowest: float | None, highest: float | None, youngest: float, oldest: float
) -> tuple[float, float]:
    """Ages in years to look between; the ends of the data where none are given."""
    low = youngest if lowest is None else float(lowest)
    high = oldest if highest is None else float(highest)
    if not (np.isfinite(low) and np.isfinite(high) and low < high):
        raise HingelineError(
            f"There is no age between {low} and {high}",
            "arguments lowest and highest",
            "give two ages in years, the lower first",
        )
    return low, high


def freeze_mixes(
    logit: SharedLogit,
    thresholds: Array,
    group: NDArray[np.int64],
    age_years: Array,
    total: Array,
    span: tuple[float, float],
) -> Array:
    """One fixed mix a threshold: of the hospitals near its crossing in the data, (thresholds, hospitals)."""
    mixes = [local_crossing(logit, float(t), group, age_years, total, *span)[1] for t in thresholds]
    return np.array(mixes).reshape(thresholds.size, logit.intercepts.size)


def column_at(columns: dict[str, tuple[Array, Array]], what: str, at: float) -> Array:
    """Replicates of one number: the column whose label is nearest to ``at``, which has to be there."""
    if what not in columns:
        raise HingelineError(
            f"There are no replicates of {what!r}", "argument what", f"give one of {', '.join(columns)}"
        )
    table, labels = columns[what]
    place = int(np.argmin(np.abs(labels - at))) if labels.size else -1
    if place < 0 or not np.isclose(labels[place], at, rtol=1e-9, atol=1e-9):
        raise HingelineError(
            f"No {what} was kept at {at:g}", "argument at", "ask the bootstrap for it, or give one it has"
        )
    column: Array = table[:, place]
    return column


def crossing_columns(crossings: Array, thresholds: Array) -> dict[str, Array]:
    """Columns of a frame, one a threshold, named by its percentage."""
    return {f"crossing_{100 * t:g}_percent_years": c for t, c in zip(thresholds, crossings.T, strict=True)}
