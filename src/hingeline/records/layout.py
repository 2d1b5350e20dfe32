"""Rows of cells in, one table out: which row holds the column names, and every cell trimmed text.

Text files and spreadsheets both pass through here, so that a cell means the same wherever it stood.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import Any, Final

import pyarrow as pa
import pyarrow.compute

from ..errors import HingelineError
from .legend_model import fold

Row = Sequence[str]
pc: Any = pyarrow.compute  # its stubs know too few of the overloads

LOOKED_AT: Final = 60
"""Rows at the top of a file in which the column names are sought."""

BATCH: Final = 50_000


@dataclass(frozen=True)
class BrokenRow:
    """A row that does not fit its header: its number and why it cannot be trusted."""

    row: int
    why: str


@dataclass(frozen=True)
class Layout:
    """Rows under their column names.

    Attributes
    ----------
    table : pyarrow.Table
        One string column a header cell, trimmed, empty cells null; names made unique.
    header : tuple of str
        The column names as they stand, in the table's order.
    rows : pyarrow.Array of int64
        The spreadsheet's row number of each row.
    header_row : int
    broken : tuple of BrokenRow
    blank : int
        Wholly empty rows below the header, which are not in the table.
    """

    table: pa.Table
    header: tuple[str, ...]
    rows: pa.Array[Any]
    header_row: int
    broken: tuple[BrokenRow, ...]
    blank: int


def lay_out(
    rows: Iterable[Row],
    *,
    where: str,
    header_row: int | None,
    columns: Sequence[str],
    max_rows: int,
    max_columns: int,
    cut: bool = False,
    grid: bool = False,
) -> Layout:
    """Find the header and put everything below it into columns.

    Parameters
    ----------
    rows : iterable of sequences of str
        All rows from the top.
    where : str
        File and sheet, for messages.
    header_row : int or None
        As the spreadsheet counts; None lets it be found.
    columns : sequence of str
        Names that the legend expects; the row that holds most of them is the header.
    max_rows, max_columns : int
    cut : bool
        Whether the file's last line lacks its end, so that a short last row was cut off.
    grid : bool
        Whether cells stand in a grid, so that one without a column name is a remark beside the table; in
        delimited text it is a delimiter too many, and the whole row has shifted.
    """
    stream = iter(rows)
    top = list(islice(stream, max(LOOKED_AT, header_row or 0)))
    at = _header_at(top, header_row, columns, where)
    header = _header(top[at])
    if not header:
        raise HingelineError(
            f"Row {at + 1} holds no column names", where, "Give [file] header_row in the legend"
        )
    if grid:
        header += [""] * (max(map(len, top)) - len(header))
    if len(header) > max_columns:
        raise HingelineError(
            f"There are {len(header):,} columns, more than the {max_columns:,} that are read",
            where,
            "Export only the columns that are needed",
        )
    gathered = _Gathered(len(header))
    number = at + 1
    for row in chain(top[at + 1 :], stream):
        number += 1
        gathered.add(number, row)
        if number - at - 1 > max_rows:
            raise HingelineError(f"There are more than {max_rows:,} rows", where, "Split the file by year")
    table, numbers = gathered.finish(_unique(header), cut)
    return Layout(table, tuple(header), numbers, at + 1, tuple(gathered.broken), gathered.blank)


def found(row: Row, columns: Sequence[str]) -> int:
    """How many of the expected column names a row holds."""
    cells = {fold(cell) for cell in row}
    return sum(fold(column) in cells for column in columns)


def best_header(top: Sequence[Row], columns: Sequence[str]) -> tuple[int, int]:
    """Find the likeliest header among the first rows: its index, and how many expected names it holds."""
    if columns:
        held = [found(row, columns) for row in top]
        if held and max(held) > 0:
            return held.index(max(held)), max(held)
    filled = [sum(bool(cell.strip()) for cell in row) for row in top]
    # A title fills one cell; the names fill nearly as many as the fullest row.
    return next((at for at, cells in enumerate(filled) if cells >= 0.7 * max(filled)), 0), 0


def _header_at(top: Sequence[Row], header_row: int | None, columns: Sequence[str], where: str) -> int:
    if not any(cell.strip() for row in top for cell in row):
        raise HingelineError("The file holds no cells", where, "Export it again; it seems to be empty")
    if header_row is None:
        return best_header(top, columns)[0]
    if not 1 <= header_row <= len(top):
        raise HingelineError(
            f"The legend says that row {header_row} holds the column names; it holds nothing",
            where,
            "Correct [file] header_row",
        )
    return header_row - 1


def _header(row: Row) -> list[str]:
    header = [" ".join(cell.split()) for cell in row]
    while header and not header[-1]:
        header.pop()
    return header


def _unique(header: Sequence[str]) -> list[str]:
    """Names for the table: none empty, no two alike."""
    seen = {"source_row"}  # the batches' own column
    names = []
    for position, cell in enumerate(header, start=1):
        name = base = cell or f"column {letter(position)}"
        again = 1
        while name in seen:
            again += 1
            name = f"{base} ({again})"
        seen.add(name)
        names.append(name)
    return names


def letter(position: int) -> str:
    """Name of a column as a spreadsheet shows it: 1 is A, 28 is AB."""
    text = ""
    while position:
        position, rest = divmod(position - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


class _Gathered:
    """Rows on their way into columns; in batches, since a Python list of all cells would be huge."""

    def __init__(self, width: int) -> None:
        self.width = width
        self.broken: list[BrokenRow] = []
        self.blank = 0
        self._rows: list[Row] = []
        self._numbers: list[int] = []
        self._short: int | None = None
        self._last = 0
        self._batches: list[list[pa.Array[Any]]] = []
        self._number_batches: list[pa.Array[Any]] = []

    def add(self, number: int, row: Row) -> None:
        self._last = number
        width = self.width
        if len(row) != width:
            if len(row) > width:
                if any(cell.strip() for cell in row[width:]):
                    self.broken.append(BrokenRow(number, "more cells than column names"))
                    return
                row = row[:width]
            else:
                if any(row):
                    self._short = number
                row = [*row, *[""] * (width - len(row))]
        if not row[0].strip() and not "".join(row).strip():
            self.blank += 1
            return
        self._rows.append(row)
        self._numbers.append(number)
        if len(self._rows) == BATCH:
            self._flush()

    def finish(self, names: Sequence[str], cut: bool) -> tuple[pa.Table, pa.Array[Any]]:
        if cut and self._short == self._last and self._numbers and self._numbers[-1] == self._last:
            self._rows.pop()
            self._numbers.pop()
            self.broken.append(BrokenRow(self._last, "the file ends within this row"))
        self._flush()
        columns = [
            trimmed(pa.chunked_array([batch[i] for batch in self._batches], pa.string()))
            for i in range(self.width)
        ]
        numbers = pa.chunked_array(self._number_batches, pa.int64()).combine_chunks()
        return pa.table(columns, names=list(names)), numbers

    def _flush(self) -> None:
        if self._rows:
            self._batches.append([pa.array(column, pa.string()) for column in zip(*self._rows, strict=True)])
            self._number_batches.append(pa.array(self._numbers, pa.int64()))
            self._rows, self._numbers = [], []


def trimmed(column: pa.ChunkedArray[Any]) -> pa.ChunkedArray[Any]:
    """Trim cells, take ``="…"`` off (how exports keep leading zeros), and make empty ones null."""
    column = pc.utf8_trim_whitespace(column)
    if pc.any(pc.starts_with(column, '="')).as_py():
        column = pc.utf8_trim_whitespace(pc.replace_substring_regex(column, r'^="(.*)"$', r"\1"))
    filled: pa.ChunkedArray[Any] = pc.if_else(pc.equal(column, ""), pa.scalar(None, pa.string()), column)
    return filled


def head(rows: Iterable[Row]) -> Iterator[Row]:
    """Return the rows in which a header is sought."""
    return islice(iter(rows), LOOKED_AT)
