"""Ages in stretches that may leave, as the frames of pictures and tables are made of.

A tally comes in; bars, points and rates go out. `counts.disclosure` joins ages until enough people stand in each row;
here such rows are joined further, to stretches wide enough to draw and, without the data officer's consent, until no
stretch holds a small count of direct hernias.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from .. import wording
from ..counts import PatternTally
from ..counts.disclosure import leavable
from ..estimates.incidence import PER, incidence_limits
from ..estimates.proportion import wilson_limits
from ..vocabulary import DAYS_PER_YEAR

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

FINE_TO_YEARS = 30
"""Up to this age stretches are drawn by whole years, after it by `COARSE_YEARS`."""
COARSE_YEARS = 2
PANEL_YEARS = (2, 4)
"""Widths in the small pictures of one hospital each."""
RATE_CASES = 10
"""Cases that a drawn rate rests on at least: fewer make a band too wide to read."""


def schema_of(**kinds: pa.DataType) -> pa.Schema:
    """Make a schema of named columns."""
    fields: list[tuple[str, pa.DataType]] = list(kinds.items())
    return pa.schema(fields)


FLOAT, WHOLE, TEXT = pa.float64(), pa.int64(), pa.string()
BARS = schema_of(age_from=FLOAT, age_to=FLOAT, type=TEXT, n=WHOLE, per_year=FLOAT)
POINTS = schema_of(
    age=FLOAT, age_from=FLOAT, age_to=FLOAT, share=FLOAT, low=FLOAT, high=FLOAT, n=WHOLE, direct=TEXT
)
RATES = schema_of(
    age_from=FLOAT, age_to=FLOAT, age=FLOAT, type=TEXT, sex=TEXT, rate=FLOAT, low=FLOAT, high=FLOAT, n=WHOLE
)


@dataclass(frozen=True)
class Stretches:
    """Neighbouring stretches of ages: edges in years, and sums in each.

    Attributes
    ----------
    age_from, age_to : array, (stretches,)
    n, days, direct : array of int, (stretches,)
        Groins, Σ age in days, groins counted as direct.
    """

    age_from: Floats
    age_to: Floats
    n: Ints
    days: Ints
    direct: Ints


def stretches(
    tally: PatternTally, direct: Sequence[str], least: int, widths: tuple[int, int] = (1, COARSE_YEARS)
) -> Stretches:
    """Join ages to stretches that are wide enough to draw and hold enough people.

    ``widths`` are in years, up to `FINE_TO_YEARS` and after it.
    """
    table = leavable(tally.coarsen(("type",)).whole_years(), (), least, consent=True)
    low = np.asarray(table["age_from"].to_numpy(), dtype=np.float64)
    seen = np.zeros(table.num_rows, dtype=np.int64)
    for kind in direct:
        seen += np.asarray(table[f"{kind}_low"].to_numpy(), dtype=np.int64)
    width = np.where(low < FINE_TO_YEARS, *widths)
    _, first = np.unique(np.floor(low / width) * width, return_index=True)
    return _joined(
        Stretches(
            low,
            np.asarray(table["age_to"].to_numpy(), dtype=np.float64),
            np.asarray(table["n"].to_numpy(), dtype=np.int64),
            np.asarray(table["days"].to_numpy(), dtype=np.int64),
            seen,
        ),
        first,
    )


def _joined(parts: Stretches, first: NDArray[np.intp]) -> Stretches:
    """Add up stretches from each place in ``first`` to the one before the next."""
    if not first.size:
        return parts
    last = np.append(first[1:], parts.n.size) - 1
    sums = (np.add.reduceat(values, first) for values in (parts.n, parts.days, parts.direct))
    return Stretches(parts.age_from[first], parts.age_to[last], *sums)


def without_small(parts: Stretches, least: int) -> Stretches:
    """Join stretches until none holds from 1 to ``least`` − 1 direct or other groins."""

    def small(count: int) -> bool:
        return 0 < count < least

    starts: list[int] = []
    total = held = 0
    closed = True
    for place, (n, direct) in enumerate(zip(parts.n.tolist(), parts.direct.tolist(), strict=True)):
        if closed:
            starts.append(place)
            total = held = 0
        total, held = total + n, held + direct
        closed = not small(held) and not small(total - held)
    while not closed and len(starts) > 1:
        starts.pop()
        held = int(parts.direct[starts[-1] :].sum())
        closed = not small(held) and not small(int(parts.n[starts[-1] :].sum()) - held)
    if not closed:
        starts = []
        parts = Stretches(*(values[:0] for values in vars(parts).values()))
    return _joined(parts, np.array(starts, dtype=np.intp))


def bars_by_type(
    tally: PatternTally, types: Sequence[str], least: int, widths: tuple[int, int] = (1, COARSE_YEARS)
) -> pa.Table:
    """Repairs a year of age, for each type in stretches of its own.

    Returns
    -------
    pyarrow.Table
        Of the schema `BARS`; a type with fewer people than the minimum at all ages together is left out.
    """
    rows = []
    for kind in types:
        parts = stretches(tally.where(type=kind), (), least, widths)
        for low, high, n in zip(parts.age_from, parts.age_to, parts.n, strict=True):
            row = {"age_from": float(low), "age_to": float(high), "type": kind, "n": int(n)}
            rows.append(row | {"per_year": int(n) / float(high - low)})
    return pa.Table.from_pylist(rows, schema=BARS)


@dataclass(frozen=True)
class Withheld:
    """What bars by type keep back.

    Attributes
    ----------
    joined : int
        Stretches of ages that were joined to a neighbour.
    types : tuple of str
        Types left out whole.
    groins : int
        Of those types.
    """

    joined: int
    types: tuple[str, ...]
    groins: int


def withheld_of(
    tally: PatternTally,
    types: Sequence[str],
    bars: pa.Table,
    widths: tuple[int, int] = (1, COARSE_YEARS),
) -> Withheld:
    """Tell what `bars_by_type` kept back of some types when it made ``bars``."""
    shown = [kind for kind in types if kind in bars["type"].to_pylist()]
    groins = {kind: tally.where(type=kind).n_groins for kind in types}
    # with everyone a stretch of his own, nothing is joined
    open_stretches = sum(stretches(tally.where(type=kind), (), 1, widths).n.size for kind in shown)
    left_out = tuple(kind for kind in types if groins[kind] and kind not in shown)
    return Withheld(open_stretches - bars.num_rows, left_out, sum(groins[kind] for kind in left_out))


def share_points(
    tally: PatternTally,
    direct: Sequence[str],
    among: Sequence[str],
    least: int,
    consent: bool,
    level: float = 0.95,
) -> pa.Table:
    """The direct share seen in each stretch of ages, with Wilson limits.

    Parameters
    ----------
    tally : PatternTally
        The cases to show.
    direct, among : sequence of str
        Types counted as direct, and out of which.
    least : int
        Fewest people in a stretch.
    consent : bool
        Whether small counts of directs may leave; else stretches are joined until there are none.
    level : float

    Returns
    -------
    pyarrow.Table
        Of the schema `POINTS`; a stretch stands at the mean age of its cases.
    """
    parts = stretches(tally.where(type=tuple(among)), direct, least)
    if not consent:
        parts = without_small(parts, least)
    low, high = wilson_limits(parts.direct, parts.n, level) if parts.n.size else (parts.n, parts.n)
    return pa.table(
        {
            "age": pa.array(parts.days / np.maximum(parts.n, 1) / DAYS_PER_YEAR),
            "age_from": pa.array(parts.age_from),
            "age_to": pa.array(parts.age_to),
            "share": pa.array(parts.direct / np.maximum(parts.n, 1)),
            "low": pa.array(low, pa.float64()),
            "high": pa.array(high, pa.float64()),
            "n": pa.array(parts.n),
            "direct": pa.array([wording.count(y) for y in parts.direct.tolist()], pa.string()),
        },
        schema=POINTS,
    )


@dataclass(frozen=True)
class RateBand:
    """Cases and person-years of one sex, by age band.

    Attributes
    ----------
    age_from, age_to : array, (bands,)
        Years.
    person_years : array, (bands,)
        Of the catchment times the declared coverage.
    cases : dict of str to array
        Drawn type → cases.
    """

    age_from: Floats
    age_to: Floats
    person_years: Floats
    cases: dict[str, Ints]


def rate_stretches(band: RateBand, sex: str, least: int) -> pa.Table:
    """Rates of one sex per 100,000 person-years by type, each type in stretches that hold enough cases.

    Returns
    -------
    pyarrow.Table
        Of the schema `RATES`.
    """
    rows = []
    for kind, cases in band.cases.items():
        for start, stop in _enough(cases, max(least, RATE_CASES)):
            n, years = int(cases[start:stop].sum()), float(band.person_years[start:stop].sum())
            if years <= 0:
                continue
            low, high = incidence_limits([n], [years])
            age_from, age_to = float(band.age_from[start]), float(band.age_to[stop - 1])
            rows.append(
                {
                    "age_from": age_from,
                    "age_to": age_to,
                    "age": (age_from + age_to) / 2,
                    "type": kind,
                    "sex": sex,
                    "rate": PER * n / years,
                    "low": float(low[0]),
                    "high": float(high[0]),
                    "n": n,
                }
            )
    return pa.Table.from_pylist(rows, schema=RATES)


def _enough(cases: Ints, least: int) -> list[tuple[int, int]]:
    """Start and stop of stretches of bands with at least so many cases; bands of no people are told as they are.

    A case is a groin and a patient may have two, so twice the minimum of people is asked for.
    """
    found: list[tuple[int, int]] = []
    start, held = 0, 0
    for place, n in enumerate(cases.tolist(), start=1):
        held += n
        if held >= least:
            found.append((start, place))
            start, held = place, 0
    if held and found:
        found[-1] = (found[-1][0], len(cases))
    return found
