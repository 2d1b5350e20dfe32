"""How often a recorded type is right: a reader against a reference, or two readers who both err.

Tables of two answers (direct, other) come in, by stratum; sensitivity and specificity for direct go out with
Wilson limits, ready for the protocol's typing entries, from where they enter the hinge likelihood. Without a
reference two readers settle the two rates only up to one of them (Hui & Walter, Biometrics 1980;36:167; Walter &
Irwig, J Clin Epidemiol 1988;41:923), so that one is stated and the range is told.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit, ndtri

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.agreement_tables import checked_counts, checked_level
from hingeline.estimates.proportion import wilson_limits

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class TypingRates:
    """Sensitivity and specificity for direct, by stratum.

    Attributes
    ----------
    strata : tuple of mappings
        What each row holds for: any of ``hospital``, ``approach``, ``known_by``, ``ages``; empty for all.
    sensitivity, sensitivity_low, sensitivity_high : array, (strata,)
    specificity, specificity_low, specificity_high : array, (strata,)
        nan (and limits 0 and 1) where the reference found none to judge by.
    directs, others : array, (strata,)
        Groins behind each; for two readers without a reference the groins read, in both.
    level : float
    source : str
        Where the rates come from; goes into the protocol.
    assumed : str
        What had to be assumed; empty against a reference.
    """

    strata: tuple[Mapping[str, object], ...]
    sensitivity: Floats
    sensitivity_low: Floats
    sensitivity_high: Floats
    specificity: Floats
    specificity_low: Floats
    specificity_high: Floats
    directs: Floats
    others: Floats
    level: float
    source: str
    assumed: str

    def entries(self) -> list[dict[str, object]]:
        """The protocol's typing entries: one a stratum whose two rates are both known.

        A stratum in which either is not known, or which tells nothing (their sum is not above 1), gives none.
        """
        return [
            {**stratum, "sensitivity": float(se), "specificity": float(sp), "source": self.source}
            for stratum, se, sp in zip(self.strata, self.sensitivity, self.specificity, strict=True)
            if se + sp > 1 and se > 0 and sp > 0
        ]

    def to_toml(self) -> str:
        """The entries as the protocol has them, to be copied into ``study.toml``."""
        return wording.typing_entries(self.entries())

    def to_frame(self) -> pa.Table:
        """One row a stratum."""
        return pa.table(
            {
                "stratum": [wording.stratum_told(s) for s in self.strata],
                "directs": self.directs,
                "sensitivity": self.sensitivity,
                "sensitivity_low": self.sensitivity_low,
                "sensitivity_high": self.sensitivity_high,
                "others": self.others,
                "specificity": self.specificity,
                "specificity_low": self.specificity_low,
                "specificity_high": self.specificity_high,
            }
        )

    def __str__(self) -> str:
        rows = [
            wording.typing_rates_told(
                stratum,
                (self.sensitivity[i], self.sensitivity_low[i], self.sensitivity_high[i]),
                (self.specificity[i], self.specificity_low[i], self.specificity_high[i]),
                self.level,
            )
            for i, stratum in enumerate(self.strata)
        ]
        return " ".join([*rows, self.assumed]).strip()


def typing_rates(
    tables: ArrayLike,
    *,
    strata: Sequence[Mapping[str, object]] | None = None,
    source: str = "double reading",
    level: float = 0.95,
) -> TypingRates:
    """Sensitivity and specificity for direct of a reader against a reference.

    Parameters
    ----------
    tables : array_like of int, (2, 2) or (strata, 2, 2)
        Groins by reference (rows: direct, other) and reader (columns: direct, other). Groins that either could
        not read do not belong here; `read_twice` counts them.
    strata : sequence of mappings, optional
        What each table holds for, with the names of a typing entry.
    source : str
        Goes into the entries.
    level : float

    Raises
    ------
    HingelineError
        When the tables are not two by two, hold what is no count, or strata are not one a table.
    """
    counts, where = _checked(tables, strata, level)
    directs, others = counts[:, 0].sum(axis=1), counts[:, 1].sum(axis=1)
    seen, cleared = counts[:, 0, 0], counts[:, 1, 1]
    se_low, se_high = wilson_limits(seen, directs, level)
    sp_low, sp_high = wilson_limits(cleared, others, level)
    return TypingRates(
        where, _share(seen, directs), se_low, se_high, _share(cleared, others), sp_low, sp_high, directs, others,
        level, source, "",
    )  # fmt: skip


def typing_rates_between(
    tables: ArrayLike,
    *,
    specificity: float = 1.0,
    strata: Sequence[Mapping[str, object]] | None = None,
    source: str = "two readers, neither a reference",
    level: float = 0.95,
) -> TypingRates:
    """Sensitivity for direct of two alike readers, neither of whom is a reference, at a stated specificity.

    With both readers alike and their errors independent given the truth, the share m that one calls direct and
    the share q that both do give sensitivity = (q − m·f) / (m − f) at a false-direct rate f = 1 − specificity.
    Every f from 0 up to where the sensitivity is 1 fits the table equally well; the sentence tells that range.

    Parameters
    ----------
    tables : array_like of int, (2, 2) or (strata, 2, 2)
        Groins by the two readers' answers (direct, other).
    specificity : float
        Stated: from other evidence, not from these tables.
    strata, source, level
        As in `typing_rates`.

    Raises
    ------
    HingelineError
        As `typing_rates`; and when the stated specificity is impossible with a table.
    """
    counts, where = _checked(tables, strata, level)
    if not 0 < specificity <= 1:
        raise HingelineError(
            f"The specificity is {specificity:g}", "specificity", "Give a share above 0, up to 1"
        )
    false = 1 - specificity
    n = counts.sum(axis=(1, 2))
    both, unlike = counts[:, 0, 0], counts[:, 0, 1] + counts[:, 1, 0]
    neither = counts[:, 1, 1]
    most = _share(unlike, 2 * neither + unlike)
    beyond = false > most + 1e-12
    if beyond.any():
        worst = int(np.argmax(beyond))
        raise HingelineError(
            f"Readers with a specificity of {specificity:g} would differ more often than these do",
            f"specificity, table {worst} (counted from 0)",
            f"State {wording.number(1 - most[worst], 4)} or more for it",
        )
    se, low, high = _at_false_rate(both, unlike, n, false, level)
    given = np.full(len(n), specificity)
    assumed = wording.typing_assumed(specificity, 1 - most, _share(2 * both, 2 * both + unlike))
    return TypingRates(where, se, low, high, given, given, given, n, n, level, source, assumed)


def _at_false_rate(
    both: Floats, unlike: Floats, n: Floats, false: float, level: float
) -> tuple[Floats, Floats, Floats]:
    """Sensitivity with limits: Wilson's through agreement on direct when f is 0, else by its logit's error."""
    if false == 0:
        low, high = wilson_limits(both, both + unlike, level)
        share = _share(both, both + unlike)
        return 2 * share / (1 + share), 2 * low / (1 + low), 2 * high / (1 + high)
    with np.errstate(divide="ignore", invalid="ignore"):
        q, d = both / n, unlike / n
        m = q + d / 2
        se = (q - m * false) / (m - false)
        # derivatives with respect to the shares read alike as direct, and read unlike
        by_q = ((1 - false) * (m - false) - (q - m * false)) / (m - false) ** 2
        by_d = (-false * (m - false) - (q - m * false)) / 2 / (m - false) ** 2
        variance = (by_q**2 * q + by_d**2 * d - (by_q * q + by_d * d) ** 2) / n
        z = float(ndtri((1 + level) / 2))
        inside = (se > 0) & (se < 1) & (m > false)
        half = z * np.sqrt(variance) / (se * (1 - se))
        low = np.where(inside, expit(logit(np.where(inside, se, 0.5)) - half), 0.0)
        high = np.where(inside, expit(logit(np.where(inside, se, 0.5)) + half), 1.0)
    return np.where(m > false, np.clip(se, 0.0, 1.0), math.nan), low, high


def _share(part: Floats, whole: Floats) -> Floats:
    share: Floats = np.divide(part, whole, out=np.full(np.shape(whole), math.nan), where=whole > 0)
    return share


def _checked(
    tables: ArrayLike, strata: Sequence[Mapping[str, object]] | None, level: float
) -> tuple[Floats, tuple[Mapping[str, object], ...]]:
    counts = checked_counts(tables, "tables")
    checked_level(level)
    if counts.shape == (2, 2):
        counts = counts[None]
    if counts.ndim != 3 or counts.shape[1:] != (2, 2) or len(counts) == 0:
        raise HingelineError(
            "A table of typing is not two by two", "tables", "Give direct and other by direct and other"
        )
    empty = counts.sum(axis=(1, 2)) == 0
    if empty.any():
        raise HingelineError(
            "No groin was read",
            f"tables, table {int(np.argmax(empty))} (counted from 0)",
            "Leave the table out",
        )
    where = tuple({} for _ in counts) if strata is None else tuple(strata)
    if len(where) != len(counts):
        raise HingelineError(
            f"There are {len(where)} strata for {len(counts)} tables", "strata", "Give one a table"
        )
    return counts, where
