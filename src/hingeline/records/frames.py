"""Opened sources to frames: the cells that a legend maps, by field, one frame a source and side.

Coded cells are looked up here already; dates, numbers and keys stay text for `hingeline.records.readings`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from .codes import translate, without_blanks
from .layout import pc
from .legend_model import EVERY_KIND, Legend, Mapped, Side, fold
from .phrases import DateLook
from .source import Source


@dataclass(frozen=True)
class Frame:
    """What one source holds of one side: raw cells by field.

    Attributes
    ----------
    source : Source
    number : int
        Which of the hospital's sources it is, from 0.
    side : {"left", "right"} or None
        None when a row is an operation.
    fields : dict of str to Mapped
    raw : pyarrow.Table
        ``source_row`` and for each mapped field its cells; coded fields looked up already.
    looks : dict of str to DateLook
        What each column of dates holds.
    """

    source: Source
    number: int
    side: Side | None
    fields: dict[str, Mapped]
    raw: pa.Table
    looks: dict[str, DateLook]


def column_of(source: Source, legend: Legend, key: str, column: str) -> str:
    """Name in the source's table of a column that the legend names."""
    matches = [
        name
        for name, header in zip(source.table.column_names, source.header, strict=True)
        if fold(header) == fold(column)
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
    shown = wording.listed([repr(header) for header in source.header[:40]])
    raise HingelineError(
        f"The legend names column {column!r}, which the file does not have",
        where,
        f"Correct the name, or [file] header_row; the columns found are {shown}",
    )


def frames(
    sources: Sequence[Source], legend: Legend
) -> tuple[list[Frame], list[tuple[Source, pa.Array[Any]]]]:
    """Cut sources into frames; beside them, per source, the rows that hold no groin on either side."""
    made: list[Frame] = []
    without: list[tuple[Source, pa.Array[Any]]] = []
    sides: tuple[Side | None, ...] = ("left", "right") if legend.form == "patients" else (None,)
    for number, source in enumerate(sources):
        somewhere: Any = None
        for side in sides:
            frame, present = _frame(source, number, legend, side)
            made.append(frame)
            somewhere = present if somewhere is None else pc.or_(somewhere, present)
        without.append((source, source.rows.filter(pc.invert(somewhere))))
    return made, without


def _frame(source: Source, number: int, legend: Legend, side: Side | None) -> tuple[Frame, Any]:
    fields = legend.side(side)
    columns: dict[str, Any] = {"source_row": source.rows}
    looks: dict[str, DateLook] = {}
    rows = source.table.num_rows
    present: Any = pa.array([side is None] * rows, pa.bool_())
    absent: Any = pa.array([False] * rows, pa.bool_())
    own = {} if side is None else (legend.left if side == "left" else legend.right)
    for name, how in fields.items():
        if how.column is None:
            continue
        key = f"{side if name in own else 'fields'}.{name}.column"
        table_name = column_of(source, legend, key, how.column)
        cells: Any = source.table.column(table_name)
        cells = without_blanks(cells, name, how, legend.file.blanks)
        columns[f"{name}_text"] = cells
        if EVERY_KIND[name] == "date":
            looks[name] = _look(cells)
        if EVERY_KIND[name] in ("code", "flag", "grade"):
            columns[name], columns[f"{name}_bad"], gone = translate(cells, name, how)
            absent = pc.or_(absent, gone)
        if name in own:
            present = pc.or_(present, cells.is_valid().combine_chunks())
    present = pc.and_(present, pc.invert(absent))
    return Frame(source, number, side, fields, pa.table(columns).filter(present), looks), present


def _look(cells: Any) -> DateLook:
    def any_of(pattern: str) -> bool:
        return bool(pc.any(pc.match_substring_regex(cells, pattern)).as_py())

    return DateLook(
        month_names=any_of(r"\pL{3}"),
        digits_only=any_of(r"^\d{4,}([.,]\d+)?$"),
        short_years=any_of(
            r"(^|\D)\d{1,2}\s*[-/. ]\s*\d{1,2}\s*[-/. ]\s*\d{2}($|[ T,])|\pL\.?[\s/,-]*\d{2}($|[ T,])"
        ),
    )
