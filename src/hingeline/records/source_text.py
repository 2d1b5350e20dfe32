"""Delimited text: any delimiter, decimal comma, UTF-8 with or without a byte order mark, UTF-16, cp1252.

A path comes in; its rows under their column names go out, with what was detected and why. The file is read in
pieces, never whole.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from .. import wording
from ..errors import HingelineError
from .layout import Layout, Room, lay_out
from .layout_header import LOOKED_AT, Header, Row, find_header, head
from .legend_model import FileOptions
from .source_encoding import Encoding, Lines, detect_encoding
from .source_rows import TextRows

DELIMITERS: Final = (";", ",", "\t", "|", "^", "~", "¦")
_SAMPLE: Final = 256 * 1024
_CONTROLS: Final = re.compile(r"[\x00-\x08\x0e-\x1f]")
_NAMED_DELIMITER: Final = re.compile(r'"?sep=(.)"?[;,\t]*(?:\r\n|\r|\n)', re.IGNORECASE)
"""First line by which a text file tells a spreadsheet its delimiter; the spreadsheet does not show it."""


@dataclass(frozen=True)
class TextRead:
    """A text file's rows, its decimal mark, and what was detected."""

    layout: Layout
    decimal: str
    detected: tuple[str, ...]


def read_text(path: Path, options: FileOptions, columns: Sequence[str], room: Room) -> TextRead:
    """Read delimited text."""
    where = str(path)
    encoding = Encoding(options.encoding, "as the legend says") if options.encoding else detect_encoding(path)
    try:
        return _read(path, options, columns, room, encoding)
    except UnicodeError:
        raise HingelineError(
            f"The file is not {encoding.name} text throughout",
            where,
            "Correct [file] encoding in the legend, or leave it out to have it detected",
        ) from None


def _read(
    path: Path, options: FileOptions, columns: Sequence[str], room: Room, encoding: Encoding
) -> TextRead:
    where = str(path)
    sample = next(iter(Lines(path, encoding)), "")[:_SAMPLE]
    if len(_CONTROLS.findall(sample)) > len(sample) // 50:
        raise HingelineError(
            "The file is neither a spreadsheet nor text", where, "Export it as CSV, XLSX or Parquet"
        )
    told: list[str] = []
    named = _NAMED_DELIMITER.match(sample)
    if named:
        sample = sample[named.end() :]
        told.append(wording.detected_named_delimiter(path.name, named[1]))
        if options.delimiter is None:
            options = options.model_copy(update={"delimiter": named[1]})
        elif options.delimiter != named[1]:
            told.clear()
    delimiter, held = _detect_delimiter(sample, columns, options)
    if options.delimiter is None:
        told.append(wording.detected_delimiter(path.name, delimiter, held, len(columns)))
    lines = Lines(path, encoding, skip=named.end() if named else 0)
    rows = TextRows(lines, delimiter, where)
    top = rows.top(max(LOOKED_AT, options.header_row or 0))
    header = find_header(top, columns, row=options.header_row, depth=options.header_rows, where=where)
    if not header.names:
        raise HingelineError(
            f"Row {header.at + 1} holds no column names", where, "Give [file] header_row in the legend"
        )
    layout = lay_out(
        header.names,
        rows.body(header.body, len(header.names)),
        file=path.name,
        where=where,
        room=room,
        cut=lambda: "surely" if lines.cut else "if short" if _lacks_last_end(path, encoding.name) else "",
        swallowed=delimiter,
    )
    if encoding.mixed:
        first = wording.detected_mixed(path.name, rows.odd)
    else:
        first = wording.detected_encoding(path.name, encoding.name, encoding.why)
    if lines.nul:
        told.append(wording.detected_nul(path.name))
    told += told_header(path.name, options, header)
    decimal: str | None = options.decimal
    if decimal is None:
        decimal = _detect_decimal(sample, delimiter)
        if decimal == ",":
            told.append(wording.detected_decimal(path.name))
    layout = replace(layout, told=(first, *told, *layout.told))
    return TextRead(layout, decimal, layout.told)


def told_header(file: str, options: FileOptions, header: Header) -> list[str]:
    """Say where the names stand, unless the legend says it."""
    if header.depth == 0:
        if options.header_row == 0:
            return []
        return [wording.detected_no_header(file, header.at + 1, header.names[0], header.names[-1])]
    if header.depth > 1 and options.header_rows is None:
        return [wording.detected_deep_header(file, header.at + 1, header.depth, _joined(header))]
    return [] if options.header_row is not None else [wording.detected_header(file, header.at + 1)]


def _joined(header: Header) -> str:
    return next((name for name in header.names if " / " in name), header.names[0])


def _detect_delimiter(sample: str, columns: Sequence[str], options: FileOptions) -> tuple[str, int]:
    """Take the delimiter with which a row holds most of the legend's columns, else the steadiest width."""
    candidates = (options.delimiter,) if options.delimiter else DELIMITERS
    best: tuple[tuple[int, float], str] | None = None
    for delimiter in candidates:
        if delimiter not in sample and best is not None:
            continue
        rows = _sample_rows(sample, delimiter)
        found = find_header(rows, columns, depth=options.header_rows) if _holds_any(rows) else None
        held, at = (found.held, found.at) if found else (0, 0)
        widths = [len(row) for row in rows[at:] if any(row)]
        usual = max(set(widths), key=widths.count) if widths else 1
        steady = widths.count(usual) / len(widths) * min(usual, 20) if usual > 1 else 0.0
        score = (held, steady)
        if best is None or score > best[0]:
            best = (score, delimiter)
    assert best is not None
    return best[1], best[0][0]


def _holds_any(rows: Sequence[Row]) -> bool:
    return any(cell.strip() for row in rows for cell in row)


def _sample_rows(sample: str, delimiter: str) -> list[Row]:
    lines = sample.splitlines(keepends=True)
    try:
        return list(head(csv.reader(lines, delimiter=delimiter)))
    except csv.Error:
        # A quote that is never closed: the rows up to it still show the delimiter.
        return [line.split(delimiter) for line in lines[:LOOKED_AT]]


def _lacks_last_end(path: Path, encoding: str) -> bool:
    with path.open("rb") as file:
        size = file.seek(0, 2)
        file.seek(max(0, size - 4))
        tail = file.read().replace(b"\0", b"")
    return not tail.endswith((b"\n", b"\r"))


def _detect_decimal(sample: str, delimiter: str) -> str:
    """Tell a decimal comma: more cells such as ``3,4`` (where commas do not part cells) than such as 3.4."""
    if delimiter == ",":
        commas = len(re.findall(r'"-?\d+,\d{1,2}"', sample))
    else:
        parts = re.escape(delimiter)
        commas = len(re.findall(rf'(?:^|[{parts}"])-?\d+,\d+(?=[{parts}"\r\n]|$)', sample, re.MULTILINE))
    points = len(re.findall(r"(?<![\d.,/-])-?\d+\.\d+(?![\d.,/-])", sample))
    return "," if commas > points else "."
