"""Words on the ages at repair."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import CROSS_SECTION, OPERATED, age, count, interval, listed, number


def two_humps(
    humps: Sequence[tuple[float, float, float]],
    troughs: Sequence[tuple[float, float, float]],
    with_all: Sequence[str],
    hospitals: int,
    rates: bool,
) -> str:
    """Tell the humps of the ages, and how far pooling alone could have made them.

    Parameters
    ----------
    humps, troughs : sequence of (age, low, high)
        In years; limits may be nan.
    with_all : sequence of str
        Hospitals that take all ages and show as many humps on their own records.
    hospitals : int
    rates : bool
        Whether there are denominators.
    """
    places = [_place(*hump) for hump in humps]
    if not places:
        return "The ages at repair show no hump."
    told = f"Repairs are commonest {places[0]}{''.join(f' and again {place}' for place in places[1:])}"
    if len(places) == 1:
        return "No second hump stands out in the ages at repair."
    told += f", and fewest {listed([_place(*trough) for trough in troughs])}."
    if with_all:
        every = len(with_all) == hospitals
        names = "Every hospital" if every else listed(list(with_all))
        shows = "shows" if every or len(with_all) == 1 else "show"
        return (
            f"{told} {names} {shows} as many humps on {'its' if shows == 'shows' else 'their'} own records."
        )
    settled = "" if rates else "; without population denominators the pooled counts cannot settle it"
    return f"{told} No hospital alone shows as many humps, so pooling may have made them{settled}."


def _place(at: float, low: float, high: float) -> str:
    return "in the first year of life" if at < 1 else f"at {age(at)} years{_bracketed(low, high)}"


def ages_heading() -> str:
    """Head the part on the ages at repair."""
    return "Ages at repair"


def ages_method(dip_told: str, silverman_told: str, bandwidth: float) -> str:
    """Say how the humps were found and tested."""
    return (
        f"Kernel density of the ages (Gaussian, standard deviation {number(bandwidth)} years, reflected at the ends "
        "of the ages taken; Silverman 1986), the humps' limits by resampling the cases; a hump counts when it rises "
        f"by three standard errors above its troughs. {dip_told} (Hartigan & Hartigan 1985). {silverman_told} "
        "(Silverman 1981)."
    )


def ages_cannot(rates: bool) -> tuple[str, ...]:
    """List what the ages at repair cannot say."""
    told = [
        OPERATED,
        CROSS_SECTION,
    ]
    if not rates:
        told.append(
            "Two humps in pooled counts may only mean that a children's and a general hospital were pooled; "
            "population denominators would settle it."
        )
    return tuple(told)


def hump_estimand(kind: str) -> str:
    """Say what a hump's age is."""
    return f"age of a {kind} of the ages at repair"


def hump_method() -> str:
    """Say how a hump's age and its limits were found."""
    return "kernel density reflected at the ends, multinomial resampling of the cases (Silverman 1986)"


def hump_sentence(kind: str, at: float, low: float, high: float) -> str:
    """Write one hump or trough."""
    where = "in the first year of life" if at < 1 else f"at {age(at)} years{_bracketed(low, high)}"
    return f"A {kind} of the ages at repair lies {where}."


def hump_label(kind: str, at: float, low: float, high: float) -> str:
    """Label a hump or trough in a picture."""
    return f"{kind} in the first year" if at < 1 else f"{kind} at {age(at)} years"


def _bracketed(low: float, high: float) -> str:
    return "" if math.isnan(low) or math.isnan(high) else f" (95% CI {interval(low, high)})"


def repairs_title() -> str:
    """Title the picture of repairs by age."""
    return "Groin hernia repairs by age and type"


def repairs_alt(n: int, humps_told: str) -> str:
    """Describe the picture of repairs by age."""
    return f"Repairs a year of age, stacked by type, {count(n, 'groin')}. {humps_told}."


def repairs_caption(least: int) -> str:
    """Caption the picture of repairs by age."""
    return (
        "Groins operated for a hernia, per year of age, both sexes, all hospitals. Neighbouring ages are merged until "
        f"at least {least} people stand in each stretch of each type."
    )


def hospitals_title() -> str:
    """Title the small pictures of repairs by hospital."""
    return "Groin hernia repairs by age and type, in each hospital"


def hospitals_alt(names: Sequence[str]) -> str:
    """Describe the small pictures of repairs by hospital."""
    return f"Repairs a year of age, one small picture for each of {listed(list(names))}."


def hospitals_caption(least: int) -> str:
    """Caption the small pictures of repairs by hospital."""
    return (
        "Shaded: ages that the hospital does not take. A trough at the age of handing on is made by hospitals, not by "
        f"the disease. At least {least} people in each stretch."
    )


def all_hospitals() -> str:
    """Name the pool."""
    return "All hospitals"


def humps_grid_title() -> str:
    """Title the table of humps."""
    return "Humps and troughs"


def humps_heads() -> tuple[str, ...]:
    """Head the table of humps."""
    return ("Hospital", "Groins", "Humps (years)", "Troughs (years)")


def ages_listed(ages: Sequence[tuple[float, float, float]]) -> str:
    """List ages with limits in a cell: ``0.7 (0.6–0.9); 71.2 (70.1–72.4)``."""
    told = [age(at) if math.isnan(low) else f"{age(at)} ({interval(low, high)})" for at, low, high in ages]
    return "; ".join(told) or "none"
