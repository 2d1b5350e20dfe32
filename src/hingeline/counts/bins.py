"""Age bins: half-years while the child grows, whole years after; ages in days come in, places of bins go out.

A year is 365.25 days, so that a half-year is 1461/8 days: both are handled in whole numbers, and every engine
puts a birthday on the same side of an edge.
"""

from __future__ import annotations

from typing import Final

import narwhals as nw
import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import HingelineError

EIGHTHS_PER_HALF_YEAR: Final = 1461
"""Eighths of a day in half a year: 8 × 365.25 / 2."""
QUARTERS_PER_YEAR: Final = 1461
"""Quarters of a day in a year: 4 × 365.25; the same number, counted in other parts."""
DEFAULT_HALF_YEARS_TO: Final = 30
DEFAULT_HIGHEST: Final = 110


def check_bins(half_years_to: int, highest: int) -> None:
    """Refuse bins that cannot be: ages below nought, or no bin at all."""
    if half_years_to < 0 or highest < 1:
        raise HingelineError(
            f"Ages cannot be binned by half-years to {half_years_to} and years to {highest}",
            "half_years_to, highest",
            "Give half_years_to of 0 or more and highest of 1 or more, in years.",
        )


def _half_years(half_years_to: int, highest: int) -> int:
    """Age in whole years up to which bins are half-years; never beyond the last bin."""
    return min(half_years_to, highest)


def edges_years(
    half_years_to: int = DEFAULT_HALF_YEARS_TO, highest: int = DEFAULT_HIGHEST
) -> NDArray[np.float64]:
    """Edges of the age bins in years.

    Parameters
    ----------
    half_years_to : int
        Bins are half-years below this age, whole years from it on.
    highest : int
        First age of the last bin, which holds that age and all above; it is drawn one year wide.

    Returns
    -------
    array, shape (bins + 1,)
        Bin ``i`` holds ages from ``edges[i]`` up to but not including ``edges[i + 1]``.
    """
    check_bins(half_years_to, highest)
    turn = _half_years(half_years_to, highest)
    return np.concatenate([np.arange(2 * turn) / 2, np.arange(turn, highest + 2, dtype=np.float64)])


def edges_days(
    half_years_to: int = DEFAULT_HALF_YEARS_TO, highest: int = DEFAULT_HIGHEST
) -> NDArray[np.int64]:
    """First whole day of each bin, and of the bin that would follow the last; see `edges_years`."""
    halves = np.round(2 * edges_years(half_years_to, highest)).astype(np.int64)
    return -((-halves * EIGHTHS_PER_HALF_YEAR) // 8)


def n_bins(half_years_to: int = DEFAULT_HALF_YEARS_TO, highest: int = DEFAULT_HIGHEST) -> int:
    """How many age bins there are: 141 by default."""
    return edges_years(half_years_to, highest).size - 1


def age_bin(
    age_days: ArrayLike, half_years_to: int = DEFAULT_HALF_YEARS_TO, highest: int = DEFAULT_HIGHEST
) -> NDArray[np.int64]:
    """Place of each age in the bins, from 0; -1 for an age below nought.

    Parameters
    ----------
    age_days : array of int
        Ages in whole days.
    half_years_to, highest : int
        See `edges_years`.
    """
    edges = edges_days(half_years_to, highest)
    place = np.searchsorted(edges, np.asarray(age_days, dtype=np.int64), side="right") - 1
    return np.asarray(np.minimum(place, edges.size - 2), dtype=np.int64)


def whole(amount: nw.Expr, divisor: int) -> nw.Expr:
    """Divide whole numbers and leave the rest, at or above nought, as every engine does it exactly."""
    # exact, since the dividend is a multiple; `//` would be spelled with a guard that some engines pay for
    return ((amount - amount % divisor) / divisor).cast(nw.Int64)


def age_bin_expression(
    age_days: nw.Expr, half_years_to: int = DEFAULT_HALF_YEARS_TO, highest: int = DEFAULT_HIGHEST
) -> nw.Expr:
    """Write `age_bin` as a lazy expression that any engine computes where the rows are."""
    check_bins(half_years_to, highest)
    days = age_days.cast(nw.Int64)
    turn = _half_years(half_years_to, highest)
    first = edges_days(half_years_to, highest)
    years = whole(days * 4, QUARTERS_PER_YEAR) + turn
    binned = nw.when(days >= int(first[-2])).then(nw.lit(first.size - 2)).otherwise(years)
    if turn:
        halves = whole(days * 8, EIGHTHS_PER_HALF_YEAR)
        binned = nw.when(days < int(first[2 * turn])).then(halves).otherwise(binned)
    return nw.when(days < 0).then(nw.lit(-1)).otherwise(binned)
