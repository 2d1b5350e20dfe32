"""How smooth the curve is, by restricted maximum likelihood.

A design and its counts come in, the multipliers of the curvature's cost go out, one about each of some ages,
so that a share that climbs steeply in a few years of youth and slowly for decades after is not smoothed alike
throughout (Krivobokova, Crainiceanu & Kauermann, J Comput Graph Stat 2008;17:1–20; criterion and derivatives
as in Wood, J R Stat Soc B 2011;73:3–36).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from scipy.optimize import minimize

from hingeline.estimates.cells import Array
from hingeline.estimates.smooth import CurveDesign, Mode

REACH: Final = (-12.0, 16.0)
"""How far, in powers of e, a multiplier may lie from where cost and information weigh alike: from a curve
that follows every bump to one that is straight to four digits."""


def choose_smoothness(design: CurveDesign, direct: Array, total: Array) -> tuple[CurveDesign, Mode]:
    """Maximise the restricted likelihood over all multipliers, from two starts.

    The starts are the best multiplier common to all ages, and one that lets the curve bend more.

    Returns
    -------
    design : CurveDesign
        With its smoothness and start set.
    mode : Mode
        The fit there.
    """
    middle = _scale(design, total)
    place_count = len(design.costs)
    common, beta = _best_common(design, direct, total, middle)
    best: tuple[float, Array] = (np.inf, np.full(place_count, common))

    def loss(log_smoothness: Array) -> tuple[float, Array]:
        smoothness = np.exp(log_smoothness)
        mode = design.mode(direct, total, smoothness, beta)
        return -mode.criterion, -design.criterion_slope(mode, direct, total, smoothness)

    bounds = [(middle + REACH[0], middle + REACH[1])] * place_count
    for lower in (0.0, 4.0) if place_count > 1 else (0.0,):
        start = np.full(place_count, np.clip(common - lower, *bounds[0]))
        found = minimize(
            loss, start, jac=True, method="L-BFGS-B", bounds=bounds, options={"ftol": 1e-11, "gtol": 1e-6}
        )
        if found.fun < best[0]:
            best = (float(found.fun), found.x)
    return settle(design, direct, total, np.exp(best[1]), beta)


def settle(
    design: CurveDesign, direct: Array, total: Array, smoothness: Array, start: Array
) -> tuple[CurveDesign, Mode]:
    """Fit at a given smoothness and keep it and the fit in the design."""
    mode = design.mode(direct, total, smoothness, start)
    return replace(design, start=mode.beta, smoothness=smoothness), mode


def _scale(design: CurveDesign, total: Array) -> float:
    """Log multiplier at which the cost of curvature and the information of the cases weigh alike."""
    information = 0.1 * float(total.sum()) * float(np.mean(design.basis**2))
    return float(np.log(information / np.mean(np.diag(design.costs.sum(axis=0)))))


def _best_common(design: CurveDesign, direct: Array, total: Array, middle: float) -> tuple[float, Array]:
    """Scan one multiplier for all places: the restricted likelihood can have several maxima."""
    beta = design.start
    best = (-np.inf, middle, beta)
    for log_smoothness in middle + np.arange(REACH[1], REACH[0], -1.5):
        smoothness = np.full(len(design.costs), np.exp(log_smoothness))
        mode = design.mode(direct, total, smoothness, beta)
        beta = mode.beta
        if mode.criterion > best[0]:
            best = (mode.criterion, float(log_smoothness), beta)
    return best[1], best[2]
