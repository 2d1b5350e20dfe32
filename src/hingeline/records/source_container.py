"""The container of a spreadsheet (XLSX is XML in a ZIP), looked through once before it is opened.

A path comes in; an `Inside` goes out: for each sheet how many cells it holds and what the reader of cells does not
tell (error values, what is hidden, formulas without a value), and whether there are macros. A container that unpacks
to more than a list of records can be, or claims a grid that far out, is refused: a few kilobytes can claim sixteen
billion cells.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Final
from xml.etree import ElementTree

from ..errors import HingelineError
from .layout_cells import position

_PIECE: Final = 1 << 20
_MOST_SMALL: Final = 16 << 20
_MOST_AREA: Final = 60_000_000
_SPARSE: Final = 50
"""Times that a grid may be larger than the cells that it holds, when it is large."""

_TAG: Final = rb"<(?:\w+:)?%s\b"
_ROW: Final = re.compile(_TAG % b"row" + rb"([^>]{0,2000})>")
_CELL: Final = re.compile(_TAG % b"c" + rb"([^>]{0,2000}?)(/?)>")
_PREFIXED_CELL: Final = re.compile(rb"<\w+:c[ >]")
_NUMBER: Final = re.compile(rb"""\br=["'](\d{1,9})["']""")
_PLACE: Final = re.compile(rb"""\br=["']([A-Z]{1,3})\d{1,9}["']""")
_FAR: Final = re.compile(rb"""\br=["']([A-Z]{2,3})\d{1,7}["']""")
_IS_ERROR: Final = re.compile(rb"""\bt=["']e["']""")
_VALUE: Final = re.compile(rb"<(?:\w+:)?v\b[^>]*>([^<]*)<")
_HIDDEN: Final = re.compile(rb"""\bhidden=["'](?:1|true)["']""")
_COLUMN: Final = re.compile(_TAG % b"col" + rb"([^>]{0,2000})>")
_FIRST: Final = re.compile(rb"""\bmin=["'](\d{1,5})["']""")
_LAST: Final = re.compile(rb"""\bmax=["'](\d{1,5})["']""")
_FILTER: Final = re.compile(_TAG % b"filterColumn")
_UNSOLVED: Final = re.compile(
    _TAG % b"c"
    + rb"""((?:(?!\bt=["']str["'])[^>]){0,2000})>\s*"""
    + rb"<(?:\w+:)?f\b(?:[^>]*/>|[^>]*>[^<]*</(?:\w+:)?f>)\s*"
    + rb"(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v></(?:\w+:)?v>)?\s*</(?:\w+:)?c>"
)
"""A formula without a value; one whose value is an empty text has been computed."""

ERRORS: Final = frozenset(
    f"#{name}"
    for name in (
        *("N/A", "REF!", "DIV/0!", "VALUE!", "NAME?", "NULL!", "NUM!", "GETTING_DATA"),
        *("SPILL!", "CALC!", "FIELD!", "BLOCKED!", "CONNECT!", "BUSY!"),
    )
)
"""Error values of a spreadsheet (ECMA-376 part 1, 18.17.2.7, and later ones)."""


@dataclass
class Marks:
    """What a sheet's XML tells beside its cells' values.

    Attributes
    ----------
    cells, last_row, last_column : int
    errors : dict of int to dict of int to str
        Row to column (both from 0) to the error value that stands there.
    hidden_rows : int
    hidden_columns : list of (int, int)
        First and last, from 1.
    filtered : bool
    unsolved : int
        Formulas without a value.
    """

    cells: int = 0
    last_row: int = 0
    last_column: int = 0
    errors: dict[int, dict[int, str]] = field(default_factory=dict)
    hidden_rows: int = 0
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    filtered: bool = False
    unsolved: int = 0


@dataclass(frozen=True)
class Inside:
    """A container: its sheets' marks by name, whether it holds macros, and where its days count from."""

    marks: dict[str, Marks]
    macros: bool
    from_1904: bool


def look_inside(path: Path, *, max_bytes: int, max_ratio: int, max_rows: int, max_columns: int) -> Inside:
    """Look through a container; refuse one that is no XLSX, is damaged, or unpacks to too much."""
    where = str(path)
    try:
        with zipfile.ZipFile(path) as container:
            members = container.infolist()
            names = {member.filename for member in members}
            if "xl/workbook.xml" not in names:
                raise HingelineError(
                    _other_kind(names),
                    where,
                    "Open it in a spreadsheet and save it as XLSX or CSV",
                )
            packed = sum(member.compress_size for member in members)
            unpacked = sum(member.file_size for member in members)
            if unpacked > max_bytes or (unpacked > _PIECE * 16 and unpacked > max_ratio * max(packed, 1)):
                raise HingelineError(
                    f"The spreadsheet unpacks to {unpacked:,} bytes, more than is safe to open"
                    + (f" ({max_bytes:,})" if unpacked > max_bytes else ""),
                    where,
                    "Save it as CSV; if it is not known where it comes from, do not open it",
                )
            marks = {}
            for member in members:
                with container.open(member) as stream:
                    if member.filename.startswith("xl/worksheets/") and member.filename.endswith(".xml"):
                        marks[member.filename] = _marks(
                            stream, f"{where}, {member.filename}", max_rows, max_columns
                        )
                    else:
                        # Unpacking to the end checks length and sum.
                        while stream.read(_PIECE):
                            pass
            by_name, from_1904 = _book(container, names)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        RuntimeError,
        ValueError,
        OSError,
        ElementTree.ParseError,
    ):
        raise HingelineError(
            "The spreadsheet is damaged or was cut off", where, "Export it again, or fetch it again"
        ) from None
    return Inside(
        {name: marks[member] for name, member in by_name.items() if member in marks},
        any(name.lower().endswith("vbaproject.bin") for name in names),
        from_1904,
    )


def _other_kind(names: set[str]) -> str:
    if "xl/workbook.bin" in names:
        return "The file is a binary spreadsheet (XLSB), which is not read"
    if {"mimetype", "content.xml"} <= names:
        return "The file is an OpenDocument file, which is not read"
    if "word/document.xml" in names:
        return "The file is a text document, no XLSX spreadsheet"
    return "The file is a ZIP container, but no XLSX spreadsheet"


def _book(container: zipfile.ZipFile, names: set[str]) -> tuple[dict[str, str], bool]:
    """Sheets by name with the member that holds each, and whether days count from 1904."""
    book = _small(container, "xl/workbook.xml")
    links = "xl/_rels/workbook.xml.rels"
    targets = {}
    if links in names:
        for link in _small(container, links):
            target = link.get("Target", "")
            targets[link.get("Id")] = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
    sheets = {}
    from_1904 = False
    for part in book.iter():
        tag = part.tag.rpartition("}")[2]
        if tag == "sheet":
            link_id = next((value for key, value in part.items() if key.endswith("}id")), None)
            sheets[part.get("name", "")] = targets.get(link_id, "")
        elif tag == "workbookPr":
            from_1904 = part.get("date1904") in ("1", "true")
    return sheets, from_1904


def _small(container: zipfile.ZipFile, name: str) -> ElementTree.Element:
    if container.getinfo(name).file_size > _MOST_SMALL:
        raise ValueError(name)
    content = container.read(name)
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise ValueError(name)  # entities can be made to unfold without end; a spreadsheet has none
    return ElementTree.fromstring(content)


def _marks(stream: IO[bytes], where: str, max_rows: int, max_columns: int) -> Marks:
    marks = Marks()
    for text in _row_by_row(stream):
        rows = list(_ROW.finditer(text))
        head = text[: rows[0].start()] if rows else text
        if b"hidden" in head:
            marks.hidden_columns += _hidden_columns(head)
        marks.cells += text.count(b"<c ") + text.count(b"<c>")
        if b":c" in text:
            marks.cells += len(_PREFIXED_CELL.findall(text))
        marks.unsolved += len(_UNSOLVED.findall(text)) if b"<f" in text or b":f" in text else 0
        marks.filtered = marks.filtered or bool(_FILTER.search(text))
        far = max((position(one.decode()) for one in set(_FAR.findall(text))), default=0)
        marks.last_column = max(marks.last_column, far)
        has_error = _IS_ERROR.search(text) is not None
        for at, row in enumerate(rows):
            number = _NUMBER.search(row[1])
            marks.last_row = int(number[1]) if number else marks.last_row + 1
            if b"hidden" in row[1] and _HIDDEN.search(row[1]):
                marks.hidden_rows += 1
            if has_error:
                end = rows[at + 1].start() if at + 1 < len(rows) else len(text)
                found = _errors(text[row.end() : end])
                if found:
                    marks.errors[marks.last_row - 1] = found
        area = marks.last_row * max(marks.last_column, 26)
        if (
            marks.last_column > max_columns
            or marks.last_row > max_rows
            or area > _MOST_AREA
            or (area > _MOST_AREA // 10 and area > _SPARSE * max(marks.cells, 1))
        ):
            raise HingelineError(
                "A sheet's cells lie further out than a list of records reaches",
                where,
                "Copy the records alone to a new sheet and save that",
            )
    return marks


def _row_by_row(stream: IO[bytes]) -> Iterator[bytes]:
    """Pieces of a sheet, each cut in front of a row."""
    left = b""
    while piece := stream.read(_PIECE):
        left += piece
        cut = left.rfind(b"<row")
        if cut < 0:  # XML with prefixes: <x:row
            cut = left.rfind(b"<", 0, max(0, left.rfind(b":row ")))
        if cut > 0:
            yield left[:cut]
            left = left[cut:]
        elif len(left) > 64 * _PIECE:
            raise ValueError("a row of more than 64 MB")
    yield left


def _hidden_columns(head: bytes) -> list[tuple[int, int]]:
    found = []
    for column in _COLUMN.finditer(head):
        first, last = _FIRST.search(column[1]), _LAST.search(column[1])
        if _HIDDEN.search(column[1]) and first and last:
            found.append((int(first[1]), int(last[1])))
    return found


def _errors(row: bytes) -> dict[int, str]:
    """Error values of one row by column, from 0."""
    found = {}
    column = -1
    cells = list(_CELL.finditer(row))
    for at, cell in enumerate(cells):
        place = _PLACE.search(cell[1])
        column = position(place[1].decode()) - 1 if place else column + 1
        if _IS_ERROR.search(cell[1]):
            end = cells[at + 1].start() if at + 1 < len(cells) else len(row)
            value = _VALUE.search(row, cell.end(), end)
            told = value[1].decode("ascii", "replace").strip() if value else ""
            found[column] = told if told in ERRORS else "#ERROR!"
    return found
