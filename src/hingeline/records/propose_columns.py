"""A column as `look` sees it: what its cells are, and a sample of rows side by side with the other columns'.

A `Source` comes in; one `Column` a column goes out, with whole-file counts of its few values and parsed dates and
numbers of the sampled rows. Nothing here knows any field of a case.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np
import pyarrow as pa

from .layout_cells import letter, pc
from .legend_model import ALWAYS_BLANK, fold
from .propose_cells import DatesSeen, Floats, dates_of, numbers_of
from .source import Source

SAMPLED: Final = 3_000
"""Rows that are looked at side by side: half from the top (keys that repeat stand together), half spread out."""

FEW_VALUES: Final = 400
"""Distinct values of a column that are kept with their counts."""

MANY_VALUES: Final = 50_000
"""Distinct values from which they are no longer counted one by one."""

MOST_DISTINCT: Final = 1_000_000
"""Distinct values that are told apart."""

_LONGEST_BLANK: Final = 4


@dataclass(frozen=True)
class Column:
    """One column of an export.

    Attributes
    ----------
    name, header : str
        Name in the table (unique) and as it stands.
    letter : str
        As a spreadsheet shows it.
    position, rows, filled : int
    distinct : int
        Distinct filled cells; counted up to `MOST_DISTINCT`.
    counts : mapping of str to int
        Values with their counts, the commonest first, up to `FEW_VALUES` of them.
    cells : sequence of (str or None)
        Of the sampled rows.
    dates : DatesSeen
    numbers : array of float
        Of the sampled rows; not-a-number where a cell is none.
    """

    name: str
    header: str
    letter: str
    position: int
    rows: int
    filled: int
    distinct: int
    counts: Mapping[str, int]
    cells: Sequence[str | None] = field(repr=False)
    dates: DatesSeen = field(repr=False)
    numbers: Floats = field(repr=False)

    @property
    def fill(self) -> float:
        """Share of rows that are filled."""
        return self.filled / self.rows if self.rows else 0.0

    @cached_property
    def number_share(self) -> float:
        """Share of the sample's filled cells that are numbers."""
        filled = sum(cell is not None for cell in self.cells)
        return float(np.isfinite(self.numbers).sum()) / filled if filled else 0.0

    @cached_property
    def mean_length(self) -> float:
        """Mean characters of a filled cell of the sample."""
        lengths = [len(cell) for cell in self.cells if cell is not None]
        return sum(lengths) / len(lengths) if lengths else 0.0


def columns_of(source: Source) -> tuple[Column, ...]:
    """Look at every column of a source, in one pass."""
    counted = [_Counted() for _ in source.names]
    cells: list[list[str | None]] = [[] for _ in source.names]
    taken = _sampled(source.n_rows)
    at = before = 0
    for batch in source.batches():
        rows = batch.num_rows
        own = []
        while at < len(taken) and taken[at] < before + rows:
            own.append(taken[at] - before)
            at += 1
        chosen = pa.array(own, pa.int64())
        for position, name in enumerate(source.names):
            column = batch.column(name)
            counted[position].add(column)
            if own:
                cells[position] += column.take(chosen).to_pylist()
        before += rows
    return tuple(
        _seen(source, position, counted[position], cells[position]) for position in range(len(source.names))
    )


def _seen(source: Source, position: int, counted: _Counted, sampled: Sequence[str | None]) -> Column:
    cells = [None if cell is None or fold(cell) in ALWAYS_BLANK else cell for cell in sampled]
    return Column(
        name=source.names[position],
        header=source.header[position],
        letter=letter(position + 1),
        position=position,
        rows=source.n_rows,
        filled=counted.filled,
        distinct=counted.distinct,
        counts=counted.commonest(),
        cells=cells,
        dates=dates_of(cells),
        numbers=numbers_of(cells, source.decimal),
    )


def _sampled(rows: int) -> list[int]:
    if rows <= SAMPLED:
        return list(range(rows))
    half = SAMPLED // 2
    step = (rows - half) / half
    return sorted({*range(half), *(half + int(i * step) for i in range(half))})


class _Counted:
    """Values of a column and how often each stands, batch by batch; beyond many distinct ones only their number."""

    def __init__(self) -> None:
        self.filled = 0
        self._counts: Counter[str] = Counter()
        self._hashes: set[int] = set()
        self._many = False

    def add(self, column: Any) -> None:
        """Count a batch."""
        counted: Any = pc.value_counts(column.drop_null())
        values, times = counted.field("values").to_pylist(), counted.field("counts").to_pylist()
        for value, n in zip(values, times, strict=True):
            if len(value) <= _LONGEST_BLANK and fold(value) in ALWAYS_BLANK:
                continue
            self.filled += n
            if self._many:
                self._hashes.add(hash(value))
            else:
                self._counts[value] += n
        if not self._many and len(self._counts) > MANY_VALUES:
            self._many = True
            self._hashes = {hash(value) for value in self._counts}
            self._counts = Counter(dict(self._counts.most_common(FEW_VALUES)))
        if len(self._hashes) > MOST_DISTINCT:
            self._hashes = set(list(self._hashes)[:MOST_DISTINCT])

    @property
    def distinct(self) -> int:
        """Distinct values, counted up to `MOST_DISTINCT`."""
        return len(self._hashes) if self._many else len(self._counts)

    def commonest(self) -> dict[str, int]:
        """Return the values with their counts, the commonest first."""
        return dict(self._counts.most_common(FEW_VALUES))
