"""Every number and sentence that a person reads is formatted here and nowhere else.

Numbers come in plain and go out as text: one place decides the digits, the minus sign, the dash of an interval
and the word for a share. Other parts add their sentences here rather than write f-strings of their own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

CAUTION = (
    "For research and teaching; not a medical device; it does not advise on a patient; "
    "follow local guidance and the judgement of licensed clinicians."
)
"""Stands on every page, paper and slide that says anything on operations (design, section 8)."""


def number(value: float, digits: int = 1) -> str:
    """Write a number with a true minus sign and thin thousands: ``-1234.5`` is ``−1,234.5``."""
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "∞" if value > 0 else "−∞"
    text = f"{abs(value):,.{digits}f}"
    negative = value < 0 and float(text.replace(",", "")) != 0
    return f"−{text}" if negative else text


def count(value: int, one: str = "", many: str = "") -> str:
    """Write a count, with its noun when given: ``count(1, "case")`` is ``1 case``."""
    noun = one if value == 1 else (many or (one + "s" if one else ""))
    return f"{value:,} {noun}".strip()


def percent(share: float, digits: int = 1) -> str:
    """Write a share (0 to 1) in per cent: ``0.1234`` is ``12.3%``."""
    return "not known" if math.isnan(share) else f"{number(100 * share, digits)}%"


def age(years: float, digits: int = 1) -> str:
    """Write an age in years: ``14.62`` is ``14.6``."""
    return number(years, digits)


def interval(low: float, high: float, digits: int = 1, unit: str = "") -> str:
    """Write two limits with an en dash; an open side is told in words."""
    if math.isinf(low) and math.isinf(high):
        return "anywhere"
    if math.isinf(low):
        return f"up to {number(high, digits)}{unit}"
    if math.isinf(high):
        return f"{number(low, digits)}{unit} or more"
    return f"{number(low, digits)}–{number(high, digits)}{unit}"


def listed(items: Sequence[str]) -> str:
    """Join words as a sentence does: ``a, b and c``."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def proportion(
    share: float, low: float, high: float, events: float, total: float, level: float, one_sided: bool = False
) -> str:
    """Write a share with its limits and counts: ``6.0% (95% CI 3.7–9.5%; 16 of 267)``."""
    counted = f"{events:,.10g} of {total:,.10g}"
    if one_sided:
        return f"{percent(share)} (one-sided {level:.0%} upper limit {percent(high, 2)}; {counted})"
    return f"{percent(share)} ({level:.0%} CI {number(100 * low)}–{percent(high)}; {counted})"


def share_difference(difference: float, low: float, high: float, level: float) -> str:
    """Write a difference of two shares in points: ``20.0 points (95% CI 5.2 to 33.4)``."""
    return f"{number(100 * difference)} points ({level:.0%} CI {number(100 * low)} to {number(100 * high)})"
