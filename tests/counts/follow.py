"""Small invented cases with outcomes, and follow-up reckoned one case after the other in plain Python."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from fractions import Fraction
from math import ceil

import pyarrow as pa
from hypothesis import strategies as st

CUTOFF = dt.date(2020, 6, 30)
LIMITS = {"Aldmoor": 18.0, "Brackwater": 16.5}
DATES = ("operated_on", "followed_until", "last_well_on", "recurred_on", "other_groin_on", "died_on")
WORDS = ("hospital", "side", "repair", "reoperation_type")
SCHEMA = pa.schema(
    [
        ("patient", pa.int64()),
        ("age_days", pa.int32()),
        ("emergency", pa.bool_()),
        *((name, pa.string()) for name in WORDS),
        *((name, pa.date32()) for name in DATES),
    ]
)


def table(rows: list[dict]) -> pa.Table:
    """Rows as Arrow; what is not given is as common as it gets."""
    usual = dict.fromkeys(SCHEMA.names) | {
        "age_days": 5000,
        "hospital": "Aldmoor",
        "side": "left",
        "repair": "mesh",
        "operated_on": dt.date(2010, 1, 1),
    }
    return pa.Table.from_pylist([usual | row for row in rows], schema=SCHEMA)


def rows_with_outcomes(max_size: int = 20) -> st.SearchStrategy[list[dict]]:
    """Any cases: ties, events before the operation, after death and after the cut-off, dates not told."""
    # few days, so that ties are common; some beyond the cut-off, some before the operation
    day = st.one_of(st.integers(-3, 12), st.integers(0, 6000))
    operated = st.one_of(
        st.none(), st.sampled_from([dt.date(2008, 2, 29), dt.date(2019, 12, 31), dt.date(2020, 7, 2)])
    )
    one = st.fixed_dictionaries(
        {
            "patient": st.integers(0, 8),
            "age_days": st.integers(0, 12_000),
            "hospital": st.sampled_from(["Aldmoor", "Brackwater", "Ćwikła"]),
            "side": st.sampled_from(["left", "right"]),
            "repair": st.sampled_from(["high_ligation", "mesh"]),
            "reoperation_type": st.sampled_from([None, "direct", "indirect"]),
            "emergency": st.sampled_from([None, True, False]),
            "operated_on": operated,
            **{name: st.one_of(st.none(), day) for name in DATES[1:]},
        }
    )
    return st.lists(one.map(_dated), max_size=max_size)


def _dated(row: dict) -> dict:
    """Turn days after the operation into dates."""
    start = row["operated_on"] or dt.date(2010, 1, 1)
    later = {name: None if row[name] is None else start + dt.timedelta(row[name]) for name in DATES[1:]}
    return row | later


def plain_outcome(
    row: dict, rows: list[dict], endpoint: str, until: str, deaths: str = "seen"
) -> tuple[str, int | None, int | None]:
    """Outcome, days followed and, for an event, the last day well: told of one case as a person would."""
    operated = row["operated_on"]
    other_side = [
        one["operated_on"]
        for one in rows
        if one["patient"] == row["patient"] and one["side"] != row["side"] and one["operated_on"] is not None
    ]
    if endpoint == "other groin" and operated is not None and any(day <= operated for day in other_side):
        return "not at risk", None, None
    if operated is None or operated > CUTOFF:
        return "without", None, None

    def told(name: str) -> dt.date | None:
        return row[name] if row[name] is not None and row[name] >= operated else None

    event = told("recurred_on" if endpoint == "recurrence" else "other_groin_on")
    seen, died = told("followed_until"), told("died_on")
    last = max((day for day in (event, seen) if day is not None), default=None)
    if until == "cut-off":
        end = CUTOFF
    elif until == "age limit":
        limit = LIMITS.get(row["hospital"])
        assumed = CUTOFF
        if limit is not None:
            grown = ceil(Fraction(limit) * Fraction(1461, 4)) - row["age_days"]
            assumed = min(CUTOFF, operated + dt.timedelta(max(grown, 0)))
        end = max(assumed, last or assumed)
    elif last is None:
        return "without", None, None
    else:
        end = last
        if deaths == "known" and event is None and died is not None:
            end = max(end, died)
    end = min(end, CUTOFF)
    if event is not None and event <= end and (died is None or event <= died):
        days = (event - operated).days
        well = told("last_well_on") if endpoint == "recurrence" else None
        known = 0 if well is None else (well - operated).days
        return "event", days, max(0, min(known, days - 1))
    if died is not None and died <= end:
        return "death", (died - operated).days, None
    return "censored", (end - operated).days, None


def plain_tally(rows: list[dict], by: tuple[str, ...], *how: str) -> Counter:
    """Groins by strata, outcome, days and last day well."""
    found: Counter = Counter()
    for row in rows:
        strata = tuple(
            "none" if name == "reoperation_type" and row[name] is None else row[name] for name in by
        )
        found[(*strata, *plain_outcome(row, rows, *how))] += 1
    return found
