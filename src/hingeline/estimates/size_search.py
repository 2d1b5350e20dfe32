"""The smallest size that suffices: simulated studies of some sizes come in, the size goes out, with its error.

A quarter of the studies brackets the size, all of them settle it; between near sizes the half-width is taken to fall
with the square root of the size.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.parallel import Progress
from hingeline.estimates.size_parts import Size, checked_positive, whole
from hingeline.estimates.size_studies import FEWEST_STUDIES, AgesSought, Tried, check_studies, try_size

FEWEST: Final = 100
"""Patients under which no study is tried."""
LARGEST: Final = 300_000
"""Patients over which none is tried."""
FIRST: Final = 2_000
NEAR: Final = 1.1
"""Sizes this close (as a ratio) bracket the answer well enough: the simulation error is larger."""
LAW_HOLDS: Final = 1.15
"""Sizes this close (as a ratio) are taken for each other by the law of the square root."""
MOST_STEPS: Final = 6


def smallest(
    sought: AgesSought,
    half_width: float,
    level: float,
    studies: int,
    workers: int | None,
    progress: Progress | None,
) -> Size:
    """Bracket the size, close the bracket, and take it from the law through the sizes tried."""
    checked_positive(half_width, "half_width", "Give years above 0")
    check_studies(studies, level)
    few = max(FEWEST_STUDIES, studies // 4)

    def attempt(patients: int, count: int = few) -> Tried:
        return try_size(sought, patients, count, level, workers, progress)

    low, high = _bracket(attempt, half_width)
    while high.patients > NEAR * low.patients:
        middle = _by_law(low.patients, low.half_width, half_width)
        inner = math.sqrt(NEAR)
        inside = low.patients * inner < middle < high.patients / inner
        between = attempt(round(middle if inside else math.sqrt(low.patients * high.patients)))
        low, high = (between, high) if between.half_width > half_width else (low, between)
    # the bracket rests on a quarter of the studies: all of them settle it
    last, patients = _settled(lambda n: attempt(n, studies), high.patients, half_width)
    limits = (
        min(_by_law(last.patients, last.low, half_width), patients),
        max(_by_law(last.patients, last.high, half_width), patients)
        if math.isfinite(last.high)
        else math.inf,
    )
    return answer(sought, replace(last, patients=patients), half_width, level, studies, limits)


def _settled(attempt: Callable[[int], Tried], start: int, half_width: float) -> tuple[Tried, int]:
    """A size near which the law of the square root may be trusted, and the size that it gives for the wish.

    Where the half-width jumps (an age that small studies do not find at all) no law holds: then the smallest size
    tried that suffices is the answer.
    """
    last, short, enough = attempt(start), None, None
    for _ in range(MOST_STEPS):
        if last.half_width <= half_width:
            enough = last
        else:
            short = last
        wanted = _by_law(last.patients, last.half_width, half_width)
        if math.isfinite(last.half_width) and 1 / LAW_HOLDS <= wanted / last.patients <= LAW_HOLDS:
            return last, max(FEWEST, round(wanted))
        if short is not None and enough is not None:
            if enough.patients <= LAW_HOLDS * short.patients:
                break
            if not short.patients * 1.05 < wanted < enough.patients / 1.05:
                wanted = math.sqrt(short.patients * enough.patients)
        wanted = min(max(round(wanted), FEWEST), LARGEST)
        if wanted == last.patients:
            break
        last = attempt(wanted)
    if last.half_width <= half_width and (enough is None or last.patients < enough.patients):
        enough = last
    if enough is None:
        return last, min(round(_by_law(last.patients, last.half_width, half_width)), LARGEST)
    return enough, enough.patients


def _bracket(attempt: Callable[[int], Tried], half_width: float) -> tuple[Tried, Tried]:
    """Two sizes, of which the smaller does not suffice and the larger does."""
    at = attempt(FIRST)
    while True:
        enough = at.half_width <= half_width
        wanted = _by_law(at.patients, at.half_width, half_width)
        if enough:
            if at.patients <= FEWEST:
                return at, at
            smaller = attempt(max(FEWEST, round(min(max(wanted * 0.9, at.patients / 8), at.patients / 1.3))))
            if smaller.half_width > half_width:
                return smaller, at
            at = smaller
        else:
            if at.patients >= LARGEST:
                raise HingelineError(
                    f"{LARGEST:,} patients would not suffice for a half-width of {half_width:g} years",
                    "half_width",
                    "Ask for less precision, or assume a sharper turn or a steeper share",
                )
            larger = attempt(min(LARGEST, round(max(min(wanted * 1.1, at.patients * 8), at.patients * 1.3))))
            if larger.half_width <= half_width:
                return at, larger
            at = larger


def _by_law(patients: int, half_width: float, wanted: float) -> float:
    """Patients by the law of the square root; eightfold where the half-width is not finite."""
    return patients * (half_width / wanted) ** 2 if math.isfinite(half_width) else patients * 8.0


def answer(
    sought: AgesSought,
    tried: Tried,
    half_width: float,
    level: float,
    studies: int,
    limits: tuple[float, float],
    given: int | None = None,
) -> Size:
    """Put what was found into words and numbers."""
    allow = sought.allowance
    groins = tried.patients * (1 + allow.bilateral)
    analysed = whole(groins)
    enrolled = whole(analysed / (1 - allow.lost)) if given is None else given
    if math.isnan(sought.threshold):
        sign = 1 if sought.shape.changes[sought.turn] > 0 else -1
        about = wording.size_turn_sought(sought.truth, sign)
    else:
        about = wording.size_crossing_sought(sought.threshold, sought.truth)
    if given is None:
        scale = (1 + allow.bilateral) / (1 - allow.lost)
        error = (limits[0] * scale, limits[1] * scale)
        sentence = wording.size_for_age(
            about, half_width, level, analysed, allow.lost, enrolled, allow.patients(enrolled), error, studies,
            tried.chosen,
        )  # fmt: skip
    else:
        error = limits
        sentence = wording.precision_for_age(
            about, half_width, level, given, allow.lost, error, studies, tried.chosen
        )
    share = sought.shape.share(sought.ages)
    return Size(
        question="turn" if math.isnan(sought.threshold) else "crossing",
        exact=(groins,),
        per_arm=(analysed,),
        enrolled=(enrolled,),
        total=enrolled,
        patients=allow.patients(enrolled),
        events=float(groins * (np.diff(sought.upper, prepend=0.0) @ share)),
        power=tried.chosen,
        half_width=half_width,
        level=level,
        allowance=allow,
        assumptions=(
            ("age_years", sought.truth),
            ("half_width", half_width),
            ("hospitals", len(sought.hospital_logits)),
            ("studies", studies),
            ("seed", sought.seed),
        ),
        method=wording.size_method_simulated(studies),
        sentence=sentence,
        error=error,
    )
