"""What columns tell together: nobody is operated before birth, and an age is what lies between two dates.

Columns in, `Together` out: the order of the file's dates, which columns of dates come first in every row, and which
column of numbers is the age between which two dates, in which unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from .legend_model import UNITS
from .propose_cells import ORDERS, Floats
from .propose_columns import Column

DATED: Final = 0.7
"""Share of filled cells that are dates, from which a column is one of dates."""

_ENOUGH: Final = 8
"""Rows in which two columns must both be filled before they are compared."""


@dataclass(frozen=True)
class AgeFit:
    """A column of numbers that is the time between two dates.

    Attributes
    ----------
    age, born, operated : int
        Positions of the columns.
    unit : str
    share : float
        Of the rows in which all three are filled.
    """

    age: int
    born: int
    operated: int
    unit: str
    share: float


@dataclass(frozen=True)
class Together:
    """What the columns of one table tell together.

    Attributes
    ----------
    order : str or None
        Order of dates written as text; None when every date tells its own, or nothing settles it.
    settled : bool
        Whether the file settles the order.
    why : str
        ``"cells"``, ``"ages"``, ``"births"``, ``"sorted"`` or ``""``: what settled the order.
    dates : dict of int to array
        Day numbers of the columns of dates, by position.
    earliest : dict of int to float
        Share of rows in which a column's date is not after any other's.
    after : dict of (int, int) to float
        Share of rows in which the first column's date is not before the second's.
    ages : tuple of AgeFit
        Best first.
    """

    order: str | None
    settled: bool
    why: str
    dates: dict[int, Floats]
    earliest: dict[int, float]
    after: dict[tuple[int, int], float]
    ages: tuple[AgeFit, ...]


def together(columns: Sequence[Column]) -> Together:
    """Compare the columns of one table."""
    dated = [column for column in columns if column.dates.share >= DATED and column.filled]
    order, settled, why = _order(columns, dated)
    days = {column.position: _days(column, order) for column in dated}
    after = _after(days)
    return Together(order, settled, why, days, _earliest(days), after, _ages(columns, days, after))


def _days(column: Column, order: str | None) -> Floats:
    own, sure = column.dates.best()
    return column.dates.days[own if sure and own else order or "dmy"]


def _order(columns: Sequence[Column], dated: Sequence[Column]) -> tuple[str | None, bool, str]:
    """Order of the file's dates: by cells that only one can read, else by what then fits together."""
    texts = [column for column in dated if not column.dates.plain]
    if not texts:
        return None, True, "plain"
    only = {order: sum(column.dates.only.get(order, 0) for column in texts) for order in ORDERS}
    ranked = sorted(only, key=lambda order: -only[order])
    if only[ranked[0]] > 0:
        return ranked[0], only[ranked[1]] <= 0.02 * only[ranked[0]], "cells"
    fits = {}
    for order in ("dmy", "mdy"):
        days = {column.position: _days(column, order) for column in dated}
        after = _after(days)
        ages = _ages(columns, days, after)
        fits[order] = (ages[0].share if ages else 0.0, _sorted(days))
    first, second = fits["dmy"], fits["mdy"]
    if abs(first[0] - second[0]) > 0.1:
        return ("dmy" if first[0] > second[0] else "mdy"), True, "ages"
    if abs(first[1] - second[1]) > 0.15:
        return ("dmy" if first[1] > second[1] else "mdy"), True, "sorted"
    return "dmy", False, ""


def _sorted(days: dict[int, Floats]) -> float:
    """How nearly the best sorted column of dates is in order, row after row."""
    best = 0.0
    for one in days.values():
        kept = one[np.isfinite(one)]
        if len(kept) >= _ENOUGH:
            steps = np.diff(kept)
            best = max(best, float((steps >= 0).mean()), float((steps <= 0).mean()))
    return best


def _earliest(days: dict[int, Floats]) -> dict[int, float]:
    found = {}
    for one, own in days.items():
        others = [other for at, other in days.items() if at != one]
        if not others:
            continue
        with np.errstate(all="ignore"):
            least = np.fmin.reduce(others)
        both = np.isfinite(own) & np.isfinite(least)
        if both.sum() >= _ENOUGH:
            found[one] = float((own[both] <= least[both]).mean())
    return found


def _after(days: dict[int, Floats]) -> dict[tuple[int, int], float]:
    found = {}
    for one, own in days.items():
        for other, its in days.items():
            both = np.isfinite(own) & np.isfinite(its)
            if one != other and both.sum() >= _ENOUGH:
                found[one, other] = float((own[both] >= its[both]).mean())
    return found


def _ages(
    columns: Sequence[Column], days: dict[int, Floats], after: dict[tuple[int, int], float]
) -> tuple[AgeFit, ...]:
    fits = []
    numbers = [
        column
        for column in columns
        if column.number_share >= 0.8 and column.distinct > 4 and column.position not in days
    ]
    pairs = [
        (one, other) for one in days for other in days if after.get((other, one), 0.0) > 0.9 and one != other
    ]
    for column in numbers:
        age = column.numbers
        for born, operated in pairs:
            gap = days[operated] - days[born]
            both = np.isfinite(age) & np.isfinite(gap)
            if both.sum() < _ENOUGH:
                continue
            for unit, length in UNITS["age"].items():
                off = gap[both] / length - age[both]
                near = float(
                    ((off > -0.06) & (off < 1.02)).mean() if unit != "days" else (abs(off) <= 1).mean()
                )
                close = float((abs(off) < 0.51).mean())
                share = max(near, close)
                if share >= 0.6 and np.ptp(age[both]) > 0:
                    fits.append(AgeFit(column.position, born, operated, unit, share))
    return tuple(sorted(fits, key=lambda fit: -fit.share))
