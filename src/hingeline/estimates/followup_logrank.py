"""Rows of follow-up by group come in, the log-rank test goes out: over groups, within strata, robust over patients.

Mantel, Cancer Chemother Rep 1966;50:163–170; Peto & Peto, J R Stat Soc A 1972;135:185–207. The robust test takes the
variance of observed − expected from its sums over patients (Lin & Wei, JASA 1989;84:1074–1078).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike
from scipy.special import gammaincc

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.followup_rows import Floats, Rows, check_rows, group_codes


@dataclass(frozen=True, eq=False)
class LogRank:
    """A log-rank test.

    Attributes
    ----------
    groups : tuple of str
    n, observed, expected : (groups,) float
        Groins, events and events expected were all groups alike.
    chi2, p : float
    df : int
    robust_chi2, robust_p : float
        With the variance summed over patients.
    variance, robust_variance : (groups, groups) float
    robust : bool
        Whether patterns or probability weights were given: the sentence then tells the robust pair.
    """

    groups: tuple[str, ...]
    n: Floats
    observed: Floats
    expected: Floats
    chi2: float
    p: float
    df: int
    robust_chi2: float
    robust_p: float
    variance: Floats
    robust_variance: Floats
    robust: bool

    def to_frame(self) -> pa.Table:
        """One row a group."""
        return pa.table(
            {"group": list(self.groups), "n": self.n, "observed": self.observed, "expected": self.expected}
        )

    def __str__(self) -> str:
        chi2, p = (self.robust_chi2, self.robust_p) if self.robust else (self.chi2, self.p)
        return wording.followup_log_rank(chi2, self.df, p, self.groups, self.robust)


def log_rank(
    days: ArrayLike,
    outcome: ArrayLike,
    groups: ArrayLike,
    n: ArrayLike | None = None,
    *,
    strata: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    probability_weights: ArrayLike | None = None,
) -> LogRank:
    """Log-rank test of groups, with the competing event taken as censored.

    Parameters
    ----------
    groups, strata : array_like, (rows,)
        Names; groups are compared within strata.
    days, outcome, n, clusters, weights, probability_weights
        As in `survival`.

    Raises
    ------
    HingelineError
        When rows are impossible, there are fewer than two groups, or nobody had the event.
    """
    size = np.atleast_1d(np.asarray(days)).size
    group, names = group_codes(groups, size, "groups")
    stratum, _ = group_codes(strata, size, "strata")
    rows = check_rows(
        days, outcome, n, clusters=clusters, weights=weights, probability_weights=probability_weights
    )
    group, stratum = group[rows.kept], stratum[rows.kept]
    number = len(names)
    if np.unique(group).size < 2:
        raise HingelineError("There are fewer than two groups", "argument groups", "name at least two groups")
    event = rows.outcome == 1
    if not event.any():
        raise HingelineError(
            "Nobody had the event",
            "argument outcome",
            "there is nothing to test: show the upper limits instead",
        )
    weighted = rows.each * rows.patients
    keys, at, in_stratum = event_keys(stratum, rows, event)
    risk = at_risk_by(keys.size, at, in_stratum, group, number, weighted)
    where = np.searchsorted(keys, stratum[event] * rows.days.size + rows.at[event])
    died = np.zeros((keys.size, number))
    np.add.at(died, (where, group[event]), weighted[event])
    total, deaths = risk.sum(axis=1), died.sum(axis=1)
    share = risk / total[:, None]
    observed, expected = died.sum(axis=0), (deaths[:, None] * share).sum(axis=0)
    spread = np.where(total > 1, deaths * (total - deaths) / np.maximum(total - 1, 1e-300), 0.0)
    variance = np.diag((spread[:, None] * share).sum(axis=0)) - (share * spread[:, None]).T @ share
    robust = _robust(rows, group, number, share, deaths / total, at, in_stratum, event, where)
    tested = expected > 0
    df = int(tested.sum()) - 1
    gap = (observed - expected)[tested]
    chi2, robust_chi2 = (_chi2(gap, matrix[np.ix_(tested, tested)]) for matrix in (variance, robust))
    return LogRank(
        names,
        np.bincount(group, weights=rows.n * rows.patients, minlength=number).astype(np.float64),
        observed,
        expected,
        chi2,
        _p(chi2, df),
        df,
        robust_chi2,
        _p(robust_chi2, df),
        variance,
        robust,
        rows.clustered or rows.weighted,
    )


def event_keys(
    stratum: np.ndarray, rows: Rows, event: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Distinct (stratum, day) with an event; of each row, how many lie up to its day, and its stratum's first.

    A row is at risk on the keys from its stratum's first up to, not including, its place.
    """
    span = rows.days.size
    own = stratum * span + rows.at
    keys = np.unique(own[event])
    return keys, np.searchsorted(keys, own, side="right"), np.searchsorted(keys, stratum * span, side="left")


def at_risk_by(
    keys: int, upto: np.ndarray, first: np.ndarray, group: np.ndarray, groups: int, amount: Floats
) -> Floats:
    """Sum an amount of those at risk on each key, by group: (keys, groups)."""
    steps = np.bincount(first * groups + group, weights=amount, minlength=(keys + 1) * groups)
    steps -= np.bincount(upto * groups + group, weights=amount, minlength=(keys + 1) * groups)
    risk: Floats = np.cumsum(steps.reshape(keys + 1, groups).astype(np.float64), axis=0)[:keys]
    return risk


def by_pattern(rows: Rows, amounts: Floats) -> Floats:
    """Σ over patients of the outer square of their summed amounts: (k, k) from (rows, k)."""
    patterns = int(rows.cluster.max()) + 1
    summed = np.column_stack(
        [np.bincount(rows.cluster, weights=rows.each * one, minlength=patterns) for one in amounts.T]
    )
    patients = np.zeros(patterns)
    patients[rows.cluster] = rows.patients
    squared: Floats = (summed * patients[:, None]).T @ summed
    return squared


def _robust(
    rows: Rows,
    group: np.ndarray,
    number: int,
    share: Floats,
    hazard: Floats,
    upto: np.ndarray,
    first: np.ndarray,
    event: np.ndarray,
    where: np.ndarray,
) -> Floats:
    own = np.eye(number)[group]
    run = np.concatenate([[0.0], np.cumsum(hazard)])
    spent = np.concatenate([np.zeros((1, number)), np.cumsum(hazard[:, None] * share, axis=0)])
    score = spent[upto] - spent[first] - own * (run[upto] - run[first])[:, None]
    score[event] += own[event] - share[where]
    return by_pattern(rows, score)


def _chi2(gap: Floats, variance: Floats) -> float:
    """Quadratic form in all groups but the last, which the others determine."""
    if gap.size < 2:
        return float("nan")
    return float(gap[:-1] @ np.linalg.pinv(variance[:-1, :-1], hermitian=True) @ gap[:-1])


def _p(chi2: float, df: int) -> float:
    return float(gammaincc(df / 2, chi2 / 2)) if df > 0 else float("nan")
