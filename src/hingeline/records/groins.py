"""Frames to groins whose fields are typed, in an in-memory DuckDB.

Frames and their legend come in. A view ``groin`` in the database goes out, one row a groin: each field as
``<field>`` (typed, NULL when empty or unreadable), ``<field>_text`` (the cell), ``<field>_bad`` (whether the
cell holds something that cannot be read) and, for dates, ``<field>_short`` (whether the year had two digits);
beside them ``age_days``, ``age_precision`` and ``cutoff``. Nothing is judged here; that is for the rules.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

import duckdb

from .. import wording
from ..errors import HingelineError
from .frames import Frame
from .legend_model import EVERY_KIND, KINDS, Legend, fold
from .phrases import PHRASES, THREE_PARTS, Phrases, padded_keys
from .readings import SQL_TYPES, select_of


def connect() -> Any:
    """Open an in-memory DuckDB that reaches no file and no network."""
    return duckdb.connect(
        ":memory:",
        config={
            "enable_external_access": "false",
            "autoinstall_known_extensions": "false",
            "autoload_known_extensions": "false",
        },
    )


def read_groins(
    database: Any, made: Sequence[Frame], legend: Legend, cutoff: date, key: bytes
) -> tuple[tuple[str, ...], dict[str, str]]:
    """Make the table ``groin`` of all frames; return what was detected and, by column, the order of its dates."""
    phrases = PHRASES["duckdb"]
    for number, frame in enumerate(made):
        database.register(f"raw_{number}", frame.raw)
    orders, told = date_orders(database, made, legend, phrases)
    selects = [
        select_of(f"raw_{number}", frame, orders, legend, cutoff, phrases)
        for number, frame in enumerate(made)
    ]
    inner, outer = padded_keys(key)
    database.execute(
        "CREATE TABLE found AS "
        # Numbers that rise with file, row and side, without a sort of all groins.
        "SELECT (source_number::BIGINT << 40) + 2 * source_row + (side IS NOT DISTINCT FROM 'right')::INT AS groin, "
        f"md5({_meaning(made)}) AS meaning, * "
        f"FROM ({' UNION ALL BY NAME '.join(selects)})",
        {"inner": inner, "outer": outer},
    )
    for number in range(len(made)):
        database.unregister(f"raw_{number}")
    have = {row[0] for row in database.execute("DESCRIBE found").fetchall()}
    missing = [part for part in _standard_columns() if part[0] not in have]
    added = "".join(f", CAST({literal} AS {kind}) AS {name}" for name, kind, literal in missing)
    from_dates = phrases.days_between("born_on", "operated_on")
    database.execute(
        f"CREATE VIEW groin AS SELECT *, {from_dates} AS age_from_dates, "
        f"coalesce({from_dates}, age) AS age_days, "
        f"CASE WHEN {from_dates} IS NULL THEN age_precision_given ELSE 'day' END AS age_precision "
        f"FROM (SELECT *{added}, DATE '{cutoff.isoformat()}' AS cutoff FROM found)"
    )
    decimal = database.execute(
        "SELECT DISTINCT source_number FROM groin WHERE decimal_ages ORDER BY source_number"
    ).fetchall()
    files = {frame.number: frame.source.path.name for frame in made}
    return (*told, *(wording.detected_decimal_ages(files[number]) for (number,) in decimal)), orders


def _meaning(made: Sequence[Frame]) -> str:
    """All that the mapped columns say of a groin, by which two rows are compared: a true date equals its text."""
    mapped = dict.fromkeys(
        name
        for frame in made
        for name, how in frame.fields.items()
        if how.column is not None and name != "side"
    )
    says = ", ".join(f"coalesce({name}::VARCHAR, {name}_text, chr(30))" for name in mapped)
    return f"concat_ws(chr(31), {says})"


def _standard_columns() -> Iterable[tuple[str, str, str]]:
    """Every column that a rule may read: name, type, and what stands when no frame has it."""
    for name, kind in KINDS.items():
        yield name, SQL_TYPES[kind], "NULL"
        yield f"{name}_text", "VARCHAR", "NULL"
        yield f"{name}_bad", "BOOLEAN", "false"
        if kind == "date":
            yield f"{name}_short", "BOOLEAN", "false"
    yield "ehs_type", "VARCHAR", "NULL"
    yield "ehs_occurrence", "VARCHAR", "NULL"
    yield "ehs_size_read", "TINYINT", "NULL"
    yield "age_precision_given", "VARCHAR", "NULL"
    yield "decimal_ages", "BOOLEAN", "false"


def date_orders(
    database: Any, made: Sequence[Frame], legend: Legend, phrases: Phrases
) -> tuple[dict[str, str], list[str]]:
    """Order of the dates of each column: the legend's, or what the column itself settles."""
    first, second = (phrases.capture("t", THREE_PARTS, group) for group in (1, 2))
    counts: dict[str, list[int]] = {}
    orders: dict[str, str] = {}
    for frame in made:
        for name, how in frame.fields.items():
            if EVERY_KIND[name] != "date" or how.column is None:
                continue
            if order := how.order or legend.dates.order:
                orders[fold(how.column)] = order
                continue
            seen = database.execute(
                f"SELECT count(a), count(*) FILTER (a > 12), count(*) FILTER (b > 12) FROM (SELECT "
                f"TRY_CAST({first} AS INTEGER) AS a, TRY_CAST({second} AS INTEGER) AS b "
                f"FROM (SELECT {name}_text AS t FROM raw_{frame.number}))"
            ).fetchone()
            total = counts.setdefault(how.column, [0, 0, 0])
            counts[how.column] = [old + new for old, new in zip(total, seen, strict=True)]
    return _settled(counts, orders, legend)


def _settled(
    counts: Mapping[str, Sequence[int]], orders: dict[str, str], legend: Legend
) -> tuple[dict[str, str], list[str]]:
    told: list[str] = []
    open_columns: list[str] = []
    for column, (dates, day_first, month_first) in counts.items():
        if dates == 0:
            orders[fold(column)] = "dmy"  # no date of the column needs an order
        elif day_first and month_first:
            raise HingelineError(
                f"Dates in column {column!r} stand in two orders: {day_first:,} can only have the day first, "
                f"{month_first:,} only the month",
                legend.where("dates"),
                "Give [dates] order for the column; what does not fit it is then set aside",
            )
        elif day_first or month_first:
            orders[fold(column)] = "dmy" if day_first else "mdy"
            told.append(
                wording.detected_date_order(column, orders[fold(column)], max(day_first, month_first))
            )
        else:
            open_columns.append(column)
    decided = {orders[fold(column)] for column, seen in counts.items() if seen[1] or seen[2]}
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
