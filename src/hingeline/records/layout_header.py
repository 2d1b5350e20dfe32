"""Which rows at the top of a file hold the column names, and what the names are.

The first rows come in; a `Header` goes out: where it stands, how many rows deep it is (none when the first row is
data already) and the names, those of an upper row before those of a lower one: ``Operation / Date``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise
from typing import Final

from ..errors import HingelineError
from .layout_cells import letter, trimmed_text
from .legend_model import fold

Row = Sequence[str]
Spans = Mapping[int, Sequence[tuple[int, int]]]
"""Row (from 0) to the first and last column of each of its merged cells."""

LOOKED_AT: Final = 60
"""Rows at the top of a file in which the column names are sought."""

DEEPEST: Final = 3
JOINED: Final = " / "
_LONGEST_NAME: Final = 120
_KINDS_AGREE: Final = 0.8
_NUMBER: Final = re.compile(r"[-+]?\d+(?:[.,]\d+)*\s?%?")
_DATE: Final = re.compile(r"\d{1,4}\s?[-./]\s?\d{1,2}\s?[-./]\s?\d{1,4}(?:[ T]\d.*)?")


@dataclass(frozen=True)
class Header:
    """The column names and where they stand.

    Attributes
    ----------
    at : int
        Their first row, from 0.
    depth : int
        Rows of names; 0 when there are none, so that columns are called A, B, C.
    names : tuple of str
        As they stand.
    held : int
        How many of the expected names are among them.
    """

    at: int
    depth: int
    names: tuple[str, ...]
    held: int

    @property
    def body(self) -> int:
        """First row below the names, from 0."""
        return self.at + self.depth


def head(rows: Iterable[Row]) -> Iterator[Row]:
    """Return the rows in which a header is sought."""
    return islice(iter(rows), LOOKED_AT)


def find_header(
    top: Sequence[Row],
    columns: Sequence[str] = (),
    *,
    row: int | None = None,
    depth: int | None = None,
    spans: Spans | None = None,
    where: str = "",
) -> Header:
    """Find the column names.

    Parameters
    ----------
    top : sequence of rows
    columns : sequence of str
        Names that the legend expects; the rows that hold most of them are the header.
    row : int, optional
        The legend's ``header_row`` as a spreadsheet counts; 0 when there is none.
    depth : int, optional
        The legend's ``header_rows``.
    spans : mapping, optional
        Merged cells; in delimited text a name reaches over the blanks to its right.
    where : str
        File and sheet, for messages.

    Raises
    ------
    HingelineError
        When there are no cells, or none where the legend says that names are.
    """
    if not any(cell.strip() for cells in top for cell in cells):
        raise HingelineError("The file holds no cells", where, "Export it again; it seems to be empty")
    if row == 0:
        return _nameless(top)
    if row is not None:
        if row > len(top):
            raise HingelineError(
                f"The legend says that row {row} holds the column names; it holds nothing",
                where,
                "Correct [file] header_row",
            )
        at = row - 1
        depths = (depth,) if depth else (1, 2, 3) if _joined_expected(columns) else (1,)
        return _best(top, columns, [(at, each) for each in depths], spans)
    if columns:
        depths = (depth,) if depth else (1, 2, 3) if _joined_expected(columns) else (1,)
        found = _best(top, columns, [(at, each) for each in depths for at in range(len(top))], spans)
        if found.held:
            return found
    at = _fullest(top)
    if depth:
        while depth > 1 and at and sum(map(bool, map(trimmed_text, top[at - 1]))) > 1:
            at, depth = at - 1, depth - 1
        return _header(top, at, max(depth, 1), columns, spans)
    # Names merged over two rows leave gaps in the lower one, so that the first row of records may be the fullest.
    uppers = (at - 2, at - 1, at) if _is_data(top, at) else (at - 1, at)
    for upper in uppers:
        if upper >= 0 and _two_deep(top, upper, spans):
            return _header(top, upper, 2, columns, spans)
    if _is_data(top, at):
        return _nameless(top)
    return _header(top, at, 1, columns, spans)


def _joined_expected(columns: Sequence[str]) -> bool:
    return any("/" in column for column in columns)


def _nameless(top: Sequence[Row]) -> Header:
    widths = [len(cells) for cells in top if any(cells)]
    width = max(set(widths), key=lambda one: (widths.count(one), one))
    at = next(at for at, cells in enumerate(top) if len(cells) == width and any(cells))
    return Header(at, 0, tuple(letter(i + 1) for i in range(width)), 0)


def _best(
    top: Sequence[Row], columns: Sequence[str], places: Iterable[tuple[int, int]], spans: Spans | None
) -> Header:
    """Return the place that holds most expected names; among equals the shallowest, then the first."""
    expected = [fold(column) for column in columns]
    longest = 2 * max((len(column) for column in columns), default=_LONGEST_NAME) + 8
    best: tuple[int, int, int] | None = None
    for at, depth in places:
        names = top[at] if depth == 1 else _names(top, at, depth, spans)
        cells = {fold(trimmed_text(cell)) for cell in names if cell and len(cell) <= longest}
        held = sum(column in cells for column in expected)
        if best is None or held > best[0]:
            best = held, at, depth
    assert best is not None
    held, at, depth = best
    return Header(at, depth, _names(top, at, depth, spans), held)


def _header(top: Sequence[Row], at: int, depth: int, columns: Sequence[str], spans: Spans | None) -> Header:
    return _best(top, columns, [(at, depth)], spans)


def _fullest(top: Sequence[Row]) -> int:
    filled = [sum(bool(cell.strip()) for cell in cells) for cells in top]
    # A title fills one cell; the names fill nearly as many as the fullest row.
    return next((at for at, cells in enumerate(filled) if cells >= 0.7 * max(filled)), 0)


def _names(top: Sequence[Row], at: int, depth: int, spans: Spans | None) -> tuple[str, ...]:
    """Join the rows of names, an upper one reaching over the columns that it spans."""
    rows = [[" ".join(trimmed_text(cell).split()) for cell in cells] for cells in top[at : at + depth]]
    width = max(map(len, rows))
    rows = [[*cells, *[""] * (width - len(cells))] for cells in rows]
    for upper in range(len(rows) - 1):
        _reach(rows, upper, (spans or {}).get(at + upper))
    names = []
    for cells in zip(*rows, strict=True):
        parts = list(dict.fromkeys(cell for cell in cells if cell))
        names.append(JOINED.join(parts))
    while names and not names[-1]:
        names.pop()
    return tuple(names)


def _reach(rows: list[list[str]], upper: int, spans: Sequence[tuple[int, int]] | None) -> None:
    """Write an upper name over the columns that it spans: those of its merged cell, else the blanks to its right.

    A name with nothing below it stands for its own column alone.
    """
    cells, below = rows[upper], rows[upper + 1]
    if spans:
        for first, last in spans:
            for column in range(first + 1, min(last + 1, len(cells))):
                cells[column] = cells[column] or cells[first]
        return
    reaching = ""
    for column, cell in enumerate(cells):
        if cell:
            reaching = cell if below[column] else ""
        elif below[column]:
            cells[column] = reaching


def _two_deep(top: Sequence[Row], upper: int, spans: Spans | None) -> bool:
    """Whether a row and the next both hold names, by what is above, below and repeated."""
    if upper + 2 >= len(top):
        return False
    above = [trimmed_text(cell) for cell in top[upper]]
    below = [trimmed_text(cell) for cell in top[upper + 1]]
    width = max(len(above), len(below))
    above += [""] * (width - len(above))
    below += [""] * (width - len(below))
    if sum(map(bool, above)) < 2 or sum(map(bool, below)) < 2:
        return False
    if not all(_is_name(cell) for cell in (*above, *below) if cell):
        return False
    filled_below = [cell for cell in below if cell]
    spanning = any(last > first for first, last in (spans or {}).get(upper, ()))
    beside = any(one and one == other for one, other in pairwise(above))
    repeated = len(set(map(fold, filled_below))) < len(filled_below)
    pairs = list(zip(above, below, strict=True))
    alternate = any(a and not b for a, b in pairs) and any(b and not a for a, b in pairs)
    return (spanning or beside or repeated or alternate) and _differs(top, upper + 2, below)


def _differs(top: Sequence[Row], start: int, names: Sequence[str]) -> bool:
    """Whether below some of the names there are numbers or dates, which names are not."""
    return any(name and _kind_share(top, start, column) >= _KINDS_AGREE for column, name in enumerate(names))


def _kind_share(top: Sequence[Row], start: int, column: int) -> float:
    """Share of numbers and dates among a column's filled cells."""
    cells = [text for cells in top[start:] if column < len(cells) and (text := trimmed_text(cells[column]))]
    return sum(map(_is_datum, cells)) / len(cells) if cells else 0.0


def _is_datum(cell: str) -> bool:
    return bool(_NUMBER.fullmatch(cell) or _DATE.fullmatch(cell))


def _is_name(cell: str) -> bool:
    return len(cell) <= _LONGEST_NAME and not _is_datum(cell) and any(one.isalpha() for one in cell)


def _is_data(top: Sequence[Row], at: int) -> bool:
    """Whether a row is of the same kind as those below it, so that it holds no names.

    A date above dates is decisive; numbers may be names (years, grades), so several and a fifth of the row are asked
    for. Values that stand again in their columns below are none of names, unless the whole row does, as where names are
    printed again on each page.
    """
    cells = [trimmed_text(cell) for cell in top[at]]
    if _recurs(top, at, cells):
        return True
    alike = [
        column
        for column, cell in enumerate(cells)
        if cell
        and _is_datum(cell)
        and (at + 1 >= len(top) or _kind_share(top, at + 1, column) >= _KINDS_AGREE)
    ]
    if any(_DATE.fullmatch(cells[column]) for column in alike):
        return True
    filled = sum(map(bool, cells))
    return (
        at + 1 < len(top) and len(alike) >= 2 and len(alike) >= 0.2 * filled and not _are_years(cells, alike)
    )


def _recurs(top: Sequence[Row], at: int, cells: Sequence[str]) -> bool:
    """Whether several of a row's values, a fifth of it, stand again in their columns, or are shaped alike."""
    below = [[trimmed_text(cell) for cell in row] for row in top[at + 1 :] if any(row)]
    names = [cell for cell in cells if cell]
    others = [
        row for row in below if sum(one == two for one, two in zip(row, cells, strict=False)) < len(names)
    ]
    again = 0
    for column, cell in enumerate(cells):
        held = [row[column] for row in others if column < len(row) and row[column]]
        alike = (
            _SHAPED.search(cell)
            and held
            and sum(_shape(one) == _shape(cell) for one in held) >= 0.8 * len(held)
        )
        again += bool(cell) and (cell in held or bool(alike))
    return again >= 2 and again >= 0.2 * len(names)


_SHAPED: Final = re.compile(r"\d.*\d.*\d")


def _shape(cell: str) -> str:
    """A value with 9 for its figures and a for its letters: what record numbers of one kind have in common."""
    return re.sub(r"[^\W\d_]", "a", re.sub(r"\d", "9", cell))


def _are_years(cells: Sequence[str], alike: Sequence[int]) -> bool:
    return all(re.fullmatch(r"(?:19|20)\d\d", cells[column]) for column in alike)
