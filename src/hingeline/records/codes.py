"""Coded cells to the vocabulary's words: a column of text and a legend's codes in, meanings out.

Only the distinct cells of a column are looked at, so a million rows cost what their few codes cost.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import pyarrow as pa

from .. import vocabulary
from .decisions import Settled
from .layout import pc
from .legend_model import ABSENT, ALWAYS_BLANK, BOTH, EVERY_KIND, GRADES, Mapped, Meaning, fold
from .source_letters import plain_letters

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

_ARROW: Final[Mapping[str, pa.DataType]] = {"flag": pa.bool_(), "grade": pa.int8()}


def known_codes(
    name: str, how: Mapped, settled: Mapping[tuple[str, str], Meaning] | None = None
) -> dict[str, Meaning]:
    """Every cell that is understood for a field, folded, with what it means (``""`` says nothing).

    What a person has settled stands behind the legend's own codes, and before the vocabulary's words.
    """
    known: dict[str, Meaning] = {}
    if EVERY_KIND[name] == "flag":
        known.update(FLAG_WORDS)
    elif EVERY_KIND[name] == "grade":
        known.update({str(grade): grade for grade in GRADES[name]})
    else:
        known.update({fold(value): value for value in vocabulary.FIELD[name].values})
        if name == "side":
            known[BOTH] = BOTH
    known.update({cell: meaning for (of, cell), meaning in (settled or {}).items() if of == name})
    known.update({fold(code): meaning for code, meaning in how.codes.items()})
    return known


def without_blanks(column: Any, name: str, how: Mapped, blanks: tuple[str, ...]) -> Any:
    """Make the words for an empty cell null, unless the field has them as codes."""
    words = {fold(blank) for blank in (*ALWAYS_BLANK, *blanks)} - {fold(code) for code in how.codes}
    if EVERY_KIND[name] in ("key", "date", "number", "age", "ehs", "note"):
        hit = pc.is_in(pc.utf8_lower(column), value_set=pa.array(sorted(words), pa.string()))
    else:
        distinct = column.unique().to_pylist()
        cells = [cell for cell in distinct if cell is not None and fold(cell) in words]
        hit = pc.is_in(column, value_set=pa.array(cells, pa.string()))
    return pc.if_else(hit, pa.scalar(None, pa.string()), column)


def with_plain_letters(column: Any) -> Any:
    """Write look-alike letters of other scripts as Latin ones in the cells that hold any."""
    if pc.all(pc.string_is_ascii(column)).as_py() is not False:
        return column
    encoded: Any = pc.dictionary_encode(column)
    plain = [None if cell is None else plain_letters(cell) for cell in encoded.dictionary.to_pylist()]
    return pa.array(plain, pa.string()).take(encoded.indices)


class Lookup:
    """What the cells of one coded field mean; each distinct cell is looked up once."""

    def __init__(
        self, name: str, how: Mapped, settled: Mapping[tuple[str, str], Meaning] | None = None
    ) -> None:
        self._name = name
        self._known = known_codes(name, how, settled)
        self._settled = settled if isinstance(settled, Settled) else None
        self._alike = {fold(plain_letters(code)): meaning for code, meaning in how.codes.items()}
        self._arrow = _ARROW.get(EVERY_KIND[name], pa.string())

    def meaning(self, cell: str) -> Meaning | None:
        """Meaning of one cell; None when it is no known code, nor looks like one in letters of another script."""
        meaning = self._known.get(fold(cell))
        if meaning is None and not cell.isascii():
            plain = fold(plain_letters(cell))
            meaning = self._known.get(plain, self._alike.get(plain))
        if meaning is None:
            meaning = self._alike.get(fold(cell))
        if meaning is None and self._settled is not None:
            meaning = self._settled.of(self._name, cell)
        return meaning

    def __call__(self, column: Any) -> tuple[pa.Array[Any], pa.Array[Any], pa.Array[Any]]:
        """Look up each cell of a column.

        Returns
        -------
        meaning : pyarrow.Array of string, bool or int8
            Null when the cell is empty, says nothing or is not known.
        unknown : pyarrow.Array of bool
            Whether the cell holds something that is no known code.
        absent : pyarrow.Array of bool
            Whether the code says that this side is no groin of the study.
        """
        cells = column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column
        encoded: Any = pc.dictionary_encode(cells)
        found = [self.meaning(cell) for cell in encoded.dictionary.to_pylist()]
        meanings = [None if meaning in ("", ABSENT) else meaning for meaning in found]

        def spread(values: list[Any], arrow: Any) -> pa.Array[Any]:
            array: pa.Array[Any] = pa.array(values, arrow).take(encoded.indices)
            return array

        return (
            spread(meanings, self._arrow),
            pc.fill_null(spread([meaning is None for meaning in found], pa.bool_()), False),
            pc.fill_null(spread([meaning == ABSENT for meaning in found], pa.bool_()), False),
        )
