"""Hospitals as series: a follow-up tally comes in, one row a hospital with what it adds to a pool goes out.

A hospital too small to be told stands together with others, so that what is pooled is what is told and no pool gives a
hidden count away.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .. import wording
from ..counts import FollowUpRows, FollowUpTally
from ..protocol import Protocol
from ..vocabulary import DAYS_PER_YEAR
from .outcome_cells import Leaving, leaving_of, people_of
from .recurrence_rows import grouped


@dataclass(frozen=True)
class HospitalRow:
    """What one hospital, or several together, add to a pool.

    Attributes
    ----------
    label : str
    hospitals : tuple of str
    people, groins : int
        Followed at all.
    events : int
        Recurrences within the horizon.
    years : float
        Years followed within the horizon, all groins together.
    known : int
        Groins with a recurrence within the horizon or followed for all of it.
    """

    label: str
    hospitals: tuple[str, ...]
    people: int
    groins: int
    events: int
    years: float
    known: int


def hospital_rows(tally: FollowUpTally, protocol: Protocol, horizon_years: float) -> tuple[HospitalRow, ...]:
    """Make the rows of one repair; those too small to be told stand together, at the foot.

    Returns
    -------
    tuple of HospitalRow
        Empty when even all together are too few.
    """
    told: list[HospitalRow] = []
    small: list[HospitalRow] = []
    leaving = leaving_of(protocol)
    for group in grouped(tally, protocol, "hospital"):
        if not group.followed:
            continue
        row = _row(group.name, group.rows, horizon_years)
        alone = group.standing == "told" and leaving.standing(row.people, row.events) == "told"
        (told if alone else small).append(row)
    order = {hospital.name: place for place, hospital in enumerate(protocol.hospitals)}
    told.sort(key=lambda row: order.get(row.label, len(order)))
    while small and not _large_enough(small, leaving):
        if not told:
            return ()
        least = min(told, key=lambda row: (row.events, row.people))
        told.remove(least)
        small.append(least)
    return (*told, *([_together(small)] if small else []))


def within(rows: FollowUpRows, horizon_years: float) -> tuple[int, float, int]:
    """Count recurrences, years followed and groins whose state is known, within a horizon."""
    days = horizon_years * DAYS_PER_YEAR
    groins = rows.n * rows.weights
    event = (rows.outcome == 1) & (rows.days <= days)
    followed = float((groins * np.minimum(rows.days, days)).sum()) / DAYS_PER_YEAR
    return int(groins[event].sum()), followed, int(groins[event | (rows.days >= days)].sum())


def risk_of_rate(rate: float, horizon_years: float) -> float:
    """Turn a rate a year into the risk by a horizon, the rate being the same all along."""
    return -math.expm1(-rate * horizon_years)


def worth(events: int, years: float, horizon_years: float) -> int:
    """Groins followed for the whole horizon that would give as many events at the same rate; at least the events."""
    risk = risk_of_rate(events / years, horizon_years) if years > 0 else 0.0
    groins = events / risk if events and risk > 0 else years / horizon_years
    return max(round(groins), events, 1)


def _row(name: str, rows: FollowUpRows, horizon_years: float) -> HospitalRow:
    events, years, known = within(rows, horizon_years)
    return HospitalRow(name, (name,), people_of(rows), rows.n_groins, events, years, known)


def _large_enough(rows: Sequence[HospitalRow], leaving: Leaving) -> bool:
    people, events = sum(row.people for row in rows), sum(row.events for row in rows)
    return len(rows) > 1 and leaving.standing(people, events) == "told"


def _together(rows: Sequence[HospitalRow]) -> HospitalRow:
    names = tuple(name for row in rows for name in row.hospitals)
    return HospitalRow(
        wording.pooling_together(names),
        names,
        sum(row.people for row in rows),
        sum(row.groins for row in rows),
        sum(row.events for row in rows),
        sum(row.years for row in rows),
        sum(row.known for row in rows),
    )
