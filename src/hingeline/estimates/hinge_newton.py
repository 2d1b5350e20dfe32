"""Counts by cell and columns come in; maximum-likelihood coefficients of many candidate models at once come
out.

Fisher scoring with step halving (McCullagh & Nelder, Generalized Linear Models, 1989, section 2.5), batched
over candidates that share their fixed columns. With complete separation a coefficient runs off while the
log-likelihood settles: convergence is therefore judged by the log-likelihood, never by the coefficients.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from hingeline.estimates.hinge_rows import Cells, Floats, add_up

RIDGE: Final = 1e-10
"""Added to the diagonal of a normal matrix, as a share of it: it moves no maximum, only a singular step."""

FLOOR: Final = 1e-25
"""Added where the diagonal is 0; far below the information that is left where a coefficient runs off."""

FARTHEST: Final = 300.0
"""Linear predictors beyond this are the same as infinite."""

LEAST: Final = 1e-300


@dataclass(frozen=True)
class Batch:
    """Coefficients (C, q + m): fixed columns first, then the extra ones; log-likelihoods (C,), without
    constants."""

    theta: Floats
    loglik: Floats
    eta: Floats


def likelihood(cells: Cells, y: Floats, n: Floats, eta: Floats) -> tuple[Floats, Floats, Floats]:
    """Log-likelihood (C,), score (C, N) and expected information (C, N) for the linear predictor.

    Binomial with P(seen direct) = 1 − sp + (se + sp − 1)·expit(η), or Poisson with mean exposure·exp(η).
    """
    if cells.family == "poisson":
        mean = n * np.exp(np.minimum(eta, FARTHEST))
        return eta @ y - mean.sum(-1), y - mean, mean
    # written in place: the arrays are large enough that fresh ones cost more than the arithmetic
    odds = np.exp(np.minimum(eta, FARTHEST))
    denominator = odds + 1.0
    log_denominator = np.log(denominator)
    np.divide(1.0, denominator, out=denominator)
    odds *= denominator
    denominator *= odds
    if cells.exact:
        loglik = eta @ y - log_denominator @ n
        if eta.max(initial=0.0) > FARTHEST:
            loglik -= np.maximum(eta - FARTHEST, 0.0) @ n
        denominator *= n
        odds *= n
        np.subtract(y, odds, out=odds)
        return loglik, odds, denominator
    p, variance = odds, denominator
    return _with_typing_errors(cells, y, n, p, variance)


def _with_typing_errors(
    cells: Cells, y: Floats, n: Floats, p: Floats, variance: Floats
) -> tuple[Floats, Floats, Floats]:
    seen: Floats = np.maximum(cells.false_direct + cells.gain * p, LEAST)
    unseen: Floats = np.maximum(1 - cells.false_direct - cells.gain * p, LEAST)
    slope: Floats = cells.gain * variance
    others = n - y
    loglik: Floats = np.log(seen) @ y + np.log(unseen) @ others
    score: Floats = (y / seen - others / unseen) * slope
    info: Floats = n * slope * slope / np.maximum(seen * unseen, LEAST)
    return loglik, score, info


def hinges(cells: Cells, tau: Floats) -> Floats:
    """Columns max(age − τ, 0) in decades, (C, k, N), for turns (C, k) in decades."""
    bent: Floats = np.maximum(cells.decades - tau[:, :, None], 0.0)
    return bent


def fixed_information(cells: Cells, info: Floats) -> Floats:
    """Information (C, q, q) of the fixed columns; hospitals share no cell, so it is an arrow."""
    groups = cells.n_groups
    sums = info @ cells.products
    matrix = np.zeros((info.shape[0], groups + 1, groups + 1))
    matrix.reshape(info.shape[0], -1)[:, : groups * (groups + 2) : groups + 2] = sums[:, :groups]
    matrix[:, groups, :groups] = matrix[:, :groups, groups] = sums[:, groups : 2 * groups]
    matrix[:, groups, groups] = sums[:, 2 * groups]
    return matrix


def normal_equations(cells: Cells, extra: Floats, score: Floats, info: Floats) -> tuple[Floats, Floats]:
    """Gradient (C, q + m) and information matrix (C, q + m, q + m)."""
    count, m, _ = extra.shape
    q = cells.fixed.shape[1]
    matrix = np.empty((count, q + m, q + m))
    matrix[:, :q, :q] = fixed_information(cells, info)
    gradient = np.empty((count, q + m))
    gradient[:, :q] = score @ cells.fixed
    if m:
        weighted = extra * info[:, None, :]
        cross = (weighted.reshape(count * m, -1) @ cells.fixed).reshape(count, m, q)
        matrix[:, q:, :q] = cross
        matrix[:, :q, q:] = cross.transpose(0, 2, 1)
        matrix[:, q:, q:] = weighted @ extra.transpose(0, 2, 1)
        gradient[:, q:] = (extra @ score[:, :, None])[:, :, 0]
    return gradient, matrix


def solve(matrix: Floats, gradient: Floats) -> Floats:
    """Solve the (nearly) positive-definite systems; directions without information get no step."""
    size = matrix.shape[1]
    raised = matrix.reshape(-1, size * size).copy()
    raised[:, :: size + 1] = raised[:, :: size + 1] * (1 + RIDGE) + FLOOR
    step = np.linalg.solve(raised.reshape(matrix.shape), gradient[:, :, None])[:, :, 0]
    return step.astype(np.float64, copy=False)


def slope_penalty(theta: Floats, q: int) -> tuple[Floats, Floats, Floats]:
    """Log-F(1, 1) on the slope of each stretch per ten years: value, gradient and curvature.

    Σ s/2 − log(1 + eˢ), s the slopes (base, base + γ₁, …): convex and free of τ (Greenland & Mansournia, Stat
    Med 2015;34:3133, section 3). Intercepts are left alone, so that fitted directs add up to the observed in
    each hospital.
    """
    count, size = theta.shape
    k = size - q
    slopes = np.cumsum(theta[:, q - 1 :], axis=1)
    small = np.exp(-np.abs(slopes))
    value = (-np.abs(slopes) / 2 - np.log1p(small)).sum(1)
    p = np.where(slopes >= 0, 1, small) / (1 + small)
    curvature = small / (1 + small) ** 2
    # the slope of stretch i holds coefficients 0..i, so coefficient j collects the stretches from j on
    gradient = np.zeros((count, size))
    gradient[:, q - 1 :] = np.cumsum((0.5 - p)[:, ::-1], axis=1)[:, ::-1]
    tail = np.cumsum(curvature[:, ::-1], axis=1)[:, ::-1]
    later = np.maximum(np.arange(k + 1)[:, None], np.arange(k + 1)[None, :])
    matrix = np.zeros((count, size, size))
    matrix[:, q - 1 :, q - 1 :] = tail[:, later]
    return value, gradient, matrix


def newton(
    cells: Cells,
    y: Floats,
    n: Floats,
    extra: Floats,
    start: Floats,
    *,
    iterations: int = 60,
    tolerance: float = 1e-9,
    penalised: bool = False,
) -> Batch:
    """Maximise the (penalised) log-likelihood of C models at once.

    Parameters
    ----------
    y, n : (N,)
        Directs and totals (or events and exposures) by cell.
    extra : (C, m, N)
        Columns of each model beside the fixed ones.
    start : (C, q + m)
    tolerance : float
        On the gain in log-likelihood still to be had, by the Newton decrement.
    """
    q = cells.fixed.shape[1]
    theta = start.copy()
    eta = theta[:, :q] @ cells.fixed.T + (theta[:, None, q:] @ extra)[:, 0, :]
    loglik, score, info = likelihood(cells, y, n, eta)
    value = slope_penalty(theta, q)[0] if penalised else 0.0
    for _ in range(iterations):
        gradient, matrix = normal_equations(cells, extra, score, info)
        if penalised:
            _, lean, bend = slope_penalty(theta, q)
            gradient, matrix = gradient + lean, matrix + bend
        step = solve(matrix, gradient)
        if np.all((gradient * step).sum(1) < tolerance):
            break
        move = step[:, :q] @ cells.fixed.T + (step[:, None, q:] @ extra)[:, 0, :]
        objective = loglik + value
        factor = np.ones(theta.shape[0])
        for _ in range(12):
            trial = theta + factor[:, None] * step
            trial_eta = eta + factor[:, None] * move
            loglik, score, info = likelihood(cells, y, n, trial_eta)
            value = slope_penalty(trial, q)[0] if penalised else 0.0
            worse = ~(loglik + value >= objective - 1e-9 * (1 + np.abs(objective)))
            if not worse.any():
                break
            factor = np.where(worse, factor / 4, factor)
        theta, eta = trial, trial_eta
    return Batch(theta, loglik, eta)


def starting_values(cells: Cells, y: Floats, n: Floats) -> Floats:
    """Intercepts at each hospital's own share (or rate), slope 0: (q,)."""
    directs = add_up(cells.group, y, cells.n_groups)
    totals = add_up(cells.group, n, cells.n_groups)
    theta = np.zeros(cells.n_groups + 1)
    if cells.family == "poisson":
        theta[:-1] = np.log((directs + 0.5) / (totals + 0.5))
    else:
        theta[:-1] = np.log((directs + 0.5) / (totals - directs + 0.5))
    return theta


def without_information(cells: Cells, y: Floats, n: Floats) -> tuple[Floats, Floats, Floats]:
    """Empty the cells of hospitals with no directs, or nothing but, whose intercepts are at ∓∞.

    Such a hospital's likelihood reaches its supremum, 0, at an infinite intercept whatever the ages do, so it
    drops out of the fit exactly. With a specificity (or sensitivity) under 1 it does not, and stays. Returns
    the directs and totals to work with, and the intercepts: ∓∞ where settled, nan where the hospital has no
    cases at all, else 0.
    """
    directs = add_up(cells.group, y, cells.n_groups)
    totals = add_up(cells.group, n, cells.n_groups)
    settled = np.zeros(cells.n_groups)
    if cells.exact:
        settled[directs == 0] = -np.inf
        if cells.family == "binomial":
            settled[(directs == totals) & (totals > 0)] = np.inf
    settled[totals == 0] = np.nan
    kept = (settled == 0)[cells.group]
    return np.where(kept, y, 0.0), np.where(kept, n, 0.0), settled
