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

from hingeline.errors import HingelineError
from hingeline.estimates.hinge_certify import Certificate
from hingeline.estimates.hinge_choose import TurnChoice, choose_turns
from hingeline.estimates.hinge_design import (
    HingeDesign,
    Refit,
    design_of,
    linear_predictor,
    prepare_hinges,
    share,
)
from hingeline.estimates.hinge_fit import HingeFit, Turn
from hingeline.estimates.hinge_make import fit_design
from hingeline.estimates.hinge_rows import check_rows
from hingeline.estimates.parallel import Progress

__all__ = [
    "Certificate",
    "HingeDesign",
    "HingeFit",
    "Refit",
    "Turn",
    "TurnChoice",
    "choose_turns",
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
