"""The bootstrap over patients: patterns of patients come in, a statistic of each redrawn set goes out.

A pattern is what one patient contributes (one groin, two, any number of cells); patients of one pattern are
alike, so redrawing patients is drawing the patterns' numbers from a multinomial distribution (Efron, Ann Stat
1979;7:1; over clusters, Davison & Hinkley, Bootstrap Methods, 1997, 3.8). Replicate i is made from the seed
and i alone: two statistics under one seed see the same patients and can be compared pair by pair.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_array

from hingeline.errors import HingelineError
from hingeline.estimates.cells import open_unit
from hingeline.estimates.hinge_rows import Rows
from hingeline.estimates.parallel import Progress, run_tasks

Array = NDArray[np.float64]
Counts = NDArray[np.int64]
Statistic = Callable[[Counts], ArrayLike]

FEW_PATIENTS: Final = 8
"""Up to so many patients a pattern it is quicker to draw patients one by one than patterns' binomials."""


@dataclass(frozen=True)
class Patients:
    """How many patients there are of each pattern.

    Attributes
    ----------
    weights : array of int, shape (patterns,)
    """

    weights: Counts

    @property
    def number(self) -> int:
        """All patients."""
        return int(self.weights.sum())

    @cached_property
    def pattern_of_patient(self) -> Counts:
        """The pattern of each patient, shape (patients,): looked up once, it need not be searched for in each draw."""
        return np.repeat(np.arange(self.weights.size), self.weights)

    def draw(self, seed: int, replicate: int) -> Counts:
        """As many patients again, drawn with replacement: how many of each pattern, shape (patterns,)."""
        stream = np.random.SeedSequence(seed, spawn_key=(replicate,))
        generator = np.random.Generator(np.random.Philox(stream))
        patterns, number = self.weights.size, self.number
        if number > FEW_PATIENTS * patterns:
            return generator.multinomial(number, self.weights / number).astype(np.int64)
        drawn = self.pattern_of_patient[generator.integers(number, size=number)]
        return np.bincount(drawn, minlength=patterns).astype(np.int64)


@dataclass(frozen=True)
class _Redraw:
    """What a process does with the number of a replicate; a class, so that it can be sent to one."""

    statistic: Statistic
    patients: Patients
    seed: int

    def __call__(self, replicate: int) -> Array:
        value = self.statistic(self.patients.draw(self.seed, replicate))
        return np.atleast_1d(np.asarray(value, dtype=np.float64))


def resample(
    statistic: Statistic,
    pattern_weights: ArrayLike,
    *,
    replicates: int,
    seed: int,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Array:
    """Bootstrap any statistic of patterns' counts.

    Parameters
    ----------
    statistic : callable
        Takes the number of patients of each pattern, shape (patterns,); returns a number, or always as many.
    pattern_weights : array_like of int, shape (patterns,)
        Patients of each pattern in the data.
    replicates : int
    seed : int
    workers : int or None
        Processes at most; None is one a core. The result is the same for any number.
    progress : callable or None
        Told (done, of).

    Returns
    -------
    array, shape (replicates, values)

    Raises
    ------
    HingelineError
        When weights are not whole numbers of patients, or replicates, seed or workers are impossible.
    """
    patients = Patients(checked_weights(pattern_weights))
    checked_seed(seed)

    return run_tasks(_Redraw(statistic, patients, seed), replicates, workers=workers, progress=progress)


def percentile_interval(values: ArrayLike, level: float = 0.95) -> tuple[float, float]:
    """Percentile limits of replicates, of which some may be infinite.

    Order statistics at (R + 1)α/2 and (R + 1)(1 − α/2), with a line between neighbours (Davison & Hinkley,
    Bootstrap Methods and their Application, 1997, 5.2–5.3); a limit beside an infinite neighbour is
    infinite, so an interval opens when more than α/2 of the replicates lie beyond the ages. Replicates that
    are not a number leave; without any other the limits are not a number.
    """
    open_unit(level, "level")
    ordered = np.sort(np.asarray(values, dtype=np.float64).ravel())
    ordered = ordered[~np.isnan(ordered)]
    if ordered.size == 0:
        return np.nan, np.nan
    tail = (1 - level) / 2
    return (
        _between(ordered, (ordered.size + 1) * tail - 1, outward=-1),
        _between(ordered, (ordered.size + 1) * (1 - tail) - 1, outward=1),
    )


def checked_weights(weights: ArrayLike) -> Counts:
    """Whole numbers of patients, or a refusal."""
    try:
        values = np.asarray(weights, dtype=np.float64)
    except (TypeError, ValueError):
        raise HingelineError(
            "A weight is not a number", "pattern_weights", "give numbers of patients"
        ) from None
    if values.ndim != 1 or values.size == 0:
        raise HingelineError(
            "There are no patterns", "pattern_weights", "give one number of patients a pattern"
        )
    bad = ~np.isfinite(values) | (values < 0) | (values != np.floor(values))
    if np.any(bad):
        raise HingelineError(
            "A weight is not a number of patients",
            f"pattern_weights, pattern {int(np.argmax(bad))} (counted from 0)",
            "give whole numbers of 0 or more",
        )
    if values.sum() == 0:
        raise HingelineError("There are no patients", "pattern_weights", "give at least one patient")
    return values.astype(np.int64)


def checked_seed(seed: int) -> int:
    """A seed that streams can be made from, or a refusal."""
    if isinstance(seed, bool) or not isinstance(seed, int | np.integer) or seed < 0:
        raise HingelineError(f"The seed is {seed!r}", "argument seed", "give a whole number of 0 or more")
    return int(seed)


@dataclass(frozen=True)
class CellDraws:
    """Patients' patterns with the cells they lie in; a replicate's counts by cell come out.

    Attributes
    ----------
    patients : Patients
    direct, total : sparse array, shape (cells, patterns)
        Cases that one patient of the pattern has in the cell.
    """

    patients: Patients
    direct: csr_array
    total: csr_array

    def draw(self, seed: int, replicate: int) -> tuple[Array, Array]:
        """Direct cases and all cases by cell of one redrawn set of patients."""
        counts = self.patients.draw(seed, replicate).astype(np.float64)
        return self.direct @ counts, self.total @ counts

    def whole(self) -> tuple[Array, Array]:
        """Direct cases and all cases by cell of the patients as they are."""
        counts = self.patients.weights.astype(np.float64)
        return self.direct @ counts, self.total @ counts


def cell_draws(rows: Rows, cell_of_row: NDArray[np.int64], cells: int) -> CellDraws:
    """Arrange rows for drawing patients.

    With clusters, row i belongs to a patient of pattern ``clusters[i]``. Without, nothing says which groins
    are one patient's, and every groin is drawn as if it were a patient: a row gives one pattern of direct
    and one of other cases.
    """
    if rows.clusters is not None:
        pattern, cell, direct, total = rows.clusters, cell_of_row, rows.direct, rows.total
        weights = np.zeros(int(pattern.max()) + 1)
        weights[pattern] = rows.weights
    else:
        size = rows.direct.size
        pattern = np.arange(2 * size)
        cell = np.concatenate([cell_of_row, cell_of_row])
        direct = np.concatenate([np.ones(size), np.zeros(size)])
        total = np.ones(2 * size)
        weights = np.concatenate([rows.weights * rows.direct, rows.weights * (rows.total - rows.direct)])
    shape = (cells, weights.size)
    return CellDraws(
        Patients(checked_weights(weights)),
        csr_array((direct, (cell, pattern)), shape=shape),
        csr_array((total, (cell, pattern)), shape=shape),
    )


def _between(ordered: Array, place: float, outward: int) -> float:
    """Value at a place between two order statistics; where one is infinite, the one further out."""
    place = min(max(round(place, 9), 0.0), ordered.size - 1.0)  # 0.025 is no binary number
    low, high = ordered[int(np.floor(place))], ordered[int(np.ceil(place))]
    if low == high:
        return float(low)
    if np.isinf(low) or np.isinf(high):
        return float(high if outward > 0 else low)
    return float(low + (place - np.floor(place)) * (high - low))
