"""Sentences on the size of the next study, fit for a protocol."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import age, count, listed, number, percent


def size_for_shares(first: float, second: float, power: float, level: float) -> str:
    """Write what is to be shown of two shares."""
    return (
        f"To show with a power of {percent(power, 0)} that {_share(first)} and {_share(second)} differ "
        f"(two-sided test at {percent(1 - level, 0)})"
    )


def size_for_as_good(new: float, standard: float, margin: float, power: float, level: float) -> str:
    """Write what is to be shown of a share that must not be worse by more than a margin."""
    return (
        f"To show with a power of {percent(power, 0)} that the new repair is not worse by more than "
        f"{points(margin)}, when {_share(new)} after it and {_share(standard)} after the standard one recur "
        f"(upper limit of the {percent(level, 0)} interval under the margin)"
    )


def size_for_log_rank(
    hazard_ratio: float,
    risk: float,
    risk_years: float,
    accrual_years: float,
    follow_up_years: float,
    lost_a_year: float,
    power: float,
    level: float,
) -> str:
    """Write what is to be shown of two risks over time."""
    lost = f", {percent(lost_a_year)} a year lost to follow-up" if lost_a_year else ""
    return (
        f"To show with a power of {percent(power, 0)} that a hazard ratio of {number(hazard_ratio, 2)} is not 1, "
        f"when {_share(risk)} of the comparison recur by {_years(risk_years)} and groins enter over "
        f"{_years(accrual_years)} and are followed for {_years(follow_up_years)} more{lost} "
        f"(log-rank, two-sided at {percent(1 - level, 0)})"
    )


def size_for_share(
    share: float, half_width: float, level: float, assurance: float | None, low: float, high: float
) -> str:
    """Write what is to be known of one share."""
    sure = "" if assurance is None else f" with a chance of {percent(assurance, 0)}"
    return (
        f"To know a share of about {_share(share)} to within {points(half_width)} either side{sure} "
        f"({percent(level, 0)} interval by Wilson, here {number(100 * low)}–{percent(high)})"
    )


def size_in_arms(
    told: str,
    arms: Sequence[int],
    events: float,
    lost: float,
    design_effect: float,
    total: int,
    patients: int,
) -> str:
    """Write the answer for two arms: what is needed of each, and what is to be enrolled."""
    first, second = arms
    needed = (
        f"{count(first, 'groin')} an arm are needed"
        if first == second
        else f"{count(first, 'groin')} in the first arm and {second:,} in the second are needed"
    )
    seen = "" if math.isnan(events) else f", with about {_events(events)} in all"
    return f"{told}, {needed}{seen}; {_enrolled(lost, design_effect, total, patients, first + second)}."


def size_in_all(
    told: str, analysed: int, lost: float, design_effect: float, total: int, patients: int
) -> str:
    """Write the answer where there are no arms."""
    return (
        f"{told}, {count(analysed, 'groin')} are needed; "
        f"{_enrolled(lost, design_effect, total, patients, analysed)}."
    )


def power_for_shares(first: float, second: float, level: float) -> str:
    """Write what a given size may show of two shares."""
    return f"that {_share(first)} and {_share(second)} differ (two-sided test at {percent(1 - level, 0)})"


def power_for_as_good(new: float, standard: float, margin: float, level: float) -> str:
    """Write what a given size may show of a share with a margin."""
    return (
        f"that the new repair is not worse by more than {points(margin)}, when {_share(new)} after it and "
        f"{_share(standard)} after the standard one recur (upper limit of the {percent(level, 0)} interval "
        "under the margin)"
    )


def power_for_log_rank(hazard_ratio: float, risk: float, risk_years: float, level: float) -> str:
    """Write what a given size may show of two risks over time."""
    return (
        f"that a hazard ratio of {number(hazard_ratio, 2)} is not 1, when {_share(risk)} of the comparison recur "
        f"by {_years(risk_years)} (log-rank, two-sided at {percent(1 - level, 0)})"
    )


def power_told(told: str, enrolled: Sequence[int], power: float, lost: float, design_effect: float) -> str:
    """Write the power of a given size."""
    first, second = enrolled
    arms = (
        f"{count(first, 'groin')} enrolled an arm"
        if first == second
        else f"{count(first, 'groin')} enrolled in the first arm and {second:,} in the second"
    )
    allowed = _allowed(lost, design_effect)
    after = f", after {allowed}," if allowed else ""
    return f"{arms}{after} have a power of {percent(power)} to show {told}."


def size_turn_sought(turn_age: float, sign: int) -> str:
    """Write which turn is sought."""
    return f"the turn {'up' if sign > 0 else 'down'} at {age(turn_age)} years"


def size_crossing_sought(threshold: float, crossing_age: float) -> str:
    """Write which crossing is sought."""
    return f"the age at which the direct share reaches {_share(threshold)} (here {age(crossing_age)} years)"


def size_for_age(
    about: str,
    half_width: float,
    level: float,
    analysed: int,
    lost: float,
    total: int,
    patients: int,
    error: tuple[float, float],
    studies: int,
    chosen: float,
) -> str:
    """Write how many groins find an age, with the simulation error and how often the turn is chosen at all."""
    untyped = f"; allowing for {percent(lost, 0)} whose type stays unknown, {total:,} in all" if lost else ""
    people = "" if patients == total else f" ({count(patients, 'patient')})"
    return (
        f"To find {about} to within {_years(half_width)} either side in {percent(level, 0)} of studies, "
        f"{count(analysed, 'groin')} are needed{untyped}{people}; {_simulated(error, 0, studies)} in all."
        f"{_chosen(chosen)}"
    )


def precision_for_age(
    about: str,
    half_width: float,
    level: float,
    groins: int,
    lost: float,
    error: tuple[float, float],
    studies: int,
    chosen: float,
) -> str:
    """Write to within how many years so many groins find an age."""
    untyped = f", {percent(lost, 0)} of them of unknown type," if lost else ""
    if math.isinf(half_width):
        return (
            f"{count(groins, 'groin')} enrolled{untyped} do not find {about} in {percent(level, 0)} of studies."
            f"{_chosen(chosen)}"
        )
    return (
        f"{count(groins, 'groin')} enrolled{untyped} find {about} to within {number(half_width, 2)} years either "
        f"side in {percent(level, 0)} of studies; {_simulated(error, 2, studies)} years.{_chosen(chosen)}"
    )


def _simulated(error: tuple[float, float], digits: int, studies: int) -> str:
    high = "any number of" if math.isinf(error[1]) else number(error[1], digits)
    return (
        f"by {count(studies, 'simulated study', 'simulated studies')} of each size, whose chance error (95%) leaves "
        f"{number(error[0], digits)} to {high}"
    )


def _chosen(chosen: float) -> str:
    if math.isnan(chosen):
        return ""
    return f" The criterion would choose so many turns in {percent(chosen, 0)} of such studies."


def size_method_shares(variance: str) -> str:
    """Write the method for two shares."""
    kind = {
        "pooled": "pooled variance under no difference",
        "unpooled": "unpooled variance",
        "corrected": "pooled variance, continuity-corrected",
    }[variance]
    return f"normal approximation, {kind}"


def size_method_as_good() -> str:
    """Write the method for a share with a margin."""
    return "Farrington–Manning score test"


def size_method_log_rank() -> str:
    """Write the method for two risks over time."""
    return "Schoenfeld's events; exponential hazards, uniform accrual"


def size_method_share() -> str:
    """Write the method for one share."""
    return "half-width of Wilson's interval"


def size_method_simulated(studies: int) -> str:
    """Write the method for a turn or a crossing."""
    return f"{count(studies, 'simulated study', 'simulated studies')} of each size, refitted; bisection over sizes"


def points(share: float) -> str:
    """Write a difference of shares in points: ``2 points``, ``1 point``, ``1.5 points``."""
    value = 100 * share
    text = number(value, 0 if abs(value - round(value)) < 1e-9 else 2 if value < 1 else 1)
    return f"{text} {'point' if text == '1' else 'points'}"


def _enrolled(lost: float, design_effect: float, total: int, patients: int, analysed: int) -> str:
    allowed = _allowed(lost, design_effect)
    people = "" if patients == total else f" ({count(patients, 'patient')})"
    if allowed:
        return f"allowing for {allowed}, {total:,} in all{people}"
    return f"{total:,} in all{people}, no one being lost and every groin on its own"


def _allowed(lost: float, design_effect: float) -> str:
    parts = []
    if lost:
        parts.append(f"{percent(lost, 0 if abs(100 * lost - round(100 * lost)) < 1e-9 else 1)} lost")
    if design_effect != 1:
        parts.append(f"likeness within patients and hospitals (design effect {number(design_effect, 2)})")
    return listed(parts)


def _events(events: float) -> str:
    return f"{number(events, 0 if events >= 100 else 1)} events"


def _share(share: float) -> str:
    value = 100 * share
    return percent(share, 0 if abs(value - round(value)) < 1e-9 else 1 if value >= 1 else 2)


def _years(years: float) -> str:
    text = number(years, 0 if years == round(years) else 1)
    return f"{text} {'year' if text == '1' else 'years'}"


def size_option(name: str) -> str:
    """Write an assumption's option on the command line."""
    return f"--{name.replace('_', '-')}"


def size_assumption(name: str, kind: str) -> str:
    """Write what a table of sizes changes, with its unit."""
    return {
        "first": "recurrence after the new repair, %",
        "margin": "margin, points",
        "risk": "recurrence after the standard repair, %",
        "half_width": "within, years" if kind in ("turn", "crossing") else "within, points",
    }[name]


def size_series(kind: str) -> str:
    """Write what the line of a picture of sizes stands for."""
    return {
        "shares": "groins, two shares",
        "as-good": "groins, not worse by more than the margin",
        "log-rank": "groins, log-rank",
        "share": "groins, one share",
        "turn": "groins, turn",
        "crossing": "groins, crossing",
    }[kind]


def size_simulating() -> str:
    """Say what is being done."""
    return "simulating studies"


def size_counted(power: float) -> str:
    """Write what is counted against an assumption; the power is nan where there is none."""
    return (
        "Groins to enrol, in all"
        if math.isnan(power)
        else f"Groins to enrol, in all; power {percent(power, 0)}"
    )


def size_chosen(total: int, power: float, line: float) -> str:
    """Label the answer in the picture: its size, and its power where that is not the line's."""
    apart = not (math.isnan(power) or math.isnan(line)) and abs(power - line) > 0.005
    return f"{count(total)}, power {percent(power, 0)}" if apart else count(total)


def size_table(assumption: str, rows: Sequence[tuple[float, int | None]], power: float) -> str:
    """Write sizes against an assumption, as lines; the power is that of the sizes, nan where there is none."""
    column = "groins in all" if math.isnan(power) else f"groins in all, power {percent(power, 0)}"
    shown = [(number(value, 2), "none suffices" if size is None else f"{size:,}") for value, size in rows]
    left = max([len(assumption), *(len(value) for value, _ in shown)])
    head = f"{assumption:>{left}}   {column}"
    return "\n".join([head, *(f"{value:>{left}}   {size:>{len(column)}}" for value, size in shown)])


def size_title() -> str:
    """Write the title of a picture of sizes."""
    return "Size of the next study"


def size_alt(assumption: str, total: int) -> str:
    """Describe a picture of sizes for those who cannot see it."""
    return f"A line of the groins needed against {assumption}; at what is assumed, {count(total, 'groin')} in all."


def size_caption(sentence: str) -> str:
    """Write the note under a picture of sizes."""
    return sentence
