"""Rows of follow-up come in, the shares that had the event, or died first, go out: the Aalen–Johansen estimator.

Aalen & Johansen, Scand J Stat 1978;5:141–150. Standard errors are the infinitesimal jackknife's, over groins and over
patients; over groins it is the delta method on the multinomial counts. Limits are symmetric on log(−log(1 − F)), so
that without a competing event they are those of Kaplan–Meier.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.followup_curve import check_horizon, horizon_warning, kish
from hingeline.estimates.followup_limits import LEAST_AT_RISK, ROUNDING, RiskAt, log_log_limits
from hingeline.estimates.followup_rows import Floats, Rows, check_level, check_rows
from hingeline.estimates.followup_variance import quadratic, squares_by_day
from hingeline.vocabulary import DAYS_PER_YEAR

CAUSES = (1, 2)


@dataclass(frozen=True, eq=False)
class CumulativeIncidence:
    """Shares that had the event (first row) and the competing event (second row) by distinct day.

    Attributes
    ----------
    days : (days,) float
    incidence, low, high, se, robust_se, events : (2, days) float
        Events are groins, unweighted.
    free : (days,) float
        Share with neither.
    at_risk, censored, weighted_at_risk, effective : (days,) float
        As in `SurvivalCurve`.
    groins, level : float
    robust : bool
    least_at_risk : int
    """

    days: Floats
    incidence: Floats
    low: Floats
    high: Floats
    se: Floats
    robust_se: Floats
    events: Floats
    free: Floats
    at_risk: Floats
    censored: Floats
    weighted_at_risk: Floats
    effective: Floats
    groins: float
    level: float
    robust: bool
    least_at_risk: int

    def risk(self, years: float, cause: int = 1) -> RiskAt:
        """Share that had a cause by a horizon in years; 1 is the event, 2 the competing event."""
        return self.risk_at_days(years * DAYS_PER_YEAR, cause)

    def risk_at_days(self, days: float, cause: int = 1) -> RiskAt:
        """Share by a horizon in days; one beyond the last day is told at the last day, with a warning."""
        check_horizon(days)
        if cause not in CAUSES:
            raise HingelineError(
                f"There is no cause {cause}",
                "argument cause",
                "use 1 for the event, 2 for the competing event",
            )
        told = min(days, float(self.days[-1]))
        place = int(np.searchsorted(self.days, told, side="right")) - 1
        later = int(np.searchsorted(self.days, told, side="left"))
        row = cause - 1
        share = float(self.incidence[row, place]) if place >= 0 else 0.0
        se = self.robust_se if self.robust else self.se
        spread = float(se[row, place]) if place >= 0 else 0.0
        effective = float(self.effective[later])
        low, high = log_log_limits(
            np.array([1 - share]), np.array([spread]), np.array([effective]), self.level
        )
        left = float(self.at_risk[later])
        return RiskAt(
            days / DAYS_PER_YEAR,
            told / DAYS_PER_YEAR,
            share,
            1 - float(high[0]),
            1 - float(low[0]),
            spread,
            0.0 if days > told else left,
            float(self.events[row, : place + 1].sum()),
            effective,
            self.level,
            horizon_warning(days, told, left, self.least_at_risk),
        )

    def to_frame(self) -> pa.Table:
        """One row a distinct day and cause."""
        both = {
            name: getattr(self, name) for name in ("incidence", "low", "high", "se", "robust_se", "events")
        }
        one = {name: np.tile(getattr(self, name), 2) for name in ("free", "at_risk", "weighted_at_risk")}
        cause = np.repeat(CAUSES, self.days.size)
        return pa.table(
            {"days": np.tile(self.days, 2), "cause": cause}
            | {name: values.ravel() for name, values in both.items()}
            | one
        )

    def __str__(self) -> str:
        events, deaths = self.events.sum(axis=1)
        return wording.followup_incidence(
            self.groins,
            float(events),
            float(deaths),
            float(self.days[-1]) / DAYS_PER_YEAR,
            float(self.incidence[0, -1]),
            float(self.incidence[1, -1]),
        )


def cumulative_incidence(
    days: ArrayLike,
    outcome: ArrayLike,
    n: ArrayLike | None = None,
    *,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    probability_weights: ArrayLike | None = None,
    level: float = 0.95,
    least_at_risk: int = LEAST_AT_RISK,
) -> CumulativeIncidence:
    """Aalen–Johansen shares of the event and of the competing event.

    Parameters and errors are those of `survival`; outcome 2 competes here.
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
    groins, weighted = rows.n * rows.patients, rows.each * rows.patients
    at_risk = rows.at_risk(weighted)
    died = np.stack([rows.by_day(weighted, rows.outcome == cause) for cause in CAUSES])
    every = died.sum(axis=0)
    staying = rows.by_day(weighted, rows.outcome == 0) + np.append(at_risk[1:], 0.0)
    last = staying == 0
    free = np.cumprod(staying / at_risk)
    before = np.concatenate([[1.0], free[:-1]])
    incidence: Floats = np.asarray(np.cumsum(before * died / at_risk, axis=1), dtype=np.float64)
    # where nobody is left and nothing competed the share is 1, which the sum misses by its last digits
    incidence[(incidence > 1 - ROUNDING) & last] = 1.0
    left = np.where(last, 1.0, staying)
    hazard = np.cumsum(np.where(last, 0.0, every / (at_risk * left)))
    kept = hazard[rows.at] - np.where((rows.outcome > 0) & ~last[rows.at], 1 / left[rows.at], 0.0)
    parts = [
        _spread(rows, cause, died[cause - 1], incidence[cause - 1], before, at_risk, hazard, kept)
        for cause in CAUSES
    ]
    se = np.stack([part[0] for part in parts])
    robust = np.stack([part[1] for part in parts])
    effective = parts[0][2]
    use = rows.clustered or rows.weighted
    limits = [
        log_log_limits(1 - incidence[i], (robust if use else se)[i], effective, level) for i in range(2)
    ]
    return CumulativeIncidence(
        rows.days,
        incidence,
        np.stack([1 - high for _, high in limits]),
        np.stack([1 - low for low, _ in limits]),
        se,
        robust,
        np.stack([rows.by_day(groins, rows.outcome == cause) for cause in CAUSES]),
        free,
        rows.at_risk(groins),
        rows.by_day(groins, rows.outcome == 0),
        at_risk,
        effective,
        float(groins.sum()),
        level,
        use,
        least_at_risk,
    )


def _spread(
    rows: Rows,
    cause: int,
    died: Floats,
    share: Floats,
    before: Floats,
    at_risk: Floats,
    hazard: Floats,
    kept: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Standard errors of one cause over groins and over patients, and the effective number at risk.

    The influence of a groin is G(t) while it is at risk, and g + b F(t) after it left: G sums what being at risk takes
    away, g what was gained until it left, b its influence on being free since (``kept``).
    """
    earlier = np.concatenate([[0.0], hazard[:-1]])
    waiting = np.cumsum(before * died / at_risk * (earlier - 1 / at_risk))
    own = np.where(rows.outcome == cause, (before / at_risk)[rows.at], 0.0)
    gained = waiting[rows.at] + own - kept * share[rows.at]
    columns = [rows.each * gained, rows.each * kept]
    by_day = np.column_stack([waiting, np.ones_like(share), share])
    clustered = squares_by_day(rows, rows.each, columns, rows.cluster)
    alone = squares_by_day(rows, rows.each, columns)
    total = at_risk
    effective = kish(total, (clustered if rows.clustered else alone)[:-1, 0, 0])
    return np.sqrt(quadratic(alone[1:], by_day)), np.sqrt(quadratic(clustered[1:], by_day)), effective
