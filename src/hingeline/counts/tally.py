"""The tally of patient patterns and its margins: the only thing that estimates ever see.

Cells and patterns come in from `counting`; restricted tallies, margins and rows for the estimators go out, in
integers. The age tally is a margin of it; robust errors and the bootstrap over patients come from it exactly.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq
from numpy.typing import NDArray

from .. import wording
from ..errors import HingelineError
from ..vocabulary import FIELD
from .bins import edges_years, n_bins
from .cells import SUMS, add, codes_of, combine, levels_of
from .patterns import Patterns, merge, runs, spread
from .rows import AgeRows, age_rows

Ints = NDArray[np.int64]

FORMAT: Final = 1
"""Version of the saved form."""
FILES: Final = ("cells", "patterns", "weights")


@dataclass(frozen=True)
class PatternTally:
    """Counts of groins by cell and of patients by pattern of cells.

    Attributes
    ----------
    cells : pyarrow.Table
        ``cell``, the dimensions, ``age_bin``, ``n`` (groins), ``days`` (Σ age), ``days2`` (Σ age²).
    patterns : pyarrow.Table
        ``pattern``, ``cell``, ``groins``: each pattern has so many groins in each of its cells.
    weights : pyarrow.Table
        ``pattern``, ``patients``: how many patients have the pattern.
    by : tuple of str
        The dimensions.
    half_years_to, highest : int
        The age bins; see `hingeline.counts.bins.edges_years`.
    """

    cells: pa.Table
    patterns: pa.Table
    weights: pa.Table
    by: tuple[str, ...]
    half_years_to: int
    highest: int

    @property
    def n_groins(self) -> int:
        """Groins counted."""
        return int(pc.sum(self.cells["n"]).as_py() or 0)

    @property
    def n_patients(self) -> int:
        """Patients counted."""
        return int(pc.sum(self.weights["patients"]).as_py() or 0)

    @property
    def n_patterns(self) -> int:
        """Distinct patterns."""
        return int(self.weights.num_rows)

    @property
    def edges_years(self) -> NDArray[np.float64]:
        """Edges of the age bins in years, shape (bins + 1,)."""
        return edges_years(self.half_years_to, self.highest)

    @property
    def n_bins(self) -> int:
        """Number of age bins, those without cases included."""
        return n_bins(self.half_years_to, self.highest)

    def values(self, dimension: str) -> tuple[Any, ...]:
        """Distinct values of a dimension that hold cases, in canonical order."""
        self._check([dimension])
        return tuple(levels_of(self.cells[dimension]))

    def where(self, **conditions: Any) -> PatternTally:
        """Restrict to cells, and patients to their groins in those cells.

        Parameters
        ----------
        **conditions
            A dimension (or ``age_bin``) and the value, or the values, that it may take:
            ``where(sex="male", reason=("hernia",), age_bin=range(20))``.

        Returns
        -------
        PatternTally
            Patients without a groin left are gone; patterns that have become equal are one.
        """
        self._check(conditions)
        keep = np.ones(self.cells.num_rows, dtype=np.bool_)
        for name, wanted in conditions.items():
            allowed = set(_several(wanted))
            _check_values(name, allowed)
            levels = levels_of(self.cells[name])
            fits = np.array([level in allowed for level in levels], dtype=np.bool_)
            keep &= fits[codes_of(self.cells[name], levels)]
        return self._regrouped(self.by, keep)

    def coarsen(self, by: Sequence[str]) -> PatternTally:
        """Forget the dimensions that are not named; cells and patterns that become equal are one."""
        self._check(by)
        return self._regrouped(tuple(by), np.ones(self.cells.num_rows, dtype=np.bool_))

    def whole_years(self) -> PatternTally:
        """Count by whole years of age: for pictures, where ages given in years and in days must look alike."""
        edges = self.edges_years
        cells = self.cells.set_column(
            self.cells.column_names.index("age_bin"),
            "age_bin",
            pa.array(np.floor(edges[self.cells["age_bin"].to_numpy()] + 1e-9).astype(np.int16)),
        )
        return self._moved(cells, self.by, np.ones(cells.num_rows, dtype=np.bool_), 0)

    def margin(self, by: Sequence[str], *, patients: bool = False) -> pa.Table:
        """Add up over all other dimensions.

        Parameters
        ----------
        by : sequence of str
            Dimensions and ``age_bin``, in the order wanted; none gives the total.
        patients : bool
            Whether to count the distinct patients of each row too (they do not add up over rows).

        Returns
        -------
        pyarrow.Table
            The dimensions, ``n``, ``days``, ``days2`` and, where asked, ``patients``.
        """
        self._check(by)
        table, place = combine(self.cells, by)
        if patients:
            pattern, cell, _ = self.long()
            order = np.lexsort((place[cell], pattern))
            pattern, group = pattern[order], place[cell][order]
            once = runs(pattern, group)
            people = add(self.patients()[pattern[once]], group[once], table.num_rows)
            table = table.append_column("patients", pa.array(people))
        return table.drop_columns(["cell"])

    def age_rows(
        self,
        direct: Sequence[str] = ("direct", "combined"),
        among: Sequence[str] = ("indirect", "direct", "combined"),
        by: Sequence[str] = ("hospital",),
    ) -> AgeRows:
        """Give the rows that estimators of the direct share take: one a pattern, hospital and age bin.

        Parameters
        ----------
        direct : sequence of str
            Types counted as direct.
        among : sequence of str
            Types that the share is taken over.
        by : sequence of str
            Dimensions kept apart beside the age bin; ``hospital`` must be one. More of them (``approach``,
            ``known_by``) let typing errors differ by row.
        """
        self._check(("hospital", "type", *by))
        return age_rows(self, direct, among, by)

    def to_frame(self) -> pa.Table:
        """Return the cells."""
        return self.cells

    def __str__(self) -> str:
        return wording.tally(self.n_groins, self.n_patients, self.cells.num_rows, self.n_patterns)

    def save(self, folder: Path) -> None:
        """Write ``cells``, ``patterns`` and ``weights`` as Parquet: the same bytes for the same tally."""
        notes = {
            "hingeline.format": str(FORMAT),
            "hingeline.by": "\n".join(self.by),
            "hingeline.half_years_to": str(self.half_years_to),
            "hingeline.highest": str(self.highest),
        }
        try:
            folder.mkdir(parents=True, exist_ok=True)
            for name in FILES:
                table = getattr(self, name).replace_schema_metadata(notes)
                pq.write_table(table, folder / f"{name}.parquet", compression="zstd")
        except OSError as error:
            raise HingelineError(
                f"The tally cannot be written: {error.strerror or error}",
                str(folder),
                "Check that the folder may be written and that the disk is not full.",
            ) from None

    @classmethod
    def load(cls, folder: Path) -> PatternTally:
        """Read what `save` wrote."""
        try:
            tables = {name: pq.read_table(folder / f"{name}.parquet") for name in FILES}
            notes = {k.decode(): v.decode() for k, v in (tables["cells"].schema.metadata or {}).items()}
            version = int(notes["hingeline.format"])
            by = tuple(name for name in notes["hingeline.by"].split("\n") if name)
            bins = int(notes["hingeline.half_years_to"]), int(notes["hingeline.highest"])
        except (OSError, pa.ArrowException, KeyError, ValueError):
            raise HingelineError(
                "The tally cannot be read", str(folder), "Run 'hingeline run' to count again."
            ) from None
        if version > FORMAT:
            raise HingelineError(
                f"The tally is of format {version}, newer than this program knows ({FORMAT})",
                str(folder),
                "Use a newer hingeline.",
            )
        plain = {name: table.replace_schema_metadata(None) for name, table in tables.items()}
        return cls(plain["cells"], plain["patterns"], plain["weights"], by, *bins)

    def long(self) -> tuple[Ints, Ints, Ints]:
        """Return ``pattern``, ``cell``, ``groins`` as arrays, sorted by pattern and cell."""
        pattern, cell, groins = (self.patterns[name].to_numpy() for name in ("pattern", "cell", "groins"))
        return pattern.astype(np.int64), cell.astype(np.int64), groins.astype(np.int64)

    def patients(self) -> Ints:
        """Return the patients behind each pattern, shape (patterns,)."""
        return np.asarray(self.weights["patients"].to_numpy(), dtype=np.int64)

    def _check(self, names: Iterable[str]) -> None:
        strange = [name for name in names if name not in (*self.by, "age_bin")]
        if strange:
            raise HingelineError(
                f"The tally does not have {strange[0]!r}",
                "the dimensions of the tally",
                f"It was counted by {wording.listed(self.by)}; count again by what is wanted.",
            )

    def _regrouped(self, by: tuple[str, ...], keep: NDArray[np.bool_]) -> PatternTally:
        return self._moved(self.cells, by, keep, self.half_years_to)

    def _moved(
        self, table: pa.Table, by: tuple[str, ...], keep: NDArray[np.bool_], half_years_to: int
    ) -> PatternTally:
        cells, place = combine(table.filter(pa.array(keep)), (*by, "age_bin"))
        moved = np.full(keep.size, -1, dtype=np.int64)
        moved[keep] = place
        pattern, cell, groins = self.long()
        inside = keep[cell]
        owner, there = spread(pattern[inside], moved[cell[inside]], groins[inside])
        merged = merge(owner, there, self.patients())
        return tally_of(cells, merged, by, half_years_to, self.highest)


def tally_of(
    cells: pa.Table, patterns: Patterns, by: tuple[str, ...], half_years_to: int, highest: int
) -> PatternTally:
    """Put cells and patterns together as a tally, its columns in their agreed types and order."""
    numbers = {"cell": pa.int32(), "age_bin": pa.int16()} | dict.fromkeys(SUMS, pa.int64())
    names = ("cell", *by, "age_bin", *SUMS)
    cells = pa.table({name: cells[name].cast(numbers.get(name, cells[name].type)) for name in names})
    long = pa.table(
        {
            "pattern": pa.array(patterns.pattern),
            "cell": pa.array(patterns.cell, pa.int32()),
            "groins": pa.array(patterns.groins, pa.int32()),
        }
    )
    weights = pa.table(
        {
            "pattern": pa.array(np.arange(patterns.patients.size, dtype=np.int64)),
            "patients": pa.array(patterns.patients),
        }
    )
    return PatternTally(cells.combine_chunks(), long, weights, by, half_years_to, highest)


def pool(tallies: Sequence[PatternTally]) -> PatternTally:
    """Add tallies of different patients; exact, and the same in any order.

    Raises
    ------
    HingelineError
        When they were counted by different dimensions or age bins, or there are none.
    """
    plans = {(tally.by, tally.half_years_to, tally.highest) for tally in tallies}
    if len(plans) != 1:
        raise HingelineError(
            "Tallies counted in different ways cannot be added" if plans else "There are no tallies to add",
            "the tallies",
            "Count all of them by the same dimensions and age bins.",
        )
    by, half_years_to, highest = plans.pop()
    cells, place = combine(pa.concat_tables([tally.cells for tally in tallies]), (*by, "age_bin"))
    owners, cell_of, patients = [], [], []
    start, first = 0, 0
    for tally in tallies:
        owner, cell = spread(*tally.long())
        owners.append(owner + start)
        cell_of.append(place[cell + first])
        patients.append(tally.patients())
        start, first = start + tally.n_patterns, first + tally.cells.num_rows
    merged = merge(np.concatenate(owners), np.concatenate(cell_of), np.concatenate(patients))
    return tally_of(cells, merged, by, half_years_to, highest)


def _several(wanted: Any) -> Iterable[Any]:
    """Take one value as a list of one."""
    return wanted if isinstance(wanted, Iterable) and not isinstance(wanted, str) else (wanted,)


def _check_values(name: str, allowed: set[Any]) -> None:
    """Refuse a value that the field can never have: a misspelt one would silently give nothing."""
    closed = FIELD[name].values if name in FIELD else ()
    strange = sorted(str(value) for value in allowed if closed and value is not None and value not in closed)
    if strange:
        raise HingelineError(
            f"No case has the {name} {strange[0]!r}",
            f"condition on {name}",
            f"Choose among {', '.join(closed)}.",
        )
