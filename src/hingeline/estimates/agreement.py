"""Do two readers of the same operations read the same type? A square table of answers comes in; a kappa goes out.

Cohen's kappa (Educ Psychol Meas 1960;20:37), weighted (Psychol Bull 1968;70:213), with the limits of Fleiss,
Cohen & Everitt (Psychol Bull 1969;72:323) or of a bootstrap over patients. Observed agreement, agreement by answer
(Graham & Bull, J Clin Epidemiol 1998;51:763) and what prevalence and bias do to kappa (Byrt, Bishop & Carlin,
J Clin Epidemiol 1993;46:423) stand beside it always. Many readers: `agreement_many`; errors of typing: `typing_rates`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.agreement_many import FleissKappa, fleiss_kappa
from hingeline.estimates.agreement_tables import (
    ReadTwice,
    bootstrap_limits,
    checked_level,
    checked_table,
    named,
    read_twice,
)
from hingeline.estimates.agreement_typing import TypingRates, typing_rates, typing_rates_between
from hingeline.estimates.proportion import wilson_limits

__all__ = [
    "FleissKappa",
    "Kappa",
    "ReadTwice",
    "TypingRates",
    "cohen_kappa",
    "fleiss_kappa",
    "read_twice",
    "typing_rates",
    "typing_rates_between",
]

Floats = NDArray[np.float64]
WEIGHTS: Final = ("linear", "quadratic")


@dataclass(frozen=True, eq=False)
class Kappa:
    """Agreement of two readers beyond chance, with what it has to be read beside.

    Attributes
    ----------
    kappa, low, high : float
        nan where both readers gave one and the same answer to all: chance alone agrees as well.
    se, null_se : float
        Standard errors at the kappa found, and under none.
    observed, observed_low, observed_high : float
        Share of groins read alike (weighted, when kappa is; the limits are Wilson's and unweighted).
    expected : float
        Share that chance alone would read alike.
    largest : float
        Greatest kappa that these margins allow.
    labels : tuple of str
    by_answer, by_answer_low, by_answer_high : array, shape (answers,)
        Of the readings that gave an answer, the share that the other reader gave too.
    prevalence, bias : float
        For two answers: how far the answers and the readers' margins are out of balance, −1 to 1; else nan.
    adjusted : float
        For two answers: kappa if prevalence and bias were balanced, 2 · observed − 1; else nan.
    n : float
        Groins read twice.
    weights : str
        ``none``, ``linear`` or ``quadratic``.
    level : float
    method : str
        Of the limits.
    note : str
        What prevalence or bias does to this kappa; empty where they do little.
    """

    kappa: float
    low: float
    high: float
    se: float
    null_se: float
    observed: float
    observed_low: float
    observed_high: float
    expected: float
    largest: float
    labels: tuple[str, ...]
    by_answer: Floats
    by_answer_low: Floats
    by_answer_high: Floats
    prevalence: float
    bias: float
    adjusted: float
    n: float
    weights: str
    level: float
    method: str
    note: str

    def to_frame(self) -> pa.Table:
        """One row for kappa, one for observed agreement, one an answer."""
        answers = len(self.labels)
        return pa.table(
            {
                "what": ["kappa", "observed agreement", *[f"agreement on {a}" for a in self.labels]],
                "estimate": [self.kappa, self.observed, *self.by_answer.tolist()],
                "low": [self.low, self.observed_low, *self.by_answer_low.tolist()],
                "high": [self.high, self.observed_high, *self.by_answer_high.tolist()],
                "n": [self.n] * (answers + 2),
                "level": [self.level] * (answers + 2),
            }
        )

    def __str__(self) -> str:
        return wording.kappa_told(
            self.kappa, (self.low, self.high), self.observed, self.expected, self.n, self.level, self.weights,
            self.note,
        )  # fmt: skip


def cohen_kappa(
    table: ArrayLike,
    *,
    weights: str | None = None,
    labels: Sequence[str] | None = None,
    level: float = 0.95,
    patients: ArrayLike | None = None,
    patient_weights: ArrayLike | None = None,
    replicates: int = 2000,
    seed: int = 20,
    workers: int | None = None,
) -> Kappa:
    """Agreement of two readers beyond chance.

    Parameters
    ----------
    table : array_like, (answers, answers)
        Groins by answer of the first reader (rows) and of the second (columns), in one order.
    weights : None, "linear" or "quadratic"
        Credit for answers that are near, for answers that have an order.
    labels : sequence of str, optional
        The answers' names.
    level : float
    patients : array_like, (patterns, answers, answers), optional
        What one patient of each pattern adds to the table; then limits come from a bootstrap over patients,
        whose two groins need not be read independently. Has to add up to ``table``.
    patient_weights : array_like of int, (patterns,), optional
        Patients that have the pattern.
    replicates, seed, workers
        Of the bootstrap.

    Returns
    -------
    Kappa

    Raises
    ------
    HingelineError
        When the table is not square, holds what is no count, or holds no one; for impossible options.
    """
    counts = checked_table(table)
    checked_level(level)
    if weights is not None and weights not in WEIGHTS:
        raise HingelineError(
            f"There are no weights {weights!r}", "weights", "Give 'linear' or 'quadratic', or leave them out"
        )
    names = named(labels, len(counts))
    credit = credits_for(len(counts), weights)
    value, observed, expected, se, null_se = _kappa(counts, credit)
    n = float(counts.sum())
    z = float(ndtri((1 + level) / 2))
    low, high, method = value - z * se, value + z * se, "Fleiss, Cohen and Everitt"
    if patients is not None:
        low, high = bootstrap_limits(
            lambda total: _kappa(total, credit)[0], counts, patients, patient_weights, replicates, seed, level,
            workers,
        )  # fmt: skip
        method = "bootstrap over patients"
    alike = float(np.trace(counts))
    observed_low, observed_high = wilson_limits(alike, n, level)
    by_answer, answer_low, answer_high = _by_answer(counts, level)
    prevalence, bias, adjusted = _balance(counts)
    return Kappa(
        kappa=value,
        low=max(low, -1.0) if low == low else low,
        high=min(high, 1.0) if high == high else high,
        se=se,
        null_se=null_se,
        observed=observed,
        observed_low=float(observed_low),
        observed_high=float(observed_high),
        expected=expected,
        largest=_largest(counts, weights),
        labels=names,
        by_answer=by_answer,
        by_answer_low=answer_low,
        by_answer_high=answer_high,
        prevalence=prevalence,
        bias=bias,
        adjusted=adjusted,
        n=n,
        weights=weights or "none",
        level=level,
        method=method,
        note=wording.kappa_note(value, alike / n, prevalence, bias, adjusted),
    )


def credits_for(answers: int, weights: str | None) -> Floats:
    """Credit for each pair of answers: 1 for the same, less the further apart they are."""
    if weights is None or answers == 1:
        return np.eye(answers)
    apart = np.abs(np.subtract.outer(np.arange(answers), np.arange(answers))) / (answers - 1)
    return 1 - (apart if weights == "linear" else apart**2)


def _kappa(counts: Floats, credit: Floats) -> tuple[float, float, float, float, float]:
    """Kappa, observed and expected agreement, and both standard errors (Fleiss, Cohen & Everitt 1969)."""
    n = counts.sum()
    p = counts / n
    rows, columns = p.sum(axis=1), p.sum(axis=0)
    observed, expected = float((credit * p).sum()), float(rows @ credit @ columns)
    if 1 - expected < 1e-12:
        return math.nan, observed, expected, math.nan, math.nan
    kappa = (observed - expected) / (1 - expected)
    margin = (credit @ columns)[:, None] + (rows @ credit)[None, :]
    spread = float((p * (credit - margin * (1 - kappa)) ** 2).sum() - (kappa - expected * (1 - kappa)) ** 2)
    none = float((np.outer(rows, columns) * (credit - margin) ** 2).sum() - expected**2)
    scale = math.sqrt(n) * (1 - expected)
    return kappa, observed, expected, math.sqrt(max(spread, 0.0)) / scale, math.sqrt(max(none, 0.0)) / scale


def _by_answer(counts: Floats, level: float) -> tuple[Floats, Floats, Floats]:
    """Specific agreement 2a/(2a + b): a rising function of a/(a + b), whose Wilson limits it takes."""
    same = np.diag(counts)
    either = counts.sum(axis=0) + counts.sum(axis=1) - same
    low, high = wilson_limits(same, either, level)
    share = np.divide(same, either, out=np.full(len(same), np.nan), where=either > 0)
    return tuple(2 * part / (1 + part) for part in (share, low, high))  # type: ignore[return-value]


def _balance(counts: Floats) -> tuple[float, float, float]:
    if len(counts) != 2:
        return math.nan, math.nan, math.nan
    n = counts.sum()
    prevalence = (counts[0, 0] - counts[1, 1]) / n
    bias = (counts[0, 1] - counts[1, 0]) / n
    return float(prevalence), float(bias), float(2 * np.trace(counts) / n - 1)


def _largest(counts: Floats, weights: str | None) -> float:
    """Greatest kappa under these margins: as many read alike as the smaller margin of each answer."""
    if weights is not None:
        return math.nan
    n = counts.sum()
    rows, columns = counts.sum(axis=1) / n, counts.sum(axis=0) / n
    expected = float(rows @ columns)
    return (
        math.nan
        if 1 - expected < 1e-12
        else float((np.minimum(rows, columns).sum() - expected) / (1 - expected))
    )
