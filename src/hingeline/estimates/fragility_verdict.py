"""The verdict on two arms: counts come in, one of five verdicts by Miettinen and Nurminen's score statistic goes out.

Asking the statistic at the margin is the same as comparing the limits with it, and costs no search: a verdict can
be asked for thousands of what-ifs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.special import ndtri

from hingeline.errors import HingelineError

from .proportion import score_variance

Question = Literal["superiority", "non-inferiority"]
Verdict = Literal["first lower", "second lower", "no difference shown", "not worse", "worse", "not shown"]
"""``first lower``, ``second lower``, ``no difference shown`` answer superiority; ``not worse`` (by more than the
margin), ``worse`` (by more than the margin) and ``not shown`` answer non-inferiority of the first arm."""


@dataclass(frozen=True)
class Arms:
    """Two arms' counts of a bad event."""

    events: int
    total: int
    other_events: int
    other_total: int

    def arm(self, place: int) -> tuple[int, int]:
        """Events and total of one arm (0 or 1)."""
        return (self.other_events, self.other_total) if place else (self.events, self.total)

    def gaining(self, place: int, more: int) -> Arms:
        """The same patients with so many more events in one arm."""
        if place:
            return replace(self, other_events=self.other_events + more)
        return replace(self, events=self.events + more)

    def lower(self) -> int:
        """The arm with the lower risk; the first when they are equal."""
        return 1 if self.other_events * self.total < self.events * self.other_total else 0


def verdict_of(arms: Arms, question: Question, margin: float, level: float) -> Verdict:
    """What the score limits of the difference, first less second, say at a coverage level."""
    z = float(ndtri((1 + level) / 2))
    if question == "superiority":
        statistic = score(arms, 0.0)
        return "first lower" if statistic < -z else "second lower" if statistic > z else "no difference shown"
    statistic = score(arms, margin)
    return "not worse" if statistic < -z else "worse" if statistic > z else "not shown"


def score(arms: Arms, difference: float) -> float:
    """Miettinen and Nurminen's statistic of a difference; 0 where nothing varies and nothing differs."""
    x, n, y, m = arms.events, arms.total, arms.other_events, arms.other_total
    gap = x / n - y / m - difference
    variance = score_variance(x, n, y, m, difference)
    if variance <= 0:
        return 0.0 if abs(gap) < 1e-15 else float(np.copysign(np.inf, gap))
    return float(gap / np.sqrt(variance))


def checked_arms(events: int, total: int, other_events: int, other_total: int, level: float) -> Arms:
    """The counts when they are possible ones.

    Raises
    ------
    HingelineError
        When a count is negative or not whole, events exceed their total, or an arm has no one.
    """
    for name, x, n in (("first arm", events, total), ("second arm", other_events, other_total)):
        numbers = [float(x), float(n)]
        if not all(np.isfinite(numbers)) or any(value != round(value) or value < 0 for value in numbers):
            raise HingelineError(f"{x} events of {n} are no counts", name, "Give whole numbers of 0 or more")
        if n == 0:
            raise HingelineError("There is no one in this arm", name, "Give an arm with patients")
        if x > n:
            raise HingelineError(
                f"{x} events of {n} are more than there are patients", name, "Give events up to their total"
            )
    if not 0 < level < 1:
        raise HingelineError(f"{level} is no coverage level", "level", "Give a number between 0 and 1")
    return Arms(int(events), int(total), int(other_events), int(other_total))
