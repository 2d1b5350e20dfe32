"""Opened sources to frames: the cells that a legend maps, by field, one frame a source and side.

Frames come first and hold no cells; the cells pass through them a batch of rows at a time, so that no file need be
held. Coded cells and notes are looked up here already; dates, numbers and keys stay text for
`hingeline.records.readings`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from .codes import Lookup, with_plain_letters, without_blanks
from .identifier_cells import masked
from .layout import pc
from .legend_model import EVERY_KIND, Legend, Mapped, Meaning, Side, fold
from .note_columns import NoteReader
from .source import Source
from .source_cells import ROW

AT_ONCE: Final = 50_000
"""Rows of a large file that are typed at once, with a hundred columns some 50 MiB; a file of few is typed whole."""


@dataclass(frozen=True)
class Frame:
    """What one source holds of one side: which columns, and how their cells are read.

    Attributes
    ----------
    source : Source
    number : int
        Which of the hospital's sources it is, from 0.
    side : {"left", "right"} or None
        None when a row is an operation.
    fields : dict of str to Mapped
    columns : dict of str to str
        Mapped field to the name of its column in the source.
    own : frozenset of str
        Mapped fields of this side alone, of which one must hold something.
    blanks : tuple of str
    lookups : dict of str to Lookup
        What the cells of each coded field mean.
    notes : NoteReader or None
    """

    source: Source
    number: int
    side: Side | None
    fields: dict[str, Mapped]
    columns: dict[str, str]
    own: frozenset[str]
    blanks: tuple[str, ...]
    lookups: dict[str, Lookup]
    notes: NoteReader | None = field(repr=False, default=None)

    def cells(self, batch: pa.RecordBatch, name: str) -> pa.Array[Any]:
        """Cells of one mapped field, the words for an empty cell null."""
        emptied: pa.Array[Any] = without_blanks(
            batch.column(self.columns[name]), name, self.fields[name], self.blanks
        )
        return emptied

    def raw(self, batch: pa.RecordBatch) -> tuple[pa.Table, pa.Array[Any]]:
        """Cut a batch of the source to this frame.

        Returns
        -------
        raw : pyarrow.Table
            ``source_row`` and for each mapped field its cells as ``<field>_text``; of a coded field also its meaning
            as ``<field>``, and ``<field>_bad``; of a note what it says, and its fingerprint in place of its words.
        present : pyarrow.Array of bool
            Whether the row holds a groin of this side; only such rows are in `raw`.
        """
        made: dict[str, Any] = {ROW: batch.column(ROW)}
        present: Any = pa.array([self.side is None] * batch.num_rows, pa.bool_())
        absent: Any = pa.array([False] * batch.num_rows, pa.bool_())
        for name in self.columns:
            cells = self.cells(batch, name)
            if name in self.own:
                present = pc.or_(present, cells.is_valid())
            if name == "note":
                assert self.notes is not None
                made |= self.notes.columns(cells, self.side)
                continue
            made[f"{name}_text"] = with_plain_letters(cells) if name == "ehs" else cells
            if name in self.lookups:
                made[name], made[f"{name}_bad"], gone = self.lookups[name](cells)
                absent = pc.or_(absent, gone)
        present = pc.and_(present, pc.invert(absent))
        return pa.table(made).filter(present), present


def column_of(source: Source, legend: Legend, key: str, column: str) -> str:
    """Name in the source's table of a column that the legend names."""
    matches = [
        name for name, header in zip(source.names, source.header, strict=True) if fold(header) == fold(column)
    ]
    if len(matches) == 1:
        return matches[0]
    where = f"{legend.where(key)}; {source.where}"
    if matches:
        raise HingelineError(
            f"Column {column!r} stands {len(matches)} times in the file",
            where,
            "Give the columns different names in the file",
        )
    # a file without names has its first patient where they should be; names of columns themselves look like names
    shown = wording.listed([repr(masked("", header, times=1_000)) for header in source.header[:40]])
    raise HingelineError(
        f"The legend names column {column!r}, which the file does not have",
        where,
        f"Correct the name, or [file] header_row; the columns found are {shown}",
    )


def frames(
    sources: Sequence[Source],
    legend: Legend,
    notes: NoteReader | None = None,
    settled: Mapping[tuple[str, str], Meaning] | None = None,
) -> list[Frame]:
    """Make the frames of sources: one each, or one a side when a row is a patient.

    Parameters
    ----------
    sources : sequence of Source
    legend : Legend
    notes : NoteReader, optional
        Reads the note, where the legend maps one.
    settled : mapping of (str, str) to meaning, optional
        By field and folded cell, codes that a person settled.
    """
    sides: tuple[Side | None, ...] = ("left", "right") if legend.form == "patients" else (None,)
    return [
        _frame(source, number, legend, side, notes, settled or {})
        for number, source in enumerate(sources)
        for side in sides
    ]


def _frame(
    source: Source,
    number: int,
    legend: Legend,
    side: Side | None,
    notes: NoteReader | None,
    settled: Mapping[tuple[str, str], Meaning],
) -> Frame:
    fields = legend.side(side)
    own = {} if side is None else (legend.left if side == "left" else legend.right)
    columns = {
        name: column_of(source, legend, f"{side if name in own else 'fields'}.{name}.column", how.column)
        for name, how in fields.items()
        if how.column is not None
    }
    lookups = {
        name: Lookup(name, fields[name], settled)
        for name in columns
        if EVERY_KIND[name] in ("code", "flag", "grade")
    }
    blanks = legend.file.blanks
    return Frame(
        source, number, side, fields, columns, frozenset(own) & columns.keys(), blanks, lookups, notes
    )


def batches(made: Sequence[Frame], without: dict[int, list[pa.Array[Any]]]) -> Iterator[tuple[int, pa.Table]]:
    """Pass once through all sources.

    Parameters
    ----------
    made : sequence of Frame
    without : dict of int to list of pyarrow.Array
        Filled with the rows, by number of the source, that hold no groin on either side.

    Returns
    -------
    iterator of (int, pyarrow.Table)
        Place of the frame and a batch of its raw cells.
    """
    for number, source in {frame.number: frame.source for frame in made}.items():
        mine = [(place, frame) for place, frame in enumerate(made) if frame.number == number]
        needed = [name for _, frame in mine for name in frame.columns.values()]
        for batch in gathered(source, needed):
            somewhere: Any = None
            for place, frame in mine:
                raw, present = frame.raw(batch)
                somewhere = present if somewhere is None else pc.or_(somewhere, present)
                yield place, raw
            missing = batch.column(ROW).filter(pc.invert(somewhere))
            if len(missing):
                without.setdefault(number, []).append(missing)


def gathered(source: Source, columns: Iterable[str]) -> Iterator[pa.RecordBatch]:
    """Pass through columns of a source in batches of enough rows: to begin a query costs as much as some thousands."""
    at_least = AT_ONCE if source.n_rows > 4 * AT_ONCE else 4 * AT_ONCE
    waiting: list[pa.RecordBatch] = []
    rows = 0
    for piece in source.batches(list(dict.fromkeys(columns))):
        waiting.append(piece)
        rows += piece.num_rows
        if rows >= at_least:
            yield _joined(waiting)
            waiting, rows = [], 0
    if rows:
        yield _joined(waiting)


def _joined(pieces: Sequence[pa.RecordBatch]) -> pa.RecordBatch:
    return pieces[0] if len(pieces) == 1 else pa.Table.from_batches(pieces).combine_chunks().to_batches()[0]


def empty(frame: Frame) -> pa.Table:
    """Raw cells of no row, from which the shape of the frame's table is made."""
    schema = frame.source.schema(list(dict.fromkeys(frame.columns.values())))
    return frame.raw(pa.RecordBatch.from_arrays([pa.array([], one.type) for one in schema], schema=schema))[0]
