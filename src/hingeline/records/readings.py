"""One frame's SELECT: text to dates, numbers, ages and hashes, by the phrases of the engine.

A frame of raw cells comes in; SQL goes out that gives each mapped field as ``<field>``, ``<field>_text`` and
``<field>_bad`` and a bilateral row twice. Nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from . import ages, ehs
from .frames import Frame
from .legend_model import EVERY_KIND, UNITS, Legend, fold
from .note_columns import PARTS
from .phrases import DateLook, Phrases, quoted

RANGES: Final[Mapping[str, tuple[float, float]]] = {
    "gestation_weeks": (20, 45),
    "height_cm": (20, 260),
    "weight_kg": (0.3, 400),
    "ring_mm": (0, 120),
}
"""Numbers that a body can have; others are typing errors."""

WEEKS_AND_DAYS: Final = r"^(\d{2})(?:\s*[+/]\s*|\s+)([0-6])(?:\s*/\s*7)?$"
"""Gestation as ``34+2`` or ``34 2/7``."""

PERSON: Final = "born_on::VARCHAR, sex, operated_on::VARCHAR"
"""What tells one person from another where a hospital gives no key."""

YEARS_AHEAD: Final = 20
"""A date further than this beyond the cut-off is a stand-in such as 31.12.2099, not a date."""


SQL_TYPES: Final[Mapping[str, str]] = {
    "key": "BIGINT",
    "code": "VARCHAR",
    "flag": "BOOLEAN",
    "grade": "TINYINT",
    "date": "DATE",
    "number": "DOUBLE",
    "age": "DOUBLE",
    "ehs": "VARCHAR",
    "note": "VARCHAR",
}


@dataclass(frozen=True)
class Settings:
    """What a column as a whole tells of its cells, which no cell tells alone.

    Attributes
    ----------
    orders : mapping of str to str
        By folded column name, the order of its dates: "dmy", "mdy", "ymd" or "mixed".
    looks : mapping of str to DateLook
        By field, what its dates look like.
    decimal_ages : bool
        Whether ages are decimal, so that a whole number among them is no whole year.
    """

    orders: Mapping[str, str]
    looks: Mapping[str, DateLook]
    decimal_ages: bool = False


def select_of(
    raw: str, frame: Frame, settings: Settings, legend: Legend, cutoff: date, phrases: Phrases
) -> str:
    """One frame's SELECT, in storeys: parts of cells; dates and numbers; the birth date; what follows; the groin's."""
    parts = _Storeys(frame, settings, legend, cutoff, phrases)
    query = raw
    for storey in (parts.first(), parts.second(), parts.third()):
        query = f"(SELECT {', '.join(['*', *storey])} FROM {query})"
    query = f"(SELECT {', '.join(parts.fourth())} FROM {query})"
    return f"SELECT {', '.join(parts.fifth())} FROM {query}"


class _Storeys:
    """The storeys of one frame's SELECT, kept together since they share the frame's settings."""

    def __init__(
        self, frame: Frame, settings: Settings, legend: Legend, cutoff: date, phrases: Phrases
    ) -> None:
        self.frame = frame
        self.orders = settings.orders
        self.looks = settings.looks
        self.decimal = "true" if settings.decimal_ages else "false"
        self.legend = legend
        self.phrases = phrases
        self.cutoff = f"DATE '{cutoff.isoformat()}'"
        self.far = f"({self.cutoff} + INTERVAL {YEARS_AHEAD} YEAR)::DATE"
        self.columns = {name: how for name, how in frame.fields.items() if how.column is not None}
        self.kinds = {name: EVERY_KIND[name] for name in self.columns}

    def _of(self, kind: str) -> list[str]:
        return [name for name, one in self.kinds.items() if one == kind]

    def first(self) -> Iterable[str]:
        for name, how in self.frame.fields.items():
            if how.column is None and name != "side":
                yield f"CAST({_literal(how.value)} AS {SQL_TYPES[EVERY_KIND[name]]}) AS {name}"
        for name in self._of("date"):
            order = self.orders[fold(str(self.columns[name].column))]
            yield f"{self.phrases.date_parts(f'{name}_text', order, self.looks[name])} AS {name}_parts"
        for name in self._of("number"):
            yield f"{self._number(name)} AS {name}_read"
        if "age" in self.columns:
            figure = self.phrases.capture("age_text", ages.CELL, 1)
            default = str(self.columns["age"].unit)
            yield f"{self.phrases.number(figure, self.frame.source.decimal)} AS age_value"
            yield f"{ages.unit('age_text', default, self.phrases)} AS age_unit"
        if "ehs" in self.columns:
            yield f"{ehs.tidied('ehs_text')} AS ehs_code"

    def _number(self, name: str) -> str:
        """Number in the field's own unit; the unit's name may stand behind it."""
        unit = self.columns[name].unit or next(iter(UNITS[name]))
        factor = UNITS[name][unit]
        ending = r"(?i)\s*" + unit + r"\.?$"
        text = f"regexp_replace({name}_text, {quoted(ending)}, '')"
        plain = self.phrases.number(text, self.frame.source.decimal)
        if name == "gestation_weeks" and unit == "weeks":
            weeks, days = (self.phrases.capture(text, WEEKS_AND_DAYS, group) for group in (1, 2))
            plain = f"coalesce({weeks}::DOUBLE + {days}::DOUBLE / 7, {plain})"
        return f"({plain}) * {factor!r}"

    def second(self) -> Iterable[str]:
        for name in self._of("date"):
            if name != "born_on":
                read = self.phrases.date_of(f"{name}_parts", f"{name}_text", self.far, self.looks[name])
                yield f"{read} AS {name}_read"
        if "ehs" in self.columns:
            yield f"{ehs.readable('ehs_code', self.phrases)} AS ehs_ok"

    def third(self) -> Iterable[str]:
        if "born_on" in self.columns:
            operated = "operated_on_read" if "operated_on" in self.columns else "operated_on"
            latest = (
                f"coalesce({operated}, {self.cutoff})" if "operated_on" in self.frame.fields else self.cutoff
            )
            look = self.looks["born_on"]
            yield f"{self.phrases.date_of('born_on_parts', 'born_on_text', latest, look)} AS born_on_read"
        if "age" in self.columns:
            given = ("age_value", "age_unit", str(self.columns["age"].unit), self.decimal)
            yield f"{ages.days(*given)} AS age_read"
            yield f"{ages.precision(*given)} AS age_precision_given"

    def fourth(self) -> Iterable[str]:
        yield f"{self.frame.number} AS source_number"
        yield f"{quoted(self.frame.source.name)} AS source_file"
        yield f"{quoted(self.frame.source.sheet)} AS sheet"
        yield "source_row"
        yield f"unnest({self._sides()}) AS side"
        yield f"{self._side_typed()} AS side_typed"
        if "note" in self.columns:
            yield from ("note_text", "note_side", "note_shown")
            sides = ("left_", "right_") if self.frame.side is None else ("",)
            yield from (f"{side}note_{part}" for side in sides for part in PARTS)
        for name, how in self.frame.fields.items():
            if how.column is None:
                if name != "side":
                    yield name
                continue
            if name == "note":
                continue
            yield f"{name}_text"
            if name != "side":
                yield f"{self._value(name)} AS {name}"
            yield f"({self._bad(name)}) AS {name}_bad"
            if EVERY_KIND[name] == "date":
                yield f"coalesce(length({name}_parts.y) = 2, false) AS {name}_short"
                if self.orders[fold(str(self.columns[name].column))] == "mixed":
                    yield f"{self.phrases.ambiguous(f'{name}_text')} AS {name}_ambiguous"
        if "ehs" in self.columns:
            yield from self._from_ehs()
        if "age" in self.columns:
            yield "age_precision_given"

    def fifth(self) -> Iterable[str]:
        """What is the groin's and not the row's: its side of a note, and a key for a patient who has none."""
        yield "*"
        if "note" in self.columns:
            for part in PARTS if self.frame.side is None else ():
                yield f"CASE side WHEN 'right' THEN right_note_{part} ELSE left_note_{part} END AS note_{part}"
        if "patient" in self.columns:
            yield "true AS patient_mapped"
        elif {"born_on", "sex", "operated_on"} <= self.frame.fields.keys():
            owner = f"{quoted(self.legend.hospital)}, 'patient'"
            text = f"concat_ws(chr(31), {owner}, {PERSON})"
            yield (
                f"CASE WHEN born_on IS NOT NULL AND sex IS NOT NULL AND operated_on IS NOT NULL "
                f"THEN {self.phrases.keyed_hash(text, '$inner', '$outer')} END AS patient"
            )

    def _side_typed(self) -> str:
        """What the row or its form says of the side: "left", "right", "both" or NULL."""
        if self.frame.side is not None:
            return "'both'"
        how = self.frame.fields.get("side")
        if how is None:
            return "NULL::VARCHAR"
        side = "side" if how.column is not None else quoted(str(how.value))
        if how.blank is not None:
            side = f"CASE WHEN side_text IS NULL THEN {quoted(str(how.blank))} ELSE {side} END"
        return side

    def _sides(self) -> str:
        if self.frame.side is not None:
            return f"[{quoted(self.frame.side)}]"
        side = self._side_typed()
        if "note" in self.columns:
            side = f"coalesce({side}, note_side)"
        return f"CASE {side} WHEN 'both' THEN ['left', 'right'] ELSE [{side}] END"

    def _value(self, name: str) -> str:
        kind = self.kinds[name]
        if kind == "key":
            owner = f"{quoted(self.legend.hospital)}, {quoted(name)}"
            text = f"concat_ws(chr(31), {owner}, nfc_normalize({name}_text))"
            hashed = self.phrases.keyed_hash(text, "$inner", "$outer")
            return f"CASE WHEN {name}_text IS NOT NULL THEN {hashed} END"
        if kind == "date" and name not in ("operated_on", "born_on"):
            return f"CASE WHEN {name}_read <= {self.far} THEN {name}_read END"
        if kind == "number":
            low, high = RANGES[name]
            return f"CASE WHEN {name}_read BETWEEN {low} AND {high} THEN {name}_read END"
        if kind in ("date", "age"):
            return f"{name}_read"
        if kind in ("code", "flag", "grade") and (blank := self.columns[name].blank) is not None:
            return f"CASE WHEN {name}_text IS NULL THEN {_literal(blank)} ELSE {name} END"
        return f"{name}_text" if kind == "ehs" else name

    def _bad(self, name: str) -> str:
        kind = self.kinds[name]
        if kind in ("code", "flag", "grade"):
            return f"{name}_bad"
        if kind == "ehs":
            return "ehs_text IS NOT NULL AND NOT ehs_ok"
        if kind == "key":
            return "false"
        return f"{name}_text IS NOT NULL AND ({self._value(name)}) IS NULL"

    def _from_ehs(self) -> Iterable[str]:
        def read(phrase: str) -> str:
            return f"CASE WHEN ehs_ok THEN {phrase} END"

        yield f"{read(ehs.hernia_type('ehs_code', self.phrases))} AS ehs_type"
        yield f"{read(ehs.occurrence('ehs_code', self.phrases))} AS ehs_occurrence"
        yield f"{read(ehs.size('ehs_code', self.phrases))} AS ehs_size_read"


def _literal(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    return quoted(value.isoformat() if isinstance(value, date) else str(value))
