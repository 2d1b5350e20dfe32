"""What stands below the last record: a row of totals, or a remark.

The last rows come in; which of them are no records, and why, goes out. A row that could be a record stays one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from math import isclose
from typing import Final

Cells = Sequence[str | None]

LOOKED_AT: Final = 64
"""Rows at the foot of a file that are held back until it is known whether more follow."""

_AT_MOST: Final = 6
TOTALS: Final = "a row of totals, no record"
REMARK: Final = "a remark below the records"

_TOTAL: Final = re.compile(
    r"(?:(?:grand|over-?all|sub-?)?\s?totals?|sums?|gesamt(?:summe|zahl)?|summen?|insgesamt|zwischensumme|anzahl|sommes?|"
    r"total\s(?:g[ée]n[ée]ral|general|generale)|totales|totale|totaux|totaal|som|somma|suma|razem|ogółem|celkem|sammanlagt|"
    r"i\salt|yhteensä|összesen|toplam|итого|всего|σύνολο|counts?|n|number(?:\sof\s\w+)?|averages?|means?|mittelwert|"
    r"durchschnitt|moyenne|media|medians?|mediaan|gemiddelde?)"
    r"\s*(?:[:=]\s*)?(?:[\d.,\s]*)(?:\s?(?:rows?|records?|cases?|patients?|operations?|fälle|patienten|cas|casos|casi))?[.:]?",
    re.IGNORECASE,
)
_COUNT: Final = re.compile(r"n\s*=\s*\d[\d.,\s]*", re.IGNORECASE)
_NUMBER: Final = re.compile(r"[-+]?\d+(?:[.,]\d+)*\s?%?")


def foot(
    rows: Sequence[tuple[int, Cells]], of: int, total_of: Callable[[int], tuple[int, float] | None]
) -> list[tuple[int, str]]:
    """Tell which of the last rows are no records.

    Parameters
    ----------
    rows : sequence of (int, cells)
        The last rows with their numbers, in order.
    of : int
        Rows in all, these among them.
    total_of : callable
        Count of the filled cells and sum of a column above the last rows given; None when that is not known.

    Returns
    -------
    list of (int, str)
        Place among ``rows`` and why, from the last one up.
    """
    found: list[tuple[int, str]] = []
    for place in range(len(rows) - 1, max(-1, len(rows) - 1 - _AT_MOST), -1):
        usual = _usual([cells for _, cells in rows[:place]])
        number, cells = rows[place]
        gap = place > 0 and number - rows[place - 1][0] > 1
        why = _why(cells, usual, gap or bool(found), place, rows, of, total_of)
        if why is None:
            break  # a record: what stands above it is no foot
        found.append((place, why))
    return found


def _usual(rows: Sequence[Cells]) -> float:
    """Cells that a row fills, usually."""
    if not rows:
        return 0.0
    filled = sorted(sum(cell is not None for cell in cells) for cells in rows)
    return float(filled[len(filled) // 2])


def _why(
    cells: Cells,
    usual: float,
    apart: bool,
    place: int,
    rows: Sequence[tuple[int, Cells]],
    of: int,
    total_of: Callable[[int], tuple[int, float] | None],
) -> str | None:
    filled = [(column, cell) for column, cell in enumerate(cells) if cell is not None]
    if not filled or place == 0:
        return None
    words = [cell for _, cell in filled if not _NUMBER.fullmatch(cell)]
    numbers = [(column, cell) for column, cell in filled if _NUMBER.fullmatch(cell)]
    # "N" may be a code and "n" a tick: a bare letter totals nothing.
    totals = [cell for cell in words if (len(cell) > 1 and _TOTAL.fullmatch(cell)) or _COUNT.fullmatch(cell)]
    leading = filled[0][1] in totals or (bool(totals) and _COUNT.fullmatch(totals[0]) is not None)
    if leading and len(totals) == len(words) and (len(filled) <= 0.75 * usual or usual <= 2):
        return TOTALS
    sparse = usual >= 3 and len(filled) <= usual / 2
    if sparse and not words and place >= 2:
        return TOTALS if _sums(numbers, rows[:place], of - (len(rows) - place), total_of) else None
    if usual >= 4 and len(filled) == 1 and words and apart and len(words[0].split()) >= 2:
        return REMARK
    return None


def _sums(
    numbers: Sequence[tuple[int, str]],
    above: Sequence[tuple[int, Cells]],
    of: int,
    total_of: Callable[[int], tuple[int, float] | None],
) -> bool:
    """Whether every number is the count of rows, or the count or the sum of what stands above it."""
    for column, cell in numbers:
        before = total_of(column)
        value = as_number(cell)
        last = above[-1][1][column]
        if value is None or (last is not None and as_number(last) == value - 1):
            return False  # a number that goes on counting is a record's own
        here = [one for _, cells in above if (one := cells[column]) is not None]
        counts, total = [of], None
        if before is not None:
            counts.append(before[0] + len(here))
            total = before[1] + sum(filter(None, map(as_number, here)))
        if value not in counts and (total is None or not isclose(value, total, rel_tol=1e-6, abs_tol=0.005)):
            return False
    return True


def as_number(cell: str) -> float | None:
    """Read a plain number with either decimal mark."""
    try:
        return float(cell.replace(",", "."))
    except ValueError:
        return None
