"""What is told of a curve besides its shares: limits about it, and where it grows fastest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from scipy.special import expit

from hingeline import wording
from hingeline.estimates.cells import Array
from hingeline.estimates.spline import Spline

STEP_YEARS = 0.1


@dataclass(frozen=True, eq=False)
class Band:
    """Shares with limits over ages.

    Attributes
    ----------
    age, share, low, high : array, shape (ages,)
    kind : str
        ``pointwise`` covers at each age, ``simultaneous`` at all ages at once.
    level : float
    critical : float
        How many standard errors wide on the logit.
    """

    age: Array
    share: Array
    low: Array
    high: Array
    kind: str
    level: float
    critical: float

    def to_frame(self) -> pa.Table:
        """One row an age."""
        return pa.table({"age_years": self.age, "share": self.share, "low": self.low, "high": self.high})

    def __str__(self) -> str:
        return wording.band(self.kind, self.level, self.critical)


@dataclass(frozen=True)
class Steepest:
    """Where the standardised share grows fastest.

    Attributes
    ----------
    age : float
        Years.
    interval : tuple of float
    points_per_year : float
        Growth there, in percentage points a year, with ``points_interval``.
    level : float
    """

    age: float
    interval: tuple[float, float]
    points_per_year: float
    points_interval: tuple[float, float]
    level: float

    def to_frame(self) -> pa.Table:
        """One row."""
        return pa.table(
            {
                "age_years": [self.age],
                "low": [self.interval[0]],
                "high": [self.interval[1]],
                "points_per_year": [self.points_per_year],
                "points_low": [self.points_interval[0]],
                "points_high": [self.points_interval[1]],
            }
        )

    def __str__(self) -> str:
        return wording.steepest(
            self.age, self.interval, self.points_per_year, self.points_interval, self.level
        )


def steepest_growth(
    intercepts: Array, coefs: Array, spline: Spline, mix: Array, years: Array
) -> tuple[Array, Array]:
    """Where the standardised share grows fastest, for many sets of coefficients.

    Parameters
    ----------
    intercepts : array, shape (replicates, hospitals)
    coefs : array, shape (replicates, basis)
    spline : Spline
    mix : array, shape (hospitals,) or (ages, hospitals)
        Held fixed at each age: a hospital that begins or stops there is no growth.
    years : array, shape (ages,)
        Where to look (`growth_ages`).

    Returns
    -------
    ages, points_per_year : array, shape (replicates,)
    """
    level, slope = coefs @ spline.basis(years).T, coefs @ spline.slopes(years).T
    density = np.zeros_like(level)
    for group in range(intercepts.shape[1]):
        weight = mix[..., group]
        if np.any(weight > 0):
            share = expit(level + intercepts[:, group, None])
            density += weight * share * (1 - share)
    growth = 100 * density * slope
    place = np.argmax(growth, axis=1)
    return years[place], growth[np.arange(len(growth)), place]


def growth_ages(lowest: float, highest: float) -> Array:
    """Ages a tenth of a year apart, or a hundredth of a short span."""
    return np.linspace(lowest, highest, max(int((highest - lowest) / STEP_YEARS) + 1, 101))
