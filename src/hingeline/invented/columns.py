"""Columns of an export, each with the legend entry that reads it: one declaration makes file and legend.

A column knows its header, the cells it holds and what the legend says of it, so that the two cannot drift
apart.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from hingeline.invented.cells import Cells, Sheet
from hingeline.invented.hospitals import Hospital


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes
    ----------
    header : str
    make : callable
        From a `Sheet` to its cells.
    reads : tuple of str
        Legend fields it serves; none for a column that the legend drops or leaves alone.
    codes : mapping of str to mapping
        For each field, own word to meaning.
    more : mapping
        Further keys of the legend entry: unit, order, blank.
    drop : bool
        Whether it identifies patients, so that the legend drops it.
    """

    header: str
    make: Callable[[Sheet], Cells]
    reads: tuple[str, ...] = ()
    codes: Mapping[str, Mapping[str, str | bool]] = field(default_factory=dict)
    more: Mapping[str, Any] = field(default_factory=dict)
    drop: bool = False


@dataclass(frozen=True)
class Clinic:
    """A second sheet of the workbook, in which a row is a visit after an operation.

    Attributes
    ----------
    sheet : str
    columns : sequence of Column
        Of a visit.
    header_row : int
        Row of the headers, as a spreadsheet counts.
    titles : sequence of str
        What stands above them.
    """

    sheet: str
    columns: Sequence[Column]
    header_row: int = 1
    titles: Sequence[str] = ()


@dataclass(frozen=True)
class Form:
    """How one hospital's file looks.

    Attributes
    ----------
    hospital : Hospital
    form : {"operations", "patients"}
        What a row is.
    columns : sequence of Column
        Of the row; for patients, of the patient.
    sides : mapping of str to sequence of Column
        For patients: the columns of the left and of the right groin.
    file, dates : mapping
        The legend's tables.
    header_row : int
        Row of the headers, as a spreadsheet counts.
    titles : sequence of str
        What stands above them.
    clinic : Clinic or None
        Visits kept apart.
    """

    hospital: Hospital
    form: str
    columns: Sequence[Column]
    sides: Mapping[str, Sequence[Column]] = field(default_factory=dict)
    file: Mapping[str, str | int] = field(default_factory=dict)
    dates: Mapping[str, str] = field(default_factory=dict)
    header_row: int = 1
    titles: Sequence[str] = ()
    clinic: Clinic | None = None

    @property
    def fields(self) -> frozenset[str]:
        """Legend fields that the operations' columns serve."""
        columns = [*self.columns, *(column for side in self.sides.values() for column in side)]
        return frozenset(name for column in columns for name in column.reads)


def key(header: str, prefix: str, width: int) -> Column:
    """The patient's number."""
    return Column(header, lambda sheet: sheet.key(prefix, width), ("patient",))


def surgeon(header: str, prefix: str) -> Column:
    """The surgeon's code."""
    return Column(header, lambda sheet: sheet.surgeon(prefix), ("surgeon",))


def dropped(header: str, make: Callable[[Sheet], Cells]) -> Column:
    """An identifier, which the legend drops."""
    return Column(header, make, drop=True)


def date(header: str, name: str, style: str) -> Column:
    """A date in a style of `Sheet.dates`."""
    return Column(header, lambda sheet: sheet.dates(name, style), (name,))


def coded(header: str, name: str, own: Mapping[str, str]) -> Column:
    """A coded field: own word by the vocabulary's."""
    meanings: dict[str, str | bool] = {word: value for value, word in own.items() if word}
    return Column(header, lambda sheet: sheet.words(name, own), (name,), {name: meanings})


def note(header: str) -> Column:
    """A note in free text."""
    return Column(header, lambda sheet: sheet.texts("note"), ("note",))


def flag(header: str, name: str, yes: str, no: str) -> Column:
    """Yes or no, in words that need no code or with them."""
    plain = {"yes", "no", "y", "n", "true", "false", "1", "0"}
    codes: dict[str, dict[str, str | bool]] = (
        {} if {yes.lower(), no.lower()} <= plain else {name: {yes: True, no: False}}
    )
    return Column(header, lambda sheet: sheet.flags(name, yes, no), (name,), codes)


def legend(form: Form) -> str:
    """The TOML text of the legend that reads a form."""
    lines = [
        f"# How to read the export of {form.hospital.name}.",
        f"hospital = {_toml(form.hospital.name)}",
        f"form = {_toml(form.form)}",
    ]
    for name, table in (("file", form.file), ("dates", form.dates)):
        if table:
            lines += ["", f"[{name}]", *(f"{entry} = {_toml(value)}" for entry, value in table.items())]
    lines += _dropped("drop", form.columns)
    for where, columns in (("fields", form.columns), *form.sides.items()):
        lines += _fields(where, columns)
    if form.clinic is not None:
        lines += ["", "[follow_up.file]", f"sheet = {_toml(form.clinic.sheet)}"]
        lines += [f"header_row = {form.clinic.header_row}"]
        lines += _dropped("follow_up.drop", form.clinic.columns)
        lines += _fields("follow_up.fields", form.clinic.columns)
    return "\n".join(lines) + "\n"


def _dropped(where: str, columns: Sequence[Column]) -> list[str]:
    drop = [column.header for column in columns if column.drop]
    return ["", f"[{where}]", f"columns = {_toml(drop)}"] if drop else []


def _fields(where: str, columns: Sequence[Column]) -> list[str]:
    """A table of the legend for each field that the columns serve."""
    lines = []
    for column in columns:
        for name in column.reads:
            lines += ["", f"[{where}.{name}]", f"column = {_toml(column.header)}"]
            lines += [f"{entry} = {_toml(value)}" for entry, value in column.more.items()]
            if column.codes.get(name):
                lines.append(f"codes = {_toml(dict(column.codes[name]))}")
    return lines


def _toml(value: object) -> str:
    """A value as TOML writes it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_toml(str(k))} = {_toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, Sequence):
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    return str(value)
