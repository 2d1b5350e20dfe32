"""Delimited text: any delimiter, decimal comma, UTF-8 with or without a byte order mark, UTF-16, cp1252.

A path comes in; its rows under their column names go out, with what was detected and why. The file is read in
pieces, never whole, and with Python's own reader of delimited text.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TextIO

from .. import wording
from ..errors import HingelineError
from .layout import Layout, Row, best_header, head, lay_out
from .legend_model import FileOptions

DELIMITERS: Final = (";", ",", "\t", "|", "^", "~")
_SAMPLE: Final = 256 * 1024
_PIECE: Final = 1 << 20
_CONTROLS: Final = re.compile(r"[\x00-\x08\x0e-\x1f]")
_MARK_READ: Final = re.compile("^(?:\ufeff|ï»¿)")
"""A byte order mark that an encoding of the legend's choice left in the text; it is no part of a column's name."""

_MOST_LINES: Final = 5000
"""Lines that one row may span; more is a quote that was never closed."""

_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


@dataclass(frozen=True)
class TextRead:
    """A text file's rows, its decimal mark, and what was detected."""

    layout: Layout
    decimal: str
    detected: tuple[str, ...]


def read_text(
    path: Path, options: FileOptions, columns: Sequence[str], *, max_rows: int, max_columns: int
) -> TextRead:
    """Read delimited text."""
    where = str(path)
    encoding, why = (options.encoding, "as the legend says") if options.encoding else _detect_encoding(path)
    told = [wording.detected_encoding(path.name, encoding, why)]
    try:
        sample = _sample(path, encoding)
        if len(_CONTROLS.findall(sample)) > len(sample) // 50:
            raise _not_text(where)
        delimiter, held = _detect_delimiter(sample, columns, options)
        if options.delimiter is None:
            told.append(wording.detected_delimiter(path.name, delimiter, held, len(columns)))
        layout, nul = _read(path, encoding, delimiter, options, columns, max_rows, max_columns)
    except UnicodeError:
        raise HingelineError(
            f"The file is not {encoding} text throughout",
            where,
            "Correct [file] encoding in the legend, or leave it out to have it detected",
        ) from None
    if nul:
        told.append(wording.detected_nul(path.name))
    if options.header_row is None:
        told.append(wording.detected_header(path.name, layout.header_row))
    decimal: str | None = options.decimal
    if decimal is None:
        decimal = _detect_decimal(sample, delimiter)
        if decimal == ",":
            told.append(wording.detected_decimal(path.name))
    return TextRead(layout, decimal, tuple(told))


def _detect_encoding(path: Path) -> tuple[str, str]:
    """Tell the encoding and why: a mark, bytes that fit UTF-8 throughout, or what is left."""
    with path.open("rb") as file:
        start = file.read(4096)
        for mark, name in _MARKS:
            if start.startswith(mark):
                return name, ""
        if start[1::2].count(0) > len(start) // 4:
            return "utf-16-le", ""
        if start[::2].count(0) > len(start) // 4:
            return "utf-16-be", ""
        file.seek(0)
        decoder = codecs.getincrementaldecoder("utf-8")()
        undefined = False
        fits = True
        while piece := file.read(_PIECE):
            if fits:
                try:
                    decoder.decode(piece)
                except UnicodeDecodeError:
                    fits = False
            undefined = undefined or any(byte in piece for byte in b"\x81\x8d\x8f\x90\x9d")
        if fits:
            try:
                decoder.decode(b"", final=True)
            except UnicodeDecodeError:
                fits = False
    if fits:
        return "utf-8", ""
    if undefined:
        return "latin-1", "since it fits neither UTF-8 nor cp1252"
    return "cp1252", "since it does not fit UTF-8"


def _sample(path: Path, encoding: str) -> str:
    with path.open(encoding=encoding, newline="") as file:
        return _MARK_READ.sub("", file.read(_SAMPLE))


def _not_text(where: str) -> HingelineError:
    return HingelineError(
        "The file is neither a spreadsheet nor text", where, "Export it as CSV, XLSX or Parquet"
    )


def _detect_delimiter(sample: str, columns: Sequence[str], options: FileOptions) -> tuple[str, int]:
    """Take the delimiter with which a row holds most of the legend's columns, else the steadiest width."""
    candidates = (options.delimiter,) if options.delimiter else DELIMITERS
    best: tuple[tuple[int, float], str] | None = None
    for delimiter in candidates:
        rows = _sample_rows(sample, delimiter)
        at, held = best_header(rows, columns)
        widths = [len(row) for row in rows[at:] if any(row)]
        usual = max(set(widths), key=widths.count) if widths else 1
        steady = widths.count(usual) / len(widths) * min(usual, 20) if usual > 1 else 0.0
        score = (held, steady)
        if best is None or score > best[0]:
            best = (score, delimiter)
    assert best is not None
    return best[1], best[0][0]


def _sample_rows(sample: str, delimiter: str) -> list[Row]:
    lines = sample.splitlines(keepends=True)
    try:
        return list(head(csv.reader(lines, delimiter=delimiter)))
    except csv.Error:
        # A quote that is never closed: the rows up to it still show the delimiter.
        return [line.split(delimiter) for line in lines[:60]]


def _read(
    path: Path,
    encoding: str,
    delimiter: str,
    options: FileOptions,
    columns: Sequence[str],
    max_rows: int,
    max_columns: int,
) -> tuple[Layout, bool]:
    cut = _lacks_last_end(path, encoding)
    with path.open(encoding=encoding, newline="") as file:
        reader = _Reader(file, delimiter, str(path))
        layout = lay_out(
            reader,
            where=str(path),
            header_row=options.header_row,
            columns=columns,
            max_rows=max_rows,
            max_columns=max_columns,
            cut=cut,
        )
        return layout, reader.nul


def _lacks_last_end(path: Path, encoding: str) -> bool:
    with path.open("rb") as file:
        size = file.seek(0, 2)
        file.seek(max(0, size - 4))
        tail = file.read().replace(b"\0", b"")
    return not tail.endswith((b"\n", b"\r"))


class _Reader:
    """Rows of a text file; notices NULs and a quote that is still open when the file ends."""

    def __init__(self, file: TextIO, delimiter: str, where: str) -> None:
        self.nul = False
        self._file = file
        self._delimiter = delimiter
        self._where = where
        self._lines: deque[str] = deque(maxlen=_MOST_LINES)

    def __iter__(self) -> Iterator[Row]:
        reader = csv.reader(self._kept(), delimiter=self._delimiter)
        row_number = 0
        before = 0
        try:
            for row in reader:
                row_number += 1
                spans, before = reader.line_num - before, reader.line_num
                yield row
        except csv.Error:
            raise self._open_quote(row_number + 1) from None
        if row_number and self._ends_open(spans):
            raise self._open_quote(row_number)

    def _kept(self) -> Iterator[str]:
        for number, line in enumerate(self._file):
            if number == 0:
                line = _MARK_READ.sub("", line)
            if "\0" in line:
                self.nul = True
                line = line.replace("\0", "")
            self._lines.append(line)
            yield line

    def _ends_open(self, spans: int) -> bool:
        if spans > _MOST_LINES:
            return True
        last = list(self._lines)[-spans:] if spans else []
        try:
            list(csv.reader(last, delimiter=self._delimiter, strict=True))
        except csv.Error as error:
            return "unexpected end of data" in str(error)
        return False

    def _open_quote(self, row: int) -> HingelineError:
        return HingelineError(
            "A quotation mark is opened and never closed, or the file was cut off",
            f"{self._where}, row {row}",
            "Export the file again; if it is whole, remove the stray quotation mark",
        )


def _detect_decimal(sample: str, delimiter: str) -> str:
    """Tell a decimal comma: more cells such as ``3,4`` (where commas do not part cells) than such as 3.4."""
    if delimiter == ",":
        commas = len(re.findall(r'"-?\d+,\d{1,2}"', sample))
    else:
        parts = re.escape(delimiter)
        commas = len(re.findall(rf'(?:^|[{parts}"])-?\d+,\d+(?=[{parts}"\r\n]|$)', sample, re.MULTILINE))
    points = len(re.findall(r"(?<![\d.,/-])-?\d+\.\d+(?![\d.,/-])", sample))
    return "," if commas > points else "."
