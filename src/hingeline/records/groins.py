"""Frames to groins whose fields are typed, in an in-memory DuckDB.

Frames and their legend come in. A view ``groin`` in the database goes out, one row a groin: each field as
``<field>`` (typed, NULL when empty or unreadable), ``<field>_text`` (the cell), ``<field>_bad`` (whether the
cell holds something that cannot be read) and, for dates, ``<field>_short`` (whether the year had two digits) and
``<field>_ambiguous`` (whether it could be two days); what the note says as ``note_<part>``; beside them
``age_days``, ``age_precision`` and ``cutoff``. Nothing is judged here; that is for the rules.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any, Final

import duckdb
import pyarrow as pa

from .. import wording
from .columns import look_at
from .frames import Frame, batches, empty
from .legend_model import KINDS, Legend
from .note_columns import FLAGS, PARTS
from .phrases import PHRASES, padded_keys, quoted
from .readings import SQL_TYPES, select_of

MEMORY: Final = "256MiB"
"""What DuckDB holds before it spills to a private folder; with Python and a batch of rows, well within 1 GiB."""


SPILLED: Final = "partial-spill-"
"""How the name of such a folder begins within a study."""


@contextmanager
def connected(spill_in: Path | None = None) -> Iterator[Any]:
    """Open an in-memory DuckDB that reaches no file and no network but a private folder to spill to.

    Parameters
    ----------
    spill_in : Path, optional
        A private folder in which it is made, under a name that is swept there when a killed process has left it; the
        system's folder for temporary files unless given.
    """
    spill = tempfile.mkdtemp(prefix=SPILLED if spill_in is not None else "hingeline-", dir=spill_in)  # 0700
    try:
        database = duckdb.connect(
            ":memory:",
            config={
                "enable_external_access": "false",
                "autoinstall_known_extensions": "false",
                "autoload_known_extensions": "false",
                "memory_limit": MEMORY,
                # Each further thread holds blocks of its own.
                "threads": str(min(4, os.cpu_count() or 1)),
                "temp_directory": spill,
                # Groins are numbered and whatever leaves is sorted by that number.
                "preserve_insertion_order": "false",
            },
        )
        try:
            yield database
        finally:
            database.close()
    finally:
        shutil.rmtree(spill, ignore_errors=True)


def read_groins(
    database: Any,
    made: Sequence[Frame],
    legend: Legend,
    cutoff: date,
    key: bytes,
    without: dict[int, list[pa.Array[Any]]],
) -> tuple[tuple[str, ...], dict[str, str]]:
    """Make the table ``found`` and the view ``groin`` of all frames.

    Parameters
    ----------
    database : duckdb connection
    made : sequence of Frame
    legend : Legend
    cutoff : date
    key : bytes
    without : dict
        Filled with the rows of each source that hold no groin.

    Returns
    -------
    told : tuple of str
        What was detected.
    orders : dict of str to str
        By folded column name, the order of its dates.
    """
    told, orders = fill(database, "found", "groin", made, legend, cutoff, key, without)
    _view(database, cutoff)
    return told, orders


def fill(
    database: Any,
    table: str,
    number: str,
    made: Sequence[Frame],
    legend: Legend,
    cutoff: date,
    key: bytes,
    without: dict[int, list[pa.Array[Any]]],
) -> tuple[tuple[str, ...], dict[str, str]]:
    """Make a table of what frames hold, typed, a batch of rows at a time; return what `read_groins` returns.

    ``<number>`` rises with source, row and side; by ``meaning`` two rows that say the same are known.
    """
    settings, told = look_at(database, made, legend)
    inner, outer = padded_keys(key)
    mapped = list(dict.fromkeys(name for frame in made for name in frame.columns if name != "side"))
    selects = [
        # Numbers that rise with file, row and side, without a sort of all groins.
        "SELECT (source_number::BIGINT << 40) + 2 * source_row + (side IS NOT DISTINCT FROM 'right')::INT "
        f"AS {number}, {_meaning(frame, mapped)} AS meaning, * "
        f"FROM ({select_of('piece', frame, settings[place], legend, cutoff, PHRASES['duckdb'])})"
        for place, frame in enumerate(made)
    ]

    def run(begin: str, place: int, piece: pa.Table) -> None:
        hashes = {"inner": inner, "outer": outer} if "$inner" in selects[place] else None
        database.register("piece", piece)
        database.execute(f"{begin} {selects[place]}", hashes)
        database.unregister("piece")

    for place, frame in enumerate(made):
        run(f"CREATE TABLE shape_{place} AS", place, empty(frame))
    shapes = " UNION ALL BY NAME ".join(f"SELECT * FROM shape_{place}" for place in range(len(made)))
    database.execute(f"CREATE TABLE {table} AS {shapes}")
    for place in range(len(made)):
        database.execute(f"DROP TABLE shape_{place}")
    for place, raw in batches(made, without):
        run(f"INSERT INTO {table} BY NAME", place, raw)
    decimal = dict.fromkeys(
        frame.source.name for place, frame in enumerate(made) if settings[place].decimal_ages
    )
    orders = {column: order for one in settings for column, order in one.orders.items()}
    return (*told, *map(wording.detected_decimal_ages, decimal)), orders


def _view(database: Any, cutoff: date) -> None:
    """Make the view ``groin``, in which every column stands that a rule may read."""
    have = {row[0] for row in database.execute("DESCRIBE found").fetchall()}
    missing = [part for part in _standard_columns() if part[0] not in have]
    added = "".join(f", CAST({literal} AS {kind}) AS {name}" for name, kind, literal in missing)
    from_dates = PHRASES["duckdb"].days_between("born_on", "operated_on")
    told = "".join(f", {sql} AS {name}" for name, sql in TOLD.items())
    database.execute(
        f"CREATE VIEW groin AS SELECT *{told} FROM (SELECT *, {from_dates} AS age_from_dates, "
        f"coalesce({from_dates}, age) AS age_days, note_text AS note_print, "
        f"CASE WHEN {from_dates} IS NULL THEN age_precision_given ELSE 'day' END AS age_precision "
        f"FROM (SELECT *{added}, DATE '{cutoff.isoformat()}' AS cutoff FROM found))"
    )


def _known(column: str) -> str:
    return f"nullif({column}, 'unknown')"


TOLD: Final[Mapping[str, str]] = {
    "type_typed": f"coalesce({_known('type')}, ehs_type)",
    "type_told": f"coalesce({_known('type')}, ehs_type, note_type, type)",
    "known_by_told": f"coalesce({_known('known_by')}, note_known_by, known_by)",
    "reason_told": "coalesce(reason, note_reason)",
    "occurrence_typed": "coalesce(occurrence, ehs_occurrence)",
    "occurrence_told": "coalesce(occurrence, ehs_occurrence, note_occurrence)",
    "approach_told": f"coalesce({_known('approach')}, note_approach, approach)",
    "mesh_told": "coalesce(mesh_used, note_mesh)",
    "repair_told": f"coalesce({_known('repair')}, CASE WHEN mesh_used THEN coalesce(nullif(note_repair, 'tissue'), "
    "'mesh') END, note_repair, CASE WHEN note_mesh THEN 'mesh' END, repair)",
}
"""What is taken to hold: a field's own column, then the EHS code, then the note; what a column leaves unknown, the
next one fills. A mesh that is typed as used makes the repair one with mesh, unless a high ligation is told, which a
rule settles."""


def _meaning(frame: Frame, mapped: Iterable[str]) -> str:
    """All that the mapped columns say of a groin, by which two rows are compared: a true date equals its text."""

    def says(name: str) -> str:
        if name not in frame.columns:
            return "chr(30)"
        if name == "note":
            return "coalesce(note_text, chr(30))"
        return f"coalesce({name}::VARCHAR, {name}_text, chr(30))"

    return f"md5_number(concat_ws(chr(31), {', '.join(map(says, mapped)) or quoted('')}))"


def _standard_columns() -> Iterable[tuple[str, str, str]]:
    """Every column that a rule may read: name, type, and what stands when no frame has it."""
    for name, kind in KINDS.items():
        yield name, SQL_TYPES[kind], "NULL"
        yield f"{name}_text", "VARCHAR", "NULL"
        yield f"{name}_bad", "BOOLEAN", "false"
        if kind == "date":
            yield f"{name}_short", "BOOLEAN", "false"
            yield f"{name}_ambiguous", "BOOLEAN", "false"
    yield "ehs_type", "VARCHAR", "NULL"
    yield "ehs_occurrence", "VARCHAR", "NULL"
    yield "ehs_size_read", "TINYINT", "NULL"
    yield "age_precision_given", "VARCHAR", "NULL"
    yield "patient_mapped", "BOOLEAN", "false"
    yield "note_side", "VARCHAR", "NULL"
    yield "note_shown", "VARCHAR", "NULL"
    for part in PARTS:
        yield f"note_{part}", "BOOLEAN" if part in FLAGS else "VARCHAR", "NULL"
