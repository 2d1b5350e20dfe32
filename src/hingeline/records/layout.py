"""Rows of cells in, one source's cells out: which rows hold the column names, and every cell trimmed text.

Text files, spreadsheets, Parquet and database tables all pass through here in blocks, so that a cell means the same
wherever it stood. Every row below the names goes into the cells, among the broken ones or among the blank ones.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from . import layout_foot
from .layout_cells import filled_anywhere, letter, pc, trimmed
from .layout_header import Row
from .legend_model import fold
from .source_cells import ROW, Cells, Store

__all__ = ["Block", "BrokenRow", "Layout", "Room", "block_of", "lay_out", "letter", "pc", "unique"]


@dataclass(frozen=True)
class BrokenRow:
    """A row that does not fit its header: its number and why it cannot be trusted."""

    row: int
    why: str


@dataclass(frozen=True)
class Layout:
    """Rows under their column names.

    Attributes
    ----------
    cells : Cells
    header : tuple of str
        The column names as they stand.
    broken : tuple of BrokenRow
    blank : int
        Wholly empty rows below the header, which are not among the cells.
    told : tuple of str
        What was noticed on the way, as sentences.
    """

    cells: Cells
    header: tuple[str, ...]
    broken: tuple[BrokenRow, ...]
    blank: int
    told: tuple[str, ...]


@dataclass(frozen=True)
class Block:
    """Some rows, one after another: those as wide as the header as columns, the others one by one.

    Attributes
    ----------
    columns : list of pyarrow.Array of string
    numbers : pyarrow.Array of int64
    others : list of (int, Row)
        Rows of another width, with their numbers.
    """

    columns: list[Any]
    numbers: Any
    others: list[tuple[int, Row]] = field(default_factory=list)


@dataclass(frozen=True)
class Room:
    """What a source may take.

    Attributes
    ----------
    rows, columns : int
        The most that are read.
    held_bytes : int
        Cells that stay in memory; more are spooled.
    keep : tuple of str
        Columns that the legend maps: of a spooled source no others are kept. All when empty.
    """

    rows: int
    columns: int
    held_bytes: int
    keep: tuple[str, ...] = ()


def lay_out(
    header: Sequence[str],
    blocks: Iterable[Block],
    *,
    file: str,
    where: str,
    room: Room,
    cut: Callable[[], str] = lambda: "",
    swallowed: str = "",
    foot: bool = True,
) -> Layout:
    """Put everything below the names into columns.

    Parameters
    ----------
    header : sequence of str
        Column names as they stand.
    blocks : iterable of Block
        All rows below them.
    file, where : str
        Its name, for sentences; file and sheet, for errors.
    room : Room
    cut : callable
        Asked at the end whether the file was cut off in its last row: "surely", "if short" or not ("").
    swallowed : str
        Delimiter that tells, when it stands in a cell of several lines as often as in a row, that a stray quotation
        mark ran rows together.
    foot : bool
        Whether totals and remarks may stand below the records.
    """
    if len(header) > room.columns:
        raise HingelineError(
            f"There are {len(header):,} columns, more than the {room.columns:,} that are read",
            where,
            "Export only the columns that are needed",
        )
    names = unique(header)
    keep = {fold(name) for name in room.keep}
    kept = {name for name, cell in zip(names, header, strict=True) if fold(cell) in keep}
    store = Store(names, kept if keep else None, room.held_bytes, where)
    gathered = _Gathered(names, store, swallowed)
    try:
        for block in blocks:
            gathered.add(block)
            if gathered.rows > room.rows:
                raise HingelineError(
                    f"There are more than the {room.rows:,} rows that are read",
                    where,
                    "Split the file by year",
                )
        gathered.finish(cut, foot)
        cells = store.finish()
    except BaseException:
        store.abandon()
        raise
    told = [*_told_names(file, header, names)]
    if gathered.unseen:
        told.append(wording.detected_unseen(file, gathered.unseen))
    return Layout(cells, tuple(header), tuple(gathered.broken), gathered.blank, tuple(told))


def _told_names(file: str, header: Sequence[str], names: Sequence[str]) -> Iterator[str]:
    """Say which names repeat; their columns are told apart by a number."""
    places: dict[str, list[int]] = {}
    for at, cell in enumerate(header):
        if cell:
            places.setdefault(fold(cell), []).append(at)
    repeated = [at for at in places.values() if len(at) > 1]
    if repeated:
        yield wording.detected_repeats(
            file,
            [(header[at[0]], [letter(one + 1) for one in at], names[at[1]]) for at in repeated[:8]],
            len(repeated),
        )


def unique(header: Sequence[str]) -> list[str]:
    """Names for the columns: none empty, no two alike, none that of the row's number."""
    seen = {ROW}
    again: dict[str, int] = {}
    names = []
    for position, cell in enumerate(header, start=1):
        name = base = cell or f"column {letter(position)}"
        while name in seen:
            again[base] = again.get(base, 1) + 1
            name = f"{base} ({again[base]})"
        seen.add(name)
        names.append(name)
    return names


def block_of(rows: Sequence[Row], first: int, width: int) -> Block:
    """Turn rows, one after another from row ``first``, into a block."""
    if all(len(row) == width for row in rows):
        fit, others = rows, []
        numbers = pa.array(range(first, first + len(rows)), pa.int64())
    else:
        counted = list(enumerate(rows, first))
        fit = [row for row in rows if len(row) == width]
        others = [(number, row) for number, row in counted if len(row) != width]
        numbers = pa.array([number for number, row in counted if len(row) == width], pa.int64())
    columns = [pa.array(cells, pa.string()) for cells in zip(*fit, strict=True)]
    return Block(columns or [pa.array([], pa.string())] * width, numbers, others)


class _Gathered:
    """Rows on their way into the store; the last few are held back until it is known that more follow."""

    def __init__(self, names: Sequence[str], store: Store, swallowed: str) -> None:
        self.broken: list[BrokenRow] = []
        self.blank = 0
        self.rows = 0
        self.unseen = 0
        self._names = list(names)
        self._width = len(names)
        self._store = store
        self._swallowed = swallowed
        self._short: int | None = None
        self._last = 0
        self._tail: tuple[pa.RecordBatch, Any] | None = None

    def add(self, block: Block) -> None:
        self.rows += len(block.numbers) + len(block.others)
        self._note_last(block)
        columns, numbers = block.columns, block.numbers
        padded = [(number, row) for number, row in block.others if self._fits(number, row)]
        if padded:
            more = block_of([self._padded(row) for _, row in padded], 0, self._width).columns
            numbers = pa.concat_arrays([numbers, pa.array([number for number, _ in padded], pa.int64())])
            order = pc.sort_indices(numbers)
            numbers = numbers.take(order)
            columns = [pa.concat_arrays(pair).take(order) for pair in zip(columns, more, strict=True)]
        if not len(numbers):
            return
        columns, numbers = self._without_swallowed(columns, numbers)
        cells = []
        for column in columns:
            cell, unseen = trimmed(column)
            cells.append(cell)
            self.unseen += unseen
        filled = filled_anywhere(cells)
        batch = pa.record_batch(cells, names=self._names)
        if not pc.all(filled).as_py():
            self.blank += pc.sum(pc.invert(filled)).as_py() or 0
            batch, numbers = batch.filter(filled), numbers.filter(filled)
        self._push(batch, numbers)

    def _note_last(self, block: Block) -> None:
        last = len(block.numbers) and block.numbers[-1].as_py()
        if block.others and block.others[-1][0] > last:
            last, row = block.others[-1]
            if len(row) < self._width and any(row):
                self._short = last
        self._last = max(self._last, last)

    def _fits(self, number: int, row: Row) -> bool:
        if len(row) > self._width and any(cell.strip() for cell in row[self._width :]):
            self.broken.append(BrokenRow(number, "more cells than column names"))
            return False
        return True

    def _padded(self, row: Row) -> Row:
        return [*row[: self._width], *[""] * (self._width - len(row))]

    def _without_swallowed(self, columns: list[Any], numbers: Any) -> tuple[list[Any], Any]:
        """Set apart the rows of which a cell holds whole rows: a quotation mark was opened by mistake."""
        if not self._swallowed or self._width < 3:
            return columns, numbers
        bad: Any = None
        for column in columns:
            buffer = column.buffers()[2]
            if buffer is None or b"\n" not in bytes(memoryview(buffer)):
                continue
            many = pc.greater_equal(pc.count_substring(column, self._swallowed), self._width - 1)
            one: Any = pc.and_(pc.match_substring(column, "\n"), many)
            bad = one if bad is None else pc.or_(bad, one)
        if bad is None or not pc.any(bad).as_py():
            return columns, numbers
        why = "a stray quotation mark runs several rows together"
        self.broken += [BrokenRow(number, why) for number in numbers.filter(bad).to_pylist()]
        keep = pc.invert(bad)
        return [column.filter(keep) for column in columns], numbers.filter(keep)

    def _push(self, batch: pa.RecordBatch, numbers: Any) -> None:
        """Store what is not at the foot, if this is the end."""
        if self._tail is not None:
            batches = [pa.Table.from_batches([self._tail[0], batch])]
            whole = batches[0].combine_chunks().to_batches() if batch.num_rows < 256 else []
            if whole:
                batch = whole[0]
                numbers = pa.concat_arrays([self._tail[1], numbers])
            else:
                self._store.add(*self._tail)
        keep = min(batch.num_rows, layout_foot.LOOKED_AT)
        if batch.num_rows > keep:
            self._store.add(batch.slice(0, batch.num_rows - keep), numbers.slice(0, len(numbers) - keep))
        at = batch.num_rows - keep
        self._tail = batch.slice(at), numbers.slice(at)

    def finish(self, cut: Callable[[], str], foot: bool) -> None:
        if self._tail is None:
            return
        batch, numbers = self._tail
        gone: list[tuple[int, str]] = []
        ends = "" if not len(numbers) or numbers[-1].as_py() != self._last else cut()
        if ends == "surely" or (ends and self._short == self._last):
            gone.append((batch.num_rows - 1, "the file ends within this row"))
        elif foot and batch.num_rows:
            rows = list(
                zip(
                    numbers.to_pylist(),
                    zip(*(c.to_pylist() for c in batch.columns), strict=True),
                    strict=True,
                )
            )
            gone = layout_foot.foot(rows, self._store.n_rows + batch.num_rows, self._store.total_of)
        self.broken += [BrokenRow(numbers[place].as_py(), why) for place, why in gone]
        self.broken.sort(key=lambda one: one.row)
        left = batch.num_rows - len(gone)
        if left:
            self._store.add(batch.slice(0, left), numbers.slice(0, left))
