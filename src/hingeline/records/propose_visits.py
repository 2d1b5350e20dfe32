"""Visits kept apart from the operations: a further sheet or file with a patient's key and a date on each row.

Tables beside that of the operations come in; the one that holds visits goes out with its fields assigned, or None.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from .legend_model import fold
from .propose_assign import Assigned, Scored, assign, scores_of, units_of, visit_fields
from .propose_columns import Column
from .propose_fit import Seen
from .propose_joint import together
from .propose_tables import Table

_DATED: Final = ("seen_on", "recurred_on", "died_on", "other_groin_on")


@dataclass(frozen=True)
class Visits:
    """A table of visits with its fields assigned."""

    table: Table
    seen: Seen
    assigned: dict[str, Assigned]


def visits_of(others: Sequence[Table], operations: Table, assigned: Mapping[str, Assigned]) -> Visits | None:
    """Find the table of visits among those beside the operations."""
    key = assigned["patient"].best.unit.columns[0] if "patient" in assigned else None
    best: tuple[float, Visits] | None = None
    for table in others:
        if table.header == operations.header or not table.rows or len(table.columns) < 2:
            continue
        found = _tried(table, key)
        if found is not None and (best is None or found[0] > best[0]):
            best = found
    return best[1] if best is not None else None


def _tried(table: Table, key: Column | None) -> tuple[float, Visits] | None:
    seen = Seen(together(table.columns), table.suspects, table.keys, visits=True)
    units = units_of(table.columns, ())
    fields = visit_fields()
    scores = scores_of(fields, units, seen)
    joined = 0.0
    if key is not None:
        for at, unit in enumerate(units):
            share = _held(unit.columns[0], key)
            if ("patient", at) in scores:
                joined = max(joined, share)
                scores["patient", at] = _raised(scores["patient", at], 1.2 * share)
    found = assign(fields, units, scores)
    people = {"born_on", "sex", "operated_on"} <= found.keys()
    if "patient" not in found and not people:
        return None
    if "patient" in found and key is None:
        del found["patient"]
        if not people:
            return None
    if "patient" in found and joined < 0.05 and table.rows < 5_000:
        return None
    if not any(name in found for name in _DATED):
        return None
    if "seen_on" not in found:
        found = {name: one for name, one in found.items() if name not in ("recurred", "other_groin")}
    return sum(one.best.score for one in found.values()), Visits(table, seen, found)


def _raised(scored: Scored, by: float) -> Scored:
    return replace(scored, score=scored.score + by)


def _held(column: Column, key: Column) -> float:
    """Share of a column's cells that are keys of the operations."""
    keys = {fold(cell) for cell in key.cells if cell} | {fold(cell) for cell in key.counts}
    cells = [fold(cell) for cell in column.cells if cell]
    return sum(cell in keys for cell in cells) / len(cells) if cells else 0.0
