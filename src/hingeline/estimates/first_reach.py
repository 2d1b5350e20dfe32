"""Where a shared logit first reaches what a threshold asks of it, for many replicates at once.

Coefficients of hinges or of a curve come in, one row a replicate; ages in years go out, under one fixed mix of
hospitals or, for the fit of all patients, under the mix near each age itself. Between its nodes the logit is a
line (hinges) or a cubic (curve), so a crossing is found exactly and not to a step of ages.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, PPoly
from scipy.special import expit

from hingeline.estimates.mix import mix_stretches, threshold_logit
from hingeline.estimates.spline import DEGREE, Spline

Array = NDArray[np.float64]
PIECES: Final = 16
"""Pieces a span between knots is looked at in: a cubic that rises and falls back within one is overlooked."""
HALVINGS: Final = 50


class SharedLogit(Protocol):
    """One fit's shared logit: levels of hospitals that differ by their intercepts alone."""

    @property
    def intercepts(self) -> Array:
        """Of the hospitals."""

    def nodes(self, lowest: float, highest: float) -> Array:
        """Ages in years, both ends among them, between which the logit is one line or one way of a cubic."""

    def level(self, age_years: Array) -> Array:
        """The logit without an intercept."""

    def crossing(self, threshold: float, mix: Array, lowest: float, highest: float) -> float:
        """First age under a fixed mix, as `hinge_crossings`."""


@dataclass(frozen=True, eq=False)
class HingeLogit:
    """Of a hinge fit: coefficients, shape (hospitals + 1 + k), and turns in years, shape (k,)."""

    coefficients: Array
    turns: Array

    @property
    def intercepts(self) -> Array:
        """Of the hospitals, at age 0."""
        return self.coefficients[: self.coefficients.size - 1 - self.turns.size]

    def nodes(self, lowest: float, highest: float) -> Array:
        """Both ends and the turns between them."""
        inside = self.turns[(self.turns > lowest) & (self.turns < highest)]
        return np.concatenate([[lowest], np.sort(inside), [highest]])

    def level(self, age_years: Array) -> Array:
        """The line with its bends; as many nans as turns that are not there bend nothing."""
        slope, *bends = self.coefficients[self.intercepts.size :]
        level: Array = slope * age_years
        for turn, bend in zip(self.turns, bends, strict=True):
            if not np.isnan(turn):
                level = level + bend * np.maximum(age_years - turn, 0)
        return level

    def crossing(self, threshold: float, mix: Array, lowest: float, highest: float) -> float:
        """First age under a fixed mix."""
        one = hinge_crossings(
            self.coefficients[None, :], self.turns[None, :], threshold, mix, lowest, highest
        )
        return float(one[0])


@dataclass(frozen=True, eq=False)
class CurveLogit:
    """Of a curve: intercepts, shape (hospitals,), and spline coefficients, shape (basis,)."""

    intercepts: Array
    coefs: Array
    spline: Spline

    def nodes(self, lowest: float, highest: float) -> Array:
        """Both ends, knots, tops and bottoms."""
        slope = BSpline(self.spline.knots, self.coefs, DEGREE).derivative()
        level_at = np.asarray(PPoly.from_spline(slope.tck).roots(extrapolate=False), dtype=np.float64)
        ages = np.concatenate([self.spline.knots, level_at])
        inside = ages[(ages > lowest) & (ages < highest)]
        return np.unique(np.concatenate([[lowest], inside, [highest]]))

    def level(self, age_years: Array) -> Array:
        """The spline."""
        level: Array = self.spline.basis(age_years) @ self.coefs
        return level

    def crossing(self, threshold: float, mix: Array, lowest: float, highest: float) -> float:
        """First age under a fixed mix."""
        one = curve_crossings(
            self.intercepts[None, :], self.coefs[None, :], self.spline, threshold, mix, lowest, highest
        )
        return float(one[0])


def local_crossing(
    logit: SharedLogit,
    threshold: float,
    group: NDArray[np.int64],
    ages: Array,
    totals: Array,
    lowest: float,
    highest: float,
) -> tuple[float, Array]:
    """First age at which the share standardised to the mix near that very age is at the threshold.

    Parameters
    ----------
    logit : SharedLogit
    threshold : float
    group, ages, totals : array, shape (cells,)
        Hospital (its place among ``logit.intercepts``), age in years and cases.
    lowest, highest : float
        Years to look between.

    Returns
    -------
    age : float
        In years: where the share drawn by age first is at or above the threshold, be it that it grows or
        that one hospital hands over to another. −inf where it is so already at ``lowest``, inf where it is
        nowhere so.
    mix : array, shape (hospitals,)
        What to freeze: the case mix near that age (near ``lowest`` or ``highest`` where there is none). Where
        the share jumps over the threshold at a hand-over, the mixes just before and at that age are blended so
        that the share is the threshold there: under the later mix alone the crossing could be decades away.
    """
    intercepts = logit.intercepts
    edges, mixes = mix_stretches(group, ages, totals, intercepts.size, lowest, highest)
    nodes = np.union1d(edges, logit.nodes(lowest, highest))
    stretch = np.searchsorted(edges, nodes[:-1], side="right") - 1
    wanted = threshold_logit(intercepts[None, :], mixes, threshold)[stretch]
    level = logit.level(nodes)
    at_start, by_end = level[:-1] >= wanted, level[1:] >= wanted
    if at_start[0]:
        return -np.inf, mixes[0]
    if not np.any(at_start | by_end):
        return np.inf, mixes[-1]
    piece = int(np.argmax(at_start | by_end))
    start, end, mix = float(nodes[piece]), float(nodes[piece + 1]), mixes[stretch[piece]]
    if at_start[piece]:
        shares = expit(np.nan_to_num(intercepts + level[piece], nan=-np.inf, posinf=np.inf, neginf=-np.inf))
        before = mixes[stretch[piece - 1]]
        return start, _partway(before, mix, before @ shares, mix @ shares, threshold)
    return float(np.clip(logit.crossing(threshold, mix, start, end), start, end)), mix


def _partway(before: Array, after: Array, low: float, high: float, wanted: float) -> Array:
    """Blend of two mixes, one with a share below the one wanted and one with a share at or above it."""
    part = float(np.clip((wanted - low) / (high - low), 0, 1)) if high > low else 1.0
    return (1 - part) * before + part * after


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
