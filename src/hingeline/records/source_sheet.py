"""Spreadsheets (XLSX), read by python-calamine; nothing in them is ever run.

A path comes in; the rows of one sheet under their column names go out. The container is checked before it is
opened: what it unpacks to, and how large a grid it claims, since a few kilobytes can claim sixteen billion
cells.
"""

from __future__ import annotations

import datetime as dt
import re
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import python_calamine as calamine

from .. import wording
from ..errors import HingelineError
from .layout import Layout, Row, best_header, head, lay_out
from .legend_model import FileOptions, fold

_PIECE: Final = 1 << 20
_FAR_COLUMN: Final = re.compile(rb'\br="([A-Z]{3})\d{1,7}"')
_ROW: Final = re.compile(rb'<(?:\w+:)?row\b[^>]{0,200}?\br="(\d{1,9})"')


@dataclass(frozen=True)
class SheetRead:
    """One sheet's rows, its name, and what was detected."""

    sheet: str
    layout: Layout
    detected: tuple[str, ...]


def check_container(path: Path, *, max_bytes: int, max_ratio: int, max_rows: int, max_columns: int) -> None:
    """Refuse a ZIP that is no XLSX, is damaged, or unpacks to more than a sheet of records can be."""
    where = str(path)
    damaged = HingelineError(
        "The spreadsheet is damaged or was cut off", where, "Export it again, or fetch it again"
    )
    try:
        with zipfile.ZipFile(path) as container:
            members = container.infolist()
            names = {member.filename for member in members}
            if "xl/workbook.xml" not in names:
                raise HingelineError(
                    "The file is a ZIP container, but no XLSX spreadsheet",
                    where,
                    "Open it in a spreadsheet and save it as XLSX or CSV",
                )
            packed = sum(member.compress_size for member in members)
            unpacked = sum(member.file_size for member in members)
            if unpacked > max_bytes or (unpacked > _PIECE * 16 and unpacked > max_ratio * max(packed, 1)):
                raise HingelineError(
                    f"The spreadsheet unpacks to {unpacked:,} bytes, more than is safe to open",
                    where,
                    "Save it as CSV; if it is not known where it comes from, do not open it",
                )
            for member in members:
                _check_member(container, member, where, max_rows, max_columns)
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError, OSError):
        raise damaged from None


def _check_member(
    container: zipfile.ZipFile, member: zipfile.ZipInfo, where: str, max_rows: int, max_columns: int
) -> None:
    """Unpack to the end (which checks length and sum) and look at how far a sheet's cells lie."""
    is_sheet = member.filename.startswith("xl/worksheets/") and member.filename.endswith(".xml")
    left = b""
    with container.open(member) as stream:
        while piece := stream.read(_PIECE):
            if is_sheet:
                text = left + piece
                column = max((_position(m) for m in _FAR_COLUMN.findall(text)), default=0)
                last = max(map(int, _ROW.findall(text)), default=0)
                if column > max_columns or last > max_rows:
                    raise HingelineError(
                        "A sheet's cells lie further out than a list of records reaches",
                        f"{where}, {member.filename}",
                        "Copy the records alone to a new sheet and save that",
                    )
                left = text[-256:]


def _position(letters: bytes) -> int:
    position = 0
    for one in letters:
        position = position * 26 + one - 64
    return position


def read_sheet(
    path: Path, options: FileOptions, columns: Sequence[str], *, decimal: str, max_rows: int, max_columns: int
) -> SheetRead:
    """Read one sheet of a checked container."""
    told: list[str] = []
    try:
        with calamine.CalamineWorkbook.from_path(str(path)) as book:
            name = _choose(book, path, options, columns, decimal, told)
            sheet = book.get_sheet_by_name(name)
            layout = lay_out(
                _rows(sheet, decimal),
                where=f"{path}, sheet {name}",
                header_row=options.header_row,
                columns=columns,
                max_rows=max_rows,
                max_columns=max_columns,
                grid=True,
            )
    except (HingelineError, KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic in the reader's native code is no Exception
        raise HingelineError(
            f"The spreadsheet cannot be read ({type(error).__name__})",
            str(path),
            "Open it in a spreadsheet and save it again as XLSX, or export CSV",
        ) from None
    if options.header_row is None:
        told.append(wording.detected_header(path.name, layout.header_row))
    return SheetRead(name, layout, tuple(told))


def _choose(
    book: Any, path: Path, options: FileOptions, columns: Sequence[str], decimal: str, told: list[str]
) -> str:
    names: list[str] = [
        meta.name for meta in book.sheets_metadata if meta.typ == calamine.SheetTypeEnum.WorkSheet
    ]
    if options.sheet is not None:
        for name in names:
            if fold(name) == fold(options.sheet):
                return name
        raise HingelineError(
            f"There is no sheet {options.sheet!r}",
            str(path),
            f"Correct [file] sheet in the legend; there are: {', '.join(names)}",
        )
    if not names:
        raise HingelineError("The spreadsheet has no sheet of cells", str(path), "Export it again")
    if len(names) == 1:
        return names[0]
    held = {
        name: best_header(list(head(_rows(book.get_sheet_by_name(name), decimal))), columns)[1]
        for name in names
    }
    best = max(held.values())
    if best == 0 or list(held.values()).count(best) > 1:
        raise HingelineError(
            "Several sheets could hold the records",
            str(path),
            f"Name one in [file] sheet of the legend; there are: {', '.join(names)}",
        )
    name = max(names, key=lambda one: held[one])
    told.append(wording.detected_sheet(path.name, name, best, len(columns)))
    return name


def _rows(sheet: Any, decimal: str) -> Iterator[Row]:
    for row in sheet.iter_rows():
        yield [cell if type(cell) is str else as_text(cell, decimal) for cell in row]


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
        midnight = cell.time() == dt.time()
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ", timespec="seconds")
    if isinstance(cell, dt.date):
        return cell.isoformat()
    return str(cell)
