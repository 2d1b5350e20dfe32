"""Words on rates per 100,000 person-years."""

from __future__ import annotations

import math

from .numbers import age, interval, listed, number, percent
from .trade import standard_name, who


def rates_heading() -> str:
    """Head the part on rates."""
    return "How often: repairs per 100,000 person-years"


def rates_title() -> str:
    """Title the picture of rates."""
    return "Repairs per 100,000 person-years by age, type and sex"


def rates_alt() -> str:
    """Describe the picture of rates."""
    return "Rates by age with limits, one line a type, boys and men beside girls and women."


def rates_caption(years: tuple[int, int], coverage: float, least: int) -> str:
    """Caption the picture of rates."""
    return (
        f"Operations of {years[0]} to {years[1]}; person-years of the catchment times the declared coverage of "
        f"{percent(coverage, 0)}. Exact Poisson limits; ages merged until at least {max(least, 10)} cases stand "
        "in each stretch."
    )


def rate_estimand(sex: str, kind: str, standard: str) -> str:
    """Say what a standardised rate is."""
    return f"directly standardised rate of {kind} repairs in {who(sex)} ({standard_name(standard)})"


def rate_method() -> str:
    """Say how a rate was standardised."""
    return "direct standardisation with gamma limits (Fay & Feuer 1997)"


def rate_cell(rate_: float, low: float = math.nan, high: float = math.nan) -> str:
    """Write a rate in a table."""
    return number(rate_) if math.isnan(low) else f"{number(rate_)} ({interval(low, high)})"


def rates_grid_title() -> str:
    """Title the table of rates."""
    return "Crude and standardised rates per 100,000 person-years"


def rates_heads() -> tuple[str, ...]:
    """Head the table of rates."""
    return ("Who", "Type", "Cases", "Crude", "Standardised (95% CI)")


def rates_note(standard: str) -> str:
    """Note under the table of rates."""
    return f"Standard: {standard_name(standard)}. Combined hernias count as the protocol says."


def bends_title() -> str:
    """Title the table of the rates' turns."""
    return "Turns of each type's log rate in the headline's sex"


def bends_heads() -> tuple[str, ...]:
    """Head the table of the rates' turns."""
    return ("Type", "Turn")


def bends_note(until: float) -> str:
    """Note under the table of the rates' turns."""
    return (
        f"Ages up to {age(until, 0)} years, as many turns as the criterion (BIC) chooses; likelihood-ratio intervals "
        "with the χ² cut-off, so a little too short."
    )


def no_turn() -> str:
    """Stand where a rate has no turn."""
    return "no turn"


def which_bends(at: float, direct: float | None, indirect: float | None) -> str:
    """Say which type's rate bends where the share first turns up.

    Parameters
    ----------
    at : float
        Age of the share's turn.
    direct : float or None
        Age of an upward turn of the direct rate whose interval overlaps the share's.
    indirect : float or None
        Age of a downward turn of the indirect rate whose interval overlaps the share's.
    """
    told = []
    if direct is not None:
        told.append(f"the rate of direct repairs turns up at {age(direct)} years")
    if indirect is not None:
        told.append(f"the rate of indirect repairs turns down at {age(indirect)} years")
    if direct is not None and indirect is not None:
        verdict = "both diseases may bend there"
    elif direct is not None:
        verdict = "it is the direct hernias that bend there"
    elif indirect is not None:
        verdict = "it is the indirect hernias that bend there, not the direct ones"
    else:
        return (
            f"Where the share first turns up ({age(at)} years), neither rate has a turn of its own that could make it: "
            "it cannot be told which disease bends."
        )
    return f"Where the share first turns up ({age(at)} years), {listed(told)}: {verdict}."


def rates_method() -> str:
    """Say how rates were estimated."""
    return (
        "Cases over person-years with exact Poisson limits; log rates with hinges by Poisson likelihood, at the global "
        "maximum. logit share = log rate (direct) − log rate (indirect)."
    )


def rates_cannot(coverage: float) -> tuple[str, ...]:
    """List what the rates cannot say."""
    return (
        f"The rates stand and fall with the declared coverage of {percent(coverage, 0)}: patients operated "
        "elsewhere, more often at some ages than at others, bend them.",
        "A rate of repair is not the incidence of the disease: many adults with a hernia are never operated.",
    )
