"""Sums over patients of squares that change day by day, without a loop over days: the robust variance of a curve.

The influence of a patient on a curve is c(t) · Z(t), where c belongs to the day and Z, of few columns, jumps only when
a groin of that patient leaves. So Σ Z Z' over patients is a step function made of jumps at rows, and one sort by
pattern and day gives it for every day at once (infinitesimal jackknife: Efron, Biometrika 1981;68:589–599).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hingeline.estimates.followup_rows import Floats, Ints, Rows


def squares_by_day(
    rows: Rows, remaining: Floats, added: Sequence[Floats], clusters: Ints | None = None
) -> Floats:
    """Σ over patients of Z(t) Z(t)', at the start and on each day after its leavings.

    Parameters
    ----------
    rows : Rows
    remaining : (rows,) float
        Amount that a row brings from the start and that goes when it leaves: the first column of Z.
    added : sequence of (rows,) float
        Amounts that come when a row leaves: the other columns.
    clusters : (rows,) int or None
        Patterns; None takes every groin as a patient of its own.

    Returns
    -------
    array, (days + 1, k, k)
        First as it is at the start, then after the leavings of each day; k is one more than the columns added.
    """
    columns = np.column_stack([-remaining, *added])
    size = columns.shape[1]
    if clusters is None:
        # each groin alone: a row holds n of them, each with its share of the row's amount
        share = np.where(rows.n > 0, rows.n, 1.0)
        columns, times = columns / share[:, None], rows.patients * share
        first = -columns[:, 0]
        after = columns.copy()
        after[:, 0] = 0.0
        before = np.zeros_like(columns)
        before[:, 0] = first
        at = rows.at
        start = float(times @ first**2)
    else:
        order = np.lexsort((rows.at, clusters))
        columns, times, at = columns[order], rows.patients[order], rows.at[order]
        code = clusters[order]
        opens = np.concatenate([[True], code[1:] != code[:-1]])
        of = np.cumsum(opens) - 1
        begins = np.flatnonzero(opens)
        whole = np.add.reduceat(-columns[:, 0], begins)
        run = np.cumsum(columns, axis=0)
        base = (run[begins] - columns[begins])[of]
        after = run - base
        after[:, 0] += whole[of]
        before = after - columns
        start = float(times[begins] @ whole**2)
    found = np.zeros((rows.days.size + 1, size, size))
    found[0, 0, 0] = start
    for i in range(size):
        for j in range(i, size):
            jump = times * (after[:, i] * after[:, j] - before[:, i] * before[:, j])
            by_day = np.bincount(at, weights=jump, minlength=rows.days.size)
            found[1:, i, j] = found[0, i, j] + np.cumsum(by_day)
            found[:, j, i] = found[:, i, j]
    return found


def quadratic(squares: Floats, by_day: Floats) -> Floats:
    """c(t)' S(t) c(t) for every day, never below 0."""
    value: NDArray[np.float64] = np.einsum("ti,tij,tj->t", by_day, squares, by_day)
    return np.maximum(value, 0.0)
