"""How long groins were followed, how often events came, how many were left: rows come in, plain numbers go out.

Follow-up is the reverse Kaplan–Meier estimate (Schemper & Smith, Control Clin Trials 1996;17:343–346): the end of
follow-up is the event and what ended the wait censors. Rates by person-years have exact Poisson limits (Garwood,
Biometrika 1936;28:437–442).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.followup_curve import SurvivalCurve, curve_of, first_at_or_below
from hingeline.estimates.followup_limits import LEAST_AT_RISK
from hingeline.estimates.followup_rows import Floats, check_level, check_rows, column
from hingeline.estimates.incidence import PER, incidence_limits
from hingeline.vocabulary import DAYS_PER_YEAR


@dataclass(frozen=True, eq=False)
class FollowUpLength:
    """How long groins were followed, in years; infinite where follow-up did not get so far.

    Attributes
    ----------
    median, low, high : float
        The first time at which half or fewer would still be followed, with limits (Brookmeyer & Crowley, Biometrics
        1982;38:29–41).
    quarter, three_quarters : float
        The times by which a quarter, and three quarters, of follow-up had ended.
    groins, level : float
    curve : SurvivalCurve
        Share still followed by day.
    """

    median: float
    low: float
    high: float
    quarter: float
    three_quarters: float
    groins: float
    level: float
    curve: SurvivalCurve

    def to_frame(self) -> pa.Table:
        """One row, years."""
        return pa.Table.from_pylist([{k: v for k, v in self.__dict__.items() if k != "curve"}])

    def __str__(self) -> str:
        return wording.followup_length(self.median, self.low, self.high, self.groins, self.level)


@dataclass(frozen=True)
class FollowUpRate:
    """Events by person-years with exact Poisson limits.

    Attributes
    ----------
    events, person_years : float
    rate, low, high : float
        Per ``per`` person-years.
    per, level : float
    """

    events: float
    person_years: float
    rate: float
    low: float
    high: float
    per: float
    level: float

    def to_frame(self) -> pa.Table:
        """One row, one column an attribute."""
        return pa.Table.from_pylist([dict(self.__dict__)])

    def __str__(self) -> str:
        return wording.followup_rate(
            self.rate, self.low, self.high, self.events, self.person_years, self.per, self.level
        )


def follow_up_length(
    days: ArrayLike,
    outcome: ArrayLike,
    n: ArrayLike | None = None,
    *,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    level: float = 0.95,
) -> FollowUpLength:
    """How long groins were followed: median with limits, and quartiles.

    Parameters and errors are those of `survival`. On a day on which both came, ends of follow-up are taken before
    events, as they are the events here.
    """
    check_level(level)
    rows = check_rows(days, outcome, n, clusters=clusters, weights=weights, aligned=False)
    curve = curve_of(rows, rows.outcome == 0, level, LEAST_AT_RISK)
    at = [
        first_at_or_below(rows.days, line, share) / DAYS_PER_YEAR
        for line, share in (
            (curve.survival, 0.5),
            (curve.low, 0.5),
            (curve.high, 0.5),
            (curve.survival, 0.75),
            (curve.survival, 0.25),
        )
    ]
    return FollowUpLength(at[0], at[1], at[2], at[3], at[4], curve.groins, level, curve)


def person_year_rate(
    events: ArrayLike, days: ArrayLike, *, per: float = 100, level: float = 0.95
) -> FollowUpRate:
    """Events by person-years.

    Parameters
    ----------
    events : array_like
        Number of events, or one number a row; they are summed.
    days : array_like
        Days followed (of every groin, with an event or without), or one number a row; they are summed.
    per : float
        Person-years that the rate is told by.

    Raises
    ------
    HingelineError
        When numbers are negative or missing, nobody was followed, or the level is none.
    """
    check_level(level)
    seen = float(column(np.atleast_1d(np.asarray(events)).ravel(), "events").sum())
    years = float(column(np.atleast_1d(np.asarray(days)).ravel(), "days").sum()) / DAYS_PER_YEAR
    if not years > 0 or not per > 0:
        raise HingelineError(
            "There are no person-years", "arguments days, per", "give days followed above 0 and per above 0"
        )
    low, high = incidence_limits(seen, years, level)
    scale = per / PER
    return FollowUpRate(seen, years, per * seen / years, float(low) * scale, float(high) * scale, per, level)


def numbers_at_risk(
    days: ArrayLike, years: ArrayLike, n: ArrayLike | None = None, *, weights: ArrayLike | None = None
) -> Floats:
    """Groins still followed at given years.

    Parameters
    ----------
    days : array_like, (rows,)
    years : array_like, (times,)
    n, weights : array_like or None, (rows,)
        As in `survival`.

    Returns
    -------
    array, (times,)
    """
    time = column(days, "days")
    groins = column(n, "n", time.size) * column(weights, "weights", time.size)
    asked = np.atleast_1d(np.asarray(years, dtype=np.float64)) * DAYS_PER_YEAR
    order = np.argsort(time, kind="stable")
    later = np.append(np.cumsum(groins[order][::-1])[::-1], 0.0)
    left: Floats = later[np.searchsorted(time[order], asked, side="left")]
    return left
