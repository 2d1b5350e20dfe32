"""What planted faults change in copies of sound rows, and what their cells then hold.

Rows come in, changed columns or the text of a cell go out; `plans` says which rule each of them breaks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from hingeline.invented.cells import dated
from hingeline.invented.faults import EACH, Slips
from hingeline.invented.note_told import told_of
from hingeline.invented.outcomes import NO_DATE, Rows, later_than
from hingeline.invented.patients import CUTOFF
from hingeline.invented.remarks import remark
from hingeline.vocabulary import DAYS_PER_YEAR

Change = Callable[[Rows], Rows]
"""From copies of sound rows to their changed columns."""

Raw = Callable[[Rows, int, Slips], str | None]
"""From the copies, the place of one and the hospital's slips to the text of a cell."""


# ---- what a copy is changed to


def same(name: str, value: object) -> Callable[[Rows], Rows]:
    """A column with one value for all."""
    return lambda copies: {name: np.full(EACH, value).astype(_wide(copies, name))}


def _wide(copies: Rows, name: str) -> str:
    kind = copies[name].dtype
    return "<U40" if kind.kind == "U" else kind.str


def born(years: float) -> Callable[[Rows], Rows]:
    """Born so many years after the operation."""
    return lambda copies: {"born_on": later_than(copies["operated_on"], np.full(EACH, years * DAYS_PER_YEAR))}


def before(name: str, ahead: int) -> Callable[[Rows], Rows]:
    """A date some days before the operation."""
    return lambda copies: {name: later_than(copies["operated_on"], np.full(EACH, -ahead))}


def late(name: str, by: int) -> Callable[[Rows], Rows]:
    """A date some days after the cut-off."""
    return lambda copies: {name: later_than(np.full(EACH, CUTOFF), by + np.arange(EACH))}


def both(*changes: Callable[[Rows], Rows]) -> Callable[[Rows], Rows]:
    """One change after another."""

    def change(copies: Rows) -> Rows:
        made: Rows = {}
        for one in changes:
            made |= one(copies | made)
        return made

    return change


EXAMINED: Final = same("recurrence_known_by", "examined")
A_WOMAN: Final = both(same("male", False), same("sex", "female"))


def in_the_future(copies: Rows) -> Rows:
    """Some year typed for another: the patient is as old as before, and nothing has happened since."""
    late = later_than(np.full(EACH, CUTOFF), 400 + 900 * np.arange(EACH))
    age = copies["operated_on"] - copies["born_on"]
    gone = {name: np.full(EACH, NO_DATE) for name in ("followed_until", "died_on", "other_groin_on")}
    return {"operated_on": late, "born_on": late - age} | gone


def a_day_apart(copies: Rows) -> Rows:
    """The day of operation mistyped in the second copy; the age is told by neither date."""
    first = copies["operated_on"][0]
    inside = first.item().day < 28
    slip = np.array([0, 1 if inside else -1], dtype="timedelta64[D]")
    return {"operated_on": first + slip, "born_on": copies["born_on"] + slip}


def died_before(copies: Rows) -> Rows:
    """Dead before the operation, and never seen after it."""
    return before("died_on", 300)(copies) | {"followed_until": np.full(EACH, NO_DATE)}


def told_again(copies: Rows) -> Rows:
    """The same groin and day once more, with another surgeon and no follow-up."""
    return {"surgeon": copies["surgeon"] + 1, "followed_until": np.full(EACH, NO_DATE)}


def other_groin_again(copies: Rows) -> Rows:
    """A later operation of the other groin, called recurrent."""
    last = np.where(np.isnat(copies["followed_until"]), copies["operated_on"], copies["followed_until"])
    when = later_than(last, np.full(EACH, 300))
    return {
        "side": np.where(copies["side"] == "left", "right", "left"),
        "operated_on": when,
        "age_years": (when - copies["born_on"]).astype(np.int64) / DAYS_PER_YEAR,
        "occurrence": np.full(EACH, "recurrent"),
        "followed_until": np.full(EACH, NO_DATE),
    }


def high_ligation(copies: Rows) -> Rows:
    """A ligation with a mesh."""
    return repaired("high_ligation")(copies) | {"mesh_used": np.full(EACH, True)}


def repaired(repair: str) -> Callable[[Rows], Rows]:
    """An open repair of a kind, and the mesh that belongs to it."""
    return both(
        same("repair", repair),
        same("approach", "open"),
        same("laparoscopic", False),
        same("operation", f"open {repair}"),
        same("known_by", "not examined"),
        same("mesh_used", repair == "mesh"),
    )


# ---- what a cell then holds


def holds(value: str) -> Raw:
    """Always the same text."""
    return lambda copies, j, slips: value


def bad_date(copies: Rows, j: int, slips: Slips) -> str | None:
    """A date that cannot be read."""
    return slips.date


def either_order(copies: Rows, j: int, slips: Slips) -> str:
    """A date that may be two days."""
    return ("04/05/2014", "03/09/2013")[j]


def short_year(name: str) -> Raw:
    """The right date with two digits of its year."""

    def raw(copies: Rows, j: int, slips: Slips) -> str:
        text = str(dated(copies[name][j : j + 1], slips.short_year)[0])
        return text[:-4] + text[-2:]

    return raw


def too_old(copies: Rows, j: int, slips: Slips) -> str:
    """An age some years more than the dates tell."""
    return str(int(copies["age_years"][j]) + 7)


def other_ehs(copies: Rows, j: int, slips: Slips) -> str:
    """The code of another type."""
    return "PM2" if copies["type"][j] == "indirect" else "PL1"


def remarking(name: str, value: str) -> Raw:
    """A remark that tells one thing of a groin otherwise than its column does."""
    return lambda copies, j, slips: remark(told_of(copies | {name: np.full(EACH, value)})[j])


def of_other_type(copies: Rows, j: int, slips: Slips) -> str:
    """A remark that tells another type."""
    told = told_of(copies)[j]
    return remark(replace(told, type="direct" if told.type == "indirect" else "indirect"))


def of_other_side(copies: Rows, j: int, slips: Slips) -> str:
    """A remark that tells the other side."""
    told = told_of(copies)[j]
    return remark(replace(told, side="right" if told.side == "left" else "left"))


def orchidopexy(copies: Rows, j: int, slips: Slips) -> str:
    """A remark that tells another reason."""
    side = str(copies["side"][j]).capitalize()
    return f"{side} orchidopexy for undescended testis; open herniotomy, sac ligated high."


def no_side(copies: Rows, j: int, slips: Slips) -> str:
    """A note that tells no side."""
    return (
        "Inguinal hernia repair. Indirect sac freed and ligated. Closed in layers.",
        "Groin hernia. Direct bulge; Lichtenstein mesh repair.",
    )[j]


def left_open(copies: Rows, j: int, slips: Slips) -> str:
    """A note that leaves the type open."""
    side = str(copies["side"][j])
    return (
        f"{side.capitalize()} inguinal hernia repair. Dense scar in the canal; cannot exclude a direct component. "
        "Open mesh repair.",
        f"Operation: {side} inguinal hernia. Findings: either direct or indirect, the landmarks were lost. "
        "Procedure: Lichtenstein repair.",
    )[j]
