"""What became of the groins: follow-up tallies and protocol come in, the parts of the answer on outcomes go out.

Each part stands in a module of its own; here they are put in order. A part that cannot be told says so in its
sentence and never stops a run.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..counts.followup import FollowUpTally

OUTCOMES_BY: Final = (
    "hospital",
    "sex",
    "occurrence",
    "reason",
    "type",
    "repair",
    "approach",
    "emergency",
    "operated_year",
    "well_days",
    "found_again",
)
"""Strata of the follow-up tallies: what recurrence is told by, what the comparison of repairs adjusts for."""


@dataclass(frozen=True)
class OutcomeTallies:
    """The same cases followed in four ways.

    Attributes
    ----------
    recurrence : FollowUpTally
        Until the last visit: what was observed, and what is told.
    age_limit, cutoff : FollowUpTally
        Taken as well until they outgrew the hospital, and until the data cut-off: what assuming the best does.
    other_groin : FollowUpTally
        A later hernia of the other groin, an endpoint of its own.
    """

    recurrence: FollowUpTally
    age_limit: FollowUpTally
    cutoff: FollowUpTally
    other_groin: FollowUpTally

    def where(self, **conditions: object) -> OutcomeTallies:
        """Restrict all four as `PatternTally.where`."""
        return OutcomeTallies(
            self.recurrence.where(**conditions),
            self.age_limit.where(**conditions),
            self.cutoff.where(**conditions),
            self.other_groin.where(**conditions),
        )
