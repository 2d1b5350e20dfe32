"""The penalised likelihood behind the curve: counts by cell in, intercepts and spline coefficients out.

Fisher scoring (Newton's method, when types are seen without error) climbs the log-likelihood of the types as
seen, sensitivity and specificity inside it, less the cost of curvature; Laplace's approximation gives the
restricted likelihood of a smoothness (Wood, J R Stat Soc B 2011;73:3–36). Nothing is ever formed with a row a
cell and a column a coefficient, so a refit takes about a millisecond.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.linalg import cho_factor, cho_solve, null_space
from scipy.special import expit, xlogy

from hingeline.estimates.cells import Array, Cells, Index
from hingeline.estimates.spline import Spline, equal_spline

RIDGE: Final = 1e-6
"""Pull of every coefficient to the pooled share. It moves a hospital's intercept by less than 1e-5, unless
the hospital has no direct case at all (or nothing else): then it stops near −20 instead of minus infinity."""
SETTLED: Final = 0.05
"""Information on an intercept below which its hospital counts as one without any direct (or other) case."""
MOST_STEPS: Final = 100


@dataclass(frozen=True)
class CurveRefit:
    """The curve on other counts over the same cells: ``intercepts`` (hospitals,) and ``coefs`` (basis,)."""

    intercepts: Array
    coefs: Array
    loglik: float


@dataclass(frozen=True)
class Mode:
    """The penalised maximum at one smoothness.

    Attributes
    ----------
    beta : array, shape (hospitals + basis − 1,)
        Intercepts, then spline coefficients within the constraint.
    loglik : float
        Without the penalty.
    information, penalised : array
        Expected information, and the same with the penalty added.
    criterion : float
        Restricted log-likelihood, up to a constant.
    """

    beta: Array
    loglik: float
    information: Array
    penalised: Array
    criterion: float


@dataclass(frozen=True)
class CurveDesign:
    """Cells arranged for fitting; plain arrays, so it can be sent to another process.

    Attributes
    ----------
    ages : array, shape (ages,)
        Distinct ages in years; ``age_of_cell`` (cells,) points into them.
    group_of_cell : array of int, shape (cells,)
    groups : int
        Number of hospitals.
    spline : Spline
    within : array, shape (basis, basis − 1)
        Spans the splines that average zero over the cases, so that intercepts are not in them.
    basis : array, shape (ages, basis − 1)
    costs : array, shape (places, basis − 1, basis − 1)
        Integrated squared second derivative about each of some ages (`Spline.curvature_costs`).
    curved : array, shape (basis − 1, basis − 2)
        Spans what costs anything: all but the straight line.
    sensitivity, specificity : array, shape (cells,)
    centre : float
        Logit of the pooled share.
    start : array
        Where the search begins.
    smoothness : array, shape (places,)
        Multipliers of ``costs`` that `refit` uses.
    """

    ages: Array
    age_of_cell: Index
    group_of_cell: Index
    groups: int
    spline: Spline
    within: Array
    basis: Array
    costs: Array
    curved: Array
    sensitivity: Array
    specificity: Array
    centre: float
    start: Array
    smoothness: Array

    def refit(self, direct_by_cell: Array, total_by_cell: Array) -> CurveRefit:
        """Fit other counts at the design's own smoothness."""
        mode = self.mode(direct_by_cell, total_by_cell, self.smoothness, self.start)
        return CurveRefit(mode.beta[: self.groups], self.within @ mode.beta[self.groups :], mode.loglik)

    def mode(self, direct: Array, total: Array, smoothness: Array, start: Array) -> Mode:
        """Maximise the penalised log-likelihood by Fisher scoring with step halving."""
        penalty = self._penalty(smoothness)
        centre = self._centre()
        beta = start
        loglik, score, weight = self._likelihood(beta, direct, total)
        objective = loglik - 0.5 * (beta - centre) @ penalty @ (beta - centre)
        for _ in range(MOST_STEPS):
            gradient = self._gather(score) - penalty @ (beta - centre)
            step = cho_solve(cho_factor(self._cross(weight) + penalty, check_finite=False), gradient)
            gain = float(gradient @ step)
            if gain < 1e-11:
                break
            size = 1.0
            while size > 1e-6:
                trial = beta + size * step
                new = self._likelihood(trial, direct, total)
                value = new[0] - 0.5 * (trial - centre) @ penalty @ (trial - centre)
                if value > objective - 1e-12 * abs(objective):
                    break
                size /= 2
            else:
                break
            beta, objective = trial, value
            loglik, score, weight = new
        information = self._cross(weight)
        penalised = information + penalty
        _, logdet = np.linalg.slogdet(penalised)
        _, logdet_cost = np.linalg.slogdet(self.curved.T @ self.cost(smoothness) @ self.curved)
        criterion = objective + 0.5 * float(logdet_cost) - 0.5 * float(logdet)
        return Mode(beta, loglik, information, penalised, float(criterion))

    def criterion_slope(self, mode: Mode, direct: Array, total: Array, smoothness: Array) -> Array:
        """Derivative of the restricted log-likelihood by each log smoothness (Wood 2011, section 3.5)."""
        inverse = np.linalg.inv(mode.penalised).astype(np.float64)
        curved_inverse = np.linalg.inv(self.curved.T @ self.cost(smoothness) @ self.curved).astype(np.float64)
        spread_of_cost = self.curved @ curved_inverse @ self.curved.T
        within = mode.beta[self.groups :]
        bend: Array = self._bend(mode.beta, direct, total) * self._leverage(inverse)
        pull = self._gather(bend)
        slope = np.empty(len(self.costs))
        for place, cost in enumerate(self.costs):
            scaled = smoothness[place] * cost
            push = scaled @ within
            slope[place] = 0.5 * (
                np.sum(spread_of_cost * scaled)
                - within @ push
                - np.sum(inverse[self.groups :, self.groups :] * scaled)
                + pull @ inverse[:, self.groups :] @ push
            )
        return slope

    def cost(self, smoothness: Array) -> Array:
        """The whole penalty on the spline's coefficients."""
        whole: Array = np.tensordot(smoothness, self.costs, axes=1)
        return whole

    def slope_scores(self, beta: Array, direct: Array, total: Array, cells: Index) -> Array:
        """Derivative of each row's log-likelihood by the logit at its cell."""
        eta = self.logits(beta)[cells]
        return _derivatives(eta, direct, total, self.sensitivity[cells], self.specificity[cells])[1]

    def logits(self, beta: Array) -> Array:
        """Logit of the true share in each cell."""
        smooth = self.basis @ beta[self.groups :]
        logit: Array = beta[self.group_of_cell] + smooth[self.age_of_cell]
        return logit

    def rows(self, cells: Index) -> Array:
        """The model matrix at some cells, shape (len(cells), hospitals + basis − 1)."""
        matrix = np.zeros((cells.size, self.groups + self.basis.shape[1]))
        matrix[np.arange(cells.size), self.group_of_cell[cells]] = 1
        matrix[:, self.groups :] = self.basis[self.age_of_cell[cells]]
        return matrix

    def _centre(self) -> Array:
        centre = np.zeros(self.groups + self.basis.shape[1])
        centre[: self.groups] = self.centre
        return centre

    def _bend(self, beta: Array, direct: Array, total: Array) -> Array:
        """Derivative of each cell's information by its logit, by central differences."""
        eta, step = self.logits(beta), 1e-4
        above = _derivatives(eta + step, direct, total, self.sensitivity, self.specificity)[2]
        below = _derivatives(eta - step, direct, total, self.sensitivity, self.specificity)[2]
        bend: Array = (above - below) / (2 * step)
        return bend

    def _leverage(self, inverse: Array) -> Array:
        """Variance of each cell's logit."""
        own = np.diag(inverse)[: self.groups]
        mixed = inverse[: self.groups, self.groups :] @ self.basis.T
        smooth = np.sum((self.basis @ inverse[self.groups :, self.groups :]) * self.basis, axis=1)
        leverage: Array = (
            own[self.group_of_cell]
            + 2 * mixed[self.group_of_cell, self.age_of_cell]
            + smooth[self.age_of_cell]
        )
        return leverage

    def _penalty(self, smoothness: Array) -> Array:
        penalty = RIDGE * np.eye(self.groups + self.basis.shape[1])
        penalty[self.groups :, self.groups :] += self.cost(smoothness)
        return penalty

    def _likelihood(self, beta: Array, direct: Array, total: Array) -> tuple[float, Array, Array]:
        eta = self.logits(beta)
        return _derivatives(eta, direct, total, self.sensitivity, self.specificity)

    def _gather(self, score: Array) -> Array:
        """Transposed model matrix times a column of cells."""
        by_age = np.bincount(self.age_of_cell, score, self.ages.size)
        return np.concatenate([np.bincount(self.group_of_cell, score, self.groups), self.basis.T @ by_age])

    def _cross(self, weight: Array) -> Array:
        """Transposed model matrix times weights times model matrix, through the distinct ages only."""
        ages, groups = self.ages.size, self.groups
        table = np.bincount(self.group_of_cell * ages + self.age_of_cell, weight, groups * ages)
        table = table.reshape(groups, ages)
        mixed = table @ self.basis
        smooth = self.basis.T @ (table.sum(axis=0)[:, None] * self.basis)
        return np.block([[np.diag(table.sum(axis=1)), mixed], [mixed.T, smooth]])


def prepare_curve(cells: Cells, basis: int, places: int) -> CurveDesign:
    """Arrange cells for a spline with so many functions, its smoothness differing about so many places."""
    ages, age_of_cell = np.unique(cells.age_years, return_inverse=True)
    spline = equal_spline(float(ages[0]), float(ages[-1]), basis)
    full = spline.basis(ages)
    cases = np.bincount(age_of_cell, cells.total, ages.size)
    within = null_space((cases @ full / cases.sum())[None, :])
    costs = within.T @ spline.curvature_costs(places) @ within
    share = (cells.direct.sum() + 0.5) / (cells.total.sum() + 1)
    centre = float(np.log(share / (1 - share)))
    groups = len(cells.labels)
    return CurveDesign(
        ages=ages,
        age_of_cell=age_of_cell.astype(np.int64),
        group_of_cell=cells.group,
        groups=groups,
        spline=spline,
        within=within,
        basis=full @ within,
        costs=costs,
        curved=np.linalg.eigh(costs.sum(axis=0))[1][:, 1:],
        sensitivity=cells.sensitivity,
        specificity=cells.specificity,
        centre=centre,
        start=np.concatenate([np.full(groups, centre), np.zeros(basis - 1)]),
        smoothness=np.ones(places),
    )


def share_by_mix(logit: Array, intercepts: Array, mix: Array) -> Array:
    """Standardised share: hospitals' shares at a common smooth logit, averaged by fixed weights.

    Parameters
    ----------
    logit : array, shape (..., ages)
        The part that hospitals share.
    intercepts : array, shape (..., hospitals)
        With the same leading dimensions.
    mix : array, shape (hospitals,) or (ages, hospitals)
        Weights that add up to 1.
    """
    share = np.zeros(logit.shape)
    for group in range(intercepts.shape[-1]):
        weight = mix[..., group]
        if np.any(weight != 0):
            share += weight * expit(logit + intercepts[..., group, None])
    return share


def _ratios(eta: Array, sensitivity: Array, specificity: Array) -> tuple[Array, Array, Array, Array]:
    """Probability of being seen as direct, of not, and the logit slopes of their logs (second negated)."""
    share, rest = expit(eta), expit(-eta)
    gain = sensitivity + specificity - 1
    seen = (1 - specificity) + gain * share
    unseen = (1 - sensitivity) + gain * rest
    slope = gain * share * rest
    with np.errstate(divide="ignore", invalid="ignore"):
        first = np.where(seen > 0, slope / seen, rest)
        second = np.where(unseen > 0, slope / unseen, share)
    return seen, unseen, first, second


def _derivatives(
    eta: Array, direct: Array, total: Array, sensitivity: Array, specificity: Array
) -> tuple[float, Array, Array]:
    """Log-likelihood without its binomial constant, its score and its expected information by the logit.

    Expected, because the observed information can be negative when types are seen with error; the two are the
    same when they are not.
    """
    seen, unseen, first, second = _ratios(eta, sensitivity, specificity)
    rest = total - direct
    tiny = np.finfo(np.float64).tiny
    loglik = float(np.sum(xlogy(direct, np.maximum(seen, tiny)) + xlogy(rest, np.maximum(unseen, tiny))))
    score = direct * first - rest * second
    return loglik, score, total * first * second
