"""What pooling answers: one frozen result for shares, rates and effects, with each series and its weight."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import pyarrow as pa

from hingeline import wording

Measure = Literal["share", "rate", "effect"]


@dataclass(frozen=True)
class SeriesShown:
    """One series, summary or pool as it stands in the table and the picture of series.

    Attributes
    ----------
    label : str
    estimate, low, high : float
        On the scale of the measure; the limits of a series are exact (effects: normal).
    weight : float
        Part of the pool, 0 to 1; a summary that is only shown has none (0).
    events, total : float
        Not a number where they are not known (a published summary, an effect).
    kind : str
        ``series``, ``summary``, ``pooled`` or ``prediction``.
    """

    label: str
    estimate: float
    low: float
    high: float
    weight: float
    events: float
    total: float
    kind: str


@dataclass(frozen=True)
class Pooled:
    """A share, rate or effect pooled over series.

    Attributes
    ----------
    measure : {"share", "rate", "effect"}
    estimate, low, high : float
        A share (0 to 1), a rate per ``per`` person-years, or an effect on its own scale.
    level : float
    one_sided : bool
        No event (or nothing but events): the limit away from the estimate is one-sided and exact.
    model, limits, weighting : str
        How it was pooled, where the limits come from, and what the weights are, in words.
    linear, se : float
        The pooled value on the model's scale (logit, log or the effect's own) and its standard error.
    tau2, tau2_low, tau2_high : float
        Variance between series on that scale and its limits; not a number where it cannot be estimated.
    i2, q, q_p : float
        I² (0 to 1); the test of any difference between series: Cochran's Q, or in the mixed model the
        likelihood ratio against one level for each series; its p-value on k − 1 degrees of freedom.
    prediction_low, prediction_high : float
        Where the value of a further series like these would lie.
    beside : tuple of (str, float, float)
        Other limits of the same estimate, by name.
    series : tuple of SeriesShown
    warnings : tuple of str
        Whatever a reader must know before reading the number.
    settings, errors
        What it was asked with, and the effects' standard errors, so that it can be asked again of other series.
    """

    measure: Measure
    estimate: float
    low: float
    high: float
    level: float
    model: str
    limits: str
    weighting: str
    linear: float
    se: float
    tau2: float
    tau2_low: float
    tau2_high: float
    i2: float
    q: float
    q_p: float
    prediction_low: float
    prediction_high: float
    beside: tuple[tuple[str, float, float], ...]
    series: tuple[SeriesShown, ...]
    warnings: tuple[str, ...] = ()
    one_sided: bool = False
    per: float = 1.0
    settings: tuple[tuple[str, str], ...] = ()
    errors: tuple[float, ...] = ()

    @property
    def share(self) -> float:
        """The estimate, where it is a share."""
        return self.estimate

    @property
    def labels(self) -> tuple[str, ...]:
        """Labels of the series in the pool."""
        return tuple(row.label for row in self.series)

    @property
    def weights(self) -> tuple[float, ...]:
        """Weights of the series, summing to 1."""
        return tuple(row.weight for row in self.series)

    @property
    def method(self) -> str:
        """Model and limits in one line."""
        return f"{self.model}; {self.limits}"

    def with_warning(self, *warnings: str) -> Pooled:
        """The same with further warnings."""
        return replace(self, warnings=self.warnings + warnings)

    def rows(self) -> tuple[SeriesShown, ...]:
        """The series, then the pool, then the prediction where there is one."""
        events, total = (sum(getattr(row, name) for row in self.series) for name in ("events", "total"))
        pool = SeriesShown(
            wording.pool_label(), self.estimate, self.low, self.high, 1.0, events, total, "pooled"
        )
        ahead = SeriesShown(
            wording.prediction_label(),
            self.estimate,
            self.prediction_low,
            self.prediction_high,
            0.0,
            float("nan"),
            float("nan"),
            "prediction",
        )
        known = self.prediction_low == self.prediction_low
        return (*self.series, pool, *([ahead] if known else []))

    def to_frame(self) -> pa.Table:
        """One row a series, then the pool and the prediction: label, estimate, limits, weight, counts, kind."""
        return pa.Table.from_pylist([dict(row.__dict__) for row in self.rows()])

    def __str__(self) -> str:
        return wording.pooled(
            self.measure,
            (self.estimate, self.low, self.high),
            self.level,
            len(self.series),
            (self.prediction_low, self.prediction_high),
            self.one_sided,
            self.per,
        )
