"""What an estimate says when it is printed: one sentence each."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .numbers import age, count, interval, listed, number, p_value, percent


def proportion(
    share: float, low: float, high: float, events: float, total: float, level: float, one_sided: bool = False
) -> str:
    """Write a share with its limits and counts: ``6.0% (95% CI 3.7–9.5%; 16 of 267)``."""
    counted = f"{events:,.10g} of {total:,.10g}"
    if one_sided:
        return f"{percent(share)} (one-sided {level:.0%} upper limit {percent(high, 2)}; {counted})"
    return f"{percent(share)} ({level:.0%} CI {number(100 * low)}–{percent(high)}; {counted})"


def share_difference(difference: float, low: float, high: float, level: float) -> str:
    """Write a difference of two shares in points: ``20.0 points (95% CI 5.2 to 33.4)``."""
    return f"{number(100 * difference)} points ({level:.0%} CI {number(100 * low)} to {number(100 * high)})"


def dip(statistic: float, p: float, n: int) -> str:
    """Write a dip test: ``Dip 0.0924 of 272 cases (p < 0.001)``."""
    return f"Dip {statistic:.4f} of {count(n, 'case')} ({p_value(p)} against one hump)"


def rate(value: float, low: float, high: float, level: float) -> str:
    """Write a rate: ``56.3 per 100,000 person-years (95% CI 50.9–62.2)``."""
    return f"{number(value)} per 100,000 person-years ({level:.0%} CI {interval(low, high)})"


def standardised_rate(value: float, low: float, high: float, level: float) -> str:
    """Write a directly standardised rate with its limits."""
    return f"{rate(value, low, high, level)}, directly standardised"


def humps(ages: Sequence[float], troughs: Sequence[float], unit: str = "years") -> str:
    """Write where the humps of the ages are: ``Two humps, at 0.4 and 71.2 years, with a trough at 14.8``."""
    if not ages:
        return "No hump"
    infant = unit == "years" and ages[0] < 1
    later = [age(a) for a in (ages[1:] if infant else ages)]
    where = listed(["in the first year of life"] * infant + ([f"at {listed(later)} {unit}"] if later else []))
    if len(ages) == 1:
        return f"One hump, {where}"
    many = {2: "Two", 3: "Three", 4: "Four", 5: "Five"}.get(len(ages), str(len(ages)))
    trough = "a trough" if len(troughs) == 1 else "troughs"
    return f"{many} humps, {where}, with {trough} at {listed([age(a) for a in troughs])}"


def silverman(modes: int, bandwidth: float, p: float) -> str:
    """Write Silverman's test: ``More than 1 hump? Critical bandwidth 2.40 (p = 0.080)``."""
    return f"More than {count(modes, 'hump')}? Critical bandwidth {number(bandwidth, 2)} ({p_value(p)})"


def curve(cases: float, direct: float, hospitals: int, edf: float) -> str:
    """Write what a smooth curve rests on."""
    where = count(hospitals, "hospital")
    return (
        f"Smooth curve of the direct share by age with {number(edf)} effective degrees of freedom "
        f"({count(round(direct))} direct of {count(round(cases), 'case')}, {where})"
    )


def band(kind: str, level: float, critical: float) -> str:
    """Write what a band covers: ``95% simultaneous band, 2.91 standard errors either side on the logit``."""
    return f"{level:.0%} {kind} band, {number(critical, 2)} standard errors either side on the logit"


def steepest(
    at: float, limits: tuple[float, float], points: float, points_limits: tuple[float, float], level: float
) -> str:
    """Write the age of the steepest growth, in points a year."""
    return (
        f"Steepest at {age(at)} ({level:.0%} CI {interval(*limits)}): "
        f"+{number(points, 2)} points a year ({number(points_limits[0], 2)} to {number(points_limits[1], 2)})"
        if points >= 0
        else f"Falls least at {age(at)} ({level:.0%} CI {interval(*limits)}): {number(points, 2)} points a year"
    )


def isotonic(youngest: float, oldest: float, steps: int) -> str:
    """Write a share that never falls."""
    return f"Share that never falls, from {percent(youngest)} to {percent(oldest)} in {count(steps, 'level')}"


def crossing(
    threshold: float, at: float, limits: tuple[float, float], level: float, lowest: float, highest: float
) -> str:
    """Write when the direct share first reaches a threshold; not reaching it is an answer."""
    share = percent(threshold, 0 if round(100 * threshold, 6) == round(100 * threshold) else 1)
    if math.isinf(at):
        told = f"The direct share does not reach {share} by {age(highest, 0)}"
        if at < 0:
            told = (
                f"The direct share is {share} or more already at age {age(lowest, 0)}, the youngest age told"
            )
    else:
        told = f"The direct share reaches {share} at {age(at)} years"
    if math.isnan(limits[0]) or math.isnan(limits[1]):
        return told
    low, high = limits
    if low == high:
        span = f"{level:.0%} CI: likewise"
    elif math.isinf(low) and math.isinf(high) and low < high:
        span = f"{level:.0%} CI: any age from {age(lowest, 0)} to {age(highest, 0)}, or none of them"
    elif math.isinf(high):
        span = f"{level:.0%} CI {age(low)} or later, or not by {age(highest, 0)}"
    elif math.isinf(low):
        span = f"{level:.0%} CI: at {age(high)} years at the latest; how early cannot be told, the ages begin at {age(lowest, 0)}"
    else:
        span = f"{level:.0%} CI {interval(low, high)}"
    return f"{told} ({span})"


def bootstrap(replicates: int, patients: float, audited: int, mismatches: int, undecided: int = 0) -> str:
    """Write how many replicates there were, and how many of those audited missed the global maximum."""
    drawn = f"{count(replicates, 'bootstrap replicate')} over {count(round(patients), 'patient')}"
    if audited == 0:
        return f"{drawn}, none audited"
    left = f", {undecided:,} undecided" if undecided else ""
    return (
        f"{drawn}; {audited:,} audited for the global maximum, "
        f"{count(mismatches, 'mismatch', 'mismatches')} ({percent(mismatches / audited)}){left}"
    )


def shape(turns: Sequence[float], changes: Sequence[float]) -> str:
    """Write a simulated shape's turns: ``Turns up at 14.0, down at 18.5 and up at 40.0 years``."""
    if not turns:
        return "No turn"
    told = [
        f"{'up' if change > 0 else 'down'} at {age(turn)}"
        for turn, change in zip(turns, changes, strict=True)
    ]
    return f"{'Turn' if len(turns) == 1 else 'Turns'} {listed(told)} years"


def simulated(groins: int, direct: int) -> str:
    """Write how many groins were simulated and how many of them are direct."""
    return f"{count(groins, 'simulated groin')}, {direct:,} of them direct"


def found_turn(sign: int, at: float, stretches: Sequence[tuple[float, float]], level: float) -> str:
    """Write one turn alone: ``Turn up at 14.6 years (95% CI 13.1–16.0)``."""
    told = f"Turn {'up' if sign > 0 else 'down'} at {age(at)} years"
    if not stretches:
        return told
    spans = " or ".join(interval(low, high) for low, high in stretches)
    return f"{told} ({level:.0%} CI {spans})"


def unidentified_turn(sign: int, at: float) -> str:
    """Write a turn that cannot be told from none."""
    return f"Turn {'up' if sign > 0 else 'down'} best at {age(at)} years, but not identified"


def hinge_fit(turns: Sequence[str], climbs: Sequence[str], directs: int, total: float, rates: bool) -> str:
    """Write a hinge fit: what it rests on, its turns, and the slope of each stretch."""
    seen = (
        f"{count(directs, 'event')} in {number(total, 0)} person-years"
        if rates
        else f"{count(directs, 'direct hernia')} of {count(round(total), 'groin')}"
    )
    head = listed([*turns[:1], *(turn[0].lower() + turn[1:] for turn in turns[1:])]) or "No turn"
    return " ".join([f"{head}; {seen}.", *climbs])


def certificate(gap: float, boxes: int, method: str, proven: bool) -> str:
    """Write what is proved of a maximum: ``proved to 1e-06 of log-likelihood over 904 sets of turns``."""
    if not proven:
        return f"not proved: {method}"
    within = "0.000001" if gap <= 1e-6 else number(gap, 4)
    return f"proved: no other turns do better by {within} of log-likelihood ({count(boxes, 'set')} of turns bounded)"


def chosen_turns(by_bic: int, by_test: int, tested: bool) -> str:
    """Say how many turns were chosen, and whether the bootstrap test says the same."""
    told = f"The criterion chooses {count(by_bic, 'turn')}"
    if not tested:
        return f"{told}."
    if by_bic == by_test:
        return f"{told}, and so does the bootstrap test."
    return f"{told}, the bootstrap test {by_test}: they disagree."


def random_intercepts(
    hospitals: int,
    spread: float,
    limits: tuple[float, float],
    level: float,
    directs: int,
    groins: int,
    climbs: Sequence[str],
) -> str:
    """Write a fit with random hospital intercepts: how much hospitals differ, what it rests on, its slopes."""
    differ = (
        "do not differ beyond chance"
        if spread == 0
        else f"differ by a standard deviation of {number(spread, 2)} on the logit"
    )
    told = f"{count(hospitals, 'hospital')} {differ} ({level:.0%} CI {interval(*limits, 2)})"
    seen = f"{count(directs, 'direct hernia')} of {count(groins, 'groin')}"
    return " ".join([f"{told}; {seen}.", *climbs])
