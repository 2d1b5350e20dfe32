"""What may leave: counts by age in which no cell stands for fewer people than the minimum.

A tally comes in, a table goes out whose rows each stand for at least so many patients: neighbouring ages are joined
until they do, strata too small to stand alone are put together, and small counts of a type become ranges unless the
data officer has consented. The minimum is on people at risk, not on events (design, section 3): with half-year
bins nearly every young direct hernia would otherwise be struck out, and the answer with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ..errors import HingelineError
from ..vocabulary import TYPES
from .bins import edges_years
from .cells import add, combine
from .patterns import runs
from .tally import PatternTally

Ints = NDArray[np.int64]

MINIMUM: Final = 5
"""Fewest people in a cell that may leave; the usual choice of statistical offices lies between 3 and 10."""
OTHERS: Final = "others"
"""Value of every dimension of strata that were too small and are put together."""


@dataclass(frozen=True)
class Presence:
    """Who is where: one row a pattern, stratum and age bin that it touches.

    Attributes
    ----------
    pattern, stratum, bin, patients : array of int, shape (rows,)
        Sorted by stratum, then pattern, then bin.
    before : array of int, shape (rows,)
        The pattern's bin before this one in the same stratum; -1 when this is its first.
    """

    pattern: Ints
    stratum: Ints
    bin: Ints
    patients: Ints
    before: Ints

    def people(self, strata: Sequence[int]) -> int:
        """Count distinct patients in some strata."""
        inside = np.isin(self.stratum, list(strata))
        _, first = np.unique(self.pattern[inside], return_index=True)
        return int(self.patients[inside][first].sum())


def presence(tally: PatternTally, stratum_of_cell: Ints) -> Presence:
    """Find where the patients of a tally are, given the stratum of each of its cells."""
    pattern, cell, _ = tally.long()
    stratum, at = stratum_of_cell[cell], np.asarray(tally.cells["age_bin"].to_numpy(), dtype=np.int64)[cell]
    order = np.lexsort((at, pattern, stratum))
    pattern, stratum, at = pattern[order], stratum[order], at[order]
    once = runs(stratum, pattern, at)
    pattern, stratum, at = pattern[once], stratum[once], at[once]
    first = runs(stratum, pattern)
    before = np.where(first, -1, np.roll(at, 1))
    return Presence(pattern, stratum, at, tally.patients()[pattern], before)


def leavable(
    tally: PatternTally, strata: Sequence[str] = (), minimum: int = MINIMUM, consent: bool = False
) -> pa.Table:
    """Make the table of counts by age and type that may leave.

    Parameters
    ----------
    tally : PatternTally
        Counted by ``type`` and the strata.
    strata : sequence of str
        Dimensions kept apart, ``type`` not among them.
    minimum : int
        Fewest distinct patients in a row.
    consent : bool
        Whether small counts of a type in a row that passes may leave as they are.

    Returns
    -------
    pyarrow.Table
        The strata; ``first_bin`` and ``last_bin``, which tile all ages; ``age_from`` and ``age_to`` in years, to
        draw it (trimmed to where at least the minimum of people lie at or beyond); ``people``; ``n`` groins;
        ``days``, ``days2``; and each type's ``_low`` and ``_high`` count, equal when exact. No rows when all
        patients together are fewer than the minimum.
    """
    if "type" in strata or minimum < 1:
        raise HingelineError(
            "Counts cannot leave in this form",
            "strata, minimum",
            "Types are counted in columns, so 'type' is no stratum; the minimum is 1 or more.",
        )
    # combining refuses a dimension that the tally does not have
    tally.margin(["type", *strata])
    groups, of_cell = combine(tally.cells, strata)
    there = presence(tally, of_cell)
    pooled = _too_small(there, groups.num_rows, minimum)
    if there.people(range(groups.num_rows)) < minimum:
        kept: list[list[int]] = []
    else:
        kept = [[k] for k in range(groups.num_rows) if k not in pooled] + ([sorted(pooled)] if pooled else [])
    columns: dict[str, list[object]] = {name: [] for name in (*strata, "first_bin", "last_bin", "people")}
    ages: list[tuple[float, float]] = []
    row_of = np.full((groups.num_rows, tally.n_bins), -1, dtype=np.int64)
    edges = edges_years(tally.half_years_to, tally.highest)
    for members in kept:
        merged = np.where(np.isin(of_cell, members), 0, 1)
        here = presence(tally, merged)
        starts, people = join_ages(here, 0, minimum)
        ends = [*(start - 1 for start in starts[1:]), tally.n_bins - 1]
        low, high = _drawn(here, 0, minimum)
        for start, end, count in zip(starts, ends, people, strict=True):
            row_of[members, start : end + 1] = len(ages)
            ages.append((float(edges[max(start, low)]), float(edges[min(end, max(high, start)) + 1])))
            for name in strata:
                alone = len(members) == 1 and members[0] not in pooled
                columns[name].append(groups[name][members[0]].as_py() if alone else OTHERS)
            for name, value in (("first_bin", start), ("last_bin", end), ("people", count)):
                columns[name].append(value)
    table = pa.table(
        {
            name: pa.array(values, _kind(tally, name) if name in strata else pa.int64())
            for name, values in columns.items()
        }
    )
    table = table.append_column("age_from", pa.array([low for low, _ in ages], pa.float64()))
    table = table.append_column("age_to", pa.array([high for _, high in ages], pa.float64()))
    return _counted(table, tally, row_of, of_cell, minimum, consent)


def _kind(tally: PatternTally, name: str) -> pa.DataType:
    """Type of a stratum's column: as in the tally when it is text, else text would not fit beside it."""
    kind: pa.DataType = tally.cells.schema.field(name).type
    if kind != pa.string():
        raise HingelineError(
            f"Counts by {name!r} cannot leave",
            "strata",
            "Choose strata whose values are words, such as hospital, sex or approach.",
        )
    return kind


def _too_small(there: Presence, strata: int, minimum: int) -> set[int]:
    """Find strata to put together: those under the minimum, and the next smallest until the pool itself passes."""
    people = {k: there.people([k]) for k in range(strata)}
    pooled = {k for k, count in people.items() if count < minimum}
    rest = sorted((k for k in people if k not in pooled), key=lambda k: (people[k], k))
    while pooled and rest and there.people(sorted(pooled)) < minimum:
        pooled.add(rest.pop(0))
    return pooled


def join_ages(there: Presence, stratum: int, minimum: int) -> tuple[list[int], list[int]]:
    """Join neighbouring bins from the youngest on, each stretch closed as soon as it holds enough people.

    Closing at once gives the most stretches that the minimum allows. What is left at the end goes to the last.

    Returns
    -------
    starts : list of int
        First bin of each stretch; the first is 0.
    people : list of int
        Distinct patients in each.
    """
    inside = there.stratum == stratum
    at, before, patients = there.bin[inside], there.before[inside], there.patients[inside]
    starts, people = [0], [0]
    following = 0
    for here in np.unique(at):
        if people[-1] >= minimum:
            starts.append(following)
            people.append(0)
        # someone already met in this stretch is not met again
        new = (at == here) & (before < starts[-1])
        people[-1] += int(patients[new].sum())
        following = int(here) + 1
    if people[-1] < minimum and len(people) > 1:
        starts.pop()
        people.pop()
        new = (at >= starts[-1]) & (before < starts[-1])
        people[-1] = int(patients[new].sum())
    return starts, people


def _drawn(there: Presence, stratum: int, minimum: int) -> tuple[int, int]:
    """Find the bins from which, and to which, enough people lie at or beyond: the oldest is not given away."""
    inside = there.stratum == stratum
    pattern, at, patients = there.pattern[inside], there.bin[inside], there.patients[inside]
    _, first = np.unique(pattern, return_index=True)
    youngest = np.sort(np.repeat(at[first], np.minimum(patients[first], minimum)))
    last = np.flatnonzero(np.append(pattern[1:] != pattern[:-1], True))
    oldest = np.sort(np.repeat(at[last], np.minimum(patients[last], minimum)))
    return int(youngest[minimum - 1]), int(oldest[-minimum])


def _counted(
    table: pa.Table, tally: PatternTally, row_of: Ints, of_cell: Ints, minimum: int, consent: bool
) -> pa.Table:
    """Add the sums and the counts of each type to the rows."""
    row = row_of[of_cell, np.asarray(tally.cells["age_bin"].to_numpy(), dtype=np.int64)]
    inside = row >= 0
    size = table.num_rows
    for name in ("n", "days", "days2"):
        values = np.asarray(tally.cells[name].to_numpy())
        table = table.append_column(name, pa.array(add(values[inside], row[inside], size)))
    kind, n = np.array(tally.cells["type"].to_pylist(), dtype=object), np.asarray(tally.cells["n"].to_numpy())
    counts = np.zeros((size, len(TYPES)), dtype=np.int64)
    for place, name in enumerate(TYPES):
        of_type = inside & (kind == name)
        counts[:, place] = add(n[of_type], row[of_type], size)
    low, high = (counts, counts) if consent else as_ranges(counts, minimum)
    for place, name in enumerate(TYPES):
        table = table.append_column(f"{name}_low", pa.array(low[:, place]))
        table = table.append_column(f"{name}_high", pa.array(high[:, place]))
    return table


def as_ranges(counts: Ints, minimum: int = MINIMUM, rest: int = 0) -> tuple[Ints, Ints]:
    """Hide small counts in ranges that neither the row's total nor knowledge of this rule undoes.

    Parameters
    ----------
    counts : array of int, shape (rows, parts)
        Counts that add up to each row's total, which is told.
    minimum : int
        A count from 1 to ``minimum - 1`` is small. Nought is told: nobody is in it. A minimum of 2 is taken as 3,
        since 1 to 1 hides nothing.
    rest : int
        The part that takes up what the others leave: always the same one, since to choose the greatest would tell
        that it is the greatest.

    Returns
    -------
    low, high : array of int, shape (rows, parts)
        Small counts become 1 to ``minimum - 1``, and the rest the range that this leaves it. Where that range would
        reach below the minimum, so that it narrowed the others, every count becomes 0 to the total.
    """
    minimum = 3 if minimum == 2 else minimum
    low, high = counts.copy(), counts.copy()
    small = (counts > 0) & (counts < minimum)
    for row in np.flatnonzero(small.any(axis=1)):
        hidden, total = small[row], int(counts[row].sum())
        left = total - int(counts[row][~hidden].sum()) + int(counts[row, rest])
        least, most = (left - int(hidden.sum()) * each for each in (minimum - 1, 1))
        if hidden[rest] or least < minimum:
            low[row], high[row] = 0, total
        else:
            low[row][hidden], high[row][hidden] = 1, minimum - 1
            low[row, rest], high[row, rest] = least, most
    return low, high


def merge_ages(
    frame: pa.Table,
    *,
    minimum: int = MINIMUM,
    strata: Sequence[str] = (),
    people: str = "people",
    sums: Sequence[str] = (),
) -> pa.Table:
    """Join neighbouring age bins of a plain frame until each row holds enough people.

    For frames whose rows hold *different* people, so that their numbers add up; `leavable` counts distinct people
    from a tally and should be used where there is one.

    Parameters
    ----------
    frame : pyarrow.Table
        ``age_bin``, the strata, a column of people and integers to add up.
    minimum, strata
        As in `leavable`; a stratum whose people are fewer than the minimum is left out.
    people : str
        Column of people at risk.
    sums : sequence of str
        Further columns to add up.

    Returns
    -------
    pyarrow.Table
        The strata, ``first_bin``, ``last_bin``, the people and the sums.
    """
    missing = [name for name in ("age_bin", people, *strata, *sums) if name not in frame.column_names]
    if missing:
        raise HingelineError(
            f"The frame lacks {missing[0]!r}",
            "argument frame",
            "Give a frame with that column, or name another.",
        )
    wanted = tuple(dict.fromkeys((people, *sums)))
    table, _ = combine(frame, (*strata, "age_bin"), wanted)
    groups, group = combine(table, strata, (people,))
    at, count = (np.asarray(table[name].to_numpy(), dtype=np.int64) for name in ("age_bin", people))
    alone = np.arange(table.num_rows, dtype=np.int64)
    there = Presence(alone, group, at, count, np.full_like(alone, -1))
    row = np.full(table.num_rows, -1, dtype=np.int64)
    rows: list[tuple[int, int, int]] = []
    for stratum in np.flatnonzero(np.asarray(groups[people].to_numpy()) >= minimum):
        starts, _ = join_ages(there, int(stratum), minimum)
        inside = group == stratum
        row[inside] = len(rows) + np.searchsorted(starts, at[inside], side="right") - 1
        ends = [*(start - 1 for start in starts[1:]), int(at[inside].max())]
        rows += [(int(stratum), start, end) for start, end in zip(starts, ends, strict=True)]
    of, first, last = np.array(rows, dtype=np.int64).reshape(-1, 3).T
    columns: dict[str, object] = {name: groups[name].take(of) for name in strata}
    columns |= {"first_bin": pa.array(first), "last_bin": pa.array(last)}
    kept = row >= 0
    for name in wanted:
        values = np.asarray(table[name].to_numpy())
        columns[name] = pa.array(add(values[kept], row[kept], len(rows)))
    return pa.table(columns)
