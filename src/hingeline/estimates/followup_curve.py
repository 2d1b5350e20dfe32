"""Rows of follow-up come in, a Kaplan–Meier curve goes out, with Greenwood's and a robust standard error.

Kaplan & Meier, JASA 1958;53:457–481; Greenwood 1926; robust over patients by the infinitesimal jackknife (Efron,
Biometrika 1981;68:589–599), which is Greenwood's where every patient has one groin. A competing event censors here:
`cumulative_incidence` lets it compete.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.followup_limits import LEAST_AT_RISK, RiskAt, log_log_limits
from hingeline.estimates.followup_rows import Floats, Rows, check_level, check_rows
from hingeline.estimates.followup_variance import quadratic, squares_by_day
from hingeline.vocabulary import DAYS_PER_YEAR


@dataclass(frozen=True, eq=False)
class SurvivalCurve:
    """A Kaplan–Meier curve by distinct day.

    Attributes
    ----------
    days : (days,) float
    survival, low, high : (days,) float
        Free of the event, with log-log limits (score limits where nobody or everybody had one).
    se, robust_se : (days,) float
        Greenwood's, and over patients.
    at_risk, events, censored : (days,) float
        Groins, unweighted.
    weighted_at_risk : (days,) float
        The same number by probability weights; equal to ``at_risk`` where there are none.
    effective : (days,) float
        Independent patients that those at risk are worth: (Σ w)² / Σ w² (Kish, Survey Sampling, 1965).
    groins : float
    level : float
    robust : bool
        Whether the limits rest on the robust standard error.
    least_at_risk : int
    """

    days: Floats
    survival: Floats
    low: Floats
    high: Floats
    se: Floats
    robust_se: Floats
    at_risk: Floats
    events: Floats
    censored: Floats
    weighted_at_risk: Floats
    effective: Floats
    groins: float
    level: float
    robust: bool
    least_at_risk: int

    def risk(self, years: float) -> RiskAt:
        """Risk of the event by a horizon in years: 1 − survival."""
        return self.risk_at_days(years * DAYS_PER_YEAR)

    def risk_at_days(self, days: float) -> RiskAt:
        """Risk by a horizon in days; one beyond the last day is told at the last day, with a warning."""
        check_horizon(days)
        told = min(days, float(self.days[-1]))
        place = int(np.searchsorted(self.days, told, side="right")) - 1
        later = int(np.searchsorted(self.days, told, side="left"))
        left = float(self.at_risk[later])
        effective = float(self.effective[later])
        survival = float(self.survival[place]) if place >= 0 else 1.0
        se = self.robust_se if self.robust else self.se
        spread = float(se[place]) if place >= 0 else 0.0
        low, high = log_log_limits(
            np.array([survival]), np.array([spread]), np.array([effective]), self.level
        )
        return RiskAt(
            days / DAYS_PER_YEAR,
            told / DAYS_PER_YEAR,
            1 - survival,
            1 - float(high[0]),
            1 - float(low[0]),
            spread,
            0.0 if days > told else left,
            float(self.events[: place + 1].sum()),
            effective,
            self.level,
            horizon_warning(days, told, left, self.least_at_risk),
        )

    def median_years(self) -> float:
        """First time, in years, at which half or less are free of the event; infinite when that is not reached."""
        return first_at_or_below(self.days, self.survival, 0.5) / DAYS_PER_YEAR

    def at_risk_at(self, years: ArrayLike) -> Floats:
        """Groins still followed at given years."""
        asked = np.atleast_1d(np.asarray(years, dtype=np.float64)) * DAYS_PER_YEAR
        counted: Floats = np.append(self.at_risk, 0.0)[np.searchsorted(self.days, asked, side="left")]
        return counted

    def to_frame(self) -> pa.Table:
        """One row a distinct day."""
        names = ("days", "survival", "low", "high", "se", "robust_se", "at_risk", "events", "censored")
        return pa.table({name: getattr(self, name) for name in (*names, "weighted_at_risk")})

    def __str__(self) -> str:
        last = self.risk_at_days(float(self.days[-1]))
        return wording.followup_curve(
            self.groins, float(self.events.sum()), last.years, last.risk, last.low, last.high, self.level
        )


def survival(
    days: ArrayLike,
    outcome: ArrayLike,
    n: ArrayLike | None = None,
    *,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    probability_weights: ArrayLike | None = None,
    level: float = 0.95,
    least_at_risk: int = LEAST_AT_RISK,
) -> SurvivalCurve:
    """Kaplan–Meier curve of being free of the event.

    Parameters
    ----------
    days : array_like, (rows,)
        Days followed from operation, 0 or more.
    outcome : array_like of int, (rows,)
        0 censored, 1 the event, 2 the competing event (which censors here).
    n : array_like or None, (rows,)
        Groins of one patient of the pattern in the row.
    clusters : array_like or None, (rows,)
        The pattern's number. When given, limits rest on the robust standard error; otherwise every row is a pattern
        of its own and limits rest on Greenwood's.
    weights : array_like or None, (rows,)
        Patients that have the pattern.
    probability_weights : array_like or None, (rows,)
        What each groin of the row counts for, any real number of 0 or more (inverse probability or overlap weights).
        Limits then rest on the robust standard error.
    least_at_risk : int
        Fewer at risk than this and a risk carries a warning.

    Raises
    ------
    HingelineError
        When rows are impossible, nobody is there, or the level is none.
    """
    check_level(level)
    rows = check_rows(
        days,
        outcome,
        n,
        clusters=clusters,
        weights=weights,
        probability_weights=probability_weights,
        aligned=False,
    )
    return curve_of(rows, rows.outcome == 1, level, least_at_risk)


def curve_of(rows: Rows, event: np.ndarray, level: float, least_at_risk: int) -> SurvivalCurve:
    """Kaplan–Meier curve of checked rows, of which some had the event that is meant."""
    groins, weighted = rows.n * rows.patients, rows.each * rows.patients
    at_risk, died = rows.at_risk(weighted), rows.by_day(weighted, event)
    # summed, not subtracted, so that it is exactly 0 where nobody is left without the event
    staying = rows.by_day(weighted, ~event) + np.append(at_risk[1:], 0.0)
    last = staying == 0  # what is 0 has no spread
    curve: Floats = np.asarray(np.cumprod(staying / at_risk), dtype=np.float64)
    left = np.where(last, 1.0, staying)
    hazard = np.cumsum(np.where(last, 0.0, died / (at_risk * left)))
    at_event = np.where(event, np.where(last, 0.0, 1 / left)[rows.at], 0.0)
    squares = squares_by_day(rows, rows.each, [rows.each * (hazard[rows.at] - at_event)], rows.cluster)
    alone = squares_by_day(rows, rows.each, [rows.each * 0.0]) if not rows.clustered else squares
    robust: Floats = curve * np.sqrt(quadratic(squares[1:], np.column_stack([hazard, np.ones_like(hazard)])))
    greenwood: Floats = curve * np.sqrt(hazard)
    effective = kish(at_risk, alone[:-1, 0, 0])
    use = rows.clustered or rows.weighted
    low, high = log_log_limits(curve, robust if use else greenwood, effective, level)
    return SurvivalCurve(
        rows.days,
        curve,
        low,
        high,
        greenwood,
        robust,
        rows.at_risk(groins),
        rows.by_day(groins, event),
        rows.by_day(groins, ~event),
        at_risk,
        effective,
        float(groins.sum()),
        level,
        use,
        least_at_risk,
    )


def kish(total: Floats, squares: Floats) -> Floats:
    """Independent patients that a weighted number is worth."""
    some = squares > 0
    worth: Floats = np.where(some, total**2 / np.where(some, squares, 1.0), 0.0)
    return worth


def first_at_or_below(days: Floats, curve: Floats, level: float) -> float:
    """First day on which a falling curve is at or below a level; infinite when it never is."""
    below = np.flatnonzero(curve <= level + 1e-12)
    return float(days[below[0]]) if below.size else float("inf")


def check_horizon(days: float) -> None:
    """Refuse a horizon that is no time after operation."""
    if not days >= 0 or np.isinf(days):
        raise HingelineError(f"{days} is no horizon", "argument years", "give a number of 0 or more")


def horizon_warning(days: float, told: float, left: float, least: int) -> str:
    """Say why a risk by a horizon should be read with care."""
    if days > told:
        return wording.followup_beyond(days / DAYS_PER_YEAR, told / DAYS_PER_YEAR)
    return wording.followup_few_left(left, least) if left < least else ""
