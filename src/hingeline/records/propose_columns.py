"""A column as `look` sees it: what its cells are, and a sample of rows side by side with the other columns'.

A `Source` comes in; one `Column` a column goes out, with whole-file counts of its few values and parsed dates and
numbers of the sampled rows. Nothing here knows any field of a case.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .identifier_words import flat
from .layout_cells import letter, pc
from .legend_model import ALWAYS_BLANK, fold
from .source import Source

Floats = NDArray[np.float64]

SAMPLED: Final = 3_000
"""Rows that are looked at side by side: half from the top (keys that repeat stand together), half spread out."""

FEW_VALUES: Final = 400
"""Distinct values of a column that are kept with their counts."""

MANY_VALUES: Final = 50_000
"""Distinct values from which they are no longer counted one by one."""

MOST_DISTINCT: Final = 1_000_000
"""Distinct values that are told apart."""

_LONGEST_BLANK: Final = 4

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


@dataclass(frozen=True)
class Column:
    """One column of an export.

    Attributes
    ----------
    name, header : str
        Name in the table (unique) and as it stands.
    letter : str
        As a spreadsheet shows it.
    position, rows, filled : int
    distinct : int
        Distinct filled cells; counted up to `MOST_DISTINCT`.
    counts : mapping of str to int
        Values with their counts, the commonest first, up to `FEW_VALUES` of them.
    cells : sequence of (str or None)
        Of the sampled rows.
    dates : DatesSeen
    numbers : array of float
        Of the sampled rows; not-a-number where a cell is none.
    """

    name: str
    header: str
    letter: str
    position: int
    rows: int
    filled: int
    distinct: int
    counts: Mapping[str, int]
    cells: Sequence[str | None] = field(repr=False)
    dates: DatesSeen = field(repr=False)
    numbers: Floats = field(repr=False)

    @property
    def fill(self) -> float:
        """Share of rows that are filled."""
        return self.filled / self.rows if self.rows else 0.0

    @cached_property
    def number_share(self) -> float:
        """Share of the sample's filled cells that are numbers."""
        filled = sum(cell is not None for cell in self.cells)
        return float(np.isfinite(self.numbers).sum()) / filled if filled else 0.0

    @cached_property
    def mean_length(self) -> float:
        """Mean characters of a filled cell of the sample."""
        lengths = [len(cell) for cell in self.cells if cell is not None]
        return sum(lengths) / len(lengths) if lengths else 0.0


def columns_of(source: Source) -> tuple[Column, ...]:
    """Look at every column of a source, in one pass."""
    counted = [_Counted() for _ in source.names]
    cells: list[list[str | None]] = [[] for _ in source.names]
    taken = _sampled(source.n_rows)
    at = before = 0
    for batch in source.batches():
        rows = batch.num_rows
        own = []
        while at < len(taken) and taken[at] < before + rows:
            own.append(taken[at] - before)
            at += 1
        chosen = pa.array(own, pa.int64())
        for position, name in enumerate(source.names):
            column = batch.column(name)
            counted[position].add(column)
            if own:
                cells[position] += column.take(chosen).to_pylist()
        before += rows
    return tuple(
        _seen(source, position, counted[position], cells[position]) for position in range(len(source.names))
    )


def _seen(source: Source, position: int, counted: _Counted, sampled: Sequence[str | None]) -> Column:
    cells = [None if cell is None or fold(cell) in ALWAYS_BLANK else cell for cell in sampled]
    return Column(
        name=source.names[position],
        header=source.header[position],
        letter=letter(position + 1),
        position=position,
        rows=source.n_rows,
        filled=counted.filled,
        distinct=counted.distinct,
        counts=counted.commonest(),
        cells=cells,
        dates=dates_of(cells),
        numbers=numbers_of(cells, source.decimal),
    )


def _sampled(rows: int) -> list[int]:
    if rows <= SAMPLED:
        return list(range(rows))
    half = SAMPLED // 2
    step = (rows - half) / half
    return sorted({*range(half), *(half + int(i * step) for i in range(half))})


class _Counted:
    """Values of a column and how often each stands, batch by batch; beyond many distinct ones only their number."""

    def __init__(self) -> None:
        self.filled = 0
        self._counts: Counter[str] = Counter()
        self._hashes: set[int] = set()
        self._many = False

    def add(self, column: Any) -> None:
        """Count a batch."""
        counted: Any = pc.value_counts(column.drop_null())
        values, times = counted.field("values").to_pylist(), counted.field("counts").to_pylist()
        for value, n in zip(values, times, strict=True):
            if len(value) <= _LONGEST_BLANK and fold(value) in ALWAYS_BLANK:
                continue
            self.filled += n
            if self._many:
                self._hashes.add(hash(value))
            else:
                self._counts[value] += n
        if not self._many and len(self._counts) > MANY_VALUES:
            self._many = True
            self._hashes = {hash(value) for value in self._counts}
            self._counts = Counter(dict(self._counts.most_common(FEW_VALUES)))
        if len(self._hashes) > MOST_DISTINCT:
            self._hashes = set(list(self._hashes)[:MOST_DISTINCT])

    @property
    def distinct(self) -> int:
        """Distinct values, counted up to `MOST_DISTINCT`."""
        return len(self._hashes) if self._many else len(self._counts)

    def commonest(self) -> dict[str, int]:
        """Return the values with their counts, the commonest first."""
        return dict(self._counts.most_common(FEW_VALUES))


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
