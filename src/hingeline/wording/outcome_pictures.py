"""Words on the pictures of outcomes: heads of columns, titles of axes, keys."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import capital, count, listed, number, percent


def picture_column(name: str) -> str:
    """Head a column beside a picture."""
    return {
        "series": "Series",
        "events": "Events",
        "groins": "Groins",
        "follow_up": "Follow-up",
        "share": "Share (95% limits)",
        "weight": "Weight",
    }[name]


def picture_axis(name: str) -> str:
    """Title an axis."""
    return {
        "share": "Share with a recurrence",
        "groins": "Groins followed",
        "balance": "Difference between repairs (absolute, in standard deviations)",
        "difference": "Difference in risk, first less second (points): right of 0, more recurrences after the first",
        "events": "Events more or fewer than observed",
        "estimate": "Difference (points)",
        "first_lost": "Of those lost in the first arm, had a recurrence",
        "second_lost": "Of those lost in the second arm, had a recurrence",
        "assumption": "Assumption",
        "size": "Size",
    }[name]


def picture_key(name: str) -> str:
    """Explain a sign in a key."""
    return {
        "limits": "95% limits",
        "inner": "95% control limits",
        "outer": "99.8% control limits",
        "centre": "all hospitals together",
        "within": "hospital within the limits",
        "outside": "outside the 95% limits",
        "before": "before weighting",
        "after": "after weighting",
        "prediction": "where a further series would lie",
        "summaries": "Published summaries, shown and not pooled",
        "observed": "observed",
        "as_few": "few remain at risk",
        "balance_guide": "0.1: taken as balanced",
        "boundary": "where the verdict changes",
    }[name]


def margin_key(margin: float) -> str:
    """Name the line of a margin."""
    return f"margin {points_tick(margin)} points"


def series_count(events: str, n: str) -> str:
    """Write events of groins on one line."""
    return f"{events} of {n}"


def limits_cell(share: float | None, low: float | None, high: float | None) -> str:
    """Write a share with its limits in per cent, each to a tenth."""
    if low is None or high is None or not (math.isfinite(low) and math.isfinite(high)):
        return "not told" if share is None else percent(share)
    limits = f"{number(100 * low)}–{number(100 * high)}"
    return limits + "%" if share is None else f"{percent(share)} ({limits})"


def points_interval(value: float | None, low: float | None, high: float | None) -> str:
    """Write a difference with its limits in points."""
    if value is None:
        return "not told"
    told = number(100 * value)
    if low is None or high is None:
        return told
    return f"{told} ({number(100 * low)} to {number(100 * high)})"


def points_tick(value: float) -> str:
    """Write points without needless digits."""
    told = number(100 * value, 2).rstrip("0").rstrip(".")
    return "0" if told in ("", "−0") else told


def percent_tick(value: float) -> str:
    """Write per cent without needless digits."""
    return f"{points_tick(value)}%"


def number_tick(value: float) -> str:
    """Write a number without needless digits."""
    if value == round(value):
        return count(round(value)) if value >= 0 else number(value, 0)
    return number(value, 3).rstrip("0")


def change_tick(change: int) -> str:
    """Write events more or fewer with a sign."""
    return f"+{change}" if change > 0 else number(change, 0)


def verdict_at(verdict: str, spans: Sequence[tuple[int, int]]) -> str:
    """Write a verdict with the changes in events at which it holds."""
    told = [
        change_tick(low) if low == high else f"{change_tick(low)} to {change_tick(high)}"
        for low, high in spans
    ]
    return f"{capital(verdict)}: at {listed(told)}" if told else capital(verdict)


def horizon_label(years: float) -> str:
    """Name a row by its horizon."""
    return f"by {number_tick(years)} {'year' if years == 1 else 'years'}"
