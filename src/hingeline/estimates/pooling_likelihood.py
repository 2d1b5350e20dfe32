"""The likelihood of counts that vary between series: events and totals come in, the marginal log-likelihood goes out.

Integrated by adaptive Gauss–Hermite quadrature about each series' own mode (Liu & Pierce, Biometrika 1994;81:624–629),
with exact derivatives, so that a series without an event enters as it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, xlogy

Floats = NDArray[np.float64]
Family = Literal["binomial", "poisson"]


@dataclass(frozen=True)
class Counts:
    """Series of counts: events (k,) of totals (k,), patients (binomial) or person-time (poisson)."""

    events: Floats
    totals: Floats
    family: Family

    def constant(self) -> float:
        """The part of the log-likelihood that no parameter moves."""
        x, n = self.events, self.totals
        if self.family == "binomial":
            return float((gammaln(n + 1) - gammaln(x + 1) - gammaln(n - x + 1)).sum())
        return float((xlogy(x, n) - gammaln(x + 1)).sum())

    def terms(self, level: Floats) -> tuple[Floats, Floats, Floats]:
        """Log-likelihood, its slope and its curvature (as a positive number) at levels (…, k, points)."""
        x, n = self.events[:, None], self.totals[:, None]
        if self.family == "binomial":
            small = np.exp(-np.abs(level))
            share = np.where(level >= 0, 1.0, small) / (1.0 + small)
            mean = n * share
            fit = x * level - n * (np.maximum(level, 0.0) + np.log1p(small))
            return fit, x - mean, mean * (1.0 - share)
        mean = n * np.exp(np.minimum(level, 300.0))
        return x * level - mean, x - mean, mean

    def crude(self) -> float:
        """Level of all series taken as one."""
        x, n = float(self.events.sum()), float(self.totals.sum())
        return float(np.log(x / (n - x))) if self.family == "binomial" else float(np.log(x / n))

    def saturated(self) -> float:
        """Log-likelihood with a level of its own for each series."""
        x, n = self.events, self.totals
        if self.family == "binomial":
            return float((xlogy(x, x / n) + xlogy(n - x, (n - x) / n)).sum()) + self.constant()
        return float((xlogy(x, x / n) - x).sum()) + self.constant()


def marginal(counts: Counts, level: float, tau: float, points: int) -> tuple[np.float64, Floats, Floats]:
    """Log-likelihood (less its constant), gradient (2,) and Hessian (2, 2) in the level and τ.

    With θ = level + τz the derivatives are posterior means of the score and, by Louis' identity, of the
    curvature plus the variance of the score (J R Stat Soc B 1982;44:226–233).
    """
    if tau == 0.0:
        fit, slope, weight = (part[:, 0] for part in counts.terms(np.full((1, 1), level)))
        # along τ the first derivative is always nought at τ = 0; the second is the score of τ²
        bend = float((slope**2 - weight).sum())
        hessian = np.array([[-float(weight.sum()), 0.0], [0.0, bend]])
        return np.float64(fit.sum()), np.array([float(slope.sum()), 0.0]), hessian
    nodes, log_weights = _nodes(points)
    mode, spread = _modes(counts, level, tau)
    z = mode[:, None] + spread[:, None] * nodes
    fit, slope, weight = counts.terms(level + tau * z)
    log_mass = fit - z**2 / 2 + log_weights
    # scipy's logsumexp costs more than all the rest of this function
    top = log_mass.max(axis=1)
    mass = np.exp(log_mass - top[:, None])
    sums = mass.sum(axis=1)
    total = top + np.log(sums)
    mass /= sums[:, None]
    slope_z, weight_z = slope * z, weight * z
    first = (mass * slope).sum(axis=1)
    second = (mass * slope_z).sum(axis=1)
    a = (mass * (slope * slope - weight)).sum() - (first * first).sum()
    b = (mass * (slope * slope_z - weight_z)).sum() - (first * second).sum()
    c = (mass * (slope_z * slope_z - weight_z * z)).sum() - (second * second).sum()
    value = total.sum() + np.log(spread).sum() - mode.size * np.log(2 * np.pi) / 2
    return np.float64(value), np.array([first.sum(), second.sum()]), np.array([[a, b], [b, c]])


def loglik(counts: Counts, level: float, tau: float, points: int) -> float:
    """The log-likelihood of `marginal` alone, at half the cost."""
    if tau == 0.0:
        return float(counts.terms(np.full((1, 1), level))[0].sum())
    nodes, log_weights = _nodes(points)
    mode, spread = _modes(counts, level, tau)
    z = mode[:, None] + spread[:, None] * nodes
    log_mass = counts.terms(level + tau * z)[0] - z**2 / 2 + log_weights
    top = log_mass.max(axis=1)
    total = top + np.log(np.exp(log_mass - top[:, None]).sum(axis=1))
    return float(total.sum() + np.log(spread).sum() - mode.size * np.log(2 * np.pi) / 2)


@lru_cache(maxsize=16)
def _nodes(points: int) -> tuple[Floats, Floats]:
    """Nodes, and logs of the weights with the normal kernel divided out."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(points)
    return nodes, np.log(weights) + nodes**2 / 2


def _modes(counts: Counts, level: float, tau: float) -> tuple[Floats, Floats]:
    """Mode of each series' z and the spread of a normal with its curvature, by Newton's method."""
    x, n = counts.events, counts.totals
    # Where data and prior would meet if both were normal; the ½ only places the first step.
    if counts.family == "binomial":
        own, size = np.log((x + 0.5) / (n - x + 0.5)), (x + 0.5) * (n - x + 0.5) / (n + 1)
    else:
        own, size = np.log((x + 0.5) / n), x + 0.5
    z = tau * size * (own - level) / (1.0 + tau**2 * size)
    curvature = np.ones_like(z)
    for _ in range(60):
        _, slope, weight = (part[:, 0] for part in counts.terms((level + tau * z)[:, None]))
        curvature = 1.0 + tau**2 * weight
        step = np.clip((tau * slope - z) / curvature, -2.0 / tau, 2.0 / tau)
        z = z + step
        if np.abs(step).max() < 1e-6:
            break
    return z, 1.0 / np.sqrt(curvature)
