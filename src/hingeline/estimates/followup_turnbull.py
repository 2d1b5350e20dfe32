"""Events known only to lie between two days come in, the share that had them goes out: Turnbull's estimator.

Turnbull, J R Stat Soc B 1976;38:290–295. A recurrence found at a visit arose after the last visit without one, so its
day is a stretch; the share by a day may then be a stretch as well, which is the answer. No limits go with it: the
estimate converges with the cube root of n, where the ordinary bootstrap fails (Groeneboom & Wellner 1992).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.followup_curve import check_horizon
from hingeline.estimates.followup_rows import Floats, Ints, column
from hingeline.estimates.followup_turnbull_solve import solve_masses
from hingeline.vocabulary import DAYS_PER_YEAR


@dataclass(frozen=True)
class IntervalRisk:
    """A risk by a horizon that the visits may leave open.

    Attributes
    ----------
    years : float
    low, high : float
        Least and greatest share by the horizon; equal where the visits tell it.
    """

    years: float
    low: float
    high: float

    def to_frame(self) -> pa.Table:
        """One row, one column an attribute."""
        return pa.Table.from_pylist([dict(self.__dict__)])

    def __str__(self) -> str:
        return wording.followup_interval_risk(self.low, self.high, self.years)


@dataclass(frozen=True, eq=False)
class IntervalCurve:
    """Where the mass of events lies.

    Attributes
    ----------
    after, upto : (steps,) float
        Days between which each mass lies: after the first, up to and with the second; equal when it lies on one day.
        The last may be open (infinite): those whose event is not seen.
    mass : (steps,) float
    groins, found : float
        All groins, and those whose event was found.
    log_likelihood, gap : float
        Reached, and how far below its maximum that can be at most.
    unique : bool or None
        Whether no other masses reach the same likelihood; None when there are too many places to tell.
    rounds : int
    """

    after: Floats
    upto: Floats
    mass: Floats
    groins: float
    found: float
    log_likelihood: float
    gap: float
    unique: bool | None
    rounds: int

    def risk(self, years: float) -> IntervalRisk:
        """Share with the event by a horizon in years."""
        low, high = self.risk_at_days(years * DAYS_PER_YEAR)
        return IntervalRisk(years, low, high)

    def risk_at_days(self, days: float) -> tuple[float, float]:
        """Least and greatest share with the event by a day.

        The least takes every mass at the end of its stretch, the greatest at its beginning.
        """
        check_horizon(days)
        begun = (self.after < days) | ((self.after == self.upto) & (self.after <= days))
        return float(self.mass[self.upto <= days].sum()), float(self.mass[begun].sum())

    def quantile_days(self, share: float) -> tuple[float, float]:
        """Stretch of days in which a share of events is first reached."""
        place = int(np.searchsorted(np.cumsum(self.mass), share - 1e-12, side="left"))
        place = min(place, self.mass.size - 1)
        return float(self.after[place]), float(self.upto[place])

    def median_years(self) -> tuple[float, float]:
        """Stretch of years in which half are first reached; open (infinite) when it is not seen."""
        low, high = self.quantile_days(0.5)
        return low / DAYS_PER_YEAR, high / DAYS_PER_YEAR

    def to_frame(self) -> pa.Table:
        """One row a mass, with the share by its end."""
        share = np.cumsum(self.mass)
        return pa.table({"after": self.after, "upto": self.upto, "mass": self.mass, "share": share})

    def __str__(self) -> str:
        return wording.followup_interval_curve(self.groins, self.found, self.mass.size, self.gap)


def turnbull(
    left: ArrayLike, right: ArrayLike, n: ArrayLike | None = None, *, weights: ArrayLike | None = None
) -> IntervalCurve:
    """Share with an event that is known only to lie between two days.

    Parameters
    ----------
    left, right : array_like, (rows,)
        The event lies after ``left`` and up to ``right``; ``right`` is infinite when no event was found, and equal to
        ``left`` when the day is known.
    n, weights : array_like or None, (rows,)
        As in `survival`.

    Raises
    ------
    HingelineError
        When days are impossible, a right end lies before its left, or nobody is there.
    """
    a = column(left, "left")
    b = np.atleast_1d(np.asarray(right, dtype=np.float64))
    if a.shape != b.shape:
        raise HingelineError(
            "The rows differ in length", "arguments left, right", "give two days for each row"
        )
    groins = column(n, "n", a.size) * column(weights, "weights", a.size)
    wrong = ~(b >= a)
    if wrong.any():
        place = int(np.flatnonzero(wrong)[0])
        raise HingelineError(
            "A stretch ends before it begins, or its end is missing",
            f"arguments left, right, row {place + 1}",
            "give a right end at or after the left one, infinite when no event was found",
        )
    held = groins > 0
    if not held.any():
        raise HingelineError(
            "Nobody is followed", "arguments n, weights", "give at least one row with a groin in it"
        )
    a, b, groins = a[held], b[held], groins[held]
    after, upto, first, last = _places(a, b)
    found = solve_masses(first, last, groins, after.size, bool(np.isinf(upto[-1])))
    some = found.mass > 1e-12
    return IntervalCurve(
        after[some],
        upto[some],
        found.mass[some] / found.mass[some].sum(),
        float(groins.sum()),
        float(groins[np.isfinite(b)].sum()),
        found.log_likelihood,
        found.gap,
        found.unique,
        found.rounds,
    )


def _places(left: Floats, right: Floats) -> tuple[Floats, Floats, Ints, Ints]:
    """Innermost stretches, the only ones that can hold mass, and which of them each row spans.

    On one day a known day begins first, then ends are reached, then stretches open: (2, 5] and (5, 9] do not meet,
    a known day 5 lies within the first.
    """
    known = left == right
    begins = np.stack([left, np.where(known, 0.0, 2.0)])
    ends = np.stack([right, np.ones_like(right)])
    marks = np.unique(np.concatenate([begins, ends], axis=1), axis=1)
    is_end = marks[1] == 1.0
    inner = np.flatnonzero(~is_end[:-1] & is_end[1:])
    # places by rank among all marks: a row spans the innermost stretches that begin and end within it
    start_rank = _rank(marks, begins)
    end_rank = _rank(marks, ends)
    first = np.searchsorted(inner, start_rank, side="left")
    last = np.searchsorted(inner + 1, end_rank, side="right") - 1
    return marks[0, inner], marks[0, inner + 1], first.astype(np.int64), last.astype(np.int64)


def _rank(marks: Floats, of: Floats) -> Ints:
    """Place of each (day, kind) among the sorted marks."""
    days = np.unique(marks[0])
    code = np.searchsorted(days, marks[0]) * 3 + marks[1].astype(np.int64)
    wanted = np.searchsorted(days, of[0]) * 3 + of[1].astype(np.int64)
    rank: Ints = np.searchsorted(code, wanted).astype(np.int64)
    return rank
