"""Rows of ages, directs and totals come in; checked, collapsed cells go out, on which every hinge fit works.

A cell is one distinct (age, hospital, sensitivity, specificity). Collapsing loses nothing: the likelihood
depends on the rows only through these counts, and a bootstrap replicate changes the counts and never the
cells.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hingeline.errors import HingelineError
from hingeline.vocabulary import DAYS_PER_YEAR

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Family = Literal["binomial", "poisson"]
Unit = Literal["years", "months", "days"]

UNITS_PER_YEAR: Final[dict[str, float]] = {"years": 1.0, "months": 12.0, "days": DAYS_PER_YEAR}
DECADE: Final = 10.0
"""Slopes are worked with per ten years, so that ages and coefficients are all of the order of one."""

MOST_TURNS: Final = 3


@dataclass(frozen=True)
class Cells:
    """The fixed side of a hinge problem: where the cells are, not what was counted in them.

    Attributes
    ----------
    age_years : (N,) float, ascending
    group : (N,) int
        Code of the hospital, an index into ``group_names``.
    group_names : tuple
    false_direct, gain : (N,) float
        P(seen direct) = ``false_direct`` + ``gain`` · p, that is 1 − sp and se + sp − 1.
    exact : bool
        Whether every sensitivity and specificity is 1 (the likelihood is then concave).
    family : "binomial" or "poisson"
    apart_years, low_years, high_years : float
        Least distance between turns, and the ages between which a turn may lie.
    fixed : (N, G + 1) float
        Columns that every fit has: a one for each hospital, and decades from ``centre_years``.
    products : (N, 2G + 1) float
        Those products of these columns that are not always 0: of each hospital with itself and with the
        decades, and the decades squared.
    decades : (N,) float
    knots : (U,) float
        Distinct ages and the two ends of the search, in decades from the centre.
    screen_knots : (K,) float
        The subset at which candidates are screened, same scale.
    centre_years : float
    """

    age_years: Floats
    group: Ints
    group_names: tuple[Any, ...]
    false_direct: Floats
    gain: Floats
    exact: bool
    family: Family
    apart_years: float
    low_years: float
    high_years: float
    fixed: Floats
    products: Floats
    decades: Floats
    knots: Floats
    screen_knots: Floats
    centre_years: float

    @property
    def n_groups(self) -> int:
        """How many hospitals have an intercept."""
        return len(self.group_names)

    def to_decades(self, years: Floats) -> Floats:
        """Put ages in years on the scale the solvers work on."""
        return (years - self.centre_years) / DECADE

    def to_years(self, decades: Floats) -> Floats:
        """Put the solvers' ages back in years."""
        return decades * DECADE + self.centre_years


@dataclass(frozen=True)
class Rows:
    """Checked rows: one a (pattern, cell) or a bin; ages in years, counts as floats of whole numbers."""

    age_years: Floats
    direct: Floats
    total: Floats
    weights: Floats
    group: Ints
    group_names: tuple[Any, ...]
    sensitivity: Floats
    specificity: Floats
    clusters: Ints | None
    family: Family
    unit: Unit


def _column(name: str, values: ArrayLike, size: int | None = None) -> Floats:
    try:
        column = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise HingelineError(f"{name} is not numeric", name, "give an array of numbers") from None
    if column.ndim != 1:
        raise HingelineError(f"{name} has {column.ndim} dimensions", name, "give one value a row")
    if size is not None and column.size != size:
        raise HingelineError(
            f"{name} has {column.size} rows where age has {size}", name, "give arrays of one length"
        )
    bad = np.flatnonzero(~np.isfinite(column))
    if bad.size:
        raise HingelineError(
            f"{name} is missing or not finite", f"{name}, row {bad[0]}", "leave rows of unknown value out"
        )
    return column


def _whole(name: str, values: ArrayLike, size: int, whole: bool = True) -> Floats:
    column = _column(name, values, size)
    bad = np.flatnonzero(column < 0)
    if bad.size:
        raise HingelineError(f"{name} is negative", f"{name}, row {bad[0]}", "give counts of 0 or more")
    if whole and np.any(column != np.floor(column)):
        row = np.flatnonzero(column != np.floor(column))[0]
        raise HingelineError(f"{name} is not a whole number", f"{name}, row {row}", "give counts, not shares")
    return column


def _share(name: str, values: float | ArrayLike, size: int) -> Floats:
    column = np.asarray(values, dtype=np.float64)
    column = np.full(size, float(column)) if column.ndim == 0 else _column(name, values, size)
    bad = np.flatnonzero(~((column >= 0) & (column <= 1)))
    if bad.size:
        raise HingelineError(f"{name} is outside 0 to 1", f"{name}, row {bad[0]}", "give a probability")
    return column


def _codes(name: str, values: ArrayLike | None, size: int) -> tuple[Ints, tuple[Any, ...]]:
    if values is None:
        return np.zeros(size, dtype=np.int64), (None,)
    column = np.asarray(values)
    if column.shape != (size,):
        raise HingelineError(
            f"{name} has shape {column.shape} where age has {size} rows", name, "give one value a row"
        )
    if column.dtype.kind == "f" and not np.all(np.isfinite(column)):
        raise HingelineError(f"{name} is missing in a row", name, "give every row a value")
    names, codes = np.unique(column, return_inverse=True)
    return codes.astype(np.int64), tuple(names.tolist())


def check_rows(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    *,
    groups: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    family: str = "binomial",
    unit: str = "years",
) -> Rows:
    """Check arrays from outside and put the ages in years.

    Raises
    ------
    HingelineError
        Naming the argument and the row: direct above total, negative or broken counts, missing ages, lengths
        that differ, an unknown unit or family, sensitivity + specificity not above 1.
    """
    if unit not in UNITS_PER_YEAR:
        raise HingelineError(f"unknown unit {unit!r}", "unit", "give years, months or days")
    if family not in ("binomial", "poisson"):
        raise HingelineError(f"unknown family {family!r}", "family", "give binomial or poisson")
    ages = _column("age", age)
    size = ages.size
    if size == 0:
        raise HingelineError("there are no rows", "age", "give at least one row an age")
    y = _whole("direct", direct, size)
    n = _whole("total", total, size, whole=family == "binomial")
    if family == "binomial" and np.any(y > n):
        row = np.flatnonzero(y > n)[0]
        raise HingelineError("direct is above total", f"row {row}", "give totals that include the directs")
    if family == "poisson" and np.any((y > 0) & (n == 0)):
        row = np.flatnonzero((y > 0) & (n == 0))[0]
        raise HingelineError("events without person-years", f"row {row}", "give every row its exposure")
    w = np.ones(size) if weights is None else _whole("weights", weights, size)
    se, sp = _share("sensitivity", sensitivity, size), _share("specificity", specificity, size)
    if np.any(se + sp <= 1):
        row = np.flatnonzero(se + sp <= 1)[0]
        raise HingelineError(
            "sensitivity + specificity is not above 1",
            f"row {row}",
            "leave out rows whose typing tells nothing of the type",
        )
    if family == "poisson" and (np.any(se != 1) or np.any(sp != 1)):
        raise HingelineError(
            "typing errors are for shares, not for rates", "sensitivity, specificity", "use family='binomial'"
        )
    group, names = _codes("groups", groups, size)
    pattern = None if clusters is None else _codes("clusters", clusters, size)[0]
    if pattern is not None:
        first = np.zeros(pattern.max() + 1)
        first[pattern] = w
        if np.any(first[pattern] != w):
            row = np.flatnonzero(first[pattern] != w)[0]
            raise HingelineError(
                "one pattern has two weights", f"weights, row {row}", "give every row of a pattern its weight"
            )
    return Rows(
        ages / UNITS_PER_YEAR[unit],
        y,
        n,
        w,
        group,
        names,
        se,
        sp,
        pattern,
        "poisson" if family == "poisson" else "binomial",
        unit,  # type: ignore[arg-type]
    )


def _screen_knots(knots: Floats, low: float, high: float, years: Floats) -> Floats:
    """Ages at which candidates are screened: all of them when few, else half-years to 30 and years after."""
    if knots.size <= 150:
        return knots
    edges = np.concatenate([np.arange(0, 30, 0.5), np.arange(30, 130, 1.0)])
    edges = edges[(edges >= low) & (edges <= high)]
    nearest = np.searchsorted(years, edges)
    nearest = np.clip(nearest, 1, years.size - 1)
    nearest -= (edges - years[nearest - 1]) < (years[nearest] - edges)
    return np.unique(np.concatenate([knots[[0, -1]], knots[np.unique(nearest)]]))


def collapse(rows: Rows, apart_years: float, turns: int) -> tuple[Cells, Ints]:
    """Collapse rows to distinct cells; returns them and, for each row, its cell.

    Raises
    ------
    HingelineError
        When the ages leave no room for that many turns.
    """
    if not isinstance(turns, int | np.integer) or not 0 <= turns <= MOST_TURNS:
        raise HingelineError(f"{turns} turns", "turns", f"give a whole number from 0 to {MOST_TURNS}")
    if not apart_years > 0:
        raise HingelineError(f"turns {apart_years} years apart", "apart_years", "give a distance above 0")
    keys = np.stack(
        [rows.age_years, rows.group.astype(np.float64), rows.sensitivity, rows.specificity], axis=1
    )
    distinct, cell_of_row = np.unique(keys, axis=0, return_inverse=True)
    cell_of_row = cell_of_row.ravel().astype(np.int64)
    seen = rows.age_years[(rows.total > 0) & (rows.weights > 0)]
    if seen.size == 0:
        raise HingelineError("every total is 0", "total", "give at least one groin")
    years = np.unique(seen)
    low, high = years[0] + apart_years, years[-1] - apart_years
    room = high - low - (turns - 1) * apart_years
    if turns and (room < 0 or years.size < 2 * turns + 2):
        raise HingelineError(
            f"{years.size} ages from {years[0]:g} to {years[-1]:g} years have no room for {turns} turns",
            "age",
            "ask for fewer turns, or turns less far apart",
        )
    age = distinct[:, 0]
    group = distinct[:, 1].astype(np.int64)
    centre = float(np.round((years[0] + years[-1]) / 2))
    decades = (age - centre) / DECADE
    one_hot = (group[:, None] == np.arange(len(rows.group_names))[None, :]).astype(np.float64)
    fixed = np.column_stack([one_hot, decades])
    products = np.column_stack([one_hot, one_hot * decades[:, None], decades**2])
    inside = years[(years > low) & (years < high)] if turns else years[:0]
    own = np.unique(np.concatenate([[low], inside, [high]])) if turns else years
    knots = (own - centre) / DECADE
    false_direct = 1 - distinct[:, 3]
    gain = distinct[:, 2] + distinct[:, 3] - 1
    cells = Cells(
        age,
        group,
        rows.group_names,
        false_direct,
        gain,
        bool(np.all(false_direct == 0) and np.all(gain == 1)),
        rows.family,
        float(apart_years),
        float(low),
        float(high),
        fixed,
        products,
        decades,
        knots,
        _screen_knots(knots, float(low), float(high), own),
        centre,
    )
    return cells, cell_of_row


def occupied(cells: Cells, y: Floats, n: Floats) -> tuple[Cells, Floats, Floats]:
    """The cells that hold any cases, with their counts: empty ones cost time and tell nothing."""
    kept = n > 0
    if kept.all():
        return cells, y, n
    fewer = replace(
        cells,
        age_years=cells.age_years[kept],
        group=cells.group[kept],
        false_direct=cells.false_direct[kept],
        gain=cells.gain[kept],
        fixed=cells.fixed[kept],
        products=cells.products[kept],
        decades=cells.decades[kept],
    )
    return fewer, y[kept], n[kept]


def add_up(places: Ints, values: Floats, size: int) -> Floats:
    """Sum of the values at each place, (size,)."""
    return np.bincount(places, values, size).astype(np.float64, copy=False)


def counts_by_cell(rows: Rows, cell_of_row: Ints, n_cells: int) -> tuple[Floats, Floats]:
    """Add the rows' weighted directs and totals up by cell."""
    direct = add_up(cell_of_row, rows.direct * rows.weights, n_cells)
    total = add_up(cell_of_row, rows.total * rows.weights, n_cells)
    return direct, total
