"""What follow-up says when it is told: one sentence an estimate, and the warnings that go with a risk."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import count, interval, listed, number, p_value, percent


def _whole(value: float, one: str, many: str = "") -> str:
    return count(round(value), one, many)


def _limits(low: float, high: float, level: float) -> str:
    return f"{level:.0%} CI {number(100 * low)}–{percent(high)}"


def followup_years(years: float) -> str:
    """Write a span of follow-up: ``5 years``, ``1 year``, ``4.7 years``."""
    if math.isinf(years):
        return "not reached"
    whole = abs(years - round(years)) < 0.005
    return count(round(years), "year") if whole else f"{number(years)} years"


def followup_risk(
    risk: float,
    low: float,
    high: float,
    years: float,
    at_risk: float,
    events: float,
    level: float,
    warning: str,
) -> str:
    """Write a risk by a horizon with its limits and what it rests on."""
    text = (
        f"{percent(risk)} by {followup_years(years)} ({_limits(low, high, level)}; {_whole(events, 'event')}, "
        f"{count(round(at_risk))} still followed)"
    )
    return f"{text}. {warning}" if warning else text


def followup_beyond(years: float, last: float) -> str:
    """Say that a horizon lies beyond the last day of follow-up."""
    return (
        f"Nobody was followed for {followup_years(years)}: this is the risk at the last day of follow-up, "
        f"{followup_years(last)}."
    )


def followup_few_left(left: float, least: int) -> str:
    """Say that few remain at a horizon."""
    return f"Only {count(round(left))} still followed there, fewer than {least}: read with care."


def followup_curve(
    groins: float, events: float, years: float, risk: float, low: float, high: float, level: float
) -> str:
    """Write what a Kaplan–Meier curve rests on and where it ends."""
    return (
        f"{_whole(events, 'event')} in {_whole(groins, 'groin')}; risk at the end of follow-up "
        f"({followup_years(years)}) {percent(risk)} ({_limits(low, high, level)}), Kaplan–Meier"
    )


def followup_incidence(
    groins: float, events: float, deaths: float, years: float, risk: float, died: float
) -> str:
    """Write what an Aalen–Johansen curve rests on and where it ends."""
    return (
        f"{_whole(events, 'event')} and {_whole(deaths, 'competing event')} in {_whole(groins, 'groin')}; by the end of "
        f"follow-up ({followup_years(years)}) {percent(risk)} and {percent(died)}, Aalen–Johansen"
    )


def followup_length(median: float, low: float, high: float, groins: float, level: float) -> str:
    """Write how long groins were followed."""
    middle = "not reached" if math.isinf(median) else f"{number(median)} years"
    return f"Median follow-up {middle} ({level:.0%} CI {_span(low, high)}; {_whole(groins, 'groin')}, reverse Kaplan–Meier)"


def _span(low: float, high: float) -> str:
    if math.isinf(low):
        return "not reached"
    return f"{number(low)} to {'not reached' if math.isinf(high) else number(high)}"


def followup_rate(
    value: float, low: float, high: float, events: float, years: float, per: float, level: float
) -> str:
    """Write a rate by person-years with exact limits."""
    return (
        f"{number(value, 2)} per {count(round(per))} person-years ({level:.0%} CI {interval(low, high, 2)}; "
        f"{_whole(events, 'event')} in {number(years, 0)} person-years)"
    )


def followup_log_rank(chi2: float, df: int, p: float, groups: Sequence[str], robust: bool) -> str:
    """Write a log-rank test."""
    kind = "Log-rank test, robust over patients" if robust else "Log-rank test"
    return (
        f"{kind}, of {listed(groups)}: χ² {number(chi2, 2)}, {count(df, 'degree')} of freedom, {p_value(p)}"
    )


def followup_interval_risk(low: float, high: float, years: float) -> str:
    """Write a risk of interval-censored events by a horizon, which may be a stretch."""
    if high - low < 5e-4:
        return f"{percent(high)} by {followup_years(years)}"
    return f"between {number(100 * low)} and {percent(high)} by {followup_years(years)}: the visits do not tell more"


def followup_interval_curve(groins: float, found: float, steps: int, gap: float) -> str:
    """Write what a curve of interval-censored events rests on."""
    return (
        f"{_whole(found, 'event')} found between two days, in {_whole(groins, 'groin')}; Turnbull's curve with "
        f"{count(steps, 'step')}, log-likelihood within {gap:.1g} of its maximum"
    )


def followup_hazard(name: str, ratio: float, low: float, high: float, p: float, level: float) -> str:
    """Write one hazard ratio."""
    if ratio == 0 or math.isinf(ratio):
        side = "no event on one side" if ratio == 0 else "every event on one side"
        told = f"{number(high, 2)} or less" if ratio == 0 else f"{number(low, 2)} or more"
        return f"{name}: hazard ratio {'0' if ratio == 0 else '∞'} ({side}; {level:.0%} CI {told})"
    return f"{name}: hazard ratio {number(ratio, 2)} ({level:.0%} CI {interval(low, high, 2)}; {p_value(p)})"


def followup_cox(groins: float, events: float, ties: str, told: Sequence[str]) -> str:
    """Write a Cox model: what it rests on, then its hazard ratios."""
    way = {"efron": "Efron's", "breslow": "Breslow's"}[ties]
    return f"Cox model, {_whole(events, 'event')} in {_whole(groins, 'groin')}, ties by {way} way. {'; '.join(told)}"


def followup_proportional(names: Sequence[str], p: Sequence[float], overall: float) -> str:
    """Write a test of proportional hazards."""
    each = listed([f"{name} {p_value(one)}" for name, one in zip(names, p, strict=True)])
    return f"Proportional hazards: {p_value(overall)} overall ({each})"
