"""Sentences on the direct share by age: turns, crossings, slopes, how they were computed and what they cannot say."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import (
    CROSS_SECTION,
    OPERATED,
    age,
    count,
    interval,
    listed,
    number,
    percent,
    share_limits,
    threshold_cell,
)


def headline_cases(
    direct: int, total: int, low: float, high: float, who: str, hospitals: int, kinds: Sequence[str]
) -> str:
    """Say what the headline rests on."""
    return (
        f"Among {count(total)} {who} from {count(hospitals, 'hospital')}, {count(direct)} "
        f"({percent(direct / total)}; 95% CI {share_limits(low, high)}) were {listed_or(kinds)}."
        if total
        else f"There are no {who}."
    )


def listed_or(items: Sequence[str]) -> str:
    """Join words of which one holds: ``direct or combined``."""
    return f"{', '.join(items[:-1])} or {items[-1]}" if len(items) > 1 else "".join(items)


def turn(
    number_: int,
    sign: int,
    at: float,
    stretches: Sequence[tuple[float, float]],
    level: float,
    identified: bool = True,
) -> str:
    """Write a turn with its interval: ``turn 1, up: 14.6 years (95% CI 13.1–16.0)``."""
    if not identified:
        return f"turn {number_} fits best at {age(at)} years and cannot be told from no turn: it is not identified"
    way = "up" if sign > 0 else "down"
    spans = " or ".join(interval(low, high) for low, high in stretches) or "not known"
    return f"turn {number_}, {way}: {age(at)} years ({level:.0%} CI {spans})"


def first_turn_up(at: float, stretches: Sequence[tuple[float, float]], level: float) -> str:
    """Say where the direct share first begins to grow faster."""
    spans = " or ".join(interval(low, high) for low, high in stretches)
    return f"The direct share begins to climb faster at {age(at)} years ({level:.0%} CI {spans})."


def none_below(groins: int, at: float) -> str:
    """Say that no direct hernia was seen below an age, so that the share can only climb from there."""
    return (
        f"No direct hernia was seen among {count(groins, 'groin')} below {age(at)} years (one-sided 95% upper limit "
        f"{percent(1 - 0.05 ** (1 / groins))}); the share climbs from there."
    )


def no_turn_up() -> str:
    """Say that no upward turn was found."""
    return "The records show no age at which the direct share begins to climb faster."


def turn_not_identified(at: float) -> str:
    """Say that an upward turn cannot be told from none."""
    return (
        f"An upward turn of the direct share fits best at {age(at)} years, but these records cannot tell it from "
        "no turn: it is not identified."
    )


def climb(
    odds_per_year: float,
    points_per_year: float,
    since: float,
    until: float,
    low: float = math.nan,
    high: float = math.nan,
) -> str:
    """Tell a slope on both scales: odds a year, with limits where there are any, and points a year midway."""
    sign = "+" if points_per_year >= 0 else ""
    limits = "" if math.isnan(low) or math.isnan(high) else f" ({interval(low, high, 2)})"
    return (
        f"From {age(since)} to {age(until)} years the odds of a direct hernia multiply by "
        f"{number(odds_per_year, 2)}{limits} each year, {sign}{number(points_per_year)} points a year midway."
    )


def further_turns(told: Sequence[str]) -> str:
    """List the turns that follow the headline one."""
    return f"It climbs {listed(told)}." if told else ""


def further_turn(sign: int, at: float, stretches: Sequence[tuple[float, float]], identified: bool) -> str:
    """Write one further turn: ``faster from 40.1 (36.0–43.9)``; a turn down is slower, and need not be a fall."""
    spans = " or ".join(interval(low, high) for low, high in stretches)
    doubt = "" if identified else ", not identified"
    return f"{'faster' if sign > 0 else 'more slowly'} from {age(at)} years ({spans}{doubt})"


def crossing_by_curve(at: float, low: float, high: float) -> str:
    """Set the smooth curve's crossing beside the hinge's."""
    if not math.isfinite(at):
        return "The smooth curve, which assumes no bend, does not reach it."
    return f"The smooth curve, which assumes no bend, puts that at {age(at)} years ({interval(low, high)})."


def share_heading() -> str:
    """Head the part on the direct share."""
    return "The share of direct hernias by age"


def overall_estimand() -> str:
    """Say what the overall share is."""
    return "share of direct hernias among the headline cases of all ages"


def wilson_method() -> str:
    """Name Wilson's limits."""
    return "Wilson score limits (Wilson 1927; Newcombe 1998), groins taken as independent"


def turn_estimand(sign: int) -> str:
    """Say what a turn is."""
    return f"age at which the slope of the logit of the direct share turns {'up' if sign > 0 else 'down'}"


def turn_method() -> str:
    """Say how a turn and its interval were found."""
    return (
        "global maximum of the unpenalised profile likelihood with one intercept a hospital; likelihood-ratio "
        "inversion with a cut-off calibrated by parametric bootstrap"
    )


def slope_estimand(low: float, high: float) -> str:
    """Say what a slope is."""
    return f"factor by which the odds of a direct hernia multiply each year, from {age(low)} to {age(high)} years"


def slope_method() -> str:
    """Say how a slope was estimated."""
    return (
        "log-F(1,1)-penalised logistic slope given the turns (Greenland & Mansournia 2015); percentile limits over "
        "redrawn patients, turns included"
    )


def crossing_estimand(threshold: float) -> str:
    """Say what a crossing is."""
    return f"first age at which the standardised direct share reaches {threshold_cell(threshold)}"


def crossing_method(by: str, limits: str) -> str:
    """Say how a crossing was found."""
    shape_ = "hinge fit" if by == "hinge" else "penalised B-spline on the logit, REML"
    return f"{shape_}, standardised to a fixed hospital mix; {limits}"


def share_method(
    *,
    patients: int,
    simulated: int,
    audit: str,
    certificate: str,
    curve: str,
    perfect: bool,
) -> str:
    """Say how the direct share was estimated."""
    typing = (
        "Recorded types are taken as correct."
        if perfect
        else "Sensitivity and specificity of the recorded types enter the likelihood, as the protocol gives them."
    )
    return (
        "The logit of the direct share is a straight line of age with a level for each hospital and a slope that changes "
        "at each turn. Turns, their intervals and their number come from the unpenalised profile likelihood at its global "
        f"maximum ({certificate}); cut-offs of the intervals and tests of the number rest on {count(simulated)} simulated "
        "studies each, raised where the groins of one patient are alike (Rotnitzky & Jewell 1990). Slopes and shares given the turns carry a log-F(1,1) penalty (Greenland & Mansournia 2015). The "
        f"criterion (BIC; Schwarz 1978) counts {count(patients, 'patient')}, and each turn's age as a parameter. Limits of "
        f"crossings and slopes, the number of turns and the smoothness of the curve held: {audit}. {curve}. {typing}"
    )


def hand_over(young: float, old: float, spanning: Sequence[str]) -> str:
    """Say that patients pass between hospitals at the ages where the share may seem to turn.

    Parameters
    ----------
    young, old : float
        Ages at which general hospitals begin to take patients, and children's hospitals stop.
    spanning : sequence of str
        Hospitals that take patients through all of these ages.
    """
    only = (
        f"Only {listed(list(spanning))} {'takes' if len(spanning) == 1 else 'take'} patients through these ages."
        if spanning
        else "No hospital takes patients through these ages."
    )
    return (
        f"Between {age(young, 0)} and {age(old, 0)} years patients pass from children's to general hospitals; another way of "
        f"looking at the floor there would look like a climb. {only}"
    )


def share_cannot(rates: bool, handed_over: str) -> tuple[str, ...]:
    """List what the direct share cannot say."""
    told = [
        "A share among repairs is not a risk: it moves when indirect hernias become rarer as it does when direct ones "
        "become commoner.",
        OPERATED,
        CROSS_SECTION,
    ]
    if handed_over:
        told.append(handed_over)
    if not rates:
        told.append(
            "Without population denominators it cannot be known whether direct hernias rise or indirect ones fall at a "
            "turn."
        )
    told.append(
        "Who was typed, and how, differs by age and hospital; a floor that was not looked at hides direct hernias."
    )
    return tuple(told)


def steepest_estimand() -> str:
    """Say what the age of steepest growth is."""
    return "age at which the smooth curve of the direct share grows fastest"


def steepest_method() -> str:
    """Say how the age of steepest growth was found."""
    return "penalised B-spline on the logit, REML; limits by simulating its posterior (Wood 2011)"
