"""Made cases with all that follow-up asks of them, counted in every way that the parts on outcomes are told from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import numpy as np
import pyarrow as pa

from hingeline.answers.outcomes import WAYS, OutcomeTallies
from hingeline.counts import PatternTally, count_followup, count_patterns
from hingeline.protocol import Protocol, parse_protocol

CUTOFF = dt.date(2024, 6, 30)
OPERATED = dt.date(2012, 1, 1)
TEXT = ("hospital", "sex", "side", "occurrence", "reason", "type", "known_by", "repair", "approach")
LATER = ("recurrence_known_by", "reoperation_type")
DATES = ("operated_on", "followed_until", "recurred_on", "last_well_on", "other_groin_on", "died_on")
USUAL: dict[str, Any] = {
    "hospital": "Aldmoor",
    "sex": "male",
    "side": "left",
    "occurrence": "primary",
    "reason": "hernia",
    "type": "indirect",
    "known_by": "laparoscopic view",
    "repair": "mesh",
    "approach": "open",
    "emergency": False,
    "age_years": 20.0,
    "operated_on": OPERATED,
}


def groins(count: int, days: int | None = None, event: bool = False, **fields: Any) -> list[dict[str, Any]]:
    """So many alike, each of a patient of its own, followed for so many days, at the end with a recurrence or not."""
    row = {**USUAL, **fields}
    if days is not None:
        row["followed_until"] = row["operated_on"] + dt.timedelta(days)
    if event:
        row["recurred_on"] = row["followed_until"]
        row.setdefault("recurrence_known_by", "re-operation")
    return [dict(row) for _ in range(count)]


def repair(name: str, followed: int, events: int, days: int = 2500, **fields: Any) -> list[dict[str, Any]]:
    """A repair with recurrences spread over the first five years, the others followed to a day."""
    spread = np.linspace(30, 1700, events).astype(int).tolist() if events else []
    rows = [row for day in spread for row in groins(1, day, True, repair=name, **fields)]
    return rows + groins(followed - events, days, repair=name, **fields)


def table_of(rows: Sequence[dict[str, Any]]) -> pa.Table:
    """Cases as intake gives them."""
    own = [row.get("patient", -1 - place) for place, row in enumerate(rows)]
    columns: dict[str, pa.Array[Any]] = {"patient": pa.array(own, pa.int64())}
    for name in (*TEXT, *LATER):
        columns[name] = pa.array([row.get(name) for row in rows], pa.string())
    for name in DATES:
        columns[name] = pa.array([row.get(name) for row in rows], pa.date32())
    columns["emergency"] = pa.array([row.get("emergency") for row in rows], pa.bool_())
    columns["age_days"] = pa.array([round(row["age_years"] * 365.25) for row in rows], pa.int32())
    return pa.table(columns)


def protocol_of(hospitals: Sequence[str] = ("Aldmoor",), consent: bool = True, more: str = "") -> Protocol:
    """Few replicates; everything else by default."""
    privacy = '[privacy]\nevents_may_leave = true\nconsent = "invented"\n' if consent else ""
    named = "".join(
        f'[[hospitals]]\nname = "{name}"\nsources = ["sources/{at}.csv"]\nlegend = "legends/{at}.toml"\n'
        for at, name in enumerate(hospitals)
    )
    return parse_protocol(
        f'[study]\ntitle = "t"\nquestion = "q"\ncutoff = {CUTOFF}\ninvented = true\n{privacy}'
        f"[turns]\nmost = 1\n[resampling]\nreplicates = 19\ncalibration = 19\n{more}{named}",
        "study.toml",
    )


def tallies_of(rows: Sequence[dict[str, Any]], **limits: float) -> OutcomeTallies:
    """Follow the cases in every way."""
    table = table_of(rows)
    return OutcomeTallies(
        **{
            name: count_followup(
                table, by=by, cutoff=CUTOFF, endpoint=endpoint, until=until, age_limits=limits
            )
            for name, (endpoint, until, by) in WAYS.items()
        }
    )


def patterns_of(rows: Sequence[dict[str, Any]]) -> PatternTally:
    """Count the cases by the usual dimensions."""
    return count_patterns(table_of(rows))
