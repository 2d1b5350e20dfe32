"""Recurrence by group: rows of follow-up come in, what is known of each repair, type, age or hospital goes out.

One place reckons every number that the part on recurrence, the notebook and the pictures tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..counts import FollowUpRows, FollowUpTally
from ..estimates.followup import (
    CumulativeIncidence,
    FollowUpLength,
    FollowUpRate,
    RiskAt,
    SurvivalCurve,
    cumulative_incidence,
    follow_up_length,
    person_year_rate,
    survival,
)
from ..protocol import Protocol
from ..vocabulary import DAYS_PER_YEAR
from .outcome_cells import Leaving, Standing, leaving_of, people_of

THIN = 5
"""A curve is drawn thin where fewer than so many times the protocol's least are still followed."""
REPAIRS = ("high_ligation", "tissue", "mesh")
"""In the order in which they are told."""


@dataclass(frozen=True)
class Followed:
    """One group of groins and what became of it.

    Attributes
    ----------
    name : str
        Value of the dimension, as the tally has it.
    rows : FollowUpRows
        Those with follow-up.
    groins, without : int
        All groins at risk, and those of them without follow-up.
    least_at_risk : int
    within_years : float
        The headline's horizon: events are counted up to it, so that no later one follows by subtraction.
    standing : {"told", "few events", "few people"}
    """

    name: str
    rows: FollowUpRows
    groins: int
    without: int
    least_at_risk: int
    within_years: float
    standing: Standing = "told"

    @cached_property
    def incidence(self) -> CumulativeIncidence:
        """Aalen–Johansen, death competing."""
        return cumulative_incidence(**self.rows.arrays(), least_at_risk=self.least_at_risk)

    @cached_property
    def curve(self) -> SurvivalCurve:
        """Kaplan–Meier, death censoring."""
        return survival(**self.rows.arrays(), least_at_risk=self.least_at_risk)

    @cached_property
    def length(self) -> FollowUpLength:
        """Reverse Kaplan–Meier."""
        return follow_up_length(**self.rows.arrays())

    @property
    def followed(self) -> bool:
        """Whether any groin was followed for a day."""
        return bool(self.rows.days.size) and self.rows.days_followed > 0

    @cached_property
    def people(self) -> int:
        """Patients followed."""
        return people_of(self.rows)

    @cached_property
    def events(self) -> int:
        """Events within the headline's horizon."""
        return self.events_by(self.within_years)

    def events_by(self, years: float, outcome: int = 1) -> int:
        """Events (or deaths: 2) up to a horizon."""
        rows = self.rows
        here = (rows.outcome == outcome) & (rows.days <= years * DAYS_PER_YEAR)
        return int((rows.n * rows.weights)[here].sum())

    def risk(self, years: float) -> RiskAt:
        """Share with the event by a horizon."""
        return self.incidence.risk(years)

    def rate(self) -> FollowUpRate:
        """Events per 100 person-years, within the headline's horizon."""
        rows, last = self.rows, self.within_years * DAYS_PER_YEAR
        followed = float((rows.n * rows.weights * np.minimum(rows.days, last)).sum())
        return person_year_rate(self.events, followed)

    def told_years(self, leaving: Leaving, horizons: Sequence[float]) -> tuple[float, ...]:
        """Choose the horizons, and the whole years up to the last of them, by which events may be told."""
        if self.standing != "told" or not self.followed:
            return ()
        years = [float(year) for year in range(1, int(max(horizons)) + 1)]
        asked = list(dict.fromkeys((*sorted(horizons, reverse=True), *years)))
        return leaving.times(asked, [self.events_by(year) for year in asked], self.within_years)


def headline_of(tally: FollowUpTally, protocol: Protocol) -> FollowUpTally:
    """Restrict to the headline's sex, occurrence and reasons."""
    counting = protocol.counting
    return tally.where(sex=counting.sex, occurrence=counting.occurrence, reason=tuple(counting.reasons))


def everybody(tally: FollowUpTally, protocol: Protocol, name: str = "all") -> Followed:
    """Take a tally as one group."""
    return _followed(name, tally.rows(()), tally.n_groins - tally.n_not_at_risk, tally.n_without, protocol)


def grouped(
    tally: FollowUpTally, protocol: Protocol, by: str, only: Sequence[str] | None = None
) -> tuple[Followed, ...]:
    """Part a tally by one dimension and say of each value whether it may be told.

    Parameters
    ----------
    tally : FollowUpTally
    protocol : Protocol
    by : str
        A stratum of the tally, or ``age_band`` for the protocol's bands.
    only : sequence of str, optional
        Values to tell, in this order; all that there are by default.
    """
    if by == "age_band":
        parts = _bands(tally, protocol)
    else:
        rows = tally.rows((by,))
        found = dict(rows.groups(by))
        absent = {line[by]: (line["of"], line["n"]) for line in tally.without((by,)).to_pylist()}
        empty = rows.take(np.zeros(rows.days.size, dtype=np.bool_))
        parts = [
            _followed(str(name), found.get(name, empty), *absent[name], protocol)
            for name in (only or absent)
            if name in absent
        ]
    leaving = leaving_of(protocol)
    if by == "repair":  # no sum over repairs is told but of those that are told themselves
        standings = [leaving.standing(part.people, part.events) for part in parts]
    else:
        standings = leaving.standings([part.people for part in parts], [part.events for part in parts])
    return tuple(replace(part, standing=standing) for part, standing in zip(parts, standings, strict=True))


def _bands(tally: FollowUpTally, protocol: Protocol) -> list[Followed]:
    edges = protocol.outcomes.age_bands
    rows = tally.rows(()).banded(edges)
    place = {name: index for index, name in enumerate(rows.levels["age_band"])}
    cells = tally.tally.margin(("outcome", "age_bin"))
    lower = tally.tally.edges_years[np.asarray(cells["age_bin"].to_numpy())]
    band = np.searchsorted(np.asarray(edges), lower + 1e-9, side="right") - 1
    n = np.asarray(cells["n"].to_numpy())
    outcome = np.array(cells["outcome"].to_pylist(), dtype=object)
    parts = []
    for name, part in rows.groups("age_band"):
        here = (band == place[name]) & (outcome != "not at risk")
        missing = int(n[here & (outcome == "without")].sum())
        parts.append(_followed(str(name), part, int(n[here].sum()), missing, protocol))
    return parts


def _followed(name: str, rows: FollowUpRows, groins: int, without: int, protocol: Protocol) -> Followed:
    plan = protocol.outcomes
    return Followed(name, rows, int(groins), int(without), plan.least_at_risk, plan.headline_years)


def beside_compared(tally: FollowUpTally, repair: str, protocol: Protocol) -> tuple[str, ...]:
    """Name the splits of a repair that would give away a small number beside the comparison of repairs.

    Groins compared are of some types and ages: a split by type less them leaves those of other ages, one by age those
    of other types.
    """
    plan, leaving = protocol.contrast, leaving_of(protocol)
    if leaving.consent or repair not in plan.arms:
        return ()
    edges = tally.tally.edges_years[:-1]
    aged = np.flatnonzero((edges >= plan.ages[0] - 1e-9) & (edges < plan.ages[1] - 1e-9)).tolist()
    found = []
    others: tuple[tuple[str, dict[str, Sequence[object]]], ...] = (
        ("type", {"type": plan.types}),
        ("age_band", {"age_bin": aged}),
    )
    for split, mine in others:
        wider = everybody(tally.where(**mine), protocol)
        compared = everybody(tally.where(type=plan.types, age_bin=aged), protocol)
        if 0 < wider.events - compared.events < leaving.least:
            found.append(split)
    return tuple(found)


def steps_of(
    group: Followed, leaving: Leaving, until: float, told_years: Sequence[float]
) -> list[dict[str, object]]:
    """Give the steps of a group's curve that may be drawn, from 0 to where few remain or to a horizon in years.

    Its end, where fewer than `THIN` times the least are still followed, is marked ``few``.
    """
    if group.standing != "told" or not group.followed:
        return []
    told = group.incidence
    years = told.days / DAYS_PER_YEAR
    seen = told.days <= until * DAYS_PER_YEAR
    chosen = leaving.drawn(
        told.days[seen],
        told.events[0][seen],
        told.at_risk[seen],
        group.least_at_risk,
        [year * DAYS_PER_YEAR for year in told_years],
    )
    rows: list[dict[str, object]] = [
        {"group": group.name, "years": 0.0, "risk": 0.0, "low": 0.0, "high": 0.0, "few": False}
    ]
    for place in chosen.tolist():
        rows.append(
            {
                "group": group.name,
                "years": float(years[place]),
                "risk": float(told.incidence[0, place]),
                "low": float(told.low[0, place]),
                "high": float(told.high[0, place]),
                "few": bool(told.at_risk[place] < THIN * group.least_at_risk),
            }
        )
    enough = np.flatnonzero(told.at_risk >= group.least_at_risk)
    if enough.size:
        rows.append({**rows[-1], "years": float(min(until, years[enough[-1]]))})
    return rows
