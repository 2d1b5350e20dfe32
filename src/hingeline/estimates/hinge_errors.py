"""A fit at its turns comes in; covariance matrices of its coefficients come out, naive and robust to
clustering.

Naive: the inverse of the expected information. Robust: the sandwich with the scores added up by patient
(Liang & Zeger, Biometrika 1986;73:13), without a correction for the number of patients. Both are given the
turns; what the turns add is in the bootstrap over patients.
"""

from __future__ import annotations

import numpy as np

from hingeline.estimates.hinge_design import HingeDesign
from hingeline.estimates.hinge_fits import Found
from hingeline.estimates.hinge_newton import likelihood, slope_penalty
from hingeline.estimates.hinge_rows import DECADE, Floats, Rows


def row_scores(design: HingeDesign, rows: Rows, eta_by_cell: Floats) -> tuple[Floats, Floats]:
    """Score of each row for its linear predictor, and the sum of its groins' squared scores."""
    cells = design.cells
    eta = eta_by_cell[design.cell_of_row]
    if cells.family == "poisson":
        excess = rows.direct - rows.total * np.exp(eta)
        return excess, excess * excess
    p = 1 / (1 + np.exp(-np.clip(eta, -700, 700)))
    a, b = cells.false_direct[design.cell_of_row], cells.gain[design.cell_of_row]
    seen = np.clip(a + b * p, 1e-300, 1.0)
    unseen = np.maximum(1 - seen, 1e-300)
    slope = b * p * (1 - p)
    # p(1 − p)/p is written out so that a share near 0 or 1 loses no digits
    direct = np.where(a == 0, 1 - p, slope / seen)
    other = np.where((a == 0) & (b == 1), p, slope / unseen)
    others = rows.total - rows.direct
    score: Floats = rows.direct * direct - others * other
    squared: Floats = rows.direct * direct**2 + others * other**2
    return score, squared


def covariances(
    design: HingeDesign,
    rows: Rows,
    y: Floats,
    n: Floats,
    settled: Floats,
    found: Found,
    theta: Floats,
    *,
    penalised: bool,
) -> tuple[Floats, Floats]:
    """Naive and robust covariance (G + 1 + k square) of coefficients per year with intercepts at age 0.

    Parameters
    ----------
    theta : (q + k,)
        Coefficients on the solvers' scale at which to take them; hospitals whose intercept is settled get
        nan.
    penalised : bool
        Whether the information takes in the curvature of the penalty.
    """
    cells = design.cells
    q, k = cells.fixed.shape[1], found.tau.size
    columns = np.concatenate([cells.fixed, np.maximum(cells.decades[:, None] - found.tau, 0)], axis=1)
    eta = columns @ theta
    _, _, info = likelihood(cells, y, n, eta[None, :])
    matrix = (columns * info[0][:, None]).T @ columns
    if penalised:
        matrix = matrix + slope_penalty(theta[None, :], q)[2][0]
    kept = np.concatenate([settled == 0, np.ones(1 + k, dtype=bool)])
    inverse = np.full(matrix.shape, np.nan)
    scale = np.sqrt(np.maximum(np.diagonal(matrix), 1e-300))
    inner = (matrix / np.outer(scale, scale))[np.ix_(kept, kept)]
    inverse[np.ix_(kept, kept)] = np.linalg.pinv(inner, rcond=1e-12, hermitian=True)
    inverse /= np.outer(scale, scale)
    meat = _meat(design, rows, eta, columns, settled)
    robust = np.full(matrix.shape, np.nan)
    part = inverse[np.ix_(kept, kept)]
    robust[np.ix_(kept, kept)] = part @ meat[np.ix_(kept, kept)] @ part
    change = _to_natural(cells.n_groups, k, cells.centre_years)
    return _moved(inverse, change), _moved(robust, change)


def _meat(design: HingeDesign, rows: Rows, eta: Floats, columns: Floats, settled: Floats) -> Floats:
    """Σ over patients of the outer product of their scores."""
    score, squared = row_scores(design, rows, eta)
    live = (settled == 0)[rows.group]
    if rows.clusters is None:
        weight = np.where(live, squared * rows.weights, 0.0)
        by_cell = design.by_cell(weight)
        crossed: Floats = (columns * by_cell[:, None]).T @ columns
        return crossed
    by_row = np.where(live, score, 0.0)[:, None] * columns[design.cell_of_row]
    size = int(rows.clusters.max()) + 1
    sums = np.zeros((size, columns.shape[1]))
    np.add.at(sums, rows.clusters, by_row)
    weights = np.zeros(size)
    weights[rows.clusters] = rows.weights
    meat: Floats = (sums * weights[:, None]).T @ sums
    return meat


def _to_natural(groups: int, k: int, centre_years: float) -> Floats:
    """Matrix from the solvers' coefficients to those per year with intercepts at age 0."""
    change = np.eye(groups + 1 + k)
    change[groups:, groups:] /= DECADE
    change[:groups, groups] = -centre_years / DECADE
    return change


def _moved(matrix: Floats, change: Floats) -> Floats:
    """``change @ matrix @ change.T`` in which a hospital without an intercept spoils no other."""
    lost = np.isnan(np.diagonal(matrix))
    moved: Floats = change @ np.where(np.isnan(matrix), 0.0, matrix) @ change.T
    moved[lost, :] = np.nan
    moved[:, lost] = np.nan
    return moved
