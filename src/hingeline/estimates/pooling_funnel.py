"""Hospitals against what chance alone would spread: counts come in, control limits and who lies outside go out.

The limits are exact binomial ones, interpolated between whole events so that they do not jump with each patient.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr, bdtrik

from hingeline import wording
from hingeline.errors import HingelineError

Floats = NDArray[np.float64]

LEVELS: Final = (0.95, 0.998)
"""The two pairs of control limits: 2 in 40 and 1 in 500 lie outside by chance (Spiegelhalter 2005)."""

GRID: Final = 200
"""Sizes at which the limits are drawn."""


@dataclass(frozen=True)
class FunnelLimits:
    """Control limits at each size (arrays of equal length, shares between 0 and 1)."""

    n: Floats
    centre: float
    low95: Floats
    high95: Floats
    low998: Floats
    high998: Floats

    def to_frame(self) -> pa.Table:
        """One row a size: n, centre, low95, high95, low998, high998."""
        names = ("low95", "high95", "low998", "high998")
        columns = {name: getattr(self, name) for name in names}
        return pa.table({"n": self.n, "centre": np.full(self.n.size, self.centre), **columns})


@dataclass(frozen=True)
class Funnel:
    """Hospitals and their control limits.

    Attributes
    ----------
    labels : tuple of str
    events, n, share : ndarray, (hospitals,)
    outside : tuple of str
        For each hospital ``""``, ``"low 95"``, ``"high 95"``, ``"low 99.8"`` or ``"high 99.8"``.
    at : FunnelLimits
        The limits at each hospital's own size; ``curve`` holds them over the whole range of sizes.
    centre_given : bool
        Whether the centre came from outside; otherwise it is the hospitals' own common share.
    """

    labels: tuple[str, ...]
    events: Floats
    n: Floats
    share: Floats
    outside: tuple[str, ...]
    at: FunnelLimits
    curve: FunnelLimits
    centre_given: bool

    def to_frame(self) -> pa.Table:
        """One row a hospital: label, events, n, share, outside and its limits."""
        own = self.at.to_frame().drop_columns(["n"])
        table = pa.table(
            {"label": list(self.labels), "events": self.events, "n": self.n, "share": self.share}
        ).append_column("outside", pa.array(list(self.outside), pa.string()))
        for name in own.column_names:
            table = table.append_column(name, own[name])
        return table

    def __str__(self) -> str:
        out = [label for label, where in zip(self.labels, self.outside, strict=True) if where]
        far = [label for label, where in zip(self.labels, self.outside, strict=True) if "99.8" in where]
        return wording.funnel_told(self.at.centre, out, far, len(self.labels))


def funnel(
    events: ArrayLike, n: ArrayLike, labels: Sequence[str] | None = None, *, centre: float | None = None
) -> Funnel:
    """Compare hospitals with the limits that chance alone would keep them in.

    Parameters
    ----------
    events, n : array_like of whole numbers, (hospitals,)
        0 <= events <= n, n > 0.
    labels : sequence of str, optional
    centre : float, optional
        A share from outside to compare with (0 to 1); by default that of all the hospitals together.

    Raises
    ------
    HingelineError
        When counts or the centre are impossible.

    Notes
    -----
    A hospital lies outside when its share is beyond the interpolated limit and so many events or more (or so few)
    are rarer by chance than the limit says, by the binomial itself: the upper limit lies below the last whole number
    of events that is not rare, and by it alone one of one would be too many at a share of a half. No event
    is never too low when the limit is 0.
    """
    x, totals = np.asarray(events, dtype=np.float64), np.asarray(n, dtype=np.float64)
    names = (
        tuple(map(str, labels))
        if labels is not None
        else tuple(wording.series_label(place + 1) for place in range(x.size))
    )
    if x.ndim != 1 or x.shape != totals.shape or x.size == 0 or len(names) != x.size:
        raise HingelineError(
            "Events, totals and labels are not one each a hospital", "events, n, labels", "Give equal lists"
        )
    whole = (x == np.round(x)) & (totals == np.round(totals))
    wrong = np.flatnonzero(
        ~(np.isfinite(x) & np.isfinite(totals) & whole & (x >= 0) & (x <= totals) & (totals > 0))
    )
    if wrong.size:
        raise HingelineError(
            f"{x[wrong[0]]:g} events of {totals[wrong[0]]:g} are no counts",
            f"events and n, {names[wrong[0]]}",
            "Give whole numbers, events from 0 up to their total, totals above 0",
        )
    middle = float(x.sum() / totals.sum()) if centre is None else float(centre)
    at = funnel_limits(middle, totals)
    share = x / totals
    sizes = np.unique(np.round(np.geomspace(max(1.0, totals.min() / 2), 1.1 * totals.max(), GRID)))
    rare_high, rare_low = 1 - _up_to(x - 1, totals, middle), _up_to(x, totals, middle)
    outside = []
    for place in range(x.size):
        where = ""
        for name, level, low, high in zip(
            ("95", "99.8"), LEVELS, (at.low95, at.low998), (at.high95, at.high998), strict=True
        ):
            tail = (1 - level) / 2
            if share[place] > high[place] and rare_high[place] < tail:
                where = f"high {name}"
            elif share[place] < low[place] and rare_low[place] < tail:
                where = f"low {name}"
        outside.append(where)
    return Funnel(
        names, x, totals, share, tuple(outside), at, funnel_limits(middle, sizes), centre is not None
    )


def funnel_limits(centre: float, n: ArrayLike) -> FunnelLimits:
    """Interpolated exact binomial control limits about a share, at given sizes.

    Parameters
    ----------
    centre : float
        Between 0 and 1.
    n : array_like of whole numbers, (sizes,)

    Raises
    ------
    HingelineError
        When the centre is no share or a size is not a whole number above 0.

    Notes
    -----
    Spiegelhalter, Stat Med 2005;24:1185–1202, appendix A.1.1: with r the smallest count whose cumulative
    probability reaches p and α = (P(R ≤ r) − p)/P(R = r), the limit is (r − α)/n; here never below 0.
    """
    sizes = np.atleast_1d(np.asarray(n, dtype=np.float64))
    if not (np.isfinite(centre) and 0 <= centre <= 1):
        raise HingelineError(f"{centre} is no share", "centre", "Give a number from 0 to 1")
    if not (np.isfinite(sizes) & (sizes >= 1) & (sizes == np.round(sizes))).all():
        raise HingelineError("A size is no count", "n", "Give whole numbers above 0")
    limits = []
    for level in LEVELS:
        limits += [
            _interpolated(centre, sizes, (1 - level) / 2),
            _interpolated(centre, sizes, (1 + level) / 2),
        ]
    return FunnelLimits(sizes, float(centre), *limits)


def _interpolated(centre: float, n: Floats, probability: float) -> Floats:
    if centre in (0.0, 1.0):
        return np.full(n.size, centre)
    count = np.clip(np.ceil(bdtrik(probability, n, centre)), 0, n)
    count = np.where(np.isnan(count), 0.0, count)
    # the inverse may be one off where the cumulative probability meets p
    count = np.where((count > 0) & (_up_to(count - 1, n, centre) >= probability), count - 1, count)
    count = np.where(_up_to(count, n, centre) < probability, np.minimum(count + 1, n), count)
    here, below = _up_to(count, n, centre), _up_to(count - 1, n, centre)
    alpha = (here - probability) / (here - below)
    return np.asarray(np.clip((count - alpha) / n, 0.0, 1.0), dtype=np.float64)


def _up_to(count: Floats, n: Floats, share: float) -> Floats:
    """P(R <= count)."""
    return np.asarray(
        np.where(count < 0, 0.0, bdtr(np.maximum(count, 0.0), n.astype(np.int64), share)), dtype=np.float64
    )
