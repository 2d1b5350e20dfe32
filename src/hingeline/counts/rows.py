"""Rows for the estimators: each patient pattern's groins and directs by hospital and age bin, as arrays.

A tally comes in, arrays go out. A bin sits at the mean age of its own cases, not at its middle, so that the
only thing lost against the rows of patients is the spread of ages within a bin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .. import wording
from ..errors import HingelineError
from ..vocabulary import DAYS_PER_YEAR, TYPES
from .cells import add, codes_of, combine, levels_of
from .patterns import merge, spread

if TYPE_CHECKING:
    from .tally import PatternTally

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AgeRows:
    """What `fit_hinges` and its kin take.

    Attributes
    ----------
    age_years : array, shape (rows,)
        Mean age of all cases of the row's cell: Σ days / n / 365.25.
    direct, total : array of int, shape (rows,)
        Groins of one patient with the row's pattern, in the row's cell.
    groups : array of int, shape (rows,)
        Place of the hospital in ``hospitals``.
    clusters : array of int, shape (rows,), or None
        Pattern of the row; None once rows are collapsed to cells.
    weights : array of int, shape (rows,)
        Patients with the pattern.
    hospitals : tuple of str
    cell : array of int, shape (rows,)
        Row of ``cells``.
    cells : pyarrow.Table
        One row a hospital (and further dimension) and age bin: ``age_bin``, ``direct``, ``n``, ``days``,
        ``days2``, ``age_years``.
    """

    age_years: Floats
    direct: Ints
    total: Ints
    groups: Ints
    clusters: Ints | None
    weights: Ints
    hospitals: tuple[str, ...]
    cell: Ints
    cells: pa.Table

    @property
    def n_groins(self) -> int:
        """Groins counted."""
        return int((self.total * self.weights).sum())

    @property
    def n_direct(self) -> int:
        """Groins counted as direct."""
        return int((self.direct * self.weights).sum())

    @property
    def n_patients(self) -> int:
        """Patients counted; after `collapse`, patients are no longer told apart and cells are counted."""
        if self.clusters is None:
            return int(self.weights.sum())
        _, first = np.unique(self.clusters, return_index=True)
        return int(self.weights[first].sum())

    def collapse(self) -> AgeRows:
        """Add up the patterns: one row a cell, patients no longer told apart."""
        columns = {name: np.asarray(self.cells[name].to_numpy()) for name in ("age_years", "direct", "n")}
        return AgeRows(
            age_years=columns["age_years"],
            direct=columns["direct"],
            total=columns["n"],
            groups=codes_of(self.cells["hospital"], self.hospitals),
            clusters=None,
            weights=np.ones(self.cells.num_rows, dtype=np.int64),
            hospitals=self.hospitals,
            cell=np.arange(self.cells.num_rows, dtype=np.int64),
            cells=self.cells,
        )

    def to_frame(self) -> pa.Table:
        """Return the rows as a table."""
        columns = {
            "hospital": pa.array([self.hospitals[group] for group in self.groups], pa.string()),
            "age_bin": self.cells["age_bin"].take(self.cell),
            "age_years": pa.array(self.age_years),
            "direct": pa.array(self.direct),
            "total": pa.array(self.total),
            "patients": pa.array(self.weights),
        }
        if self.clusters is not None:
            columns["pattern"] = pa.array(self.clusters)
        return pa.table(columns)

    def __str__(self) -> str:
        return wording.age_rows(self.n_direct, self.n_groins, len(self.hospitals))


def age_rows(tally: PatternTally, direct: Sequence[str], among: Sequence[str], by: Sequence[str]) -> AgeRows:
    """Make the rows of a tally; see `PatternTally.age_rows`."""
    strange = [name for name in (*direct, *among) if name not in TYPES]
    if strange or not direct or not set(direct) <= set(among) or "hospital" not in by:
        raise HingelineError(
            f"There is no hernia of type {strange[0]!r}" if strange else "These types give no direct share",
            "direct, among, by",
            "Every type in 'direct' must stand in 'among', there must be one, and 'by' must hold 'hospital'.",
        )
    chosen = tally.where(type=tuple(among))
    types = chosen.cells["type"].to_pylist()
    is_direct = np.array([name in direct for name in types], dtype=np.int64)
    # cells first lose all but what the estimate needs, so that patterns that become equal are one row
    fine = chosen.cells.append_column("is_direct", pa.array(is_direct)).append_column(
        "direct", pa.array(chosen.cells["n"].to_numpy() * is_direct)
    )
    sums = ("n", "days", "days2", "direct")
    halves, to_half = combine(fine, (*by, "age_bin", "is_direct"), sums)
    cells, to_cell = combine(halves, (*by, "age_bin"), sums)
    mean = np.asarray(cells["days"].to_numpy()) / np.maximum(cells["n"].to_numpy(), 1) / DAYS_PER_YEAR
    cells = cells.append_column("age_years", pa.array(mean))
    owner, fine_cell = spread(*chosen.long())
    patterns = merge(owner, to_half[fine_cell], chosen.patients())
    seen = np.asarray(halves["is_direct"].to_numpy(), dtype=np.int64)[patterns.cell]
    # a pattern's directs and others of one cell are two neighbouring rows, or one
    key = patterns.pattern * max(cells.num_rows, 1) + to_cell[patterns.cell]
    _, first, row = np.unique(key, return_index=True, return_inverse=True)
    cell = to_cell[patterns.cell[first]]
    pattern = patterns.pattern[first]
    hospitals = tuple(str(name) for name in levels_of(cells["hospital"]))
    return AgeRows(
        age_years=mean[cell],
        direct=add(patterns.groins * seen, row, first.size),
        total=add(patterns.groins, row, first.size),
        groups=codes_of(cells["hospital"], hospitals)[cell],
        clusters=pattern,
        weights=patterns.patients[pattern],
        hospitals=hospitals,
        cell=cell,
        cells=cells.drop_columns(["cell"]),
    )
