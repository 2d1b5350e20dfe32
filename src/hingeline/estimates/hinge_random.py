"""Ages, directs and totals by hospital come in; the direct share by age with random hospital intercepts comes out.

logit p(age) = μ + τ·u_hospital + β₀·age + Σ γⱼ·max(age − turnⱼ, 0), u ~ N(0, 1): a binomial–normal model given the
turns, unpenalised. The integral over each hospital is by adaptive Gauss–Hermite quadrature (Pinheiro & Bates, J Comput
Graph Stat 1995;4:12); intercept-only it is the pooling of Hamza, van Houwelingen & Stijnen (J Clin Epidemiol
2008;61:41).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike
from scipy.optimize import brentq
from scipy.special import expit, gammaln, ndtri

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.hinge_random_solve import (
    climb_from_flat,
    columns_of,
    covariance_of,
    limits_of_tau,
    make_model,
    modes_of,
    point_at,
    with_nodes,
)
from hingeline.estimates.hinge_rows import (
    DECADE,
    Floats,
    Rows,
    add_up,
    check_rows,
    collapse,
    counts_by_cell,
)

FEWEST_NODES: Final = 15
MOST_NODES: Final = 101
PROFILE_NODES: Final = 31


@dataclass(frozen=True, eq=False)
class RandomIntercepts:
    """The direct share by age with hospital intercepts drawn from a normal distribution. All ages are in years.

    Attributes
    ----------
    groups : tuple
        Hospitals.
    turns : (k,) float
        As given.
    coefficients : (2 + k,) float
        Mean hospital intercept at age 0 on the logit, slope of the first stretch a year, change at each turn; the
        intercept alone when there is only one age.
    covariance : (2 + k, 2 + k) float
        By the observed information, the uncertainty of τ included; given the turns.
    tau : float
        Standard deviation of the hospital intercepts, on the logit.
    tau_limits : (float, float)
        Profile likelihood; 0 when no spread at all cannot be excluded, inf when there is no upper limit below 50.
    loglik : float
        Binomial coefficients of the rows as given included.
    hospital_intercepts : (G,) float
        At age 0, shrunken: the mode of each given its counts. The mean for a hospital without cases.
    hospital_directs, hospital_totals : (G,) float
    ages : (2,) float
        Youngest and oldest age with cases.
    nodes : int
    level : float
    """

    groups: tuple[Any, ...]
    turns: Floats
    coefficients: Floats
    covariance: Floats
    tau: float
    tau_limits: tuple[float, float]
    loglik: float
    hospital_intercepts: Floats
    hospital_directs: Floats
    hospital_totals: Floats
    ages: Floats
    nodes: int
    level: float

    @property
    def intercept(self) -> float:
        """Mean hospital intercept, on the logit at age 0."""
        return float(self.coefficients[0])

    @property
    def standard_errors(self) -> Floats:
        """Of ``coefficients``."""
        return np.sqrt(np.diagonal(self.covariance))

    @property
    def slopes(self) -> Floats:
        """Slope of each stretch, logits a year (k + 1,)."""
        return np.cumsum(self.coefficients[1:])

    @property
    def slope_errors(self) -> Floats:
        """Standard error of each stretch's slope, given the turns (k + 1,)."""
        sums = np.tril(np.ones((self.coefficients.size - 1,) * 2))
        errors: Floats = np.sqrt(np.diagonal(sums @ self.covariance[1:, 1:] @ sums.T))
        return errors

    @property
    def limits(self) -> Floats:
        """Wald limits of ``coefficients`` at ``level`` (2 + k, 2)."""
        half = float(ndtri(0.5 + self.level / 2)) * self.standard_errors
        return np.column_stack([self.coefficients - half, self.coefficients + half])

    @property
    def odds_per_year(self) -> Floats:
        """Factor on the odds each year within a hospital, by stretch."""
        return np.exp(self.slopes)

    def median_logit(self, age: ArrayLike) -> Floats:
        """Logit of the share in a hospital at the median, at ages in years (A,)."""
        years = np.atleast_1d(np.asarray(age, dtype=np.float64))
        logit: Floats = columns_of(years, self.turns)[:, : self.coefficients.size] @ self.coefficients
        return logit

    def share_at_median(self, age: ArrayLike) -> Floats:
        """Direct share in a hospital at the median of hospitals, at ages in years (A,)."""
        share: Floats = expit(self.median_logit(age))
        return share

    def predict(self, age: ArrayLike) -> Floats:
        """Direct share averaged over the population of hospitals, at ages in years (A,).

        The integral over the hospital intercepts is by the trapezoid rule, which converges exponentially here
        (Trefethen & Weideman, SIAM Rev 2014;56:385).
        """
        return _averaged(self.median_logit(age), self.tau)

    def crossing(self, threshold: float) -> float:
        """First age at which the share averaged over hospitals is at a threshold (0 to 1).

        inf where it is not reached by the oldest age, −inf where it is there already at the youngest.
        """
        if not 0 < threshold < 1:
            raise HingelineError(f"threshold {threshold}", "threshold", "give a share between 0 and 1")
        reach = abs(math.log(threshold / (1 - threshold))) + 12 * self.tau + 1
        # The averaged share grows with the median logit, so one root serves all ages; the rest is straight lines.
        wanted = brentq(
            lambda logit: float(_averaged(np.array([logit]), self.tau)[0]) - threshold,
            -reach,
            reach,
            xtol=1e-12,
        )
        ages = np.concatenate([self.ages[:1], self.turns, self.ages[1:]])
        logits = self.median_logit(ages)
        if logits[0] >= wanted:
            return -math.inf
        there = np.flatnonzero(logits >= wanted)
        if there.size == 0:
            return math.inf
        end = int(there[0])
        part = (wanted - logits[end - 1]) / (logits[end] - logits[end - 1])
        return float(ages[end - 1] + part * (ages[end] - ages[end - 1]))

    def to_frame(self) -> pa.Table:
        """One row a quantity: mean intercept, slope of the first stretch, change at each turn, τ."""
        names = ["mean intercept", "slope", *["change of slope"] * self.turns.size]
        size = self.coefficients.size
        return pa.table(
            {
                "quantity": [*names[:size], "standard deviation of hospitals"],
                "turn_age": pa.array([*[None, None, *self.turns.tolist()][:size], None], pa.float64()),
                "estimate": [*self.coefficients.tolist(), self.tau],
                "standard_error": pa.array([*self.standard_errors.tolist(), None], pa.float64()),
                "low": [*self.limits[:, 0].tolist(), self.tau_limits[0]],
                "high": [*self.limits[:, 1].tolist(), self.tau_limits[1]],
            }
        )

    def hospitals_to_frame(self) -> pa.Table:
        """One row a hospital: directs, cases and its shrunken intercept at age 0."""
        return pa.table(
            {
                "hospital": pa.array([str(name) for name in self.groups]),
                "direct": self.hospital_directs,
                "cases": self.hospital_totals,
                "intercept": self.hospital_intercepts,
            }
        )

    def __str__(self) -> str:
        ends = np.concatenate([self.ages[:1], self.turns, self.ages[1:]])
        middles = self.median_logit((ends[1:] + ends[:-1]) / 2)
        points = 100 * self.slopes * _averaged(middles, self.tau, steep=True)[: self.slopes.size]
        half = float(ndtri(0.5 + self.level / 2)) * self.slope_errors
        low, high = np.exp(self.slopes - half), np.exp(self.slopes + half)
        climbs = [
            wording.climb(*(float(v) for v in told))
            for told in zip(self.odds_per_year, points, ends[:-1], ends[1:], low, high, strict=False)
        ]
        return wording.random_intercepts(
            int(np.count_nonzero(self.hospital_totals)),
            self.tau,
            self.tau_limits,
            self.level,
            round(float(self.hospital_directs.sum())),
            round(float(self.hospital_totals.sum())),
            climbs,
        )


def random_intercepts(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    turns: ArrayLike,
    *,
    groups: ArrayLike,
    weights: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    nodes: int = 15,
    level: float = 0.95,
    unit: str = "years",
) -> RandomIntercepts:
    """Fit the direct share by age, given the turns, with hospital intercepts drawn from a normal distribution.

    Parameters
    ----------
    age : (rows,)
        In ``unit``. With one single age in all rows there is no age part: the pooled share of the hospitals.
    direct, total : (rows,) whole numbers
        Directs among groins.
    turns : (k,)
        Ages in years at which the slope changes, ascending, whatever the unit; ``()`` for none.
    groups : (rows,)
        Hospitals.
    weights : (rows,) whole numbers, optional
        How many patients have the row's pattern; the row counts that many times.
    sensitivity, specificity : float or (rows,)
        Of the typing: P(seen direct) = 1 − sp + (se + sp − 1)·p(age).
    nodes : int
        Of the quadrature over each hospital, 15 to 101. A hospital with few directs or none whose neighbours have
        many is better served by 31 (its integrand is skew); the limits of τ never use fewer than that.
    level : float
        Of the intervals.
    unit : "years", "months" or "days"
        Of ``age`` alone; all that comes out is in years.

    Returns
    -------
    RandomIntercepts

    Raises
    ------
    HingelineError
        For rows that cannot be (see `hinge_rows.check_rows`), turns outside the ages or out of order, fewer than two
        hospitals with cases, no directs at all or nothing but directs, and slopes without a finite estimate (as
        when a stretch has no directs: nothing is penalised here).
    """
    if not 0 < level < 1:
        raise HingelineError(f"level {level}", "level", "give a number between 0 and 1, such as 0.95")
    if not isinstance(nodes, int | np.integer) or not FEWEST_NODES <= nodes <= MOST_NODES:
        raise HingelineError(
            f"nodes {nodes}", "nodes", f"give a whole number from {FEWEST_NODES} to {MOST_NODES}"
        )
    if groups is None:
        raise HingelineError("there are no hospitals", "groups", "give every row its hospital")
    rows = check_rows(
        age, direct, total, groups=groups, weights=weights, sensitivity=sensitivity, specificity=specificity, unit=unit
    )  # fmt: skip
    cells, cell_of_row = collapse(rows, 1.0, 0)
    y, n = counts_by_cell(rows, cell_of_row, cells.age_years.size)
    hospital_y, hospital_n = (add_up(cells.group, x, cells.n_groups) for x in (y, n))
    _check_counts(hospital_y, hospital_n)
    seen = cells.age_years[n > 0]
    ends = np.array([seen.min(), seen.max()])
    knots = _check_turns(turns, ends)
    model = make_model(cells, y, n, knots, int(nodes))
    theta = climb_from_flat(model)
    information = -point_at(model, theta, True).curvature
    covariance = covariance_of(information)
    loglik = point_at(model, theta).loglik
    tau = abs(float(theta[-1]))
    modes = np.zeros(cells.n_groups)
    modes[model.present] = tau * modes_of(model, theta[:-1] @ model.x.T, tau)[0]
    back = _to_age_zero(theta.size - 1, cells.centre_years)
    coefficients = back @ theta[:-1]
    return RandomIntercepts(
        groups=cells.group_names,
        turns=knots,
        coefficients=coefficients,
        covariance=back @ covariance @ back.T,
        tau=tau,
        tau_limits=limits_of_tau(with_nodes(model, max(int(nodes), PROFILE_NODES)), theta, level),
        loglik=loglik + _constants(rows),
        hospital_intercepts=coefficients[0] + modes,
        hospital_directs=hospital_y,
        hospital_totals=hospital_n,
        ages=ends,
        nodes=int(nodes),
        level=float(level),
    )


def _check_counts(direct: Floats, total: Floats) -> None:
    if np.count_nonzero(total) < 2:
        raise HingelineError(
            "fewer than two hospitals have cases", "groups", "random intercepts need two hospitals or more"
        )
    if direct.sum() == 0 or direct.sum() == total.sum():
        which = "there are no directs" if direct.sum() == 0 else "there is nothing but directs"
        raise HingelineError(which, "direct", "give counts in which both types occur")


def _check_turns(turns: ArrayLike, ends: Floats) -> Floats:
    try:
        knots = np.asarray(turns, dtype=np.float64)
    except (TypeError, ValueError):
        raise HingelineError("turns are not numeric", "turns", "give ages in years") from None
    if knots.ndim != 1 or not np.all(np.isfinite(knots)):
        raise HingelineError("turns are not a list of ages", "turns", "give ages in years, or () for none")
    if np.any(np.diff(knots) <= 0):
        raise HingelineError("turns are out of order", "turns", "give each turn once, the youngest first")
    if np.any((knots <= ends[0]) | (knots >= ends[1])):
        raise HingelineError(
            f"a turn lies outside the ages {ends[0]:g} to {ends[1]:g} years",
            "turns",
            "give turns between the youngest and the oldest age with cases, in years",
        )
    return knots


def _to_age_zero(size: int, centre_years: float) -> Floats:
    """Take coefficients per ten years from the centre to coefficients per year from age 0."""
    back = np.diag(np.r_[1.0, np.full(size - 1, 1 / DECADE)])
    if size > 1:
        back[0, 1] = -centre_years / DECADE
    return back


def _constants(rows: Rows) -> float:
    """Logs of the binomial coefficients of the rows as given."""
    y, n = rows.direct, rows.total
    return float(rows.weights @ (gammaln(n + 1) - gammaln(y + 1) - gammaln(n - y + 1)))


def _averaged(logits: Floats, tau: float, steep: bool = False) -> Floats:
    """Share (or its derivative in the logit) averaged over intercepts N(0, τ²) added to each logit."""
    # The poles of the logistic lie ±π/τ from the axis: a step of 0.5/τ leaves an error of e^(−2π²/0.5), below 1e-16.
    step = min(0.25, 0.5 / max(tau, 1e-9))
    u = np.arange(-9.0, 9.0 + step, step)
    density = np.exp(-(u**2) / 2)
    p = expit(logits[:, None] + tau * u[None, :])
    averaged: Floats = (p * (1 - p) if steep else p) @ (density / density.sum())
    return averaged
