"""What a planted fault is, and how faults look in one hospital's file. Types only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

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
    cell : str
        The field whose cell holds it.
    extra : bool
        Whether intake keeps the row as a case, beside the sound ones.
    """

    index: int
    rule: str
    field: str
    raw: str | None = None
    cell: str = ""
    extra: bool = False


@dataclass(frozen=True)
class Slips:
    """How faults look in one hospital's file.

    Attributes
    ----------
    date : str or None
        A date that cannot be read; None where the file holds no text for dates.
    short_year : str
        Style of a date with a year of two digits: "dmy." or "dmy/"; "" where there is none.
    old_age : str
        An impossible age, where ages are told and no births.
    code : (str, str)
        A coded field, and a code that nobody knows.
    sex : str
        A sex that nobody knows.
    two_orders : bool
        Whether its dates as text stand in two orders.
    """

    date: str | None
    short_year: str
    code: tuple[str, str]
    sex: str
    old_age: str = ""
    two_orders: bool = False
