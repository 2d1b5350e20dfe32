"""Those lost to follow-up: nobody knows how they fared, and a grid says which answers would overturn a verdict.

Counts of two arms and how many each lost come in; for each share of events among the lost of either arm the
verdict goes out, with the boundary in a sentence.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa

from hingeline import wording
from hingeline.errors import HingelineError

from .fragility_verdict import Arms, Question, Verdict, checked_arms, verdict_of

POINTS: Final = 21
"""Shares a side of the grid."""


@dataclass(frozen=True)
class TippingCell:
    """One answer: so many of the lost had the event in each arm (as counts and as shares of the lost)."""

    first_lost_events: int
    second_lost_events: int
    first_lost: float
    second_lost: float
    difference: float
    verdict: Verdict
    overturns: bool


@dataclass(frozen=True)
class Tipping:
    """What the lost would have to show to overturn a verdict.

    Attributes
    ----------
    names : (str, str)
    events, followed, lost : (int, int)
    verdict : str
        Among those followed alone.
    as_followed : str
        The verdict when those lost had events as often as those followed in their arm.
    cells : tuple of TippingCell
    boundary : (int or None, int or None)
        Fewest events among the lost of that arm, more or fewer than as often as those followed, that give
        another verdict, while the other arm's lost had events as often as its followed. None: no number does.
    worst : (str, str)
        Verdicts when every one lost of the first arm had the event and none of the second, and the reverse.
    """

    names: tuple[str, str]
    events: tuple[int, int]
    followed: tuple[int, int]
    lost: tuple[int, int]
    question: Question
    margin: float
    level: float
    verdict: Verdict
    as_followed: Verdict
    cells: tuple[TippingCell, ...]
    boundary: tuple[int | None, int | None]
    worst: tuple[Verdict, Verdict]

    def to_frame(self) -> pa.Table:
        """One row a cell: shares and counts among the lost of both arms, difference, verdict, overturns."""
        return pa.Table.from_pylist([dict(cell.__dict__) for cell in self.cells])

    def __str__(self) -> str:
        return wording.tipping_told(
            self.names,
            (self.events, self.followed, self.lost),
            self.verdict,
            self.as_followed,
            self.margin,
            self.boundary,
        )


def tipping_grid(
    events: tuple[int, int],
    followed: tuple[int, int],
    lost: tuple[int, int],
    *,
    question: Question = "superiority",
    margin: float = 0.02,
    shares: Sequence[float] | None = None,
    names: tuple[str, str] | None = None,
    level: float = 0.95,
) -> Tipping:
    """Tell which events among those lost to follow-up would overturn the verdict on two arms.

    Parameters
    ----------
    events, followed, lost : (int, int)
        Of the first arm and the second: events among those followed, those followed, those lost.
    question, margin, level
        As in `fragility.fragility`.
    shares : sequence of float, optional
        Shares of events among the lost at which the grid stands, rounded to whole patients; 21 from 0 to 1 by
        default.
    names : (str, str), optional

    Raises
    ------
    HingelineError
        When counts are impossible, no one was lost, or a share is none.

    Notes
    -----
    Yan, Lee & Li, J Biopharm Stat 2009;19:1085–1098; Liublinska & Rubin, Stat Med 2014;33:4170–4185 (enhanced
    tipping-point displays). Everyone counts once: as followed, or as lost with the event or without it.
    """
    alone = checked_arms(events[0], followed[0], events[1], followed[1], level)
    gone = (_lost(lost[0], "first arm"), _lost(lost[1], "second arm"))
    if sum(gone) == 0:
        raise HingelineError(
            "No one was lost in either arm", "lost", "Leave the grid out: nothing is missing"
        )
    steps = np.linspace(0.0, 1.0, POINTS) if shares is None else np.asarray(shares, dtype=np.float64)
    if steps.size == 0 or not (np.isfinite(steps) & (steps >= 0) & (steps <= 1)).all():
        raise HingelineError("A share of the lost is none", "shares", "Give numbers from 0 to 1")

    def told(first: int, second: int) -> Verdict:
        return verdict_of(_with(alone, gone, first, second), question, margin, level)

    verdict = verdict_of(alone, question, margin, level)
    usual = (
        round(gone[0] * alone.events / alone.total),
        round(gone[1] * alone.other_events / alone.other_total),
    )
    cells = [
        _cell(alone, gone, first, second, told(first, second), verdict)
        for first in _counts(steps, gone[0])
        for second in _counts(steps, gone[1])
    ]
    return Tipping(
        names or wording.arm_names(),
        (alone.events, alone.other_events),
        (alone.total, alone.other_total),
        gone,
        question,
        float(margin),
        level,
        verdict,
        told(*usual),
        tuple(cells),
        (
            _nearest(gone[0], usual[0], lambda count: told(count, usual[1]) != verdict),
            _nearest(gone[1], usual[1], lambda count: told(usual[0], count) != verdict),
        ),
        (told(gone[0], 0), told(0, gone[1])),
    )


def _with(alone: Arms, lost: tuple[int, int], first: int, second: int) -> Arms:
    return Arms(
        alone.events + first, alone.total + lost[0], alone.other_events + second, alone.other_total + lost[1]
    )


def _cell(
    alone: Arms, lost: tuple[int, int], first: int, second: int, told: Verdict, verdict: Verdict
) -> TippingCell:
    all_of = _with(alone, lost, first, second)
    return TippingCell(
        first,
        second,
        first / lost[0] if lost[0] else 0.0,
        second / lost[1] if lost[1] else 0.0,
        all_of.events / all_of.total - all_of.other_events / all_of.other_total,
        told,
        told != verdict,
    )


def _counts(steps: np.ndarray, lost: int) -> list[int]:
    """Whole patients at each share of the lost, each count once."""
    return sorted({round(float(step) * lost) for step in steps})


def _nearest(lost: int, usual: int, overturns: Callable[[int], bool]) -> int | None:
    """The count that overturns and lies nearest to the usual one (the higher of two equally near)."""
    for distance in range(max(usual, lost - usual) + 1):
        for count in (usual + distance, usual - distance):
            if 0 <= count <= lost and overturns(count):
                return count
    return None


def _lost(count: int, where: str) -> int:
    if not np.isfinite(count) or float(count) % 1 or count < 0:
        raise HingelineError(
            f"{count} lost are no count", f"lost, {where}", "Give a whole number of 0 or more"
        )
    return int(count)
