"""Ages and totals come in once; a design comes out that refits any counts on the same cells in milliseconds.

This is the fast path of the bootstrap: the cells are checked and collapsed once, a replicate brings only its
counts. A design holds arrays and nothing else, so it travels to other processes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hingeline.errors import HingelineError
from hingeline.estimates.hinge_certify import certify
from hingeline.estimates.hinge_fits import Found, fit_at, fit_shrunk
from hingeline.estimates.hinge_newton import without_information
from hingeline.estimates.hinge_rows import DECADE, Cells, Floats, Ints, Rows, add_up, check_rows, collapse
from hingeline.estimates.hinge_search import search


@dataclass(frozen=True)
class Refit:
    """Turns and coefficients of one set of counts; what a bootstrap replicate keeps.

    Attributes
    ----------
    turns : (k,) float
        Ages in years.
    intercepts : (G,) float
        Of each hospital at age 0, on the logit (or log rate); −inf without directs, nan without cases.
    slopes : (k + 1,) float
        Per year: of the first stretch, then the change at each turn. Unpenalised, as the intercepts are.
    loglik : float
        Unpenalised, without the binomial coefficients (which no comparison needs).
    coefficients : (G + 1 + k,) float
        Intercepts and slopes given the turns under the log-F(1, 1) penalty: use these for shares.
    """

    turns: Floats
    intercepts: Floats
    slopes: Floats
    loglik: float
    coefficients: Floats


@dataclass(frozen=True)
class HingeDesign:
    """Cells checked and collapsed, ready for any counts.

    Attributes
    ----------
    cells : Cells
    turns : int
    cell_of_row : (rows,) int
        The cell that each input row went to; counts by cell are ``numpy.bincount(cell_of_row, x, n_cells)``.
    total_by_cell : (N,) float
        The totals the design was made from.
    """

    cells: Cells
    turns: int
    cell_of_row: Ints
    total_by_cell: Floats

    @property
    def n_cells(self) -> int:
        """How many cells there are."""
        return int(self.cells.age_years.size)

    @property
    def age_by_cell(self) -> Floats:
        """Age of each cell in years (N,)."""
        return self.cells.age_years

    @property
    def group_by_cell(self) -> Ints:
        """Hospital code of each cell (N,), an index into ``groups``."""
        return self.cells.group

    @property
    def groups(self) -> tuple[object, ...]:
        """Names of the hospitals, in the order of the intercepts."""
        return self.cells.group_names

    def by_cell(self, rows: ArrayLike) -> Floats:
        """Add values of input rows up by cell."""
        return add_up(self.cell_of_row, np.asarray(rows, dtype=np.float64), self.n_cells)

    def refit(
        self, direct_by_cell: ArrayLike, total_by_cell: ArrayLike, *, also: ArrayLike | None = None
    ) -> Refit:
        """Find the turns of new counts by screen, polish and climb; no certificate.

        Parameters
        ----------
        direct_by_cell, total_by_cell : (N,)
        also : (k,) or (C, k), optional
            Turns in years to try beside the screened ones, such as those of the original fit.

        Returns
        -------
        Refit
            With nan turns when no hospital has both directs and others.
        """
        found, settled, y, n = self.find(direct_by_cell, total_by_cell, also=also)
        if found is None:
            nothing = np.full(self.turns, np.nan)
            slopes = np.zeros(self.turns + 1)
            return Refit(nothing, settled, slopes, 0.0, np.concatenate([settled, slopes]))
        plain = natural(self.cells, found.tau, found.theta, settled)
        shrunk = fit_shrunk(self.cells, y, n, found)
        groups = self.cells.n_groups
        return Refit(
            self.cells.to_years(found.tau),
            plain[:groups],
            plain[groups:],
            found.loglik,
            natural(self.cells, found.tau, shrunk.theta[0], settled),
        )

    def certify(self, direct_by_cell: ArrayLike, total_by_cell: ArrayLike, refit: Refit) -> float:
        """How far a refit's log-likelihood may lie below the global maximum: the audit of a replicate.

        Branch and bound, so exact to 1e-6: 0 (or less than 1e-6) when the refit is the maximum.
        """
        y = np.asarray(direct_by_cell, dtype=np.float64)
        n = np.asarray(total_by_cell, dtype=np.float64)
        y, n, _ = without_information(self.cells, y, n)
        if not y.any() or self.turns == 0:
            return 0.0
        tau = self.cells.to_decades(refit.turns)
        held = fit_at(self.cells, y, n, tau[None, :])
        start = Found(tau, held.theta[0], refit.loglik)
        _, proof = certify(self.cells, y, n, start)
        return max(proof.bound - refit.loglik, 0.0)

    def find(
        self,
        direct_by_cell: ArrayLike,
        total_by_cell: ArrayLike,
        *,
        also: ArrayLike | None = None,
        low: Floats | None = None,
        high: Floats | None = None,
    ) -> tuple[Found | None, Floats, Floats, Floats]:
        """The unpenalised maximum, settled intercepts, and the counts it was found on (own scale of the
        solvers)."""
        y = np.asarray(direct_by_cell, dtype=np.float64)
        n = np.asarray(total_by_cell, dtype=np.float64)
        y, n, settled = without_information(self.cells, y, n)
        if not y.any():
            return None, settled, y, n
        more = None
        if also is not None and self.turns:
            more = self.cells.to_decades(np.asarray(also, dtype=np.float64).reshape(-1, self.turns))
        return search(self.cells, y, n, self.turns, low=low, high=high, also=more), settled, y, n


def natural(cells: Cells, tau: Floats, theta: Floats, settled: Floats) -> Floats:
    """Coefficients (G + 1 + k,) per year with intercepts at age 0, from the solvers' scale."""
    groups = cells.n_groups
    slopes = theta[groups:] / DECADE
    intercepts = theta[:groups] - slopes[0] * cells.centre_years
    intercepts = np.where(settled == 0, intercepts, settled)
    return np.concatenate([intercepts, slopes])


def prepare_hinges(
    age: ArrayLike,
    total: ArrayLike,
    *,
    turns: int,
    groups: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    apart_years: float = 2,
    family: str = "binomial",
    unit: str = "years",
) -> HingeDesign:
    """Check and collapse rows once, for many refits (see `fit_hinges` for the arguments).

    Rows with total 0 keep a cell, so that ``cell_of_row`` maps every row; the ages that count are those with
    cases.
    """
    rows = check_rows(
        age,
        np.zeros(np.shape(np.asarray(age)) or (1,)),
        total,
        groups=groups,
        weights=weights,
        sensitivity=sensitivity,
        specificity=specificity,
        family=family,
        unit=unit,
    )
    return design_of(rows, apart_years, turns)


def design_of(rows: Rows, apart_years: float, turns: int) -> HingeDesign:
    """Make the design of rows that are already checked."""
    cells, cell_of_row = collapse(rows, apart_years, turns)
    total = add_up(cell_of_row, rows.total * rows.weights, cells.age_years.size)
    return HingeDesign(cells, int(turns), cell_of_row, total)


def linear_predictor(coefficients: ArrayLike, turns: ArrayLike, age: ArrayLike) -> Floats:
    """Linear predictor (..., A, G) at ages in years, for coefficients (..., G + 1 + k) and turns (..., k)."""
    theta, tau = np.asarray(coefficients, dtype=np.float64), np.asarray(turns, dtype=np.float64)
    years = np.atleast_1d(np.asarray(age, dtype=np.float64))
    k = tau.shape[-1]
    groups = theta.shape[-1] - 1 - k
    if groups < 1:
        raise HingelineError(
            "fewer coefficients than turns need", "coefficients", "give those of the same fit"
        )
    bent = theta[..., groups, None] * years
    with np.errstate(invalid="ignore"):
        for j in range(k):
            bent = bent + theta[..., groups + 1 + j, None] * np.maximum(years - tau[..., j, None], 0)
        eta: Floats = bent[..., :, None] + theta[..., None, :groups]
    return eta


def share(
    coefs: ArrayLike,
    taus: ArrayLike,
    age: ArrayLike,
    group_weights: ArrayLike | None = None,
    family: str = "binomial",
) -> Floats:
    """Direct share (or rate a person-year) at ages, standardised to a fixed mix of hospitals: Σ w_h ·
    expit(α_h + …).

    Parameters
    ----------
    coefs : (..., G + 1 + k)
        Intercepts at age 0, slope of the first stretch, changes of slope; per year. Leading axes are
        replicates.
    taus : (..., k)
        Turns in years.
    age : (A,)
        Years.
    group_weights : (G,) or (A, G), optional
        The mix; equal shares when left out. Hospitals without an intercept (nan) leave the mix.

    Returns
    -------
    (..., A) float
    """
    eta = linear_predictor(coefs, taus, age)
    if family == "poisson":
        values = np.exp(eta)
    else:
        small = np.exp(-np.abs(eta))
        values = np.where(eta >= 0, 1, small) / (1 + small)
    weights = np.ones(eta.shape[-1]) if group_weights is None else np.asarray(group_weights, dtype=np.float64)
    weights = np.where(np.isnan(eta), 0.0, np.broadcast_to(weights, eta.shape))
    whole = weights.sum(-1)
    mixed = np.where(weights > 0, weights * values, 0.0).sum(-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        result: Floats = mixed / whole
    return result
