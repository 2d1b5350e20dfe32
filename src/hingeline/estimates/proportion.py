"""A share from counts: events of a total come in, the share and its limits go out.

One proportion has Wilson's score limits, Clopper and Pearson's exact limits, Jeffreys' limits and, for no
events, the one-sided rule of three; a difference of two has Newcombe's hybrid score limits and Miettinen and
Nurminen's. The ``*_limits`` functions take arrays; the others take one table and answer in a sentence.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import betaincinv, ndtri

from hingeline import wording
from hingeline.errors import HingelineError

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Proportion:
    """A share of a total with its limits.

    Attributes
    ----------
    events, total : float
        Counts; a total may be an effective number and so need not be whole.
    share, low, high : float
        Between 0 and 1; the share of no total at all is not a number and its limits are 0 and 1.
    level : float
        Coverage of the interval.
    method : str
    one_sided : bool
        Whether all of 1 − level lies above ``high`` (the rule of three).
    """

    events: float
    total: float
    share: float
    low: float
    high: float
    level: float
    method: str
    one_sided: bool = False

    def to_frame(self) -> pa.Table:
        """One row, one column an attribute."""
        return pa.Table.from_pylist([dict(self.__dict__)])

    def __str__(self) -> str:
        return wording.proportion(
            self.share, self.low, self.high, self.events, self.total, self.level, self.one_sided
        )


@dataclass(frozen=True)
class Difference:
    """The difference of two shares, first less second, with its limits (each between −1 and 1)."""

    first: Proportion
    second: Proportion
    difference: float
    low: float
    high: float
    level: float
    method: str

    def to_frame(self) -> pa.Table:
        """One row: both tables, the difference and its limits."""
        row: dict[str, float | str] = {}
        for name, arm in (("first", self.first), ("second", self.second)):
            row |= {f"{name}_events": arm.events, f"{name}_total": arm.total, f"{name}_share": arm.share}
        row |= {"difference": self.difference, "low": self.low, "high": self.high}
        return pa.Table.from_pylist([row | {"level": self.level, "method": self.method}])

    def __str__(self) -> str:
        return wording.share_difference(self.difference, self.low, self.high, self.level)


def wilson(events: float, total: float, level: float = 0.95) -> Proportion:
    """Share with Wilson's score limits, the default of the house.

    Parameters
    ----------
    events, total : float
        0 <= events <= total.
    level : float
        Coverage, between 0 and 1.

    Raises
    ------
    HingelineError
        When the counts or the level are impossible.

    Notes
    -----
    Wilson, J Am Stat Assoc 1927;22:209–212; recommended by Newcombe, Stat Med 1998;17:857–872 (method 3).
    """
    return _proportion(events, total, level, "Wilson", wilson_limits)


def clopper_pearson(events: float, total: float, level: float = 0.95) -> Proportion:
    """Share with Clopper and Pearson's exact limits, which never cover less than their level.

    Parameters and errors are those of `wilson`. Source: Clopper & Pearson, Biometrika 1934;26:404–413.
    """
    return _proportion(events, total, level, "Clopper–Pearson", clopper_pearson_limits)


def jeffreys(events: float, total: float, level: float = 0.95) -> Proportion:
    """Share with the limits of Jeffreys' beta(½, ½) prior, opened to 0 and to 1 at the two ends.

    Parameters and errors are those of `wilson`. Source: Brown, Cai & DasGupta, Stat Sci 2001;16:101–133.
    """
    return _proportion(events, total, level, "Jeffreys", jeffreys_limits)


def rule_of_three(total: float, level: float = 0.95) -> Proportion:
    """Share of no events in a total, with its exact one-sided upper limit, 1 − (1 − level)^(1/total).

    At 95% that is close to 3/total, whence the name (`three_over`). One-sided: it is lower than the upper
    limit of a two-sided interval, and the two are not to be mixed. Source: Hanley & Lippman-Hand, JAMA
    1983;249:1743–1745.
    """
    _checked(0.0, total, level)
    high = 1.0 if total == 0 else -float(np.expm1(np.log1p(-level) / total))
    return Proportion(
        0.0, float(total), np.nan if total == 0 else 0.0, 0.0, high, level, "rule of three", one_sided=True
    )


def three_over(total: float) -> float:
    """The rule of three as it is said at the bedside: 3/total, never above 1."""
    _checked(0.0, total, 0.95)
    return 1.0 if total <= 3 else 3.0 / total


def wilson_limits(events: ArrayLike, total: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
    """Wilson's limits for arrays of counts; a total of 0 has the limits 0 and 1.

    Parameters
    ----------
    events, total : array_like, broadcast against each other
    level : float

    Returns
    -------
    low, high : ndarray of the broadcast shape
    """
    x, n = _checked(events, total, level)
    z = ndtri((1 + level) / 2)
    size = np.maximum(n, np.finfo(float).tiny)
    middle = x + z**2 / 2
    half = z * np.sqrt(x * (n - x) / size + z**2 / 4)
    low, high = (middle - half) / (n + z**2), (middle + half) / (n + z**2)
    # cancellation leaves 1e-17 where the formula gives 0 or 1 exactly
    return np.where(x <= 0, 0.0, low), np.where(x >= n, 1.0, high)


def clopper_pearson_limits(events: ArrayLike, total: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
    """Clopper and Pearson's limits for arrays of counts, shaped as in `wilson_limits`."""
    x, n = _checked(events, total, level)
    low = _beta_quantile(np.where(x > 0, x, 1.0), n - x + 1, (1 - level) / 2)
    high = _beta_quantile(x + 1, np.where(x < n, n - x, 1.0), (1 + level) / 2)
    return np.where(x > 0, low, 0.0), np.where(x < n, high, 1.0)


def jeffreys_limits(events: ArrayLike, total: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
    """Jeffreys' limits for arrays of counts, shaped as in `wilson_limits`."""
    x, n = _checked(events, total, level)
    low = _beta_quantile(x + 0.5, n - x + 0.5, (1 - level) / 2)
    high = _beta_quantile(x + 0.5, n - x + 0.5, (1 + level) / 2)
    return np.where(x > 0, low, 0.0), np.where(x < n, high, 1.0)


def newcombe(
    events: float, total: float, other_events: float, other_total: float, level: float = 0.95
) -> Difference:
    """Difference of two independent shares, first less second, with Newcombe's hybrid score limits.

    Each limit squares and adds the distances of the two Wilson limits from their shares.

    Raises
    ------
    HingelineError
        When counts or level are impossible, or a total is 0.

    Notes
    -----
    Newcombe, Stat Med 1998;17:873–890, method 10.
    """
    first, second = _arms(events, total, other_events, other_total, level)
    difference = first.share - second.share
    down = np.hypot(first.share - first.low, second.high - second.share)
    up = np.hypot(first.high - first.share, second.share - second.low)
    return Difference(
        first, second, difference, float(difference - down), float(difference + up), level, "Newcombe"
    )


def miettinen_nurminen(
    events: float, total: float, other_events: float, other_total: float, level: float = 0.95
) -> Difference:
    """Difference of two independent shares, first less second, with Miettinen and Nurminen's score limits.

    The limits are the differences d at which the score statistic, its variance taken at the likelihood's
    maximum under d and multiplied by N/(N − 1), meets the normal quantile.

    Raises
    ------
    HingelineError
        When counts or level are impossible, or a total is 0.

    Notes
    -----
    Miettinen & Nurminen, Stat Med 1985;4:213–226.
    """
    first, second = _arms(events, total, other_events, other_total, level)
    difference = first.share - second.share
    z = float(ndtri((1 + level) / 2))

    def excess(d: float, sign: float) -> float:
        variance = score_variance(events, total, other_events, other_total, d)
        return sign * (d - difference) - z * float(np.sqrt(max(variance, 0.0)))

    def limit(sign: float) -> float:
        # Outwards from the estimate the statistic only grows; at the estimate itself both terms may be 0
        # (0 of n against 0 of m), so the bracket opens a little way out.
        start = difference + sign * 1e-9
        if abs(start) >= 1 and start * sign > 0:
            return sign
        return float(brentq(excess, start, sign, args=(sign,), xtol=1e-13, rtol=1e-13))

    return Difference(first, second, difference, limit(-1.0), limit(1.0), level, "Miettinen–Nurminen")


def score_variance(
    events: float, total: float, other_events: float, other_total: float, difference: float
) -> float:
    """Variance of a difference of shares at the likelihood's maximum under that difference, times N/(N − 1).

    The restricted maximum solves a cubic in closed form (Miettinen & Nurminen 1985, appendix I).
    """
    n, m, d = total, other_total, difference
    both, successes = n + m, events + other_events
    b = (n + 2 * m) * d - both - successes
    c = (m * d - both - 2 * other_events) * d + successes
    e = other_events * d * (1 - d)
    centre = b / (3 * both)
    v = centre**3 - b * c / (6 * both**2) + e / (2 * both)
    u = np.sqrt(max(centre**2 - c / (3 * both), 0.0)) * (1.0 if v > 0 else -1.0)
    cosine = 1.0 if u == 0 else float(np.clip(v / u**3, -1.0, 1.0))
    second = 2 * u * np.cos((np.pi + np.arccos(cosine)) / 3) - centre
    second = float(np.clip(second, max(0.0, -d), min(1.0, 1 - d)))
    first = second + d
    return float((first * (1 - first) / n + second * (1 - second) / m) * both / (both - 1))


Limits = Callable[[ArrayLike, ArrayLike, float], tuple[Floats, Floats]]


def _proportion(events: float, total: float, level: float, method: str, limits: Limits) -> Proportion:
    low, high = limits(events, total, level)
    share = events / total if total else np.nan
    return Proportion(float(events), float(total), share, float(low), float(high), level, method)


def _arms(
    events: float, total: float, other_events: float, other_total: float, level: float
) -> tuple[Proportion, Proportion]:
    if total == 0 or other_total == 0:
        raise HingelineError(
            "A difference needs cases in both groups", "total, other_total", "Give totals above 0"
        )
    return wilson(events, total, level), wilson(other_events, other_total, level)


def _beta_quantile(a: Floats, b: Floats, probability: float) -> Floats:
    return np.asarray(betaincinv(a, b, probability), dtype=np.float64)


def _checked(events: ArrayLike, total: ArrayLike, level: float) -> tuple[Floats, Floats]:
    """The counts as broadcast arrays of floats, when they are possible counts."""
    if not 0 < level < 1:
        raise HingelineError(f"{level} is no coverage level", "level", "Give a number between 0 and 1")
    x, n = np.broadcast_arrays(np.asarray(events, dtype=float), np.asarray(total, dtype=float))
    possible = np.isfinite(x) & np.isfinite(n) & (x >= 0) & (x <= n)
    if not possible.all():
        worst = int(np.flatnonzero(~possible.ravel())[0])
        raise HingelineError(
            f"{x.ravel()[worst]:g} of {n.ravel()[worst]:g} is no share",
            f"events and total, place {worst}",
            "Give events from 0 up to their total",
        )
    return x, n
