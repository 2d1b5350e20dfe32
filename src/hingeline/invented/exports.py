"""Exports as files: a form and its sheet come in, a file as a hospital would send it goes out.

What also goes out is the row on which each groin stands, counted as a spreadsheet shows it, so that the truth
file can point at every planted fault.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import xlsxwriter
from numpy.typing import NDArray

from hingeline.invented.cells import FIRST_SHEET_DATE, Cells, Sheet
from hingeline.invented.columns import Form
from hingeline.invented.outcomes import take
from hingeline.plain_sheets import name_no_maker

Places = NDArray[np.int64]


@dataclass(frozen=True)
class Page:
    """One sheet of a workbook."""

    name: str
    titles: Sequence[str]
    header_row: int
    headers: Sequence[str]
    cells: Sequence[Cells]


def export(form: Form, sheet: Sheet, folder: Path, visits: Sheet | None = None) -> Places:
    """Write one hospital's export.

    Parameters
    ----------
    form : Form
    sheet : Sheet
        Groins, in the order of their rows.
    folder : Path
    visits : Sheet, optional
        Rows of the form's clinic; the first stands under its headers.

    Returns
    -------
    ndarray of int, (groins,)
        Row of each groin of the sheet in the file, as a spreadsheet counts.
    """
    headers, cells, where = (_wide if form.form == "patients" else _long)(form, sheet)
    path = folder / form.hospital.file
    if path.suffix == ".xlsx":
        pages = [Page(str(form.file["sheet"]), form.titles, form.header_row, headers, cells)]
        if form.clinic is not None and visits is not None:
            clinic = form.clinic
            told = [column.make(visits) for column in clinic.columns]
            names = [column.header for column in clinic.columns]
            pages.append(Page(clinic.sheet, clinic.titles, clinic.header_row, names, told))
        _workbook(path, pages)
    elif path.suffix == ".parquet":
        pq.write_table(pa.table(dict(zip(headers, map(_typed, cells), strict=True))), path)
    else:
        _delimited(path, str(form.file["delimiter"]), str(form.file.get("encoding", "utf-8")), headers, cells)
    return where + form.header_row + 1


def _long(form: Form, sheet: Sheet) -> tuple[list[str], list[Cells], Places]:
    """A row an operation; where a code or a note tells of both groins, two that read alike share a row."""
    headers = [column.header for column in form.columns]
    cells = [column.make(sheet) for column in form.columns]
    side = next((i for i, column in enumerate(form.columns) if "side" in column.reads), None)
    codes = {} if side is None else form.columns[side].codes["side"]
    both = next((own for own, value in codes.items() if value == "both"), None)
    kept = np.ones(len(sheet), dtype=bool)
    if both is not None or ("note" in form.fields and side is None):
        planted = np.zeros(len(sheet), dtype=bool)
        planted[[fault.index for fault in sheet.faults]] = True
        alike = ~planted[1:] & ~planted[:-1] & (sheet.rows["side"][1:] != sheet.rows["side"][:-1])
        for i, column in enumerate(cells):
            if i != side:
                alike &= column[1:] == column[:-1]
        kept[1:] = ~alike
        if side is not None:
            cells[side][:-1][alike] = both
    return headers, [column[kept] for column in cells], np.cumsum(kept) - 1


def _wide(form: Form, sheet: Sheet) -> tuple[list[str], list[Cells], Places]:
    """A row a patient; a groin operated again opens a second row of its patient."""
    left = sheet.rows["side"] == "left"
    again = _nth(sheet.rows["patient"] * 2 + left)
    row_key = sheet.rows["patient"] * (int(again.max()) + 1) + again
    _, first, where = np.unique(row_key, return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")  # a row stands where its first groin does
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    first, where = first[order], rank[where]
    headers = [column.header for column in form.columns]
    cells = [column.make(sheet)[first] for column in form.columns]
    for side, columns in form.sides.items():
        mine = np.flatnonzero(left == (side == "left"))
        for column in columns:
            spread = np.full(len(first), None, dtype=object)
            spread[where[mine]] = column.make(sheet)[mine]
            headers.append(column.header)
            cells.append(spread)
    return headers, cells, where


def _nth(values: NDArray[Any]) -> Places:
    """How often each value stood before, at each place."""
    order = np.argsort(values, kind="stable")
    ordered = values[order]
    starts = np.concatenate(([True], ordered[1:] != ordered[:-1]))
    nth = np.arange(len(values)) - np.maximum.accumulate(np.where(starts, np.arange(len(values)), 0))
    back = np.empty_like(nth)
    back[order] = nth
    return back


def in_order(sheet: Sheet, order: Places) -> Sheet:
    """The sheet with its rows in another order, its faults following."""
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    faults = [replace(fault, index=int(place[fault.index])) for fault in sheet.faults]
    return Sheet(take(sheet.rows, order), faults)


def _delimited(
    path: Path, delimiter: str, encoding: str, headers: Sequence[str], cells: Sequence[Cells]
) -> None:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow(headers)
    writer.writerows(zip(*(column.tolist() for column in cells), strict=True))
    path.write_bytes(text.getvalue().encode("utf-8-sig" if encoding == "utf-8" else encoding))


def _workbook(path: Path, pages: Sequence[Page]) -> None:
    options = {"constant_memory": True, "default_date_format": "dd/mm/yyyy", "strings_to_formulas": False}
    # A fixed date of creation: the same seed gives the same bytes.
    with xlsxwriter.Workbook(str(path), options) as book:
        book.set_properties({"created": np.datetime64("2024-07-01T08:00:00").item()})
        for page in pages:
            sheet = book.add_worksheet(page.name)
            for row, title in enumerate(page.titles):
                sheet.write_string(row, 0, title)
            sheet.write_row(page.header_row - 1, 0, page.headers)
            rows = zip(*(column.tolist() for column in page.cells), strict=True)
            for row, values in enumerate(rows, start=page.header_row):
                for place, value in enumerate(values):
                    if isinstance(value, str):
                        sheet.write_string(row, place, value)
                    elif isinstance(value, float):
                        sheet.write_number(row, place, value)
                    elif value is not None and value < FIRST_SHEET_DATE:
                        sheet.write_string(row, place, value.strftime("%d/%m/%Y"))
                    elif value is not None:
                        sheet.write_datetime(row, place, value)
    name_no_maker(path)


def _typed(column: Cells) -> pa.Array[Any]:
    """Whole numbers as numbers, all else as it is."""
    values = column.tolist()
    told = [value for value in values if value is not None]
    whole = bool(told) and all(isinstance(value, str) and value.lstrip("-").isdigit() for value in told)
    array: pa.Array[Any] = pa.array(
        [None if value is None else int(value) for value in values] if whole else values
    )
    return array
