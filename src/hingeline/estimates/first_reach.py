"""Where a shared logit first reaches what a threshold asks of it, for many replicates at once.

Coefficients of hinges or of a curve come in, one row a replicate; ages in years go out. Between its nodes
the logit is a line (hinges) or a cubic (curve), so a crossing is found exactly and not to a step of ages.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from hingeline.estimates.mix import threshold_logit
from hingeline.estimates.spline import DEGREE, Spline

Array = NDArray[np.float64]
PIECES: Final = 16
"""Pieces a span between knots is looked at in: a cubic that rises and falls back within one is overlooked."""
HALVINGS: Final = 50


def hinge_crossings(
    coefficients: Array, turns: Array, threshold: float, mix: Array, lowest: float, highest: float
) -> Array:
    """First age at which each replicate's standardised share is at the threshold.

    Parameters
    ----------
    coefficients : array, shape (replicates, hospitals + 1 + k)
        Intercepts at age 0, slope of the first stretch a year, changes of slope.
    turns : array, shape (replicates, k)
        Years; all nan in a replicate without turns.
    threshold : float
    mix : array, shape (hospitals,)
    lowest, highest : float
        Years.

    Returns
    -------
    array, shape (replicates,)
        inf where it is not reached by ``highest``, −inf where it is there already at ``lowest``, nan where
        the replicate has no fit.
    """
    k = turns.shape[1]
    hospitals = coefficients.shape[1] - 1 - k
    wanted = threshold_logit(coefficients[:, :hospitals], mix, threshold)
    bends = np.where(np.isnan(turns), lowest, turns)
    ends = np.broadcast_to([lowest, highest], (len(bends), 2))
    nodes = np.sort(np.hstack([ends, np.clip(bends, lowest, highest)]), axis=1)
    level = coefficients[:, hospitals, None] * nodes
    for turn in range(k):
        level = level + coefficients[:, hospitals + 1 + turn, None] * np.maximum(
            nodes - bends[:, turn, None], 0
        )
    row, piece, answer = _first_piece(level, wanted)
    start, rise = level[row, piece], level[row, piece + 1] - level[row, piece]
    part = (wanted[row] - start) / rise
    answer[row] = nodes[row, piece] + part * (nodes[row, piece + 1] - nodes[row, piece])
    return answer


def curve_crossings(
    intercepts: Array,
    coefs: Array,
    spline: Spline,
    threshold: float,
    mix: Array,
    lowest: float,
    highest: float,
) -> Array:
    """First age at which each replicate's standardised share is at the threshold.

    As `hinge_crossings`, for spline coefficients of shape (replicates, basis).
    """
    wanted = threshold_logit(intercepts, mix, threshold)
    nodes = _curve_nodes(spline, lowest, highest)
    level, slope = coefs @ spline.basis(nodes).T, coefs @ spline.slopes(nodes).T
    row, piece, answer = _first_piece(level, wanted)
    width = nodes[piece + 1] - nodes[piece]
    start, end = level[row, piece], level[row, piece + 1]
    first, last = slope[row, piece] * width, slope[row, piece + 1] * width
    low, high = np.zeros(row.size), np.ones(row.size)
    for _ in range(HALVINGS):
        at = (low + high) / 2
        cubic = (
            start * (1 + 2 * at) * (1 - at) ** 2
            + first * at * (1 - at) ** 2
            + end * at**2 * (3 - 2 * at)
            - last * at**2 * (1 - at)
        )
        below = cubic < wanted[row]
        low, high = np.where(below, at, low), np.where(below, high, at)
    answer[row] = nodes[piece] + width * (low + high) / 2
    return answer


def _first_piece(level: Array, wanted: Array) -> tuple[NDArray[np.intp], NDArray[np.intp], Array]:
    """Rows that cross, the piece in which each does, and the answers of the others."""
    there = level >= wanted[:, None]
    first = np.argmax(there, axis=1)
    answer = np.full(len(level), np.inf)
    answer[there[:, 0]] = -np.inf
    answer[np.isnan(wanted) | np.isnan(level).any(axis=1)] = np.nan
    row = np.flatnonzero(there.any(axis=1) & ~there[:, 0])
    return row, first[row] - 1, answer


def _curve_nodes(spline: Spline, lowest: float, highest: float) -> Array:
    """Ages between which the curve is one cubic, or, outside its knots, a line."""
    knots = spline.knots[DEGREE : spline.size + 1]
    fine = np.interp(np.arange(PIECES * (knots.size - 1) + 1) / PIECES, np.arange(knots.size), knots)
    inside = fine[(fine > lowest) & (fine < highest)]
    return np.concatenate([[lowest], inside, [highest]])
