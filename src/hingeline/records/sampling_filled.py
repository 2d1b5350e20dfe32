"""Typing sheets that come back: filled sheets and double-read files in, one table of readings out.

A sheet as `check --sample` draws it, or a plain table of readings, long (a column ``reader``) or wide (a column
``type NAME`` a reader). A row that cannot be used is listed with its place and what to do; none is lost.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pyarrow as pa
import python_calamine as calamine

from .. import vocabulary, wording
from ..errors import HingelineError
from .legend_model import FileOptions, fold
from .source import open_source

_READINGS: Final[list[tuple[str, pa.DataType]]] = [
    ("groin", pa.string()),
    ("reader", pa.string()),
    ("type", pa.string()),
    ("ehs_size", pa.int8()),
    ("hospital", pa.string()),
    ("source_file", pa.string()),
    ("source_row", pa.int64()),
    ("side", pa.string()),
    ("sheet", pa.string()),
    ("row", pa.int64()),
]
READINGS: Final = pa.schema(_READINGS)
"""One row a reading. The four from ``hospital`` on name a row of the study's records, or are all empty."""

_LEFT: Final[list[tuple[str, pa.DataType]]] = [
    ("sheet", pa.string()),
    ("row", pa.int64()),
    ("reader", pa.string()),
    ("value", pa.string()),
    ("why", pa.string()),
    ("todo", pa.string()),
]
LEFT: Final = pa.schema(_LEFT)
"""Rows of sheets that could not be used."""

_PLACE: Final = ("hospital", "file", "row", "side")
_WIDE: Final = re.compile(r"^type(?:\s+of)?[\s_:]+(\S.*)$", re.IGNORECASE)
_SHEET: Final = "Typing"
_SYNONYMS: Final = {"lateral": "indirect", "medial": "direct"}
"""The European Hernia Society's words, which the sheet explains beside ours (Miserez et al., Hernia 2007;11:113)."""


@dataclass(frozen=True)
class FilledSheets:
    """What filled sheets tell.

    Attributes
    ----------
    readings : pyarrow.Table
        In `READINGS`.
    left : pyarrow.Table
        In `LEFT`.
    """

    readings: pa.Table
    left: pa.Table

    def to_frame(self) -> pa.Table:
        """Return the readings."""
        return self.readings

    def __str__(self) -> str:
        readers = len(set(self.readings.column("reader").to_pylist()))
        return wording.sheets_told(self.readings.num_rows, readers, self.left.num_rows)


def read_filled(paths: Sequence[Path]) -> FilledSheets:
    """Read filled typing sheets and double-read files.

    Parameters
    ----------
    paths : sequence of Path
        XLSX or CSV. A sheet without a column ``reader`` and with one column ``type`` is that of one reader, who is
        called as the file is, without its ending.

    Raises
    ------
    HingelineError
        When a file cannot be opened, has no column of types, or no columns that name its groins; when two sheets
        are of the same reader.
    """
    readings: list[dict[str, object]] = []
    left: list[dict[str, object]] = []
    single: dict[str, Path] = {}
    for path in paths:
        of_one = _read(path, readings, left)
        if of_one and of_one in single:
            raise HingelineError(
                f"Two sheets are of the reader {of_one!r}",
                f"{single[of_one].name}, {path.name}",
                "Give the files different names: a reader is called as the file is.",
            )
        if of_one:
            single[of_one] = path
    kept, doubled = _once(readings)
    kept, altered = _one_numbering(kept)
    return FilledSheets(
        pa.Table.from_pylist(kept, schema=READINGS),
        pa.Table.from_pylist([*left, *doubled, *altered], schema=LEFT),
    )


def _read(path: Path, readings: list[dict[str, object]], left: list[dict[str, object]]) -> str:
    """Read one file; return its reader where it is the sheet of one."""
    source = open_source(path, FileOptions(sheet=_SHEET if _is_drawn(path) else None))
    try:
        by_head = {
            fold(head).replace("_", " "): name for head, name in zip(source.header, source.names, strict=True)
        }
        wide = {
            found[1].strip(): name
            for head, name in zip(source.header, source.names, strict=True)
            if (found := _WIDE.match(head.strip()))
        }
        named = "case" if "case" in by_head else "groin" if "groin" in by_head else ""
        placed = all(name in by_head for name in _PLACE)
        if not (placed or named):
            raise HingelineError(
                "A typing sheet does not tell which groins were read",
                source.where,
                "Keep the columns hospital, file, row and side of the drawn sheet, or give a column 'case'.",
            )
        types = wide or ({"": by_head["type"]} if "type" in by_head else {})
        if not types:
            raise HingelineError(
                "A typing sheet has no column of types",
                source.where,
                "Head the column 'type', or one a reader 'type NAME'.",
            )
        reader_column = by_head.get("reader") if not wide else None
        heads = [*(_PLACE if placed else ()), *((named,) if named else ())]
        heads += [name for name in ("number", "ehs size") if name in by_head]
        wanted = list(
            dict.fromkeys([by_head[head] for head in heads] + list(types.values()) + [reader_column or ""])
        )
        for batch in source.batches([name for name in wanted if name]):
            for cells in batch.to_pylist():
                told = {head: (cells[by_head[head]] or "").strip() for head in heads}
                for reader, column in types.items():
                    who = reader or ((cells[reader_column] or "").strip() if reader_column else path.stem)
                    row = {"sheet": path.name, "row": cells["source_row"], "reader": who}
                    typed = (cells[column] or "").strip()
                    made, why, todo = _reading(told, named, placed, who, typed)
                    if why:
                        left.append({**row, "value": typed or told.get(named, ""), "why": why, "todo": todo})
                    else:
                        readings.append({**row, **made})
        return "" if wide or reader_column else path.stem
    finally:
        source.close()


def _reading(
    told: dict[str, str], named: str, placed: bool, who: str, typed: str
) -> tuple[dict[str, object], str, str]:
    """Make a reading of one cell, or say why not."""
    made: dict[str, object] = {}
    if placed:
        row = told["row"].removesuffix(".0")
        if not (told["hospital"] and told["file"] and row.isdecimal() and told["side"] in ("left", "right")):
            return made, *wording.sheet_row_altered()
        made = {
            "hospital": told["hospital"],
            "source_file": told["file"],
            "source_row": int(row),
            "side": told["side"],
        }
        groin = "|".join((told["hospital"], told["file"], row, told["side"]))
    else:
        groin = told[named]
        if not groin:
            return made, *wording.sheet_row_unnamed()
    if not who:
        return made, *wording.sheet_row_without_reader()
    if not typed:
        return made, *wording.sheet_row_unfilled()
    word = _SYNONYMS.get(fold(typed), fold(typed))
    if word not in vocabulary.TYPES:
        return made, *wording.sheet_word_unknown(typed, vocabulary.TYPES)
    size = told.get("ehs size", "").removesuffix(".0")
    if size and size not in ("0", "1", "2", "3"):
        return made, *wording.sheet_size_unknown(size)
    number = told.get("number", "").removesuffix(".0")
    return (
        {**made, "groin": groin, "type": word, "ehs_size": int(size) if size else None, "number": number},
        "",
        "",
    )


def _once(readings: list[dict[str, object]]) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Keep what a reader read once; of a groin that one reader typed twice neither typing can be chosen."""
    by: dict[tuple[object, object], list[dict[str, object]]] = {}
    for one in readings:
        by.setdefault((one["reader"], one["groin"]), []).append(one)
    why, todo = wording.sheet_row_doubled()
    kept = [found[0] for found in by.values() if len(found) == 1]
    return kept, [_listed(one, why, todo) for found in by.values() if len(found) > 1 for one in found]


def _one_numbering(
    readings: list[dict[str, object]],
) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Part readings whose number names another groin on another sheet: an altered row, or another drawing's sheet."""
    groins: dict[object, set[object]] = {}
    for one in readings:
        if one["number"]:
            groins.setdefault(one["number"], set()).add(one["groin"])
    why, todo = wording.sheet_row_of_another_drawing()
    strange = [bool(one["number"]) and len(groins[one["number"]]) > 1 for one in readings]
    return (
        [one for one, bad in zip(readings, strange, strict=True) if not bad],
        [_listed(one, why, todo) for one, bad in zip(readings, strange, strict=True) if bad],
    )


def _listed(one: dict[str, object], why: str, todo: str) -> dict[str, object]:
    return {
        **{name: one[name] for name in ("sheet", "row", "reader")},
        "value": one["type"],
        "why": why,
        "todo": todo,
    }


def _is_drawn(path: Path) -> bool:
    """Tell whether a workbook has the sheet that `check --sample` draws."""
    if path.suffix.lower() not in (".xlsx", ".xlsm"):
        return False
    try:
        with calamine.CalamineWorkbook.from_path(str(path)) as book:
            return _SHEET in book.sheet_names
    except (OSError, ValueError, calamine.CalamineError):  # what it is, `open_source` tells
        return False
