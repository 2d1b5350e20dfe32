"""What the columns of a hospital as a whole tell of their cells: the order of dates, and whether ages are decimal.

Frames and their legend come in, and their dates and ages pass once; `Settings` of each frame go out, with what was
detected. Where a column of dates stands in two orders, only what fits a single one will be read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from . import ages
from .frames import Frame, gathered
from .legend_model import EVERY_KIND, Legend, fold
from .phrases import PHRASES, THREE_PARTS, DateLook, Phrases
from .readings import Settings

MIXED: Final = "mixed"

_SHORT_YEARS: Final = (
    r"(^|\D)\d{1,2}\s*[-/. ]\s*\d{1,2}\s*[-/. ]\s*\d{2}($|[ T,])|\pL\.?[\s/,-]*\d{2}($|[ T,])"
)
_DAYS_ALONE: Final = r"^\d{4,}([.,]\d+)?$"

Counts = list[int]
"""Of a column of dates: with no order of their own; that can only have the day, only the month first; that could be
two days; with month names; of digits alone; with years of two digits."""


def look_at(database: Any, made: Sequence[Frame], legend: Legend) -> tuple[list[Settings], tuple[str, ...]]:
    """Pass once through dates and ages, where there is anything to be told by them."""
    phrases = PHRASES["duckdb"]
    looks: list[dict[str, Counts]] = []
    decimal: list[bool] = []
    for frame in made:
        names = [name for name in frame.columns if EVERY_KIND[name] in ("date", "age")]
        totals = {name: [0] * (2 if name == "age" else 7) for name in names}
        asked: list[str] = []
        for name in names:
            ordered = (frame.fields[name].order or legend.dates.order) is not None
            asked += _ages(frame, phrases) if name == "age" else _dates(name, phrases, ordered)
        for batch in gathered(frame.source, (frame.columns[name] for name in names)) if names else ():
            cells = pa.table({f"{name}_text": frame.cells(batch, name) for name in names})
            database.register("piece", cells)
            seen = iter(database.execute(f"SELECT {', '.join(asked)} FROM piece").fetchall()[0])
            database.unregister("piece")
            for counts in totals.values():
                counts[:] = [one + next(seen) for one in counts]
        many, with_fraction = totals.pop("age", [0, 0])
        unit = frame.fields["age"].unit if "age" in frame.columns else "days"
        decimal.append(unit != "days" and many > 0 and with_fraction / many >= ages.DECIMAL_FROM)
        looks.append(totals)
    orders, told = _date_orders(made, looks, legend)
    settings = [
        Settings(
            orders,
            {name: DateLook(*(bool(one) for one in counts[4:])) for name, counts in look.items()},
            is_decimal,
        )
        for look, is_decimal in zip(looks, decimal, strict=True)
    ]
    return settings, tuple(told)


def _dates(name: str, phrases: Phrases, ordered: bool) -> list[str]:
    """Count what a column of dates holds; of one whose order the legend gives, only what its cells look like."""
    text = f"{name}_text"
    first, second = (f"TRY_CAST({phrases.capture(text, THREE_PARTS, group)} AS INTEGER)" for group in (1, 2))
    order = [
        f"count({first})",
        f"count(*) FILTER ({first} BETWEEN 13 AND 31 AND {second} BETWEEN 1 AND 12)",
        f"count(*) FILTER ({second} BETWEEN 13 AND 31 AND {first} BETWEEN 1 AND 12)",
        f"count(*) FILTER ({phrases.ambiguous(text)})",
    ]
    return [
        *(["0"] * len(order) if ordered else order),
        *(
            f"count(*) FILTER ({phrases.matches(text, pattern)})"
            for pattern in (r"\pL{3}", _DAYS_ALONE, _SHORT_YEARS)
        ),
    ]


def _ages(frame: Frame, phrases: Phrases) -> tuple[str, str]:
    default = str(frame.fields["age"].unit)
    figure = phrases.number(phrases.capture("age_text", ages.CELL, 1), frame.source.decimal)
    return ages.decimal_counts(f"({figure})", f"({ages.unit('age_text', default, phrases)})", default)


def _date_orders(
    made: Sequence[Frame], looks: Sequence[Mapping[str, Counts]], legend: Legend
) -> tuple[dict[str, str], list[str]]:
    """Order of the dates of each column: the legend's, or what the column itself settles."""
    counts: dict[str, Counts] = {}
    orders: dict[str, str] = {}
    for frame, look in zip(made, looks, strict=True):
        for name, seen in look.items():
            column = str(frame.fields[name].column)
            if order := frame.fields[name].order or legend.dates.order:
                orders[fold(column)] = order
            else:
                total = counts.setdefault(column, [0] * 7)
                counts[column] = [old + new for old, new in zip(total, seen, strict=True)]
    return _settled(counts, orders, legend)


def _settled(
    counts: Mapping[str, Counts], orders: dict[str, str], legend: Legend
) -> tuple[dict[str, str], list[str]]:
    told: list[str] = []
    open_columns: list[str] = []
    for column, (dates, day_first, month_first, ambiguous, *_) in counts.items():
        if dates == 0:
            orders[fold(column)] = "dmy"  # no date of the column needs an order
        elif day_first and month_first:
            orders[fold(column)] = MIXED
            told.append(wording.detected_two_orders(column, day_first, month_first, ambiguous))
        elif day_first or month_first:
            orders[fold(column)] = "dmy" if day_first else "mdy"
            told.append(
                wording.detected_date_order(column, orders[fold(column)], max(day_first, month_first))
            )
        else:
            open_columns.append(column)
    decided = {orders[fold(column)] for column, seen in counts.items() if seen[1] or seen[2]} - {MIXED}
    for column in open_columns:
        if len(decided) != 1:
            raise HingelineError(
                f"The order of the dates in column {column!r} cannot be told: none has a day above 12",
                legend.where("dates"),
                'Add [dates] with order = "dmy" or "mdy" to the legend',
            )
        orders[fold(column)] = next(iter(decided))
        told.append(wording.detected_borrowed_order(column, orders[fold(column)]))
    return orders, told
