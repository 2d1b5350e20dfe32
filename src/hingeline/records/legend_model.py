"""What a legend may say: the typed tables of one, the kinds of its fields and their units.

`hingeline.records.legend` describes the format and reads it; `legend_checks` refuses what cannot be.
"""

from __future__ import annotations

import codecs
import datetime as dt
import unicodedata
from collections.abc import Mapping
from fnmatch import fnmatch
from pathlib import Path
from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from .. import vocabulary

Order = Literal["dmy", "mdy", "ymd"]
Side = Literal["left", "right"]
Meaning = str | bool | int
Kind = Literal["key", "code", "flag", "date", "number", "grade", "age", "ehs", "note"]

BOTH: Final = "both"
ABSENT: Final = "absent"
ALWAYS_BLANK: Final = ("", "na", "n/a", "null", "-", "–")

UNITS: Final[Mapping[str, Mapping[str, float]]] = {
    "age": {
        "years": vocabulary.DAYS_PER_YEAR,
        "months": vocabulary.DAYS_PER_MONTH,
        "weeks": 7.0,
        "days": 1.0,
    },
    "gestation_weeks": {"weeks": 1.0, "days": 1 / 7},
    "height_cm": {"cm": 1.0, "m": 100.0},
    "weight_kg": {"kg": 1.0, "g": 0.001},
    "ring_mm": {"mm": 1.0, "cm": 10.0},
}
"""Units a legend may give for a field, each with what one of it is in the field's own unit (ages: days)."""

GRADES: Final[Mapping[str, range]] = {"ehs_size": range(0, 4), "puberty_stage": range(1, 6)}
"""Fields that are small whole numbers, with what they may be."""

_DERIVED: Final = (
    "hospital",
    "age_days",
    "age_precision",
    "corrected_age_days",
    "birth_month_odd",
    "source_file",
    "source_row",
)
_EXTRA: Final[Mapping[str, Kind]] = {
    "age": "age",
    "born_on": "date",
    "gestation_weeks": "number",
    "ehs": "ehs",
    "note": "note",
    "mesh_used": "flag",
}
_VISIT_EXTRA: Final[Mapping[str, Kind]] = {
    "born_on": "date",
    "seen_on": "date",
    "recurred": "flag",
    "other_groin": "flag",
}
FOUND_LATER: Final = (
    "recurred_on",
    "recurrence_known_by",
    "reoperation_type",
    "other_groin_on",
    "died_on",
    "chronic_pain",
    "testicular_atrophy",
    "ascending_testis",
    "vas_injury",
    "infection",
)
"""Fields of a case that a visit may tell as well as a column beside the operation."""

_VISIT_FIELDS: Final = ("patient", "sex", "operated_on", "side", *FOUND_LATER)


def _kind(name: str) -> Kind:
    if name in _EXTRA:
        return _EXTRA[name]
    if name in ("patient", "surgeon"):
        return "key"
    if name in GRADES:
        return "grade"
    if vocabulary.FIELD[name].values:
        return "code"
    arrow = str(vocabulary.FIELD[name].arrow)
    return "flag" if arrow == "bool" else "date" if arrow.startswith("date") else "number"


KINDS: Final[Mapping[str, Kind]] = {
    name: _kind(name) for name in (*_EXTRA, *(f.name for f in vocabulary.FIELDS if f.name not in _DERIVED))
}
"""Every field that a legend may map, with how its cells are read."""

VISIT_KINDS: Final[Mapping[str, Kind]] = {**_VISIT_EXTRA, **{name: _kind(name) for name in _VISIT_FIELDS}}
"""Every field that ``[follow_up.fields.*]`` may map, with how its cells are read."""

EVERY_KIND: Final[Mapping[str, Kind]] = {**VISIT_KINDS, **KINDS}
"""How the cells of a field are read, be it of an operation or of a visit."""

SHARED_ONLY: Final = ("patient", "sex", "born_on", "gestation_weeks", "side")
"""Fields of a patient rather than of a groin: never under ``[left]`` or ``[right]``."""


def fold(text: str) -> str:
    """Bring a cell, a code or a column name to the form in which two of them are compared."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


class Table(BaseModel):
    """A table of a legend: frozen, and nothing in it that is not known."""

    model_config = ConfigDict(frozen=True, extra="forbid")


_SEVEN_BITS: Final = bytes(one for one in range(128) if one not in (0x0E, 0x0F, 0x1B))
_WIDE: Final = frozenset({"utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "utf-32-be"})


def _is_text_encoding(name: str) -> bool:
    """Whether an encoding is one in which files are written, of which lines can be told by their bytes.

    Python's registry also holds ciphers, compressions and notations of single labels (``rot13``, ``idna``); they
    either refuse plain ASCII or read an escape in it as something else.
    """
    try:
        found = codecs.lookup(name)
        probes = (b"\\u0041 +AEE- ~{VPND~}", b"xn--nxasmq6b.a", _SEVEN_BITS)
        return found.name in _WIDE or all(one.decode(name) == one.decode("ascii") for one in probes)
    except (LookupError, ValueError):  # ValueError: bytes that do not fit, or a name that can be none
        return False


class FileOptions(Table):
    """How a file is opened; whatever is None is detected (``[file]``)."""

    sheet: str | None = None
    header_row: int | None = Field(default=None, ge=0, le=1000)
    header_rows: int | None = Field(default=None, ge=1, le=3)
    encoding: str | None = None
    delimiter: str | None = None
    decimal: Literal[".", ","] | None = None
    blanks: tuple[str, ...] = ()

    @field_validator("encoding")
    @classmethod
    def _known_encoding(cls, value: str | None) -> str | None:
        if value is not None and not _is_text_encoding(value):
            raise ValueError(f"{value!r} is not an encoding of text; give utf-8, cp1252, latin-1 or utf-16")
        return value

    @field_validator("delimiter")
    @classmethod
    def _one_character(cls, value: str | None) -> str | None:
        if value in ("tab", "\\t"):
            return "\t"
        if value is not None and (len(value) != 1 or value in '"\r\n'):
            raise ValueError('a delimiter is one character, or "tab"')
        return value


class Dates(Table):
    """How dates written as text are ordered (``[dates]``)."""

    order: Order | None = None


class Drop(Table):
    """Columns that intake forgets unread (``[drop]``)."""

    columns: tuple[str, ...] = ()
    reason: str = "identifiers"


class Mapped(Table):
    """Where one field comes from: a column, or a constant (``[fields.*]``, ``[left.*]``, ``[right.*]``)."""

    column: str | None = Field(default=None, min_length=1)
    value: bool | int | float | dt.date | str | None = None
    codes: dict[str, bool | int | str] = Field(default_factory=dict)
    unit: str | None = None
    blank: bool | int | str | None = None
    order: Order | None = None
    confirm: str | None = None

    @model_validator(mode="after")
    def _column_or_value(self) -> Mapped:
        if (self.column is None) == (self.value is None):
            raise ValueError('give either column = "…" or value = …')
        return self


class FollowUp(Table):
    """Visits after the operation, in another sheet or in files of their own (``[follow_up]``).

    Attributes
    ----------
    files : tuple of str
        Patterns of the names of the hospital's sources that hold visits (``"clinic*.csv"``); none: another sheet
        of each file of operations, which ``[follow_up.file] sheet`` names.
    file, dates, drop : FileOptions, Dates, Drop
        As for the operations; an order that is not given is that of the operations.
    fields : dict of str to Mapped
        By field name, of `VISIT_KINDS`.
    """

    files: tuple[str, ...] = ()
    file: FileOptions = FileOptions()
    dates: Dates = Dates()
    drop: Drop = Drop()
    fields: dict[str, Mapped]


class Legend(Table):
    """One hospital's legend; the module says what each part means.

    Attributes
    ----------
    hospital : str
    form : {"operations", "patients"}
    file, dates, drop : FileOptions, Dates, Drop
    fields, left, right : dict of str to Mapped
        By field name; ``left`` and ``right`` only when a row is a patient.
    follow_up : FollowUp or None
        Visits kept apart from the operations.
    path : Path or None
        The file it was read from.
    lines : dict of str to int
        Line of that file on which a table or key stands: ``{"fields.type": 14, "fields.type.column": 15}``.
    """

    hospital: str = Field(min_length=1)
    form: Literal["operations", "patients"]
    file: FileOptions = FileOptions()
    dates: Dates = Dates()
    drop: Drop = Drop()
    fields: dict[str, Mapped]
    left: dict[str, Mapped] = Field(default_factory=dict)
    right: dict[str, Mapped] = Field(default_factory=dict)
    follow_up: FollowUp | None = None
    path: Path | None = None
    lines: dict[str, int] = Field(default_factory=dict, repr=False)

    def side(self, side: Side | None) -> dict[str, Mapped]:
        """Fields of one groin: the shared ones and, when a row is a patient, those of its side."""
        own = {} if side is None else self.left if side == "left" else self.right
        return {**self.fields, **own}

    def mapped(self) -> list[tuple[str, str, Mapped]]:
        """Every mapped field as (table, field, how): ``("left", "type", …)``."""
        tables = (("fields", self.fields), ("left", self.left), ("right", self.right))
        return [(table, name, how) for table, fields in tables for name, how in fields.items()]

    def columns(self) -> tuple[str, ...]:
        """Names of all mapped columns, each once, in the legend's order."""
        return tuple(dict.fromkeys(how.column for _, _, how in self.mapped() if how.column is not None))

    def is_visits(self, name: str) -> bool:
        """Whether a source of this name holds visits rather than operations."""
        return self.follow_up is not None and any(fnmatch(name, each) for each in self.follow_up.files)

    def where(self, key: str = "") -> str:
        """File and line of a key of the legend, for an error message."""
        return place_of(self.path, self.lines, key)


def place_of(path: Path | None, lines: Mapping[str, int], key: str) -> str:
    """File and nearest known line of a key of a legend."""
    place = str(path or "legend")
    parts = key.split(".") if key else []
    while parts:
        if (line := lines.get(".".join(parts))) is not None:
            return f"{place}, line {line} ({key})"
        parts.pop()
    return f"{place} ({key})" if key else place
