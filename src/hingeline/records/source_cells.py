"""Where the cells of an opened source lie: in memory, or in a private file without a name when they are many.

Batches of trimmed text come in once, in the order of the rows; they go out again as often as is asked, a few
columns at a time. The file is never mapped into memory, so that what is resident stays a batch or two.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final, Protocol

import pyarrow as pa

ROW: Final = "source_row"
"""Column beside a source's own that holds the row of each row, as a spreadsheet shows it."""

BATCH: Final = 50_000
"""Rows of a batch that is handed out."""

SOME: Final = 1_000
"""Cells of a column that are looked at."""


class Cells(Protocol):
    """The cells of a source, wherever they lie."""

    @property
    def names(self) -> tuple[str, ...]: ...  # noqa: D102

    @property
    def n_rows(self) -> int: ...  # noqa: D102

    def rows(self) -> pa.Array[Any]: ...  # noqa: D102

    def batches(self, columns: Sequence[str]) -> Iterator[pa.RecordBatch]: ...  # noqa: D102

    def some(self, name: str) -> list[str]: ...  # noqa: D102

    def close(self) -> None: ...  # noqa: D102


class Held:
    """Cells in memory."""

    def __init__(self, table: pa.Table, rows: pa.Array[Any]) -> None:
        self._table = table
        self._rows = rows

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns."""
        return tuple(self._table.column_names)

    @property
    def n_rows(self) -> int:
        """Rows held."""
        return self._table.num_rows

    @property
    def table(self) -> pa.Table:
        """All of them."""
        return self._table

    def rows(self) -> pa.Array[Any]:
        """Row of each row, as a spreadsheet shows it."""
        return self._rows

    def batches(self, columns: Sequence[str]) -> Iterator[pa.RecordBatch]:
        """Hand out columns, with ``source_row`` after them."""
        chosen = self._table.select(list(columns)).append_column(ROW, self._rows)
        return iter(chosen.combine_chunks().to_batches(BATCH))

    def some(self, name: str) -> list[str]:
        """Non-empty cells spread over a column."""
        column: Any = self._table.column(name).drop_null()
        if not len(column):
            return []
        take = min(SOME, len(column))
        at = pa.array([i * len(column) // take for i in range(take)], pa.int64())
        cells: list[str] = column.take(at).to_pylist()
        return cells

    def close(self) -> None:
        """Do nothing: there is no file."""
