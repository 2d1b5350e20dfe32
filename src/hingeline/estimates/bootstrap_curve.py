"""Curves of redrawn patients, at the smoothness of the curve of all patients.

Rows of patients' patterns come in; for every replicate its shares, crossings and steepest growth go out.
Under one seed the patients of replicate i are those of the hinges' bootstrap, so the two can be compared
pair by pair.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.estimates.bootstrap import (
    checked_span,
    checked_thresholds,
    column_at,
    crossing_columns,
    freeze_mixes,
)
from hingeline.estimates.cells import checked_mix, finite_column, open_unit
from hingeline.estimates.curve import CurveFit, fit_curve
from hingeline.estimates.curve_band import growth_ages, steepest_growth
from hingeline.estimates.first_reach import CurveLogit, curve_crossings
from hingeline.estimates.mix import mix_near
from hingeline.estimates.parallel import Progress, run_tasks
from hingeline.estimates.patterns import CellDraws, cell_draws, checked_seed, percentile_interval
from hingeline.estimates.smooth import CurveDesign, share_by_mix
from hingeline.estimates.spline import Spline

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class CurveBootstrap:
    """Curves of redrawn patients, one row a replicate, at the smoothness of the curve of all patients.

    Attributes
    ----------
    shares, crossings, ages, thresholds, mix, threshold_mix, groups, lowest, highest
        As in `HingeBootstrap`.
    steepest_age, points_per_year : array, shape (replicates,)
        Where the standardised share (under ``mix``, or that of all cases) grows fastest, in years, and how
        fast.
    intercepts : array, shape (replicates, hospitals)
    coefs : array, shape (replicates, basis)
    spline : Spline
    seconds : float
    patients, seed, replicates : int
    level : float
    """

    shares: Array
    crossings: Array
    steepest_age: Array
    points_per_year: Array
    intercepts: Array
    coefs: Array
    spline: Spline
    ages: Array
    thresholds: Array
    mix: Array
    threshold_mix: Array
    groups: tuple[object, ...]
    lowest: float
    highest: float
    seconds: float
    patients: int
    seed: int
    replicates: int
    level: float

    def interval(self, what: str, at: float = 0, level: float | None = None) -> tuple[float, float]:
        """Percentile limits of one number.

        Parameters
        ----------
        what : str
            ``crossing`` (``at`` is the threshold), ``share`` (``at`` is the age), ``steepest_age`` or
            ``points_per_year``.
        at : float
        level : float or None
        """
        once = np.zeros(1)
        columns = {
            "crossing": (self.crossings, self.thresholds),
            "share": (self.shares, self.ages),
            "steepest_age": (self.steepest_age[:, None], once),
            "points_per_year": (self.points_per_year[:, None], once),
        }
        return percentile_interval(column_at(columns, what, at), level or self.level)

    def crossing_ages(self, threshold: float, mix: ArrayLike, lowest: float, highest: float) -> Array:
        """Each replicate's first age in years at any threshold, under any fixed mix."""
        weights = checked_mix(mix, len(self.groups))
        return curve_crossings(
            self.intercepts,
            self.coefs,
            self.spline,
            open_unit(threshold, "threshold"),
            weights,
            lowest,
            highest,
        )

    def to_frame(self) -> pa.Table:
        """One row a replicate: crossings, age and speed of the steepest growth."""
        columns = crossing_columns(self.crossings, self.thresholds)
        columns |= {"steepest_age_years": self.steepest_age, "points_per_year": self.points_per_year}
        return pa.table(columns)

    def __str__(self) -> str:
        return wording.bootstrap(self.replicates, self.patients, 0, 0)


@dataclass(frozen=True)
class _CurveTask:
    """Redraw the patients and fit their curve."""

    design: CurveDesign
    draws: CellDraws
    seed: int

    def __call__(self, replicate: int) -> Array:
        refit = self.design.refit(*self.draws.draw(self.seed, replicate))
        return np.concatenate([refit.intercepts, refit.coefs])


def bootstrap_curve(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    *,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    groups: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    basis: int = 40,
    smoothnesses: int = 5,
    smoothness: ArrayLike | None = None,
    unit: str = "years",
    replicates: int = 2000,
    seed: int,
    ages: ArrayLike = (),
    thresholds: ArrayLike = (),
    mix: ArrayLike | None = None,
    lowest: float | None = None,
    highest: float | None = None,
    level: float = 0.95,
    workers: int | None = None,
    progress: Progress | None = None,
) -> CurveBootstrap:
    """Refit the curve to patients redrawn with replacement, its smoothness that of all patients.

    Arguments are those of `bootstrap_hinges` and `fit_curve`. Under one seed the patients of replicate i are
    those of `bootstrap_hinges`, so the two can be compared pair by pair. The smoothness is not chosen anew:
    what the replicates spread by is the sampling of patients, and the curve's own bias stays in the middle
    of them.
    """
    checked_seed(seed)
    reached = checked_thresholds(thresholds)
    fit = fit_curve(
        age,
        direct,
        total,
        groups=groups,
        weights=weights,
        clusters=clusters,
        sensitivity=sensitivity,
        specificity=specificity,
        basis=basis,
        smoothnesses=smoothnesses,
        smoothness=smoothness,
        unit=unit,
        level=level,
    )
    cells = fit.cells
    draws = cell_draws(cells.rows, cells.cell_of_row, cells.total.size)
    began = time.perf_counter()
    table = run_tasks(
        _CurveTask(fit.design, draws, int(seed)), replicates, workers=workers, progress=progress
    )
    seconds = time.perf_counter() - began
    hospitals, spline = len(fit.labels), fit.design.spline
    intercepts, coefs = table[:, :hospitals], table[:, hospitals:]
    low, high = checked_span(lowest, highest, fit.lowest, fit.highest)
    kept = finite_column(ages, "ages")
    used = _near(fit, kept) if mix is None else checked_mix(mix, hospitals, kept.size)
    years = growth_ages(low, high)

    logit = CurveLogit(fit.intercepts, fit.coefs, spline)
    frozen = freeze_mixes(logit, reached, cells.group, cells.age_years, cells.total, (low, high))
    crossed = [
        curve_crossings(intercepts, coefs, spline, threshold, weights, low, high)
        for threshold, weights in zip(reached, frozen, strict=True)
    ]
    growing = used if mix is not None and used.ndim == 1 else _near(fit, years)
    at, points = steepest_growth(intercepts, coefs, spline, growing, years)
    return CurveBootstrap(
        shares=share_by_mix(coefs @ spline.basis(kept).T, intercepts, used),
        crossings=np.array(crossed).reshape(reached.size, replicates).T,
        steepest_age=at,
        points_per_year=points,
        intercepts=intercepts,
        coefs=coefs,
        spline=spline,
        ages=kept,
        thresholds=reached,
        mix=used,
        threshold_mix=frozen,
        groups=fit.labels,
        lowest=low,
        highest=high,
        seconds=seconds,
        patients=draws.patients.number,
        seed=int(seed),
        replicates=replicates,
        level=level,
    )


def _near(fit: CurveFit, years: Array) -> Array:
    """Case mix near each age."""
    cells = fit.cells
    return mix_near(years, cells.group, cells.age_years, cells.total, len(fit.labels))
