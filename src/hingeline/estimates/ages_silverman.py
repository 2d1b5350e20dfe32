"""How many humps ages have: counts by age come in, a critical bandwidth and its p-value go out.

The critical bandwidth for k humps is the smallest at which the kernel density has no more than k; samples
from that very density, smoothed again by it, show how often k humps would look like more (Silverman 1981).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.ages_density import Grid, check_bins, extremes

Floats = NDArray[np.float64]

CELLS = 4_096
CHUNK = 256
"""Replicates held at once: 8 MB of grid."""


@dataclass(frozen=True)
class Silverman:
    """Silverman's test of at most some number of humps.

    Attributes
    ----------
    modes : int
        The number of humps under test.
    bandwidth : float
        Critical bandwidth, in the unit of the ages.
    p : float
        Share of replicates with more humps at that bandwidth; not a number without replicates.
    n : float
    replicates, seed : int
    """

    modes: int
    bandwidth: float
    p: float
    n: float
    replicates: int
    seed: int

    def to_frame(self) -> pa.Table:
        """One row, one column an attribute."""
        return pa.Table.from_pylist([dict(self.__dict__)])

    def __str__(self) -> str:
        return wording.silverman(self.modes, self.bandwidth, self.p)


def silverman(
    age: ArrayLike,
    count: ArrayLike | None = None,
    *,
    modes: int = 1,
    lowest: float | None = None,
    highest: float | None = None,
    width: float | ArrayLike = 0.0,
    replicates: int = 999,
    seed: int = 0,
) -> Silverman:
    """Test whether ages have more than `modes` humps.

    Parameters
    ----------
    age, count : array_like, (bins,)
        Ages or middles of bins, and cases at each (1 each when left out).
    modes : int
        Humps under the null hypothesis.
    lowest, highest : float, optional
        With both, the density is reflected at them (ages cannot be below 0); without, it is Silverman's own.
    width : float or array_like
        Width of each bin; its cases are spread evenly over it.
    replicates : int
        Smoothed-bootstrap samples; 0 gives the critical bandwidth alone.

    Raises
    ------
    HingelineError
        When counts are impossible or `modes` is below 1.

    Notes
    -----
    Silverman, J R Stat Soc B 1981;43:97–99. Each replicate is scaled to the variance of the ages seen, which
    is done here by widening its bandwidth instead. The test is conservative (Hall & York, Stat Sinica
    2001;11:515–536).
    """
    x = np.asarray(age, dtype=np.float64)
    n = np.ones_like(x) if count is None else np.asarray(count, dtype=np.float64)
    spans = np.broadcast_to(np.asarray(width, dtype=np.float64), x.shape)
    check_bins(x, n, spans)
    if modes < 1:
        raise HingelineError("A density has at least one hump", "modes", "Give 1 or more")
    if (lowest is None) != (highest is None):
        raise HingelineError("One end of the ages is missing", "lowest, highest", "Give both ends or neither")
    here = n > 0
    if not here.any() or np.ptp(x[here]) == 0:
        raise HingelineError("Ages all alike have no humps to count", "age, count", "Give two ages or more")
    if lowest is None or highest is None:
        grid = Grid.over(x, n, spans, float(x[here].min()), float(x[here].max()), bounded=False, cells=CELLS)
    else:
        grid = Grid.over(x, n, spans, lowest, highest, bounded=True, cells=CELLS)
    bandwidth = critical_bandwidth(grid, modes)
    p = np.nan
    if replicates:
        p = _share_with_more(grid, bandwidth, modes, replicates, np.random.default_rng(seed))
    return Silverman(modes, bandwidth, p, grid.n, replicates, seed)


def critical_bandwidth(grid: Grid, modes: int) -> float:
    """Smallest bandwidth with at most that many humps; their number only falls as it grows, so halve."""
    low, high = grid.step, grid.step * len(grid.age)
    while high - low > 1e-5 * high:
        middle = float(np.sqrt(low * high))
        if _humps(grid.density(grid.mass, middle)) <= modes:
            high = middle
        else:
            low = middle
    return high


def _share_with_more(
    grid: Grid, bandwidth: float, modes: int, replicates: int, generator: np.random.Generator
) -> float:
    density = grid.density(grid.mass, bandwidth)
    chances = density / density.sum()
    n = round(grid.n)
    mean = float(grid.mass @ grid.age)
    variance = float(grid.mass @ (grid.age - mean) ** 2)
    wider = bandwidth * float(np.sqrt(1 + bandwidth**2 / variance))
    more = 0
    for start in range(0, replicates, CHUNK):
        size = min(CHUNK, replicates - start)
        drawn = generator.multinomial(n, chances, size=size) / n
        more += sum(_humps(one) > modes for one in grid.density(drawn, wider))
    # the sample seen counts as one of those that are as far out, so that no p-value is nought
    return (1 + more) / (replicates + 1)


def _humps(density: Floats) -> int:
    return (len(extremes(density)) + 1) // 2
