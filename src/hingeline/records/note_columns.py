"""Operation notes among the cells of a frame: a column of texts in, columns of what they say out.

`opnote` reads; here each distinct note is read once, what a person has settled about it is laid over the reading,
and a keyed fingerprint takes the place of its words. Only a short excerpt of a doubtful note, identifiers masked,
goes further, for the person who is to settle it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import pyarrow as pa

from .. import vocabulary
from .decisions import note_print
from .excerpt import excerpt
from .layout import pc
from .legend_model import ABSENT, BOTH, Side

TEXTS: Final = ("type", "repair", "approach", "known_by", "reason", "occurrence", "doubt", "words")
FLAGS: Final = ("mesh", "sliding")
PARTS: Final = (*TEXTS, *FLAGS)
"""What a note says of one groin, each part a column ``note_<part>``."""

SIDES: Final[tuple[Side, ...]] = ("left", "right")


class NoteReader:
    """Reads notes of one hospital, with its key and with what a person has settled.

    Parameters
    ----------
    key : bytes
        Of the notes' fingerprints.
    settled : mapping of str to mapping of str to str
        By fingerprint, field (``type``, ``left.type``) to meaning.
    needs_side : bool
        Whether nothing but the note tells the side, so that a note without one is shown to a person.
    """

    def __init__(self, key: bytes, settled: Mapping[str, Mapping[str, str]], needs_side: bool) -> None:
        self._key = key
        self._settled = settled
        self._needs_side = needs_side

    def columns(self, cells: Any, side: Side | None) -> dict[str, Any]:
        """Read a column of notes.

        Returns
        -------
        dict of str to pyarrow.Array
            ``note_text`` (the fingerprint), ``note_side``, ``note_shown`` and the `PARTS`: of the given side as
            ``note_<part>``, or of both as ``left_note_<part>`` and ``right_note_<part>``.
        """
        whole = cells.combine_chunks() if isinstance(cells, pa.ChunkedArray) else cells
        encoded: Any = pc.dictionary_encode(whole)
        texts: list[str] = encoded.dictionary.to_pylist()
        made = self._read(texts)
        names = {"note_text": "print", "note_side": "side", "note_shown": "shown"}
        for one in SIDES if side is None else (side,):
            before = f"{one}_note" if side is None else "note"
            names |= {f"{before}_{part}": f"{one}_{part}" for part in PARTS}
        return {name: made[of].take(encoded.indices) for name, of in names.items()}

    def _read(self, texts: list[str]) -> dict[str, pa.Array[Any]]:
        from .opnote import read_notes  # a reader of a dozen modules, which most legends do not need

        read = read_notes(texts)
        prints = [note_print(self._key, text) for text in texts]
        sides: list[str | None] = read.column("side").to_pylist()
        columns: dict[str, list[Any]] = {}
        for one in SIDES:
            for part in PARTS:
                columns[f"{one}_{part}"] = read.column(f"{one}_{part}").to_pylist()
        for at, name in enumerate(prints):
            if name in self._settled:
                _settle(columns, sides, at, self._settled[name])
        doubtful = [
            bool(columns["left_doubt"][at] or columns["right_doubt"][at])
            or (self._needs_side and sides[at] is None and columns["left_type"][at] != ABSENT)
            for at in range(len(texts))
        ]
        shown = [_shown(text) if doubt else None for text, doubt in zip(texts, doubtful, strict=True)]
        made: dict[str, pa.Array[Any]] = {
            "print": pa.array(prints, pa.string()),
            "side": pa.array(sides, pa.string()),
            "shown": pa.array(shown, pa.string()),
        }
        for name, values in columns.items():
            flag = name.endswith(FLAGS)
            known = values if flag else [None if one in ("", vocabulary.UNKNOWN) else one for one in values]
            made[name] = pa.array(known, pa.bool_() if flag else pa.string())
        return made


def _settle(
    columns: dict[str, list[Any]], sides: list[str | None], at: int, settled: Mapping[str, str]
) -> None:
    """Lay over one reading what a person has settled; a groin that was not operated has the type ``absent``."""
    told = settled.get("side")
    if told == ABSENT:
        settled = {**settled, "type": ABSENT}
    elif told is not None:
        before = sides[at]
        if before in SIDES and told != before:
            other = "right" if before == "left" else "left"
            for part in PARTS:
                columns[f"{other}_{part}"][at] = columns[f"{before}_{part}"][at]
        sides[at] = told if told in (*SIDES, BOTH) else None
    for name, meaning in settled.items():
        which, _, part = name.rpartition(".")
        if part == "side":
            continue
        for one in (which,) if which else SIDES:
            columns[f"{one}_{part}"][at] = meaning
            if part == "type":
                columns[f"{one}_doubt"][at] = None


def _shown(text: str) -> str:
    from .opnote import read_note

    read = read_note(text)
    words = (*read.left.words, *read.right.words)
    return excerpt(text, [(word.start, word.end) for word in words])
