"""Words on the direct share by age: turns, crossings, slopes, and how they were computed."""

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
from .trade import who


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


def turn_label(
    place: int, sign: int, at: float, stretches: Sequence[tuple[float, float]], identified: bool
) -> str:
    """Label a turn in a picture: ``Turn 1, faster from 14.2 years (12.9–15.6)``."""
    spans = " or ".join(interval(low, high) for low, high in stretches)
    doubt = "" if identified else ", not identified"
    return f"Turn {place}, {'faster' if sign > 0 else 'slower'} from {age(at)} years ({spans}){doubt}"


def turn_cell(
    place: int, sign: int, at: float, stretches: Sequence[tuple[float, float]], identified: bool
) -> str:
    """Write a turn in a table."""
    return turn_label(place, sign, at, stretches, identified)


def youngest(at: float) -> str:
    """Name the start of the first stretch."""
    return "from the youngest age"


def turn_grid_title() -> str:
    """Title the table of turns and slopes."""
    return "Turns, and how fast the share grows after each"


def turn_heads() -> tuple[str, ...]:
    """Head the table of turns."""
    return ("From", "Stretch (years)", "Odds multiply each year by", "Points a year")


def turn_note() -> str:
    """Note under the table of turns."""
    return (
        "Odds with 95% limits from redrawn patients, who move the turns too; "
        "points a year in the middle of the stretch."
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


def crossing_cell(at: float, low: float, high: float, highest: float) -> str:
    """Write a crossing in a table."""
    if at == math.inf:
        told = f"not reached by {age(highest, 0)}"
    elif at == -math.inf:
        told = "already at the youngest age"
    else:
        told = age(at)
    if low == high or math.isnan(low) or math.isnan(high):
        return told
    if math.isinf(high) and math.isinf(low):
        return f"{told} (open on both sides)"
    if math.isinf(high):
        return f"{told} ({age(low)} or later)"
    if math.isinf(low):
        return f"{told} ({age(high)} or earlier)"
    return f"{told} ({interval(low, high)})"


def crossing_label(threshold: float, at: float, low: float, high: float, highest: float) -> str:
    """Label a crossing in a picture: ``10% at 17.8 years (17.2–18.4)``."""
    if not math.isfinite(at):
        return f"{threshold_cell(threshold)} {crossing_cell(at, low, high, highest)}"
    told = crossing_cell(at, low, high, highest)
    return f"{threshold_cell(threshold)} at {told.replace(' (', ' years (', 1) if ' (' in told else told + ' years'}"


def crossing_grid_title() -> str:
    """Title the table of crossings."""
    return "Ages at which the share first reaches a threshold"


def crossing_heads() -> tuple[str, ...]:
    """Head the table of crossings."""
    return ("Threshold", "By the hinges (years)", "By the smooth curve (years)")


def crossing_note() -> str:
    """Note under the table of crossings."""
    return (
        "Share standardised to the mix of the hospitals with cases within 3 years of the crossing; 95% limits from "
        "the same redrawn patients."
    )


def crossing_estimand(threshold: float) -> str:
    """Say what a crossing is."""
    return f"first age at which the standardised direct share reaches {threshold_cell(threshold)}"


def crossing_method(by: str, limits: str) -> str:
    """Say how a crossing was found."""
    shape_ = "hinge fit" if by == "hinge" else "penalised B-spline on the logit, REML"
    return f"{shape_}, standardised to a fixed hospital mix; {limits}"


def number_grid_title() -> str:
    """Title the table of the number of turns."""
    return "How many turns"


def number_heads() -> tuple[str, ...]:
    """Head the table of the number of turns."""
    return ("Turns", "Log-likelihood", "BIC", "p against one more", "Chosen in samples")


def beside_title() -> str:
    """Title the table of other ways to count."""
    return "Beside the headline: other ways to count, all ages"


def beside_heads() -> tuple[str, ...]:
    """Head the table of other ways to count."""
    return ("Cases", "Groins", "Direct share (95% CI)")


def beside_headline() -> str:
    """Name the headline's way of counting."""
    return "headline"


def beside_all_reasons() -> str:
    """Name the count over all reasons."""
    return "all reasons for operation"


def beside_combined_out() -> str:
    """Name the count without combined hernias."""
    return "combined hernias left out"


def beside_combined_other(were_direct: bool) -> str:
    """Name the count with combined hernias on the other side."""
    return "combined hernias counted as indirect" if were_direct else "combined hernias counted as direct"


def beside_note() -> str:
    """Note under the table of other ways to count."""
    return "Wilson limits. Girls and women have too few direct hernias to be given turns of their own."


def share_cell(share: float, low: float, high: float) -> str:
    """Write a share with limits in a table."""
    return f"{percent(share)} ({share_limits(low, high)})"


def share_title(occurrence: str, sex: str) -> str:
    """Title the picture of the direct share."""
    return f"Direct share of {occurrence} inguinal hernias by age, {who(sex)}"


def share_alt(n: int, turns: Sequence[str], crossings: Sequence[str]) -> str:
    """Describe the picture of the direct share."""
    told = f"Direct share by age among {count(n, 'groin')}: points seen, smooth curve with band, hinge fit."
    if turns:
        told += f" {'; '.join(turns)}."
    return f"{told} Thresholds: {'; '.join(crossings)}."


def share_caption(level: float, replicates: int) -> str:
    """Caption the picture of the direct share."""
    return (
        f"Squares: shares seen, sized by groins, with Wilson limits. Curve: penalised spline with pointwise and "
        f"simultaneous {level:.0%} bands. Straight on the logit between turns: the hinge fit. Both are standardised, "
        "at each age, to the mix of the hospitals with cases within 3 years of it; each crossing to one fixed mix, its "
        f"limits from {count(replicates, 'sample')} of patients."
    )


def share_hospitals_title() -> str:
    """Title the small pictures of the share by hospital."""
    return "Direct share in each hospital"


def share_hospitals_alt(names: Sequence[str]) -> str:
    """Describe the small pictures of the share by hospital."""
    return (
        f"Direct share by age with the shared hinge fit, one small picture for each of {listed(list(names))}."
    )


def share_hospitals_caption(least: int) -> str:
    """Caption the small pictures of the share by hospital."""
    return (
        "One shape for all hospitals, each at its own level; a hospital that does not follow the line speaks "
        f"against the shape. At least {least} people in each point."
    )


def share_sexes_title() -> str:
    """Title the picture of the share by sex."""
    return "Direct share in each sex"


def share_sexes_alt() -> str:
    """Describe the picture of the share by sex."""
    return "Direct share by age, seen in boys and men and in girls and women, side by side."


def share_sexes_caption(least: int) -> str:
    """Caption the picture of the share by sex."""
    return f"Shares seen with Wilson limits; no fit is drawn here. At least {least} people in each point."


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


def models_title(threshold: float) -> str:
    """Title the table of other models."""
    return f"Models that assume less, or otherwise: the age at which the share reaches {threshold_cell(threshold)}"


def models_heads() -> tuple[str, ...]:
    """Head the table of other models."""
    return ("Model", "Age (years)", "What it says besides")


def models_note() -> str:
    """Note under the table of other models."""
    return (
        "A curve rounds corners and its answer depends on its smoothness; the share that never falls takes all hospitals "
        "together and has no interval here; random levels are averaged over the hospitals that might have been."
    )


def model_hinge() -> str:
    """Name the headline's model."""
    return "hinges, one fixed level a hospital"


def model_hinge_note() -> str:
    """Say that this is the headline."""
    return "the headline"


def model_curve() -> str:
    """Name the smooth curve."""
    return "smooth curve"


def model_isotonic() -> str:
    """Name the isotonic fit."""
    return "share that never falls"


def model_isotonic_note() -> str:
    """Say what the isotonic fit assumes."""
    return "no shape assumed but that it never falls (isotonic regression)"


def model_random() -> str:
    """Name the model with random hospital levels."""
    return "hinges, random hospital levels"


def steepest_estimand() -> str:
    """Say what the age of steepest growth is."""
    return "age at which the smooth curve of the direct share grows fastest"


def steepest_method() -> str:
    """Say how the age of steepest growth was found."""
    return "penalised B-spline on the logit, REML; limits by simulating its posterior (Wood 2011)"
