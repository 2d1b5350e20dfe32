"""Turns a description of an export's columns into the file and its truth.

Comes in: an `Export` (how one hospital's system writes). Goes out: the file as bytes on disk and, beside it, what a
careful person would map, each code as it was written, and the columns that identify a patient.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import xlsxwriter

from . import people, trade

How = (
    Any  # a dictionary of codes, a date pattern, a number format, a list of names, or a function (value, rng)
)


@dataclass(frozen=True)
class Column:
    """One column of an export: a field of a case, an identifier, or something that maps to nothing."""

    header: str
    what: str  # a field, "drop" or "nothing"
    how: How
    blank: float = 0.0
    scope: str = ""  # "left" or "right" in a file of one row a patient


def C(header: str, what: str, how: How, blank: float = 0.0) -> Column:
    return Column(header, what, how, blank)


def L(header: str, what: str, how: How, blank: float = 0.0) -> Column:
    return Column(header, what, how, blank, "left")


def R(header: str, what: str, how: How, blank: float = 0.0) -> Column:
    return Column(header, what, how, blank, "right")


def I(header: str, how: How, blank: float = 0.0) -> Column:  # noqa: E743
    return Column(header, "drop", how, blank)


def X(header: str, how: How, blank: float = 0.0) -> Column:
    return Column(header, "nothing", how, blank)


@dataclass
class Export:
    """How one hospital's system writes its file."""

    slug: str
    language: str
    system: str
    country: str
    columns: list[Column]
    form: str = "operations"
    rows: int = 40
    mix: str = "children"
    years: tuple[int, int] = (2009, 2018)
    male: float = 0.88
    both: float = 0.1
    same_day: bool = False
    merge_both: bool = False
    encoding: str = "utf-8"
    delimiter: str = ","
    quoting: int = csv.QUOTE_MINIMAL
    above: list[list[Any]] = field(default_factory=list)
    below: Callable[[list[list[Any]]], list[list[Any]]] | None = None
    dates: str | None = "dmy"
    unit: dict[str, str] = field(default_factory=dict)
    extension: str = "csv"
    sheet: str = "Sheet1"
    sheet_date: str = "dd/mm/yyyy"
    more_sheets: dict[str, list[list[Any]]] = field(default_factory=dict)
    needs: tuple[str, ...] = ("indirect", "direct")
    seed: int = 0


@dataclass
class Row:
    """What a function that draws a cell can see."""

    patient: trade.Patient
    op: dict[str, Any]
    person: people.Person
    at: int


def value_of(row: Row, column: Column) -> Any:
    if column.what == "note":  # a note is written from the whole operation
        return row
    if not column.scope:
        return row.op.get(column.what)
    op = row.patient.on(column.scope)
    return None if op is None else op.get(column.what)


def written(value: Any, how: How, rng: random.Random) -> Any:
    """Write one value as this hospital would."""
    if isinstance(how, dict):
        cell = how.get(value, "")
        return rng.choice(cell) if isinstance(cell, list) else cell
    if value is None:
        return ""
    if isinstance(how, tuple):
        return written(value, rng.choice(how), rng)
    if isinstance(how, list):
        return how[value % len(how)]
    if isinstance(how, str):
        if how == "true":
            return value
        return value.strftime(how) if "%" in how else how.format(value)
    return how(value, rng)


def draw_rows(export: Export, rng: random.Random) -> list[Row]:
    drawn = trade.patients(
        export.rows,
        export.mix,
        rng,
        years=export.years,
        first_number=rng.randint(10_000, 700_000),
        both=export.both,
        male=export.male,
    )
    rows: list[Row] = []
    for patient in drawn:
        person = people.Person(export.country, patient.sex, rng)
        if export.same_day and len(patient.ops) > 1:
            second = patient.ops[1]
            patient.ops[1] = trade.operation(patient, patient.ops[0]["operated_on"], second["side"], rng)
        ops = patient.ops
        if export.form == "patients":
            ops = ops[:1]
        elif export.merge_both and len(ops) > 1 and ops[0]["operated_on"] == ops[1]["operated_on"]:
            ops = [{**ops[0], "side": "both"}]
        rows += [Row(patient, op, person, 0) for op in ops]
    rows.sort(key=lambda row: row.op["operated_on"])
    rows = rows[: export.rows]
    for at, row in enumerate(rows):
        row.at = at
    return rows


def types_in(rows: list[Row]) -> set[Any]:
    return {op["type"] for row in rows for op in [row.op, *row.patient.ops]}


def cell_of(row: Row, column: Column, codes: dict[str, dict[str, str]], rng: random.Random) -> Any:
    """Write one cell; a coded one is entered in `codes` with its meaning."""
    if column.what in ("drop", "nothing"):
        return "" if rng.random() < column.blank else column.how(row, rng)
    absent = column.scope and row.patient.on(column.scope) is None
    if not absent and rng.random() < column.blank:
        return ""
    if not isinstance(column.how, dict):
        return "" if absent else written(value_of(row, column), column.how, rng)
    value = "absent" if absent else value_of(row, column)
    if None in column.how and not absent and rng.random() < 0.06:
        value = None  # written as not known
    cell = written(value, column.how, rng)
    if cell != "":
        meaning = "no operation" if absent else "unknown" if value is None else str(value)
        known = codes.setdefault(column.what, {}).setdefault(str(cell), meaning)
        assert known == meaning, (column.header, cell, known, meaning)
    return cell


def build(export: Export) -> tuple[list[str], list[list[Any]], dict[str, Any]]:
    """Give header, rows and truth, of the first seed by which the needed types occur and no mapped column is bare."""
    for seed in range(export.seed, export.seed + 5000):
        rng = random.Random(f"{export.slug}{seed}")
        rows = draw_rows(export, rng)
        if not set(export.needs) <= types_in(rows):
            continue
        codes: dict[str, dict[str, str]] = {}
        table = [[cell_of(row, column, codes, rng) for column in export.columns] for row in rows]
        filled = [sum(line[at] != "" for line in table) for at in range(len(export.columns))]
        mapped = [c.what not in ("drop", "nothing") for c in export.columns]
        if all(count > 1 for count, is_mapped in zip(filled, mapped, strict=True) if is_mapped):
            return [c.header for c in export.columns], table, truth_of(export, codes, len(table))
    raise ValueError(f"no seed fills every column of {export.slug}")


def truth_of(export: Export, codes: dict[str, dict[str, str]], how_many: int) -> dict[str, Any]:
    mapped = [c for c in export.columns if c.what not in ("drop", "nothing")]
    truth: dict[str, Any] = {
        "form": export.form,
        "language": export.language,
        "system": export.system,
        "fields": {c.what: c.header for c in mapped if not c.scope},
    }
    for scope in ("left", "right"):
        if export.form == "patients":
            truth[scope] = {c.what: c.header for c in mapped if c.scope == scope}
    truth["codes"] = codes
    truth["drop"] = [c.header for c in export.columns if c.what == "drop"]
    truth["unit"] = {**({"age": "years"} if "age" in truth["fields"] else {}), **export.unit}
    if export.dates:
        truth["dates"] = export.dates
    truth["header_row"] = len(export.above) + 1
    truth["rows"] = how_many
    if export.extension == "xlsx":
        truth["sheet"] = export.sheet
    return truth


def as_text(cell: Any) -> Any:
    return cell.isoformat() if isinstance(cell, dt.date) else cell


def write_text(path: Path, export: Export, lines: Sequence[Sequence[Any]]) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=export.delimiter, quoting=export.quoting, lineterminator="\r\n")  # type: ignore[arg-type]
    for line in lines:
        if len(line) == 1:
            out.write(f"{line[0]}\r\n")  # a title or a remark, as systems print it: without separators
        else:
            writer.writerow([as_text(cell) for cell in line])
    path.write_bytes(out.getvalue().encode(export.encoding))


def write_sheet(book: Any, name: str, lines: Sequence[Sequence[Any]], bold_row: int, date_format: str) -> Any:
    sheet = book.add_worksheet(name)
    day = book.add_format({"num_format": date_format})
    bold = book.add_format({"bold": True})
    for at, line in enumerate(lines):
        for across, cell in enumerate(line):
            if isinstance(cell, dt.date):
                sheet.write_datetime(at, across, dt.datetime(cell.year, cell.month, cell.day), day)
            elif cell != "":
                sheet.write(at, across, cell, bold if at == bold_row else None)
    return sheet


def write_book(path: Path, export: Export, lines: Sequence[Sequence[Any]]) -> None:
    with xlsxwriter.Workbook(str(path), {"strings_to_numbers": False, "strings_to_formulas": False}) as book:
        book.set_properties({"created": dt.datetime(2019, 2, 4)})
        write_sheet(book, export.sheet, lines, len(export.above), export.sheet_date)
        for name, more in export.more_sheets.items():
            write_sheet(book, name, more, 0, export.sheet_date)


def save(export: Export, number: int, folder: Path) -> dict[str, Any]:
    """Write one export and its truth; return the truth."""
    header, table, truth = build(export)
    lines = [*export.above, header, *table]
    if export.below:
        lines += export.below(table)
    stem = f"{number:02d}_{export.slug}"
    path = folder / f"{stem}.{export.extension}"
    if export.extension == "xlsx":
        write_book(path, export, lines)
    else:
        write_text(path, export, lines)
    text = json.dumps(truth, ensure_ascii=False, indent=1)
    (folder / f"{stem}.truth.json").write_text(text + "\n", encoding="utf-8")
    return truth


# --- ways of writing, shared by many hospitals -------------------------------------------------------------------


def years(value: int, _: random.Random) -> int:
    return int(value / 365.25)


def years_and_tenths(value: int, _: random.Random) -> float:
    return round(value / 365.25, 1)


def months(value: int, _: random.Random) -> int:
    return int(value / 30.4375)


def days(value: int, _: random.Random) -> int:
    return value


def whole(value: float, _: random.Random) -> int:
    return round(value)


def plain(value: Any, _: random.Random) -> Any:
    return value


def point(places: int, scale: float = 1.0, mark: str = ".") -> How:
    return lambda value, _: f"{value * scale:.{places}f}".replace(".", mark)


def comma(places: int, scale: float = 1.0) -> How:
    return point(places, scale, ",")


def gram(value: float, _: random.Random) -> int:
    return round(value * 1000 / 10) * 10


def weeks_and_days(value: int, rng: random.Random) -> str:
    return f"{value}+{rng.randint(0, 6)}"


# --- columns that map to nothing, and identifiers ----------------------------------------------------------------


def one_of(*cells: Any) -> How:
    return lambda _, rng: rng.choice(cells)


def number(low: int, high: int) -> How:
    return lambda _, rng: rng.randint(low, high)


def near(low: int, high: int, pattern: str = "%d/%m/%Y") -> How:
    """A date some days from the operation."""

    def cell(row: Row, rng: random.Random) -> Any:
        day = row.op["operated_on"] + dt.timedelta(days=rng.randint(low, high))
        return day if pattern == "true" else day.strftime(pattern)

    return cell


def clock(row: Row, rng: random.Random) -> str:
    return f"{rng.randint(8, 17):02d}:{rng.choice(range(0, 60, 5)):02d}"


def serial(pattern: str = "{}", first: int = 1) -> How:
    return lambda row, _: pattern.format(row.at + first)


def random_number(pattern: str) -> How:
    """`#` becomes a digit."""
    return lambda _, rng: "".join(people.digits(rng, 1) if mark == "#" else mark for mark in pattern)


def of_person(pattern: str) -> How:
    return lambda row, _: pattern.format(p=row.person)


def of_patient(pattern: str) -> How:
    return lambda row, _: pattern.format(row.patient.number, row.patient.index)


def by(**cells: Sequence[Any]) -> How:
    """A cell that follows the truth of a field: `by(side_left=[...], side_right=[...])` falls back to blank."""

    def cell(row: Row, rng: random.Random) -> Any:
        for key, choices in cells.items():
            name, _, wanted = key.partition("__")
            if str(row.op.get(name)) == wanted:
                return rng.choice(list(choices))
        return ""

    return cell


def ward(child: Sequence[str], grown: Sequence[str]) -> How:
    return lambda row, rng: rng.choice(child if row.op["specialty"] == "paediatric surgery" else grown)


def from_type(**cells: Sequence[Any]) -> How:
    return lambda row, rng: rng.choice(list(cells[row.op["type"]]))
