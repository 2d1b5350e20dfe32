"""Estimates with standard errors pooled: effects and their errors (k,) come in, the REML fit goes out.

The likelihood of τ² is looked at over its whole range before it is refined, since it can have two maxima. Limits
of the pooled effect are normal ones, or Hartung and Knapp's; those of τ² come from inverting Q.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import chdtrc, chdtri

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class NormalFit:
    """Restricted maximum likelihood fit of a normal distribution of effects.

    Attributes
    ----------
    effect, se, se_hk : float
        The pooled effect, its standard error, and that of Hartung and Knapp (for t with k − 1 degrees).
    tau2, i2, q, q_p : float
        Variance between series; the share of the variance that it is; Cochran's Q and its p-value.
    weights : ndarray, (k,)
        1/(variance + τ²), summing to 1.
    """

    effect: float
    se: float
    se_hk: float
    tau2: float
    i2: float
    q: float
    q_p: float
    weights: Floats


def fit_normal(effects: Floats, variances: Floats) -> NormalFit:
    """Pool two effects or more by inverse variance, τ² by restricted maximum likelihood.

    Notes
    -----
    REML: Viechtbauer, J Educ Behav Stat 2005;30:261–293. Hartung & Knapp, Stat Med 2001;20:3875–3889; Sidik &
    Jonkman, Stat Med 2002;21:3153–3159. I² from the typical variance within: Higgins & Thompson, Stat Med
    2002;21:1539–1558.
    """
    tau2 = reml_tau2(effects, variances)
    weight = 1.0 / (variances + tau2)
    effect = float((weight * effects).sum() / weight.sum())
    spread = float((weight * (effects - effect) ** 2).sum()) / (effects.size - 1)
    q = generalised_q(effects, variances, 0.0)
    return NormalFit(
        effect,
        float(weight.sum() ** -0.5),
        float(np.sqrt(spread / weight.sum())),
        tau2,
        share_between(tau2, variances),
        q,
        float(chdtrc(effects.size - 1, q)),
        weight / weight.sum(),
    )


def reml_tau2(effects: Floats, variances: Floats) -> float:
    """Variance between series at the highest restricted likelihood, 0 included."""
    spread = float(effects.var()) + float(variances.max())
    grid = np.concatenate([[0.0], np.geomspace(1e-6 * spread, 50 * spread, 160)])
    best = int(np.argmax(restricted_loglik(effects, variances, grid)))

    def slope(tau2: float) -> float:
        weight = 1.0 / (variances + tau2)
        mean = (weight * effects).sum() / weight.sum()
        trace = weight.sum() - (weight**2).sum() / weight.sum()
        return float(((weight * (effects - mean)) ** 2).sum() - trace)

    below, above = grid[max(best - 1, 0)], grid[min(best + 1, grid.size - 1)]
    if slope(below) <= 0 or slope(above) >= 0:
        return float(grid[best])
    return float(brentq(slope, below, above, xtol=1e-15, rtol=1e-13))


def restricted_loglik(effects: Floats, variances: Floats, tau2: Floats) -> Floats:
    """Restricted log-likelihood (less its constant) at each τ² of an array."""
    total = variances + tau2[:, None]
    weight = 1.0 / total
    mean = (weight * effects).sum(axis=1) / weight.sum(axis=1)
    square = (weight * (effects - mean[:, None]) ** 2).sum(axis=1)
    fit = np.log(total).sum(axis=1) + np.log(weight.sum(axis=1)) + square
    return np.asarray(-fit / 2, dtype=np.float64)


def generalised_q(effects: Floats, variances: Floats, tau2: float) -> float:
    """Cochran's Q with the weights 1/(variance + τ²)."""
    weight = 1.0 / (variances + tau2)
    mean = (weight * effects).sum() / weight.sum()
    return float((weight * (effects - mean) ** 2).sum())


def q_profile(effects: Floats, variances: Floats, level: float) -> tuple[float, float]:
    """Limits of τ²: those values at which the generalised Q meets its χ² quantiles; 0 where it lies below at 0.

    Viechtbauer, Stat Med 2007;26:37–52.
    """
    df = effects.size - 1

    def root(quantile: float) -> float:
        def excess(tau2: float) -> float:
            return generalised_q(effects, variances, tau2) - quantile

        if excess(0.0) <= 0:
            return 0.0
        high = float(variances.max() + effects.var()) + 1e-12
        while excess(high) > 0:
            high *= 4.0
        return float(brentq(excess, 0.0, high, xtol=1e-14, rtol=1e-12))

    return root(float(chdtri(df, (1 - level) / 2))), root(float(chdtri(df, (1 + level) / 2)))


def share_between(tau2: float, variances: Floats) -> float:
    """I², the share of variance that lies between series, by the typical variance within them (0 to 1)."""
    weight = 1.0 / variances
    typical = (variances.size - 1) * weight.sum() / (weight.sum() ** 2 - (weight**2).sum())
    return float(tau2 / (tau2 + typical))
