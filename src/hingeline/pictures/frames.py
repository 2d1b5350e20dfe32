"""From an answer's frames to the rows a picture is drawn from, and a refusal of what is no such frame.

A `Figure` comes in; lists of plain rows go out, in which what is not a number is None (infinite limits
stay: a picture cuts them at its frame). The columns of each kind are the contract in
`hingeline.answers.figures`.
"""

from __future__ import annotations

import math
from typing import Any

from hingeline.answers.figures import KINDS, MAY_HAVE
from hingeline.answers.findings import Figure, rounded
from hingeline.errors import HingelineError

Row = dict[str, Any]


def check(figure: Figure) -> None:
    """Raise HingelineError when a figure's kind is not known or a frame lacks a column."""
    if figure.kind not in KINDS:
        raise HingelineError(
            f"there is no kind of picture called '{figure.kind}'",
            f"figure '{figure.name}'",
            f"use one of: {', '.join(sorted(KINDS))}",
        )
    for frame, columns in KINDS[figure.kind].items():
        if frame not in figure.frames:
            raise HingelineError(
                f"the frame '{frame}' is missing",
                f"figure '{figure.name}' of kind '{figure.kind}'",
                f"give a table with the columns {', '.join(columns)}",
            )
        lacking = [name for name in columns if name not in figure.frames[frame].column_names]
        if lacking:
            raise HingelineError(
                f"the frame '{frame}' lacks the column {', '.join(lacking)}",
                f"figure '{figure.name}' of kind '{figure.kind}'",
                f"give a table with the columns {', '.join(columns)}",
            )


def rows(figure: Figure, frame: str) -> list[Row]:
    """Return the rows of a frame: the columns of the contract, as plain values to six significant digits.

    A frame that may be left out and is has no rows.
    """
    table = figure.frames.get(frame)
    if table is None:
        return []
    columns = [
        *KINDS[figure.kind].get(frame, ()),
        *(n for n in MAY_HAVE.get(figure.kind, {}).get(frame, ()) if n in table.column_names),
    ]
    return [{name: _plain(value) for name, value in row.items()} for row in table.select(columns).to_pylist()]


def finite(values: list[Any]) -> list[float]:
    """Return the finite numbers among values."""
    return [float(v) for v in values if v is not None and math.isfinite(v)]


def cut(value: float | None, low: float, high: float) -> float | None:
    """Return a limit cut at the frame of a picture."""
    return None if value is None else min(max(float(value), low), high)


def _plain(value: Any) -> Any:
    if not isinstance(value, float):
        return value
    if math.isnan(value):
        return None
    return value if math.isinf(value) else rounded(value)
