"""Small invented cases, followed and counted, and a protocol for them: what the parts on outcomes are tested with."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from hingeline.answers.outcomes import OUTCOMES_BY, OutcomeTallies
from hingeline.counts import count_followup
from hingeline.protocol import Protocol, parse_protocol

CUTOFF = dt.date(2024, 6, 30)


@dataclass(frozen=True)
class Group:
    """Boys of one hospital and repair: so many followed for so many days, so many of them with a recurrence."""

    hospital: str
    repair: str
    followed: int
    events: int = 0
    days: int = 2000
    event_day: int = 600
    without: int = 0
    age_years: float = 15.0


def protocol_of(hospitals: Sequence[str], consent: bool = True, **contrast: object) -> Protocol:
    """A protocol with the defaults, one entry a hospital."""
    privacy = 'events_may_leave = true\nconsent = "invented"\n' if consent else ""
    named = "".join(
        f'[[hospitals]]\nname = "{name}"\nsources = ["sources/{at}.csv"]\nlegend = "legends/{at}.toml"\n'
        for at, name in enumerate(hospitals)
    )
    compared = "".join(f"{name} = {value!r}\n" for name, value in contrast.items())
    return parse_protocol(
        f'[study]\ntitle = "t"\nquestion = "q"\ncutoff = {CUTOFF}\n[privacy]\n{privacy}[contrast]\n{compared}{named}',
        "study.toml",
    )


def tallies_of(groups: Sequence[Group], days: Sequence[Sequence[tuple[int, bool]]] = ()) -> OutcomeTallies:
    """Count groups; ``days`` gives each groin's own days and whether they end with a recurrence instead."""
    rows: list[dict[str, object]] = []
    operated = dt.date(2010, 1, 1)
    for place, group in enumerate(groups):
        own = list(days[place]) if days else []
        if not own:
            own = [(group.event_day, True)] * group.events
            own += [(group.days, False)] * (group.followed - group.events)
        for length, event in [*own, *[(None, False)] * group.without]:
            seen = None if length is None else operated + dt.timedelta(length)
            rows.append(
                {
                    "patient": len(rows),
                    "hospital": group.hospital,
                    "repair": group.repair,
                    "age_days": round(group.age_years * 365.25),
                    "followed_until": seen,
                    "recurred_on": seen if event else None,
                }
            )
    size = len(rows)
    table = pa.table(
        {
            "patient": pa.array([row["patient"] for row in rows], pa.int64()),
            "hospital": pa.array([row["hospital"] for row in rows], pa.string()),
            "repair": pa.array([row["repair"] for row in rows], pa.string()),
            "age_days": pa.array([row["age_days"] for row in rows], pa.int32()),
            "operated_on": pa.array([operated] * size, pa.date32()),
            "followed_until": pa.array([row["followed_until"] for row in rows], pa.date32()),
            "recurred_on": pa.array([row["recurred_on"] for row in rows], pa.date32()),
            "last_well_on": pa.array([None] * size, pa.date32()),
            "died_on": pa.array([None] * size, pa.date32()),
            "sex": pa.array(["male"] * size, pa.string()),
            "side": pa.array(["left"] * size, pa.string()),
            "occurrence": pa.array(["primary"] * size, pa.string()),
            "reason": pa.array(["hernia"] * size, pa.string()),
            "type": pa.array(["indirect"] * size, pa.string()),
            "approach": pa.array(["open"] * size, pa.string()),
            "emergency": pa.array([False] * size, pa.bool_()),
        }
    )
    tally = count_followup(table, by=OUTCOMES_BY, cutoff=CUTOFF)
    return OutcomeTallies(**dict.fromkeys(OutcomeTallies.__dataclass_fields__, tally))


def exponential(
    generator: np.random.Generator, groins: int, hazard: float, longest_years: float = 6.0
) -> list[tuple[int, bool]]:
    """Days of groins that recur at a constant hazard a year and are lost at any time up to the longest."""
    came = generator.exponential(1 / hazard, groins)
    left = generator.uniform(0.2, longest_years, groins)
    return [
        (max(1, round(365.25 * min(a, b))), bool(a <= b))
        for a, b in zip(came.tolist(), left.tolist(), strict=True)
    ]
