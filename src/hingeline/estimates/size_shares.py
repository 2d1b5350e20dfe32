"""Groins needed to compare two shares, or to know one: assumed shares come in, a `Size` goes out, and back.

Superiority by the normal approximation with pooled or unpooled variance, or with continuity correction (Fleiss,
Levin & Paik, Statistical Methods for Rates and Proportions, 3rd ed. 2003, chapter 4; correction of Casagrande,
Pike & Smith, Biometrics 1978;34:483). Non-inferiority by the score test of Farrington & Manning (Stat Med
1990;9:1447). Precision of one share by its Wilson interval.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats import binom

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.proportion import score_variance, wilson_limits
from hingeline.estimates.size_parts import (
    MOST,
    NOTHING,
    Allowance,
    Size,
    checked_positive,
    checked_share,
    checked_test,
    two_arms,
    whole,
)

VARIANCES: Final = ("pooled", "unpooled", "corrected")


def size_two_proportions(
    first: float,
    second: float,
    *,
    power: float = 0.8,
    level: float = 0.95,
    ratio: float = 1.0,
    variance: str = "pooled",
    allow: Allowance = NOTHING,
) -> Size:
    """Groins needed to show that two shares differ.

    Parameters
    ----------
    first, second : float
        Shares assumed in the two arms, strictly between 0 and 1 and not the same.
    power : float
        Chance of showing it.
    level : float
        1 − the two-sided level of the test.
    ratio : float
        Groins of the second arm for each of the first.
    variance : "pooled", "unpooled" or "corrected"
        Of the difference under no difference; ``corrected`` is pooled with continuity correction.
    allow : Allowance

    Raises
    ------
    HingelineError
        When a share, the power, the level or the ratio is impossible, or the shares are the same.
    """
    z_test, z_power = checked_test(power, level, ratio)
    none, some, gap = _superiority(first, second, ratio, variance)
    needed = ((z_test * none + z_power * some) / gap) ** 2
    if variance == "corrected":
        needed *= (1 + math.sqrt(1 + 2 * (ratio + 1) / (needed * ratio * gap))) ** 2 / 4
    return two_arms(
        "shares",
        needed,
        ratio,
        allow,
        events=needed * (first + ratio * second),
        power=power,
        level=level,
        assumptions=(("first", first), ("second", second), ("ratio", ratio)),
        method=wording.size_method_shares(variance),
        told=wording.size_for_shares(first, second, power, level),
    )


def power_two_proportions(
    first: float,
    second: float,
    groins: float,
    *,
    level: float = 0.95,
    ratio: float = 1.0,
    variance: str = "pooled",
    allow: Allowance = NOTHING,
) -> Size:
    """Chance that so many groins enrolled in the first arm (and ``ratio`` times as many in the second) show it.

    Parameters are those of `size_two_proportions`; the answer is a `Size` whose ``power`` is the chance.
    """
    z_test, _ = checked_test(0.5, level, ratio)
    none, some, gap = _superiority(first, second, ratio, variance)
    n = allow.effective(checked_positive(groins, "groins", "Give the groins enrolled in the first arm"))
    seen = gap - ((1 + ratio) / (2 * ratio * n) if variance == "corrected" else 0.0)
    power = float(ndtr((seen * math.sqrt(n) - z_test * none) / some))
    return given_size(
        "shares",
        groins,
        ratio,
        allow,
        power=power,
        level=level,
        events=n * (first + ratio * second),
        assumptions=(("first", first), ("second", second), ("ratio", ratio)),
        method=wording.size_method_shares(variance),
        told=wording.power_for_shares(first, second, level),
    )


def size_noninferiority(
    new: float,
    standard: float,
    margin: float,
    *,
    power: float = 0.8,
    level: float = 0.95,
    ratio: float = 1.0,
    allow: Allowance = NOTHING,
) -> Size:
    """Groins needed to show that a share of bad outcomes is not worse by more than a margin.

    Parameters
    ----------
    new, standard : float
        Shares assumed, strictly between 0 and 1. A higher share is worse.
    margin : float
        Difference, as a share, that would still be borne: 0.02 is 2 points.
    power : float
    level : float
        Coverage of the two-sided interval whose upper limit has to lie under the margin; 0.95 is a one-sided
        test at 0.025.
    ratio : float
        Groins of the standard arm for each of the new.
    allow : Allowance

    Raises
    ------
    HingelineError
        When the margin is not above 0, or the assumed difference is not under it; and for impossible shares,
        power, level or ratio.
    """
    z_test, z_power = checked_test(power, level, ratio)
    bound, some, gap = _noninferiority(new, standard, margin, ratio)
    needed = ((z_test * bound + z_power * some) / gap) ** 2
    return two_arms(
        "as good",
        needed,
        ratio,
        allow,
        events=needed * (new + ratio * standard),
        power=power,
        level=level,
        assumptions=(("new", new), ("standard", standard), ("margin", margin), ("ratio", ratio)),
        method=wording.size_method_as_good(),
        told=wording.size_for_as_good(new, standard, margin, power, level),
    )


def power_noninferiority(
    new: float,
    standard: float,
    margin: float,
    groins: float,
    *,
    level: float = 0.95,
    ratio: float = 1.0,
    allow: Allowance = NOTHING,
) -> Size:
    """Chance that so many groins enrolled in the new arm (``ratio`` times as many in the standard) show it."""
    z_test, _ = checked_test(0.5, level, ratio)
    bound, some, gap = _noninferiority(new, standard, margin, ratio)
    n = allow.effective(checked_positive(groins, "groins", "Give the groins enrolled in the new arm"))
    power = float(ndtr((gap * math.sqrt(n) - z_test * bound) / some))
    return given_size(
        "as good",
        groins,
        ratio,
        allow,
        power=power,
        level=level,
        events=n * (new + ratio * standard),
        assumptions=(("new", new), ("standard", standard), ("margin", margin), ("ratio", ratio)),
        method=wording.size_method_as_good(),
        told=wording.power_for_as_good(new, standard, margin, level),
    )


def size_proportion(
    share: float,
    half_width: float,
    *,
    level: float = 0.95,
    assurance: float | None = None,
    allow: Allowance = NOTHING,
) -> Size:
    """Groins needed to know a share to within a half-width of its Wilson interval.

    Parameters
    ----------
    share : float
        Assumed; 0 and 1 are allowed, since Wilson's interval has a width there too.
    half_width : float
        Half of the interval's width, as a share.
    level : float
    assurance : float or None
        Chance that the interval of a study turns out no wider, by the binomial distribution and exactly; None
        takes the interval of a study that finds just the assumed share.
    allow : Allowance

    Raises
    ------
    HingelineError
        When share, half-width, level or assurance is impossible.
    """
    checked_share(share, "share", lowest=0.0, highest=1.0)
    checked_share(level, "level")
    if not 0 < half_width < 0.5:
        raise HingelineError(
            f"The half-width is {half_width:g}", "half_width", "Give a share above 0 and under 0.5"
        )
    needed = _first_within(share, half_width, level)
    if assurance is not None:
        needed = _assured(share, half_width, level, checked_share(assurance, "assurance"), needed)
    enrolled = allow.enrolled(needed)
    patients = allow.patients(enrolled)
    low, high = (float(limit) for limit in wilson_limits(share * needed, needed, level))
    told = wording.size_for_share(share, half_width, level, assurance, low, high)
    return Size(
        question="share",
        exact=(float(needed),),
        per_arm=(needed,),
        enrolled=(enrolled,),
        total=enrolled,
        patients=patients,
        events=share * needed,
        power=math.nan if assurance is None else assurance,
        half_width=half_width,
        level=level,
        allowance=allow,
        assumptions=(("share", share), ("half_width", half_width)),
        method=wording.size_method_share(),
        sentence=wording.size_in_all(told, needed, allow.lost, allow.design_effect, enrolled, patients),
    )


def half_width_of(share: float, groins: float, level: float = 0.95) -> float:
    """Half the width of the Wilson interval of a study that finds just this share."""
    z = float(ndtri((1 + level) / 2))
    return z * math.sqrt(share * (1 - share) * groins + z**2 / 4) / (groins + z**2)


def given_size(
    question: str,
    groins: float,
    ratio: float,
    allowance: Allowance,
    *,
    power: float,
    level: float,
    events: float,
    assumptions: tuple[tuple[str, float], ...],
    method: str,
    told: str,
) -> Size:
    """Answer for a size that is given: its power."""
    enrolled = (whole(groins), whole(groins * ratio))
    exact = tuple(allowance.effective(n) for n in (groins, groins * ratio))
    total = sum(enrolled)
    return Size(
        question=question,
        exact=exact,
        per_arm=tuple(math.floor(n + 1e-9) for n in exact),
        enrolled=enrolled,
        total=total,
        patients=allowance.patients(total),
        events=events,
        power=power,
        half_width=math.nan,
        level=level,
        allowance=allowance,
        assumptions=assumptions,
        method=method,
        sentence=wording.power_told(told, enrolled, power, allowance.lost, allowance.design_effect),
    )


def _superiority(first: float, second: float, ratio: float, variance: str) -> tuple[float, float, float]:
    """Standard deviations (for one groin of the first arm) under no and under the assumed difference, and it."""
    checked_share(first, "first")
    checked_share(second, "second")
    if first == second:
        raise HingelineError(
            f"Both shares are {first:g}: there is no difference to show",
            "first, second",
            "Give two shares that differ, or ask for 'as good'",
        )
    if variance not in VARIANCES:
        raise HingelineError(
            f"There is no variance {variance!r}", "variance", f"Give one of {', '.join(VARIANCES)}"
        )
    some = first * (1 - first) + second * (1 - second) / ratio
    both = (first + ratio * second) / (1 + ratio)
    none = some if variance == "unpooled" else both * (1 - both) * (1 + 1 / ratio)
    return math.sqrt(none), math.sqrt(some), abs(first - second)


def _noninferiority(new: float, standard: float, margin: float, ratio: float) -> tuple[float, float, float]:
    """Standard deviations at the margin (restricted maximum) and as assumed, and the room up to the margin."""
    checked_share(new, "new")
    checked_share(standard, "standard")
    checked_positive(
        margin, "margin", "Give the difference that would still be borne, above 0: 0.02 is 2 points"
    )
    if margin >= 1:
        raise HingelineError(f"The margin is {margin:g}", "margin", "Give a share under 1: 0.02 is 2 points")
    room = margin - (new - standard)
    if room <= 1e-12:
        raise HingelineError(
            f"The new share is assumed worse by {new - standard:g}, which is not under the margin of {margin:g}",
            "new, standard, margin",
            "Assume less, or widen the margin with a reason: no size can show what is assumed untrue",
        )
    # its factor N/(N − 1) is taken off: the assumed shares are not a sample
    bound = score_variance(new, 1.0, ratio * standard, ratio, margin) * ratio / (1 + ratio)
    some = new * (1 - new) + standard * (1 - standard) / ratio
    return math.sqrt(bound), math.sqrt(some), room


def _first_within(share: float, half_width: float, level: float) -> int:
    """Smallest whole number from which on the interval around the share is narrow enough."""
    z = float(ndtri((1 + level) / 2))
    # half-width h: h²(n + z²)² = z²(pq·n + z²/4), a quadratic in n whose larger root it is
    square, line = half_width**2, 2 * half_width**2 * z**2 - z**2 * share * (1 - share)
    constant = z**4 * (square - 0.25)
    root = (-line + math.sqrt(max(line**2 - 4 * square * constant, 0.0))) / (2 * square)
    n = max(1, whole(root) - 2)
    while half_width_of(share, n, level) > half_width:
        n += 1
    return n


def _assured(share: float, half_width: float, level: float, assurance: float, start: int) -> int:
    """Smallest number from which on (up to twice it) the interval is narrow enough with the given chance."""

    def chance(n: int) -> float:
        counts = np.arange(n + 1)
        z = float(ndtri((1 + level) / 2))
        half = z * np.sqrt(counts * (n - counts) / n + z**2 / 4) / (n + z**2)
        # the half-width rises to the middle and falls after it: those too wide are one stretch
        wide = np.flatnonzero(half > half_width)
        if wide.size == 0:
            return 1.0
        return float(binom.cdf(wide[0] - 1, n, share) + binom.sf(wide[-1], n, share))

    low, high = start, start
    while chance(high) < assurance:
        low, high = high, whole(high * 1.1 + 1)
        if high > min(MOST, 1e7):
            whole(math.inf)
    # the chance saws: look at every number near, and take the one after the last that fails
    fails = [n for n in range(low, high + max(50, high // 50)) if chance(n) < assurance]
    return fails[-1] + 1 if fails else low
