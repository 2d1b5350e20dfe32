"""A table of series and published summaries pooled, and a pool with each series left out in turn.

Summaries are shown beside the series and never counted with them, unless that is asked, and then the answer warns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.errors import HingelineError

from .pooling_counts import pool_rates, pool_shares
from .pooling_inverse import pool_effects
from .pooling_result import Pooled, SeriesShown
from .proportion import clopper_pearson_limits

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LeftOut:
    """The pool without one series; ``change`` is the estimate's, without less with."""

    label: str
    estimate: float
    low: float
    high: float
    tau2: float
    i2: float
    change: float


@dataclass(frozen=True)
class LeaveOneOut:
    """A pool with each series left out in turn.

    Attributes
    ----------
    pooled : Pooled
        With all of them.
    rows : tuple of LeftOut
        In the order of the series.
    """

    pooled: Pooled
    rows: tuple[LeftOut, ...]

    @property
    def biggest(self) -> LeftOut:
        """The series whose absence moves the estimate most."""
        return max(self.rows, key=lambda row: abs(row.change))

    def to_frame(self) -> pa.Table:
        """One row a series: label, estimate without it, limits, tau2, i2, change."""
        return pa.Table.from_pylist([dict(row.__dict__) for row in self.rows])

    def __str__(self) -> str:
        row = self.biggest
        return wording.left_out(
            self.pooled.measure,
            row.label,
            (row.estimate, row.low, row.high),
            self.pooled.estimate,
            self.pooled.level,
            self.pooled.per,
        )


@dataclass(frozen=True)
class SeriesTable:
    """A table of series, their pool, and the summaries shown beside them.

    Attributes
    ----------
    pooled : Pooled or None
        None when there is no series to pool.
    summaries : tuple of SeriesShown
        Published pooled estimates that are only shown.
    warnings : tuple of str
    """

    pooled: Pooled | None
    summaries: tuple[SeriesShown, ...]
    warnings: tuple[str, ...]

    def rows(self) -> tuple[SeriesShown, ...]:
        """Series, summaries, pool and prediction, in the order in which the picture shows them."""
        if self.pooled is None:
            return self.summaries
        own = self.pooled.rows()
        series = len(self.pooled.series)
        return (*own[:series], *self.summaries, *own[series:])

    def to_frame(self) -> pa.Table:
        """One row each: label, estimate, low, high, weight, events, total, kind."""
        return pa.Table.from_pylist([dict(row.__dict__) for row in self.rows()])

    def __str__(self) -> str:
        if self.pooled is None:
            return wording.only_summaries(len(self.summaries))
        return str(self.pooled)


def leave_one_out(pooled: Pooled) -> LeaveOneOut:
    """Pool again with each series left out in turn, by the same model and limits.

    Raises
    ------
    HingelineError
        When there are fewer than two series.
    """
    if len(pooled.series) < 2:
        raise HingelineError(
            "One series cannot be left out of a pool of one", "pooled", "Pool two series or more"
        )
    rows = []
    for place, series in enumerate(pooled.series):
        other = _again(pooled, [row for at, row in enumerate(pooled.series) if at != place], place)
        rows.append(
            LeftOut(
                series.label,
                other.estimate,
                other.low,
                other.high,
                other.tau2,
                other.i2,
                other.estimate - pooled.estimate,
            )
        )
    return LeaveOneOut(pooled, tuple(rows))


def pool_series(
    label: Sequence[str],
    events: ArrayLike,
    n: ArrayLike,
    *,
    share: ArrayLike | None = None,
    low: ArrayLike | None = None,
    high: ArrayLike | None = None,
    kind: Sequence[str] | None = None,
    summaries: Literal["shown", "pooled"] = "shown",
    model: Literal["binomial-normal", "reml"] = "binomial-normal",
    limits: Any = None,
    level: float = 0.95,
) -> SeriesTable:
    """Pool the series of a table; show its summaries.

    Parameters
    ----------
    label, events, n, share, low, high, kind : sequences, (rows,)
        The columns of `counts.series.read_series`; a summary may lack events (not a number or None) when it has
        a share. ``kind`` is ``series`` or ``summary``; all are series when it is left out.
    summaries : {"shown", "pooled"}
        Whether to pool summaries with the series; warned when so.
    model, limits, level
        As in `pooling.pool_shares`.

    Raises
    ------
    HingelineError
        When counts, kinds or names are impossible, or a summary that is to be pooled has neither events nor a
        share.
    """
    names = [str(each) for each in label]
    kinds = ["series"] * len(names) if kind is None else [str(each) for each in kind]
    x, total = _numbers(events, len(names), "events"), _numbers(n, len(names), "n")
    told = [
        _numbers(part, len(names), name) for part, name in ((share, "share"), (low, "low"), (high, "high"))
    ]
    if len(kinds) != len(names) or set(kinds) - {"series", "summary"}:
        raise HingelineError("A kind is unknown", "kind", "Write series or summary for each row")
    if summaries not in ("shown", "pooled"):
        raise HingelineError(f"There is no {summaries!r}", "summaries", 'Use "shown" or "pooled"')
    apart = [place for place, each in enumerate(kinds) if each == "summary"]
    if summaries == "pooled":
        x = np.where(np.isnan(x), np.round(told[0] * total), x)
        pool, shown, warnings = list(range(len(names))), [], []
        if apart:
            warnings.append(wording.pool_summaries_pooled([names[place] for place in apart]))
    else:
        pool, shown = [place for place in range(len(names)) if place not in apart], apart
        warnings = [wording.pool_summaries([names[place] for place in apart])] if apart else []
    rows = tuple(
        _summary(names[i], (x[i], total[i]), (told[0][i], told[1][i], told[2][i]), level) for i in shown
    )
    if not pool:
        return SeriesTable(None, rows, tuple(warnings))
    pooled = pool_shares(
        x[pool], total[pool], [names[i] for i in pool], model=model, limits=limits, level=level
    )
    pooled = replace(
        pooled,
        series=tuple(replace(row, kind=kinds[i]) for row, i in zip(pooled.series, pool, strict=True)),
    )
    return SeriesTable(
        pooled.with_warning(*warnings) if warnings else pooled, rows, (*pooled.warnings, *warnings)
    )


def _summary(
    label: str, counts: tuple[float, float], told: tuple[float, float, float], level: float
) -> SeriesShown:
    """A summary as printed; one that gives events and no limits has exact ones."""
    events, n = counts
    share, low, high = told
    if np.isnan(share):
        share = events / n
    if (np.isnan(low) or np.isnan(high)) and not np.isnan(events):
        exact = clopper_pearson_limits(events, n, level)
        low, high = float(exact[0]), float(exact[1])
    return SeriesShown(label, float(share), float(low), float(high), 0.0, float(events), float(n), "summary")


def _again(pooled: Pooled, rows: list[SeriesShown], place: int) -> Pooled:
    """The same pool of other series."""
    settings = dict(pooled.settings)
    limits: Any = settings.get("limits") or None
    labels = [row.label for row in rows]
    if pooled.measure == "effect":
        errors = np.delete(np.array(pooled.errors), place)
        effects = [row.estimate for row in rows]
        return pool_effects(effects, errors, labels, limits=limits, level=pooled.level)
    events, totals = [row.events for row in rows], [row.total for row in rows]
    if pooled.measure == "rate":
        return pool_rates(events, totals, labels, limits=limits, level=pooled.level, per=pooled.per)
    model: Any = settings["model"]
    return pool_shares(events, totals, labels, model=model, limits=limits, level=pooled.level)


def _numbers(values: Any, rows: int, name: str) -> Floats:
    if values is None:
        return np.full(rows, np.nan)
    found = np.array([np.nan if value is None else value for value in values], dtype=np.float64)
    if found.shape != (rows,):
        raise HingelineError(
            f"The column {name} has {found.size} values for {rows} rows", name, "Give one value a row"
        )
    return found
