"""Risks at a few horizons under many sets of weights: follow-up comes in once, weights come in by the thousand.

The work for a bootstrap. A risk by a horizon changes only where an event happened, so every row is first put
between two events; a set of weights then costs one count of its rows and sums as long as the days with an event.
Kaplan & Meier, JASA 1958;53:457–481; with a competing event Aalen & Johansen, Scand J Stat 1978;5:141–150.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hingeline.errors import HingelineError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class RiskKernel:
    """Where each row leaves and what happened there, ready for any weights. Made by `risk_kernel`.

    Attributes
    ----------
    code : (rows,) int
        Rows without an event: between which days with an event they leave, 0 to K. Rows with one: K + 1 + the day's
        place for the event, 2K + 1 + it for the competing event.
    event_days : (K,) float
        Distinct days with an event, ascending.
    horizons_days : (H,) float
    upto : (H,) int
        How many of the days lie at or before each horizon.
    competing : bool
    """

    code: Ints
    event_days: Floats
    horizons_days: Floats
    upto: Ints
    competing: bool

    def risks(self, weights: ArrayLike) -> Floats:
        """Weighted risks by each horizon.

        Parameters
        ----------
        weights : array_like, (replicates, rows) or (rows,)
            Groins that each row stands for, 0 or more; real numbers are meant.

        Returns
        -------
        array, (replicates, horizons) or (horizons,)
            nan where nobody has any weight. Beyond the last day the risk stays as it was.
        """
        given = np.asarray(weights, dtype=np.float64)
        rows = np.atleast_2d(given)
        if rows.ndim != 2 or rows.shape[1] != self.code.size:
            raise HingelineError(
                "The weights do not fit the rows",
                "argument weights",
                "give one weight for each row, one line for each replicate",
            )
        days = self.event_days.size
        causes = 2 if self.competing else 1
        size = days * (1 + causes) + 1
        sums = np.empty((rows.shape[0], size))
        for place, one in enumerate(rows):  # a count a replicate reads the weights once and copies nothing
            sums[place] = np.bincount(self.code, weights=one, minlength=size)
        events = sums[:, days + 1 : 2 * days + 1]
        every = events + sums[:, 2 * days + 1 :] if self.competing else events
        leaving = sums[:, : days + 1]
        # those who leave on or after a day with an event are at risk on it
        later = leaving[:, 1:] + every
        at_risk = np.cumsum(later[:, ::-1], axis=1)[:, ::-1]
        somebody = at_risk > 0
        divisor = np.where(somebody, at_risk, 1.0)
        kept = np.clip(1.0 - every / divisor, 0.0, 1.0)
        free = np.cumprod(kept, axis=1)
        if self.competing:
            before = np.concatenate([np.ones((rows.shape[0], 1)), free[:, :-1]], axis=1)
            risk: Floats = np.cumsum(before * events / divisor, axis=1)
        else:
            risk = np.asarray(1.0 - free, dtype=np.float64)
        risk = np.concatenate([np.zeros((rows.shape[0], 1)), risk], axis=1)[:, self.upto]
        risk[sums.sum(axis=1) <= 0] = np.nan
        return np.asarray(risk if given.ndim == 2 else risk[0], dtype=np.float64)


def risk_kernel(
    days: ArrayLike, outcome: ArrayLike, horizons_days: ArrayLike, *, competing: bool = False
) -> RiskKernel:
    """Prepare rows for `RiskKernel.risks`.

    Parameters
    ----------
    days : array_like, (rows,)
        Days followed from operation, 0 or more.
    outcome : array_like of int, (rows,)
        0 censored, 1 the event, 2 the competing event.
    horizons_days : array_like, (horizons,)
    competing : bool
        Whether a competing event ends the risk (Aalen–Johansen); otherwise it censors (Kaplan–Meier).

    Raises
    ------
    HingelineError
        When days are negative or not numbers, outcomes are others, lengths differ or a horizon is negative.
    """
    time = np.atleast_1d(np.asarray(days, dtype=np.float64))
    what = np.atleast_1d(np.asarray(outcome))
    horizons = np.atleast_1d(np.asarray(horizons_days, dtype=np.float64))
    if time.ndim != 1 or time.shape != what.shape:
        raise HingelineError(
            "Days and outcomes differ in length", "arguments days, outcome", "give one of each a row"
        )
    if not (np.isfinite(time) & (time >= 0)).all():
        raise HingelineError(
            "Some days followed are negative or missing", "argument days", "give days of 0 or more"
        )
    if not np.isin(what, (0, 1, 2)).all():
        raise HingelineError(
            "Some outcomes are unknown", "argument outcome", "use 0 censored, 1 event, 2 competing event"
        )
    if not (horizons >= 0).all():
        raise HingelineError("A horizon is negative", "argument horizons_days", "give days of 0 or more")
    counted = (what == 1) | ((what == 2) & competing)
    event_days = np.unique(time[counted])
    number = event_days.size
    code = np.searchsorted(event_days, time, side="right").astype(np.int64)
    on = np.searchsorted(event_days, time[counted], side="left")
    code[counted] = number + 1 + on + np.where(what[counted] == 2, number, 0)
    upto = np.searchsorted(event_days, horizons, side="right").astype(np.int64)
    return RiskKernel(code, event_days, horizons, upto, competing)


def weighted_risks(
    days: ArrayLike,
    outcome: ArrayLike,
    weights: ArrayLike,
    horizons_days: ArrayLike,
    *,
    competing: bool = False,
) -> Floats:
    """Weighted risks by each horizon, once for every line of weights: (replicates, horizons).

    `risk_kernel` and its ``risks`` in one; arguments, returns and errors are theirs. Events come before censorings at
    ties.
    """
    return risk_kernel(days, outcome, horizons_days, competing=competing).risks(weights)
