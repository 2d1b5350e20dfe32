"""Rows of follow-up come in, checked; days with their counts go out, on which every follow-up estimate works.

A row is one pattern of patients in one cell: ``n`` groins of each of ``weights`` patients, alike in days and outcome.
Events come before censorings at ties: who is censored on a day was at risk on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hingeline.errors import HingelineError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


MANY: Final = 20_000
BLOCK: Final = 1 << 17


@dataclass(frozen=True, eq=False)
class Rows:
    """Checked rows with somebody in them, and their place among the distinct days.

    Attributes
    ----------
    days : (days,) float, ascending
        Distinct days.
    at : (rows,) int
        Place of each row among them.
    outcome : (rows,) int
        0 censored, 1 the event, 2 the competing event.
    each : (rows,) float
        Weighted groins of one patient: ``n`` times the probability weight.
    n : (rows,) float
        Groins of one patient.
    patients : (rows,) float
    cluster : (rows,) int
        Code of the pattern, 0 upwards.
    clustered, weighted : bool
        Whether patterns were named, and whether there are probability weights.
    kept : (given rows,) bool
        Which of the rows that were given have somebody in them.
    """

    days: Floats
    at: Ints
    outcome: Ints
    each: Floats
    n: Floats
    patients: Floats
    cluster: Ints
    clustered: bool
    weighted: bool
    kept: NDArray[np.bool_]

    def by_day(self, amount: Floats, rows: NDArray[np.bool_] | None = None) -> Floats:
        """Sum an amount of each row by day, of all rows or of some."""
        at, of = (self.at, amount) if rows is None else (self.at[rows], amount[rows])
        summed: Floats = np.bincount(at, weights=of, minlength=self.days.size).astype(np.float64, copy=False)
        return summed

    def at_risk(self, amount: Floats) -> Floats:
        """Sum an amount of those at risk on each day: all who leave then or later."""
        return np.cumsum(self.by_day(amount)[::-1])[::-1]


def check_rows(
    days: ArrayLike,
    outcome: ArrayLike,
    n: ArrayLike | None = None,
    *,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    probability_weights: ArrayLike | None = None,
    aligned: bool = True,
) -> Rows:
    """Check rows of follow-up and number their days and patterns.

    Rows that need not stay in line with other columns (``aligned`` false) are counted first where they are many.

    Raises
    ------
    HingelineError
        When lengths differ, days are negative or missing, outcomes unknown, counts negative, or nobody is there.
    """
    if n is None and clusters is None and weights is None and probability_weights is None and not aligned:
        days, outcome, weights = tallied(days, outcome)
    time = column(days, "days")
    what = _outcomes(outcome, time.size)
    count = column(n, "n", time.size)
    patients = column(weights, "weights", time.size)
    chance = column(probability_weights, "probability_weights", time.size)
    kept = count * patients * chance > 0
    if not kept.any():
        raise HingelineError(
            "Nobody is followed", "arguments n, weights", "give at least one row with a groin in it"
        )
    held, at = np.unique(time[kept], return_inverse=True)
    named = cluster_codes(clusters, time.size)[kept]
    check_patterns(named, patients[kept])
    return Rows(
        held,
        at.astype(np.int64),
        what[kept],
        (count * chance)[kept],
        count[kept],
        patients[kept],
        named,
        clusters is not None,
        probability_weights is not None,
        kept,
    )


def tallied(days: ArrayLike, outcome: ArrayLike) -> tuple[ArrayLike, ArrayLike, Floats | None]:
    """Count long plain rows by day and outcome, without a sort; others, and impossible ones, come back as they are.

    Returns
    -------
    days, outcome, patients
        Patients are None where nothing was counted.
    """
    time, what = np.asarray(days), np.asarray(outcome)
    plain = time.ndim == 1 and time.shape == what.shape and time.size > MANY
    if not plain or time.dtype.kind not in "iu" or what.dtype.kind not in "iu":
        return days, outcome, None
    longest = int(time.max())
    if time.min() < 0 or what.min() < 0 or what.max() > 2 or longest > MANY:
        return days, outcome, None
    found = np.zeros(3 * (longest + 1), dtype=np.int64)
    for start in range(0, time.size, BLOCK):  # blocks stay in the processor's cache
        block = slice(start, start + BLOCK)
        code = time[block].astype(np.int32) * np.int32(3) + what[block].astype(np.int32)
        found += np.bincount(code, minlength=found.size)
    some = np.flatnonzero(found)
    return some // 3, some % 3, found[some].astype(np.float64)


def column(values: ArrayLike | None, name: str, rows: int | None = None) -> Floats:
    """Check one column of numbers of 0 or more; a column that is not given holds ones."""
    if values is None:
        return np.ones(rows or 0)
    taken = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if taken.ndim != 1 or (rows is not None and taken.size != rows):
        raise HingelineError("The rows differ in length", f"argument {name}", "give one number for each row")
    if not np.isfinite(taken).all() or (taken < 0).any():
        worst = int(np.flatnonzero(~(np.isfinite(taken) & (taken >= 0)))[0])
        raise HingelineError(
            f"{taken[worst]} is negative or missing",
            f"argument {name}, row {worst + 1}",
            "give numbers of 0 or more",
        )
    return taken


def cluster_codes(clusters: ArrayLike | None, rows: int) -> Ints:
    """Number patterns from 0; without any, every row is a pattern of its own."""
    if clusters is None:
        return np.arange(rows, dtype=np.int64)
    named = np.atleast_1d(np.asarray(clusters))
    if named.shape != (rows,):
        raise HingelineError(
            "The rows differ in length", "argument clusters", "give one pattern for each row"
        )
    return np.unique(named, return_inverse=True)[1].astype(np.int64)


def check_patterns(cluster: Ints, patients: Floats) -> None:
    """Refuse a pattern whose rows do not tell the same number of patients."""
    of = np.zeros(int(cluster.max(initial=-1)) + 1)
    of[cluster] = patients
    if (of[cluster] != patients).any():
        raise HingelineError(
            "The rows of one pattern tell different numbers of patients",
            "arguments clusters, weights",
            "give every row of a pattern the number of patients that have it",
        )


def group_codes(groups: ArrayLike | None, rows: int, name: str) -> tuple[Ints, tuple[str, ...]]:
    """Number groups or strata from 0 in the order of their names; without any, all are one."""
    if groups is None:
        return np.zeros(rows, dtype=np.int64), ("all",)
    named = np.atleast_1d(np.asarray(groups))
    if named.shape != (rows,):
        raise HingelineError("The rows differ in length", f"argument {name}", "give one name for each row")
    names, code = np.unique(named, return_inverse=True)
    return code.astype(np.int64), tuple(str(one) for one in names.tolist())


def check_level(level: float) -> None:
    """Refuse a coverage that is none."""
    if not 0 < level < 1:
        raise HingelineError(
            f"{level} is no coverage level", "argument level", "give a number between 0 and 1"
        )


def _outcomes(outcome: ArrayLike, rows: int) -> Ints:
    what = np.atleast_1d(np.asarray(outcome))
    if what.shape != (rows,):
        raise HingelineError(
            "Days and outcomes differ in length", "arguments days, outcome", "give one of each a row"
        )
    wrong = ~np.isin(what, (0, 1, 2))
    if wrong.any():
        place = int(np.flatnonzero(wrong)[0])
        raise HingelineError(
            f"{what[place]} is no outcome",
            f"argument outcome, row {place + 1}",
            "use 0 for censored, 1 for the event and 2 for the competing event",
        )
    return what.astype(np.int64)
