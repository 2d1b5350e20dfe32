"""Events, and from them groins, needed to show that two risks over time differ (log-rank).

A hazard ratio and a risk at some years come in, with accrual and follow-up; a `Size` goes out. Events by
Schoenfeld (Biometrika 1981;68:316; Biometrics 1983;39:499); the chance of an event by exponential hazards
under uniform accrual (Lachin & Foulkes, Biometrics 1986;42:507).
"""

from __future__ import annotations

import math

from scipy.special import ndtr

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.size_parts import (
    NOTHING,
    Allowance,
    Size,
    checked_positive,
    checked_share,
    checked_test,
    two_arms,
)
from hingeline.estimates.size_shares import given_size


def schoenfeld_events(
    hazard_ratio: float, *, power: float = 0.8, level: float = 0.95, ratio: float = 1.0
) -> float:
    """Events needed in both arms together: (z + z)² / (π₁π₂ (log HR)²).

    Raises
    ------
    HingelineError
        When the ratio of hazards is 1 or not above 0, or power, level or ratio is impossible.
    """
    z_test, z_power = checked_test(power, level, ratio)
    return (z_test + z_power) ** 2 / _information(hazard_ratio, ratio)


def chance_of_event(
    hazard: float, accrual_years: float, follow_up_years: float, lost_hazard: float = 0.0
) -> float:
    """Chance that a groin's event is seen: entry uniform over accrual, then at least the follow-up.

    Parameters
    ----------
    hazard : float
        Of the event, a year.
    accrual_years, follow_up_years : float
        Years over which groins enter, and years after the last has entered; their sum above 0.
    lost_hazard : float
        Of being lost, a year.
    """
    both = hazard + lost_hazard
    # share not yet gone at the end, averaged over the moments of entry
    left = math.exp(-both * follow_up_years)
    if both * accrual_years > 1e-12:
        left *= -math.expm1(-both * accrual_years) / (both * accrual_years)
    return hazard / both * (1 - left)


def size_log_rank(
    hazard_ratio: float,
    risk: float,
    risk_years: float,
    *,
    accrual_years: float,
    follow_up_years: float,
    lost_a_year: float = 0.0,
    power: float = 0.8,
    level: float = 0.95,
    ratio: float = 1.0,
    allow: Allowance = NOTHING,
) -> Size:
    """Groins needed to show by the log-rank test that two risks over time differ.

    Parameters
    ----------
    hazard_ratio : float
        Of the first arm to the second.
    risk, risk_years : float
        Share of the second arm with the event by so many years.
    accrual_years, follow_up_years : float
        Years over which groins enter, and years after the last has entered.
    lost_a_year : float
        Share lost to follow-up each year; those give their time until then. ``allow.lost`` are those who
        give none at all.
    power, level, ratio, allow
        As in `size_two_proportions`; ``ratio`` is of the second arm for each of the first.

    Raises
    ------
    HingelineError
        When an assumption is impossible.
    """
    events = schoenfeld_events(hazard_ratio, power=power, level=level, ratio=ratio)
    chances = _chances(hazard_ratio, risk, risk_years, accrual_years, follow_up_years, lost_a_year)
    first = events / (chances[0] + ratio * chances[1])
    return two_arms(
        "log-rank",
        first,
        ratio,
        allow,
        events=events,
        power=power,
        level=level,
        assumptions=_assumed(
            hazard_ratio, risk, risk_years, accrual_years, follow_up_years, lost_a_year, ratio
        ),
        method=wording.size_method_log_rank(),
        told=wording.size_for_log_rank(
            hazard_ratio, risk, risk_years, accrual_years, follow_up_years, lost_a_year, power, level
        ),
    )


def power_log_rank(
    hazard_ratio: float,
    risk: float,
    risk_years: float,
    groins: float,
    *,
    accrual_years: float,
    follow_up_years: float,
    lost_a_year: float = 0.0,
    level: float = 0.95,
    ratio: float = 1.0,
    allow: Allowance = NOTHING,
) -> Size:
    """Chance that so many groins enrolled in the first arm (``ratio`` times as many in the second) show it."""
    z_test, _ = checked_test(0.5, level, ratio)
    information = _information(hazard_ratio, ratio)
    chances = _chances(hazard_ratio, risk, risk_years, accrual_years, follow_up_years, lost_a_year)
    n = allow.effective(checked_positive(groins, "groins", "Give the groins enrolled in the first arm"))
    events = n * (chances[0] + ratio * chances[1])
    return given_size(
        "log-rank",
        groins,
        ratio,
        allow,
        power=float(ndtr(math.sqrt(events * information) - z_test)),
        level=level,
        events=events,
        assumptions=_assumed(
            hazard_ratio, risk, risk_years, accrual_years, follow_up_years, lost_a_year, ratio
        ),
        method=wording.size_method_log_rank(),
        told=wording.power_for_log_rank(hazard_ratio, risk, risk_years, level),
    )


def _information(hazard_ratio: float, ratio: float) -> float:
    checked_positive(hazard_ratio, "hazard_ratio", "Give a ratio of hazards above 0, such as 0.5")
    if hazard_ratio == 1:
        raise HingelineError(
            "A hazard ratio of 1 is no difference to show", "hazard_ratio", "Give another, such as 0.5"
        )
    part = 1 / (1 + ratio)
    return part * (1 - part) * math.log(hazard_ratio) ** 2


def _chances(
    hazard_ratio: float,
    risk: float,
    risk_years: float,
    accrual_years: float,
    follow_up_years: float,
    lost_a_year: float,
) -> tuple[float, float]:
    """Chance of an event in each arm."""
    checked_share(risk, "risk")
    checked_positive(risk_years, "risk_years", "Give the years by which the risk is reached, above 0")
    for name, value in (("accrual_years", accrual_years), ("follow_up_years", follow_up_years)):
        if not (math.isfinite(value) and value >= 0):
            raise HingelineError(f"{name} is {value:g}", name, "Give years of 0 or more")
    if accrual_years + follow_up_years <= 0:
        raise HingelineError(
            "No one would be followed", "accrual_years, follow_up_years", "Give some years to one of them"
        )
    checked_share(lost_a_year, "lost_a_year", lowest=0.0)
    hazard = -math.log1p(-risk) / risk_years
    lost = -math.log1p(-lost_a_year)
    return (
        chance_of_event(hazard * hazard_ratio, accrual_years, follow_up_years, lost),
        chance_of_event(hazard, accrual_years, follow_up_years, lost),
    )


def _assumed(
    hazard_ratio: float,
    risk: float,
    risk_years: float,
    accrual_years: float,
    follow_up_years: float,
    lost_a_year: float,
    ratio: float,
) -> tuple[tuple[str, float], ...]:
    return (
        ("hazard_ratio", hazard_ratio),
        ("risk", risk),
        ("risk_years", risk_years),
        ("accrual_years", accrual_years),
        ("follow_up_years", follow_up_years),
        ("lost_a_year", lost_a_year),
        ("ratio", ratio),
    )
