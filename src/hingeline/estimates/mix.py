"""Fixed hospital weights, and the logit at which shares averaged by them reach a threshold.

Counts by hospital and age come in, the case mix of one age, or of every stretch of ages, goes out. Hospitals
that share a slope differ by their intercept alone, so the standardised share rises with the logit they share:
one logit answers to each threshold.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit

from hingeline.errors import HingelineError

Array = NDArray[np.float64]

NEAR_YEARS: Final = 3.0
"""Hospitals with cases this near to an age make up the standard mix there (design, section 12)."""
ENDS: Final = 1e-9
"""Years by which the ends of "near" are let out, so that an age exactly that far away is in."""
HALVINGS: Final = 80


def standard_mix(
    groups: ArrayLike, ages: ArrayLike, totals: ArrayLike, at_age: float, within_years: float = NEAR_YEARS
) -> Array:
    """Case mix of the hospitals with cases near an age.

    Parameters
    ----------
    groups : array_like, shape (rows,)
        Hospital of each row.
    ages, totals : array_like, shape (rows,)
        Age in years; cases.
    at_age : float
        Years.
    within_years : float
        How near: hospitals weigh by their cases at ages from ``at_age`` − this to ``at_age`` + this, ends
        included, or out to the nearest age with cases where that is further.

    Returns
    -------
    array, shape (hospitals,)
        Weights that add up to 1, in the order of the hospitals sorted.

    Raises
    ------
    HingelineError
        When the columns differ in length or hold no case.
    """
    labels, codes = np.unique(np.asarray(groups), return_inverse=True)
    years, cases = np.asarray(ages, dtype=np.float64), np.asarray(totals, dtype=np.float64)
    codes = codes.reshape(-1)
    if not codes.shape == years.shape == cases.shape:
        raise HingelineError("The columns differ in length", "groups, ages, totals", "give one value a row")
    if not np.any(cases > 0) or not np.all(np.isfinite(years)) or not np.isfinite(at_age) or within_years < 0:
        raise HingelineError(
            "There are no cases near any age", "groups, ages, totals", "give finite ages, cases"
        )
    near: Array = mix_near(np.array([at_age]), codes, years, cases, labels.size, within_years)[0]
    return near


def mix_near(
    at: Array,
    group: NDArray[np.int64],
    ages: Array,
    totals: Array,
    groups: int,
    within_years: float = NEAR_YEARS,
) -> Array:
    """Case mix near each of several ages (`standard_mix`), shape (len(at), groups)."""
    held, counts = _by_age(group, ages, totals, groups)
    place = np.searchsorted(held, at)
    before, after = held[np.maximum(place - 1, 0)], held[np.minimum(place, held.size - 1)]
    reach = np.maximum(within_years, np.minimum(np.abs(at - before), np.abs(at - after))) + ENDS
    first, last = np.searchsorted(held, at - reach), np.searchsorted(held, at + reach, side="right")
    cases, rows = _running(counts), _running(counts > 0)
    # a difference of running sums need not be 0 where no case is, unless the cases are whole numbers
    weights = np.where(rows[last] > rows[first], cases[last] - cases[first], 0.0)
    mix: Array = weights / weights.sum(axis=1, keepdims=True)
    return mix


def mix_stretches(
    group: NDArray[np.int64],
    ages: Array,
    totals: Array,
    groups: int,
    lowest: float,
    highest: float,
    within_years: float = NEAR_YEARS,
) -> tuple[Array, Array]:
    """Ages at which the case mix near an age changes, and the mix between each two of them.

    Parameters
    ----------
    group, ages, totals, groups, within_years
        As for `mix_near`.
    lowest, highest : float
        Years to look between.

    Returns
    -------
    edges : array, shape (stretches + 1,)
        From ``lowest`` to ``highest``, in years.
    mixes : array, shape (stretches, groups)
        `mix_near` of every age inside each stretch.
    """
    held, _ = _by_age(group, ages, totals, groups)
    gap = np.diff(held) > 2 * within_years  # half-way the nearest age with cases becomes another
    half_way = (held[:-1] + held[1:])[gap] / 2
    changes = np.concatenate(
        [
            held - (within_years + ENDS),
            held + (within_years + ENDS),
            half_way - ENDS / 2,
            half_way + ENDS / 2,
        ]
    )
    inside = changes[(changes > lowest) & (changes < highest)]
    edges = np.unique(np.concatenate([[lowest], inside, [highest]]))
    middles = (edges[:-1] + edges[1:]) / 2
    return edges, mix_near(middles, group, ages, totals, groups, within_years)


def _by_age(group: NDArray[np.int64], ages: Array, totals: Array, groups: int) -> tuple[Array, Array]:
    """Distinct ages with cases, and the cases of each hospital at them, shape (ages, groups)."""
    some = totals > 0
    held, place = np.unique(ages[some], return_inverse=True)
    cell = place.reshape(-1) * groups + group[some]
    counts = np.bincount(cell, totals[some], held.size * groups).astype(np.float64)
    return held, counts.reshape(held.size, groups)


def _running(table: Array | NDArray[np.bool_]) -> Array:
    """Sums of the rows so far, from none to all."""
    sums: Array = np.zeros((len(table) + 1, table.shape[1]))
    np.cumsum(table, axis=0, out=sums[1:])
    return sums


def threshold_logit(intercepts: Array, mix: Array, threshold: float) -> Array:
    """Shared logit x at which Σ w·expit(intercept + x) is the threshold, for every replicate (or mix).

    Parameters
    ----------
    intercepts : array, shape (replicates, hospitals)
        −inf for a hospital without any direct case, nan (it leaves the mix) without any case.
        One row may stand for all.
    mix : array, shape (hospitals,) or (replicates, hospitals)
    threshold : float
        Between 0 and 1.

    Returns
    -------
    array, shape (replicates,)
        inf where hospitals without direct cases keep the share below the threshold at any logit, −inf where
        those with nothing else keep it above, nan where no hospital is left.
    """
    intercepts, mix = np.broadcast_arrays(intercepts, mix)
    weights = np.where(np.isnan(intercepts) | (mix <= 0), 0.0, mix)
    with np.errstate(invalid="ignore", divide="ignore"):
        weights = weights / weights.sum(axis=1, keepdims=True)
    free = np.isfinite(intercepts) & (weights > 0)
    most = np.where(intercepts == -np.inf, 0.0, weights).sum(axis=1)
    least = np.where(intercepts == np.inf, weights, 0.0).sum(axis=1)
    own = np.where(free, intercepts, 0.0)
    wanted = float(logit(threshold))
    low = wanted - np.where(free, own, -np.inf).max(axis=1) - 800
    high = wanted - np.where(free, own, np.inf).min(axis=1) + 800
    answer = np.full(len(intercepts), np.nan)
    answer[most <= threshold] = np.inf
    answer[least >= threshold] = -np.inf
    todo = np.flatnonzero((most > threshold) & (least < threshold))
    answer[todo] = _solve(
        own[todo], np.where(free, weights, 0.0)[todo], threshold - least[todo], low[todo], high[todo]
    )
    return answer


def _solve(intercepts: Array, weights: Array, wanted: Array, low: Array, high: Array) -> Array:
    """Newton's method kept inside a shrinking bracket."""
    middle = np.sum(weights * intercepts, axis=1) / weights.sum(axis=1)
    new = at = np.clip(logit(np.clip(wanted / weights.sum(axis=1), 1e-300, 1 - 1e-16)) - middle, low, high)
    for _ in range(HALVINGS):
        share = expit(intercepts + at[:, None])
        value = (weights * share).sum(axis=1) - wanted
        slope = (weights * share * (1 - share)).sum(axis=1)
        low, high = np.where(value < 0, at, low), np.where(value < 0, high, at)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            step = at - value / slope
        new = np.where((step > low) & (step < high), step, (low + high) / 2)
        if np.all(np.abs(new - at) <= 1e-13 * (1 + np.abs(at))):
            break
        at = new
    answer: Array = new
    return answer
