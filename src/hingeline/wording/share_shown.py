"""Titles, heads, cells, labels and captions of the tables and pictures of the direct share."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import (
    age,
    count,
    interval,
    listed,
    percent,
    share_limits,
    threshold_cell,
)
from .trade import who


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
        return f"{told} (at {age(high)} at the latest)"
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
