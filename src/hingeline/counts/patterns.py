"""Patient patterns: the sorted cells that one patient occupies, each once with the patients who have it.

Loose (owner, cell) pairs come in, patterns in one canonical order go out: short before long, then by cell.
The order depends on the patterns alone: the same cases give the same bytes in whatever order their rows came.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Patterns:
    """Distinct patterns as a long table and the patients behind each.

    Attributes
    ----------
    pattern, cell, groins : array of int, shape (rows,)
        Pattern ``pattern`` has ``groins`` operations in ``cell``; sorted by pattern, then cell.
    patients : array of int, shape (patterns,)
        Patients with each pattern.
    """

    pattern: Ints
    cell: Ints
    groins: Ints
    patients: Ints


def runs(*columns: Ints) -> NDArray[np.bool_]:
    """Mark the first row of every run of equal rows; the columns are sorted together."""
    starts = np.ones(columns[0].size, dtype=np.bool_)
    if starts.size:
        starts[1:] = np.logical_or.reduce([column[1:] != column[:-1] for column in columns])
    return starts


def merge(owner: Ints, cell: Ints, patients: Ints) -> Patterns:
    """Gather pairs into patterns.

    Parameters
    ----------
    owner, cell : array of int, shape (pairs,)
        One pair a groin; the owner is a place in ``patients``. Owners without a pair are left out.
    patients : array of int, shape (owners,)
        Patients that each owner stands for.
    """
    order = np.lexsort((cell, owner))
    cell = cell[order]
    sizes = np.bincount(owner, minlength=patients.size)
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]]) if sizes.size else sizes
    blocks = []
    offset = 0
    for size in np.unique(sizes[sizes > 0]):
        members = np.flatnonzero(sizes == size)
        block = _distinct(cell[starts[members][:, None] + np.arange(size)], patients[members], offset)
        offset += block.patients.size
        blocks.append(block)
    return Patterns(
        *(
            np.concatenate([np.empty(0, dtype=np.int64), *(getattr(block, name) for block in blocks)])
            for name in ("pattern", "cell", "groins", "patients")
        )
    )


def _distinct(cells: Ints, patients: Ints, offset: int) -> Patterns:
    """Join equal rows of a matrix of sorted cells, one row an owner, all of one length."""
    order = np.lexsort(cells.T[::-1])
    cells = cells[order]
    first = runs(*cells.T)
    merged = np.add.reduceat(patients[order], np.flatnonzero(first))
    cells = cells[first]
    # one row a distinct cell of a pattern, with the number of times that it stands there
    pattern = np.repeat(np.arange(cells.shape[0], dtype=np.int64), cells.shape[1])
    cell = cells.ravel()
    starts = np.flatnonzero(runs(pattern, cell))
    groins = np.diff(np.append(starts, cell.size))
    return Patterns(pattern[starts] + offset, cell[starts], groins, merged)


def spread(pattern: Ints, cell: Ints, groins: Ints) -> tuple[Ints, Ints]:
    """Undo the count of groins: one (pattern, cell) pair a groin."""
    return np.repeat(pattern, groins), np.repeat(cell, groins)
