"""Numbers, limits and lists as a reader sees them: one place decides digits, minus sign, dash and per cent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

OPERATED = "Operated is not diseased: these are ages at repair, not ages at which hernias arise."
CROSS_SECTION = "A cross-section is not a life course: nobody here was followed from one age to the next."

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


def p_value(p: float) -> str:
    """Write a p-value: ``p = 0.034``, and ``p < 0.001`` below that."""
    if math.isnan(p):
        return "p not computed"
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}"


def age_span(low: float, high: float) -> str:
    """Write the ages of one bin: ``17.5–18.0 years``, or ``45–46 years`` when both are whole."""
    return interval(low, high, 0 if low == round(low) and high == round(high) else 1, " years")


def share_limits(low: float, high: float) -> str:
    """Write the limits of a share in per cent: ``8.9–16.1%``."""
    return f"{number(100 * low)}–{percent(high)}"


def few(n: int, least: int) -> str:
    """Write a count that may leave: exact from the minimum up (and nought), else ``fewer than 5``."""
    return f"fewer than {least}" if 0 < n < least else count(n)


def odds_cell(odds: float, low: float, high: float) -> str:
    """Write odds with limits."""
    return f"{number(odds, 2)} ({interval(low, high, 2)})"


def points_cell(points: float) -> str:
    """Write points a year with a sign."""
    return f"{'+' if points >= 0 else ''}{number(points, 2)}"


def threshold_cell(threshold: float) -> str:
    """Write a threshold."""
    return percent(threshold, 0 if abs(100 * threshold - round(100 * threshold)) < 1e-9 else 1)


def p_of_ratio(ratio: float, p: float, samples: int, simulated: bool) -> str:
    """Write a bootstrap p-value of a likelihood ratio; one too high to need samples says that none were drawn."""
    if math.isnan(ratio):
        return "–"
    return p_cell(p, samples) if simulated else f"ratio {number(ratio)}, too high to need samples"


def p_cell(p: float | None, samples: int = 0) -> str:
    """Write a p-value in a table; one at the floor of its simulated samples says so."""
    if p is None or math.isnan(p):
        return "–"
    if samples and p <= 1 / (samples + 1) + 1e-12:
        return f"≤ {number(1 / (samples + 1), 3)} (none of {count(samples)})"
    return "< 0.001" if p < 0.001 else number(p, 3)


def capital(text: str) -> str:
    """Begin a sentence or cell with a capital."""
    return text[:1].upper() + text[1:]


def dated(day: date, invented: bool = False) -> str:
    """Say until when the records go: ``records up to 30 June 2026``."""
    return f"{'invented ' if invented else ''}records up to {day.day} {MONTHS[day.month - 1]} {day.year}"


MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
