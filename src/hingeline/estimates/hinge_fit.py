"""What a hinge fit is: turns, slopes of the stretches between them, coefficients, and the share it predicts.

Frozen results that print as sentences and turn into tables; `hinge.fit_hinges` makes them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike
from scipy.special import ndtri

from hingeline import wording
from hingeline.estimates.hinge_certify import Certificate
from hingeline.estimates.hinge_design import HingeDesign, linear_predictor, share
from hingeline.estimates.hinge_rows import Floats

NEAR_YEARS = 3.0
"""Hospitals with cases this near to an age make up the standard mix there (design, section 12)."""


@dataclass(frozen=True)
class Turn:
    """An age at which the slope of the direct share changes, on the logit.

    Attributes
    ----------
    number : int
        From 1, by age.
    age : float
        Years.
    sign : int
        +1 when the slope grows here, −1 when it falls.
    interval : (float, float)
        From the lowest to the highest age in ``stretches``; nan when intervals were not asked for.
    stretches : tuple of (float, float)
        The ages within the cut-off, in one or more pieces; the whole range when the turn is not identified.
    identified : bool or None
        False when the fit without this turn lies within the cut-off; None when intervals were not asked for.
    ratio_without : float
        Likelihood ratio against the fit without this turn, the other turns in their own territories.
    cutoff, cutoff_without : float
        Calibrated cut-offs of the interval and of that ratio (0 where its null distribution was not needed).
    level : float
    """

    number: int
    age: float
    sign: int
    interval: tuple[float, float]
    stretches: tuple[tuple[float, float], ...]
    identified: bool | None
    ratio_without: float
    cutoff: float
    cutoff_without: float
    level: float

    def __str__(self) -> str:
        if self.identified is False:
            return wording.unidentified_turn(self.sign, self.age)
        return wording.found_turn(self.sign, self.age, self.stretches, self.level)


@dataclass(frozen=True, eq=False)
class HingeFit:
    """A hinge fit with its turns, certificate, coefficients and errors. All ages are in years.

    Attributes
    ----------
    turns : tuple of Turn
    certificate : Certificate or None
        What is proved of the maximum; None when it was not asked for.
    groups : tuple
        Hospitals in the order of the intercepts.
    intercepts : (G,) float
        On the logit (log rate for Poisson) at age 0; −inf for a hospital without directs. Unpenalised.
    coefficients, penalised : (G + 1 + k,) float
        Intercepts, slope of the first stretch, change at each turn, a year: by maximum likelihood, and given
        the turns under the log-F(1, 1) penalty on each stretch's slope per ten years.
    covariance, robust_covariance : (G + 1 + k, G + 1 + k) float
        Of ``coefficients``, given the turns.
    slopes : (k + 1,) float
        Of each stretch, logits a year, penalised; ``slope_limits`` (k + 1, 2) robust, given the turns.
    stretch_ends : (k + 2,) float
        Youngest age, turns, oldest age.
    odds_per_year : (k + 1,) float
        What the odds of a direct hernia (a rate, for Poisson) multiply by each year; ``odds_per_decade``
        alike.
    points_per_year : (k + 1,) float
        Growth of the standardised share at the middle of each stretch, percentage points a year (for Poisson,
        of the rate, events per person-year a year).
    loglik : float
        Unpenalised, binomial coefficients of the rows as given (Poisson constants) included.
    bic : float
        −2·loglik + log(n_patients) · (hospitals + 1 + 2 turns): every turn's age counts.
    n_patients : float
        Patients when clusters were given, else groins (Poisson: events).
    calibration : int
        Bootstrap replicates behind each cut-off; 0 means the χ² cut-off, which is too low.
    design : HingeDesign
    family, unit : str
        ``unit`` is that of the ages that came in.
    level : float
    """

    turns: tuple[Turn, ...]
    certificate: Certificate | None
    groups: tuple[object, ...]
    coefficients: Floats
    penalised: Floats
    covariance: Floats
    robust_covariance: Floats
    slope_limits: Floats
    loglik: float
    bic: float
    n_patients: float
    calibration: int
    design: HingeDesign
    family: str
    unit: str
    level: float
    ages: Floats
    directs: float
    total: float

    @property
    def taus(self) -> Floats:
        """Ages of the turns (k,)."""
        return np.array([turn.age for turn in self.turns])

    @property
    def intercepts(self) -> Floats:
        """Unpenalised intercepts at age 0 (G,)."""
        return self.coefficients[: len(self.groups)]

    @property
    def slopes(self) -> Floats:
        """Slope of each stretch, a year, penalised."""
        return np.cumsum(self.penalised[len(self.groups) :])

    @property
    def stretch_ends(self) -> Floats:
        """Youngest age, turns, oldest age."""
        return np.concatenate([self.ages[:1], self.taus, self.ages[-1:]])

    @property
    def odds_per_year(self) -> Floats:
        """Factor on the odds each year, by stretch."""
        return np.exp(self.slopes)

    @property
    def odds_per_decade(self) -> Floats:
        """Factor on the odds every ten years, by stretch."""
        return np.exp(10 * self.slopes)

    @property
    def points_per_year(self) -> Floats:
        """Growth at the middle of each stretch."""
        ends = self.stretch_ends
        middles = (ends[1:] + ends[:-1]) / 2
        eta = linear_predictor(self.penalised, self.taus, middles)
        if self.family == "poisson":
            steep, scale = np.exp(eta), 1.0
        else:
            steep, scale = 1 / (2 + np.exp(np.minimum(eta, 700)) + np.exp(np.minimum(-eta, 700))), 100.0
        mix = np.where(np.isnan(eta), 0.0, self.mix(middles))
        steep = np.where(np.isnan(steep) | ~np.isfinite(eta), 0.0, steep)
        result: Floats = scale * self.slopes * (mix * steep).sum(1) / mix.sum(1)
        return result

    @property
    def standard_errors(self) -> Floats:
        """Naive standard errors of ``coefficients``, given the turns."""
        return np.sqrt(np.diagonal(self.covariance))

    @property
    def robust_standard_errors(self) -> Floats:
        """Standard errors of ``coefficients`` robust to patients with two groins, given the turns."""
        return np.sqrt(np.maximum(np.diagonal(self.robust_covariance), 0))

    def mix(self, age: ArrayLike, within_years: float = NEAR_YEARS) -> Floats:
        """Case mix (A, G) of the hospitals with cases within ±3 years of each age, or at the nearest age."""
        cells, total = self.design.cells, self.design.total_by_cell
        years = np.atleast_1d(np.asarray(age, dtype=np.float64))
        distance = np.abs(years[:, None] - cells.age_years[None, :])
        distance = np.where(total > 0, distance, np.inf)
        reach = np.maximum(within_years, distance.min(axis=1) + 1e-9)
        near = np.where(distance <= reach[:, None], total, 0.0)
        weights: Floats = near @ cells.fixed[:, : cells.n_groups]
        whole: Floats = weights / weights.sum(axis=1, keepdims=True)
        return whole

    def predict(self, age: ArrayLike, *, group_weights: ArrayLike | None = None) -> Floats:
        """Standardised direct share (or rate) at ages in years, from the penalised coefficients.

        Parameters
        ----------
        age : (A,)
            Years, whatever the unit of the ages fitted.
        group_weights : (G,) or (A, G), optional
            A fixed mix of hospitals; the case mix near each age when left out.
        """
        weights = self.mix(age) if group_weights is None else group_weights
        return share(self.penalised, self.taus, age, weights, self.family)

    def to_frame(self) -> pa.Table:
        """One row a stretch, with the turn that begins it (empty for the first)."""
        ends, k = self.stretch_ends, len(self.turns)
        begun: list[Turn | None] = [None, *self.turns]
        return pa.table(
            {
                "stretch": pa.array(range(1, k + 2), pa.int8()),
                "from_age": ends[:-1],
                "to_age": ends[1:],
                "turn_age": pa.array([t.age if t else None for t in begun], pa.float64()),
                "turn_sign": pa.array([t.sign if t else None for t in begun], pa.int8()),
                "turn_low": pa.array([t.interval[0] if t else None for t in begun], pa.float64()),
                "turn_high": pa.array([t.interval[1] if t else None for t in begun], pa.float64()),
                "turn_stretches": pa.array(
                    [[list(s) for s in t.stretches] if t else None for t in begun],
                    pa.list_(pa.list_(pa.float64())),
                ),
                "identified": pa.array([t.identified if t else None for t in begun], pa.bool_()),
                "slope": self.slopes,
                "slope_low": self.slope_limits[:, 0],
                "slope_high": self.slope_limits[:, 1],
                "odds_per_year": self.odds_per_year,
                "odds_per_decade": self.odds_per_decade,
                "points_per_year": self.points_per_year,
            }
        )

    def __str__(self) -> str:
        told = [str(turn) for turn in self.turns]
        ends = self.stretch_ends
        climbs = [
            wording.climb(float(odds), float(points), float(since), float(until))
            for odds, points, since, until in zip(
                self.odds_per_year, self.points_per_year, ends[:-1], ends[1:], strict=True
            )
        ]
        rates = self.family == "poisson"
        return wording.hinge_fit(told, [] if rates else climbs, int(self.directs), self.total, rates)


def slope_limits(penalised: Floats, robust: Floats, groups: int, level: float) -> Floats:
    """Limits (k + 1, 2) of the slope of each stretch from the robust covariance of the coefficients."""
    size = penalised.size - groups
    sums = np.tril(np.ones((size, size)))
    slopes = sums @ penalised[groups:]
    errors = np.sqrt(np.maximum(np.diagonal(sums @ robust[groups:, groups:] @ sums.T), 0))
    half = float(ndtri(0.5 + level / 2)) * errors
    return np.column_stack([slopes - half, slopes + half])
