"""Fixed hospital weights, and the logit at which shares averaged by them reach a threshold.

Counts by hospital and age come in, the case mix of one age goes out. Hospitals that share a slope differ by
their intercept alone, so the standardised share rises with the logit they share: one logit answers to each
threshold.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit

from hingeline.errors import HingelineError

Array = NDArray[np.float64]

NEAR_YEARS: Final = 3.0
"""Hospitals with cases this near to an age make up the standard mix there (design, section 12)."""
MOST_ROUNDS: Final = 25
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
    distance = np.where(totals > 0, np.abs(at[:, None] - ages), np.inf)
    reach = np.maximum(within_years, distance.min(axis=1))[:, None] + 1e-9
    hospitals = group[:, None] == np.arange(groups)
    weights: Array = np.where(distance <= reach, totals, 0.0) @ hospitals
    mix: Array = weights / weights.sum(axis=1, keepdims=True)
    return mix


def settle_mix(
    cross: Callable[[Array], float],
    groups: ArrayLike,
    ages: ArrayLike,
    totals: ArrayLike,
    *,
    lowest: float,
    highest: float,
    within_years: float = NEAR_YEARS,
) -> Array:
    """Mix of the hospitals with cases near the crossing that this mix itself gives.

    Starts from the case mix of all ages and repeats until the crossing stands still; should it go round in
    circles, the mix of the youngest age of the circle is taken. A crossing that is not reached is taken at
    ``highest``, one that is passed already at ``lowest``.
    """
    spread = float(np.ptp(np.asarray(ages, dtype=np.float64)))
    mix = standard_mix(groups, ages, totals, lowest, within_years=2 * spread + highest - lowest)
    seen: dict[float, Array] = {}
    for _ in range(MOST_ROUNDS):
        at = float(np.clip(cross(mix), lowest, highest))
        if at in seen:
            break
        mix = standard_mix(groups, ages, totals, at, within_years)
        seen[at] = mix
    tail = list(seen)[list(seen).index(at) :] if at in seen else [at]
    return seen[min(tail)]


def threshold_logit(intercepts: Array, mix: Array, threshold: float) -> Array:
    """Shared logit x at which Σ w·expit(intercept + x) is the threshold, for every replicate.

    Parameters
    ----------
    intercepts : array, shape (replicates, hospitals)
        −inf for a hospital without any direct case, nan (it leaves the mix) without any case.
    mix : array, shape (hospitals,)
    threshold : float
        Between 0 and 1.

    Returns
    -------
    array, shape (replicates,)
        inf where hospitals without direct cases keep the share below the threshold at any logit, −inf where
        those with nothing else keep it above, nan where no hospital is left.
    """
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
        with np.errstate(divide="ignore", invalid="ignore"):
            step = at - value / slope
        new = np.where((step > low) & (step < high), step, (low + high) / 2)
        if np.all(np.abs(new - at) <= 1e-13 * (1 + np.abs(at))):
            break
        at = new
    answer: Array = new
    return answer
