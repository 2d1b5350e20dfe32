"""Fits at turns that are held: counts by cell and turns come in, coefficients and likelihoods of many models at once go
out, with and without the penalty on slopes. Also where turns may lie, and how they are brought there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from hingeline.estimates.hinge_newton import (
    Batch,
    hinges,
    likelihood,
    newton,
    normal_equations,
    solve,
    starting_values,
)
from hingeline.estimates.hinge_rows import DECADE, Cells, Floats

SAME_AGE: Final = 1e-9
NEAR: Final = 20.0
"""Coefficients (log odds, and change of slope a decade) beyond which a fit has run off under separation."""


@dataclass(frozen=True)
class Found:
    """One model: turns in decades (k,), coefficients (q + k,), log-likelihood without constants."""

    tau: Floats
    theta: Floats
    loglik: float


def limits_of(cells: Cells, turns: int) -> tuple[Floats, Floats]:
    """Lowest and highest place of each turn in decades, given those that must fit on either side."""
    apart = cells.apart_years / DECADE
    low, high = cells.to_decades(np.array([cells.low_years, cells.high_years]))
    order = np.arange(turns)
    return low + order * apart, high - (turns - 1 - order) * apart


def project(tau: Floats, low: Floats, high: Floats, apart: float) -> Floats:
    """Bring turns (C, k) inside their limits, in order and far enough apart."""
    tau = np.minimum(np.maximum(tau, low), high)
    for j in range(1, tau.shape[1]):
        tau[:, j] = np.maximum(tau[:, j], tau[:, j - 1] + apart)
    tau = np.minimum(tau, high)
    for j in range(tau.shape[1] - 2, -1, -1):
        tau[:, j] = np.minimum(tau[:, j], tau[:, j + 1] - apart)
    return tau


def working(cells: Cells, y: Floats, n: Floats, eta: Floats) -> tuple[Floats, Floats]:
    """Weights and working responses (N,) of the weighted least squares about a linear predictor."""
    _, score, info = likelihood(cells, y, n, eta[None, :])
    weight = info[0]
    response = eta + score[0] / np.maximum(weight, 1e-12)
    return weight, np.where(weight > 1e-12, response, eta)


def fit_at(
    cells: Cells,
    y: Floats,
    n: Floats,
    tau: Floats,
    *,
    eta: Floats | None = None,
    start: Floats | None = None,
    iterations: int = 60,
    tolerance: float = 1e-9,
    penalised: bool = False,
) -> Batch:
    """Fit the models with turns (C, k) held; ``eta`` (N,) is a fit to take the first step about."""
    extra = hinges(cells, tau)
    count, k = tau.shape
    if start is None:
        start = np.zeros((count, cells.fixed.shape[1] + k))
        if eta is None:
            start[:, : cells.fixed.shape[1]] = starting_values(cells, y, n)
        else:
            weight, response = working(cells, y, n, eta)
            ones = np.ones((count, 1))
            gradient, matrix = normal_equations(cells, extra, ones * (weight * response), ones * weight)
            start = solve(matrix, gradient)
    return newton(cells, y, n, extra, start, iterations=iterations, tolerance=tolerance, penalised=penalised)


def fit_shrunk(cells: Cells, y: Floats, n: Floats, found: Found) -> Batch:
    """The penalised fit at the turns found: from there, or from flat lines where coefficients have run off.

    Under separation the unpenalised slopes run to infinity and the intercepts after them; there the likelihood
    is flat, and a Newton step from it leads anywhere.
    """
    near = np.abs(found.theta).max(initial=0) < NEAR
    return fit_at(
        cells, y, n, found.tau[None, :], start=found.theta[None, :].copy() if near else None, penalised=True
    )
