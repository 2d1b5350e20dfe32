"""Describe an export: a path comes in, what was detected and what each column holds goes out, nobody named.

Dates, numbers, codes with their counts, keys and free text are told apart by the cells alone. A value is shown only
where it is a code, a range of numbers or a year; columns that seem to identify people show none.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
import pyarrow as pa

from .. import wording
from .identifier_cells import MASK, says_more, shown
from .propose_columns import Column
from .propose_joint import DATED, Together, together
from .propose_tables import Table, tables_of

Kind = Literal["dates", "numbers", "codes", "keys", "free text", "empty", "masked"]

_CODES: Final = 30
"""Distinct values up to which a column is one of codes."""

_SHOWN: Final = 8
_OFTEN: Final = 5
_SHORT_NUMBER: Final = re.compile(r"\d{1,4}(?:[.,]\d{1,2})?")
"""A year or a measure, where it stands in several rows; a record's number stands in few."""

_LONG: Final = 40
"""Characters from which cells are free text on average."""


@dataclass(frozen=True)
class ColumnTold:
    """One column as it is described.

    Attributes
    ----------
    name, letter : str
    kind : {"dates", "numbers", "codes", "keys", "free text", "empty", "masked"}
    filled, rows, distinct : int
    told : str
        What it holds, in words; nothing that could name somebody.
    """

    name: str
    letter: str
    kind: Kind
    filled: int
    rows: int
    distinct: int
    told: str


@dataclass(frozen=True)
class TableTold:
    """One table of a file: its name, rows, what was detected, and its columns."""

    name: str
    sheet: str
    rows: int
    broken: int
    detected: tuple[str, ...]
    columns: tuple[ColumnTold, ...]


@dataclass(frozen=True)
class Description:
    """A file, described.

    Attributes
    ----------
    name : str
    tables : tuple of TableTold
        One, or one a sheet.
    """

    name: str
    tables: tuple[TableTold, ...]

    def to_frame(self) -> pa.Table:
        """Return one row a column."""
        rows = [(table, column) for table in self.tables for column in table.columns]
        return pa.table(
            {
                "sheet": pa.array([table.sheet for table, _ in rows], pa.string()),
                "column": pa.array([column.name for _, column in rows], pa.string()),
                "letter": pa.array([column.letter for _, column in rows], pa.string()),
                "kind": pa.array([column.kind for _, column in rows], pa.string()),
                "filled": pa.array([column.filled for _, column in rows], pa.int64()),
                "rows": pa.array([column.rows for _, column in rows], pa.int64()),
                "distinct": pa.array([column.distinct for _, column in rows], pa.int64()),
                "told": pa.array([column.told for _, column in rows], pa.string()),
            }
        )

    def text(self) -> str:
        """Return the description as a person reads it in a terminal."""
        return "\n\n".join(
            wording.look_table(
                table.name,
                table.sheet,
                table.rows,
                table.broken,
                table.detected,
                [_row(one) for one in table.columns],
            )
            for table in self.tables
        )

    def __str__(self) -> str:
        columns = sum(len(table.columns) for table in self.tables)
        return wording.look_described(
            self.name, len(self.tables), sum(table.rows for table in self.tables), columns
        )


def describe(path: Path | str, *, sheet: str | None = None) -> Description:
    """Describe an export.

    Parameters
    ----------
    path : Path or str
    sheet : str, optional
        One sheet of a spreadsheet; all of them unless given.

    Raises
    ------
    HingelineError
        When it cannot be opened.
    """
    tables = tables_of(path, sheet)
    return Description(tables[0].name, tuple(map(_table, tables)))


def _table(table: Table) -> TableTold:
    dates = together(table.columns)
    return TableTold(
        table.name,
        table.sheet,
        table.rows,
        table.broken,
        table.detected,
        tuple(_column(one, table, dates) for one in table.columns),
    )


def _row(one: ColumnTold) -> tuple[str, str, str, int, int, int, str]:
    return one.letter, one.name, one.kind, one.filled, one.rows, one.distinct, one.told


def _column(column: Column, table: Table, dates: Together) -> ColumnTold:
    kind, told = _kind(column, table.suspects.get(column.name), dates)
    return ColumnTold(
        column.header or column.name, column.letter, kind, column.filled, column.rows, column.distinct, told
    )


def _kind(column: Column, suspect: str | None, dates: Together) -> tuple[Kind, str]:
    if not column.filled:
        return "empty", ""
    if suspect is not None:
        return "masked", wording.look_masked(suspect)
    if column.dates.share >= DATED:
        return "dates", _dates(column, dates)
    numbers = column.numbers[np.isfinite(column.numbers)]
    mostly = column.distinct / column.filled
    if (
        column.number_share >= 0.95
        and column.distinct > 12
        and not (mostly > 0.95 and (numbers % 1 == 0).all() and numbers.max() > 2_000)
    ):
        return "numbers", wording.look_range_told(float(numbers.min()), float(numbers.max()))
    if column.distinct <= _CODES and column.mean_length < _LONG:
        return "codes", wording.look_codes(_codes(column), column.distinct)
    if column.mean_length >= _LONG or (
        any(" " in cell for cell in column.cells[:200] if cell) and column.mean_length > 12
    ):
        return "free text", wording.look_text_told(column.mean_length)
    if mostly > 0.3:
        return "keys", wording.look_keys_told(column.distinct, column.filled)
    return "codes", wording.look_codes(_codes(column), column.distinct)


def _codes(column: Column) -> list[tuple[str, int]]:
    """The commonest values and how often they stand; all that are masked together."""
    told: dict[str, int] = {}
    for cell, times in list(column.counts.items())[:_SHOWN]:
        number = times >= _OFTEN and _SHORT_NUMBER.fullmatch(cell)
        name = MASK if says_more(cell) and not number else shown(cell)
        told[name] = told.get(name, 0) + times
    return list(told.items())


def _dates(column: Column, dates: Together) -> str:
    own, settled = column.dates.best()
    if column.dates.plain:
        order = "plain"
    elif own and settled:
        order = own
    elif sum(column.dates.only.values()) > 0:
        order = "mixed"
    else:
        order = "ambiguous"
    days = dates.dates.get(column.position)
    kept: Sequence[float] = [] if days is None else days[np.isfinite(days)].tolist()
    years = (_year(min(kept)), _year(max(kept))) if kept else None
    return wording.look_dates_told(order, years)


def _year(day: float) -> int:
    import datetime as dt

    return dt.date.fromordinal(int(day)).year
