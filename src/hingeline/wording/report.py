"""Words of the report itself: how a finding is told, headings and keys of pictures."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from .numbers import CAUTION, age_span, count, interval, number, percent, share_limits
from .trade import type_word, who

COLUMNS = 100
"""Width of what a terminal shows."""


def answer_told(sentences: Sequence[str], cannot: Sequence[str], seconds: float, fresh: bool) -> str:
    """Set the answer for a terminal: sentences, what they cannot say, how long it took."""
    parts = [] if fresh else ["Nothing has changed since this run."]
    parts += [textwrap.fill(sentence, COLUMNS) for sentence in sentences]
    bullets = [
        textwrap.fill(told, COLUMNS, initial_indent="  – ", subsequent_indent="    ") for told in cannot
    ]
    parts.append("\n".join(["What these numbers cannot say:", *bullets]))
    parts.append(textwrap.fill(CAUTION, COLUMNS))
    parts.append(f"From exports to report: {number(seconds)} seconds.")
    return "\n\n".join(parts)


def estimate(value: float, low: float, high: float, unit: str) -> str:
    """Write an estimate with its interval in its unit: ``14.2 years (12.9–15.6)``; an open side is told in words."""
    if unit == "share":
        told, limits = percent(value), share_limits(low, high)
    else:
        digits = 0 if unit in ("cases", "groins", "patients", "rows") else 2 if "ratio" in unit else 1
        told, limits = f"{number(value, digits)} {unit}", interval(low, high, digits)
    if math.isnan(low) or math.isnan(high):
        return told
    return f"{told} ({limits})"


def method_told(method: str, level: float, replicates: int | None, seed: int | None) -> str:
    """Write how a number was made, with its level, replicates and seed: what a re-run needs."""
    more = [f"{level:.0%} interval"]
    if replicates is not None:
        more.append(count(replicates, "replicate"))
    if seed is not None:
        more.append(f"seed {seed}")
    return f"{method} ({', '.join(more)})"


def standing(planned: bool, headline: bool) -> str:
    """Write whether a number was planned before the outcome was counted, and whether it is a headline."""
    return ("planned" if planned else "exploratory") + (", headline" if headline else "")


def closer(title: str, span: str) -> str:
    """Write the heading of a picture seen closer: ``Direct share by age: 5–30 years``."""
    return f"{title}: {span} seen closer"


def closer_caption(span: str) -> str:
    """Write the note under a picture seen closer."""
    return f"The same data, fit and marks as in the picture before, only {span}."


def nothing() -> str:
    """Stand for a cell that has nothing to tell."""
    return "–"


def not_told() -> str:
    """Stand for a number that may not leave."""
    return "not told"


def observed_key(groins: int) -> str:
    """Explain a square in a picture's key by the number of groins that its size stands for."""
    return f"observed (this size: {count(groins, 'groin')})"


def type_counted(kind: str, groins: int) -> str:
    """Name a type in a picture's key with its number of groins: ``indirect 7,992``."""
    return f"{type_word(kind)} {count(groins)}"


def counted_within(groins: int, low: float, high: float) -> str:
    """Write a count with the wider ages that it was counted in."""
    return f"{count(groins)} in {age_span(low, high)}"


def sex_heading(sex: str) -> str:
    """Head the plot of one sex: ``Boys and men``; another word is left as it is."""
    return who(sex).capitalize() if sex in ("male", "female") else sex
