"""The part on the next study, in words: what would settle it, and what that hangs on."""

from __future__ import annotations

from collections.abc import Sequence

from .followup import followup_years
from .numbers import age, capital, count, listed, number, percent
from .outcomes import repair_word
from .size import points


def next_heading() -> str:
    """Head the part on the next study."""
    return "What study would settle it"


def next_as_good(first: str, second: str, sentence: str) -> str:
    """Introduce the size that would show one repair as good as another."""
    told = f"{sentence[:1].lower()}{sentence[1:]}"
    return (
        f"With {repair_word(first)} as the new repair and {repair_word(second)} as the standard one, {told}"
    )


def next_assumed(kind: str, second: str, years: float) -> str:
    """Say where the assumed risk comes from."""
    by = f"by {followup_years(years)}"
    told = {
        "reference": f"The risk assumed is that seen here after {repair_word(second)} {by}, unadjusted.",
        "both": f"The risk assumed is that seen here after both repairs {by}, unadjusted: none recurred after {repair_word(second)}.",
        "limit": f"No recurrence was seen {by}: the risk assumed is the upper 95% limit (one-sided) of both repairs together.",
    }[kind]
    return f"{told} What was seen overstates it where those who are well stay away; the picture has sizes at lower risks."


def next_allowed(lost: float, both: float, likeness: float) -> str:
    """Say what is allowed for, as seen here."""
    told = f"Lost are as many as have no follow-up here ({percent(lost, 0)})."
    if both > 0:
        told += (
            f" {percent(both, 0)} of patients have both groins operated, whose outcomes are taken as alike as here (correlation "
            f"{number(likeness, 2)})."
        )
    return (
        f"{told} Likeness within a hospital is left out: where each hospital does both repairs it cancels, where each does one it "
        "must be added."
    )


def next_not_told(why: str) -> str:
    """Say that there is no size."""
    return f"No size can be told for a comparison of repairs: {why.rstrip('.')}."


def next_nothing() -> str:
    """Say why nothing can be sized."""
    return "two repairs were not followed here, or too few stand behind them to be told"


def next_crossing(
    threshold: float, years: float, half: float, n: int, sizes: Sequence[tuple[float, int]]
) -> str:
    """Say how many groins would know a crossing better."""
    told = listed([f"within {number(within, 1)} years about {count(size)}" for within, size in sizes])
    return (
        f"The age at which the direct share reaches {percent(threshold, 0)}, here {age(years)} years, is known to within "
        f"{number(half, 1)} years either side from {count(n, 'groin')}; {told} groins of the same ages would be needed."
    )


def next_title(first: str, second: str) -> str:
    """Head the picture of sizes."""
    return f"Groins needed to show {repair_word(first)} not worse than {repair_word(second)}"


def next_alt(total: int, risk: float) -> str:
    """Describe the picture of sizes."""
    return f"Lines of the groins needed against the risk assumed, one a margin; at {percent(risk)}, {count(total)} in all."


def next_caption(power: float, margin: float) -> str:
    """Say what the picture of sizes shows."""
    return (
        f"Groins to enrol in all, power {percent(power, 0)}, with the same risk after both repairs, by the margin that would still be "
        f"borne; the protocol's is {points(margin)}. Ringed: the risk seen here."
    )


def next_series(margin: float) -> str:
    """Name the line of one margin."""
    return f"margin {points(margin)}"


def next_axes(years: float) -> tuple[str, str]:
    """Title the axes of the picture of sizes."""
    return (f"Recurrence within {followup_years(years)} after either repair, %", "Groins to enrol, in all")


def next_chosen(total: int) -> str:
    """Label the size at the risk seen here."""
    return count(total)


def next_grid_title() -> str:
    """Head the table of sizes."""
    return "Sizes by what is to be shown"


def next_heads() -> tuple[str, ...]:
    """Head the table of sizes."""
    return ("To be shown", "Risks assumed", "Power", "Groins to analyse, an arm", "Groins to enrol, in all")


def next_question(kind: str, first: str, second: str, margin: float = 0.0) -> str:
    """Name what is to be shown."""
    if kind == "as good":
        return f"{capital(repair_word(first))} not worse than {repair_word(second)} by more than {points(margin)}"
    return f"{capital(repair_word(first))} and {repair_word(second)} differ, as seen here"


def next_risks(first: float, second: float) -> str:
    """Write two assumed risks in a table."""
    return f"{percent(first)} and {percent(second)}"


def next_power(power: float) -> str:
    """Write a power in a table."""
    return percent(power, 0)


def next_none() -> str:
    """Stand in a table where no size could show it."""
    return "none could show it"


def next_method() -> str:
    """Say how sizes were made, for the method note."""
    return (
        "Not worse by more than a margin: Farrington–Manning's score test (1990), upper limit of the 95% interval under the margin. "
        "That two risks differ: normal approximation, pooled variance, two-sided at 5%. Groins to enrol are those to analyse times "
        "the design effect, over those not lost. The precision of a crossing is scaled from this run's own bootstrap interval by one "
        "over the root of the size, not simulated; the command “hingeline size --for crossing” simulates it."
    )


def next_cannot() -> tuple[str, ...]:
    """Say what a size cannot say."""
    return (
        "A size is as good as the risk and the loss it assumes; that a difference was seen here is the weakest of reasons to assume it.",
    )


def next_estimand(kind: str, first: str, second: str) -> str:
    """Say what a size is a size of."""
    return {
        "as good": f"groins to enrol to show {repair_word(first)} not worse than {repair_word(second)} by more than the margin",
        "shares": f"groins to enrol to show that {repair_word(first)} and {repair_word(second)} differ, as seen here",
    }[kind]


def next_crossing_estimand(threshold: float) -> str:
    """Say what the size for a crossing is a size of."""
    return f"groins that know the age at which the direct share reaches {percent(threshold, 0)} to within half of what is known here"


def next_crossing_method() -> str:
    """Name how the size for a crossing was made."""
    return "this run's bootstrap interval, scaled by one over the root of the size"
