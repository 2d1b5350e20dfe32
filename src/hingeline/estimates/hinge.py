"""Ages, directs and totals come in as plain arrays; the ages at which the direct share turns come out.

logit p(age) = α_hospital + β₀·age + Σ γⱼ·max(age − τⱼ, 0). Where the turns are, how sure and how many comes
from the unpenalised profile likelihood, at its global maximum and with a proof of it; slopes and shares given
the turns carry a penalty that knows nothing of the turns (Greenland & Mansournia, Stat Med 2015;34:3133).
Segmented regression is of Quandt (J Am Stat Assoc 1958;53:873) and Hinkley (J Am Stat Assoc 1971;66:736);
screen, climb and certificate are ours.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaln

from hingeline.errors import HingelineError
from hingeline.estimates.hinge_certify import Certificate, certify
from hingeline.estimates.hinge_design import (
    HingeDesign,
    Refit,
    design_of,
    linear_predictor,
    natural,
    prepare_hinges,
    share,
)
from hingeline.estimates.hinge_errors import covariances
from hingeline.estimates.hinge_fit import HingeFit, Turn, slope_limits
from hingeline.estimates.hinge_profile import Span, spans
from hingeline.estimates.hinge_rows import Floats, Rows, check_rows, counts_by_cell
from hingeline.estimates.hinge_search import Found, fit_at
from hingeline.estimates.parallel import Progress

__all__ = [
    "Certificate",
    "HingeDesign",
    "HingeFit",
    "Refit",
    "Turn",
    "fit_hinges",
    "linear_predictor",
    "prepare_hinges",
    "share",
]


def fit_hinges(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    *,
    turns: int = 1,
    groups: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    apart_years: float = 2,
    family: str = "binomial",
    unit: str = "years",
    certify: bool = True,
    level: float = 0.95,
    intervals: bool = True,
    calibration: int = 199,
    seed: int = 20,
    workers: int | None = None,
    progress: Progress | None = None,
) -> HingeFit:
    """Fit the direct share (or a rate) by age with hinges at the ages that maximise the likelihood.

    Parameters
    ----------
    age : (rows,)
        In ``unit``. A row is a bin, or one cell of a patient pattern.
    direct, total : (rows,) whole numbers
        Directs among groins; for ``family="poisson"`` events among person-years (any number above 0).
    turns : int
        0 to 3.
    groups : (rows,), optional
        Hospitals, each with an intercept of its own.
    clusters : (rows,), optional
        Patient patterns, whose rows are not independent: for robust errors, and to count patients in the BIC.
    weights : (rows,) whole numbers, optional
        How many patients have the row's pattern; the row counts that many times.
    sensitivity, specificity : float or (rows,)
        Of the typing: P(seen direct) = 1 − sp + (se + sp − 1)·p(age).
    apart_years : float
        Least distance between turns, and from either end of the ages.
    unit : "years", "months" or "days"
        Of ``age`` alone; all that comes out is in years.
    certify : bool
        Whether to prove the maximum global (branch and bound).
    level : float
        Of the intervals.
    intervals : bool
        Whether to compute the turns' intervals (the slow part).
    calibration : int
        Parametric bootstrap replicates for each cut-off; 0 takes χ²(1), which is too low, and the result says
        so.
    seed, workers, progress
        Of the calibration; the same bytes on any number of cores.

    Returns
    -------
    HingeFit

    Raises
    ------
    HingelineError
        For rows that cannot be (see `hinge_rows.check_rows`), too few ages for the turns, no directs at all
        or nothing but directs, and impossible options.
    """
    if not 0 < level < 1:
        raise HingelineError(f"level {level}", "level", "give a number between 0 and 1, such as 0.95")
    if not isinstance(calibration, int | np.integer) or calibration < 0:
        raise HingelineError(f"calibration {calibration}", "calibration", "give a number of replicates, or 0")
    rows = check_rows(
        age,
        direct,
        total,
        groups=groups,
        clusters=clusters,
        weights=weights,
        sensitivity=sensitivity,
        specificity=specificity,
        family=family,
        unit=unit,
    )
    design = design_of(rows, apart_years, turns)
    return fit_design(
        rows,
        design,
        prove=certify,
        level=level,
        intervals=intervals,
        calibration=int(calibration),
        seed=seed,
        workers=workers,
        progress=progress,
    )


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
) -> HingeFit:
    """Fit rows that are already checked and collapsed (see `fit_hinges`)."""
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
    if prove:
        found, proof = certify(cells, y, n, found)
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
            seed=seed,
            workers=workers,
            progress=progress,
        )
    shrunk = fit_at(
        cells, y, n, found.tau[None, :], start=np.clip(found.theta, -20, 20)[None, :], penalised=True
    )
    naive, robust = covariances(design, rows, y, n, settled, found, found.theta, penalised=False)
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
    theta[groups:] *= 10
    theta[:groups] = np.where(np.isfinite(theta[:groups]), theta[:groups], 0.0)
    return Found(cells.to_decades(fit.taus), theta, fit.loglik)
