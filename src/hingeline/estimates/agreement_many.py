"""Agreement of many readers, any of whom may read any groin: counts of answers by groin come in, a kappa goes out.

Fleiss (Psychol Bull 1971;76:378), with each answer's own kappa (Fleiss, Levin & Paik, 3rd ed. 2003, 18.3). Limits
by the influence of each groin or patient on kappa (Gwet, Educ Psychol Meas 2021;81:781), since the error of
Fleiss's own formula holds only where there is no agreement at all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.agreement_tables import checked_counts, checked_level, named

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FleissKappa:
    """Agreement of many readers beyond chance.

    Attributes
    ----------
    kappa, low, high, se : float
    null_se : float
        Under no agreement (Fleiss, Nee & Landis 1979); nan where groins were not read equally often.
    observed, expected : float
        Share of pairs of readings of a groin that are alike, found and by chance.
    labels : tuple of str
    shares : array, (answers,)
        Of all answers.
    by_answer : array, (answers,)
        Kappa of each answer against all others; nan where it was never or always given.
    groins : float
    readers : tuple of int
        Fewest and most readings of a groin.
    level : float
    """

    kappa: float
    low: float
    high: float
    se: float
    null_se: float
    observed: float
    expected: float
    labels: tuple[str, ...]
    shares: Floats
    by_answer: Floats
    groins: float
    readers: tuple[int, int]
    level: float

    def to_frame(self) -> pa.Table:
        """One row for all answers, one an answer."""
        return pa.table(
            {
                "answer": ["all", *self.labels],
                "share": [1.0, *self.shares.tolist()],
                "kappa": [self.kappa, *self.by_answer.tolist()],
                "low": [self.low, *[math.nan] * len(self.labels)],
                "high": [self.high, *[math.nan] * len(self.labels)],
            }
        )

    def __str__(self) -> str:
        return wording.fleiss_told(
            self.kappa,
            (self.low, self.high),
            self.observed,
            self.expected,
            self.groins,
            self.readers,
            self.level,
        )


def fleiss_kappa(
    counts: ArrayLike,
    *,
    labels: Sequence[str] | None = None,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    level: float = 0.95,
) -> FleissKappa:
    """Agreement of many readers beyond chance.

    Parameters
    ----------
    counts : array_like of int, (groins, answers)
        How many readers gave the groin each answer; each groin read at least twice.
    labels : sequence of str, optional
    clusters : array_like, (groins,), optional
        Patient of each groin, whose groins are not independent.
    weights : array_like of int, (groins,), optional
        How many patients have this row; not together with clusters of several rows unless the same on all.
    level : float

    Raises
    ------
    HingelineError
        When the counts are no table, a groin was read less than twice, or there are fewer than two patients.
    """
    table = checked_counts(counts, "counts")
    checked_level(level)
    if table.ndim != 2 or table.size == 0:
        raise HingelineError(
            "The counts are no table", "counts", "Give one row a groin, one column an answer"
        )
    names = named(labels, table.shape[1])
    times = table.sum(axis=1)
    if times.min() < 2:
        raise HingelineError(
            f"A groin was read {times.min():g} times",
            f"counts, row {int(np.argmin(times))} (counted from 0)",
            "Leave out groins that fewer than two readers read",
        )
    weight = np.ones(len(table)) if weights is None else checked_counts(weights, "weights")
    patient = (
        np.arange(len(table)) if clusters is None else np.unique(np.asarray(clusters), return_inverse=True)[1]
    )
    if weight.shape != (len(table),) or patient.shape != (len(table),):
        raise HingelineError(
            "Weights or clusters are not one a groin", "weights, clusters", "Give one number a row of counts"
        )
    groins = float(weight.sum())
    alike = ((table * (table - 1)).sum(axis=1)) / (times * (times - 1))
    part = table / times[:, None]
    shares = weight @ part / groins
    observed, expected = float(weight @ alike / groins), float(shares @ shares)
    kappa, se = math.nan, math.nan
    if 1 - expected > 1e-12:
        kappa = (observed - expected) / (1 - expected)
        influence = ((alike - observed) - (1 - kappa) * 2 * ((part - shares) @ shares)) / (1 - expected)
        se = _robust(influence, patient, weight, groins)
    z = float(ndtri((1 + level) / 2))
    return FleissKappa(
        kappa=kappa,
        low=max(kappa - z * se, -1.0) if kappa == kappa else kappa,
        high=min(kappa + z * se, 1.0) if kappa == kappa else kappa,
        se=se,
        null_se=_null_error(shares, groins, times),
        observed=observed,
        expected=expected,
        labels=names,
        shares=shares,
        by_answer=_by_answer(table, times, weight, shares),
        groins=groins,
        readers=(int(times.min()), int(times.max())),
        level=level,
    )


def _robust(influence: Floats, patient: NDArray[np.int64], weight: Floats, groins: float) -> float:
    """Standard error from each patient's summed influence, as many times as patients have it."""
    of_patient = np.bincount(patient, influence)
    same = np.zeros(len(of_patient))
    same[patient] = weight
    number = same.sum()
    if number < 2:
        return math.nan
    return math.sqrt(float(same @ of_patient**2) * number / (number - 1)) / groins


def _null_error(shares: Floats, groins: float, times: Floats) -> float:
    """Standard error under no agreement (Fleiss, Nee & Landis, Psychol Bull 1979;86:974)."""
    m, spread = times[0], float((shares * (1 - shares)).sum())
    if not (times == m).all() or spread < 1e-12:
        return math.nan
    skew = float((shares * (1 - shares) * (1 - 2 * shares)).sum())
    return math.sqrt(2 * (spread**2 - skew)) / (spread * math.sqrt(groins * m * (m - 1)))


def _by_answer(table: Floats, times: Floats, weight: Floats, shares: Floats) -> Floats:
    """Kappa of each answer against the others taken together."""
    unlike = weight @ (table * (times[:, None] - table) / (times * (times - 1))[:, None]) / weight.sum()
    chance = shares * (1 - shares)
    kappas: Floats = 1 - np.divide(unlike, chance, out=np.full(len(shares), np.nan), where=chance > 1e-12)
    return kappas
