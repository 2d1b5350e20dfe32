"""The list of what was set aside, corrected or noted: made, counted and written.

The table ``broken`` and the rows that hold no groin come in; a table in `SET_ASIDE_SCHEMA` goes out, and from
it counts by rule and a CSV file that is safe to open in a spreadsheet.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, Protocol

import pyarrow as pa

from .. import wording
from .csv_files import write_rows
from .identifier_cells import ALWAYS_MASKED, MASK, masked
from .layout import pc
from .layout_foot import REMARK, TOTALS
from .phrases import quoted
from .rule import Rule
from .source import Source

_COLUMNS: Final[list[pa.Field[Any]]] = [
    pa.field("hospital", pa.string()),
    pa.field("file", pa.string()),
    pa.field("sheet", pa.string()),
    pa.field("row", pa.int64()),
    pa.field("side", pa.string()),
    pa.field("field", pa.string()),
    pa.field("value", pa.string()),
    pa.field("rule", pa.string()),
    pa.field("severity", pa.string()),
    pa.field("todo", pa.string()),
]
_BETWEEN: Final = "\x1f"
_AT_ONCE: Final = 100_000
SET_ASIDE_SCHEMA: Final = pa.schema(_COLUMNS)
"""One row a broken rule, identifying values masked; rows that hold no groin have neither side nor field."""


class HasSetAside(Protocol):
    """Whatever carries a list of what was set aside, such as an `Intake`."""

    @property
    def set_aside(self) -> pa.Table:
        """The list, in `SET_ASIDE_SCHEMA`."""


Listed = pa.Table | HasSetAside


def _table(listed: Listed) -> pa.Table:
    return listed if isinstance(listed, pa.Table) else listed.set_aside


def list_broken(database: Any, hospital: str, rules: Sequence[Rule]) -> pa.Table:
    """Every broken rule with its place in the file, identifying values masked."""
    hidden = ", ".join(quoted(name) for name in ALWAYS_MASKED)
    value = f"CASE WHEN field IN ({hidden}) AND value IS NOT NULL THEN {quoted(MASK)} ELSE value END"
    times = {
        (field, value): number
        for field, value, number in database.execute(
            f"SELECT field, {value} AS value, count(*) FROM broken WHERE value IS NOT NULL GROUP BY ALL"
        ).fetchall()
    }
    query = (
        f"SELECT found.source_file, found.sheet, found.source_row, found.side, field, {value} AS value, rule, "
        "other.source_file AS beside_file, other.source_row AS beside_row "
        "FROM broken JOIN found ON found.groin = broken.groin LEFT JOIN found other ON other.groin = broken.beside "
        "ORDER BY broken.groin, rule, field"
    )
    listed = [
        as_list(pa.Table.from_batches([batch]), hospital, rules, times)
        for batch in database.sql(query).to_arrow_reader(_AT_ONCE)
    ]
    return pa.concat_tables(listed) if listed else SET_ASIDE_SCHEMA.empty_table()


def as_list(
    table: pa.Table,
    hospital: str,
    rules: Sequence[Rule],
    times: Mapping[tuple[str, str], int] | None = None,
) -> pa.Table:
    """Broken rules as the list has them, identifying values masked.

    Parameters
    ----------
    table : pyarrow.Table
        ``source_file``, ``sheet``, ``source_row``, ``side``, ``field``, ``value``, and ``rule`` by its place.
    hospital : str
    rules : sequence of Rule
    times : mapping of (str, str) to int, optional
        How often a field's value stands in the whole list, when `table` is a part of it: what stands often is a code.
    """
    rule: Any = table.column("rule").combine_chunks()
    field, value = (pc.fill_null(table.column(name), "") for name in ("field", "value"))
    # Each distinct cell is masked once.
    cells: Any = pc.binary_join_element_wise(field, value, _BETWEEN).combine_chunks().dictionary_encode()
    here = Counter(cells.indices.to_pylist()) if times is None else {}
    written = []
    for place, cell in enumerate(cells.dictionary.to_pylist()):
        name, _, text = cell.partition(_BETWEEN)
        number = here[place] if times is None else times.get((name, text), 1)
        written.append(masked(name, text, number) if text else "")
    values = pa.array(written, pa.string()).take(cells.indices)

    def of_rule(texts: Iterable[str]) -> Any:
        return pa.array(list(texts), pa.string()).take(rule)

    columns = [
        pa.repeat(hospital, table.num_rows),
        table.column("source_file"),
        table.column("sheet"),
        table.column("source_row"),
        pc.fill_null(table.column("side"), ""),
        table.column("field"),
        values,
        of_rule(one.name for one in rules),
        of_rule(one.severity for one in rules),
        _with_beside(of_rule(one.todo for one in rules), table),
    ]
    return pa.table(columns, schema=SET_ASIDE_SCHEMA)


def _with_beside(todo: Any, table: pa.Table) -> Any:
    """Name, where a rule compares two rows, the other one with what is to be done."""
    if "beside_row" not in table.column_names or table.column("beside_row").null_count == table.num_rows:
        return todo
    texts = todo.to_pylist()
    files, rows = (table.column(name).to_pylist() for name in ("beside_file", "beside_row"))
    return pa.array(
        [
            text if row is None else wording.with_other_row(str(text), str(file), row)
            for text, file, row in zip(texts, files, rows, strict=True)
        ],
        pa.string(),
    )


_SHIFTED: Final = "Correct the row in the file: a delimiter or a line break too many"
_REMEDY: Final[Mapping[str, str]] = {
    TOTALS: "Nothing, if it is a total and not a patient",
    REMARK: "Nothing, if it is a remark and not a patient",
}


def list_rows_without_groin(
    hospital: str, opened: Sequence[Source], without: Sequence[tuple[Source, Any]]
) -> pa.Table:
    """Every row that holds no groin, or that does not fit its header."""
    rows = [
        (source, broken.row, broken.why, _REMEDY.get(broken.why, _SHIFTED))
        for source in opened
        for broken in source.broken
    ] + [
        (source, row, "no groin on either side", "Nothing, if the patient had no operation")
        for source, numbers in without
        for row in numbers.to_pylist()
    ]
    return pa.Table.from_pylist(
        [
            {
                "hospital": hospital,
                "file": source.name,
                "sheet": source.sheet,
                "row": row,
                "side": "",
                "field": "",
                "value": "",
                "rule": why,
                "severity": "set aside",
                "todo": todo,
            }
            for source, row, why, todo in rows
        ],
        schema=SET_ASIDE_SCHEMA,
    )


def summarise(set_aside: Sequence[Listed]) -> pa.Table:
    """Count by hospital and rule what was set aside, corrected or noted.

    Parameters
    ----------
    set_aside : sequence of pyarrow.Table or Intake
        Lists, or the intakes that hold them.

    Returns
    -------
    pyarrow.Table
        ``hospital``, ``rule``, ``severity`` and ``rows`` (lines of the list, one a field and groin), most
        severe first.
    """
    tables = [_table(one) for one in set_aside]
    whole = pa.concat_tables(tables) if tables else SET_ASIDE_SCHEMA.empty_table()
    counted: Any = whole.group_by(["hospital", "rule", "severity"], use_threads=False).aggregate(
        [([], "count_all")]
    )
    place = {severity: number for number, severity in enumerate(("set aside", "corrected", "noted"))}
    order = {name: number for number, name in enumerate(dict.fromkeys(whole.column("hospital").to_pylist()))}
    rows = sorted(
        counted.to_pylist(),
        key=lambda row: (order[row["hospital"]], place[row["severity"]], -row["count_all"], row["rule"]),
    )
    return pa.table(
        {
            "hospital": pa.array([row["hospital"] for row in rows], pa.string()),
            "rule": pa.array([row["rule"] for row in rows], pa.string()),
            "severity": pa.array([row["severity"] for row in rows], pa.string()),
            "rows": pa.array([row["count_all"] for row in rows], pa.int64()),
        }
    )


def write_set_aside(set_aside: Listed | Sequence[Listed], path: Path) -> None:
    """Write the list as CSV; text that a spreadsheet would take for a formula is made plain text.

    The file is replaced as a whole, so that a list that could not be written leaves the last one standing.
    """
    tables = [_table(one) for one in set_aside] if isinstance(set_aside, Sequence) else [_table(set_aside)]
    whole = pa.concat_tables(tables) if tables else SET_ASIDE_SCHEMA.empty_table()
    batches = ([column.to_pylist() for column in batch.columns] for batch in whole.to_batches())
    rows = (row for columns in batches for row in zip(*columns, strict=True))
    write_rows(path, whole.column_names, rows, "what was set aside")
