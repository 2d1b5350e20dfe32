"""Words of the report itself: how a finding is told, headings and keys of pictures."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from .compared import difference_told
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
    elif unit == "difference of shares":
        return difference_told(value, low, high)
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


def few_replicates(replicates: int, least: int) -> str:
    """Warn of limits that rest on few redrawn sets of patients."""
    return (
        f"Limits rest on {count(replicates, 'redrawn set')} of patients only, fewer than {least}: they are rough, and another "
        "seed may move them. Set [resampling] replicates to 2,000 before anything is concluded."
    )


def withheld(table: str, joined: int, left_out: Sequence[str], groins: int, least: int) -> str:
    """Say what a picture or a table of repairs keeps back of small counts; nothing when it keeps nothing back."""
    parts = []
    if joined:
        parts.append(
            f"{count(joined, 'stretch', 'stretches')} of ages joined to a neighbour, since fewer than {least} people stood in "
            "it"
            if joined == 1
            else f"{count(joined, 'stretches', 'stretches')} of ages joined to their neighbours, since fewer than {least} "
            "people stood in each"
        )
    if left_out:
        # the groins of one type, or of few people, are what is kept back
        told = f" ({count(groins, 'groin')})" if len(left_out) > 1 and groins >= 2 * least else ""
        names = " and ".join(type_word(kind) for kind in left_out) if len(left_out) < 3 else ""
        parts.append(
            f"{count(len(left_out), 'type')} left out{f' ({names})' if names else ''}, fewer than {least} people of each at all "
            f"ages together{told}"
        )
    return f"Withheld {table}: {'; '.join(parts)}." if parts else f"Nothing is withheld {table}."


def from_this_picture() -> str:
    """Name what is kept back from: the picture whose caption this is."""
    return "from this picture"


def from_table(name: str) -> str:
    """Name what is kept back from: a table that a run leaves."""
    return f"from {name}"


def types_need_consent(table: str) -> str:
    """Say why a table of types is empty."""
    return (
        f"Withheld {table}: everything. Types by age leave only with the data officers' consent ([privacy] events_may_leave), "
        "since with the shares of one sex they would give away the small counts of the other."
    )


def hospitals_need_consent(table: str) -> str:
    """Say why a table has no rows by hospital."""
    return f"Withheld {table}: shares by hospital, which leave only with the data officers' consent ([privacy] events_may_leave)."


def flow_visits() -> str:
    """Label the visits read."""
    return "Rows of visits, in sheets or files of their own"


def flow_visits_joined() -> str:
    """Label the visits that were joined."""
    return "Visits joined to an operation: they tell how long it was followed, and what was found"


def flow_visits_caption() -> str:
    """Caption of a diagram with visits."""
    return "Rows of visits = joined + set aside; they make no cases."


def sex_heading(sex: str) -> str:
    """Head the plot of one sex: ``Boys and men``; another word is left as it is."""
    return who(sex).capitalize() if sex in ("male", "female") else sex
