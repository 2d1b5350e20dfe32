"""A table of a PostgreSQL database, read by ADBC as Arrow in a session that cannot write.

An `Address` comes in; the table's rows go out as text, batch by batch, in the order of its primary key. No message
repeats what the server was told.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Final

import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from .layout import Block, Layout, Room, lay_out
from .layout_cells import pc
from .source_address import Address

_SESSION: Final = (
    "SET default_transaction_read_only = on",
    "SET default_transaction_isolation = 'repeatable read'",
    "SET datestyle = 'ISO, YMD'",
    "SET extra_float_digits = 1",
    "SET client_encoding = 'UTF8'",
    # Without a primary key rows come as they lie; two readings must not differ in where they begin.
    "SET synchronize_seqscans = off",
    "SET max_parallel_workers_per_gather = 0",
)

_FIND: Final = """
SELECT n.nspname::text, c.relname::text, c.oid::int8,
       pg_catalog.has_table_privilege(c.oid, 'SELECT') OR pg_catalog.has_any_column_privilege(c.oid, 'SELECT')
FROM pg_catalog.pg_class c JOIN pg_catalog.pg_namespace n ON n.oid = c.relnamespace
WHERE c.relkind IN ('r', 'v', 'm', 'p', 'f') AND n.nspname <> 'information_schema' AND n.nspname !~ '^pg_'
ORDER BY 1, 2
"""
_COLUMNS: Final = """
SELECT a.attname::text, t.typname::text, pg_catalog.has_column_privilege(a.attrelid, a.attnum, 'SELECT')
FROM pg_catalog.pg_attribute a JOIN pg_catalog.pg_type t ON t.oid = a.atttypid
WHERE a.attrelid = {oid} AND a.attnum > 0 AND NOT a.attisdropped ORDER BY a.attnum
"""
_KEY: Final = """
SELECT a.attname::text
FROM pg_catalog.pg_index i
CROSS JOIN LATERAL unnest(i.indkey::int2[]) WITH ORDINALITY AS k(attnum, place)
JOIN pg_catalog.pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = k.attnum
WHERE i.indrelid = {oid} AND i.indisprimary ORDER BY k.place
"""


@dataclass(frozen=True)
class TableRead:
    """A table's rows, its name, and what was detected."""

    name: str
    layout: Layout
    detected: tuple[str, ...]
    fingerprint: str
    where: str


def read_table(address: Address, room: Room, decimal: str) -> TableRead:
    """Read a table of a database."""
    try:
        errors: Any = import_module("adbc_driver_manager")
        driver: Any = import_module("adbc_driver_postgresql.dbapi")
    except ImportError:
        raise HingelineError(
            "Reading a database needs a package that is not installed",
            address.where,
            'Install it: pip install "hingeline[postgres]"',
        ) from None
    try:
        with closing(driver.connect(address.uri, autocommit=True)) as connection:
            return _read(connection, address, room, decimal)
    except errors.Error as error:
        raise _told(error, address) from None
    except (pa.ArrowException, OSError) as error:
        if "libpq" in str(error) or "SQLSTATE" in str(error):
            raise _told(error, address) from None  # it came in the midst of the rows
        raise HingelineError(
            f"The table holds what cannot be read as text ({type(error).__name__})",
            address.where,
            "Give a view of the columns that are needed, in a database whose encoding is UTF8",
        ) from None


def _read(connection: Any, address: Address, room: Room, decimal: str) -> TableRead:
    with closing(connection.cursor()) as cursor:
        for setting in _SESSION:
            cursor.execute(setting)
    connection.adbc_connection.set_autocommit(False)
    with closing(connection.cursor()) as cursor:
        schema, table, oid = _found(_rows(cursor, _FIND), address)
        name = f"{schema}.{table}"
        where = f"{address.server}, table {name}"
        columns = _rows(cursor, _COLUMNS.format(oid=oid))
        denied = [column for column, _, may in columns if not may]
        if denied:
            raise HingelineError(
                f"Column {denied[0]!r} of the table may not be read"
                + (" (nor others)" if denied[1:] else ""),
                where,
                "Ask the database's keeper to grant SELECT on it, or for a view of the columns that are needed",
            )
        if not columns:
            raise HingelineError("The table has no columns", where, "Name another table")
        key = [one for (one,) in _rows(cursor, _KEY.format(oid=oid))]
        header = [column for column, _, _ in columns]
        wanted = ", ".join(
            f"{_text(column, kind, decimal)} AS {_quoted(column)}" for column, kind, _ in columns
        )
        ordered = f" ORDER BY {', '.join(f't.{_quoted(one)}' for one in key)}" if key else ""
        cursor.execute(f"SELECT {wanted} FROM {_quoted(schema)}.{_quoted(table)} AS t{ordered}")
        prints = Fingerprint((name, *header))
        layout = lay_out(
            header,
            _blocks(cursor.fetch_record_batch(), prints),
            file=name,
            where=where,
            room=room,
            foot=False,
        )
    connection.rollback()
    told = wording.detected_database(name, address.database, layout.cells.n_rows, ", ".join(key))
    return TableRead(name, layout, (told, *layout.told), prints.digest(), where)


def _rows(cursor: Any, query: str) -> list[tuple[Any, ...]]:
    cursor.execute(query)
    rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def _found(tables: Sequence[tuple[Any, ...]], address: Address) -> tuple[str, str, int]:
    """Find the table: as it is written, else as PostgreSQL folds names, else whatever its capitals."""
    parts = _parts(address.table)
    for fold in (str, str.lower, str.casefold):
        matches = [
            (schema, table, oid, may)
            for schema, table, oid, may in tables
            if fold(table) == fold(parts[-1]) and (len(parts) == 1 or fold(schema) == fold(parts[0]))
        ]
        if len(matches) > 1 and len(parts) == 1:
            matches = [one for one in matches if one[0] == "public"] or matches
        if len(matches) == 1:
            schema, table, oid, may = matches[0]
            if not may:
                raise _denied(address)
            return schema, table, oid
        if matches:
            raise HingelineError(
                f"Several tables are called {address.table!r}",
                address.where,
                f"Name one with its schema: {wording.listed([f'{one[0]}.{one[1]}' for one in matches[:8]])}",
            )
    shown = [f"{schema}.{table}" for schema, table, _, may in tables if may]
    more = f" and {len(shown) - 20} more" if len(shown) > 20 else ""
    raise HingelineError(
        f"There is no table {address.table!r} in the database",
        address.where,
        f"Correct table= in its address; there are: {', '.join(shown[:20]) or 'none that may be read'}{more}",
    )


def _parts(table: str) -> list[str]:
    """Part schema and name; one that holds a dot stands in quotation marks."""
    parts = re.findall(r'"((?:[^"]|"")+)"|([^."]+)', table)
    return [quoted.replace('""', '"') or plain for quoted, plain in parts][-2:]


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _text(column: str, kind: str, decimal: str) -> str:
    """Write a column as text, in SQL: a whole number without a point, a midnight without a time."""
    cell = f"t.{_quoted(column)}"
    text = f"{cell}::text"
    if kind == "bytea":
        return f"CASE WHEN {cell} IS NOT NULL THEN '(bytes)' END"
    if kind in ("timestamp", "timestamptz"):
        local = f"{cell}::timestamp::text"
        return rf"regexp_replace({local}, '( 00:00:00)?(\.\d+)?$', '')"
    if kind in ("numeric", "float4", "float8"):
        short = f"CASE WHEN {text} ~ '^-?\\d+\\.\\d+$' THEN rtrim(rtrim({text}, '0'), '.') ELSE {text} END"
        return f"replace({short}, '.', ',')" if decimal == "," else short
    return text


def _blocks(reader: Any, prints: Fingerprint) -> Iterator[Block]:
    number = 2
    for batch in reader:
        if batch.num_rows:
            columns: list[Any] = [column.cast(pa.string()) for column in batch.columns]
            prints.add(columns)
            yield Block(columns, pa.array(range(number, number + batch.num_rows), pa.int64()))
            number += batch.num_rows


class Fingerprint:
    """SHA-256 of a table's name, columns and content, the same however it is cut into batches.

    Parameters
    ----------
    names : sequence of str
        The table's, then its columns'.
    """

    def __init__(self, names: Sequence[str]) -> None:
        self._names = names
        self._lengths = [hashlib.sha256() for _ in names[1:]]
        self._values = [hashlib.sha256() for _ in names[1:]]

    def add(self, columns: Sequence[Any]) -> None:
        """Take in a batch's columns."""
        for column, lengths, values in zip(columns, self._lengths, self._values, strict=True):
            sizes: Any = pc.fill_null(pc.binary_length(column), -1)
            lengths.update(sizes.to_numpy(zero_copy_only=False).astype("<i4").tobytes())
            # The length of the text in front of a slice is where its own begins.
            _, offsets, content = column.buffers()
            ends = memoryview(offsets).cast("B").cast("i")
            first, last = ends[column.offset], ends[column.offset + len(column)]
            if content is not None:
                values.update(memoryview(content)[first:last])

    def digest(self) -> str:
        """Return it as hexadecimal digits."""
        whole = hashlib.sha256(repr(tuple(self._names)).encode())
        for one in (*self._lengths, *self._values):
            whole.update(one.digest())
        return whole.hexdigest()


def _denied(address: Address) -> HingelineError:
    return HingelineError(
        "The table may not be read",
        address.where,
        "Ask the database's keeper to grant SELECT on it to the study's user",
    )


_CONNECTING: Final = (
    ("password authentication failed", "The server refused the user or the password"),
    ("no password supplied", "The server asks for a password"),
    ("no pg_hba.conf entry", "The server lets nobody in from this machine"),
    ("role ", "The server does not know the user"),
    ("database ", "The server has no such database"),
    ("could not translate host name", "There is no server of that name"),
    ("refused", "No server answers there"),
    ("timeout", "The server did not answer in time"),
    ("timed out", "The server did not answer in time"),
    ("no such file", "No server answers there"),
    ("ssl", "The server and this machine do not agree on encryption (SSL)"),
)
_TODO: Final = {
    "The server refused the user or the password": "Correct the user in the address, and the password in ~/.pgpass or "
    "PGPASSWORD",
    "The server asks for a password": "Give it in the password file (~/.pgpass) or in PGPASSWORD, never in the address",
    "The server lets nobody in from this machine": "Ask the database's keeper to let this machine in",
    "The server does not know the user": "Correct the user in the address (postgresql://user@host/…) or PGUSER",
    "The server has no such database": "Correct the database's name in the address",
    "The server and this machine do not agree on encryption (SSL)": "Ask the database's keeper which sslmode to use",
}


def _told(error: Any, address: Address) -> HingelineError:
    """Tell an error of the database in our words: its own may hold what it was sent."""
    message = str(error)
    found = re.search(r"SQLSTATE: (\w{5})", message)
    state = getattr(error, "sqlstate", None) or (found[1] if found else "")
    if state == "42501":
        return _denied(address)
    if "Failed to connect" in message:
        # The name of a host or user may hold any word: only what the server says is looked at.
        said = message.rpartition("FATAL:")[2].casefold()
        what = next((told for sign, told in _CONNECTING if sign in said), "The database cannot be reached")
        todo = _TODO.get(what, "Check the host and the port in the address, and that the server runs")
        return HingelineError(what, address.server, todo)
    return HingelineError(
        "The database stopped the reading" + (f" (SQLSTATE {state})" if state else ""),
        address.where,
        "Try again; if it happens again, show this to the database's keeper",
    )
