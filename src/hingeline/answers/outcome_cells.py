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
        """Say how a stratum may be told; that nobody was followed may be."""
        if 0 < people < self.least:
            return "few people"
        if 0 < events < self.least and not self.consent:
            return "few events"
        return "told"

    def standings(self, people: Sequence[int], events: Sequence[int]) -> list[Standing]:
        """Say how the strata of one margin may be told, so that none follows from the others and the sum.

        What is kept back together is the sum less what is told, so it must itself be large enough to be told, be two
        rows at least, and leave each of them open: rows are kept back, the smallest first, until it is so. Which of
        them was small is not said. Nobody followed is told.
        """
        found = [self.standing(*one) for one in zip(people, events, strict=True)]
        hidden = [place for place, one in enumerate(found) if one != "told"]
        told = [place for place, one in enumerate(found) if one == "told" and people[place]]
        told.sort(key=lambda place: (events[place] == 0 and not self.consent, events[place], people[place]))
        if self.consent:  # only people are too few: the row with the fewest stands beside
            told.sort(key=lambda place: people[place])
        while hidden and told and not self.safe(hidden, people, events):
            place = told.pop(0)
            found[place] = "few events"
            hidden.append(place)
        return found

    def safe(self, hidden: Sequence[int], people: Sequence[int], events: Sequence[int]) -> bool:
        """Say whether some rows of a margin stay unknown when their sum is known."""
        if not hidden:
            return True
        size, sum_events = len(hidden), sum(events[place] for place in hidden)
        if size < 2 or sum(people[place] for place in hidden) < self.least:
            return False
        if self.consent:
            return True
        # as many as rows: one each; the most that each can be small: that many each
        return sum_events >= self.least and sum_events not in (size, size * (self.least - 1))

    def times(self, asked: Sequence[float], events: Sequence[int], first: float) -> tuple[float, ...]:
        """Choose among times those at which the number of events so far may be told.

        Parameters
        ----------
        asked : sequence of float
            Times, the most wanted first.
        events : sequence of int
            Events up to each.
        first : float
            The time that is told before any other.

        Returns
        -------
        tuple of float
            Rising; between each and the next, and before the first, came no event or at least `least`.
        """
        if self.consent:
            return tuple(sorted(set(asked)))
        so_far = dict(zip(asked, events, strict=True))
        chosen: list[float] = []
        for time in sorted(so_far, key=lambda time: (time != first, list(asked).index(time))):
            apart = [abs(so_far[time] - so_far[other]) for other in chosen]
            if all(gap == 0 or gap >= self.least for gap in (so_far[time], *apart)):
                chosen.append(time)
        return tuple(sorted(chosen))

    def drawn(
        self,
        days: Floats,
        events: Floats,
        at_risk: Floats,
        least_at_risk: int,
        told_days: Sequence[float] = (),
    ) -> NDArray[np.int64]:
        """Choose the days of a curve that are drawn.

        Parameters
        ----------
        days, events, at_risk : (days,) float
            Of the curve.
        least_at_risk : int
            The curve ends where fewer are still followed.
        told_days : sequence of float
            Days at which the number of events so far is told anyhow, as `times` chose them.

        Returns
        -------
        array of int
            Places in ``days``: with consent every day with an event, without it days between each of which and the
            next, and the next of ``told_days``, at least `least` events came, so that no step is a person's day.
        """
        inside = at_risk >= least_at_risk
        if self.consent:
            return np.flatnonzero(inside & (events > 0))
        chosen: list[int] = []
        stretch = np.searchsorted(np.sort(np.asarray(told_days, dtype=np.float64)), days, side="left")
        for part in np.unique(stretch):
            places = np.flatnonzero((stretch == part) & (events > 0))
            count, rest = 0.0, float(events[places].sum())
            for place in places:
                count, rest = count + events[place], rest - events[place]
                if inside[place] and count >= self.least and (rest == 0 or rest >= self.least):
                    chosen.append(int(place))
                    count = 0.0
        return np.asarray(chosen, dtype=np.int64)


def leaving_of(protocol: Protocol) -> Leaving:
    """Return the study's rule."""
    return Leaving(protocol.privacy.smallest_cell, protocol.privacy.events_may_leave)


def people_of(rows: FollowUpRows) -> int:
    """Count the distinct patients behind rows of follow-up."""
    if rows.clusters is None:
        return rows.n_groins
    _, first = np.unique(rows.clusters, return_index=True)
    return int(rows.weights[first].sum())
