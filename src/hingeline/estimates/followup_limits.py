"""Limits of a risk that was estimated with a standard error, and the risk by a horizon as a reader is told it.

Limits are symmetric on log(−log S), so that they stay between 0 and 1 (Kalbfleisch & Prentice, The Statistical
Analysis of Failure Time Data, 1980, page 15). Where nobody had an event (or everybody) the standard error is 0 and
says nothing: there stand score limits (Wilson, JASA 1927;22:209–212) of none among the number still at risk, which is
the least that the effective number can be (Rothman, J Chronic Dis 1978;31:557–560, puts the effective number into
the same limits where there are events).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from scipy.special import ndtri

from hingeline import wording
from hingeline.estimates.followup_rows import Floats

ROUNDING = 1e-12
"""A survival this near to 0 or 1 is 0 or 1: a share summed day by day misses 1 by its last digits."""

LEAST_AT_RISK = 10
"""Fewer at risk than this and a risk is told with a warning (design, section 6)."""


@dataclass(frozen=True)
class RiskAt:
    """A risk by a horizon.

    Attributes
    ----------
    years : float
        The horizon asked for.
    told_at_years : float
        Where the curve was read: the horizon, or the last day of follow-up when that is earlier.
    risk, low, high : float
        Between 0 and 1.
    se : float
        The standard error that the limits rest on.
    at_risk, events : float
        Groins still followed at the horizon, and events up to it.
    effective : float
        Independent patients that those at risk are worth (Kish 1965).
    level : float
    warning : str
        Why the risk should be read with care; empty when there is nothing to say.
    """

    years: float
    told_at_years: float
    risk: float
    low: float
    high: float
    se: float
    at_risk: float
    events: float
    effective: float
    level: float
    warning: str

    def to_frame(self) -> pa.Table:
        """One row, one column an attribute."""
        return pa.Table.from_pylist([dict(self.__dict__)])

    def __str__(self) -> str:
        return wording.followup_risk(
            self.risk, self.low, self.high, self.years, self.at_risk, self.events, self.level, self.warning
        )


def log_log_limits(survival: Floats, se: Floats, effective: Floats, level: float) -> tuple[Floats, Floats]:
    """Limits of a survival on log(−log S); score limits where it is 1 or 0.

    Parameters
    ----------
    survival, se : (days,) float
    effective : (days,) float
        Number at risk that score limits rest on.
    """
    z = float(ndtri((1 + level) / 2))
    inside = (survival > ROUNDING) & (survival < 1 - ROUNDING)
    s = np.where(inside, survival, 0.5)
    log = np.log(s)
    spread = z * np.where(inside, se, 0.0) / (s * np.abs(log))
    middle = np.log(-log)
    low, high = np.exp(-np.exp(middle + spread)), np.exp(-np.exp(middle - spread))
    none = score_high(effective, level)
    low = np.where(inside, low, np.where(survival > 0.5, 1 - none, 0.0))
    high = np.where(inside, high, np.where(survival > 0.5, 1.0, none))
    return low, high


def score_high(number: Floats, level: float) -> Floats:
    """Wilson's upper limit of none among a number; 1 where there is nobody."""
    squared = float(ndtri((1 + level) / 2)) ** 2
    limit: Floats = np.where(number > 0, squared / (np.maximum(number, 0) + squared), 1.0)
    return limit


def step_at(days: Floats, values: Floats, at: Floats, before: float) -> Floats:
    """Value of a step function that jumps on its days."""
    place = np.searchsorted(days, at, side="right")
    step: Floats = np.concatenate([[before], values])[place]
    return step
