"""What of two readers' table may leave: a table of counts and the study's rule come in, what is hidden goes out.

Without the data officers' consent small cells are hidden, others with them, and kappa is told as a band, and that only
where no band would give a hidden cell away. What is hidden beside small cells is chosen by place, never by size, and
whether the band is told follows from what is told anyhow, so that neither choice says anything more.
"""

from __future__ import annotations

from itertools import combinations
from math import comb
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .outcome_cells import Leaving

Cells = NDArray[np.int64]
Mask = NDArray[np.bool_]

BANDS: Final = (0.2, 0.4, 0.6, 0.8)
"""Where one band of kappa ends and the next begins."""
UNDEFINED: Final = -1
"""In place of a band: a reader gave one answer throughout, and kappa tells nothing."""
TRIED: Final = 3000
"""Tables that are tried in full; of more, so many are drawn."""


def any_small(cells: NDArray[np.float64] | Cells, leaving: Leaving) -> bool:
    """Whether a count may not leave as it is."""
    counts = np.asarray(cells)
    return not leaving.consent and bool(((counts > 0) & (counts < leaving.least)).any())


def hidden_cells(cells: Cells, leaving: Leaving) -> Mask:
    """Choose the cells of a table that are hidden.

    Parameters
    ----------
    cells : (answers, answers) int
        Of two readers; their sum is told.
    leaving : Leaving

    Returns
    -------
    array of bool, as ``cells``
        Small cells, and others until the hidden ones together say nothing of each: first those on which readers
        differ, by their place. The whole table, noughts too, where even that would tell.
    """
    hidden = np.zeros(cells.shape, dtype=np.bool_)
    if not any_small(cells, leaving):
        return hidden
    hidden |= (cells > 0) & (cells < leaving.least)
    for place in _order(cells, hidden):
        if _safe(cells[hidden], leaving.least):
            break
        hidden[place] = True
    if not _safe(cells[hidden], leaving.least):
        hidden[:] = True
    return hidden


def _order(cells: Cells, hidden: Mask) -> list[tuple[int, int]]:
    last = len(cells) - 1
    places = [(i, j) for i in range(last, -1, -1) for j in range(last, -1, -1)]
    places.sort(key=lambda place: place[0] == place[1])
    return [place for place in places if cells[place] > 0 and not hidden[place]]


def _safe(counts: Cells, least: int) -> bool:
    """Whether counts of which the sum is known stay open: two at least, not all 1, not all the most that is small."""
    size, total = len(counts), int(counts.sum())
    return size >= 2 and total >= least and total not in (size, size * (least - 1))


def band_of(known: NDArray[np.float64] | Cells) -> int:
    """Return the band that kappa of a table lies in, or `UNDEFINED`."""
    table = np.asarray(known, dtype=np.float64)
    total = table.sum()
    first, second = table.sum(axis=1), table.sum(axis=0)
    if total == 0 or (first > 0).sum() < 2 or (second > 0).sum() < 2:
        return UNDEFINED
    chance = float(first @ second) / total**2
    kappa = (float(np.trace(table)) / total - chance) / (1 - chance)
    return int(np.searchsorted(BANDS, round(kappa, 9), side="left"))


def band_told(cells: Cells, leaving: Leaving) -> int | None:
    """Return the band of kappa, or None where it would give a hidden cell away.

    Parameters
    ----------
    cells : (answers + 1, answers + 1) int
        What a reader left open stands last.
    leaving : Leaving
    """
    hidden = hidden_cells(cells, leaving)
    if hidden.all():
        return None
    by_band: dict[int, list[Cells]] = {}
    public = np.where(hidden, 0, cells)
    for filled in fillings(int(hidden.sum()), int(cells[hidden].sum())):
        table = public.copy()
        table[hidden] = filled
        if (hidden_cells(table, leaving) == hidden).all():
            by_band.setdefault(band_of(table[:-1, :-1]), []).append(filled)
    for found in by_band.values():
        tried = np.array(found)
        alike = (tried == tried[0]).all(axis=0)
        if (alike & (tried[0] < leaving.least)).any():
            return None
    band = band_of(cells[:-1, :-1])
    return band if band in by_band or not hidden.any() else None


def fillings(size: int, total: int) -> Cells:
    """Return ways to fill so many hidden cells with counts of 1 or more that sum to a total: all, or `TRIED` drawn.

    The draw depends on the size and the total alone, both of which are told.
    """
    if size == 0:
        return np.zeros((0, 0), dtype=np.int64)
    if comb(total - 1, size - 1) <= TRIED:
        cuts = np.array(list(combinations(range(1, total), size - 1)), dtype=np.int64).reshape(-1, size - 1)
        ends = np.full((len(cuts), 1), total)
        return np.diff(np.hstack([np.zeros_like(ends), cuts, ends]), axis=1)
    generator = np.random.default_rng([size, total])
    even = np.full(size, 1 / size)
    spread = 1 + generator.multinomial(total - size, even, TRIED // 2)
    # most in one cell, as where a large one was hidden beside small ones
    small = generator.integers(1, 5, (TRIED // 2, size))
    small[np.arange(len(small)), generator.integers(0, size, len(small))] = 0
    rest = total - small.sum(axis=1)
    small[small == 0] = np.maximum(rest, 0)
    return np.vstack([spread, small[rest > 0]]).astype(np.int64)
