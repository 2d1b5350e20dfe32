"""Where the cells of an opened source lie: in memory, or in a private file without a name when they are many.

Batches of trimmed text come in once, in the order of the rows (`Store`); they go out again as often as is asked,
a few columns at a time (`Cells`). The file is never mapped into memory, so that what is resident stays a batch or
two, and it has no name in any folder: nobody else can open it, and the system forgets it with the process, even one
that is killed.
"""

from __future__ import annotations

import tempfile
import threading
import weakref
from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from typing import IO, Any, Final, Protocol

import pyarrow as pa
import pyarrow.parquet as pq

from ..errors import HingelineError
from .layout_cells import pc

ROW: Final = "source_row"
"""Column beside a source's own that holds the row of each row, as a spreadsheet shows it."""

BATCH: Final = 50_000
"""Rows of a batch that is handed out, at most."""

SOME: Final = 1_000
"""Cells of a column that are looked at."""


class Cells(Protocol):
    """The cells of a source, wherever they lie.

    Attributes
    ----------
    names : tuple of str
        Names of all columns.
    kept : tuple of str
        Names of those whose cells can be handed out; of the others there is only `some`.
    n_rows : int
    """

    names: tuple[str, ...]
    kept: tuple[str, ...]
    n_rows: int

    def rows(self) -> pa.Array[Any]:
        """Row of each row, as a spreadsheet shows it."""

    def batches(self, columns: Sequence[str]) -> Iterator[pa.RecordBatch]:
        """Hand out columns, with ``source_row`` after them."""

    def some(self, name: str) -> list[str]:
        """Up to `SOME` non-empty cells, spread over a column."""

    def close(self) -> None:
        """Forget the file, if there is one."""


class Held:
    """Cells in memory."""

    def __init__(self, table: pa.Table, rows: pa.Array[Any]) -> None:
        self.names = self.kept = tuple(table.column_names)
        self.n_rows = table.num_rows
        self._table = table
        self._rows = rows

    def rows(self) -> pa.Array[Any]:
        """Row of each row, as a spreadsheet shows it."""
        return self._rows

    def batches(self, columns: Sequence[str]) -> Iterator[pa.RecordBatch]:
        """Hand out columns, with ``source_row`` after them."""
        chosen = self._table.select(list(columns)).append_column(ROW, self._rows)
        return iter(chosen.to_batches(BATCH))

    def some(self, name: str) -> list[str]:
        """Up to `SOME` non-empty cells, spread over a column."""
        return _spread(self._table.column(name).drop_null().combine_chunks())

    def close(self) -> None:
        """Do nothing: there is no file."""


class Spooled:
    """Cells in a file without a name."""

    def __init__(
        self, names: Sequence[str], kept: Sequence[str], n_rows: int, file: IO[bytes], some: dict[str, Any]
    ) -> None:
        self.names = tuple(names)
        self.kept = tuple(kept)
        self.n_rows = n_rows
        self._file = file
        self._lock = threading.Lock()
        self._some = some
        self._end = weakref.finalize(self, file.close)

    def rows(self) -> pa.Array[Any]:
        """Row of each row, as a spreadsheet shows it."""
        return pa.concat_arrays([batch.column(0) for batch in self.batches(())])

    def batches(self, columns: Sequence[str]) -> Iterator[pa.RecordBatch]:
        """Hand out columns, with ``source_row`` after them."""
        place = {name: str(at) for at, name in enumerate(self.kept)}
        wanted = [*(place[name] for name in columns), ROW]
        reading: Any = _Reading(self._file, self._lock)
        with pq.ParquetFile(reading) as file:
            for batch in file.iter_batches(BATCH, columns=list(dict.fromkeys(wanted)), use_threads=False):
                yield batch.select(wanted).rename_columns([*columns, ROW])

    def some(self, name: str) -> list[str]:
        """Up to `SOME` non-empty cells, spread over a column."""
        return _spread(self._some[name])

    def close(self) -> None:
        """Forget the file."""
        self._end()


def _spread(column: Any) -> list[str]:
    take = min(SOME, len(column))
    at = pa.array([i * len(column) // take for i in range(take)], pa.int64())
    cells: list[str] = column.take(at).to_pylist()
    return cells


class _Reading:
    """One pass through a file that other passes read too: it knows its own place."""

    closed = False

    def __init__(self, file: IO[bytes], lock: threading.Lock) -> None:
        self._file = file
        self._lock = lock
        self._at = 0
        with lock:
            self._size = file.seek(0, 2)

    def seek(self, offset: int, whence: int = 0) -> int:
        self._at = offset + (0, self._at, self._size)[whence]
        return self._at

    def tell(self) -> int:
        return self._at

    def read(self, size: int | None = -1) -> bytes:
        with self._lock:
            self._file.seek(self._at)
            piece = self._file.read(-1 if size is None else size)
        self._at += len(piece)
        return piece

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def close(self) -> None:
        """Leave the file open: it is not this pass's own."""


class Store:
    """Batches on their way in: held, and spooled once they are more than ``held_bytes``.

    Parameters
    ----------
    names : sequence of str
        Of all columns.
    keep : collection of str, optional
        Columns that are worth spooling; all when left out.
    held_bytes : int
    where : str
        File and sheet, for messages.
    """

    def __init__(
        self, names: Sequence[str], keep: Collection[str] | None, held_bytes: int, where: str
    ) -> None:
        self._names = list(names)
        self._kept = [at for at, name in enumerate(self._names) if keep is None or name in keep]
        self._held_bytes = held_bytes
        self._where = where
        self._held: list[pa.RecordBatch] = []
        self._numbers: list[pa.Array[Any]] = []
        self._bytes = 0
        self.n_rows = 0
        self._file: IO[bytes] | None = None
        self._writer: Any = None
        self._some = [_Some() for _ in self._names]

    def add(self, batch: pa.RecordBatch, numbers: pa.Array[Any]) -> None:
        """Take in a batch of all columns, and the row of each row."""
        self.n_rows += batch.num_rows
        if self._writer is None:
            self._held.append(batch)
            self._numbers.append(numbers)
            self._bytes += batch.nbytes
            if self._bytes > self._held_bytes:
                self._begin_file()
        else:
            self._write(batch, numbers)

    def total_of(self, column: int) -> tuple[int, float] | None:
        """Count of the filled cells of a column so far, and sum of its numbers; None when they are spooled."""
        if self._writer is not None:
            return None
        count, total = 0, 0.0
        for batch in self._held:
            cells: Any = batch.column(column).drop_null()
            count += len(cells)
            numbers = cells.filter(pc.match_substring_regex(cells, r"^-?\d{1,15}([.,]\d{1,9})?$"))
            total += pc.sum(pc.replace_substring(numbers, ",", ".").cast(pa.float64())).as_py() or 0.0
        return count, total

    def finish(self) -> Cells:
        """Return the cells."""
        if self._writer is None:
            schema = pa.schema([(name, pa.string()) for name in self._names])
            rows: Any = pa.chunked_array(self._numbers, pa.int64()).combine_chunks()
            return Held(pa.Table.from_batches(self._held, schema), rows)
        assert self._file is not None
        try:
            self._writer.close()
            self._file.flush()
        except OSError as error:
            raise self._full(error) from None
        some = {name: one.cells() for name, one in zip(self._names, self._some, strict=True)}
        return Spooled(self._names, [self._names[at] for at in self._kept], self.n_rows, self._file, some)

    def abandon(self) -> None:
        """Forget everything, since the source cannot be read."""
        if self._writer is not None:
            with suppress(OSError, pa.ArrowException):
                self._writer.close()
        if self._file is not None:
            self._file.close()

    def _begin_file(self) -> None:
        fields: list[tuple[str, pa.DataType]] = [(str(at), pa.string()) for at in range(len(self._kept))]
        try:
            self._file = tempfile.TemporaryFile()  # noqa: SIM115 — it lives as long as the source
            self._writer = pq.ParquetWriter(
                pa.PythonFile(self._file, mode="w"),
                pa.schema([*fields, (ROW, pa.int64())]),
                compression="lz4",
                use_dictionary=bool(fields),
                write_statistics=False,
            )
        except OSError as error:
            raise self._full(error) from None
        held, numbers = self._held, self._numbers
        self._held, self._numbers = [], []
        while held:
            self._write(held.pop(0), numbers.pop(0))

    def _write(self, batch: pa.RecordBatch, numbers: pa.Array[Any]) -> None:
        for at, some in enumerate(self._some):
            some.add(batch.column(at))
        columns = [batch.column(at) for at in self._kept]
        names = [*map(str, range(len(columns))), ROW]
        try:
            self._writer.write_batch(pa.record_batch([*columns, numbers], names=names))
        except OSError as error:
            raise self._full(error) from None

    def _full(self, error: OSError) -> HingelineError:
        return HingelineError(
            f"The temporary file for a large export cannot be written ({error.strerror or error})",
            f"{self._where}; folder for temporary files: {tempfile.gettempdir()}",
            "Make room there, or set TMPDIR to a private folder on a larger disk",
        )


class _Some:
    """Non-empty cells spread over a column whose length is not known yet: every k-th, k doubling."""

    def __init__(self) -> None:
        self._step = 1
        self._seen = 0
        self._taken: list[Any] = []
        self._size = 0

    def add(self, column: Any) -> None:
        filled = column.drop_null()
        first = -self._seen % self._step
        at = pa.array(range(first, len(filled), self._step), pa.int64())
        self._seen += len(filled)
        self._taken.append(filled.take(at))
        self._size += len(at)
        while self._size > 2 * SOME:
            self._step *= 2
            whole = self.cells()
            self._taken = [whole.take(pa.array(range(0, len(whole), 2), pa.int64()))]
            self._size = len(self._taken[0])

    def cells(self) -> Any:
        return pa.concat_arrays(self._taken) if self._taken else pa.array([], pa.string())
