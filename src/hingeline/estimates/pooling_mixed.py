"""Counts that vary between series by more than chance: events and totals come in, the mixed model's fit goes out.

On the logit (shares) or the log (rates) each series has its own level, normal about a common one. The likelihood
is `pooling_likelihood`'s, so a series without an event enters as it is and no count is ever corrected.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtri

from hingeline.estimates.pooling_likelihood import Counts, Family, Floats, loglik, marginal

POINTS: Final = (25, 51, 101)
"""Quadrature points tried in turn until the likelihood stands still."""
SETTLED: Final = 1e-8
"""Change of the log-likelihood between two numbers of points that counts as standing still."""
WIDEST: Final = 6.0
"""Largest standard deviation between series that is looked at: odds that differ 160,000-fold within two of it."""
SPREADS: Final = (0.0, 0.3, 1.0, 3.0)
"""Standard deviations between series from which a best one is looked for, so that none of two maxima is missed."""
SMALLEST: Final = 1e-4
"""A standard deviation between series below which it is taken for nought."""
FARTHEST: Final = 40.0
"""How far from nought a level on the logit or log is looked for."""


@dataclass(frozen=True)
class MixedFit:
    """Maximum likelihood fit of a normal distribution of levels (logit or log scale).

    Attributes
    ----------
    level, se : float
        The common level and its standard error, from the joint curvature.
    tau, loglik : float
    fixed, fixed_loglik : float
        The common level and the log-likelihood without a difference between series.
    points : int
        Quadrature points of the fit.
    unbounded : bool
        Whether τ stopped at the widest that is looked at.
    """

    counts: Counts
    level: float
    se: float
    tau: float
    loglik: float
    fixed: float
    fixed_loglik: float
    points: int
    unbounded: bool


def fit_mixed(counts: Counts) -> MixedFit:
    """Fit the mixed model by maximum likelihood; needs events, and in shares patients without one.

    Notes
    -----
    Hamza, van Houwelingen & Stijnen, J Clin Epidemiol 2008;61:41–51; Stijnen, Hamza & Özdemir, Stat Med
    2010;29:3046–3067. Quadrature: Pinheiro & Bates, J Comput Graph Stat 1995;4:12–35.
    """
    fixed = counts.crude()
    fixed_loglik = float(marginal(counts, fixed, 0.0, 1)[0])
    point = np.array([fixed, 0.0])
    points = POINTS[0]
    for points in POINTS:
        point = _climb(counts, point if point[1] > 0 else _start(counts, fixed, points), points)
        more = loglik(counts, point[0], point[1], 2 * points + 1)
        if abs(more - loglik(counts, point[0], point[1], points)) < SETTLED:
            break
    fit, _, curvature = marginal(counts, point[0], point[1], points)
    if fit < fixed_loglik + 1e-10:
        point, fit = np.array([fixed, 0.0]), np.float64(fixed_loglik)
        curvature = marginal(counts, fixed, 0.0, points)[2]
    edge = point[1] in (0.0, WIDEST)
    variance = -1.0 / curvature[0, 0] if edge else -np.linalg.inv(curvature)[0, 0]
    constant = counts.constant()
    return MixedFit(
        counts,
        float(point[0]),
        float(np.sqrt(variance)),
        float(point[1]),
        float(fit) + constant,
        fixed,
        fixed_loglik + constant,
        points,
        bool(point[1] >= WIDEST),
    )


def level_limits(fit: MixedFit, level: float) -> tuple[float, float]:
    """Profile-likelihood limits of the common level; −∞ or ∞ where the profile never falls to the cut-off."""
    cut = fit.loglik - fit.counts.constant() - float(chdtri(1, 1 - level)) / 2
    fit = _finer(fit)

    def above(at: float) -> float:
        return _best_tau(fit.counts, at, fit.tau, fit.points)[1] - cut

    def limit(sign: float) -> float:
        quick = _straight(fit, 0, sign, cut, level)
        # the pair of equations may hold at the lower one of two maxima along τ
        if quick is not None and all(loglik(fit.counts, quick, tau, fit.points) < cut for tau in SPREADS):
            return quick
        return _outwards(above, fit.level, sign, 2.0 * fit.se, FARTHEST)

    return limit(-1.0), limit(1.0)


def tau_limits(fit: MixedFit, level: float) -> tuple[float, float]:
    """Profile-likelihood limits of τ; 0 where no difference is within the cut-off, ∞ where the widest is."""
    cut = fit.loglik - fit.counts.constant() - float(chdtri(1, 1 - level)) / 2
    fit = _finer(fit)
    common = fit.level

    def above(tau: float) -> float:
        nonlocal common
        if tau == fit.tau:
            return 1.0
        common, best = _best_level(fit.counts, common, tau, fit.points)
        return best - cut

    if fit.fixed_loglik - fit.counts.constant() >= cut or fit.tau == 0:
        low = 0.0
    else:
        quick = _straight(fit, 1, -1.0, cut, level)
        low = quick if quick is not None else float(brentq(above, 0.0, fit.tau, xtol=1e-9, rtol=1e-9))
    quick = _straight(fit, 1, 1.0, cut, level)
    if quick is not None:
        return low, quick
    common = fit.level
    if fit.unbounded or above(WIDEST) >= 0:
        return low, np.inf
    common = fit.level
    return low, float(brentq(above, fit.tau, WIDEST, xtol=1e-9, rtol=1e-9))


def _finer(fit: MixedFit) -> MixedFit:
    """The fit with as many points as there are: what settles at the maximum is too few where τ is far wider."""
    return replace(fit, points=POINTS[-1])


def _straight(fit: MixedFit, axis: int, sign: float, cut: float, level: float) -> float | None:
    """A profile limit by Newton's method on the pair of equations that define it; None when it will not settle.

    Venzon & Moolgavkar, Appl Stat 1988;37:87–94: the likelihood is at the cut-off, its slope in the other
    parameter nought.
    """
    if fit.unbounded or (axis == 1 and fit.tau == 0):
        return None
    centre, other = (fit.level, fit.tau)[axis], 1 - axis
    point = np.array([fit.level, fit.tau])
    if fit.tau == 0:
        # without a difference the limit is near; from there τ finds its own best
        point[0] += sign * fit.se * np.sqrt(float(chdtri(1, 1 - level)))
        point[1] = _best_tau(fit.counts, float(point[0]), fit.tau, fit.points)[0]
    else:
        hessian = marginal(fit.counts, fit.level, fit.tau, fit.points)[2]
        own = hessian[axis, axis] - hessian[0, 1] ** 2 / hessian[other, other]
        if not (own < 0 and hessian[other, other] < 0):
            return None
        point[axis] += sign * np.sqrt(float(chdtri(1, 1 - level)) / -own)
        point[other] -= (point[axis] - centre) * hessian[0, 1] / hessian[other, other]
    for _ in range(15):
        if not (1e-4 < point[1] < WIDEST and abs(point[0]) < FARTHEST):
            return None
        value, gradient, hessian = marginal(fit.counts, point[0], point[1], fit.points)
        jacobian = np.array([gradient, hessian[other]])
        if hessian[other, other] >= 0 or abs(np.linalg.det(jacobian)) < 1e-12:
            return None
        step = np.linalg.solve(jacobian, np.array([cut - value, -gradient[other]]))
        point = point + step
        if np.abs(step).max() < 1e-8:
            right = sign * (point[axis] - centre) > 0
            return float(point[axis]) if right and 0 < point[1] < WIDEST else None
    return None


def _start(counts: Counts, fixed: float, points: int) -> Floats:
    """The best of a few spreads, never nought: along τ nought is always a stationary point."""
    taus = (0.1, 0.3, 0.6, 1.2, 2.4)
    fits = [loglik(counts, fixed, tau, points) for tau in taus]
    return np.array([fixed, taus[int(np.argmax(fits))]])


def _climb(counts: Counts, point: Floats, points: int) -> Floats:
    """Newton's method in (level, τ), curvature turned downhill where it is not, steps halved until they climb."""
    value, gradient, hessian = marginal(counts, point[0], point[1], points)
    for _ in range(100):
        roots, axes = np.linalg.eigh(-hessian)
        step = axes @ ((axes.T @ gradient) / np.maximum(np.abs(roots), 1e-6))
        step = step * min(1.0, 2.0 / float(np.abs(step).max() + 1e-300))  # shortened, never turned
        moved = False
        for halving in range(30):
            tried = point + step / 2**halving
            # towards nought by quarters, so that no maximum on the way is leapt over
            tried = np.array([tried[0], min(max(tried[1], point[1] / 4), WIDEST)])
            new = marginal(counts, tried[0], tried[1], points)
            if new[0] >= value:
                moved = True
                break
        if not moved:
            return point
        change = np.abs(tried - point).max()
        point, (value, gradient, hessian) = tried, new
        if point[1] < SMALLEST:
            return np.array([point[0], 0.0])
        if change < 1e-9:
            return point
    return point


def _best_tau(counts: Counts, level: float, hint: float, points: int) -> tuple[float, float]:
    """The best τ at a given level, and the log-likelihood there; it may have two maxima, one of them nought."""
    none = loglik(counts, level, 0.0, points)
    start = max((max(hint, 0.05), *SPREADS[1:]), key=lambda tau: loglik(counts, level, tau, points))
    tau, value = _rise(lambda at: _along(counts, level, at, points, 1), start, 0.0, WIDEST)
    return (tau, value) if value > none else (0.0, none)


def _best_level(counts: Counts, start: float, tau: float, points: int) -> tuple[float, float]:
    """The best level at a given τ, and the log-likelihood there."""
    return _rise(lambda at: _along(counts, at, tau, points, 0), start, -FARTHEST, FARTHEST)


def _along(counts: Counts, level: float, tau: float, points: int, axis: int) -> tuple[float, float, float]:
    value, gradient, hessian = marginal(counts, level, tau, points)
    return float(value), float(gradient[axis]), float(hessian[axis, axis])


def _rise(
    curve: Callable[[float], tuple[float, float, float]], at: float, lowest: float, highest: float
) -> tuple[float, float]:
    """Newton's method on one parameter, kept within bounds and climbing."""
    value, slope, bend = curve(at)
    for _ in range(60):
        step = slope / max(abs(bend), 1e-9)
        step = min(max(step, -2.0), 2.0)
        for halving in range(30):
            tried = min(max(at + step / 2**halving, lowest, at / 4 if lowest == 0 else lowest), highest)
            new = curve(tried)
            if new[0] >= value:
                break
        else:
            return at, value
        change = abs(tried - at)
        at, (value, slope, bend) = tried, new
        if (
            change < 1e-5 or at - lowest < SMALLEST
        ):  # the value is flat there: its error is of the order of the square
            break
    return at, value


def _outwards(
    above: Callable[[float], float], centre: float, sign: float, stride: float, farthest: float
) -> float:
    """Where a curve that starts above nought first falls to it, going one way; infinite when it does not."""
    near, far = centre, centre + sign * stride
    while above(far) > 0:
        stride *= 1.6
        near, far = far, far + sign * stride
        if abs(far) > farthest:
            return sign * np.inf
    # at the centre the curve is above nought by definition, whatever the last digit says
    return float(brentq(lambda at: 1.0 if at == centre else above(at), near, far, xtol=1e-8, rtol=1e-9))


def heterogeneity(fit: MixedFit) -> float:
    """Likelihood-ratio statistic of any difference between series: twice saturated less common."""
    return max(2.0 * (fit.counts.saturated() - fit.fixed_loglik), 0.0)


__all__ = [
    "Counts",
    "Family",
    "MixedFit",
    "fit_mixed",
    "heterogeneity",
    "level_limits",
    "marginal",
    "tau_limits",
]
