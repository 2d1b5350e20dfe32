"""Spreadsheets (XLSX), read by python-calamine; nothing in them is ever run.

A path comes in; the rows of one sheet under their column names go out, with what was detected and why. Merged cells
are read as the sheet shows them, error values stay visible, and what is hidden is read like the rest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import python_calamine as calamine

from .. import wording
from ..errors import HingelineError
from .layout import Layout, Room, lay_out
from .layout_cells import letter
from .layout_header import LOOKED_AT, Header, find_header
from .legend_model import FileOptions, fold
from .source_container import Inside, Marks
from .source_grid import Grid
from .source_text import told_header


@dataclass(frozen=True)
class SheetRead:
    """One sheet's rows, its name, its decimal mark, and what was detected."""

    sheet: str
    layout: Layout
    decimal: str
    detected: tuple[str, ...]


def read_sheet(
    path: Path, options: FileOptions, columns: Sequence[str], inside: Inside, room: Room
) -> SheetRead:
    """Read one sheet of a container that was looked through."""
    try:
        with calamine.CalamineWorkbook.from_path(str(path)) as book:
            return _read(book, path, options, columns, inside, room)
    except (HingelineError, KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic in the reader's native code is no Exception
        raise HingelineError(
            f"The spreadsheet cannot be read ({type(error).__name__})",
            str(path),
            "Open it in a spreadsheet and save it again as XLSX, or export CSV",
        ) from None


def _read(
    book: Any, path: Path, options: FileOptions, columns: Sequence[str], inside: Inside, room: Room
) -> SheetRead:
    file = path.name
    told = [wording.detected_macros(file)] if inside.macros else []
    name, why = _choose(book, path, options, columns, inside)
    told += why
    where = f"{path}, sheet {name}"
    marks = inside.marks.get(name, Marks())
    grid = Grid(book.get_sheet_by_name(name), marks, options.decimal or "")
    top = grid.top(max(LOOKED_AT, options.header_row or 0))
    header = find_header(
        top, columns, row=options.header_row, depth=options.header_rows, spans=grid.spans(), where=where
    )
    if not any(header.names):
        raise HingelineError(
            f"Row {header.at + 1} holds no column names", where, "Give [file] header_row in the legend"
        )
    names = _widened(header, top)
    layout = lay_out(names, grid.body(header.body, len(names)), file=file, where=where, room=room)
    told += [*told_header(file, options, header), *_noticed(file, grid, marks, inside)]
    if grid.decimal == "," and not options.decimal:
        told.append(wording.detected_comma_in_sheet(file))
    layout = replace(layout, told=(*told, *layout.told))
    return SheetRead(name, layout, grid.decimal, layout.told)


def _widened(header: Header, top: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Give every column of the grid a place: one without a name is a remark beside the table."""
    width = max(map(len, top))
    more = [letter(at + 1) if not header.depth else "" for at in range(len(header.names), width)]
    return (*header.names, *more)


def _noticed(file: str, grid: Grid, marks: Marks, inside: Inside) -> Iterator[str]:
    if inside.from_1904 and grid.dates:
        yield wording.detected_days_from_1904(file)
    if marks.hidden_rows or marks.hidden_columns:
        hidden = [
            letter(first)
            if first == last
            else f"{letter(first)}–{letter(min(last, marks.last_column or last))}"
            for first, last in marks.hidden_columns
        ]
        yield wording.detected_hidden(file, marks.hidden_rows, hidden, marks.filtered)
    if marks.errors:
        kinds = sorted({told for row in marks.errors.values() for told in row.values()})
        yield wording.detected_error_cells(file, sum(map(len, marks.errors.values())), kinds)
    if marks.unsolved:
        yield wording.detected_unsolved(file, marks.unsolved)
    if grid.filled_down:
        yield wording.detected_merged_down(file, grid.filled_down, len(grid.filled_down))
    if grid.across:
        yield wording.detected_merged_across(file, grid.across, len(grid.across))
    if grid.text_numbers:
        yield wording.detected_text_numbers(file, [letter(at + 1) for at in sorted(grid.text_numbers)])
    if grid.text_dates:
        yield wording.detected_text_dates(file, [letter(at + 1) for at in sorted(grid.text_dates)])


def _choose(
    book: Any, path: Path, options: FileOptions, columns: Sequence[str], inside: Inside
) -> tuple[str, list[str]]:
    """Choose a sheet: the one that the legend names, else by its columns, else (without a legend) by its length."""
    sheets = {
        meta.name: meta.visible == calamine.SheetVisibleEnum.Visible
        for meta in book.sheets_metadata
        if meta.typ == calamine.SheetTypeEnum.WorkSheet
    }
    names = list(sheets)
    if options.sheet is not None:
        for name in names:
            if fold(name) == fold(options.sheet):
                return name, [] if sheets[name] else [wording.detected_hidden_sheet(path.name, name)]
        raise HingelineError(
            f"There is no sheet {options.sheet!r}",
            str(path),
            f"Correct [file] sheet in the legend; there are: {', '.join(names)}",
        )
    if not names:
        raise HingelineError("The spreadsheet has no sheet of cells", str(path), "Export it again")
    told = []
    if len(names) == 1:
        name = names[0]
    else:
        name, why = _likeliest(book, path, options, columns, inside, sheets)
        told.append(wording.detected_sheet_of(path.name, name, [one for one in names if one != name], why))
    if not sheets[name]:
        told.append(wording.detected_hidden_sheet(path.name, name))
    return name, told


def _likeliest(
    book: Any,
    path: Path,
    options: FileOptions,
    columns: Sequence[str],
    inside: Inside,
    sheets: dict[str, bool],
) -> tuple[str, str]:
    if not columns:
        cells = {name: inside.marks.get(name, Marks()).cells for name in sheets}
        name = max(sheets, key=lambda one: (sheets[one] and cells[one] > 0, cells[one]))
        return name, wording.sheet_by_size(inside.marks.get(name, Marks()).last_row)
    held = {}
    for name in sheets:
        grid = Grid(book.get_sheet_by_name(name), Marks(), ".")
        top = grid.top(LOOKED_AT)
        filled = any(cell.strip() for row in top for cell in row)
        held[name] = (
            find_header(top, columns, depth=options.header_rows, spans=grid.spans()).held if filled else 0
        )
    best = max(held.values())
    if best == 0 or list(held.values()).count(best) > 1:
        raise HingelineError(
            "Several sheets could hold the records",
            str(path),
            f"Name one in [file] sheet of the legend; there are: {', '.join(sheets)}",
        )
    return max(held, key=lambda one: held[one]), wording.sheet_by_columns(best, len(columns))
