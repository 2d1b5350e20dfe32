"""Open one export, whatever it is, as one table of trimmed text.

A path comes in: delimited text, an XLSX spreadsheet or Parquet, told apart by what the file holds and not by
its name. A `Source` goes out: the table, the row numbers that a spreadsheet would show, what was detected and
why, and a fingerprint. Sources are opened read only and never changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Self

import pyarrow as pa

from .. import wording
from .layout import BrokenRow, Layout, Room
from .legend_model import FileOptions
from .source_address import address_of, check_hosts, is_database
from .source_cells import ROW, Cells
from .source_container import look_inside
from .source_kind import NAMED, look
from .source_parquet import read_parquet
from .source_postgres import read_table
from .source_sheet import read_sheet
from .source_text import read_text


@dataclass(frozen=True)
class Limits:
    """What an export may be; far beyond any hospital's list, so that a bomb is refused before it is opened.

    Attributes
    ----------
    file_bytes, unpacked_bytes : int
    unpacked_ratio : int
        Times that a container may grow when it is unpacked.
    rows, columns : int
    held_bytes : int
        Cells (as text in memory) that stay there; of a larger export what the legend maps goes to a private
        temporary file.
    """

    file_bytes: int = 8 << 30
    unpacked_bytes: int = 1 << 30
    unpacked_ratio: int = 200
    rows: int = 50_000_000
    columns: int = 10_000
    held_bytes: int = 64 << 20


LIMITS: Final = Limits()
SHEET_ROWS: Final = 1_048_576
"""Rows of the largest XLSX sheet (ECMA-376)."""


@dataclass(frozen=True)
class Source:
    """One export, opened: a context manager, which forgets its spool file when it is left.

    Attributes
    ----------
    path : Path
    name : str
        Name of the file, or schema and name of the database's table.
    sheet : str
        Empty unless it is a spreadsheet.
    header : tuple of str
        Column names as they stand.
    cells : Cells
        One string column a header cell: trimmed, empty cells null, dates year first.
    broken : tuple of BrokenRow
        Rows that do not fit the header; they are not in the table.
    blank : int
        Empty rows below the header; they are not in the table.
    decimal : str
        The decimal mark of its numbers.
    detected : tuple of str
        What was detected and why, as sentences.
    fingerprint : str
        SHA-256 of the file, or of the table's content.
    place : str
        Database and table; empty for a file.
    """

    path: Path
    name: str
    sheet: str
    header: tuple[str, ...]
    cells: Cells
    broken: tuple[BrokenRow, ...]
    blank: int
    decimal: str
    detected: tuple[str, ...]
    fingerprint: str
    place: str = ""

    @property
    def where(self) -> str:
        """File and sheet, or database and table, for an error message."""
        if self.place:
            return self.place
        return f"{self.path}, sheet {self.sheet}" if self.sheet else str(self.path)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns, in the header's order: none empty, no two alike."""
        return self.cells.names

    @property
    def n_rows(self) -> int:
        """Rows below the header, without the broken and the blank."""
        return self.cells.n_rows

    @property
    def rows(self) -> pa.Array[Any]:
        """Row of each row, as a spreadsheet shows it (int64)."""
        return self.cells.rows()

    @property
    def table(self) -> pa.Table:
        """Every column, in memory: for small files and for tests."""
        whole = pa.Table.from_batches(list(self.batches()), schema=self.schema())
        return whole.drop_columns([ROW])

    def schema(self, columns: Sequence[str] | None = None) -> pa.Schema:
        """Return the schema of the batches: strings, and ``source_row``."""
        chosen = self.cells.kept if columns is None else columns
        strings: list[tuple[str, pa.DataType]] = [(name, pa.string()) for name in chosen]
        return pa.schema([*strings, (ROW, pa.int64())])

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pa.RecordBatch]:
        """Pass through the rows, as often as is wanted.

        Parameters
        ----------
        columns : sequence of str, optional
            Names of columns, of those that are kept; all of these when left out. Every column of a source is kept
            unless it is a large one that was opened with the columns that the legend maps.

        Returns
        -------
        iterator of pyarrow.RecordBatch
            The columns in that order, then ``source_row``: the row as a spreadsheet shows it.
        """
        return self.cells.batches(self.cells.kept if columns is None else columns)

    def some(self, name: str) -> list[str]:
        """Up to 1,000 non-empty cells spread over a column."""
        return self.cells.some(name)

    def close(self) -> None:
        """Forget the spool file, if there is one; the cells are gone then."""
        self.cells.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def open_source(
    path: Path | str,
    options: FileOptions | None = None,
    *,
    columns: Sequence[str] = (),
    limits: Limits = LIMITS,
) -> Source:
    """Open one export.

    Parameters
    ----------
    path : Path or str
        A file, or ``postgresql://host/database?table=schema.name``.
    options : FileOptions, optional
        ``[file]`` of the legend; what it leaves out is detected.
    columns : sequence of str
        Column names that the legend maps; they tell header row, delimiter and sheet.
    limits : Limits

    Raises
    ------
    HingelineError
        When the file is missing, not readable, a folder, empty, too large, encrypted, cut off or of another
        kind.
    """
    options = options or FileOptions()
    if is_database(path):
        return open_table(path, options, columns=columns, limits=limits)
    path = Path(path)
    kind, fingerprint = look(path, limits.file_bytes)
    named = NAMED.get(path.suffix.lower(), kind)
    unlike = () if kind == named else (wording.detected_kind(path.name, kind, named),)
    room = Room(limits.rows, limits.columns, limits.held_bytes, tuple(columns))
    if kind == "parquet":
        decimal = options.decimal or "."
        layout, told = read_parquet(path, room, decimal)
        return _source(path, "", layout, decimal, (*unlike, *told), fingerprint)
    if kind == "xlsx":
        inside = look_inside(
            path,
            max_bytes=limits.unpacked_bytes,
            max_ratio=limits.unpacked_ratio,
            max_rows=min(limits.rows, SHEET_ROWS),
            max_columns=limits.columns,
        )
        sheet = read_sheet(path, options, columns, inside, room)
        told = (*unlike, *sheet.detected)
        return _source(path, sheet.sheet, sheet.layout, sheet.decimal, told, fingerprint)
    text = read_text(path, options, columns, room)
    return _source(path, "", text.layout, text.decimal, (*unlike, *text.detected), fingerprint)


def open_table(
    address: Path | str,
    options: FileOptions | None = None,
    *,
    columns: Sequence[str] = (),
    limits: Limits = LIMITS,
) -> Source:
    """Open a table of a PostgreSQL database; `open_source` does so for an address.

    Parameters
    ----------
    address : Path or str
        ``postgresql://[user@]host[:port]/database?table=schema.name``, without a password: libpq's environment and
        password file supply it.
    options, columns, limits
        As for `open_source`; of the options only the decimal mark is used.

    Raises
    ------
    HingelineError
        When the address holds a password or no table, when no server answers or it refuses, when the table is not
        there or may not be read.
    """
    decimal = (options or FileOptions()).decimal or "."
    room = Room(limits.rows, limits.columns, limits.held_bytes, tuple(columns))
    place = address_of(address)
    check_hosts(place)
    read = read_table(place, room, decimal)
    return Source(
        path=Path(read.name),
        name=read.name,
        sheet="",
        header=read.layout.header,
        cells=read.layout.cells,
        broken=read.layout.broken,
        blank=read.layout.blank,
        decimal=decimal,
        detected=read.detected,
        fingerprint=read.fingerprint,
        place=read.where,
    )


def name_of(source: Path | str) -> str:
    """Name of a source before it is opened: of a file, or of a database's table."""
    return address_of(source).table if is_database(source) else Path(source).name


def _source(
    path: Path, sheet: str, layout: Layout, decimal: str, told: tuple[str, ...], fingerprint: str
) -> Source:
    return Source(
        path=path,
        name=path.name,
        sheet=sheet,
        header=layout.header,
        cells=layout.cells,
        broken=layout.broken,
        blank=layout.blank,
        decimal=decimal,
        detected=told,
        fingerprint=fingerprint,
    )
