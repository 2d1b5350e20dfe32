"""From risks and redrawn risks to what is told of each arm and each two: limits, rare events, verdicts.

Under 5 events in an arm a bootstrap knows too little (of 0 events it gives [0, 0]), so score limits on the effective
number stand in its place: Wilson for a risk, Miettinen and Nurminen for a difference, Koopman for a ratio; and there
is a verdict only where the unweighted limits give the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from hingeline import wording
from hingeline.estimates.contrast_result import ArmRisk, PairRisk, Weights
from hingeline.estimates.contrast_rows import Array, ContrastRows
from hingeline.estimates.contrast_verdict import (
    CANNOT_TELL,
    e_value,
    non_inferiority,
    score_ratio,
    superiority,
    verdict_of,
)
from hingeline.estimates.contrast_weights import independent
from hingeline.estimates.patterns import percentile_interval
from hingeline.estimates.proportion import miettinen_nurminen, wilson_limits
from hingeline.vocabulary import DAYS_PER_YEAR

RARE: Final = 5
"""Under so many events in an arm the rules for rare events apply (design, section 6)."""


@dataclass(frozen=True)
class Told:
    """What arms and pairs are told from.

    Attributes
    ----------
    weight : array, shape (rows,)
    risk, crude : array, shape (arms, horizons)
        Weighted and unweighted.
    drawn : array, shape (replicates, arms, horizons)
    """

    rows: ContrastRows
    weight: Array
    risk: Array
    crude: Array
    drawn: Array
    horizons_years: tuple[float, ...]
    horizons_days: Array
    level: float
    least_at_risk: int


def tell_arms(told: Told) -> tuple[ArmRisk, ...]:
    """Each arm at each horizon."""
    return tuple(
        _arm(told, code, place)
        for code in range(len(told.rows.arms))
        for place in range(len(told.horizons_years))
    )


def tell_pairs(
    told: Told,
    arms: Sequence[ArmRisk],
    weights: Sequence[Weights],
    reference: int,
    margin: float,
    margin_by: str,
) -> tuple[PairRisk, ...]:
    """Each arm against the reference, then the others between themselves, at each horizon."""
    number = len(told.rows.arms)
    others = [code for code in range(number) if code != reference]
    pairs = [(code, reference) for code in others] + [(b, a) for a, b in combinations(others, 2)]
    horizons = len(told.horizons_years)
    return tuple(
        _pair(
            told,
            (first, second),
            place,
            (arms[first * horizons + place], arms[second * horizons + place]),
            [weights[first], weights[second]],
            margin,
            margin_by,
        )
        for first, second in pairs
        for place in range(horizons)
    )


def _arm(told: Told, code: int, place: int) -> ArmRisk:
    rows, days = told.rows, told.horizons_days[place]
    own = rows.arm == code
    followed, outcome, groins = rows.days[own], rows.outcome[own], rows.groins[own]
    by_then = followed <= days
    known = ~by_then | (outcome > 0) | (followed == days)
    events = float(groins[by_then & (outcome == 1)].sum())
    at_risk = float(groins[followed >= days].sum())
    n_known = float(groins[known].sum())
    of_known = own.copy()
    of_known[own] = known
    n_effective = independent(rows, of_known, told.weight)
    crude_effective = independent(rows, of_known, np.ones_like(told.weight))
    risk, crude = float(told.risk[code, place]), float(told.crude[code, place])
    warning = ""
    if followed.max() < days:
        risk = crude = np.nan
        warning = wording.contrast_warning_beyond(float(followed.max()) / DAYS_PER_YEAR)
    elif at_risk < told.least_at_risk:
        warning = wording.contrast_warning_few(round(at_risk))
    method = "score" if events < RARE else "bootstrap"
    if np.isnan(risk):
        low = high = crude_low = crude_high = np.nan
    else:
        crude_low, crude_high = _score(crude, crude_effective, told.level)
        if method == "score":
            low, high = _score(risk, n_effective, told.level)
        else:
            low, high = percentile_interval(told.drawn[:, code, place], told.level)
    return ArmRisk(
        arm=rows.arms[code],
        years=told.horizons_years[place],
        n=round(float(groins.sum())),
        events=round(events),
        known=round(n_known),
        effective_known=n_effective,
        crude_effective=crude_effective,
        at_risk=round(at_risk),
        risk=risk,
        low=low,
        high=high,
        method=method,
        crude=crude,
        crude_low=crude_low,
        crude_high=crude_high,
        level=told.level,
        warning=warning,
    )


def _pair(
    told: Told,
    codes: tuple[int, int],
    place: int,
    arms: tuple[ArmRisk, ArmRisk],
    weights: Sequence[Weights],
    margin: float,
    margin_by: str,
) -> PairRisk:
    first, second = arms
    level = told.level
    difference = first.risk - second.risk
    ratio = _ratio(first.risk, second.risk)
    rare = "score" in (first.method, second.method)
    estimable = not np.isnan(difference)
    limits = ratio_limits = crude_limits = (np.nan, np.nan)
    if estimable:
        found = miettinen_nurminen(
            first.crude * first.crude_effective,
            first.crude_effective,
            second.crude * second.crude_effective,
            second.crude_effective,
            level,
        )
        crude_limits = (found.low, found.high)
        if rare:
            counts = (
                first.risk * first.effective_known,
                first.effective_known,
                second.risk * second.effective_known,
                second.effective_known,
            )
            scored = miettinen_nurminen(*counts, level)
            limits, ratio_limits = (scored.low, scored.high), score_ratio(*counts, level)
        else:
            a, b = told.drawn[:, codes[0], place], told.drawn[:, codes[1], place]
            limits = percentile_interval(a - b, level)
            with np.errstate(divide="ignore", invalid="ignore"):
                ratio_limits = percentile_interval(np.where((a > 0) | (b > 0), a / b, np.nan), level)
    by_arm = margin_by == "arm"
    side = limits if by_arm else (-limits[1], -limits[0])
    crude_side = crude_limits if by_arm else (-crude_limits[1], -crude_limits[0])
    verdict = verdict_of(*side, margin)
    reason = _reason(told, arms, weights, rare and verdict != verdict_of(*crude_side, margin))
    withheld = bool(reason)
    return PairRisk(
        arm=first.arm,
        against=second.arm,
        years=first.years,
        difference=difference,
        low=limits[0],
        high=limits[1],
        ratio=ratio,
        ratio_low=ratio_limits[0],
        ratio_high=ratio_limits[1],
        method="score" if rare else "bootstrap",
        crude=first.crude - second.crude,
        crude_low=crude_limits[0],
        crude_high=crude_limits[1],
        margin=margin,
        shown_by=first.arm if by_arm else second.arm,
        superiority=CANNOT_TELL if withheld else superiority(*side),
        non_inferiority=CANNOT_TELL if withheld else non_inferiority(*side, margin),
        verdict=CANNOT_TELL if withheld else verdict,
        level=level,
        e_value=e_value(ratio, *ratio_limits),
        reason=reason,
    )


def _reason(told: Told, arms: Sequence[ArmRisk], weights: Sequence[Weights], disagrees: bool) -> str:
    """Why there is no verdict; empty when there is one."""
    beyond = [each.arm for each in arms if np.isnan(each.risk)]
    if beyond:
        return wording.contrast_reason_beyond(beyond, arms[0].years)
    heavy = [each.arm for each in weights if each.explodes]
    if heavy:
        return wording.contrast_reason_explodes(heavy)
    return wording.contrast_reason_rare(RARE) if disagrees else ""


def _score(risk: float, size: float, level: float) -> tuple[float, float]:
    low, high = wilson_limits(min(max(risk, 0.0), 1.0) * size, size, level)
    return float(low), float(high)


def _ratio(first: float, second: float) -> float:
    if np.isnan(first) or np.isnan(second) or (first == 0 and second == 0):
        return np.nan
    return np.inf if second == 0 else first / second
