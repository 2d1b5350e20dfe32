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


def rates_note(standard: str, with_combined: bool) -> str:
    """Note under the table of rates."""
    combined = (
        "Combined hernias are counted as direct." if with_combined else "Combined hernias are left out."
    )
    return f"Standard: {standard_name(standard)}. {combined}"


def bends_title(sex: str) -> str:
    """Title the table of the rates' turns."""
    return f"Turns of each type's log rate, {who(sex)}"


def bends_heads() -> tuple[str, ...]:
    """Head the table of the rates' turns."""
    return ("Type", "Turn")


def bends_note(until: float) -> str:
    """Note under the table of the rates' turns."""
    return (
        f"Ages up to {age(until, 0)} years, since rates have humps of their own further on; as many turns as the criterion (BIC) chooses; likelihood-ratio intervals "
        "with the χ² cut-off, so a little too short."
    )


def no_turn() -> str:
    """Stand where a rate has no turn."""
    return "no turn"


def which_bends(
    at: float,
    direct: tuple[float, float, float] | None,
    indirect: tuple[float, float, float] | None,
    coverage: float,
) -> str:
    """Say which type's rate bends where the share first turns up.

    Parameters
    ----------
    at : float
        Age of the share's turn.
    direct : (age, low, high) or None
        An upward turn of the direct rate whose interval overlaps the share's.
    indirect : (age, low, high) or None
        A downward turn of the indirect rate whose interval overlaps the share's.
    coverage : float
        Declared share of the catchment's repairs.
    """
    told = []
    if direct is not None:
        told.append(
            f"the rate of direct repairs turns up at {age(direct[0])} years ({interval(*direct[1:])})"
        )
    if indirect is not None:
        told.append(
            f"the rate of indirect repairs turns down at {age(indirect[0])} years ({interval(*indirect[1:])})"
        )
    if direct is not None and indirect is not None:
        verdict = "so the climb comes from both"
    elif direct is not None:
        verdict = "and that of indirect repairs has no turn that could make it, so the climb comes from more direct repairs"
    elif indirect is not None:
        verdict = "and that of direct repairs has no turn that could make it, so the climb comes from fewer indirect repairs"
    else:
        return (
            f"Near the share's first upward turn ({age(at)} years) neither rate has a turn of its own that could make it: "
            "it cannot be told which of them bends."
        )
    return (
        f"Near the share's first upward turn ({age(at)} years) {listed(told)}, {verdict}, provided that the declared "
        f"coverage of {percent(coverage, 0)} holds at every age."
    )


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
