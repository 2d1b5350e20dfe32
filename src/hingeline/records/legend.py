"""Legends: how to read one hospital's export. A TOML file comes in, a frozen `Legend` goes out.

A legend maps the columns, value codes, date orders and units of one hospital's files to the case fields of
`hingeline.vocabulary`; nothing about a hospital is known anywhere else. The whole format::

    hospital = "Alder Vale"         # required: the hospital's name in the protocol
    form = "operations"             # required: "operations" (a row is an operation) or "patients" (a row is a
                                    #           patient, with left and right columns)

    [file]                          # all optional: what is not given is detected, and said
    sheet = "Operations"            # XLSX: the sheet's name
    header_row = 3                  # the row that holds the column names, as a spreadsheet counts (from 1)
    encoding = "cp1252"             # CSV: "utf-8", "cp1252", "latin-1", "utf-16", ...
    delimiter = ";"                 # CSV: one character, or "tab"
    decimal = ","                   # "." or ","
    blanks = ["n.k.", "99"]         # further words for an empty cell (always: nothing, NA, N/A, NULL, -, –)

    [dates]
    order = "dmy"                   # "dmy", "mdy" or "ymd", for dates written as text; optional when the file
                                    # settles it. Year-first dates and true dates need no order

    [drop]                          # columns of identifiers, which intake forgets unread; it stops at such a
    columns = ["Name", "Telephone"] # column until it is listed here (listing an absent one does no harm)
    reason = "identifiers"          # optional

    [fields.patient]                # required: the hospital's own patient key; only its keyed hash is kept
    column = "Pat. no."

    [fields.age]                    # age at operation, or [fields.born_on] and [fields.operated_on], or all
    column = "Age"                  # three (dates win where both can be read)
    unit = "years"                  # required: "years", "months", "weeks" or "days"; a cell such as "3 months"
                                    # or "5 y" says its own

    [fields.born_on]                # date of birth: becomes an age and never leaves intake
    column = "DOB"
    order = "mdy"                   # optional, any date field: its own order

    [fields.operated_on]
    column = "Date of operation"

    [fields.sex]                    # required: "male" or "female"
    column = "Sex"
    codes = { "1" = "male", "2" = "female" }

    [fields.side]                   # required when form = "operations": "left", "right" or "both" (bilateral:
    column = "Side"                 # two cases of one patient)
    codes = { "L" = "left", "R" = "right", "B" = "both" }

    [fields.type]                   # type, or ehs, or both (type wins, ehs fills its gaps)
    column = "Finding"
    codes = { "lat." = "indirect", "med." = "direct", "pantaloon" = "combined", "?" = "" }

    [fields.ehs]                    # European Hernia Society codes (PL2, RM1, PL1M1, LxM2): occurrence, type and
    column = "EHS"                  # size, each where its own field is not mapped or is empty

    [fields.gestation_weeks]        # weeks of gestation at birth ("34", "34+2"): born preterm, corrected age
    column = "GA"

    [fields.approach]               # any further field of the vocabulary, by its name there:
    value = "laparoscopic"          # a constant in place of a column

    [fields.recurrence_known_by]
    column = "Found by"
    codes = { "clinic" = "examined", "phone" = "telephone" }

    [fields.infection]              # yes or no; understood without codes: yes/no, y/n, true/false, 1/0
    column = "Wound infection"
    codes = { "J" = true, "N" = false }
    blank = false                   # what an empty cell means; without it: not known, or the vocabulary's default
                                    # for the field (an empty ``occurrence`` is "primary")

    [fields.height_cm]              # units: height_cm "cm" "m"; weight_kg "kg" "g"; ring_mm "mm" "cm";
    column = "Height"               # gestation_weeks "weeks" "days"
    unit = "m"

When ``form = "patients"``, what belongs to a groin stands in ``[left.*]`` and ``[right.*]``, with the same
keys; ``[fields.side]`` is left out, and whatever both sides share stays in ``[fields.*]``::

    [left.type]
    column = "Left: type"
    codes = { "0" = "absent", "I" = "indirect", "D" = "direct" }

    [right.type]
    column = "Right: type"
    codes = { "0" = "absent", "I" = "indirect", "D" = "direct" }

    [left.operated_on]
    column = "Left: date"

A side is a groin when any of its own columns holds something, unless a code of the side means ``"absent"``.

**Codes.** A cell is compared with the codes after trimming and without regard to case or repeated blanks; the
vocabulary's own words (``left``, ``indirect``) are understood without codes. A code that means ``""`` is known
to say nothing. One column may serve several fields (``TAPP`` is a repair and an approach). Numbers as codes are
written as text: ``"1" = "male"``; a spreadsheet's 1.0 is ``1``.
"""

from __future__ import annotations

import codecs
import datetime as dt
import difflib
import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from hingeline import vocabulary
from hingeline.errors import HingelineError

Order = Literal["dmy", "mdy", "ymd"]
Side = Literal["left", "right"]
Meaning = str | bool | int
Kind = Literal["key", "code", "flag", "date", "number", "grade", "age", "ehs"]

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
}


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

SHARED_ONLY: Final = ("patient", "sex", "born_on", "gestation_weeks", "side")
"""Fields of a patient rather than of a groin: never under ``[left]`` or ``[right]``."""


def fold(text: str) -> str:
    """Bring a cell, a code or a column name to the form in which two of them are compared."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class FileOptions(_Table):
    """How a file is opened; whatever is None is detected (``[file]``)."""

    sheet: str | None = None
    header_row: int | None = Field(default=None, ge=1, le=1000)
    encoding: str | None = None
    delimiter: str | None = None
    decimal: Literal[".", ","] | None = None
    blanks: tuple[str, ...] = ()

    @field_validator("encoding")
    @classmethod
    def _known_encoding(cls, value: str | None) -> str | None:
        if value is not None:
            try:
                codecs.lookup(value)
            except LookupError:
                raise ValueError(
                    f"{value!r} is not an encoding; give utf-8, cp1252, latin-1 or utf-16"
                ) from None
        return value

    @field_validator("delimiter")
    @classmethod
    def _one_character(cls, value: str | None) -> str | None:
        if value in ("tab", "\\t"):
            return "\t"
        if value is not None and (len(value) != 1 or value in '"\r\n'):
            raise ValueError('a delimiter is one character, or "tab"')
        return value


class Dates(_Table):
    """How dates written as text are ordered (``[dates]``)."""

    order: Order | None = None


class Drop(_Table):
    """Columns that intake forgets unread (``[drop]``)."""

    columns: tuple[str, ...] = ()
    reason: str = "identifiers"


class Mapped(_Table):
    """Where one field comes from: a column, or a constant (``[fields.*]``, ``[left.*]``, ``[right.*]``)."""

    column: str | None = Field(default=None, min_length=1)
    value: bool | int | float | dt.date | str | None = None
    codes: dict[str, bool | int | str] = Field(default_factory=dict)
    unit: str | None = None
    blank: bool | int | str | None = None
    order: Order | None = None

    @model_validator(mode="after")
    def _column_or_value(self) -> Mapped:
        if (self.column is None) == (self.value is None):
            raise ValueError('give either column = "…" or value = …')
        return self


class Legend(_Table):
    """One hospital's legend; the module says what each part means.

    Attributes
    ----------
    hospital : str
    form : {"operations", "patients"}
    file, dates, drop : FileOptions, Dates, Drop
    fields, left, right : dict of str to Mapped
        By field name; ``left`` and ``right`` only when a row is a patient.
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

    def where(self, key: str = "") -> str:
        """File and line of a key of the legend, for an error message."""
        return _where(self.path, self.lines, key)


def read_legend(path: Path | str) -> Legend:
    """Read one hospital's legend.

    Parameters
    ----------
    path : Path or str
        A TOML file; the module describes the format.

    Raises
    ------
    HingelineError
        When it cannot be read, is no TOML, or says something that cannot be: with its file and line.
    """
    path = Path(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise HingelineError(
            f"The legend cannot be opened ({error.strerror or error})",
            str(path),
            "Give the path of a readable file",
        ) from None
    except UnicodeDecodeError:
        raise HingelineError("The legend is not UTF-8 text", str(path), "Save the legend as UTF-8") from None
    return legend_from_text(text, path)


def read_legends(paths: Iterable[Path | str]) -> tuple[Legend, ...]:
    """Read the legends of a study; two for one hospital are an error."""
    seen: dict[str, Legend] = {}
    for path in paths:
        legend = read_legend(path)
        other = seen.setdefault(fold(legend.hospital), legend)
        if other is not legend:
            raise HingelineError(
                f"Two legends are for one hospital, {legend.hospital}",
                f"{other.where('hospital')} and {legend.where('hospital')}",
                "Keep one legend a hospital, or correct the hospital's name in one of them",
            )
    return tuple(seen.values())


def legend_from_text(text: str, path: Path | None = None) -> Legend:
    """Make a legend of TOML text; `path` is only for messages."""
    lines = _lines(text)
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+)", str(error))
        line = f", line {found.group(1)}" if found else ""
        raise HingelineError(
            f"The legend is not valid TOML: {error}", f"{path or 'legend'}{line}", "Correct that line"
        ) from None
    for inner in ("path", "lines"):
        if inner in content:
            raise _unknown_key(path, lines, inner, Legend.model_fields)
    try:
        legend = Legend.model_validate({**content, "path": path, "lines": lines})
    except ValidationError as error:
        raise _from_pydantic(error, path, lines) from None
    _check_meanings(legend)
    _check_required(legend)
    return legend


def _check_meanings(legend: Legend) -> None:
    for table, name, how in legend.mapped():
        key = f"{table}.{name}"
        if name not in KINDS:
            if name in vocabulary.FIELD:
                raise HingelineError(
                    f"{name} is worked out by intake and cannot be mapped",
                    legend.where(key),
                    "Map age or born_on instead" if "age" in name else "Remove this table",
                )
            raise _unknown_key(legend.path, legend.lines, key, KINDS, "field")
        _check_field(legend, key, table, name, how)


def _check_field(legend: Legend, key: str, table: str, name: str, how: Mapped) -> None:
    def wrong(what: str, todo: str, part: str = "") -> HingelineError:
        return HingelineError(what, legend.where(f"{key}.{part}" if part else key), todo)

    kind = KINDS[name]
    if table != "fields" and name in SHARED_ONLY:
        raise wrong(f"{name} does not belong to one side", f"Write [fields.{name}], or leave it out")
    if table != "fields" and name in legend.fields:
        raise wrong(f"{name} is mapped for the row and for its {table} side", "Keep one of the two")
    if how.value is not None and kind in ("key", "age", "ehs"):
        raise wrong(f"{name} cannot be a constant", 'Give column = "…"', "value")
    if name == "age" and how.unit is None:
        raise wrong("age has no unit", 'Add unit = "years", "months", "weeks" or "days"')
    if how.unit is not None and how.unit not in UNITS.get(name, {}):
        known = " or ".join(f'"{unit}"' for unit in UNITS.get(name, {}))
        raise wrong(
            f"{name} cannot be in {how.unit!r}", f"Give {known}" if known else "Remove the unit", "unit"
        )
    if how.order is not None and kind != "date":
        raise wrong(f"{name} is no date", "Remove order", "order")
    if (how.codes or how.blank is not None) and kind not in ("code", "flag", "grade"):
        part = "codes" if how.codes else "blank"
        raise wrong(f"{name} takes no {part}", f"Remove {part}", part)
    meanings: dict[str, Meaning] = {}
    for code, meaning in how.codes.items():
        _check_meaning(legend, key, table, name, meaning, "codes")
        if meanings.setdefault(fold(code), meaning) != meaning:
            raise wrong(
                f"Two codes read alike as {code!r} but mean different things", "Keep one of them", "codes"
            )
    if how.blank is not None:
        _check_meaning(legend, key, table, name, how.blank, "blank")
    if how.value is not None and kind in ("code", "flag", "grade"):
        _check_meaning(legend, key, table, name, how.value, "value")
    if how.value is not None and kind == "date" and not _is_date(how.value):
        raise wrong(f"{how.value!r} is no date", 'Write it year first: value = "2019-05-31"', "value")
    if (
        how.value is not None
        and kind == "number"
        and (isinstance(how.value, bool) or not isinstance(how.value, int | float))
    ):
        raise wrong(f"{how.value!r} is no number", "Give a number without quotes", "value")


def _check_meaning(legend: Legend, key: str, table: str, name: str, meaning: object, part: str) -> None:
    allowed: tuple[object, ...]
    if KINDS[name] == "flag":
        allowed = (True, False)
    elif KINDS[name] == "grade":
        allowed = tuple(GRADES[name])
    else:
        allowed = vocabulary.FIELD[name].values
    if part == "codes":
        allowed += ("",)
    if name == "side" and part != "blank":
        allowed += (BOTH,)
    if table != "fields" and part == "codes":
        allowed += (ABSENT,)
    if not any(meaning == one and type(meaning) is type(one) for one in allowed):
        words = ", ".join(str(one).lower() if isinstance(one, bool) else repr(one) for one in allowed)
        near = difflib.get_close_matches(str(meaning), [str(one) for one in allowed], n=1)
        raise HingelineError(
            f"{name} cannot be {meaning!r}" + (f"; did you mean {near[0]!r}?" if near else ""),
            legend.where(f"{key}.{part}"),
            f"Use one of: {words}",
        )


def _is_date(value: object) -> bool:
    if isinstance(value, dt.date):
        return True
    try:
        dt.date.fromisoformat(str(value))
    except ValueError:
        return False
    return True


def _check_required(legend: Legend) -> None:
    def missing(what: str, todo: str) -> HingelineError:
        return HingelineError(what, legend.where(), todo)

    wide = legend.form == "patients"
    if wide and not (legend.left and legend.right):
        raise missing(
            "A row is a patient, but the sides are not mapped", "Add tables [left.type] and [right.type]"
        )
    if not wide and (legend.left or legend.right):
        raise missing(
            "A row is an operation, but there are tables for each side",
            'Write form = "patients", or move the tables to [fields.*]',
        )
    if wide and "side" in legend.fields:
        raise missing("A row is a patient, so side is known from the columns", "Remove [fields.side]")
    sides: tuple[Side | None, ...] = ("left", "right") if wide else (None,)
    for side in sides:
        fields = legend.side(side)
        of = f" for the {side} side" if side else ""
        for name in ("patient", "sex") if wide else ("patient", "sex", "side"):
            if name not in fields:
                raise missing(f"The legend does not map {name}", f"Add a table [fields.{name}]")
        if "age" not in fields and not ("born_on" in fields and "operated_on" in fields):
            raise missing(
                f"The legend does not tell the age at operation{of}",
                "Add [fields.age], or both [fields.born_on] and [fields.operated_on]",
            )
        if "type" not in fields and "ehs" not in fields:
            raise missing(
                f"The legend does not map the hernia's type{of}",
                f"Add [{side or 'fields'}.type] or [{side or 'fields'}.ehs]",
            )
    dropped = {fold(column) for column in legend.drop.columns}
    for table, name, how in legend.mapped():
        if how.column is not None and fold(how.column) in dropped:
            raise HingelineError(
                f"Column {how.column!r} is mapped to {name} and dropped",
                legend.where(f"{table}.{name}.column"),
                "Remove it from [drop], or map another column",
            )


_HEADER: Final = re.compile(r"^\s*\[\s*([^\[\]#]+?)\s*\]\s*(?:#.*)?$")
_KEY: Final = re.compile(r"""^\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=""")


def _lines(text: str) -> dict[str, int]:
    """Line of each table and key; TOML's own reader does not keep them."""
    lines: dict[str, int] = {}
    table = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = _plain(header.group(1))
            lines.setdefault(table, number)
        elif key := _KEY.match(line):
            name = _plain(key.group(1))
            lines.setdefault(f"{table}.{name}" if table else name, number)
    return lines


def _plain(dotted: str) -> str:
    return ".".join(part.strip().strip("\"'") for part in dotted.split("."))


def _where(path: Path | None, lines: Mapping[str, int], key: str) -> str:
    place = str(path or "legend")
    parts = key.split(".") if key else []
    while parts:
        if (number := lines.get(".".join(parts))) is not None:
            return f"{place}, line {number} ({key})"
        parts.pop()
    return f"{place} ({key})" if key else place


def _unknown_key(
    path: Path | None, lines: Mapping[str, int], key: str, known: Iterable[str], noun: str = "key"
) -> HingelineError:
    name = key.rsplit(".", maxsplit=1)[-1]
    known = [one for one in known if one not in ("path", "lines")]
    near = difflib.get_close_matches(name, known, n=1)
    return HingelineError(
        f"{name!r} is no {noun} of a legend" + (f"; did you mean {near[0]!r}?" if near else ""),
        _where(path, lines, key),
        f"Use one of: {', '.join(known)}",
    )


def _from_pydantic(error: ValidationError, path: Path | None, lines: Mapping[str, int]) -> HingelineError:
    first = error.errors()[0]
    loc = [str(part) for part in first["loc"]]
    key = ".".join(loc)
    if first["type"] == "extra_forbidden":
        known: Iterable[str] = Legend.model_fields
        if len(loc) == 3:
            known = Mapped.model_fields
        elif len(loc) == 2:
            tables: dict[str, type[BaseModel]] = {"file": FileOptions, "dates": Dates, "drop": Drop}
            known = tables[loc[0]].model_fields
        return _unknown_key(path, lines, key, known)
    if first["type"] == "missing":
        return HingelineError(f"The legend does not say {key}", _where(path, lines, ""), f"Add {key}")
    message = first["msg"].removeprefix("Value error, ")
    return HingelineError(f"{key}: {message}", _where(path, lines, key), "Correct this line")
