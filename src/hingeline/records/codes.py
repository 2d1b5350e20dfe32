"""Coded cells to the vocabulary's words: a column of text and a legend's codes in, meanings out.

Only the distinct cells of a column are looked at, so a million rows cost what their few codes cost.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import pyarrow as pa

from .. import vocabulary
from .layout import pc
from .legend_model import ABSENT, ALWAYS_BLANK, BOTH, EVERY_KIND, GRADES, Mapped, Meaning, fold

FLAG_WORDS: Final[Mapping[str, bool]] = {
    "yes": True,
    "y": True,
    "true": True,
    "1": True,
    "no": False,
    "n": False,
    "false": False,
    "0": False,
}


def known_codes(name: str, how: Mapped) -> dict[str, Meaning]:
    """Every cell that is understood for a field, folded, with what it means (``""`` says nothing)."""
    known: dict[str, Meaning] = {}
    if EVERY_KIND[name] == "flag":
        known.update(FLAG_WORDS)
    elif EVERY_KIND[name] == "grade":
        known.update({str(grade): grade for grade in GRADES[name]})
    else:
        known.update({fold(value): value for value in vocabulary.FIELD[name].values})
        if name == "side":
            known[BOTH] = BOTH
    known.update({fold(code): meaning for code, meaning in how.codes.items()})
    return known


def without_blanks(
    column: pa.ChunkedArray[Any], name: str, how: Mapped, blanks: tuple[str, ...]
) -> pa.ChunkedArray[Any]:
    """Make the words for an empty cell null, unless the field has them as codes."""
    words = {fold(blank) for blank in (*ALWAYS_BLANK, *blanks)} - {fold(code) for code in how.codes}
    if EVERY_KIND[name] in ("key", "date", "number", "age", "ehs", "note"):
        hit = pc.is_in(pc.utf8_lower(column), value_set=pa.array(sorted(words), pa.string()))
    else:
        distinct = column.unique().to_pylist()
        cells = [cell for cell in distinct if cell is not None and fold(cell) in words]
        hit = pc.is_in(column, value_set=pa.array(cells, pa.string()))
    emptied: pa.ChunkedArray[Any] = pc.if_else(hit, pa.scalar(None, pa.string()), column)
    return emptied


def translate(
    column: pa.ChunkedArray[Any], name: str, how: Mapped
) -> tuple[pa.Array[Any], pa.Array[Any], pa.Array[Any]]:
    """Look up each cell of a coded column.

    Returns
    -------
    meaning : pyarrow.Array of string, bool or int8
        Null when the cell is empty, says nothing or is not known.
    unknown : pyarrow.Array of bool
        Whether the cell holds something that is no known code.
    absent : pyarrow.Array of bool
        Whether the code says that this side is no groin of the study.
    """
    known = known_codes(name, how)
    cells = column.combine_chunks() if column.num_chunks != 1 else column.chunk(0)
    encoded: Any = pc.dictionary_encode(cells)
    meanings: list[Any] = []
    unknown: list[bool] = []
    absent: list[bool] = []
    for cell in encoded.dictionary.to_pylist():
        meaning = known.get(fold(cell), None)
        unknown.append(meaning is None)
        absent.append(meaning == ABSENT)
        meanings.append(None if meaning in ("", ABSENT) else meaning)
    kind = {"flag": pa.bool_(), "grade": pa.int8()}.get(EVERY_KIND[name], pa.string())

    def spread(values: list[Any], arrow: Any) -> pa.Array[Any]:
        array: pa.Array[Any] = pa.array(values, arrow).take(encoded.indices)
        return array

    return (
        spread(meanings, kind),
        pc.fill_null(spread(unknown, pa.bool_()), False),
        pc.fill_null(spread(absent, pa.bool_()), False),
    )
