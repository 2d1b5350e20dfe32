"""What somebody who holds everything that left could work out: the attack that tables must withstand.

The tables that left and the tally behind them come in, the groups that could be singled out go out. Sums are taken
as equations: whatever follows from them by adding and subtracting rows of any tables, across margins and over
successive occasions, is found by projecting on the space that the rows span (the linear audit of statistical
disclosure control; Hundepool et al. 2012, Statistical Disclosure Control, ch. 4; memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits  # type: ignore[import-untyped, unused-ignore]

from .. import wording
from .cells import add, codes_of, combine, levels_of
from .disclosure import MINIMUM, OTHERS, leavable
from .patterns import runs
from .tally import PatternTally

Ints = NDArray[np.int64]

NEAR: Final = 1e-7
"""Squared distance from the rows' span under which a group counts as worked out."""


@dataclass(frozen=True)
class Release:
    """A table that left, and which cases it is of.

    Attributes
    ----------
    table : pyarrow.Table
        As `leavable` makes it: the strata, ``first_bin``, ``last_bin``, counts.
    strata : tuple of str
    where : mapping
        The restriction under which it was counted, as for `PatternTally.where`.
    """

    table: pa.Table
    strata: tuple[str, ...] = ()
    where: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Breach:
    """A group of too few people about whom something can be worked out.

    Attributes
    ----------
    group : dict
        The dimensions that single it out; those not named are summed over.
    first_bin, last_bin : int
    people : int
    """

    group: dict[str, Any]
    first_bin: int
    last_bin: int
    people: int

    def __str__(self) -> str:
        return wording.breach(self.group, self.first_bin, self.last_bin, self.people)


def breaches(releases: Sequence[Release], tally: PatternTally, minimum: int = MINIMUM) -> list[Breach]:
    """Find stretches of age, in any stratum or margin, whose counts follow from what left and whose people are few.

    Parameters
    ----------
    releases : sequence of Release
        Everything that left, earlier occasions included.
    tally : PatternTally
        What they were counted from, unmerged and unrestricted.
    minimum : int

    Returns
    -------
    list of Breach
        Empty when nothing can be worked out. The attacker is taken to know which cells are empty.
    """
    # a table that was given up tells nothing, and names no margin to look at
    releases = [release for release in releases if release.table.num_rows]
    if not releases:
        return []
    names = (name for release in releases for name in (*release.strata, *release.where))
    dimensions = tuple(dict.fromkeys(name for name in names if name != "age_bin"))
    atoms, atom_of_cell = combine(tally.cells, (*dimensions, "age_bin"))
    rows = [row for release in releases for row in _rows(release, atoms, dimensions)]
    if not rows or not atoms.num_rows:
        return []
    known = Known(np.array(rows, dtype=np.bool_))
    few = _few_people(tally, atom_of_cell, atoms.num_rows, minimum)
    at = np.asarray(atoms["age_bin"].to_numpy(), dtype=np.int64)
    found: dict[tuple[int, ...], Breach] = {}
    for group, inside in _groups(atoms, dimensions):
        members = np.flatnonzero(inside)
        members = members[np.argsort(at[members], kind="stable")]
        for chosen, people in _small_stretches(members, at, few, tally.patients(), minimum):
            key = tuple(sorted(chosen))
            if key not in found and known.tells(key):
                found[key] = Breach(group, int(at[chosen[0]]), int(at[chosen[-1]]), people)
    return list(found.values())


class Known:
    """What follows from rows that are sums of atoms.

    Atoms that no row tells apart are one class: only unions of classes can be worked out, so that the equations are
    in classes, of which there are hardly more than rows.
    """

    def __init__(self, rows: NDArray[np.bool_]) -> None:
        packed = np.packbits(rows.T, axis=1)
        _, first, self.of_atom = np.unique(packed, axis=0, return_index=True, return_inverse=True)
        self.size = np.bincount(self.of_atom)
        self.classes = rows[:, first].astype(np.float64)

    @cached_property
    def basis(self) -> NDArray[np.float64]:
        """Orthonormal basis of the rows' span, shape (rank, classes).

        From the eigenvectors of the rows' products, which are whole numbers: ten times quicker than singular values,
        and told from nought far above rounding.
        """
        with threadpool_limits(
            1
        ):  # threads that wait for each other cost twelve times the work on a busy machine
            strength, turned = np.linalg.eigh(self.classes @ self.classes.T)
            kept = strength > 1e-11 * max(float(strength.max(initial=0.0)), 1.0)
            return np.asarray((turned[:, kept] / np.sqrt(strength[kept])).T @ self.classes)

    def tells(self, atoms: Sequence[int]) -> bool:
        """Whether the sum over some atoms follows."""
        count = np.bincount(self.of_atom[list(atoms)], minlength=self.size.size)
        touched = count > 0
        if not np.array_equal(count[touched], self.size[touched]):
            return False
        projected = self.basis[:, touched].sum(axis=1)
        return abs(float(touched.sum()) - float(projected @ projected)) < NEAR


def _few_people(
    tally: PatternTally, atom_of_cell: Ints, atoms: int, minimum: int
) -> dict[int, frozenset[int]]:
    """Patterns in each atom that holds fewer people than the minimum."""
    pattern, cell, _ = tally.long()
    order = np.lexsort((pattern, atom_of_cell[cell]))
    pattern, atom = pattern[order], atom_of_cell[cell][order]
    once = runs(atom, pattern)
    pattern, atom = pattern[once], atom[once]
    people = add(tally.patients()[pattern], atom, atoms)
    small = people[atom] < minimum
    held: dict[int, set[int]] = {}
    for one, who in zip(atom[small].tolist(), pattern[small].tolist(), strict=True):
        held.setdefault(one, set()).add(who)
    return {one: frozenset(who) for one, who in held.items()}


def _small_stretches(
    members: Ints, at: Ints, few: dict[int, frozenset[int]], patients: Ints, minimum: int
) -> Iterator[tuple[list[int], int]]:
    """Give every stretch of neighbouring bins with too few people, as its atoms and how many people they are."""
    bins: list[list[int]] = []
    for atom in members.tolist():
        if bins and at[bins[-1][0]] == at[atom]:
            bins[-1].append(atom)
        else:
            bins.append([atom])
    for start in range(len(bins)):
        who: set[int] = set()
        chosen: list[int] = []
        for atoms in bins[start:]:
            if any(atom not in few for atom in atoms):
                break
            chosen = [*chosen, *atoms]
            who.update(*(few[atom] for atom in atoms))
            people = int(patients[list(who)].sum())
            if people >= minimum:
                break
            yield chosen, people


def _rows(release: Release, atoms: pa.Table, dimensions: Sequence[str]) -> list[NDArray[np.bool_]]:
    """Write each row of a release as the atoms that it is the sum of."""
    at = np.asarray(atoms["age_bin"].to_numpy())
    values = {name: np.array(atoms[name].to_pylist(), dtype=object) for name in dimensions}
    allowed = np.ones(atoms.num_rows, dtype=np.bool_)
    for name, wanted in release.where.items():
        several = {wanted} if isinstance(wanted, str) or not hasattr(wanted, "__iter__") else set(wanted)
        held = at.tolist() if name == "age_bin" else values[name].tolist()
        allowed &= np.array([value in several for value in held], dtype=np.bool_)
    rows = release.table.to_pylist()
    alone = {tuple(row[name] for name in release.strata) for row in rows}
    combination = (
        list(zip(*(values[name].tolist() for name in release.strata), strict=True)) or [()] * at.size
    )
    named = np.array([key in alone for key in combination], dtype=np.bool_)
    written = []
    for row in rows:
        key = tuple(row[name] for name in release.strata)
        pool = bool(key) and all(value == OTHERS for value in key)
        here = ~named if pool else np.array([one == key for one in combination], dtype=np.bool_)
        written.append(allowed & here & (at >= row["first_bin"]) & (at <= row["last_bin"]))
    return written


def _groups(atoms: pa.Table, dimensions: Sequence[str]) -> list[tuple[dict[str, Any], NDArray[np.bool_]]]:
    """List every stratum of every margin: each dimension either named or summed over."""
    levels = {name: levels_of(atoms[name]) for name in dimensions}
    codes = {name: codes_of(atoms[name], levels[name]) for name in dimensions}
    groups = []
    for choice in itertools.product(*([None, *range(len(levels[name]))] for name in dimensions)):
        inside = np.ones(atoms.num_rows, dtype=np.bool_)
        for name, code in zip(dimensions, choice, strict=True):
            if code is not None:
                inside &= codes[name] == code
        if inside.any():
            named = zip(dimensions, choice, strict=True)
            groups.append(({name: levels[name][code] for name, code in named if code is not None}, inside))
    return groups


def _people(who: Ints, atoms: Ints, patients: Ints) -> int:
    """Count distinct patients in some atoms."""
    return int(patients[np.unique(who[np.isin(who[:, 1], atoms), 0])].sum())


def leave_together(
    tally: PatternTally,
    plans: Sequence[tuple[Sequence[str], Mapping[str, Any]]],
    minimum: int = MINIMUM,
    consent: bool = False,
    already: Sequence[Release] = (),
) -> list[Release]:
    """Make several tables that may leave together, and after those that left already.

    Each is made as fine as `leavable` makes it; where it and the ones before it would single somebody out, its rows
    about those ages are joined until nothing does; a table for which that is in vain stays here and has no rows.

    Parameters
    ----------
    tally : PatternTally
    plans : sequence of (strata, where)
        Strata and restriction of each table, the most important first.
    minimum, consent
        As in `leavable`. Without consent, small counts of a type leave in the first table only, as ranges; the
        tables after it carry people and groins without types, since sums over ranges would narrow them.
    already : sequence of Release
        What left on earlier occasions.
    """
    made: list[Release] = []
    for strata, where in plans:
        chosen = tally.where(**where)
        table = leavable(chosen, strata, minimum, consent)
        if not consent and (made or already):
            table = table.drop_columns([n for n in table.column_names if n.endswith(("_low", "_high"))])
        release = Release(table, tuple(strata), dict(where))
        while release.table.num_rows:
            found = breaches([*already, *made, release], tally, minimum)
            if not found:
                break
            coarser = Release(_coarser(release.table, release.strata, found), release.strata, release.where)
            release = _recounted(coarser, tally)
        made.append(release)
    return made


def _coarser(table: pa.Table, strata: Sequence[str], found: Sequence[Breach]) -> pa.Table:
    """Join the rows on both sides of the edge nearest to each breach; give the table up when there is none."""
    rows = table.to_pylist()
    edges = [
        place
        for place in range(1, len(rows))
        if all(rows[place][name] == rows[place - 1][name] for name in strata)
    ]
    if not edges:
        return table.slice(0, 0)
    gone: set[int] = set()
    for breach in found:
        middle = (breach.first_bin + breach.last_bin + 1) / 2
        theirs = [
            place
            for place in edges
            if all(rows[place].get(name, value) in (value, OTHERS) for name, value in breach.group.items())
        ]
        gone.add(min(theirs or edges, key=lambda place: (abs(rows[place]["first_bin"] - middle), place)))
    joined: list[dict[str, Any]] = []
    for place, row in enumerate(rows):
        joined.append(_joined(joined.pop(), row, strata) if place in gone else row)
    return pa.Table.from_pylist(joined, schema=table.schema)


def _joined(young: dict[str, Any], old: dict[str, Any], strata: Sequence[str]) -> dict[str, Any]:
    """Add two neighbouring rows; people are counted again afterwards."""
    row = {name: young[name] + old[name] for name in young if name not in strata}
    row |= {name: young[name] for name in ("first_bin", "age_from", *strata)}
    return row | {name: old[name] for name in ("last_bin", "age_to")}


def _recounted(release: Release, tally: PatternTally) -> Release:
    """Count the distinct people of each row again, after rows were joined."""
    dimensions = tuple(dict.fromkeys(name for name in (*release.strata, *release.where) if name != "age_bin"))
    atoms, atom_of_cell = combine(tally.cells, (*dimensions, "age_bin"))
    pattern, cell, _ = tally.long()
    who = np.column_stack([pattern, atom_of_cell[cell]])
    people = [
        _people(who, np.flatnonzero(row), tally.patients()) for row in _rows(release, atoms, dimensions)
    ]
    place = release.table.column_names.index("people")
    table = release.table.set_column(place, "people", pa.array(people, pa.int64()))
    return Release(table, release.strata, release.where)
