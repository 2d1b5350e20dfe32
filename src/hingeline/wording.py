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
