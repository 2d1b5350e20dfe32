"""Tables of a hospital's files: which holds the operations, which the visits after them, which a list of codes.

Paths come in; opened and looked-at tables go out, each closed again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Final

import python_calamine as calamine

from .. import wording
from ..errors import HingelineError
from .header_words import senses
from .identifiers import names_that_tell, suspects
from .legend_model import FileOptions, fold
from .propose_beside import lines_beside
from .propose_columns import Column, columns_of
from .propose_keys import keys_of
from .source import LIMITS, SHEET_ROWS, open_source
from .source_container import look_inside

_LIST_ROWS: Final = 400
_LIST_COLUMNS: Final = 6


@dataclass(frozen=True)
class Table:
    """One table, looked at.

    Attributes
    ----------
    path : Path
    name, sheet : str
        Of the file; the sheet is empty unless it is a spreadsheet.
    sheets : tuple of str
        All sheets of the file.
    columns : tuple of Column
    rows : int
    suspects : mapping of str to str
        Columns that seem to identify people, by table name, with the reason.
    detected : tuple of str
    decimal : str
    broken : int
    keys : mapping of str to mapping
        The file's own keys of codes: name in the table to codes and their words.
    """

    path: Path
    name: str
    sheet: str
    sheets: tuple[str, ...]
    columns: tuple[Column, ...]
    rows: int
    suspects: Mapping[str, str]
    detected: tuple[str, ...]
    decimal: str
    broken: int = 0
    keys: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    @property
    def header(self) -> tuple[str, ...]:
        """Names of the columns, folded."""
        return tuple(fold(column.header) for column in self.columns)


def tables_of(path: Path | str, sheet: str | None = None) -> tuple[Table, ...]:
    """Open and look at every table of a file; of a spreadsheet every sheet, or the one named.

    Raises
    ------
    HingelineError
        When no table can be read.
    """
    names = () if sheet is not None else sheets_of(path)
    if len(names) < 2:
        return (_table(path, sheet, names),)
    found, refused = [], None
    for name in names:
        try:
            found.append(_table(path, name, names))
        except HingelineError as error:
            refused = error
    if not found and refused is not None:
        raise refused
    return tuple(found)


def sheets_of(path: Path | str) -> tuple[str, ...]:
    """Names of a spreadsheet's sheets; none of anything else, and of what cannot be opened."""
    path = Path(path)
    try:
        with path.open("rb") as file:
            if file.read(4) != b"PK\x03\x04":
                return ()
        look_inside(
            path,
            max_bytes=LIMITS.unpacked_bytes,
            max_ratio=LIMITS.unpacked_ratio,
            max_rows=SHEET_ROWS,
            max_columns=LIMITS.columns,
        )
        with calamine.CalamineWorkbook.from_path(str(path)) as book:
            return tuple(
                meta.name
                for meta in book.sheets_metadata
                if meta.typ == calamine.SheetTypeEnum.WorkSheet and "isible" in str(meta.visible)
            )
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # opening it properly will say what is wrong with it
        return ()


def _table(path: Path | str, sheet: str | None, names: Sequence[str]) -> Table:
    try:
        state = Path(path).stat()
    except (OSError, ValueError):  # opening it will say what is wrong
        return _opened(path, sheet, tuple(names), 0, 0)
    return _opened(path, sheet, tuple(names), state.st_mtime_ns, state.st_size)


@lru_cache(maxsize=16)
def _opened(path: Path | str, sheet: str | None, names: tuple[str, ...], changed: int, size: int) -> Table:
    """Look at a table once while its file stays as it is: it is described and proposed for."""
    with open_source(path, FileOptions(sheet=sheet)) as source:
        told = names_that_tell(source)
        if told:
            raise HingelineError(
                "Names of columns seem to be a patient's data, as where a file has no row of names",
                f"{source.where}, {'column' if len(told) == 1 else 'columns'} {wording.listed(told[:12])}",
                "Put a row of column names above the records, or give these columns other names",
            )
        found = {one.column: one.why for one in suspects(source, (), ())}
        columns = columns_of(source)
        by_header = {column.name: found[column.header] for column in columns if column.header in found}
        by_header |= {column.name: found[column.name] for column in columns if column.name in found}
        return Table(
            path=Path(path),
            name=source.name,
            sheet=source.sheet,
            sheets=names,
            columns=columns,
            rows=source.n_rows,
            suspects=by_header,
            detected=source.detected,
            decimal=source.decimal,
            broken=len(source.broken),
            keys=keys_of(lines_beside(path, source), columns),
        )


def codes_listed(tables: Sequence[Table]) -> dict[str, dict[str, str]]:
    """Lists of codes in tables beside the records: folded column name to ``{code: words}``.

    A list has a column of the columns' names (or the name stands alone above its codes), one of codes and one of words.
    """
    found: dict[str, dict[str, str]] = {}
    for table in tables:
        if table.rows > _LIST_ROWS or not 2 <= len(table.columns) <= _LIST_COLUMNS:
            continue
        rows = [[column.header for column in table.columns]] + [
            [column.cells[at] or "" for column in table.columns]
            for at in range(min(table.rows, len(table.columns[0].cells)))
        ]
        current = ""
        for row in rows:
            cells = [cell.strip() for cell in row if cell.strip()]
            if not cells:
                continue
            if len(cells) == 1:
                current = cells[0]
                continue
            named, code, words = _entry(cells, current)
            if code is None:
                current = named or current
                continue
            current = named or current
            if current:
                found.setdefault(fold(current), {})[fold(code)] = words
    return {name: codes for name, codes in found.items() if len(codes) >= 2}


def _entry(cells: Sequence[str], current: str) -> tuple[str, str | None, str]:
    """Column name, code and words of one line of a list."""
    if len(cells) >= 3 and len(cells[1]) <= 6 and len(cells[2]) > len(cells[1]):
        return cells[0], cells[1], cells[2]
    if len(cells) == 2 and len(cells[0]) <= 6 and not cells[1].isdigit():
        return "", cells[0], cells[1]
    return "", None, ""


def says_codes(name: str) -> bool:
    """Whether a sheet's name speaks of codes."""
    return bool(senses(name) & {"code"})
