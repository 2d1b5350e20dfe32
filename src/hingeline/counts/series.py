"""Published series, or a hospital's own, typed into a small table: a CSV comes in, a checked table goes out.

A row is a series (its events and patients) or a summary (a published pooled estimate with its limits). The example that
ships holds four published summaries of recurrence in adolescents, to be edited.
"""

from __future__ import annotations

import csv
import io
import math
from importlib import resources
from pathlib import Path
from typing import Any, Final

import pyarrow as pa

from ..errors import HingelineError

COLUMNS: Final = ("label", "events", "n", "share", "low", "high", "follow_up_years", "kind", "source")
KINDS: Final = ("series", "summary")
NUMBERS: Final = ("events", "n", "share", "low", "high", "follow_up_years")

_FIELDS: Final[list[pa.Field[Any]]] = [
    pa.field("label", pa.string()),
    pa.field("events", pa.int64()),
    pa.field("n", pa.int64()),
    *(pa.field(name, pa.float64()) for name in ("share", "low", "high", "follow_up_years")),
    pa.field("kind", pa.string()),
    pa.field("source", pa.string()),
]
SCHEMA: Final = pa.schema(_FIELDS)
"""The columns of a read table; what was not given is null."""


def read_series(path: Path) -> pa.Table:
    """Read a table of series from a CSV.

    Parameters
    ----------
    path : Path
        Columns ``label`` and ``n`` must be there; ``events``, ``share``, ``low``, ``high`` (shares from 0 to 1),
        ``follow_up_years``, ``kind`` (``series``, which is meant when it is empty, or ``summary``) and ``source``
        may be. A series needs events; a summary events, or a share with its limits.

    Returns
    -------
    pyarrow.Table
        The columns of `SCHEMA`, a row a series in the file's order; what was not given is null. A series' share
        is its events over n.

    Raises
    ------
    HingelineError
        When the file cannot be read, lacks a column, or a row is impossible; the row's number is named (the
        header is row 1).
    """
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise HingelineError(
            "The table of series is not in UTF-8", str(path), "Save it as a comma-separated file in UTF-8"
        ) from None
    except OSError as error:
        raise HingelineError(
            f"The table of series cannot be read: {error.strerror or error}",
            str(path),
            "Check the path and that it is a CSV file",
        ) from None
    return series_of(text, str(path))


def series_of(text: str, where: str) -> pa.Table:
    """Read a table of series from the text of a CSV; ``where`` names it in errors. See `read_series`."""
    try:
        lines = list(csv.reader(io.StringIO(text), strict=True))
    except csv.Error as error:
        raise HingelineError(
            f"The table of series is no CSV: {error}", where, "Save it again as a comma-separated file"
        ) from None
    lines = [[cell.strip() for cell in row] for row in lines]
    filled = [
        (place, row) for place, row in enumerate(lines, start=1) if any(row) and not row[0].startswith("#")
    ]
    if not filled:
        raise HingelineError("The table of series is empty", where, f"Write a header: {', '.join(COLUMNS)}")
    header = [name.lower() for name in filled[0][1]]
    _check_header(header, where, filled[0][0])
    rows = [_row(header, row, f"{where}, row {place}") for place, row in filled[1:]]
    if not rows:
        raise HingelineError("The table of series has no row", where, "Write a row a series under the header")
    seen: dict[str, int] = {}
    for (place, _), row in zip(filled[1:], rows, strict=True):
        label = str(row["label"])
        if label in seen:
            raise HingelineError(
                f"The label {label!r} stands in rows {seen[label]} and {place}",
                f"{where}, row {place}",
                "Give each row a label of its own, or remove the row that was typed twice",
            )
        seen[label] = place
    return pa.Table.from_pylist(rows, schema=SCHEMA)


def example_series() -> str:
    """The text of the editable example: four published summaries of recurrence after repair at 10–17 years.

    Reistrup et al., Langenbecks Arch Surg 2023, doi 10.1007/s00423-023-02947-9.
    """
    return resources.files(__package__).joinpath("adolescents.csv").read_text(encoding="utf-8")


def _check_header(header: list[str], where: str, place: int) -> None:
    absent = [name for name in ("label", "n") if name not in header]
    if absent:
        raise HingelineError(
            f"The table of series has no column {absent[0]!r}",
            f"{where}, row {place}",
            f"It needs label and n, and may have {', '.join(name for name in COLUMNS if name not in ('label', 'n'))}; "
            "cells are parted by commas",
        )
    strange = [name for name in header if name and name not in COLUMNS]
    if strange:
        raise HingelineError(
            f"The table of series has a column {strange[0]!r} that is not known",
            f"{where}, row {place}",
            f"Use {', '.join(COLUMNS)}, or remove it",
        )
    twice = [name for name in header if name and header.count(name) > 1]
    if twice:
        raise HingelineError(
            f"The column {twice[0]!r} stands twice", f"{where}, row {place}", "Remove one of them"
        )


def _row(header: list[str], cells: list[str], where: str) -> dict[str, object]:
    if any(cells[len(header) :]):
        raise HingelineError(
            "The row has more cells than the header",
            where,
            "Put a text that holds a comma between double quotes, and write decimals with a point",
        )
    told = dict(zip(header, cells, strict=False))
    row: dict[str, object] = {"label": told.get("label", ""), "source": told.get("source") or None}
    if not row["label"]:
        raise HingelineError("The row has no label", where, "Name the series")
    kind = (told.get("kind") or "series").lower()
    if kind not in KINDS:
        raise HingelineError(f"The kind {kind!r} is not known", where, "Write series or summary")
    number = {name: _number(told.get(name, ""), name, where) for name in NUMBERS}
    _check(number, kind, where)
    events, n = number["events"], number["n"]
    share = number["share"]
    if events is not None and n is not None and (kind == "series" or share is None):
        share = events / n
    counts = {
        name: None if number[name] is None else round(float(number[name] or 0.0)) for name in ("events", "n")
    }
    return {**row, **number, **counts, "share": share, "kind": kind}


def _number(cell: str, name: str, where: str) -> float | None:
    if not cell:
        return None
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        todo = "Write shares as 0.016 or" if name in ("share", "low", "high") else "Write"
        raise HingelineError(
            f"{cell!r} is no number in the column {name}", where, f"{todo} a plain number, or leave it empty"
        )
    if value < 0:
        raise HingelineError(f"{cell} in the column {name} is below 0", where, "Correct the number")
    if name in ("events", "n") and value != round(value):
        raise HingelineError(f"{cell} in the column {name} is no whole number", where, "Write a count")
    return value


def _check(number: dict[str, float | None], kind: str, where: str) -> None:
    events, n = number["events"], number["n"]
    if not n:
        raise HingelineError("The row has no n, or an n of 0", where, "Write how many were followed, above 0")
    if events is not None and events > n:
        raise HingelineError(
            f"{events:g} events of {n:g} are more than there are patients", where, "Correct events or n"
        )
    for name in ("share", "low", "high"):
        value = number[name]
        if value is not None and value > 1:
            raise HingelineError(
                f"{value:g} in the column {name} is no share",
                where,
                "Write shares from 0 to 1: 1.6% is 0.016",
            )
    share, low, high = number["share"], number["low"], number["high"]
    if kind == "series" and events is None:
        raise HingelineError(
            "A series has no number of events", where, "Write its events (0 counts), or call it a summary"
        )
    if kind == "summary" and events is None and (share is None or low is None or high is None):
        raise HingelineError(
            "A summary has neither events nor a share with its limits",
            where,
            "Write events, or share, low and high",
        )
    ordered = [value for value in (low, share, high) if value is not None]
    if ordered != sorted(ordered):
        raise HingelineError("The limits do not lie about the share", where, "Write low <= share <= high")
    if kind == "series" and share is not None and events is not None and abs(share - events / n) > 0.006:
        raise HingelineError(
            f"A share of {share:g} is not {events:g} of {n:g}", where, "Correct it, or leave the share empty"
        )
