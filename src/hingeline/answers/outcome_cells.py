"""What of an outcome may leave: how many people and events must stand behind a number, and what is told instead.

Rows of follow-up and the protocol's privacy come in; whether a stratum is told, told as a range or left out, and the
curve's times that may be drawn, go out. With the data officers' recorded consent everything is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..counts import FollowUpRows
from ..protocol import Protocol

Standing = Literal["told", "few events", "few people"]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Leaving:
    """The rule of a study.

    Attributes
    ----------
    least : int
        Fewest people behind a row; fewer events than this and more than none are a range.
    consent : bool
        Whether small event counts may leave as they are.
    """

    least: int
    consent: bool

    def standing(self, people: int, events: int) -> Standing:
        """Say how a stratum may be told."""
        if people < self.least:
            return "few people"
        if 0 < events < self.least and not self.consent:
            return "few events"
        return "told"

    def standings(self, people: Sequence[int], events: Sequence[int]) -> list[Standing]:
        """Say how the strata of one margin may be told, so that none follows from the others and the sum.

        A single hidden row would be the sum less the rest: then the smallest of the told rows is hidden with it.
        """
        found = [self.standing(*one) for one in zip(people, events, strict=True)]
        hidden = [place for place, one in enumerate(found) if one != "told"]
        told = [place for place, one in enumerate(found) if one == "told"]
        if len(hidden) == 1 and told and not self.consent:
            found[min(told, key=lambda place: (events[place], people[place], place))] = "few events"
        return found

    def drawn(self, days: Floats, events: Floats, at_risk: Floats, least_at_risk: int) -> NDArray[np.int64]:
        """Choose the days of a curve that are drawn.

        Parameters
        ----------
        days, events, at_risk : (days,) float
            Of the curve.
        least_at_risk : int
            The curve ends where fewer are still followed.

        Returns
        -------
        array of int
            Places in ``days``: with consent every day with an event, without it the days by which another `least`
            events had come, so that no step is a person's day.
        """
        inside = at_risk >= least_at_risk
        if self.consent:
            return np.flatnonzero(inside & (events > 0))
        reached = np.cumsum(np.where(inside, events, 0.0)) // self.least
        before = np.concatenate([[0.0], reached[:-1]])
        return np.flatnonzero(inside & (reached > before))


def leaving_of(protocol: Protocol) -> Leaving:
    """Return the study's rule."""
    return Leaving(protocol.privacy.smallest_cell, protocol.privacy.events_may_leave)


def people_of(rows: FollowUpRows) -> int:
    """Count the distinct patients behind rows of follow-up."""
    if rows.clusters is None:
        return rows.n_groins
    _, first = np.unique(rows.clusters, return_index=True)
    return int(rows.weights[first].sum())
