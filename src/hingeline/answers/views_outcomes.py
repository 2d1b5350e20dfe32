"""What a statistician asks of outcomes in a notebook: curves, rates, comparison, pool, one more event, size.

Follow-up tallies and a protocol come in; the same estimates come out that the report is written from. A notebook is at
home: nothing is kept back here, and what is shown to others should be taken from the report.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import pyarrow as pa

from .. import wording
from ..counts import FollowUpTally, reoperations
from ..errors import HingelineError
from ..estimates.contrast import Contrast
from ..estimates.followup import CumulativeIncidence, FollowUpRate, RiskAt
from ..estimates.fragility import Fragility, fragility
from ..estimates.size import Size
from ..protocol import Protocol
from .contrast import compare, compared_rows
from .next_study import as_good, assumed_of
from .one_more_arms import main_pair
from .pooling import HospitalPool, pool_hospitals
from .recurrence_rows import REPAIRS, Followed, everybody, grouped, headline_of

if TYPE_CHECKING:
    from .outcomes import OutcomeTallies


class FollowUpView:
    """What became of the headline's groins; every number is made when first asked for.

    Parameters
    ----------
    tallies : OutcomeTallies
    protocol : Protocol
    until : {"recurrence", "age_limit", "cutoff"}
        Which of the tallies is read: followed until last seen, or taken as well until the hospital's age limit or the
        data cut-off.

    Examples
    --------
    >>> study.followup.recurrence("high_ligation", years=5).risk       # doctest: +SKIP
    >>> study.followup.if_well().recurrence("high_ligation").risk      # doctest: +SKIP
    >>> study.followup.curve("mesh", by="hospital")                    # doctest: +SKIP
    """

    def __init__(self, tallies: OutcomeTallies, protocol: Protocol, until: str = "recurrence") -> None:
        self._tallies = tallies
        self._protocol = protocol
        self._until = until

    @cached_property
    def tally(self) -> FollowUpTally:
        """The headline's groins: its sex, occurrence and reasons."""
        return headline_of(getattr(self._tallies, self._until), self._protocol)

    @cached_property
    def groups(self) -> dict[str, Followed]:
        """Each repair with its groins, those without follow-up, its rows for any estimator, and its curves."""
        return {one.name: one for one in grouped(self.tally, self._protocol, "repair", REPAIRS)}

    def recurrence(self, repair: str, years: float | None = None) -> RiskAt:
        """Share with a recurrence by a horizon, death competing; the headline's horizon when none is given."""
        return self._group(repair).risk(years or self._protocol.outcomes.headline_years)

    def curve(
        self, repair: str, by: str | None = None
    ) -> CumulativeIncidence | dict[str, CumulativeIncidence]:
        """Aalen–Johansen curve of a repair; with ``by`` one for each value of a dimension, or each ``age_band``."""
        if by is None:
            return self._group(repair).incidence
        parts = grouped(self.tally.where(repair=repair), self._protocol, by)
        return {one.name: one.incidence for one in parts if one.followed}

    def rates(self) -> dict[str, FollowUpRate]:
        """Recurrences per 100 person-years of each repair, within the headline's horizon, exact Poisson limits."""
        return {name: one.rate() for name, one in self.groups.items() if one.followed}

    def without(self, *by: str) -> pa.Table:
        """Count the groins without follow-up (``n``) among all (``of``), by dimensions; by repair if none is named."""
        return self.tally.without(by or ("repair",))

    def at_reoperation(self, *by: str) -> pa.Table:
        """Count the type found at re-operation, by first repair and type when nothing else is named."""
        return reoperations(headline_of(self._tallies.known, self._protocol), by or ("repair", "type"))

    def other_groin(self, years: float | None = None) -> RiskAt:
        """Share with a later hernia of the other groin, an endpoint of its own."""
        one = everybody(headline_of(self._tallies.other_groin, self._protocol), self._protocol)
        if not one.followed:
            raise _nobody("other groin", [])
        return one.risk(years or self._protocol.outcomes.headline_years)

    def if_well(self, until: str = "cutoff") -> FollowUpView:
        """Take everybody without a known recurrence as well until the ``cutoff``, or until the ``age_limit``."""
        if until not in ("cutoff", "age_limit"):
            raise HingelineError(
                f"There is no {until!r} until which all could be taken as well",
                "if_well",
                "Use 'cutoff' or 'age_limit'.",
            )
        return FollowUpView(self._tallies, self._protocol, until)

    def _group(self, repair: str) -> Followed:
        one = self.groups.get(repair)
        if one is None or not one.followed:
            raise _nobody(repair, [name for name, group in self.groups.items() if group.followed])
        return one


class OutcomesView:
    """What is made of follow-up: the comparison, the pool, one more event, the size of the next study.

    Parameters
    ----------
    tallies : OutcomeTallies
    protocol : Protocol

    Examples
    --------
    >>> study.outcomes.contrast().pairs                 # doctest: +SKIP
    >>> study.outcomes.pooled("mesh").rates             # doctest: +SKIP
    """

    def __init__(self, tallies: OutcomeTallies, protocol: Protocol) -> None:
        self._tallies = tallies
        self._protocol = protocol

    @cached_property
    def _contrast(self) -> Contrast:
        rows, plan = compared_rows(self._tallies.recurrence, self._protocol), self._protocol.contrast
        there = {str(name) for name, part in rows.groups("repair") if part.days_followed}
        arms = [str(name) for name in plan.arms if name in there]
        if plan.reference not in arms or len(arms) < 2:
            raise _nobody(plan.reference if plan.reference not in arms else "another repair", arms)
        return compare(rows, self._protocol, arms, plan.reference)

    def contrast(self) -> Contrast:
        """Compare the protocol's repairs among patients alike."""
        return self._contrast

    def pooled(self, repair: str) -> HospitalPool:
        """Pool the hospitals of a repair on the headline's horizon."""
        pools, _ = pool_hospitals(headline_of(self._tallies.recurrence, self._protocol), self._protocol)
        found = {pool.repair: pool for pool in pools}
        if repair not in found:
            raise _nobody(repair, list(found))
        return found[repair]

    def fragility(self) -> Fragility:
        """Say what one more recurrence would do to the comparison of the two main repairs."""
        pair = main_pair(self._tallies.recurrence, self._protocol)
        if len(pair.arms) < 2:
            raise _nobody("one of the repairs compared", [arm.repair for arm in pair.compared])
        first, second = pair.arms
        return fragility(
            first.events,
            first.worth,
            second.events,
            second.worth,
            question="non-inferiority",
            margin=self._protocol.contrast.margin,
            names=(wording.repair_word(first.repair), wording.repair_word(second.repair)),
        )

    def size(self) -> Size:
        """Size the study that would show the new repair not to be worse by more than the margin."""
        pair, plan = main_pair(self._tallies.recurrence, self._protocol), self._protocol
        if len(pair.arms) < 2:
            raise _nobody("one of the repairs compared", [arm.repair for arm in pair.compared])
        return as_good(assumed_of(pair, plan.outcomes.headline_years), plan.contrast.margin)


def _nobody(repair: str, there: list[str]) -> HingelineError:
    return HingelineError(wording.no_repair_view(repair), "the follow-up", wording.repairs_there(there))
