"""The two repairs that are set against each other: a follow-up tally comes in, two arms' crude counts go out.

The reference of ``[contrast]`` and, of the other repairs compared, the one with the most follow-up: the one that has to
show that it is not worse.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .. import wording
from ..counts import FollowUpRows, FollowUpTally
from ..protocol import Protocol
from .outcome_cells import leaving_of, people_of
from .pooling_rows import within, worth
from .recurrence_rows import headline_of


@dataclass(frozen=True)
class Arm:
    """One repair among those compared.

    Attributes
    ----------
    repair : str
    groins, followed, people : int
        All; those followed at all, and their patients.
    events : int
        Recurrences within the horizon.
    worth : int
        Groins followed for the whole horizon that the follow-up is worth.
    rows : FollowUpRows
    """

    repair: str
    groins: int
    followed: int
    people: int
    events: int
    worth: int
    rows: FollowUpRows = field(repr=False)

    @property
    def lost(self) -> int:
        """Groins' worth of the horizon of which nothing is known."""
        return max(self.groins - self.worth, 0)


@dataclass(frozen=True)
class Pair:
    """The arm that has to show it, then the reference; or why they are not told.

    Attributes
    ----------
    arms : tuple of Arm
        Two when told.
    compared : tuple of Arm
        Every repair of the protocol that was followed and may be told.
    why : {"", "nobody", "one arm", "few"}
    who : str
    """

    arms: tuple[Arm, ...]
    compared: tuple[Arm, ...]
    why: str
    who: str


def compared_of(tally: FollowUpTally, protocol: Protocol) -> FollowUpTally:
    """Restrict to those whom ``[contrast]`` compares: the headline's, of its types and ages."""
    contrast = protocol.contrast
    edges = tally.tally.edges_years[:-1]
    bins = np.flatnonzero((edges >= contrast.ages[0] - 1e-9) & (edges < contrast.ages[1] - 1e-9))
    return headline_of(tally, protocol).where(type=tuple(contrast.types), age_bin=bins.tolist())


def main_pair(tally: FollowUpTally, protocol: Protocol) -> Pair:
    """Count the two repairs that are set against each other.

    Parameters
    ----------
    tally : FollowUpTally
        Recurrence until the last visit.
    protocol : Protocol
    """
    contrast, years = protocol.contrast, protocol.outcomes.headline_years
    who = wording.pair_who(contrast.ages, contrast.types, protocol.counting.sex)
    chosen = compared_of(tally, protocol)
    arms = [_arm(chosen, name, years) for name in contrast.arms]
    followed = [arm for arm in arms if arm.rows.days_followed]
    standings = leaving_of(protocol).standings(
        [arm.people for arm in followed], [arm.events for arm in followed]
    )
    told = tuple(arm for arm, standing in zip(followed, standings, strict=True) if standing == "told")
    reference = next((arm for arm in told if arm.repair == contrast.reference), None)
    others = [arm for arm in told if arm.repair != contrast.reference]
    if reference is not None and others:
        first = max(others, key=lambda arm: arm.worth)
        return Pair((first, reference), told, "", who)
    names = {arm.repair for arm in followed}
    if not names:
        return Pair((), told, "nobody", who)
    if contrast.reference not in names or len(names) < 2:
        return Pair((), told, "one arm", who)
    return Pair((), told, "few", who)


def _arm(tally: FollowUpTally, repair: str, years: float) -> Arm:
    mine = tally.where(repair=repair)
    rows = mine.rows(())
    events, followed, _ = within(rows, years)
    groins = worth(events, followed, years) if followed else 0
    return Arm(repair, mine.n_groins, rows.n_groins, people_of(rows), events, groins, rows)
