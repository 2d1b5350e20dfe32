"""The age at which the direct share first reaches a threshold.

A fit (hinges or curve) and a threshold come in; the first age at which the share standardised to the hospitals
near that age is that high goes out, with limits from a bootstrap over patients or, for a curve, from its band,
both under the mix of that age. Not reaching the threshold is an answer, and so is an interval that is open on
one side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.bootstrap import checked_span
from hingeline.estimates.cells import checked_mix, open_unit
from hingeline.estimates.curve import CurveFit
from hingeline.estimates.first_reach import CurveLogit, HingeLogit, SharedLogit, local_crossing
from hingeline.estimates.hinge_fit import HingeFit
from hingeline.estimates.mix import standard_mix
from hingeline.estimates.patterns import percentile_interval

__all__ = ["Crossing", "crossing", "standard_mix"]

Array = NDArray[np.float64]
BAND_STEP_YEARS: Final = 0.02
"""Step at which a band is looked at; between two steps it is taken for a line."""


class Replicated(Protocol):
    """A bootstrap whose replicates can be asked for their crossings (`HingeBootstrap`, `CurveBootstrap`)."""

    @property
    def level(self) -> float:
        """Coverage."""

    @property
    def replicates(self) -> int:
        """How many."""

    def crossing_ages(self, threshold: float, mix: ArrayLike, lowest: float, highest: float) -> Array:
        """Age of each replicate's crossing, in years."""


@dataclass(frozen=True, eq=False)
class Crossing:
    """The first age at which the standardised direct share reaches a threshold.

    Attributes
    ----------
    age : float
        In years; inf when the share does not reach the threshold by ``highest``, −inf when it is there
        already at ``lowest``.
    interval : tuple of float
        Limits in years, infinite in the same sense on a side that is open; nan when none was computed.
    threshold : float
    reached : bool
        Whether the share is at the threshold at any age looked at.
    lowest, highest : float
        Ages looked at, in years.
    mix : array, shape (hospitals,)
        The fixed weights of the hospitals.
    level : float
    method : str
        Where the limits come from: ``bootstrap over patients``, ``pointwise band`` or ``none``.
    """

    age: float
    interval: tuple[float, float]
    threshold: float
    reached: bool
    lowest: float
    highest: float
    mix: Array
    level: float
    method: str

    @property
    def sentence(self) -> str:
        """The answer in words."""
        return str(self)

    def to_frame(self) -> pa.Table:
        """One row."""
        return pa.table(
            {
                "threshold": [self.threshold],
                "age_years": [self.age],
                "low_years": [self.interval[0]],
                "high_years": [self.interval[1]],
                "reached": [self.reached],
                "lowest_years": [self.lowest],
                "highest_years": [self.highest],
                "level": [self.level],
                "method": [self.method],
            }
        )

    def __str__(self) -> str:
        return wording.crossing(
            self.threshold, self.age, self.interval, self.level, self.lowest, self.highest
        )


def crossing(
    fit: HingeFit | CurveFit,
    threshold: float,
    *,
    mix: ArrayLike | None = None,
    lowest: float | None = None,
    highest: float | None = None,
    boot: Replicated | None = None,
    level: float | None = None,
) -> Crossing:
    """Find the first age at which the standardised direct share reaches a threshold.

    Parameters
    ----------
    fit : HingeFit or CurveFit
    threshold : float
        Share, between 0 and 1.
    mix : array_like, shape (hospitals,), or None
        Fixed hospital weights. None standardises each age to the case mix of the hospitals with cases within
        3 years of it, as the drawn curve does, takes the first age at which that share is at the threshold,
        and asks every replicate with that age's mix (`local_crossing`).
    lowest, highest : float or None
        Ages to look between, in years; None is the end of the data.
    boot : HingeBootstrap or CurveBootstrap or None
        Replicates of the fit. Without, a curve's limits come from its pointwise band (the lower limit where
        the upper band first reaches the threshold, and the other way round) and a hinge fit's are not given,
        since they would take its turns as known.
    level : float or None
        Coverage; None is the bootstrap's, or the fit's.

    Raises
    ------
    HingelineError
        When the threshold is not between 0 and 1, the ages leave nothing between them, or the mix is none.
    """
    open_unit(threshold, "threshold")
    source = _shape(fit)
    low, high = checked_span(lowest, highest, *source.ends)
    if mix is None:
        at, weights = local_crossing(
            source.logit, threshold, source.groups, source.ages, source.totals, low, high
        )
    else:
        weights = checked_mix(mix, source.logit.intercepts.size)
        at = source.logit.crossing(threshold, weights, low, high)
    interval, method = (np.nan, np.nan), "none"
    covered = open_unit(source.level if level is None else level, "level")
    if boot is not None:
        covered = boot.level if level is None else level
        interval = percentile_interval(boot.crossing_ages(threshold, weights, low, high), covered)
        method = "bootstrap over patients"
    elif isinstance(fit, CurveFit):
        interval, method = _band_limits(fit, threshold, weights, low, high, covered), "pointwise band"
    return Crossing(at, interval, threshold, at < np.inf, low, high, weights, covered, method)


@dataclass(frozen=True)
class _Shape:
    """What a crossing needs to know of a fit, whichever it is."""

    logit: SharedLogit
    groups: NDArray[np.int64]
    ages: Array
    totals: Array
    level: float

    @property
    def ends(self) -> tuple[float, float]:
        """Youngest and oldest age with cases."""
        held = self.ages[self.totals > 0]
        return float(held.min()), float(held.max())


def _shape(fit: HingeFit | CurveFit) -> _Shape:
    if isinstance(fit, CurveFit):
        cells, curve = fit.cells, CurveLogit(fit.intercepts, fit.coefs, fit.design.spline)
        return _Shape(curve, cells.group, cells.age_years, cells.total, fit.level)
    if fit.family != "binomial":
        raise HingelineError("A rate reaches no share", "argument fit", "give a fit of shares")
    design, hinges = fit.design, HingeLogit(fit.penalised, fit.taus)
    return _Shape(hinges, design.group_by_cell, design.age_by_cell, design.total_by_cell, fit.level)


def _band_limits(
    fit: CurveFit, threshold: float, mix: Array, lowest: float, highest: float, level: float
) -> tuple[float, float]:
    """Where the upper, then the lower pointwise limit first reaches the threshold."""
    years = np.linspace(lowest, highest, int(np.ceil((highest - lowest) / BAND_STEP_YEARS)) + 1)
    band = fit.band(years, mix=mix, level=level)
    return _first_above(years, band.high, threshold), _first_above(years, band.low, threshold)


def _first_above(years: Array, line: Array, threshold: float) -> float:
    above = line >= threshold
    if above[0]:
        return -np.inf
    if not above.any():
        return np.inf
    place = int(np.argmax(above))
    part = (threshold - line[place - 1]) / (line[place] - line[place - 1])
    return float(years[place - 1] + part * (years[place] - years[place - 1]))
