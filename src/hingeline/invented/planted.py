"""Errors planted among invented groins: clean rows come in, rows with known faults and their list go out.

Each fault is a copy of a sound row under a new patient key (but for repeats, which keep it), so that the
sound rows stay whole and the truth file can name every fault by its rule.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from hingeline.invented.outcomes import NO_DATE, Rows, join, later_than, take
from hingeline.invented.patients import CUTOFF, Integers
from hingeline.vocabulary import DAYS_PER_YEAR

EACH: Final = 2
"""Faults of each rule in each hospital that can commit it."""


@dataclass(frozen=True)
class Fault:
    """One planted fault.

    Attributes
    ----------
    index : int
        Its row among the hospital's rows.
    rule : str
        The rule it breaks, in the rules' own words.
    field : str
        The case field at fault.
    raw : str or None
        What the cell holds in place of the field's own value; None when the value itself is wrong.
    """

    index: int
    rule: str
    field: str
    raw: str | None = None


@dataclass(frozen=True)
class Habits:
    """What a hospital's file can get wrong.

    Attributes
    ----------
    births : bool
        It tells dates of birth, and not ages.
    old_age : str
        What an impossible age looks like where ages are told.
    type_field : str
        The legend's field of the type: "type" or "ehs".
    deaths, sides : bool
        It tells deaths; a column tells the side.
    bad_date, bad_code, bad_sex : str or None
        Cells that cannot be read; None where its file holds no text for it.
    """

    births: bool
    deaths: bool
    sides: bool
    bad_date: str | None
    bad_code: str
    bad_sex: str
    old_age: str = ""
    type_field: str = "type"


@dataclass(frozen=True)
class _Plan:
    """One kind of fault: what it changes in a copy of sound rows, and what its cell then holds."""

    rule: str
    field: str
    change: Callable[[Rows], Rows] = lambda copies: {}
    raw: str | None = None
    new_patient: bool = True


def plant(rows: Rows, habits: Habits, generator: np.random.Generator) -> tuple[Rows, list[Fault]]:
    """Add faults to one hospital's rows.

    Returns
    -------
    rows : Rows
        The sound rows, then the faulty ones.
    faults : list of Fault
    """
    plans = _plans(habits)
    sources = _sources(rows, len(plans) * EACH, generator)
    faults: list[Fault] = []
    sound, next_patient = len(rows["side"]), int(rows["patient"].max()) + 1
    for i, plan in enumerate(plans):
        copies = take(rows, sources[i * EACH : (i + 1) * EACH])
        if plan.new_patient:
            copies["patient"] = next_patient + i * EACH + np.arange(EACH)
        copies |= plan.change(copies)
        faults += [Fault(sound + i * EACH + j, plan.rule, plan.field, plan.raw) for j in range(EACH)]
        rows = join(rows, copies)
    return rows, faults


def _sources(rows: Rows, n: int, generator: np.random.Generator) -> Integers:
    """Rows to copy: different patients with one plain operation and some follow-up."""
    alone = np.bincount(rows["patient"])[rows["patient"]] == 1
    plain = (rows["reason"] == "hernia") & (rows["type"] != "unknown") & (rows["occurrence"] == "primary")
    followed = ~np.isnat(rows["followed_until"]) & np.isnat(rows["recurred_on"])
    found = np.flatnonzero(alone & plain & followed)
    return np.asarray(generator.choice(found, size=n, replace=len(found) < n), dtype=np.int64)


def _plans(habits: Habits) -> list[_Plan]:
    plans = [
        _Plan("operation in the future", "operated_on", _in_the_future),
        _Plan("follow-up before operation", "followed_until", _before("followed_until", 40)),
        _Plan("recurrence before operation", "recurred_on", _recurred_before),
        _Plan("same groin twice on one day", "operated_on", _told_again, new_patient=False),
        _Plan("exact duplicate", "patient", new_patient=False),
        _Plan("unknown code", habits.type_field, raw=habits.bad_code),
        _Plan("unusable sex", "sex", raw=habits.bad_sex),
    ]
    if habits.births:
        plans.append(_Plan("age outside 0–110", "age", _born(-118)))
        plans.append(_Plan("operation before birth", "operated_on", _born(0.4)))
    else:
        plans.append(_Plan("age outside 0–110", "age", raw=habits.old_age))
    if habits.deaths:
        plans.append(_Plan("death before operation", "died_on", _died_before))
    if habits.sides:
        plans.append(_Plan("unusable side", "side", raw="?"))
    if habits.bad_date is not None:
        plans.append(_Plan("unusable date", "operated_on", raw=habits.bad_date))
    return plans


def _born(years: float) -> Callable[[Rows], Rows]:
    return lambda copies: {"born_on": later_than(copies["operated_on"], np.full(EACH, years * DAYS_PER_YEAR))}


def _before(field: str, ahead: int) -> Callable[[Rows], Rows]:
    return lambda copies: {field: later_than(copies["operated_on"], np.full(EACH, -ahead))}


def _in_the_future(copies: Rows) -> Rows:
    """Some year typed for another: the patient is as old as before, and nothing has happened since."""
    late = later_than(np.full(EACH, CUTOFF), 400 + 900 * np.arange(EACH))
    age = copies["operated_on"] - copies["born_on"]
    gone = {name: np.full(EACH, NO_DATE) for name in ("followed_until", "died_on", "other_groin_on")}
    return {"operated_on": late, "born_on": late - age} | gone


def _recurred_before(copies: Rows) -> Rows:
    told = np.full(EACH, "examined").astype(copies["recurrence_known_by"].dtype)
    return _before("recurred_on", 100)(copies) | {"recurrence_known_by": told}


def _died_before(copies: Rows) -> Rows:
    return _before("died_on", 300)(copies) | {"followed_until": np.full(EACH, NO_DATE)}


def _told_again(copies: Rows) -> Rows:
    """The same groin and day once more, with another surgeon and no follow-up."""
    return {"surgeon": copies["surgeon"] + 1, "followed_until": np.full(EACH, NO_DATE)}
