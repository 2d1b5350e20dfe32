"""What of a comparison may leave: a comparison and the study's rule come in, what is told of it goes out.

Without the data officers' consent an arm is told at a horizon when it had no recurrence by then or `least` of them, and
none or as many between any two horizons that are told; groins are told in tens, since those outside the common support
would follow from the other parts' counts; and raw recurrences are left to the part on recurrence.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .. import wording
from ..estimates.contrast import Contrast
from ..estimates.contrast_overlap import Gap
from ..estimates.contrast_result import ArmRisk, Hazard, PairRisk
from .outcome_cells import Leaving


@dataclass(frozen=True)
class Shown:
    """A comparison with the rule by which it is told.

    Attributes
    ----------
    found : Contrast
    leaving : Leaving
    headline_years : float
        The horizon that is told before any other.
    """

    found: Contrast
    leaving: Leaving
    headline_years: float

    @cached_property
    def _told(self) -> Mapping[str, frozenset[float]]:
        told = {}
        for name, arm in itertools.groupby(self.found.arms, key=lambda one: one.arm):
            by_horizon = list(arm)
            if by_horizon[0].n < self.leaving.least:
                told[name] = frozenset[float]()
                continue
            # the headline's horizon first, then from the longest
            asked = sorted(by_horizon, key=lambda one: -one.years)
            times = self.leaving.times(
                [one.years for one in asked], [one.events for one in asked], self.headline_years
            )
            told[name] = frozenset(times)
        return told

    def arm(self, arm: str, years: float) -> bool:
        """Say whether an arm is told at a horizon."""
        return years in self._told[arm]

    def pair(self, pair: PairRisk) -> bool:
        """Say whether two arms are told beside each other at a horizon."""
        return self.arm(pair.arm, pair.years) and self.arm(pair.against, pair.years)

    def hazard(self, hazard: Hazard) -> bool:
        """Say whether a hazard ratio is told: when both arms are, over the longest horizon."""
        longest = max(self.found.horizons_years)
        return all(
            self.leaving.consent or (self.arm(name, longest) and self._events(name, longest) > 0)
            for name in (hazard.arm, hazard.against)
        )

    def main(self) -> list[PairRisk]:
        """Give the comparisons that answer: with the reference, at the headline's horizon."""
        found = self.found
        return [
            pair
            for pair in found.pairs
            if pair.years == self.headline_years and pair.against == found.reference
        ]

    def risk(self, arm: str, years: float) -> ArmRisk:
        """Give an arm at a horizon."""
        return next(one for one in self.found.arms if one.arm == arm and one.years == years)

    def groins(self, number: int) -> int:
        """Give a number of groins as it is told: without consent in tens."""
        return number if self.leaving.consent else in_tens(number)

    def overlap(self) -> str:
        """Say how many can be compared at all, and where nobody had one of the repairs."""
        overlap, leaving = self.found.overlap, self.leaving
        outside = overlap.outside
        few = 0 < outside < leaving.least
        return wording.compared_overlap(
            self.groins(overlap.inside),
            leaving.least if few else self.groins(outside),
            few,
            gaps_told(overlap.gaps, leaving),
            leaving.consent,
        )

    def _events(self, arm: str, years: float) -> int:
        return self.risk(arm, years).events


def gaps_told(gaps: Sequence[Gap], leaving: Leaving) -> list[str]:
    """Tell gaps in words: those with too few groins for a row of their own without place or number.

    Ages are told in half-years outwards, for the ages themselves are patients'.
    """
    enough = sorted((gap for gap in gaps if gap.groins >= leaving.least), key=lambda gap: -gap.groins)
    most = 6
    told = [
        wording.compared_gap(
            gap.arm,
            gap.covariate,
            gap.level,
            float(np.floor(2 * gap.low) / 2) if gap.covariate == "age" else gap.low,
            float(np.ceil(2 * gap.high) / 2) if gap.covariate == "age" else gap.high,
            gap.groins if leaving.consent else in_tens(gap.groins),
            leaving.consent,
        )
        for gap in enough[:most]
    ]
    return told + ([wording.compared_more_gaps(bool(told))] if len(gaps) > len(told) else [])


def in_tens(number: int) -> int:
    """Round to tens, a few up to ten: nobody follows from the difference of two such numbers."""
    return max(10, 10 * round(number / 10)) if number else 0
