"""Humps of an age distribution: counts by age come in, humps and the troughs between them go out.

Each hump and trough of the kernel density (`ages_density`) that stands out from chance is told, for all cases
pooled and for each group alone: pooling a children's and an adult hospital makes two humps of any disease.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.ages_density import Grid, check_bins, extremes

Floats = NDArray[np.float64]

STANDS = 3.0
"""A hump stands when it rises above the deeper shoulder's trough by this many standard errors."""

KERNEL_ROUGHNESS = 1 / (2 * np.sqrt(np.pi))
"""∫K² of the Gaussian kernel: the variance of a density estimate is f(x)·∫K²/(n·bandwidth)."""


@dataclass(frozen=True)
class Hump:
    """A maximum of the density of ages.

    Attributes
    ----------
    age : float
        In the unit of the ages; its interval (`low`, `high`) comes from resampling, else is not a number.
    height : float
        Density per unit of age.
    cases : float
        Cases between the troughs on either side.
    """

    age: float
    height: float
    cases: float
    low: float = np.nan
    high: float = np.nan


@dataclass(frozen=True)
class Trough:
    """A minimum of the density between two humps, with the fields of `Hump` that it has."""

    age: float
    height: float
    low: float = np.nan
    high: float = np.nan


@dataclass(frozen=True)
class Distribution:
    """The ages of one group.

    Attributes
    ----------
    group : str or None
        None for all groups pooled.
    n : float
        Cases between the lowest and highest age.
    bandwidth : float
        Standard deviation of the kernel, in the unit of the ages.
    age, density : ndarray, (cells,)
        The smooth curve, for a picture.
    humps, troughs : tuple
        In order of age; one trough between two humps.
    """

    group: str | None
    n: float
    bandwidth: float
    age: Floats
    density: Floats
    humps: tuple[Hump, ...]
    troughs: tuple[Trough, ...]


@dataclass(frozen=True)
class AgeModes:
    """Humps and troughs, pooled and in each group.

    Attributes
    ----------
    pooled : Distribution
    groups : tuple of Distribution
        In order of the groups' first appearance; empty when no groups were given.
    unit : str
    """

    pooled: Distribution
    groups: tuple[Distribution, ...]
    unit: str

    @property
    def humps(self) -> tuple[Hump, ...]:
        """Humps of all cases pooled."""
        return self.pooled.humps

    @property
    def troughs(self) -> tuple[Trough, ...]:
        """Troughs between the humps of all cases pooled."""
        return self.pooled.troughs

    @property
    def bandwidth(self) -> float:
        """Bandwidth of all cases pooled."""
        return self.pooled.bandwidth

    @property
    def groups_with_all_humps(self) -> tuple[str, ...]:
        """Groups that alone show each hump of the pool; if none does, pooling may have made them.

        A group shows a hump when it takes patients of that age and one of its own humps lies within a quarter
        of the way to the next trough.
        """
        troughs = [trough.age for trough in self.troughs]
        reach = [min((abs(hump.age - age) for age in troughs), default=np.inf) / 4 for hump in self.humps]
        return tuple(
            str(group.group)
            for group in self.groups
            if all(_shows(group, hump.age, near) for hump, near in zip(self.humps, reach, strict=True))
        )

    def to_frame(self) -> pa.Table:
        """One row a hump or trough; the group is null when pooled."""
        rows: list[dict[str, object]] = []
        for which in (self.pooled, *self.groups):
            shared = {"group": which.group, "bandwidth": which.bandwidth, "n": which.n, "unit": self.unit}
            for kind, extremes_found in (("hump", which.humps), ("trough", which.troughs)):
                for place, one in enumerate(extremes_found, start=1):
                    rows.append({"kind": kind, "place": place, "cases": None} | vars(one) | shared)
        return pa.Table.from_pylist(rows, schema=_FRAME)

    def __str__(self) -> str:
        return wording.humps(
            [hump.age for hump in self.humps], [trough.age for trough in self.troughs], self.unit
        )


_FRAME = pa.schema(
    [pa.field(name, pa.string()) for name in ("group", "kind")]
    + [pa.field("place", pa.int64())]
    + [pa.field(name, pa.float64()) for name in ("age", "low", "high", "height", "cases", "n", "bandwidth")]
    + [pa.field("unit", pa.string())]
)


def age_modes(
    age: ArrayLike,
    count: ArrayLike,
    *,
    groups: Sequence[Hashable] | NDArray[np.generic] | None = None,
    limits: Mapping[str, tuple[float, float]] | None = None,
    lowest: float = 0.0,
    highest: float | None = None,
    width: float | ArrayLike = 0.0,
    bandwidth: float | None = None,
    replicates: int = 0,
    seed: int = 0,
    level: float = 0.95,
    unit: str = "years",
) -> AgeModes:
    """Find the humps of the ages and the troughs between them, pooled and in each group.

    Parameters
    ----------
    age, count : array_like, (bins,)
        Middles of the bins and cases in them; exact ages with counts of 1 will do.
    groups : sequence, (bins,), optional
        Group (hospital) of each bin.
    limits : mapping of str to (float, float), optional
        Youngest and oldest age that a group takes, where it does not take all: its density is reflected
        there, and its cases beyond them are left out of its own curve.
    lowest, highest : float
        The ages that could be seen; the density is reflected at both. Left out, `highest` is the oldest seen.
    width : float or array_like, (bins,)
        Width of each bin; its cases are spread evenly over it.
    bandwidth : float, optional
        Standard deviation of the kernel. Left out, it is 0.9·min(SD, IQR/1.34)·n^(−1/5), each group's own:
        with several humps that is on the smooth side, so that a hump called is seldom one of chance.
    replicates : int
        Multinomial resamples for intervals of the humps' and troughs' ages; 0 for none.

    Raises
    ------
    HingelineError
        When there is no case within the ages, or shapes and numbers are impossible.

    Notes
    -----
    A hump counts when it rises above each neighbouring trough by three standard errors of the difference of
    the two densities (an end of the ages may hold one). `silverman` is the formal test of how many there are.
    Two humps in pooled counts may only mean that a children's and an adult hospital were pooled: compare
    `groups_with_all_humps`. Bandwidth: Silverman, Density Estimation, 1986, p. 48 (3.31).
    """
    x = np.asarray(age, dtype=np.float64)
    n = np.asarray(count, dtype=np.float64)
    spans = np.broadcast_to(np.asarray(width, dtype=np.float64), x.shape)
    check_bins(x, n, spans)
    top = float((x + spans / 2).max()) if highest is None else float(highest)
    if not top > lowest:
        raise HingelineError(
            "The ages have no span", "lowest, highest", "Give a highest age above the lowest"
        )
    generator = np.random.default_rng(seed)

    def one(group: str | None, here: NDArray[np.bool_]) -> Distribution:
        low, high = (lowest, top) if group is None else (limits or {}).get(group, (lowest, top))
        low, high = max(float(low), float(lowest)), min(float(high), top)
        grid = Grid.over(x[here], n[here], spans[here], low, high, bounded=True)
        return _distribution(group, grid, bandwidth, replicates, generator, level)

    pooled = one(None, np.ones(len(x), dtype=bool))
    if groups is None:
        return AgeModes(pooled, (), unit)
    if len(groups) != len(x):
        raise HingelineError("Groups and ages differ in length", "groups", "Give one group for each bin")
    labels = np.array([str(group) for group in groups])
    seen = [name for name in dict.fromkeys(labels.tolist()) if n[labels == name].sum() > 0]
    return AgeModes(pooled, tuple(one(name, labels == name) for name in seen), unit)


def _shows(group: Distribution, age: float, near: float) -> bool:
    step = group.age[1] - group.age[0]
    taken = group.age[0] - step <= age <= group.age[-1] + step
    return bool(taken) and any(abs(hump.age - age) <= near for hump in group.humps)


def _distribution(
    group: str | None,
    grid: Grid,
    bandwidth: float | None,
    replicates: int,
    generator: np.random.Generator,
    level: float,
) -> Distribution:
    h = grid.rule_of_thumb() if bandwidth is None else float(bandwidth)
    if not h > 0:
        raise HingelineError("A bandwidth must be above 0", "bandwidth", "Give a bandwidth above 0")
    density = grid.density(grid.mass, h)
    places = standing(density, grid.n, h)
    if replicates and places:
        drawn = generator.multinomial(round(grid.n), grid.mass, size=replicates) / round(grid.n)
        moved = np.stack([_follow(d, places) for d in grid.density(drawn, h)])
        limits = np.quantile(grid.age[moved], [(1 - level) / 2, (1 + level) / 2], axis=0).T
    else:
        limits = np.full((len(places), 2), np.nan)
    shares = np.add.reduceat(grid.mass, [0, *places[1::2]]) if places else np.zeros(0)
    humps = tuple(
        Hump(
            float(grid.age[place]),
            float(density[place]),
            float(share * grid.n),
            *map(float, limits[2 * i]),
        )
        for i, (place, share) in enumerate(zip(places[::2], shares, strict=True))
    )
    troughs = tuple(
        Trough(float(grid.age[place]), float(density[place]), *map(float, limits[2 * i + 1]))
        for i, place in enumerate(places[1::2])
    )
    return Distribution(group, grid.n, h, grid.age, density, humps, troughs)


def standing(density: Floats, n: float, bandwidth: float) -> list[int]:
    """Places of humps and troughs, hump first and in turn, that stand out from chance.

    The lowest rise is struck out, with its trough, until every rise is more than `STANDS` standard errors.
    """
    places = extremes(density)
    while len(places) > 1:
        tops, bottoms = density[places[::2]], density[places[1::2]]
        rises = np.minimum(tops[:-1], tops[1:]) - bottoms
        error = np.sqrt((np.minimum(tops[:-1], tops[1:]) + bottoms) * KERNEL_ROUGHNESS / (n * bandwidth))
        worst = int((rises / error).argmin())
        if rises[worst] > STANDS * error[worst]:
            break
        trough = 2 * worst + 1
        first = trough - 1 if tops[worst] < tops[worst + 1] else trough
        del places[first : first + 2]  # the trough and the lower of its two humps
    return places


def _follow(density: Floats, places: Sequence[int]) -> list[int]:
    """Where the humps and troughs of a resample are: the extremes within the stretch that belongs to each."""
    bounds = [0, *places, len(density) - 1]
    moved = []
    for i in range(len(places)):
        start, stop = bounds[i], bounds[i + 2] + 1
        stretch = density[start:stop]
        moved.append(start + int(stretch.argmax() if i % 2 == 0 else stretch.argmin()))
    return moved
