"""What a legend must not say: a meaning outside the vocabulary, a unit that does not fit, a field left out.

A `Legend` whose tables are typed comes in; nothing goes out but a `HingelineError` with file and line.
"""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Iterable, Mapping
from pathlib import Path

from .. import vocabulary, wording
from ..errors import HingelineError
from .legend_model import (
    ABSENT,
    BOTH,
    GRADES,
    KINDS,
    SHARED_ONLY,
    UNITS,
    VISIT_KINDS,
    Legend,
    Mapped,
    Meaning,
    Side,
    fold,
    place_of,
)


def check_legend(legend: Legend) -> None:
    """Refuse a legend that says what cannot be, or leaves out what must be."""
    _check_form(legend)
    _check_meanings(legend)
    _check_required(legend)
    _check_follow_up(legend)
    _check_confirmed(legend)


def _check_confirmed(legend: Legend) -> None:
    """Refuse a proposed legend of which a person has not yet looked at what is marked."""
    visits = legend.follow_up.fields if legend.follow_up else {}
    waiting = [
        (f"{table}.{name}", how.confirm)
        for table, name, how in [*legend.mapped(), *(("follow_up.fields", *one) for one in visits.items())]
        if how.confirm is not None
    ]
    if waiting:
        first, what = waiting[0]
        raise HingelineError(
            f"{len(waiting)} proposed entries wait for a person's look: "
            + wording.listed([f"[{key}]" for key, _ in waiting])
            if len(waiting) > 1
            else f"[{first}] was proposed and waits for a person's look: {what}",
            legend.where(f"{first}.confirm"),
            "Look at each, correct what is wrong, and remove its line 'confirm'",
        )


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
            raise unknown_key(legend.path, legend.lines, key, KINDS, "field")
        _check_field(legend, key, table, name, how)


def _check_field(legend: Legend, key: str, table: str, name: str, how: Mapped) -> None:
    def wrong(what: str, todo: str, part: str = "") -> HingelineError:
        return HingelineError(what, legend.where(f"{key}.{part}" if part else key), todo)

    kind = KINDS[name] if name in KINDS else VISIT_KINDS[name]
    if table in ("left", "right") and name in SHARED_ONLY:
        raise wrong(f"{name} does not belong to one side", f"Write [fields.{name}], or leave it out")
    if table in ("left", "right") and name in legend.fields:
        raise wrong(f"{name} is mapped for the row and for its {table} side", "Keep one of the two")
    if how.value is not None and kind in ("key", "age", "ehs", "note"):
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
    kind = KINDS[name] if name in KINDS else VISIT_KINDS[name]
    if kind == "flag":
        allowed = (True, False)
    elif kind == "grade":
        allowed = tuple(GRADES[name])
    else:
        allowed = vocabulary.FIELD[name].values
    if part == "codes":
        allowed += ("",)
    if name == "side" and part != "blank":
        allowed += (BOTH,)
    if table in ("left", "right") and part == "codes":
        allowed += (ABSENT,)
    if not any(meaning == one and type(meaning) is type(one) for one in allowed):
        words = ", ".join(str(one).lower() if isinstance(one, bool) else repr(one) for one in allowed)
        near = difflib.get_close_matches(str(meaning), [str(one) for one in allowed], n=1)
        raise HingelineError(
            f"{name} cannot be {meaning!r}",
            legend.where(f"{key}.{part}"),
            (f"Did you mean {near[0]!r}? " if near else "") + f"Use one of: {words}",
        )


def _is_date(value: object) -> bool:
    if isinstance(value, dt.date):
        return True
    try:
        dt.date.fromisoformat(str(value))
    except ValueError:
        return False
    return True


def _check_form(legend: Legend) -> None:
    def missing(what: str, todo: str) -> HingelineError:
        return HingelineError(what, legend.where("form"), todo)

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


def _check_required(legend: Legend) -> None:
    def missing(what: str, todo: str) -> HingelineError:
        return HingelineError(what, legend.where(), todo)

    wide = legend.form == "patients"
    sides: tuple[Side | None, ...] = ("left", "right") if wide else (None,)
    for side in sides:
        fields = legend.side(side)
        of = f" for the {side} side" if side else ""
        if "sex" not in fields:
            raise missing("The legend does not map sex", "Add a table [fields.sex]")
        if "patient" not in fields and not {"born_on", "operated_on"} <= fields.keys():
            raise missing(
                "The legend does not map patient",
                "Add a table [fields.patient], or both [fields.born_on] and [fields.operated_on], which with the "
                "sex tell one person from another",
            )
        if not wide and "side" not in fields and "note" not in fields:
            raise missing(
                "The legend does not map side", "Add a table [fields.side], or [fields.note] that tells it"
            )
        if "age" not in fields and not ("born_on" in fields and "operated_on" in fields):
            raise missing(
                f"The legend does not tell the age at operation{of}",
                "Add [fields.age], or both [fields.born_on] and [fields.operated_on]",
            )
        if not fields.keys() & {"type", "ehs", "note"}:
            raise missing(
                f"The legend does not map the hernia's type{of}",
                f"Add [{side or 'fields'}.type], [{side or 'fields'}.ehs] or [{side or 'fields'}.note]",
            )
    dropped = {fold(column) for column in legend.drop.columns}
    for table, name, how in legend.mapped():
        if how.column is not None and fold(how.column) in dropped:
            raise HingelineError(
                f"Column {how.column!r} is mapped to {name} and dropped",
                legend.where(f"{table}.{name}.column"),
                "Remove it from [drop], or map another column",
            )


def _check_follow_up(legend: Legend) -> None:
    """Refuse visits that name no patient, or no day."""
    visits = legend.follow_up
    if visits is None:
        return
    for name, how in visits.fields.items():
        key = f"follow_up.fields.{name}"
        if name not in VISIT_KINDS:
            raise unknown_key(legend.path, legend.lines, key, VISIT_KINDS, "field")
        _check_field(legend, key, "follow_up", name, how)

    def missing(what: str, todo: str) -> HingelineError:
        return HingelineError(what, legend.where("follow_up"), todo)

    if not visits.files and visits.file.sheet is None:
        raise missing(
            "It is not told where the visits stand",
            'Add files = ["…"] with the names of their files, or [follow_up.file] sheet = "…"',
        )
    if "patient" in visits.fields and "patient" not in legend.fields:
        raise missing(
            "The visits have a patient key, the operations have none",
            "Add [fields.patient], or join them by born_on, sex and operated_on",
        )
    people = {"born_on", "sex", "operated_on"}
    if "patient" not in visits.fields and not (
        people <= visits.fields.keys() and people <= legend.fields.keys()
    ):
        raise missing(
            "Nothing joins the visits to the operations",
            "Add [follow_up.fields.patient], or born_on, sex and operated_on on both sides",
        )
    if not visits.fields.keys() & {"seen_on", "recurred_on", "died_on", "other_groin_on"}:
        raise missing("The visits have no date", "Add [follow_up.fields.seen_on]")
    if visits.fields.keys() & {"recurred", "other_groin"} and "seen_on" not in visits.fields:
        raise missing(
            "What was found at a visit has no date without that of the visit",
            "Add [follow_up.fields.seen_on]",
        )


def unknown_key(
    path: Path | None, lines: Mapping[str, int], key: str, known: Iterable[str], noun: str = "key"
) -> HingelineError:
    """Say that a key is not known, and which was meant."""
    name = key.rsplit(".", maxsplit=1)[-1]
    known = [one for one in known if one not in ("path", "lines")]
    near = difflib.get_close_matches(name, known, n=1)
    return HingelineError(
        f"{name!r} is no {noun} of a legend",
        place_of(path, lines, key),
        (f"Did you mean {near[0]!r}? " if near else "") + f"Use one of: {', '.join(known)}",
    )
