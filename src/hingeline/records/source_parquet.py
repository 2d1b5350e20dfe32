"""Parquet: typed columns in, trimmed text out, batch by batch.

Dates go out year first, whole numbers without a point, so that a cell reads alike whatever file it came in.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pyarrow as pa
import pyarrow.parquet as pq

from .. import wording
from ..errors import HingelineError
from .layout import Block, Layout, Room, lay_out
from .layout_cells import pc
from .source_cells import BATCH
from .source_grid import as_text

_AT_ONCE: Final = 2_000_000
"""Cells of a batch, at most."""


def read_parquet(path: Path, room: Room, decimal: str) -> tuple[Layout, tuple[str, ...]]:
    """Read a Parquet file."""
    where = str(path)
    try:
        with pq.ParquetFile(path) as file:
            rows, names = file.metadata.num_rows, file.schema_arrow.names
            if rows > room.rows or len(names) > room.columns:
                raise HingelineError(
                    f"There are {rows:,} rows and {len(names):,} columns; {room.rows:,} rows and "
                    f"{room.columns:,} columns are read",
                    where,
                    "Split it, or keep only the columns that are needed",
                )
            if not names:
                raise HingelineError("The file holds no columns", where, "Export it again")
            layout = lay_out(
                names, _blocks(file, len(names), decimal), file=path.name, where=where, room=room, foot=False
            )
    except (pa.ArrowException, OSError, ValueError) as error:
        raise HingelineError(
            f"The Parquet file cannot be read ({type(error).__name__})",
            where,
            "Write it again with plain columns of text, numbers and dates",
        ) from None
    return layout, (wording.detected_parquet(path.name), *layout.told)


def _blocks(file: Any, width: int, decimal: str) -> Iterator[Block]:
    # A spreadsheet would show the names in row 1.
    number = 2
    for batch in file.iter_batches(max(1, min(BATCH, _AT_ONCE // width)), use_threads=False):
        columns = [as_strings(column, decimal) for column in batch.columns]
        yield Block(columns, pa.array(range(number, number + batch.num_rows), pa.int64()))
        number += batch.num_rows


def as_strings(column: Any, decimal: str) -> Any:
    """Write a typed array as text."""
    kind = column.type
    types: Any = pa.types
    if types.is_dictionary(kind):
        return as_strings(column.cast(kind.value_type), decimal)
    if types.is_timestamp(kind):
        column = pc.strftime(column, format="%Y-%m-%d %H:%M")
    elif types.is_date(kind):
        column = column.cast(pa.date32())
    elif types.is_floating(kind) or types.is_decimal(kind):
        # Few numbers differ: each is written once.
        coded = column.cast(pa.float64()).dictionary_encode()
        texts = [
            None if value != value else as_text(value, decimal) for value in coded.dictionary.to_pylist()
        ]
        return pa.array(texts, pa.string()).take(coded.indices)
    elif not (
        types.is_null(kind)
        or types.is_string(kind)
        or types.is_large_string(kind)
        or types.is_integer(kind)
        or types.is_boolean(kind)
    ):
        raise ValueError(f"a column of {kind}")
    return column.cast(pa.string())
