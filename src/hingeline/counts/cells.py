"""The dictionary of cells: which combinations of dimensions and age bin hold cases, in one canonical order.

Tables with one row a (possibly repeated) combination come in, the distinct combinations with their sums go
out, and the place of every row among them. Levels are sorted as text sorts; "not recorded" comes last.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from ..errors import HingelineError
from ..vocabulary import FIELD

Ints = NDArray[np.int64]

DEFAULT_DIMENSIONS: Final = ("hospital", "sex", "occurrence", "reason", "type", "approach", "known_by")
DERIVED: Final = {"operated_year": "operated_on"}
"""Dimensions that are no field of a case, and the field each is made from."""
SUMS: Final = ("n", "days", "days2")
"""Groins, Σ age in days, Σ age² in days²: integers, so that no order of adding changes them."""


def levels_of(column: pa.ChunkedArray[Any]) -> list[Any]:
    """Distinct values of a column, sorted, None last."""
    found = column.unique().to_pylist()
    return sorted(value for value in found if value is not None) + ([None] if None in found else [])


def codes_of(column: pa.ChunkedArray[Any], levels: Sequence[Any]) -> Ints:
    """Place of each value of a column among the levels."""
    if not len(column):
        return np.empty(0, dtype=np.int64)
    dictionary = pa.array(list(levels), type=column.type)
    places = pc.index_in(column, value_set=dictionary)
    return np.asarray(places.to_numpy(), dtype=np.int64)


def radix(sizes: Sequence[int]) -> list[int]:
    """Multiplier of each dimension in a mixed-radix code, the last dimension counting ones."""
    multipliers = [1]
    for size in reversed(sizes[1:]):
        multipliers.append(multipliers[-1] * size)
    if multipliers[-1] * sizes[0] > np.iinfo(np.int64).max:
        raise HingelineError(
            "There are more possible cells than can be numbered",
            "the dimensions of the tally",
            "Count by fewer dimensions, or by dimensions with fewer values.",
        )
    return multipliers[::-1]


def rank(table: pa.Table, names: Sequence[str]) -> tuple[Ints, Ints]:
    """Rank rows by their combination of columns.

    Returns
    -------
    first : array of int, shape (combinations,)
        A row that shows each distinct combination, in canonical order.
    place : array of int, shape (rows,)
        Place of each row's combination.
    """
    levels = [levels_of(table[name]) for name in names]
    code = np.zeros(table.num_rows, dtype=np.int64)
    for name, level, step in zip(names, levels, radix([max(len(level), 1) for level in levels]), strict=True):
        code += step * codes_of(table[name], level)
    _, first, place = np.unique(code, return_index=True, return_inverse=True)
    return first.astype(np.int64), place.astype(np.int64)


def combine(table: pa.Table, names: Sequence[str], sums: Sequence[str] = SUMS) -> tuple[pa.Table, Ints]:
    """Add up rows of equal combination.

    Returns
    -------
    cells : pyarrow.Table
        ``cell`` (from 0), the named columns and the sums, in canonical order.
    place : array of int, shape (rows,)
        The cell that each row went to.
    """
    if names:
        first, place = rank(table, names)
    else:
        place = np.zeros(table.num_rows, dtype=np.int64)
        first = place[:1]
    cells = pa.table({"cell": pa.array(np.arange(first.size), pa.int32())})
    for name in names:
        cells = cells.append_column(name, table[name].take(first).combine_chunks())
    for name in sums:
        cells = cells.append_column(name, pa.array(add(table[name].to_numpy(), place, first.size)))
    return cells, place


def add(values: NDArray[Any], place: Ints, size: int) -> Ints:
    """Sum integers by place, exactly (a weighted ``bincount`` would go through floats)."""
    total = np.zeros(size, dtype=np.int64)
    np.add.at(total, place, values.astype(np.int64))
    return total


def check_dimensions(by: Sequence[str], derived: Sequence[str] = ()) -> tuple[str, ...]:
    """Refuse a dimension that no case has and nothing derives, or one that is asked for twice."""
    known = set(FIELD) | set(DERIVED) | set(derived)
    strange = [name for name in by if name not in known or name in ("patient", "age_days")]
    if strange or len(set(by)) != len(by):
        raise HingelineError(
            f"Cases cannot be counted by {strange[0]!r}" if strange else "A dimension is asked for twice",
            "the dimensions of the tally",
            f"Choose among the fields of a case, such as {', '.join(DEFAULT_DIMENSIONS)}, each once.",
        )
    return tuple(by)
