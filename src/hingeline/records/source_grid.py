"""The grid of one sheet, as the sheet shows it: typed cells in, blocks of text out.

Merged cells are read in every row that they span, error values where they stand, numbers with the decimal mark of those
that are stored as text; what was met on the way is noted for the sentences.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Final

import pyarrow as pa

from .layout import Block
from .source_container import Marks

_AT_ONCE: Final = 250_000
"""Cells of a block."""

_MOST_MERGED: Final = 50_000_000
_COMMA: Final = re.compile(r"\s*[-+]?\d+,\d+\s*")
_POINT: Final = re.compile(r"\s*[-+]?\d+\.\d+\s*")
_NUMBER: Final = re.compile(r"\s*[-+]?\d+(?:[.,]\d+)?\s*")
_DATE: Final = re.compile(r"\s*\d{1,4}[-./]\d{1,2}[-./]\d{1,4}.*")
_HALF_A_SECOND: Final = dt.timedelta(milliseconds=500)


@dataclass
class Grid:
    """The cells of a sheet, as it shows them.

    Attributes
    ----------
    sheet
        The reader's sheet.
    marks : Marks
    decimal : str
        The decimal mark with which numbers are written; empty: that of the numbers stored as text.
    filled_down, across : list of int
        First rows of the cells that were merged over rows, or only over columns.
    text_numbers, text_dates : set of int
        Columns (from 0) in which some numbers, or dates, are text and others are not.
    dates : bool
        Whether any cell is a true date.
    """

    sheet: Any
    marks: Marks
    decimal: str
    filled_down: list[int] = field(default_factory=list)
    across: list[int] = field(default_factory=list)
    text_numbers: set[int] = field(default_factory=set)
    text_dates: set[int] = field(default_factory=set)
    dates: bool = False
    _seen: dict[int, set[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._merged = sorted(self.sheet.merged_cell_ranges or ())
        self.decimal = self.decimal or self._detect_decimal()

    def spans(self) -> dict[int, list[tuple[int, int]]]:
        """Merged cells over several columns, by row."""
        found: dict[int, list[tuple[int, int]]] = {}
        for (first, left), (_, right) in self._merged:
            if right > left:
                found.setdefault(first, []).append((left, right))
        return found

    def top(self, rows: int) -> list[list[str]]:
        """Return the first rows as text."""
        return [
            [self._text(cell, at, column) for column, cell in enumerate(cells)]
            for at, cells in enumerate(islice(self.sheet.iter_rows(), rows))
        ]

    def body(self, skip: int, width: int) -> Iterator[Block]:
        """Return the rows below the first ``skip``, in blocks."""
        rows = islice(self.sheet.iter_rows(), skip, None)
        down = self._merges(skip)
        values: dict[int, Any] = {}
        at = skip
        while chunk := [list(row) for row in islice(rows, max(1, _AT_ONCE // width))]:
            self._place_errors(chunk, at)
            self._fill_down(chunk, at, down, values)
            columns: list[Any] = [
                pa.array(self._column(cells, column), pa.string())
                for column, cells in enumerate(zip(*chunk, strict=True))
            ]
            empty = pa.array([""] * len(chunk), pa.string())
            columns += [empty] * (width - len(columns))
            yield Block(columns[:width], pa.array(range(at + 1, at + 1 + len(chunk)), pa.int64()))
            at += len(chunk)
        self._settle()

    def _merges(self, skip: int) -> list[tuple[int, int, int]]:
        """Merged cells below the names that go over rows: first row, last row, column."""
        down = []
        area = 0
        for (first, left), (last, right) in self._merged:
            if last < skip:
                continue
            if last > first:
                area += last - first
                down.append((max(first, skip), last, left))
            elif right > left:
                self.across.append(first + 1)
        if area > _MOST_MERGED:
            raise ValueError("merged cells overlap")
        return down

    def _fill_down(
        self, chunk: list[list[Any]], start: int, down: list[tuple[int, int, int]], values: dict[int, Any]
    ) -> None:
        """Write the value of a merged cell into every row that it spans and that holds anything else."""
        end = start + len(chunk)
        for merge, (first, last, column) in enumerate(down):
            if first >= end:
                break
            if last < start or column >= len(chunk[0]):
                continue
            if first >= start:
                values[merge] = chunk[first - start][column]
                if values[merge] not in ("", None):
                    self.filled_down.append(first + 1)
            for row in range(max(first + 1, start), min(last + 1, end)):
                cells = chunk[row - start]
                if cells[column] == "" and any(cell != "" for cell in cells):
                    cells[column] = values.get(merge, "")

    def _place_errors(self, chunk: list[list[Any]], start: int) -> None:
        if self.marks.errors:
            for row, cells in enumerate(chunk, start):
                for column, told in self.marks.errors.get(row, {}).items():
                    if column < len(cells) and cells[column] in ("", None):
                        cells[column] = told

    def _column(self, cells: Sequence[Any], column: int) -> list[str]:
        """Write a column's cells as text, and note what kinds of them there are."""
        types = set(map(type, cells))
        if types == {str}:
            if column in self._seen:
                self._note(cells, column, types)
            return list(cells)
        self._note(cells, column, types)
        return [cell if type(cell) is str else as_text(cell, self.decimal) for cell in cells]

    def _note(self, cells: Sequence[Any], column: int, types: set[type]) -> None:
        seen = self._seen.setdefault(column, set())
        if types & {float, int}:
            seen.add("number")
        if types & {dt.date, dt.datetime}:
            seen.add("date")
            self.dates = True
        if str in types and not {"text number", "text date"} <= seen:
            for cell in cells:
                if type(cell) is str and cell:
                    if _NUMBER.fullmatch(cell):
                        seen.add("text number")
                    elif _DATE.fullmatch(cell):
                        seen.add("text date")

    def _settle(self) -> None:
        for column, seen in self._seen.items():
            if {"number", "text number"} <= seen:
                self.text_numbers.add(column)
            if {"date", "text date"} <= seen:
                self.text_dates.add(column)

    def _text(self, cell: Any, row: int, column: int) -> str:
        if type(cell) is str:
            return cell or self.marks.errors.get(row, {}).get(column, "")
        return as_text(cell, self.decimal)

    def _detect_decimal(self) -> str:
        """Tell a decimal comma by the numbers stored as text in the first rows."""
        commas = points = 0
        for cells in islice(self.sheet.iter_rows(), 1000):
            for cell in cells:
                if type(cell) is str and cell[:1] in "+- 0123456789" and cell:
                    commas += _COMMA.fullmatch(cell) is not None
                    points += _POINT.fullmatch(cell) is not None
        return "," if commas > points else "."


def as_text(cell: object, decimal: str = ".") -> str:
    """Write a typed cell as text that is read back alike: dates year first, whole numbers without a point."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        if cell.is_integer() and abs(cell) < 1e18:
            return str(int(cell))
        return repr(cell).replace(".", decimal)
    if isinstance(cell, dt.datetime):
        if cell.microsecond and cell.year < 9999:
            # A time is a fraction of a day there, so that a whole second comes back a little short.
            cell = (cell + _HALF_A_SECOND).replace(microsecond=0)
        midnight = cell.time() == dt.time()
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ", timespec="seconds")
    if isinstance(cell, dt.date):
        return cell.isoformat()
    return str(cell)
