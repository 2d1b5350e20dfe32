"""Words on opening files: what was noticed in them, and what was made of it."""

from __future__ import annotations

from collections.abc import Sequence

from .numbers import count, listed

_NAMED = {";": "semicolons", ",": "commas", "\t": "tabs", "|": "vertical bars", "^": "carets", "~": "tildes"}


def _some_rows(rows: Sequence[int], shown: int = 5) -> str:
    """Name the first few rows and say how many more there are."""
    first = [count(row) for row in rows[:shown]]
    if len(rows) > shown:
        return f"rows {', '.join(first)} and {count(len(rows) - shown)} more"
    return f"{'row' if len(rows) == 1 else 'rows'} {listed(first)}"


def detected_named_delimiter(file: str, delimiter: str) -> str:
    """Say that a file's first line names its delimiter."""
    name = _NAMED.get(delimiter, repr(delimiter))
    return (
        f"{file}: cells parted by {name}, as its first line (sep=) says; rows are counted without that line"
    )


def detected_mixed(file: str, rows: Sequence[int]) -> str:
    """Say that a file holds text in two encodings, and where."""
    where = f"{_some_rows(rows)} hold" if len(rows) != 1 else f"{_some_rows(rows)} holds"
    if not rows:
        where = "lines above the records hold"
    return f"{file}: text, UTF-8, but {where} Windows (cp1252) text, since it does not fit UTF-8; each line was read as what it is"


def detected_unseen(file: str, cells: int) -> str:
    """Say that characters which nobody can see were taken out of cells."""
    return (
        f"{file}: invisible characters (zero-width spaces, soft hyphens) taken out of {count(cells, 'cell')}"
    )


def detected_repeats(file: str, repeats: Sequence[tuple[str, Sequence[str], str]], of: int) -> str:
    """Say which column names stand more than once.

    Parameters
    ----------
    file : str
    repeats : sequence of (str, sequence of str, str)
        The name, the letters of its columns, and what the second of them is called.
    of : int
        How many names repeat in all.
    """
    told = [
        f"{name!r} stands {count(len(letters))} times (columns {listed(letters[:6])}); the second is called {second!r}"
        for name, letters, second in repeats
    ]
    more = (
        f"; {count(of - len(repeats), 'other name repeats', 'other names repeat')}"
        if of > len(repeats)
        else ""
    )
    return f"{file}: column name {'; '.join(told)}{more}"


def detected_no_header(file: str, row: int, first: str, last: str) -> str:
    """Say that there are no column names, since the first row is data."""
    return (
        f"{file}: no column names; row {count(row)} is of the same kind as the rows below it, so it was read as a "
        f"record. Columns are called {first} to {last}; the legend says so with [file] header_row = 0"
    )


def detected_deep_header(file: str, row: int, depth: int, example: str) -> str:
    """Say that the column names stand in several rows."""
    return (
        f"{file}: column names in {count(depth)} rows from row {count(row)}, since names stand below names; "
        f"they are joined, as in {example!r}"
    )


def detected_sheet_of(file: str, sheet: str, others: Sequence[str], why: str) -> str:
    """Say which of several sheets was taken and why, and name the others."""
    listed_others = listed([repr(other) for other in others[:12]])
    more = f" and {count(len(others) - 12)} more" if len(others) > 12 else ""
    return f"{file}: sheet {sheet}; {why}. Not read: {listed_others}{more}"


def sheet_by_columns(held: int, expected: int) -> str:
    """Say that a sheet was taken for its column names."""
    return f"{count(held)} of {count(expected, 'mapped column')} are found there, more than on any other"


def sheet_by_size(rows: int) -> str:
    """Say that a sheet was taken for its size."""
    return f"with {count(rows, 'row')} it is the longest"


def detected_macros(file: str) -> str:
    """Say that a spreadsheet holds macros."""
    return f"{file}: holds macros; they are never run"


def detected_days_from_1904(file: str) -> str:
    """Say that a spreadsheet counts its days from 1904."""
    return f"{file}: its dates count from 1904, and are read so"


def detected_hidden(file: str, rows: int, columns: Sequence[str], filtered: bool) -> str:
    """Say what is hidden on a sheet."""
    parts = [count(rows, "row")] if rows else []
    if columns:
        parts.append(f"{'column' if len(columns) == 1 else 'columns'} {listed(columns[:8])}")
    why = ", by a filter" if filtered and rows else ""
    return f"{file}: {' and '.join(parts)} {'is' if parts == ['1 row'] or (not rows and len(columns) == 1) else 'are'} hidden{why}; what is hidden is read like the rest"


def detected_identifiers_in_notes(file: str, column: str) -> str:
    """Say that a column of notes seems to tell who somebody is, and what becomes of it."""
    return (
        f"{file}: column {column!r} seems to hold telephone numbers or other marks of people among its notes; a note is "
        "read for what was found and done, and none of its words is kept"
    )


def detected_hidden_sheet(file: str, sheet: str) -> str:
    """Say that the sheet that was taken is hidden."""
    return f"{file}: sheet {sheet} is hidden"


def detected_error_cells(file: str, cells: int, kinds: Sequence[str]) -> str:
    """Say that cells hold a spreadsheet's error values."""
    return f"{file}: {count(cells, 'cell holds', 'cells hold')} an error of the spreadsheet ({listed(kinds)}), kept as it stands"


def detected_unsolved(file: str, cells: int) -> str:
    """Say that formulas have no value, since no spreadsheet has computed them yet."""
    return (
        f"{file}: {count(cells, 'formula has', 'formulas have')} no value and {'was' if cells == 1 else 'were'} read as "
        "empty; open the file in a spreadsheet and save it to have them computed"
    )


def detected_merged_down(file: str, rows: Sequence[int], cells: int) -> str:
    """Say that merged cells were read as their value in every row that they span."""
    return (
        f"{file}: {count(cells, 'cell')} merged over several rows, from {_some_rows(rows)}; "
        "the value was read in each of them, as the sheet shows it"
    )


def detected_merged_across(file: str, rows: Sequence[int], cells: int) -> str:
    """Say that merged cells were read as their first column's."""
    return (
        f"{file}: {count(cells, 'cell')} merged over several columns, from {_some_rows(rows)}; "
        "the value was read in the first of them, the others are empty"
    )


def detected_text_numbers(file: str, columns: Sequence[str]) -> str:
    """Say that numbers stand as text among numbers."""
    return (
        f"{file}: numbers stored as text beside numbers in {'column' if len(columns) == 1 else 'columns'} "
        f"{listed(columns[:8])}; both are read alike"
    )


def detected_text_dates(file: str, columns: Sequence[str]) -> str:
    """Say that dates as text stand beside true dates."""
    return (
        f"{file}: dates as text beside true dates in {'column' if len(columns) == 1 else 'columns'} "
        f"{listed(columns[:8])}; true dates are read as they are, the others in the order of the column"
    )


def detected_comma_in_sheet(file: str) -> str:
    """Say that numbers as text on a sheet have a decimal comma."""
    return f"{file}: decimal comma; more numbers stored as text are written with a comma than with a point"


def detected_database(table: str, database: str, rows: int, order: str) -> str:
    """Say that a table of a database was read."""
    how = (
        f"in the order of its primary key ({order})"
        if order
        else "in the order in which the server holds them"
    )
    return (
        f"{table}: table of the PostgreSQL database {database}, {count(rows, 'row')}, read {how}; "
        "rows are counted from 2, as if the column names stood in row 1"
    )
