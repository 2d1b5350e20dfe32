"""Lines of delimited text in, rows of cells out, in blocks and with the number that a spreadsheet shows.

What a row is, is what Python's own reader of delimited text says. Where Arrow's reader surely says the same (and it
is asked to prove it, block by block), the rows are its: it is several times as fast.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import Any, Final

import pyarrow as pa
import pyarrow.csv

from ..errors import HingelineError
from .layout import Block, block_of
from .layout_header import Row
from .source_encoding import Lines

arrow_csv: Any = pyarrow.csv  # its stubs know too few of the ways to call it

_MOST_LINES: Final = 5000
"""Lines that one row may span; more is a quote that was never closed."""

_END: Final = "\x02"
"""Cell of a row that is set behind a block: found again as a row, it proves that no quote was open there."""

_TRIES: Final = 200
"""Line ends at which a block that holds quotes is tried to be cut."""


class TextRows:
    """Rows of a text file.

    Parameters
    ----------
    lines : Lines
    delimiter : str
    where : str
        The file, for messages.

    Attributes
    ----------
    odd : list of int
        Rows that hold a line in another encoding than most.
    """

    def __init__(self, lines: Lines, delimiter: str, where: str) -> None:
        self.odd: list[int] = []
        self._lines = lines
        self._delimiter = delimiter
        self._where = where

    def top(self, rows: int) -> list[Row]:
        """Return the first rows."""
        taken: list[Row] = []
        text = ""
        for text, final in self._pieces():
            taken, _, _ = self._by_reader(text, final, 1, rows)
            if len(taken) >= rows or final:
                break
        return taken

    def body(self, skip: int, width: int) -> Iterator[Block]:
        """Return the rows below the first ``skip``."""
        number, line = 1, 0
        pieces = iter(self._lines)
        text = ""
        final = False
        while not final:
            piece = next(pieces, None)
            final = piece is None
            text += piece or ""
            if skip:
                rows, spans, used = self._by_reader(text, final, number, skip)
                skip -= len(rows)
                number += len(rows)
                line += sum(spans)
                text = text[used:]
                if skip:
                    continue
            while text:
                cut = self._cut(text)
                block = self._by_arrow(text[:cut], number, width) if cut else None
                if block is not None:
                    rows_read = len(block.numbers) + len(block.others)
                    self._note_odd(line, [1] * rows_read if self._lines.odd else (), number)
                else:
                    rows, spans, cut = self._by_reader(text, final, number)
                    if not rows:
                        break
                    block = block_of(rows, number, width)
                    rows_read = len(rows)
                    self._note_odd(line, spans, number)
                    line += sum(spans) - rows_read
                number += rows_read
                line += rows_read
                text = text[cut:]
                yield block

    def _pieces(self) -> Iterator[tuple[str, bool]]:
        """Return the text so far, longer and longer, and whether it is all."""
        text = ""
        for piece in self._lines:
            text += piece
            yield text, False
        yield text, True

    def _note_odd(self, line: int, spans: Sequence[int], number: int) -> None:
        """Turn lines in another encoding into rows."""
        odd = self._lines.odd
        for row, span in enumerate(spans, number):
            line += span
            if odd and odd[0] < line:
                self.odd.append(row)
                while odd and odd[0] < line:
                    odd.popleft()
            if not odd:
                break

    def _cut(self, text: str) -> int:
        """How much of a text to give to Arrow's reader: up to a line's end at which quotes are even."""
        if text[0] == "\ufeff" or not self._delimiter.isascii():
            return 0
        quotes = text.count('"')
        if not quotes:
            return len(text)
        if self._lines.odd:
            return 0
        cut = len(text)
        for _ in range(_TRIES):
            if quotes % 2 == 0:
                return cut
            before = text.rfind("\n", 0, cut - 1) + 1
            quotes -= text.count('"', before, cut)
            cut = before
            if not cut:
                return 0
        return 0

    def _by_arrow(self, text: str, number: int, width: int) -> Block | None:
        """Read rows by Arrow's reader; None when it does not prove that they are all there."""
        quoted = '"' in text
        if quoted:
            ended = text if text.endswith(("\n", "\r")) else text + "\n"
            content = (ended + _END + self._delimiter * (width - 1) + "\n").encode()
        else:
            content = text.encode()
        others: list[tuple[int, Row]] = []
        fault = False

        def other(row: Any) -> str:
            nonlocal fault
            cells = next(csv.reader(io.StringIO(row.text, newline=""), delimiter=self._delimiter), [])
            fault = fault or row.number is None or len(cells) != row.actual_columns
            others.append((number + (row.number or 1) - 1, cells))
            return "skip"

        names = [str(at) for at in range(width)]
        try:
            table = arrow_csv.read_csv(
                pa.py_buffer(content),
                read_options=arrow_csv.ReadOptions(
                    use_threads=False, block_size=len(content) + 1, column_names=names
                ),
                parse_options=arrow_csv.ParseOptions(
                    delimiter=self._delimiter,
                    quote_char='"' if quoted else False,
                    ignore_empty_lines=False,
                    newlines_in_values=quoted,
                    invalid_row_handler=other,
                ),
                convert_options=arrow_csv.ConvertOptions(
                    column_types=dict.fromkeys(names, pa.string()),
                    strings_can_be_null=False,
                    quoted_strings_can_be_null=False,
                ),
            )
        except (pa.ArrowException, csv.Error, UnicodeError):
            return None
        columns: list[Any] = [column.combine_chunks() for column in table.columns]
        rows = table.num_rows + len(others)
        if quoted:
            if not table.num_rows or [column[-1].as_py() for column in columns] != [
                _END,
                *[""] * (width - 1),
            ]:
                return None
            columns = [column.slice(0, len(column) - 1) for column in columns]
            rows -= 1
        elif rows != _count_lines(text):
            return None
        if fault or (others and others[-1][0] >= number + rows):
            return None
        return Block(columns, _numbers(number, rows, [one for one, _ in others]), others)

    def _by_reader(
        self, text: str, final: bool, number: int, most: int | None = None
    ) -> tuple[list[Row], list[int], int]:
        """Read whole rows by Python's reader: the rows, how many lines each spans, and the characters in all.

        A row that the text does not end is left for more text; at the file's end it is an error.
        """
        kept: list[str] = []
        stream = io.StringIO(text, newline="")

        def lines() -> Iterator[str]:
            for line in stream:
                kept.append(line)
                yield line

        reader = csv.reader(lines(), delimiter=self._delimiter)
        rows: list[Row] = []
        spans: list[int] = []
        before = 0
        try:
            for row in reader:
                rows.append(row)
                span, before = reader.line_num - before, reader.line_num
                spans.append(span)
                if span > _MOST_LINES:
                    raise self._open_quote(number + len(rows) - 1)
                if len(rows) == most:
                    break
        except csv.Error:
            raise self._open_quote(number + len(rows)) from None
        if rows and before == len(kept) and self._is_open(kept[-spans[-1] :]):
            if final:
                raise self._open_quote(number + len(rows) - 1)
            rows.pop()
            spans.pop()
        return rows, spans, sum(map(len, kept[: sum(spans)]))

    def _is_open(self, lines: list[str]) -> bool:
        """Whether a quote is still open behind a row's lines."""
        end = "" if lines[-1].endswith(("\n", "\r")) else "\n"
        rows = list(csv.reader([*lines[:-1], lines[-1] + end, _END + "\n"], delimiter=self._delimiter))
        return rows[-1:] != [[_END]]

    def _open_quote(self, row: int) -> HingelineError:
        return HingelineError(
            "A quotation mark is opened and never closed, or the file was cut off",
            f"{self._where}, row {row}",
            "Export the file again; if it is whole, remove the stray quotation mark",
        )


def _numbers(first: int, rows: int, without: Sequence[int]) -> Any:
    numbers = pa.array(range(first, first + rows), pa.int64())
    if not without:
        return numbers
    gone = set(without)
    return pa.array([one for one in range(first, first + rows) if one not in gone], pa.int64())


def _count_lines(text: str) -> int:
    lone = text.count("\r") - text.count("\r\n")
    return text.count("\n") + lone + (not text.endswith(("\n", "\r")))
