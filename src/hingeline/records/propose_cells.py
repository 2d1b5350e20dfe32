"""Cells read as dates in every order and as numbers, so that columns can be compared before any order is known.

Cells of sampled rows come in; day numbers, the orders that cells leave open, and numbers go out.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .identifier_words import flat

Floats = NDArray[np.float64]

ORDERS: Final = ("dmy", "mdy", "ymd")


@dataclass(frozen=True)
class DatesSeen:
    """Cells read as dates.

    Attributes
    ----------
    share : float
        Of the filled cells of the sample.
    days : mapping of str to array of float
        Day numbers of the sampled rows for each order that is possible; not-a-number where there is none.
    only : mapping of str to int
        Cells that only one order can read.
    plain : bool
        Whether every date stands year first or with its month's name, so that no order is needed.
    """

    share: float
    days: Mapping[str, Floats]
    only: Mapping[str, int]
    plain: bool

    def best(self) -> tuple[str | None, bool]:
        """Likeliest order, and whether the column settles it by itself."""
        if self.plain:
            return None, True
        ranked = sorted(self.only, key=lambda order: -self.only[order])
        first, second = self.only[ranked[0]], self.only[ranked[1]]
        return ranked[0], first > 0 and second <= 0.02 * first


_TIME: Final = r"(?:[T ,]+\d{1,2}[:.h]\d{2}.*)?$"
_YEAR_FIRST: Final = re.compile(r"^(\d{4})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{1,2})" + _TIME)
_COMPACT: Final = re.compile(r"^((?:18|19|20|21)\d{2})(0[1-9]|1[0-2])([0-2]\d|3[01])(?:\d{4}|\d{6})?$")
_THREE: Final = re.compile(r"^(\d{1,2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{4}|\d{2})" + _TIME)
_DAY_NAME: Final = re.compile(
    r"^(\d{1,2})\.?[\s/-]*(?:de )?([^\W\d_]{3,})\.?[\s/,-]*(?:de )?(\d{4}|\d{2})" + _TIME
)
_NAME_DAY: Final = re.compile(r"^([^\W\d_]{3,})\.?\s+(\d{1,2})\.?,?\s+(\d{4})" + _TIME)
_MONTHS: Final = {
    start: number
    for number, starts in enumerate(
        (
            "jan ene gen sty",
            "feb fev lut", "mar mae mrt maa", "apr avr abr kwi", "may mai mei mag maj", "jun giu cze",
            "jul lug lip", "aug aou ago sie", "sep set wrz", "oct okt ott out paz", "nov lis", "dec dez dic des gru",
        ),
        1,
    )
    for start in starts.split()
}  # fmt: skip


def dates_of(cells: Sequence[str | None]) -> DatesSeen:
    """Read cells as dates in every order."""
    days: dict[str, Floats] = {order: np.full(len(cells), np.nan) for order in ORDERS}
    only: Counter[str] = Counter(dict.fromkeys(ORDERS, 0))
    read: dict[str, tuple[int | None, int | None, int | None, bool]] = {}
    filled = dated = 0
    plain = True
    for at, cell in enumerate(cells):
        if cell is None:
            continue
        filled += 1
        if cell not in read:
            read[cell] = _date(cell)
        dmy, mdy, ymd, told = read[cell]
        if dmy is None and mdy is None and ymd is None:
            continue
        dated += 1
        for order, day in zip(ORDERS, (dmy, mdy, ymd), strict=True):
            if day is not None:
                days[order][at] = day
        if not told:
            plain = False
            possible = [order for order, day in zip(ORDERS, (dmy, mdy, ymd), strict=True) if day is not None]
            if len(possible) == 1 or possible == ["dmy", "ymd"] or possible == ["mdy", "ymd"]:
                # a short year first is rare, so that it gains nothing from what another order reads
                only[possible[0]] += 1
    return DatesSeen(dated / filled if filled else 0.0, days, dict(only), plain)


def _date(cell: str) -> tuple[int | None, int | None, int | None, bool]:
    """Day number in each order, and whether the cell tells its own order."""
    if len(cell) > 40 or not any(map(str.isdigit, cell)):
        return None, None, None, False
    if found := _YEAR_FIRST.match(cell) or _COMPACT.match(cell):
        year, month, day = (int(one) for one in found.groups()[:3])
        told = _day(year, month, day)
        return told, told, told, True
    if found := _THREE.match(cell):
        a, b, c = (int(one) for one in found.groups()[:3])
        short = len(found.group(3)) == 2
        return (
            _day(c, b, a, short),
            _day(c, a, b, short),
            _day(a, b, c, True) if short and a < 100 else None,
            False,
        )
    if found := _DAY_NAME.match(cell):
        told = _named(found.group(3), found.group(2), found.group(1))
        return told, told, told, True
    if found := _NAME_DAY.match(cell):
        told = _named(found.group(3), found.group(1), found.group(2))
        return told, told, told, True
    return None, None, None, False


def _named(year: str, month: str, day: str) -> int | None:
    name = flat(month)
    number = 6 if name.startswith("juin") else 7 if name.startswith("juil") else _MONTHS.get(name[:3])
    return _day(int(year), number, int(day), len(year) == 2) if number else None


def _day(year: int, month: int, day: int, short: bool = False) -> int | None:
    if short:
        year += 2000 if year <= _THIS_YEAR % 100 else 1900
    if not 1880 <= year <= _THIS_YEAR + 90:
        return None
    try:
        return dt.date(year, month, day).toordinal()
    except ValueError:
        return None


_THIS_YEAR: Final = dt.date.today().year
_NUMBER: Final = re.compile(r"^[+−-]?\d+(?:\.\d+)?$")


def numbers_of(cells: Sequence[str | None], decimal: str) -> Floats:
    """Read cells as numbers; a unit behind one is left aside."""
    values = np.full(len(cells), np.nan)
    read: dict[str, float] = {}
    for at, cell in enumerate(cells):
        if cell is None or len(cell) > 24:
            continue
        if cell not in read:
            read[cell] = _number(cell, decimal)
        values[at] = read[cell]
    return values


def _number(cell: str, decimal: str) -> float:
    plain = re.sub(r"\s*[^\W\d_]{1,8}\.?$", "", cell).replace(" ", "").replace("−", "-")
    if plain.count(",") == 1 and "." not in plain and (decimal == "," or len(plain.split(",")[1]) != 3):
        plain = plain.replace(",", ".")
    return float(plain) if _NUMBER.match(plain) else float("nan")
