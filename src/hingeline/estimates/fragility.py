"""What one more event would do: two arms' counts come in, the estimate and verdict at each change go out.

The verdict is read from Miettinen and Nurminen's score limits of the difference, or from Fisher's exact P as
Walsh's index has it; a single small series has its exact limits at each number of events.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from scipy.special import gammaln

from hingeline import wording
from hingeline.errors import HingelineError

from .fragility_lost import Tipping, tipping_grid
from .fragility_verdict import Arms, Question, Verdict, checked_arms, verdict_of
from .proportion import clopper_pearson, miettinen_nurminen

Floats = NDArray[np.float64]

CHANGES: Final = tuple(range(-5, 11))
"""Events taken from or added to the arm, as the protocol of the study has it (design, section 6)."""


@dataclass(frozen=True)
class FragilityRow:
    """The comparison when the arm has so many events more or fewer.

    ``estimate`` is the difference, first less second (a share between −1 and 1), with score limits; ``p`` is
    Fisher's exact P, two-sided.
    """

    change: int
    events: int
    other_events: int
    estimate: float
    low: float
    high: float
    p: float
    verdict: Verdict


@dataclass(frozen=True)
class Fragility:
    """How many events hold a comparison up.

    Attributes
    ----------
    names : (str, str)
        The arms; differences are first less second.
    events, totals : (int, int)
    arm : int
        Which arm gains events, 0 or 1.
    question : {"superiority", "non-inferiority"}
    margin : float
        Largest difference that still counts as not worse (non-inferiority).
    level : float
    rows : tuple of FragilityRow
        From 5 events fewer to 10 more, as far as the arm's counts allow.
    index : int or None
        Walsh's index: events added to the arm with the lower risk, its total unchanged, until Fisher's P is no
        longer below 1 − level. 0 when it is not below as observed; None when no number of events would do.
    overturned_by : int or None
        Fewest added events at which the verdict by score limits is another; None when no number does it.
    """

    names: tuple[str, str]
    events: tuple[int, int]
    totals: tuple[int, int]
    arm: int
    question: Question
    margin: float
    level: float
    rows: tuple[FragilityRow, ...]
    index: int | None
    overturned_by: int | None

    @property
    def observed(self) -> FragilityRow:
        """The row without a change."""
        return next(row for row in self.rows if row.change == 0)

    def to_frame(self) -> pa.Table:
        """One row a change: change, events of both arms, estimate, limits, Fisher's P and verdict."""
        return pa.Table.from_pylist([dict(row.__dict__) for row in self.rows])

    def __str__(self) -> str:
        row = self.observed
        return wording.fragility_told(
            self.names,
            (row.estimate, row.low, row.high),
            self.level,
            row.verdict,
            self.margin,
            self.arm,
            self.overturned_by,
            self.index,
        )


@dataclass(frozen=True)
class OneMore:
    """One small series at each number of events about the one observed.

    Attributes
    ----------
    events, total : int
    level : float
    change, count : tuple of int
    share, low, high : tuple of float
        With exact (Clopper–Pearson) limits.
    """

    events: int
    total: int
    level: float
    change: tuple[int, ...]
    count: tuple[int, ...]
    share: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]

    def to_frame(self) -> pa.Table:
        """One row a change: change, events, total, estimate, low, high."""
        return pa.table(
            {
                "change": list(self.change),
                "events": list(self.count),
                "total": [self.total] * len(self.change),
                "estimate": list(self.share),
                "low": list(self.low),
                "high": list(self.high),
            }
        )

    def __str__(self) -> str:
        told = {
            change: (self.count[place], self.share[place], self.low[place], self.high[place])
            for place, change in enumerate(self.change)
        }
        return wording.one_more_told(self.total, told[0], told.get(1), told.get(-1), self.level)


def fragility(
    events: int,
    total: int,
    other_events: int,
    other_total: int,
    *,
    question: Question = "superiority",
    margin: float = 0.02,
    arm: int | None = None,
    changes: Sequence[int] = CHANGES,
    names: tuple[str, str] | None = None,
    level: float = 0.95,
) -> Fragility:
    """Tell what events more or fewer in one arm do to a difference of two shares and to its verdict.

    Parameters
    ----------
    events, total, other_events, other_total : int
        The first arm and the second; an event is bad (a recurrence).
    question : {"superiority", "non-inferiority"}
        Superiority asks whether the score limits leave out 0; non-inferiority whether the upper limit of first
        less second is below ``margin``.
    margin : float
        A share above 0; used by non-inferiority alone.
    arm : {0, 1}, optional
        The arm that gains or loses events. By default the one with the lower risk (the first when equal); for
        non-inferiority the first, whose claim it is.
    changes : sequence of int
        0 is always among the rows.
    names : (str, str), optional

    Raises
    ------
    HingelineError
        When counts, arm, margin or level are impossible.

    Notes
    -----
    Walsh et al., J Clin Epidemiol 2014;67:622–628 (index). Limits: Miettinen & Nurminen, Stat Med 1985;4:213–226.
    The index says how few events decide, not how good a study is: it grows with the number of patients.
    """
    arms = checked_arms(events, total, other_events, other_total, level)
    asked = _question(question, margin)
    gaining = _arm(arm, arms, asked)
    have, size = arms.arm(gaining)
    kept = sorted({0, *(int(change) for change in changes if 0 <= have + change <= size)})
    verdict = verdict_of(arms, asked, margin, level)
    rows = tuple(_row(arms.gaining(gaining, change), change, asked, margin, level) for change in kept)
    return Fragility(
        names or wording.arm_names(),
        (arms.events, arms.other_events),
        (arms.total, arms.other_total),
        gaining,
        asked,
        float(margin),
        level,
        rows,
        walsh_index(arms.events, arms.total, arms.other_events, arms.other_total, level=level),
        _first(
            size - have,
            lambda more: verdict_of(arms.gaining(gaining, more), asked, margin, level) != verdict,
        ),
    )


def walsh_index(
    events: int, total: int, other_events: int, other_total: int, *, level: float = 0.95
) -> int | None:
    """Events that the arm with the lower risk must gain until Fisher's P is no longer below 1 − level.

    0 when it is not below as observed; None when no number of events would do. Source: Walsh et al., J Clin
    Epidemiol 2014;67:622–628.
    """
    arms = checked_arms(events, total, other_events, other_total, level)
    # a P of just 0.05, as of 1 of 1 against 0 of 19, is not below it, whatever its last digits say
    alpha = 1 - level - 1e-12
    if fisher_p(arms) >= alpha:
        return 0
    arm = arms.lower()
    have, size = arms.arm(arm)
    return _first(size - have, lambda more: fisher_p(arms.gaining(arm, more)) >= alpha)


def fisher_p(arms: Arms) -> float:
    """Fisher's exact P of a 2×2 table, two-sided: all tables with both margins that are no likelier."""
    x, n, y, m = arms.events, arms.total, arms.other_events, arms.other_total
    both = x + y
    counts = np.arange(max(0, both - m), min(n, both) + 1, dtype=np.float64)
    log = _log_choose(n, counts) + _log_choose(m, both - counts) - float(_log_choose(n + m, np.float64(both)))
    own = log[x - int(counts[0])]
    # tables that are equally likely differ in the last digits: R's fisher.test allows 1e-7 too
    return float(min(np.exp(log[log <= own + 1e-7]).sum(), 1.0))


def one_more(events: int, total: int, *, changes: Sequence[int] = CHANGES, level: float = 0.95) -> OneMore:
    """Tell how one event moves a small series, as 1 of 30, with exact limits.

    Parameters
    ----------
    events, total : int
        0 <= events <= total, total > 0.
    changes : sequence of int
        Events more or fewer; those that the series allows are kept, 0 always.

    Raises
    ------
    HingelineError
        When the counts or the level are impossible.
    """
    checked_arms(events, total, 0, 1, level)
    kept = sorted({0, *(int(change) for change in changes if 0 <= events + change <= total)})
    told = [clopper_pearson(events + change, total, level) for change in kept]
    return OneMore(
        int(events),
        int(total),
        level,
        tuple(kept),
        tuple(int(each.events) for each in told),
        tuple(each.share for each in told),
        tuple(each.low for each in told),
        tuple(each.high for each in told),
    )


def _row(arms: Arms, change: int, question: Question, margin: float, level: float) -> FragilityRow:
    found = miettinen_nurminen(arms.events, arms.total, arms.other_events, arms.other_total, level)
    return FragilityRow(
        change,
        arms.events,
        arms.other_events,
        found.difference,
        found.low,
        found.high,
        fisher_p(arms),
        verdict_of(arms, question, margin, level),
    )


def _first(most: int, holds: Callable[[int], bool]) -> int | None:
    """Fewest events from 1 to the most at which something holds."""
    return next((more for more in range(1, most + 1) if holds(more)), None)


def _arm(arm: int | None, arms: Arms, question: Question) -> int:
    if arm is None:
        return 0 if question == "non-inferiority" else arms.lower()
    if arm not in (0, 1):
        raise HingelineError(f"There is no arm {arm!r}", "arm", "Give 0 (the first) or 1 (the second)")
    return int(arm)


def _question(question: str, margin: float) -> Question:
    if question == "superiority":
        return "superiority"
    if question != "non-inferiority":
        raise HingelineError(
            f"There is no question {question!r}", "question", 'Use "superiority" or "non-inferiority"'
        )
    if not 0 < margin < 1:
        raise HingelineError(
            f"A margin of {margin:g} leaves nothing to show",
            "margin",
            "Give a share between 0 and 1, as 0.02",
        )
    return "non-inferiority"


def _log_choose(n: int, k: Floats | np.float64) -> Floats:
    return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1), dtype=np.float64)


__all__ = [
    "Fragility",
    "FragilityRow",
    "OneMore",
    "Tipping",
    "fisher_p",
    "fragility",
    "one_more",
    "tipping_grid",
    "walsh_index",
]
