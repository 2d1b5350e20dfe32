"""The density of ages: binned cases come in, a smooth curve on a fine grid and its extremes go out.

The kernel is Gaussian and is reflected at the ends of the ages, so that nobody is spread to before birth;
smoothing is one product in the cosine transform (Silverman, Density Estimation, 1986, sections 2.10 and 3.5).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import dct, idct, next_fast_len

from hingeline.errors import HingelineError

Floats = NDArray[np.float64]

CELLS = 1_000
"""Cells of the fine grid over the ages: a tenth of a year over a lifetime."""


@dataclass(frozen=True)
class Grid:
    """Cases on a fine, even grid of cells, as shares."""

    age: Floats
    mass: Floats
    n: float
    step: float

    @classmethod
    def over(
        cls,
        x: Floats,
        n: Floats,
        width: Floats,
        lowest: float,
        highest: float,
        *,
        bounded: bool,
        cells: int = CELLS,
    ) -> Grid:
        """Spread bins over the grid; outside `bounded` ages the grid has room for any kernel's tails."""
        inside = (x >= lowest) & (x <= highest) & (n > 0)
        if not inside.any():
            raise HingelineError(
                "There is no case within the ages",
                "age, count, lowest, highest",
                "Widen the ages or check the counts",
            )
        x, n, width = x[inside], n[inside], width[inside]
        margin = 0.0 if bounded else highest - lowest
        cells = next_fast_len(cells)
        step = (highest - lowest + 2 * margin) / cells
        start = lowest - margin
        age = start + (np.arange(cells, dtype=np.float64) + 0.5) * step
        # An exact age is spread over one cell about itself, so that it is shared and the mean is kept.
        half = np.maximum(width, step) / 2
        left = np.clip(x - half, lowest - margin, highest + margin)
        right = np.clip(x + half, lowest - margin, highest + margin)
        mass = _spread((left - start) / step, (right - start) / step, n, cells)
        return cls(age, mass / mass.sum(), float(n.sum()), step)

    def rule_of_thumb(self) -> float:
        """Silverman's normal-reference bandwidth (1986, 3.31)."""
        mean = float(self.mass @ self.age)
        sd = float(np.sqrt(self.mass @ (self.age - mean) ** 2))
        below = np.cumsum(self.mass)
        quartiles = np.interp([0.25, 0.75], below, self.age + self.step / 2)
        spread = min(sd, float(quartiles[1] - quartiles[0]) / 1.34) or sd
        return max(float(0.9 * spread * self.n**-0.2), self.step)

    def density(self, mass: Floats, bandwidth: float) -> Floats:
        """Kernel density of shares (…, cells), reflected at both ends of the grid."""
        cells = mass.shape[-1]
        damp = np.exp(-0.5 * (np.pi * np.arange(cells) * bandwidth / (cells * self.step)) ** 2)
        smooth: Floats = idct(dct(mass, axis=-1) * damp, axis=-1) / self.step
        return np.maximum(smooth, 0.0)


def _spread(left: Floats, right: Floats, n: Floats, cells: int) -> Floats:
    """Cases of each stretch [left, right), in cells, shared out evenly along it."""
    density = n / np.maximum(right - left, 1e-12)
    # The running total is ∑ density·((e − left)₊ − (e − right)₊) at each edge e: differences of ramps.
    ramps = np.zeros(cells + 2)
    for corner, sign in ((left, 1.0), (right, -1.0)):
        cell = np.minimum(np.floor(corner).astype(np.intp), cells - 1)
        part = corner - cell
        np.add.at(ramps, cell, sign * density * (1 - part))
        np.add.at(ramps, cell + 1, sign * density * part)
    mass: Floats = np.cumsum(ramps[:cells])
    return np.maximum(mass, 0.0)


def extremes(density: Floats) -> list[int]:
    """Places of all maxima and, between them, minima; an end may be a maximum; flat: the middle."""
    floor = density.max() * 1e-9  # under it lies rounding, not density
    slope = np.sign(np.diff(np.where(density < floor, 0.0, density)))
    moving = np.flatnonzero(slope)
    if len(moving) == 0:
        return [len(density) // 2]
    turns = np.flatnonzero(np.diff(slope[moving]))
    middle = ((moving[turns] + 1 + moving[turns + 1]) // 2).tolist()
    if slope[moving[0]] < 0:
        middle.insert(0, 0)
    if slope[moving[-1]] > 0:
        middle.append(len(density) - 1)
    return [int(place) for place in middle]


def check_bins(x: Floats, n: Floats, width: Floats) -> None:
    """Refuse ages and counts that are no bins."""
    if x.ndim != 1 or x.shape != n.shape or not (np.isfinite(x).all() and np.isfinite(n).all()):
        raise HingelineError(
            "Ages and counts do not match", "age, count", "Give one finite count for each age"
        )
    if (n < 0).any() or (width < 0).any():
        raise HingelineError(
            "A count or width is below 0", "count, width", "Give counts and widths of 0 or more"
        )
