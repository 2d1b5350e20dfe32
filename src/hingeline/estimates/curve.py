"""The direct share by age as a smooth curve: the check on the hinges that assumes no bend.

Counts by age and hospital come in; a penalised cubic B-spline on the logit with one intercept a hospital goes
out, its smoothness by restricted maximum likelihood (Laplace's approximation; Wood, JRSS B 2011;73:3–36).
Bands are Bayesian, pointwise or simultaneous (Ruppert, Wand & Carroll, Semiparametric Regression, 2003).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit, ndtri

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.cells import (
    Array,
    Cells,
    checked_mix,
    collapse,
    finite_column,
    open_unit,
)
from hingeline.estimates.curve_band import Band, Steepest, growth_ages, steepest_growth
from hingeline.estimates.isotonic import IsotonicFit, isotonic
from hingeline.estimates.mix import mix_near
from hingeline.estimates.smooth import SETTLED, CurveDesign, Mode, prepare_curve, share_by_mix
from hingeline.estimates.smoothness import choose_smoothness, settle

__all__ = ["Band", "CurveFit", "IsotonicFit", "Steepest", "fit_curve", "isotonic"]

LEAST_AGES = 4
"""Fewer distinct ages than a cubic has coefficients tell nothing of a curve."""
BAND_DRAWS = 10_000
BAND_AGES = 200
GROWTH_DRAWS = 2_000


@dataclass(frozen=True, eq=False)
class CurveFit:
    """A smooth curve of the direct share by age.

    Attributes
    ----------
    labels : tuple
        The hospitals, in the order of ``intercepts`` and of a mix.
    intercepts : array, shape (hospitals,)
        A hospital without any direct case has one near −20: its share is nought.
    coefs : array, shape (basis,)
        B-spline coefficients of the logit that hospitals share.
    smoothness : array, shape (smoothnesses,)
        Multipliers of the integrated squared second derivative (age in years) about equally spaced ages.
    edf : float
        Effective degrees of freedom of the curve, the intercepts not among them; 1 is a straight logit.
    loglik, criterion : float
        Log-likelihood without its binomial constant; restricted log-likelihood up to a constant.
    covariance : array, shape (hospitals + basis − 1,) squared
        Bayesian (Wood, J R Stat Soc B 2011;73:3), its likelihood part made robust over patients when clusters
        were given; a hospital without any direct case has no variance in it.
    lowest, highest : float
        The age range in years.
    design : CurveDesign
        For refitting other counts over the same cells.
    cells : Cells
    unit : str
        Of the ages that came in; all that comes out is in years.
    level : float
    seed : int
        Of the simulations behind the simultaneous band and the steepest growth.
    """

    labels: tuple[object, ...]
    intercepts: Array
    coefs: Array
    smoothness: Array
    edf: float
    loglik: float
    criterion: float
    covariance: Array
    lowest: float
    highest: float
    design: CurveDesign
    cells: Cells
    unit: str
    level: float
    seed: int

    def predict(self, age: ArrayLike, mix: ArrayLike | None = None) -> Array:
        """Standardised direct share.

        Parameters
        ----------
        age : array_like, shape (ages,)
            Years, whatever the unit of the ages fitted; beyond the data the logit goes on as a straight line.
        mix : array_like, shape (hospitals,) or (ages, hospitals), or None
            Fixed hospital weights; None is the case mix near each age (`mix_near`).
        """
        years = finite_column(age)
        return share_by_mix(self.logit(years), self.intercepts, self._weights(mix, years))

    def logit(self, age_years: Array) -> Array:
        """The smooth logit that hospitals share (add a hospital's intercept), at ages in years."""
        shared: Array = self.design.spline.basis(age_years) @ self.coefs
        return shared

    def band(
        self,
        age: ArrayLike,
        kind: str = "pointwise",
        mix: ArrayLike | None = None,
        level: float | None = None,
    ) -> Band:
        """Limits about the standardised share, formed on the logit.

        Parameters
        ----------
        age, mix
            As for `predict`.
        kind : str
            ``pointwise``, or ``simultaneous``: wide enough for the whole curve, by simulating the largest
            |t| over the age range (Ruppert, Wand & Carroll 2003, section 6.5).
        level : float or None
            Coverage; None is the fit's.
        """
        if kind not in ("pointwise", "simultaneous"):
            raise HingelineError(
                f"There is no band of kind {kind!r}", "argument kind", "give pointwise or simultaneous"
            )
        years = finite_column(age)
        weights = self._weights(mix, years)
        covered = open_unit(self.level if level is None else level, "level")
        critical = float(ndtri(0.5 + covered / 2))
        if kind == "simultaneous":
            each = mix is not None and weights.ndim > 1  # a mix for these ages alone says nothing of others
            grid = years if each else np.linspace(self.lowest, self.highest, BAND_AGES)
            critical = self._largest_t(grid, self._weights(mix, grid), covered)
        share, slope = self._gradient(years, weights)
        error = np.sqrt(np.maximum(np.sum((slope @ self.covariance) * slope, axis=1), 0))
        middle = logit(share)
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = critical * np.where(share * (1 - share) > 0, error / (share * (1 - share)), 0)
        return Band(
            years,
            share,
            expit(middle - reach),
            expit(middle + reach),
            kind,
            covered,
            critical,
        )

    def steepest(
        self, lowest: float | None = None, highest: float | None = None, mix: ArrayLike | None = None
    ) -> Steepest:
        """Age of the steepest growth of the standardised share, by simulating the posterior.

        Parameters
        ----------
        lowest, highest : float or None
            Years to look between; None is the end of the data.
        mix
            As for `predict`.

        Notes
        -----
        The interval takes in every place where growth may be steepest: with two rises it can span both.
        """
        low = self.lowest if lowest is None else max(lowest, self.lowest)
        high = self.highest if highest is None else min(highest, self.highest)
        if not low < high:
            raise HingelineError(
                "There is no age between the two limits",
                "arguments lowest and highest",
                "give a span within the data",
            )
        drawn = self.beta + np.vstack([np.zeros_like(self.beta), self._draws(GROWTH_DRAWS)])
        intercepts, within = np.hsplit(drawn, [len(self.labels)])
        years = growth_ages(low, high)
        at, points = steepest_growth(
            intercepts, within @ self.design.within.T, self.design.spline, self._weights(mix, years), years
        )
        tails = [0.5 - self.level / 2, 0.5 + self.level / 2]
        age_limits, point_limits = np.quantile(at[1:], tails), np.quantile(points[1:], tails)
        return Steepest(
            float(at[0]),
            (float(age_limits[0]), float(age_limits[1])),
            float(points[0]),
            (float(point_limits[0]), float(point_limits[1])),
            self.level,
        )

    @property
    def beta(self) -> Array:
        """Intercepts and constrained spline coefficients, in the order of ``covariance``."""
        return self.design.start

    def to_frame(self) -> pa.Table:
        """One row a distinct age: counts, share seen, curve and both bands over the case mix near the age."""
        design, cells, age = self.design, self.cells, self.design.ages
        direct = np.bincount(design.age_of_cell, cells.direct, age.size)
        total = np.bincount(design.age_of_cell, cells.total, age.size)
        near, whole = self.band(age), self.band(age, "simultaneous")
        with np.errstate(invalid="ignore"):
            seen = direct / total
        return pa.table(
            {
                "age_years": age,
                "direct": direct,
                "total": total,
                "share_seen": seen,
                "share": near.share,
                "low": near.low,
                "high": near.high,
                "simultaneous_low": whole.low,
                "simultaneous_high": whole.high,
            }
        )

    def __str__(self) -> str:
        return wording.curve(
            float(self.cells.total.sum()), float(self.cells.direct.sum()), len(self.labels), self.edf
        )

    def _weights(self, mix: ArrayLike | None, years: Array) -> Array:
        if mix is not None:
            return checked_mix(mix, len(self.labels), years.size)
        cells = self.cells
        return mix_near(years, cells.group, cells.age_years, cells.total, len(self.labels))

    def _gradient(self, years: Array, weights: Array) -> tuple[Array, Array]:
        """Standardised share and its derivative by ``beta``, shape (ages, coefficients)."""
        shares = expit(self.logit(years)[:, None] + self.intercepts)
        slope = weights * shares * (1 - shares)
        smooth = slope.sum(axis=1)[:, None] * (self.design.spline.basis(years) @ self.design.within)
        return (weights * shares).sum(axis=1), np.hstack([slope, smooth])

    def _draws(self, number: int) -> Array:
        """Draws of ``beta`` about its mode."""
        values, vectors = np.linalg.eigh(self.covariance)
        root = vectors * np.sqrt(np.maximum(values, 0))
        normal = np.random.Generator(np.random.Philox(self.seed)).standard_normal((number, values.size))
        drawn: Array = normal @ root.T
        return drawn

    def _largest_t(self, years: Array, weights: Array, level: float) -> float:
        """Quantile of the largest |t| over some ages."""
        _, slope = self._gradient(years, weights)
        error = np.sqrt(np.maximum(np.sum((slope @ self.covariance) * slope, axis=1), 0))
        slope = slope[error > 0] / error[error > 0, None]
        if slope.size == 0:
            return float(ndtri(0.5 + level / 2))
        return float(np.quantile(np.abs(self._draws(BAND_DRAWS) @ slope.T).max(axis=1), level))


def fit_curve(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    *,
    groups: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    basis: int = 40,
    smoothnesses: int = 5,
    smoothness: ArrayLike | None = None,
    unit: str = "years",
    level: float = 0.95,
    seed: int = 0,
) -> CurveFit:
    """Fit logit p(age) = intercept of the hospital + a smooth curve.

    Parameters
    ----------
    age, direct, total : array_like, shape (rows,)
        Age in ``unit``; direct cases and all cases of the row.
    groups : array_like or None, shape (rows,)
        Hospital of each row.
    weights : array_like or None, shape (rows,)
        Number of patients that the row stands for.
    clusters : array_like or None, shape (rows,)
        Patient or pattern of patients; makes the bands robust to two groins being alike.
    sensitivity, specificity : array_like, scalar or shape (rows,)
        Of seeing a direct hernia as such; they enter the likelihood.
    basis : int
        Number of cubic B-splines, equally spaced.
    smoothnesses : int
        About how many equally spaced ages the smoothness may differ; 1 is the same smoothness throughout.
    smoothness : float, array_like or None
        Multipliers of the integrated squared second derivative (age in years), one or one about each of those
        ages; None chooses them by restricted likelihood.
    unit : str
        ``years``, ``months`` or ``days``; of ``age`` alone, all that comes out is in years.
    level : float
        Coverage of bands and intervals.
    seed : int
        Of the simulations.

    Raises
    ------
    HingelineError
        When the rows are impossible, hold fewer than four distinct ages, or an option is out of range.

    Notes
    -----
    Penalty: Wood, Statistics and Computing 2017;27:985–989. Smoothness: Wood, J R Stat Soc B 2011;73:3–36.
    Covariance with clusters: V (M + S) V, where V is the Bayesian one, S the penalty and M the summed
    cross-products of the patients' scores.
    """
    open_unit(level, "level")
    if basis < LEAST_AGES:
        raise HingelineError(f"{basis} splines are too few", "argument basis", "give 4 or more")
    if smoothnesses < 1:
        raise HingelineError("There is no smoothness to choose", "argument smoothnesses", "give 1 or more")
    given = None if smoothness is None else finite_column(smoothness, "smoothness")
    if given is not None and np.any(given <= 0):
        raise HingelineError(
            f"The smoothness is {given.min()}", "argument smoothness", "give numbers above 0"
        )
    cells = collapse(
        age,
        direct,
        total,
        groups=groups,
        weights=weights,
        clusters=clusters,
        sensitivity=sensitivity,
        specificity=specificity,
        unit=unit,
    )
    if np.unique(cells.age_years).size < LEAST_AGES:
        raise HingelineError(
            "There are fewer than four distinct ages",
            "argument age",
            "give ages finer than these, or more of them",
        )
    design = prepare_curve(cells, basis, smoothnesses if given is None else given.size)
    if given is None:
        design, mode = choose_smoothness(design, cells.direct, cells.total)
    else:
        design, mode = settle(design, cells.direct, cells.total, given, design.start)
    bayesian = _settled_inverse(mode, design.groups)
    return CurveFit(
        labels=cells.labels,
        intercepts=mode.beta[: design.groups],
        coefs=design.within @ mode.beta[design.groups :],
        smoothness=design.smoothness,
        edf=float(np.sum(bayesian * mode.information)) - _settled(mode, design.groups)[: design.groups].sum(),
        loglik=mode.loglik,
        criterion=mode.criterion,
        covariance=_robust(cells, design, mode, bayesian),
        lowest=design.spline.lowest,
        highest=design.spline.highest,
        design=design,
        cells=cells,
        unit=unit,
        level=level,
        seed=seed,
    )


def _settled(mode: Mode, groups: int) -> NDArray[np.bool_]:
    """Which coefficients are known of: the intercept of a hospital without any direct case is not."""
    settled = np.ones(mode.beta.size, dtype=np.bool_)
    settled[:groups] = np.diag(mode.information)[:groups] > SETTLED
    return settled


def _settled_inverse(mode: Mode, groups: int) -> Array:
    settled = _settled(mode, groups)
    inverse = np.zeros_like(mode.penalised)
    inverse[np.ix_(settled, settled)] = np.linalg.inv(mode.penalised[np.ix_(settled, settled)])
    return inverse


def _robust(cells: Cells, design: CurveDesign, mode: Mode, bayesian: Array) -> Array:
    """Put the patients' own scores in place of the model's information, when patients are known."""
    rows = cells.rows
    if rows.clusters is None:
        return bayesian
    score = design.slope_scores(mode.beta, rows.direct, rows.total, cells.cell_of_row)
    patterns = int(rows.clusters.max()) + 1
    by_pattern = np.zeros((patterns, mode.beta.size))
    np.add.at(by_pattern, rows.clusters, score[:, None] * design.rows(cells.cell_of_row))
    weight = np.zeros(patterns)
    weight[rows.clusters] = rows.weights
    spread = by_pattern.T @ (weight[:, None] * by_pattern)
    penalty = mode.penalised - mode.information
    robust: Array = bayesian @ (spread + penalty) @ bayesian
    return robust
