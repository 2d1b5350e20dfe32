"""What somebody who holds everything that left could work out: the attack that tables must withstand.

The tables that left and the tally behind them come in, the groups that could be singled out go out. Sums are taken
as equations: whatever follows from them by adding and subtracting rows of any tables, across margins and over
successive occasions, is found by projecting on the space that the rows span (the linear audit of statistical
disclosure control; Hundepool et al. 2012, Statistical Disclosure Control, ch. 4; memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .. import wording
from .cells import codes_of, combine, levels_of
from .disclosure import MINIMUM, OTHERS, leavable
from .patterns import runs
from .tally import PatternTally

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

NEAR: Final = 1e-7
"""Squared distance from the rows' span under which a group counts as worked out; projections are good to 1e-12."""


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
    dimensions = tuple(
        dict.fromkeys(name for r in releases for name in (*r.strata, *r.where) if name != "age_bin")
    )
    atoms, atom_of_cell = combine(tally.cells, (*dimensions, "age_bin"))
    rows = [row for release in releases for row in _rows(release, atoms, dimensions)]
    if not rows:
        return []
    span = _span(np.array(rows, dtype=np.float64))
    pattern, cell, _ = tally.long()
    who = np.column_stack([pattern, atom_of_cell[cell]])
    at = np.asarray(atoms["age_bin"].to_numpy(), dtype=np.int64)
    found: dict[tuple[int, ...], Breach] = {}
    for group, inside in _groups(atoms, dimensions):
        members = np.flatnonzero(inside)
        members = members[np.argsort(at[members], kind="stable")]
        for low, high in _worked_out(span[members], at[members]):
            chosen = members[low:high]
            people = _people(who, chosen, tally.patients())
            if people < minimum:
                key = tuple(sorted(chosen.tolist()))
                found.setdefault(key, Breach(group, int(at[chosen[0]]), int(at[chosen[-1]]), people))
    return list(found.values())


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


def _span(rows: Floats) -> Floats:
    """Orthonormal basis of the space that the rows span, shape (atoms, rank)."""
    _, size, basis = np.linalg.svd(rows, full_matrices=False)
    return np.asarray(basis[size > 1e-9 * max(float(size.max(initial=0.0)), 1.0)].T)


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


def _worked_out(span: Floats, at: Ints) -> list[tuple[int, int]]:
    """Find stretches of bins whose sum lies in the span: those that projecting does not shorten."""
    edges = np.append(np.flatnonzero(runs(at)), at.size)
    total = np.concatenate([np.zeros((1, span.shape[1])), np.cumsum(span, axis=0)])[edges]
    norm = (total**2).sum(axis=1)
    # squared length of the projection of each stretch, against the number of atoms in it
    projected = norm[:, None] + norm[None, :] - 2 * total @ total.T
    low, high = np.nonzero(np.triu(np.abs((edges[None, :] - edges[:, None]) - projected) < NEAR, k=1))
    return list(zip(edges[low].tolist(), edges[high].tolist(), strict=True))


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
    """Join the rows on both sides of an edge near the first breach; give up the table when there is none to join."""
    rows = table.to_pylist()
    breach = found[0]
    edges = [
        place
        for place in range(1, len(rows))
        if all(rows[place][name] == rows[place - 1][name] for name in strata)
    ]
    if not edges:
        return table.slice(0, 0)
    theirs = [
        place
        for place in edges
        if all(rows[place].get(name, value) in (value, OTHERS) for name, value in breach.group.items())
    ]
    middle = (breach.first_bin + breach.last_bin + 1) / 2
    place = min(theirs or edges, key=lambda k: (abs(rows[k]["first_bin"] - middle), k))
    young, old = rows[place - 1], rows[place]
    kept = ("first_bin", "age_from", *strata)
    joined = {name: young[name] if name in kept else old[name] for name in young}
    for name in young:
        if name not in (*kept, "last_bin", "age_to"):
            joined[name] = young[name] + old[name]
    return pa.Table.from_pylist([*rows[: place - 1], joined, *rows[place + 1 :]], schema=table.schema)


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
