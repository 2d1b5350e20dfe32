"""Repairs compared among patients alike: recurrence after high ligation, tissue repair and mesh.

Rows of patterns of patients come in: repair, days followed, outcome, covariates. Weights from a propensity make the
repairs' patients alike where each repair was done; risks by horizon, differences, ratios and verdicts go out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped, unused-ignore]

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.cells import open_unit
from hingeline.estimates.contrast_draw import arm_lines, redraw
from hingeline.estimates.contrast_hazard import hazards
from hingeline.estimates.contrast_overlap import common_support
from hingeline.estimates.contrast_propensity import Propensity, propensity, redundant, scale
from hingeline.estimates.contrast_result import Balance, Contrast
from hingeline.estimates.contrast_rows import Array, ContrastRows, Covariates, check_rows
from hingeline.estimates.contrast_tell import Told, tell_arms, tell_pairs
from hingeline.estimates.contrast_verdict import EValue, e_value, verdict_of
from hingeline.estimates.contrast_weights import (
    arm_weights,
    balance,
    checked_estimand,
    summarise_weights,
)
from hingeline.estimates.parallel import Progress
from hingeline.estimates.patterns import checked_seed
from hingeline.vocabulary import DAYS_PER_YEAR

__all__ = ["Balance", "Contrast", "EValue", "Propensity", "contrast", "e_value", "propensity", "verdict_of"]


def contrast(
    arm: ArrayLike,
    days: ArrayLike,
    outcome: ArrayLike,
    covariates: Covariates,
    n: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    *,
    reference: str | None = None,
    horizons_years: Sequence[float] = (1.0, 2.0, 5.0),
    estimand: str = "overlap",
    margin: float = 0.02,
    margin_by: str = "arm",
    replicates: int = 2000,
    seed: int = 1,
    level: float = 0.95,
    arms: Sequence[str] | None = None,
    names: Sequence[str] | None = None,
    ridge: float = 0.0,
    least_at_risk: int = 10,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Contrast:
    """Compare the risk of recurrence after several repairs.

    Parameters
    ----------
    arm : array_like, shape (rows,)
        Repair of the groins in the row: its name, or its place in ``arms``.
    days : array_like of int, shape (rows,)
        Days followed from operation to event, death or last sight.
    outcome : array_like of int, shape (rows,)
        0 censored, 1 recurrence, 2 died (competes: nobody recurs after death).
    covariates : mapping of str to array_like, or array_like, shape (rows, columns)
        What the choice of repair may have hung on. In a mapping numbers are taken as they are and text is coded by
        level; a matrix holds numbers and factors already coded 0 and 1, named ``factor=level`` in ``names``.
    n : array_like of int, shape (rows,), optional
        Groins that one patient of the pattern has in the row; 1.
    clusters : array_like, shape (rows,), optional
        The pattern of patients that the row belongs to; without, each row is a pattern of its own.
    weights : array_like of int, shape (rows,), optional
        Patients that have the pattern; 1.
    reference : str, optional
        The repair that the others are compared with; the first of ``arms``.
    horizons_years : sequence of float
    estimand : {"overlap", "all"}
        Of whom the comparison speaks: those of whom any of the repairs might be done, or all within the common
        support.
    margin : float
        Difference of risks (a share: 0.02 is 2 points) from which on a repair is worse by too much.
    margin_by : {"arm", "reference"}
        Which side of each comparison with the reference has to show that it is not worse by the margin.
    replicates, seed : int
        Redrawn sets of patients; results are the same on any number of cores.
    level : float
    arms : sequence of str, optional
        The repairs, in order; without, those found, sorted.
    names : sequence of str, optional
        Names of the columns of a matrix.
    ridge : float
        See `propensity`; 0 unless stated.
    least_at_risk : int
        A risk with fewer followed that long carries a warning.
    workers : int or None
    progress : callable or None
        Told (done, of).

    Returns
    -------
    Contrast

    Raises
    ------
    HingelineError
        When the arguments are impossible, a covariate is missing somewhere, an arm has no one, no patients are alike
        (no common support), or the propensity has no finite maximum.

    Notes
    -----
    Restricted to the common support (`contrast_overlap`); propensity (`contrast_propensity`); weights
    (`contrast_weights`); limits by bootstrap over patients with the propensity fitted again each time
    (`contrast_draw`) or, under 5 events in an arm, by score (`contrast_tell`). Everything is a function of counts.
    """
    horizons = _checked_horizons(horizons_years)
    open_unit(level, "level")
    checked_estimand(estimand)
    checked_seed(seed)
    _checked_margin(margin, margin_by, ridge)
    rows = check_rows(arm, days, outcome, covariates, n, clusters, weights, arms=arms, names=names)
    base = _reference(rows, reference)
    # many small matrices: threads of linear algebra cost more than they save, and might change the last digit
    with threadpool_limits(limits=1):
        rows, overlap = common_support(rows)
        rows, notes = _without_redundant(rows)

        counts = rows.counts()
        fit = propensity(rows.design, counts, ridge=ridge, names=tuple(c.name for c in rows.columns))
        by_profile = arm_weights(fit.probability.T, estimand, counts.sum(axis=0) / counts.sum())
        weight = by_profile[rows.arm, rows.profile]
        horizons_days = np.floor(np.array(horizons) * DAYS_PER_YEAR)
        lines = arm_lines(rows, horizons_days)
        # sums of weights may round to a hair above 1, which no score limit takes
        risk = np.clip(lines.risks((rows.groins * weight)[None])[0], 0, 1)
        crude = np.clip(lines.risks(rows.groins[None])[0], 0, 1)
        drawn, settled = redraw(
            rows,
            fit,
            lines,
            estimand=estimand,
            replicates=replicates,
            seed=seed,
            workers=workers,
            progress=progress,
        )
        notes += _drawing_notes(drawn, settled)

        told = Told(rows, weight, risk, crude, drawn, horizons, horizons_days, level, least_at_risk)
        told_weights = summarise_weights(rows, weight)
        told_arms = tell_arms(told)
        ratios, not_told = hazards(rows, weight, base, level)
        return Contrast(
            arms=told_arms,
            pairs=tell_pairs(told, told_arms, told_weights, base, margin, margin_by),
            balance=balance(rows, weight),
            weights=told_weights,
            overlap=overlap,
            propensity=fit,
            cox=ratios,
            estimand=estimand,
            reference=rows.arms[base],
            horizons_years=horizons,
            margin=margin,
            level=level,
            replicates=replicates,
            seed=seed,
            drawn=drawn,
            notes=(*notes, *not_told),
        )


def _checked_horizons(horizons_years: Sequence[float]) -> tuple[float, ...]:
    horizons = np.atleast_1d(np.asarray(horizons_years, dtype=np.float64))
    if horizons.size == 0 or not np.all(np.isfinite(horizons)) or np.any(horizons <= 0):
        raise HingelineError(
            "A horizon is no number of years", "argument horizons_years", "give years above 0"
        )
    return tuple(sorted({float(years) for years in horizons}))


def _checked_margin(margin: float, margin_by: str, ridge: float) -> None:
    if not 0 < margin < 1:
        raise HingelineError(
            f"The margin is {margin}", "argument margin", "give a share between 0 and 1: 0.02 is 2 points"
        )
    if margin_by not in ("arm", "reference"):
        raise HingelineError(f"margin_by is {margin_by!r}", "argument margin_by", "give 'arm' or 'reference'")
    if not 0 <= ridge < np.inf:
        raise HingelineError(f"The ridge is {ridge}", "argument ridge", "give 0 or more")


def _reference(rows: ContrastRows, reference: str | None) -> int:
    if reference is None:
        return 0
    if reference not in rows.arms:
        raise HingelineError(
            f"The reference {reference!r} is none of the arms",
            "argument reference",
            f"give one of {', '.join(rows.arms)}",
        )
    return rows.arms.index(reference)


def _without_redundant(rows: ContrastRows) -> tuple[ContrastRows, list[str]]:
    """Leave out covariates that are constant or follow from others, and say so."""
    groins = rows.counts().sum(axis=1)
    drop = redundant(scale(rows.design, groins), groins)
    if not np.any(drop):
        return rows, []
    names = [column.name for column, gone in zip(rows.columns, drop, strict=True) if gone]
    return rows.without_columns(~drop), [wording.contrast_note_constant(names)]


def _drawing_notes(drawn: Array, settled: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[str]:
    replicates = settled.size
    notes = []
    empty = int(np.isnan(drawn[:, :, 0]).any(axis=1).sum())
    if empty:
        notes.append(wording.contrast_note_empty(empty, replicates))
    unsettled = int((~settled & ~np.isnan(drawn[:, :, 0]).any(axis=1)).sum())
    if unsettled:
        notes.append(wording.contrast_note_unsettled(unsettled, replicates))
    return notes
