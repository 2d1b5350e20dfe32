"""Many operation notes to a table: a repeated text is read once, and many notes are shared among processes.

The columns are those of `read_note`, one row a text, for a left and a right groin; nothing told is null.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from threading import Lock
from types import ModuleType
from typing import Any, Final

import pyarrow as pa

from .. import vocabulary, wording
from .opnote_read import NOTHING, GroinRead, NoteRead, read_note

FEW: Final = 4_000
"""Distinct notes up to which one process is sooner done than two are started."""
_LOT: Final = 500
_STARTING: Final = Lock()
"""Two hospitals may be read side by side."""

_GROIN: Final = (
    ("type", pa.string()),
    ("repair", pa.string()),
    ("approach", pa.string()),
    ("known_by", pa.string()),
    ("reason", pa.string()),
    ("occurrence", pa.string()),
    ("mesh", pa.bool_()),
    ("sliding", pa.bool_()),
    ("doubt", pa.string()),
    ("words", pa.string()),
)
SCHEMA: Final = pa.schema(
    [pa.field("side", pa.string())]
    + [pa.field(f"{side}_{name}", arrow) for side in vocabulary.SIDES for name, arrow in _GROIN]
)

Row = tuple[Any, ...]


def read_notes(texts: Sequence[str | None], *, processes: int | None = None) -> pa.Table:
    """Read many operation notes.

    Parameters
    ----------
    texts : sequence of str or None
        One note a row; None and blank text tell nothing.
    processes : int, optional
        How many processes share the work; by default one for each core when there are many distinct notes.

    Returns
    -------
    pyarrow.Table
        One row a text: ``side``, and for left and right ``type``, ``repair``, ``approach``, ``known_by``, ``reason``,
        ``occurrence``, ``mesh``, ``sliding``, ``doubt`` and ``words``; null when not told.
    """
    distinct = list(dict.fromkeys(text for text in texts if text is not None and text.strip()))
    wanted = _processes(len(distinct)) if processes is None else processes
    if wanted > 1:
        lots = [distinct[i : i + _LOT] for i in range(0, len(distinct), _LOT)]
        context = multiprocessing.get_context("spawn")
        try:
            with ProcessPoolExecutor(max_workers=wanted, mp_context=context) as pool:
                with _no_script():  # processes start as work is handed in
                    begun = [pool.submit(_rows, lot) for lot in lots]
                rows = [row for lot in begun for row in lot.result()]
        except BrokenProcessPool:  # no memory for a child
            rows = _rows(distinct)
    else:
        rows = _rows(distinct)
    known = dict(zip(distinct, rows, strict=True))
    return _as_table(known.get(text, _BLANK) if text is not None else _BLANK for text in texts)


def table_of(notes: Iterable[NoteRead]) -> pa.Table:
    """Readings as a table of one row a note."""
    return _as_table(_row(note) for note in notes)


@contextmanager
def _no_script() -> Iterator[None]:
    """Keep a starting process from running the caller's script again, as it would one without the usual guard.

    Run again, a script would open the study a second time and work on the same files. The child needs nothing of it.
    """
    with _STARTING:
        script = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = script


def _processes(notes: int) -> int:
    """One process when notes are few."""
    if notes <= FEW or multiprocessing.current_process().daemon:
        return 1
    return max(1, min(os.cpu_count() or 1, notes // 2_000))


def _rows(texts: list[str]) -> list[Row]:
    """Read notes to plain rows, which are cheap to hand between processes."""
    return [_row(read_note(text)) for text in texts]


def _row(note: NoteRead) -> Row:
    return (note.side, *_cells(note.left), *_cells(note.right))


def _cells(groin: GroinRead) -> Row:
    """Cells of one groin; what is not told is None."""
    if groin is NOTHING:
        return (None,) * len(_GROIN)
    return (
        _told(groin.type),
        _told(groin.repair),
        _told(groin.approach),
        _told(groin.known_by),
        groin.reason,
        groin.occurrence,
        groin.mesh,
        groin.sliding,
        groin.doubt or None,
        wording.note_words((word.means, word.text) for word in groin.words) or None,
    )


def _told(value: str) -> str | None:
    return None if value == vocabulary.UNKNOWN else value


_BLANK: Final[Row] = (None,) * len(SCHEMA)


def _as_table(rows: Iterable[Row]) -> pa.Table:
    """Rows to columns."""
    columns = list(zip(*rows, strict=True)) or [()] * len(SCHEMA)
    arrays = [pa.array(column, field.type) for column, field in zip(columns, SCHEMA, strict=True)]
    return pa.table(arrays, schema=SCHEMA)
