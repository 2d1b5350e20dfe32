"""Rows for the estimators of follow-up: days, outcome and how many, with the patients whose groins they are.

A follow-up tally comes in, arrays go out, in the house's convention: a row is one pattern of patients in one cell,
with ``n`` groins of each such patient and ``weights`` patients; so the row stands for ``n * weights`` groins.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from .. import wording
from ..errors import HingelineError
from ..vocabulary import DAYS_PER_YEAR
from .cells import codes_of, levels_of
from .followup_fields import OUTCOMES
from .tally import PatternTally

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

AGE_BAND: Final = "age_band"


@dataclass(frozen=True)
class FollowUpRows:
    """What the estimators of follow-up take.

    Attributes
    ----------
    days : array of int, shape (rows,)
        Whole days followed from the operation.
    outcome : array of int, shape (rows,)
        What ended it: 0 censored, 1 the event, 2 death.
    n : array of int, shape (rows,)
        Groins of one patient with the row's pattern, in the row's cell.
    clusters : array of int, shape (rows,), or None
        Pattern of the row: two groins of one patient have one. None when patients were not counted.
    weights : array of int, shape (rows,)
        Patients with the pattern.
    age_years : array, shape (rows,)
        Mean age of the cases of the row's cell: Σ days / n / 365.25.
    left, right : array, shape (rows,)
        Between which days the event came, after ``left`` and up to ``right``: an event from the last day on which the
        groin was known to be well (the operation, where none is told) to the day it was found; otherwise
        from the days followed to infinity.
    codes : mapping of str to array of int, shape (rows,)
        For each dimension the place of the row's value in ``levels``.
    levels : mapping of str to tuple
    age_bin : array of int, shape (rows,)
    edges_years : array
        Edges of the age bins.
    """

    days: Ints
    outcome: Ints
    n: Ints
    clusters: Ints | None
    weights: Ints
    age_years: Floats
    left: Floats
    right: Floats
    codes: Mapping[str, Ints]
    levels: Mapping[str, tuple[Any, ...]]
    age_bin: Ints
    edges_years: Floats

    @property
    def dimensions(self) -> tuple[str, ...]:
        """Names of the dimensions."""
        return tuple(self.codes)

    @property
    def n_groins(self) -> int:
        """Groins followed."""
        return int((self.n * self.weights).sum())

    @property
    def n_events(self) -> int:
        """Groins with the event."""
        return int((self.n * self.weights)[self.outcome == 1].sum())

    @property
    def n_deaths(self) -> int:
        """Groins whose patient died before an event."""
        return int((self.n * self.weights)[self.outcome == 2].sum())

    @property
    def days_followed(self) -> int:
        """Days followed, all groins together."""
        return int((self.n * self.weights * self.days).sum())

    @property
    def person_years(self) -> float:
        """Years followed, all groins together."""
        return self.days_followed / DAYS_PER_YEAR

    def values(self, name: str) -> pa.Array[Any]:
        """Return a dimension's value of each row."""
        self._check(name)
        values: pa.Array[Any] = pa.array(list(self.levels[name])).take(pa.array(self.codes[name]))
        return values

    def where(self, **conditions: Any) -> FollowUpRows:
        """Keep the rows whose dimensions have a value, or one of some values: ``where(repair="mesh")``."""
        keep = np.ones(self.days.size, dtype=np.bool_)
        for name, wanted in conditions.items():
            self._check(name)
            several = isinstance(wanted, Iterable) and not isinstance(wanted, str)
            allowed = set(wanted) if several else {wanted}
            fits = np.array([level in allowed for level in self.levels[name]], dtype=np.bool_)
            keep &= fits[self.codes[name]]
        return self.take(keep)

    def between(self, youngest: float, oldest: float) -> FollowUpRows:
        """Keep the operations from one age up to but not including another, in years, both edges of age bins."""
        codes, _ = _banded(self.age_bin, self.edges_years, (youngest, oldest))
        return self.take(codes == 0)

    def take(self, keep: NDArray[Any]) -> FollowUpRows:
        """Keep some rows, by mask or by place."""
        return FollowUpRows(
            days=self.days[keep],
            outcome=self.outcome[keep],
            n=self.n[keep],
            clusters=None if self.clusters is None else self.clusters[keep],
            weights=self.weights[keep],
            age_years=self.age_years[keep],
            left=self.left[keep],
            right=self.right[keep],
            codes={name: codes[keep] for name, codes in self.codes.items()},
            levels=self.levels,
            age_bin=self.age_bin[keep],
            edges_years=self.edges_years,
        )

    def banded(self, edges: Sequence[float]) -> FollowUpRows:
        """Add the dimension ``age_band``.

        Parameters
        ----------
        edges : sequence of float
            Ages in years, rising, each an edge of an age bin; the last band is open. Operations at ages below the
            first edge are left out; edges above the last bin's are, too, since it cannot be parted.

        Returns
        -------
        FollowUpRows
            Its levels are names as `wording.age_band` writes them, from young to old.
        """
        bounds = (*(edge for edge in edges if edge <= self.edges_years[-2]), np.inf)
        codes, names = _banded(self.age_bin, self.edges_years, bounds)
        keep = codes >= 0
        rows = self.take(keep)
        return FollowUpRows(
            **{name: getattr(rows, name) for name in FollowUpRows.__dataclass_fields__}
            | {
                "codes": {**rows.codes, AGE_BAND: codes[keep]},
                "levels": {**rows.levels, AGE_BAND: names},
            }
        )

    def groups(self, name: str) -> list[tuple[Any, FollowUpRows]]:
        """Part the rows by a dimension: each value that has rows, in order, with its rows."""
        self._check(name)
        parts = [(level, self.codes[name] == place) for place, level in enumerate(self.levels[name])]
        return [(level, self.take(mask)) for level, mask in parts if mask.any()]

    def arrays(self) -> dict[str, Any]:
        """Return the five arrays by the names that estimators give them."""
        return {
            "days": self.days,
            "outcome": self.outcome,
            "n": self.n,
            "clusters": self.clusters,
            "weights": self.weights,
        }

    def to_frame(self) -> pa.Table:
        """Return the rows as a table."""
        columns = {name: self.values(name) for name in self.codes}
        columns |= {name: pa.array(getattr(self, name)) for name in ("days", "outcome", "n", "weights")}
        columns |= {name: pa.array(getattr(self, name)) for name in ("age_years", "left", "right")}
        if self.clusters is not None:
            columns["pattern"] = pa.array(self.clusters)
        return pa.table(columns)

    def __str__(self) -> str:
        return wording.follow_up_tally(self.n_groins, self.n_events, self.n_deaths, 0, self.person_years)

    def _check(self, name: str) -> None:
        if name not in self.codes:
            raise HingelineError(
                f"The follow-up rows do not have {name!r}",
                "the dimensions of the rows",
                f"They have {wording.listed(self.dimensions)}; count by what is wanted, or call banded() for ages.",
            )


def follow_up_rows(tally: PatternTally, patients: bool) -> FollowUpRows:
    """Make the rows of a tally counted by ``outcome`` and ``followed_days``: its groins with follow-up only."""
    cells = tally.cells
    kinds = levels_of(cells["outcome"])
    place = np.array([OUTCOMES.index(kind) if kind in OUTCOMES else -1 for kind in kinds], dtype=np.int64)
    of_cell = place[codes_of(cells["outcome"], kinds)] if cells.num_rows else np.empty(0, dtype=np.int64)
    if patients:
        pattern, cell, n = tally.long()
        weights = tally.patients()[pattern]
    else:
        cell = np.arange(cells.num_rows, dtype=np.int64)
        n = np.asarray(cells["n"].to_numpy(), dtype=np.int64)
        pattern, weights = cell, np.ones(cell.size, dtype=np.int64)
    inside = of_cell[cell] >= 0
    cell, n, pattern, weights = cell[inside], n[inside], pattern[inside], weights[inside]
    days = _whole(cells, "followed_days")[cell]
    outcome = of_cell[cell]
    ages = np.asarray(cells["days"].to_numpy()) / np.maximum(cells["n"].to_numpy(), 1) / DAYS_PER_YEAR
    well = (
        _whole(cells, "well_days")[cell] if "well_days" in tally.by else np.zeros(cell.size, dtype=np.int64)
    )
    left = np.where(outcome == 1, well, days).astype(np.float64)
    # found on the day of operation: the interval is that day
    right = np.where(outcome == 1, np.maximum(days, left + 1), np.inf)
    names = [name for name in tally.by if name not in ("outcome", "followed_days", "well_days")]
    levels = {name: tuple(levels_of(cells[name])) for name in names}
    return FollowUpRows(
        days=days,
        outcome=outcome,
        n=n,
        clusters=pattern if patients else None,
        weights=weights,
        age_years=ages[cell],
        left=left,
        right=right,
        codes={name: codes_of(cells[name], levels[name])[cell] for name in names},
        levels=levels,
        age_bin=np.asarray(cells["age_bin"].to_numpy(), dtype=np.int64)[cell],
        edges_years=tally.edges_years,
    )


def _whole(cells: pa.Table, name: str) -> Ints:
    return np.asarray(pc.fill_null(cells[name], pa.scalar(0, cells[name].type)).to_numpy(), dtype=np.int64)


def _banded(age_bin: Ints, edges_years: Floats, bounds: Sequence[float]) -> tuple[Ints, tuple[str, ...]]:
    """Place age bins among bounds; -1 outside them."""
    finite = [bound for bound in bounds if np.isfinite(bound)]
    rising = all(low < high for low, high in itertools.pairwise(bounds))
    if len(bounds) < 2 or not rising or not all(np.isclose(edges_years, bound).any() for bound in finite):
        raise HingelineError(
            f"Ages cannot be parted at {wording.listed([wording.number(bound, 2) for bound in finite])}",
            "edges of the age bands",
            "Give ages in years that rise, each of them an edge of the age bins: half or whole years.",
        )
    lower = edges_years[age_bin]
    codes = np.searchsorted(np.asarray(bounds, dtype=np.float64), lower + 1e-9, side="right") - 1
    codes = np.where(codes >= len(bounds) - 1, -1, codes)
    names = tuple(wording.age_band(low, high) for low, high in itertools.pairwise(bounds))
    return codes.astype(np.int64), names
