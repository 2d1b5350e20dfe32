"""A sample of cases for a second reading: cases in, blank typing sheets out, one a reader.

Each reader gets the same cases in an order of their own and without the type that is recorded, and types them
again from the record or its note; how well typings agree is then counted from the filled sheets. The sheets hold
the notes' words and lie in the private part of a study.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import xlsxwriter

from .. import vocabulary, wording
from ..errors import HingelineError
from ..plain_sheets import name_no_maker
from .frames import column_of
from .identifier_cells import shown
from .legend_model import Legend
from .source import open_source

SAMPLE_COLUMNS: Final = ("hospital", "source_file", "source_row", "side")
"""What names a groin to a person: where its row stands, and which side."""

TYPED: Final = ("type", "known_by", "remark")
"""Columns that a reader fills in."""

_WIDTHS: Final[Mapping[str, int]] = {
    "number": 8,
    "hospital": 22,
    "file": 22,
    "row": 8,
    "side": 8,
    "note": 90,
    "type": 14,
    "known_by": 18,
    "remark": 30,
}


def draw_sample(cases: Sequence[Path | str | pa.Table], size: int, *, seed: int) -> pa.Table:
    """Draw groins at random, each alike, without putting back.

    Parameters
    ----------
    cases : sequence of path or pyarrow.Table
        Of each hospital, in `hingeline.vocabulary.CASE_SCHEMA`.
    size : int
        All are taken when there are fewer.
    seed : int
        The same seed and cases give the same sample.

    Returns
    -------
    pyarrow.Table
        `SAMPLE_COLUMNS`, in the order of hospitals, files and rows.

    Raises
    ------
    HingelineError
        When `size` is below 1 or there are no cases.
    """
    if size < 1:
        raise HingelineError(f"A sample of {size} cannot be drawn", "sample", "Ask for 1 or more")
    tables = [
        one.select(SAMPLE_COLUMNS)
        if isinstance(one, pa.Table)
        else pq.read_table(one, columns=list(SAMPLE_COLUMNS))
        for one in cases
    ]
    whole = pa.concat_tables(tables) if tables else pa.table({})
    if whole.num_rows == 0:
        raise HingelineError("There are no cases to draw from", "the study", "Mend what 'check' tells first")
    chosen = np.random.default_rng(seed).choice(whole.num_rows, min(size, whole.num_rows), replace=False)
    return whole.take(np.sort(chosen))


def write_typing_sheet(
    path: Path,
    sample: pa.Table,
    *,
    reader: int,
    seed: int,
    notes: Mapping[tuple[str, str, int], str] | None = None,
) -> None:
    """Write one reader's blank sheet as XLSX, with the words of the vocabulary to choose from.

    Parameters
    ----------
    path : Path
    sample : pyarrow.Table
        As `draw_sample` gives it.
    reader : int
        From 1; each reader has an order of rows of their own.
    seed : int
    notes : mapping of (hospital, file, row) to str, optional
        Operation notes, where the hospital sends them.
    """
    rows = sample.to_pylist()
    order = np.random.default_rng([seed, reader]).permutation(len(rows))
    notes = notes or {}
    waiting = path.with_name(f"{path.name}.partial")
    columns = ["number", "hospital", "file", "row", "side", *(["note"] if notes else []), *TYPED]
    try:
        with xlsxwriter.Workbook(
            str(waiting),
            {
                "strings_to_formulas": False,
                "strings_to_urls": False,
                "strings_to_numbers": False,
                "in_memory": True,
            },
        ) as book:
            book.set_properties({"created": dt.datetime(2000, 1, 1)})
            _explain(book, reader)
            sheet = book.add_worksheet("Typing")
            bold = book.add_format({"bold": True, "bottom": 1, "valign": "top"})
            wrapped = book.add_format({"text_wrap": True, "valign": "top"})
            for place, name in enumerate(columns):
                sheet.set_column(place, place, _WIDTHS[name])
                sheet.write_string(0, place, name.replace("_", " "), bold)
            for line, index in enumerate(order.tolist(), start=1):
                row = rows[index]
                where = (row["hospital"], row["source_file"], row["source_row"])
                cells = (index + 1, *where, row["side"], *([notes.get(where, "")] if notes else []))
                for place, cell in enumerate(cells):
                    if isinstance(cell, int):
                        sheet.write_number(line, place, cell, wrapped)
                    else:
                        sheet.write_string(line, place, shown(cell), wrapped)
            last = max(1, len(rows))
            for name, words in (("type", vocabulary.TYPES), ("known_by", vocabulary.KNOWN_BY)):
                place = columns.index(name)
                sheet.data_validation(1, place, last, place, {"validate": "list", "source": list(words)})
            sheet.freeze_panes(1, 1)
            sheet.set_landscape()
            sheet.set_paper(9)
            sheet.fit_to_pages(1, 0)
            sheet.repeat_rows(0)
            sheet.activate()
        name_no_maker(waiting)
        waiting.replace(path)
    except (OSError, xlsxwriter.exceptions.XlsxWriterException) as error:
        raise HingelineError(
            f"The typing sheet cannot be written ({getattr(error, 'strerror', None) or error})",
            str(path),
            "Check that the folder may be written and the sheet is not open elsewhere",
        ) from None


def _explain(book: xlsxwriter.Workbook, reader: int) -> None:
    """First sheet: what to do, in sentences."""
    page = book.add_worksheet("What to do")
    page.hide_gridlines(2)
    page.set_column(0, 0, 100)
    heading = book.add_format({"bold": True, "font_size": 14})
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    page.write_string(0, 0, wording.typing_sheet_title(reader), heading)
    for line, sentence in enumerate((*wording.typing_sheet_rules(), wording.CAUTION), start=2):
        page.write_string(line, 0, sentence, wrapped)


def notes_of(
    sources: Sequence[Path | str], legend: Legend, wanted: Collection[tuple[str, str, int]]
) -> dict[tuple[str, str, int], str]:
    """Fetch the operation notes of some rows from a hospital's exports.

    Parameters
    ----------
    sources : sequence of Path or str
    legend : Legend
    wanted : collection of (hospital, file, row)

    Returns
    -------
    dict
        Of the rows that have a note; of a row with a note for each side, both.
    """
    columns = [how.column for _, name, how in legend.mapped() if name == "note" and how.column is not None]
    found: dict[tuple[str, str, int], str] = {}
    if not columns:
        return found
    for path in sources:
        if legend.is_visits(Path(path).name):
            continue
        source = open_source(path, legend.file, columns=legend.columns())
        try:
            rows = {
                row for hospital, file, row in wanted if (hospital, file) == (legend.hospital, source.name)
            }
            names = [column_of(source, legend, "fields.note.column", column) for column in columns]
            for batch in source.batches(names) if rows else ():
                for row, *cells in zip(
                    batch.column("source_row").to_pylist(),
                    *(batch.column(name).to_pylist() for name in names),
                    strict=True,
                ):
                    told = [cell for cell in cells if cell]
                    if row in rows and told:
                        found[legend.hospital, source.name, row] = "\n\n".join(told)
        finally:
            source.close()
    return found
