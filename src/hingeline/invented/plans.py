"""The kinds of fault that are planted, one entry a rule.

Rules are named as intake names them; a hospital commits those for which its file has the columns.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from hingeline.invented.faults import Slips
from hingeline.invented.note_told import told_of
from hingeline.invented.plan_changes import (
    A_WOMAN,
    EXAMINED,
    Change,
    Raw,
    a_day_apart,
    bad_date,
    before,
    born,
    both,
    died_before,
    either_order,
    high_ligation,
    holds,
    in_the_future,
    late,
    left_open,
    no_side,
    of_other_side,
    of_other_type,
    orchidopexy,
    other_ehs,
    other_groin_again,
    remarking,
    repaired,
    same,
    short_year,
    told_again,
    too_old,
)
from hingeline.invented.remarks import remark


@dataclass(frozen=True)
class Plan:
    """One kind of fault.

    Attributes
    ----------
    rule, field : str
        The rule, and the field that is listed.
    needs : frozenset of str
        Fields that the legend must read.
    lacks : frozenset of str
        Fields that it must not read.
    change : callable
        From copies of sound rows to their changed columns.
    raw : callable
        What the cell holds in place of its value.
    cell : str
        The field whose cell holds it, when it is another than the listed one.
    when : callable
        Whether a hospital of such slips commits it.
    new_patient, moved : bool
        Whether the copy is another patient's, and of other days.
    again : bool
        Whether it is a later operation of the patient.
    extra : bool
        Whether intake keeps it as a case.
    twin : bool
        Whether the sound row is listed as well.
    pair : bool
        Whether the two copies are of one row, and one new patient's.
    in_place : bool
        Whether a sound later operation of a groin is changed itself, which intake puts right.
    """

    rule: str
    field: str
    needs: frozenset[str] = frozenset()
    lacks: frozenset[str] = frozenset()
    change: Change = lambda copies: {}
    raw: Raw = lambda copies, j, slips: None
    cell: str = ""
    when: Callable[[Slips], bool] = lambda slips: True
    new_patient: bool = True
    moved: bool = True
    again: bool = False
    extra: bool = False
    twin: bool = False
    pair: bool = False
    in_place: bool = False

    def fits(self, fields: frozenset[str], slips: Slips) -> bool:
        """Whether a hospital can commit it."""
        return self.needs <= fields and not self.lacks & fields and self.when(slips)


def _needs(*names: str) -> frozenset[str]:
    return frozenset(names)


def _text_dates(slips: Slips) -> bool:
    return slips.date is not None


def _short_years(slips: Slips) -> bool:
    return bool(slips.short_year)


PLANS: Final = (
    # Repeats first: each is a copy of a row that no other fault is made of.
    Plan("exact duplicate", "patient", new_patient=False, moved=False),
    Plan("same groin twice on one day", "operated_on", change=told_again, new_patient=False, moved=False),
    Plan(
        "near-duplicate",
        "patient",
        _needs("born_on", "operated_on"),
        moved=False,
        extra=True,
        twin=True,
    ),
    Plan(
        "near-duplicate",
        "operated_on",
        _needs("operated_on"),
        _needs("born_on"),
        change=a_day_apart,
        extra=True,
        pair=True,
    ),
    Plan(
        "recurrence without a primary",
        "occurrence",
        change=other_groin_again,
        new_patient=False,
        moved=False,
        again=True,
        extra=True,
    ),
    Plan(
        "later operation of a groin called primary",
        "occurrence",
        _needs("type"),
        change=same("occurrence", "primary"),
        new_patient=False,
        moved=False,
        in_place=True,
    ),
    # What sets a groin aside.
    Plan("no patient key", "patient", raw=holds("")),
    Plan("operation in the future", "operated_on", change=in_the_future),
    Plan("age outside 0–110", "age", _needs("born_on"), change=born(-118)),
    Plan(
        "age outside 0–110",
        "age",
        _needs("age"),
        _needs("born_on"),
        raw=lambda copies, j, slips: slips.old_age,
    ),
    Plan("operation before birth", "operated_on", _needs("born_on"), change=born(0.4)),
    Plan("no usable age", "age", _needs("born_on"), _needs("age"), raw=holds(""), cell="born_on"),
    Plan("no usable age", "age", _needs("age"), _needs("born_on"), raw=holds("")),
    Plan("death before operation", "died_on", _needs("died_on"), change=died_before),
    Plan("unusable sex", "sex", raw=lambda copies, j, slips: slips.sex),
    Plan("unusable side", "side", _needs("side"), raw=holds("?")),
    Plan("unusable side", "side", _needs("note"), _needs("side"), raw=no_side, cell="note"),
    Plan("unusable date", "operated_on", raw=bad_date, when=_text_dates),
    Plan("ambiguous date", "operated_on", raw=either_order, when=lambda slips: slips.two_orders),
    Plan(
        "recurrence before operation",
        "recurred_on",
        _needs("recurred_on"),
        change=both(before("recurred_on", 100), EXAMINED),
    ),
    # What costs a value, or is noted.
    Plan(
        "follow-up before operation",
        "followed_until",
        _needs("followed_until"),
        change=before("followed_until", 40),
        extra=True,
    ),
    Plan(
        "follow-up after the cut-off",
        "followed_until",
        _needs("followed_until"),
        change=late("followed_until", 60),
        extra=True,
    ),
    Plan(
        "event after the cut-off",
        "recurred_on",
        _needs("recurred_on"),
        change=both(late("recurred_on", 30), EXAMINED),
        extra=True,
    ),
    Plan(
        "recurrence without a usable date",
        "recurred_on",
        _needs("recurred_on"),
        change=EXAMINED,
        raw=bad_date,
        extra=True,
        when=_text_dates,
    ),
    Plan(
        "other groin before operation",
        "other_groin_on",
        _needs("other_groin_on"),
        change=before("other_groin_on", 500),
        extra=True,
    ),
    Plan(
        "female with a testicular complication",
        "testicular_atrophy",
        _needs("testicular_atrophy"),
        change=both(A_WOMAN, same("testicular_atrophy", True)),
        extra=True,
    ),
    Plan("high ligation with mesh", "repair", _needs("mesh_used"), change=high_ligation, extra=True),
    Plan(
        "repair and mesh disagree",
        "repair",
        _needs("mesh_used"),
        change=both(repaired("tissue"), same("mesh_used", True)),
        extra=True,
    ),
    Plan(
        "ambiguous date left empty",
        "born_on",
        _needs("born_on", "age"),
        raw=either_order,
        when=lambda slips: slips.two_orders,
        extra=True,
    ),
    Plan(
        "unusable date left empty",
        "followed_until",
        _needs("followed_until"),
        raw=bad_date,
        extra=True,
        when=_text_dates,
    ),
    Plan("unusable number", "weight_kg", _needs("weight_kg"), raw=holds("not weighed"), extra=True),
    Plan(
        "two-digit year",
        "followed_until",
        _needs("followed_until"),
        raw=short_year("followed_until"),
        extra=True,
        when=_short_years,
    ),
    Plan("type and EHS code disagree", "type", _needs("type", "ehs"), raw=other_ehs, cell="ehs", extra=True),
    Plan("age and birth date disagree", "age", _needs("age", "born_on"), raw=too_old, extra=True),
    Plan("cell begins like a formula", "surgeon", _needs("surgeon"), raw=holds("=B7+1"), extra=True),
    # What a remark tells otherwise than the columns.
    Plan(
        "type and note disagree", "type", _needs("note", "type"), raw=of_other_type, cell="note", extra=True
    ),
    Plan(
        "side and note disagree", "side", _needs("note", "side"), raw=of_other_side, cell="note", extra=True
    ),
    Plan(
        "repair and note disagree",
        "repair",
        _needs("note", "repair"),
        change=repaired("tissue"),
        raw=remarking("repair", "high_ligation"),
        cell="note",
        extra=True,
    ),
    Plan(
        "approach and note disagree",
        "approach",
        _needs("note", "approach"),
        change=repaired("high_ligation"),
        raw=remarking("approach", "laparoscopic"),
        cell="note",
        extra=True,
    ),
    Plan(
        "occurrence and note disagree",
        "occurrence",
        _needs("note", "ehs"),
        raw=remarking("occurrence", "recurrent"),
        cell="note",
        extra=True,
    ),
    Plan(
        "reason and note disagree",
        "reason",
        _needs("note", "reason"),
        change=repaired("high_ligation"),
        raw=orchidopexy,
        cell="note",
        extra=True,
    ),
    Plan(
        "mesh and note disagree",
        "mesh_used",
        _needs("note", "mesh_used"),
        change=both(repaired("tissue"), same("repair", "unknown"), same("mesh_used", True)),
        raw=lambda copies, j, slips: remark(replace(told_of(copies)[j], repair="tissue")),
        cell="note",
        extra=True,
    ),
    Plan("doubtful note", "note", _needs("note"), _needs("type"), raw=left_open, extra=True),
)
"""Every rule on an operation, in the order in which rows are chosen for them."""

CODE_PLAN: Final = "unknown code"
"""The rule whose field differs between hospitals."""


def plans(fields: frozenset[str], slips: Slips) -> list[Plan]:
    """The plans that a hospital of such columns and slips commits."""
    name, text = slips.code
    coded = Plan(CODE_PLAN, name, _needs(name), raw=holds(text), extra=True)
    return [plan for plan in (*PLANS, coded) if plan.fits(fields, slips)]
