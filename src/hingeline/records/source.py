"""Open one export, whatever it is, as one table of trimmed text.

A path comes in: delimited text, an XLSX spreadsheet or Parquet, told apart by what the file holds and not by
its name. A `Source` goes out: the table, the row numbers that a spreadsheet would show, what was detected and
why, and a fingerprint. Sources are opened read only and never changed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Self

import pyarrow as pa
import pyarrow.parquet as pq

from .. import wording
from ..errors import HingelineError
from .layout import BrokenRow, Layout, pc, trimmed
from .legend_model import FileOptions
from .source_cells import ROW, Cells, Held
from .source_sheet import as_text, check_container, read_sheet
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
    """

    file_bytes: int = 2 << 30
    unpacked_bytes: int = 1 << 30
    unpacked_ratio: int = 200
    rows: int = 5_000_000
    columns: int = 2_000


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
        SHA-256 of the file.
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

    @property
    def where(self) -> str:
        """File and sheet, for an error message."""
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
        chosen = self.names if columns is None else columns
        strings: list[tuple[str, pa.DataType]] = [(name, pa.string()) for name in chosen]
        return pa.schema([*strings, (ROW, pa.int64())])

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pa.RecordBatch]:
        """Pass through the rows, as often as is wanted.

        Parameters
        ----------
        columns : sequence of str, optional
            Names of columns; all when left out.

        Returns
        -------
        iterator of pyarrow.RecordBatch
            The columns in that order, then ``source_row``: the row as a spreadsheet shows it.
        """
        return self.cells.batches(self.names if columns is None else columns)

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
    path = Path(path)
    options = options or FileOptions()
    start, end, fingerprint = _look(path, limits)
    kind = _kind(path, start, end)
    named = _NAMED.get(path.suffix.lower(), kind)
    unlike = () if kind == named else (wording.detected_kind(path.name, kind, named),)
    if kind == "parquet":
        layout, told = _read_parquet(path, limits, options.decimal or ".")
        return _source(path, "", layout, options.decimal or ".", (*unlike, *told), fingerprint)
    if kind == "xlsx":
        check_container(
            path,
            max_bytes=limits.unpacked_bytes,
            max_ratio=limits.unpacked_ratio,
            max_rows=min(limits.rows, SHEET_ROWS),
            max_columns=limits.columns,
        )
        decimal = options.decimal or "."
        sheet = read_sheet(
            path, options, columns, decimal=decimal, max_rows=limits.rows, max_columns=limits.columns
        )
        return _source(path, sheet.sheet, sheet.layout, decimal, (*unlike, *sheet.detected), fingerprint)
    text = read_text(path, options, columns, max_rows=limits.rows, max_columns=limits.columns)
    return _source(path, "", text.layout, text.decimal, (*unlike, *text.detected), fingerprint)


def _source(
    path: Path, sheet: str, layout: Layout, decimal: str, told: tuple[str, ...], fingerprint: str
) -> Source:
    return Source(
        path=path,
        name=path.name,
        sheet=sheet,
        header=layout.header,
        cells=Held(layout.table, layout.rows),
        broken=layout.broken,
        blank=layout.blank,
        decimal=decimal,
        detected=told,
        fingerprint=fingerprint,
    )


def _look(path: Path, limits: Limits) -> tuple[bytes, bytes, str]:
    """First and last bytes and SHA-256 of a file that may be opened."""
    try:
        if path.is_dir():
            raise HingelineError("This is a folder, not a file", str(path), "Name the file inside it")
        size = path.stat().st_size
        if size == 0:
            raise HingelineError("The file is empty", str(path), "Export it again")
        if size > limits.file_bytes:
            raise HingelineError(
                f"The file has {size:,} bytes, more than the {limits.file_bytes:,} that are read",
                str(path),
                "Split it by year and name all parts as the hospital's sources",
            )
        with path.open("rb") as file:
            start = file.read(4096)
            digest = hashlib.sha256(start)
            end = start
            while piece := file.read(1 << 20):
                digest.update(piece)
                end = piece
        return start, end[-16:], digest.hexdigest()
    except FileNotFoundError:
        raise HingelineError("There is no such file", str(path), "Correct its name in the study") from None
    except PermissionError:
        raise HingelineError(
            "The file may not be read", str(path), "Ask its owner for leave to read it"
        ) from None
    except (OSError, ValueError) as error:
        raise HingelineError(
            f"The file cannot be opened ({getattr(error, 'strerror', None) or error})",
            str(path),
            "Check the path and that the disk is there",
        ) from None


_NAMED: Final[Mapping[str, str]] = {
    ".csv": "text",
    ".txt": "text",
    ".tsv": "text",
    ".xlsx": "xlsx",
    ".xlsm": "xlsx",
    ".xls": "xlsx",
    ".parquet": "parquet",
}
"""What a file's name makes a reader expect."""

_OLE: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_WRONG: Final[tuple[tuple[bytes, str], ...]] = (
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "compressed by gzip"),
    (b"Rar!", "a RAR container"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z container"),
    (b"SQLite format 3", "an SQLite database"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
    (b"{\\rtf", "a text document (RTF)"),
)


def _kind(path: Path, start: bytes, end: bytes) -> str:
    """Tell what the file is by its first bytes; its name says nothing."""

    def refuse(what: str, todo: str) -> HingelineError:
        return HingelineError(what, str(path), todo)

    if start.startswith(b"PK\x03\x04"):
        return "xlsx"
    if start.startswith(b"PK"):
        raise refuse("The file is an empty or damaged ZIP container", "Export it again")
    if start.startswith(_OLE):
        if _is_encrypted(path):
            raise refuse(
                "The spreadsheet is encrypted with a password", "Open it and save it without a password"
            )
        raise refuse("The file is in the spreadsheet format before XLSX", "Open it and save it as XLSX")
    if start.startswith(b"PAR1"):
        if not end.endswith(b"PAR1"):
            raise refuse("The Parquet file was cut off", "Write it again, or fetch it again")
        return "parquet"
    for magic, kind in _WRONG:
        if start.startswith(magic) and (magic != b"MZ" or b"\0" in start):
            raise refuse(f"The file is {kind}, not a table", "Export the records as CSV, XLSX or Parquet")
    plain = start.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if plain.startswith((b"<!doctype html", b"<html", b"<table")):
        raise refuse("The file is a web page, whatever its name says", "Open it and save it as XLSX or CSV")
    if plain.startswith(b"<?xml"):
        raise refuse("The file is XML, not a table", "Open it in a spreadsheet and save it as XLSX or CSV")
    return "text"


def _is_encrypted(path: Path) -> bool:
    name = "EncryptedPackage".encode("utf-16-le")
    left = b""
    with path.open("rb") as file:
        while piece := file.read(1 << 20):
            if name in left + piece:
                return True
            left = piece[-len(name) :]
    return False


def _read_parquet(path: Path, limits: Limits, decimal: str) -> tuple[Layout, tuple[str, ...]]:
    try:
        with pq.ParquetFile(path) as file:
            rows, columns = file.metadata.num_rows, file.schema_arrow.names
            if rows > limits.rows or len(columns) > limits.columns:
                raise HingelineError(
                    f"There are {rows:,} rows and {len(columns):,} columns, more than are read",
                    str(path),
                    "Split it, or keep only the columns that are needed",
                )
            if not columns:
                raise HingelineError("The file holds no columns", str(path), "Export it again")
            table = file.read()
        texts = [trimmed(_parquet_text(column, decimal)) for column in table.columns]
    except (pa.ArrowException, OSError, ValueError) as error:
        raise HingelineError(
            f"The Parquet file cannot be read ({type(error).__name__})",
            str(path),
            "Write it again with plain columns of text, numbers and dates",
        ) from None
    names = [f"{name} ({i})" if columns.index(name) != i - 1 else name for i, name in enumerate(columns, 1)]
    # A spreadsheet would show the names in row 1.
    numbers = pa.array(range(2, table.num_rows + 2), pa.int64())
    filled: Any = texts[0].is_valid()
    for text in texts[1:]:
        filled = pc.or_(filled, text.is_valid())
    filled = filled.combine_chunks()
    whole = pa.table(texts, names=names).filter(filled)
    kept = numbers.filter(filled)
    layout = Layout(whole, tuple(columns), kept, 1, (), table.num_rows - whole.num_rows)
    return layout, (wording.detected_parquet(path.name),)


def _parquet_text(column: Any, decimal: str) -> pa.ChunkedArray[Any]:
    kind = column.type
    types: Any = pa.types
    if types.is_dictionary(kind):
        return _parquet_text(column.cast(kind.value_type), decimal)
    if types.is_timestamp(kind):
        column = pc.strftime(column, format="%Y-%m-%d %H:%M")
    elif types.is_date(kind):
        column = column.cast(pa.date32())
    elif types.is_floating(kind) or types.is_decimal(kind):
        values = column.cast(pa.float64()).to_pylist()
        texts = [None if value is None or value != value else as_text(value, decimal) for value in values]
        column = pa.chunked_array([pa.array(texts, pa.string())])
    elif not (
        types.is_null(kind)
        or types.is_string(kind)
        or types.is_large_string(kind)
        or types.is_integer(kind)
        or types.is_boolean(kind)
    ):
        raise ValueError(f"a column of {kind}")
    text: pa.ChunkedArray[Any] = column.cast(pa.string())
    return text
