"""Checked rows and their design come in; a whole `HingeFit` comes out, with its proof, intervals and
errors."""

from __future__ import annotations

import numpy as np
from scipy.special import gammaln

from hingeline.errors import HingelineError
from hingeline.estimates.hinge_certify import Certificate, certify
from hingeline.estimates.hinge_design import HingeDesign, natural
from hingeline.estimates.hinge_errors import covariances
from hingeline.estimates.hinge_fit import HingeFit, Turn, slope_limits
from hingeline.estimates.hinge_fits import Found, fit_shrunk
from hingeline.estimates.hinge_profile import Span, spans
from hingeline.estimates.hinge_rows import DECADE, Floats, Rows, counts_by_cell
from hingeline.estimates.parallel import Progress


def fit_design(
    rows: Rows,
    design: HingeDesign,
    *,
    prove: bool,
    level: float,
    intervals: bool,
    calibration: int,
    seed: int,
    workers: int | None,
    progress: Progress | None,
    known: tuple[Found, Certificate] | None = None,
) -> HingeFit:
    """Fit rows that are already checked and collapsed (see `hinge.fit_hinges`).

    ``known`` is a maximum that was proved before, with its proof.
    """
    cells = design.cells
    y_all, n_all = counts_by_cell(rows, design.cell_of_row, design.n_cells)
    found, settled, y, n = design.find(y_all, n_all)
    if found is None:
        raise HingelineError(
            "no hospital has both directs and others",
            "direct, total",
            "a turn of the share needs some of each; describe these records by proportions instead",
        )
    proof = None
    if known is not None:
        found, proof = known
    elif prove:
        found, proof = certify(cells, y, n, found)
    naive, robust = covariances(design, rows, y, n, settled, found, found.theta, penalised=False)
    told: tuple[Span, ...] = ()
    if intervals and design.turns:
        told = spans(
            design,
            y,
            n,
            settled,
            found,
            n_all,
            level=level,
            calibration=calibration,
            alike=likeness(rows, naive, robust, design.turns),
            seed=seed,
            workers=workers,
            progress=progress,
        )
    shrunk = fit_shrunk(cells, y, n, found)
    _, shrunk_robust = covariances(design, rows, y, n, settled, found, shrunk.theta[0], penalised=True)
    coefficients = natural(cells, found.tau, found.theta, settled)
    penalised = natural(cells, found.tau, shrunk.theta[0], settled)
    loglik = found.loglik + _constant(rows)
    patients = count_patients(rows)
    seen = cells.age_years[n_all > 0]
    return HingeFit(
        _turns(cells.to_years(found.tau), coefficients[cells.n_groups + 1 :], told, level),
        proof,
        cells.group_names,
        coefficients,
        penalised,
        naive,
        robust,
        slope_limits(penalised, shrunk_robust, cells.n_groups, level),
        loglik,
        bic(loglik, patients, cells.n_groups, design.turns),
        patients,
        calibration if intervals else 0,
        design,
        rows.family,
        rows.unit,
        level,
        np.array([seen.min(), seen.max()]),
        float(y_all.sum()),
        float(n_all.sum()),
    )


def likeness(rows: Rows, naive: Floats, robust: Floats, turns: int) -> Floats:
    """How many times more a change of slope varies over patients than over groins taken as independent, (k,).

    A likelihood ratio of groins is too high by this factor (Rotnitzky & Jewell, Biometrika 1990;77:485); cut-offs
    simulated from independent groins are raised by it. Never below 1, and 1 where no patients were given.
    """
    if rows.clusters is None or turns == 0:
        return np.ones(turns)
    ratio = (np.diag(robust) / np.diag(naive))[-turns:]
    return np.where(np.isfinite(ratio), np.maximum(ratio, 1.0), 1.0)


def bic(loglik: float, patients: float, hospitals: int, turns: int) -> float:
    """Schwarz's criterion (Ann Stat 1978;6:461) with n = patients, every turn's age counted as a
    parameter."""
    return float(-2 * loglik + np.log(patients) * (hospitals + 1 + 2 * turns))


def count_patients(rows: Rows) -> float:
    """Patients when patterns were given, else groins; for rates, events (Volinsky & Raftery, Biometrics
    2000;56:256)."""
    if rows.clusters is not None:
        weights = np.zeros(int(rows.clusters.max()) + 1)
        weights[rows.clusters] = rows.weights
        return float(weights.sum())
    counted = rows.direct if rows.family == "poisson" else rows.total
    return float((counted * rows.weights).sum())


def _constant(rows: Rows) -> float:
    """What the rows add to the log-likelihood whatever the fit: binomial coefficients, or Poisson's."""
    y, n = rows.direct, rows.total
    if rows.family == "poisson":
        each = y * np.log(np.where(n > 0, n, 1.0)) - gammaln(y + 1)
    else:
        each = gammaln(n + 1) - gammaln(y + 1) - gammaln(n - y + 1)
    return float((each * rows.weights).sum())


def _turns(ages: Floats, changes: Floats, told: tuple[Span, ...], level: float) -> tuple[Turn, ...]:
    made = []
    for j, (age, change) in enumerate(zip(ages, changes, strict=True)):
        sign = 1 if change > 0 else -1
        if told:
            span = told[j]
            hull = (span.stretches[0][0], span.stretches[-1][1])
            made.append(
                Turn(
                    j + 1,
                    float(age),
                    sign,
                    hull,
                    span.stretches,
                    span.identified,
                    span.ratio_without,
                    span.cutoff,
                    span.cutoff_without,
                    level,
                )
            )
        else:
            nan = float("nan")
            made.append(Turn(j + 1, float(age), sign, (nan, nan), (), None, nan, nan, nan, level))
    return tuple(made)


def found_of(fit: HingeFit) -> Found:
    """The fit on the solvers' scale, for those who go on from it."""
    cells = fit.design.cells
    theta = fit.coefficients.copy()
    groups = cells.n_groups
    theta[:groups] += theta[groups] * cells.centre_years
    theta[groups:] *= DECADE
    theta[:groups] = np.where(np.isfinite(theta[:groups]), theta[:groups], 0.0)
    return Found(cells.to_decades(fit.taus), theta, fit.loglik)
