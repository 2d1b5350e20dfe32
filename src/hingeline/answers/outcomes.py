"""What became of the groins: follow-up tallies and protocol come in, the parts of the answer on outcomes go out.

Each part stands in a module of its own; here they are put in order. A part that cannot be told says so in its
sentence and never stops a run.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import pyarrow as pa

from ..counts import FollowUpTally
from ..counts.followup_fields import Endpoint, Until
from ..protocol import Protocol
from .findings import Finding, Part

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
)
"""Strata of the follow-up tallies: what recurrence is told by, what the comparison of repairs adjusts for."""
KNOWN_BY: Final = (
    "sex",
    "occurrence",
    "reason",
    "type",
    "repair",
    "recurrence_known_by",
    "well_days",
    "found_again",
)
"""Strata of the tally that tells how and when recurrences came to be known, and what was found."""
WAYS: Final[dict[str, tuple[Endpoint, Until, tuple[str, ...]]]] = {
    "recurrence": ("recurrence", "last visit", OUTCOMES_BY),
    "age_limit": ("recurrence", "age limit", OUTCOMES_BY),
    "cutoff": ("recurrence", "cut-off", OUTCOMES_BY),
    "other_groin": ("other groin", "last visit", OUTCOMES_BY),
    "known": ("recurrence", "last visit", KNOWN_BY),
}
"""Each tally of `OutcomeTallies`: endpoint, until when a groin counts as well of which no event is known, strata."""


@dataclass(frozen=True)
class OutcomeTallies:
    """The same cases followed in several ways.

    Attributes
    ----------
    recurrence : FollowUpTally
        Until the last visit: what was observed, and what is told.
    age_limit, cutoff : FollowUpTally
        Taken as well until they outgrew the hospital, and until the data cut-off: what assuming the best does.
    other_groin : FollowUpTally
        A later hernia of the other groin, an endpoint of its own.
    known : FollowUpTally
        As the first, counted by how and when a recurrence came to be known, and by the type found then.
    """

    recurrence: FollowUpTally
    age_limit: FollowUpTally
    cutoff: FollowUpTally
    other_groin: FollowUpTally
    known: FollowUpTally

    def where(self, **conditions: object) -> OutcomeTallies:
        """Restrict all as `PatternTally.where`; by dimensions that all have."""
        return OutcomeTallies(
            **{name: getattr(self, name).where(**conditions) for name in OutcomeTallies.__dataclass_fields__}
        )


def outcome_parts(
    tallies: OutcomeTallies,
    protocol: Protocol,
    *,
    series: Sequence[tuple[str, pa.Table]] = (),
) -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
    """Tell what became of the groins, in order.

    Parameters
    ----------
    tallies : OutcomeTallies
        All cases, counted by `OUTCOMES_BY`.
    protocol : Protocol
    series : sequence of (str, pyarrow.Table)
        Title and table of each ``[[series]]``, as `counts.series.read_series` reads it.

    Returns
    -------
    tuple of Part, tuple of Finding
    """
    from .contrast import contrast_part
    from .next_study import size_part
    from .one_more import fragility_part
    from .pooling import pooling_part
    from .recurrence import recurrence_part

    made = []
    made.append(recurrence_part(tallies, protocol))
    made.append(contrast_part(tallies, protocol))
    made.append(pooling_part(tallies, protocol, series))
    made.append(fragility_part(tallies, protocol))
    made.append(size_part(tallies, protocol))
    return tuple(part for part, _ in made), tuple(finding for _, told in made for finding in told)
