"""CSV files that people open in a spreadsheet and send back: written whole or not at all, and read again.

Text that a spreadsheet would run as a formula is made plain on the way out and is as it was on the way back: one
apostrophe is put before a cell that begins, behind blanks or further apostrophes, like a formula (OWASP, CSV
injection), and one is taken off such a cell again.
"""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

from ..errors import HingelineError
from .identifier_cells import shown
from .legend_model import fold

_FORMULA: Final = re.compile(r"\s*'*\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")


def plain(cell: str) -> str:
    """Write a cell so that a spreadsheet shows it, without characters that nobody sees."""
    cell = shown(cell)
    return f"'{cell}" if _FORMULA.match(cell) else cell


def as_it_was(cell: str) -> str:
    """Read a cell that `plain` wrote."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell[1:]) else cell


def write_rows(
    path: Path,
    header: Sequence[str],
    rows: Iterable[Sequence[object]],
    what: str,
    *,
    after: str | None = None,
) -> None:
    """Write a CSV file, replaced as a whole, so that one that could not be written leaves the last one standing.

    Parameters
    ----------
    path : Path
    header : sequence of str
    rows : iterable of sequences
        Text is made plain; None is an empty cell.
    what : str
        Name of the list, for an error message.
    after : str, optional
        Text that stands before the rows in place of the header, when it is not empty; such a file has no byte-order
        mark, others have one, so that a spreadsheet knows them for UTF-8.
    """
    waiting = path.with_name(f".{path.name}.{os.getpid()}.partial")
    try:
        with waiting.open("w", encoding="utf-8-sig" if after is None else "utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\r\n" if after is None else "\n")
            if after:
                file.write(after if after.endswith("\n") else f"{after}\n")
            else:
                writer.writerow(header)
            writer.writerows([plain(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
        waiting.replace(path)
    except OSError as error:
        waiting.unlink(missing_ok=True)
        raise HingelineError(
            f"The list of {what} cannot be written ({error.strerror or error})",
            str(path),
            "Check that the folder may be written and the file is not open elsewhere",
        ) from None


MOST_BYTES: Final = 32 << 20
"""Bytes of a list that a person may send back; some hundred thousand answers."""


def read_text(path: Path, what: str, *, also: str | None = None) -> str:
    """Read a list as UTF-8 text, or in another encoding in which a spreadsheet may have saved it.

    Raises
    ------
    HingelineError
        When it is no file, larger than `MOST_BYTES`, cannot be read or is no such text.
    """
    try:
        if not path.is_file():
            raise HingelineError(
                f"There is no file of {what} here", str(path), "Give the path of the list itself"
            )
        if path.stat().st_size > MOST_BYTES:
            raise HingelineError(
                f"The list of {what} has more than {MOST_BYTES >> 20} MiB", str(path), "Send it in parts"
            )
        content = path.read_bytes()
    except OSError as error:
        raise HingelineError(
            f"The list of {what} cannot be read ({error.strerror or error})", str(path), "Check the file"
        ) from None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        if also is None:
            raise HingelineError(
                f"The list of {what} is not UTF-8 text", str(path), "Save the file as CSV in UTF-8"
            ) from None
        return content.decode(also, errors="replace")


def read_rows(text: str, where: str, columns: Sequence[str]) -> list[tuple[int, dict[str, str]]]:
    """Rows of a CSV that people may have saved from a spreadsheet, with their numbers; empty ones are left out."""
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error:
        raise HingelineError(
            "A quotation mark is opened and never closed, or a cell is far too long",
            where,
            "Correct the file, or save it again",
        ) from None
    if not rows:
        return []
    if not any(cell.strip() for row in rows[1:] for cell in row):
        return []  # nothing but column names, of whatever version
    header = [fold(cell) for cell in rows[0]]
    missing = [name for name in columns if name not in header]
    if missing:
        raise HingelineError(
            f"There is no column {missing[0]!r}", f"{where}, row 1", f"Its columns are {', '.join(columns)}"
        )
    at = {name: header.index(name) for name in columns}
    told = []
    for number, row in enumerate(rows[1:], start=2):
        if any(cell.strip() for cell in row):
            # An apostrophe before a formula's sign is the list's own doing, and a person's spreadsheet keeps it.
            cells = {name: as_it_was(row[place]) if place < len(row) else "" for name, place in at.items()}
            told.append((number, cells))
    return told
