"""What pooling says: the pool in a sentence, its model and weights, and what a reader must know first."""

from __future__ import annotations

import math

from .numbers import count, interval, listed, number, percent


def pool_label() -> str:
    """Label of the pool's row."""
    return "pooled"


def prediction_label() -> str:
    """Label of the prediction's row."""
    return "a further series"


def _share(value: float) -> str:
    """Write a share; one below a tenth of a per cent with two digits, so that it does not read as nought."""
    return percent(value, 2 if 0 < value < 0.00095 else 1)


def pooled_value(measure: str, value: float, per: float = 1.0) -> str:
    """Write one pooled value: ``1.6%``, ``0.42 per 100 person-years`` or ``−0.715``."""
    if measure == "share":
        return _share(value)
    if measure == "rate":
        return f"{number(value, 2)} per {per:,.10g} person-years"
    return number(value, 3)


def pooled_limits(measure: str, low: float, high: float) -> str:
    """Write two limits of a pooled value without its unit, but for the per cent sign."""
    if measure == "share":
        return f"{number(100 * low)}–{_share(high)}"
    if measure == "rate":
        return interval(low, high, 2)
    return f"{number(low, 3)} to {number(high, 3)}"


def pooled(
    measure: str,
    told: tuple[float, float, float],
    level: float,
    series: int,
    prediction: tuple[float, float],
    one_sided: bool,
    per: float,
) -> str:
    """Write the pool: ``1.6% (95% CI 0.9–2.4%) over 12 series; 95% prediction for a further one 0.6–4.1%``."""
    estimate, low, high = told
    value = pooled_value(measure, estimate, per)
    over = f"over {count(series, 'series', 'series')}"
    if one_sided:
        limit = (
            f"lower limit {pooled_value(measure, low)}"
            if estimate > low
            else f"upper limit {_upper(measure, high)}"
        )
        return (
            f"{value} (one-sided {level:.0%} {limit}) {over}; a difference between series cannot be estimated"
        )
    sentence = f"{value} ({level:.0%} CI {pooled_limits(measure, low, high)}) {over}"
    if math.isnan(prediction[0]):
        return sentence
    return f"{sentence}; {level:.0%} prediction for a further one {pooled_limits(measure, *prediction)}"


def _upper(measure: str, high: float) -> str:
    return percent(high, 2) if measure == "share" else number(high, 2)


def pool_model(name: str) -> str:
    """Say how it was pooled."""
    return {
        "binomial": "binomial–normal model on the logit, maximum likelihood by adaptive Gauss–Hermite quadrature",
        "poisson": "Poisson–normal model on the log of the rate, maximum likelihood by adaptive Gauss–Hermite quadrature",
        "reml": "inverse variance, restricted maximum likelihood",
        "exact": "all counts taken as one series",
        "one": "one series as it stands",
    }[name]


def pool_limits(name: str) -> str:
    """Say where the limits come from."""
    return {
        "profile": "profile-likelihood limits",
        "wald": "normal (Wald) limits",
        "t": "t limits on one degree of freedom fewer than there are series",
        "hartung-knapp": "Hartung–Knapp limits",
        "z": "normal limits",
        "exact": "exact limits",
    }[name]


def pool_weighting(name: str) -> str:
    """Say what the weights are."""
    return {
        "mixed": "weight: 1/(τ² + v), v the variance that a series of its size would have at the pooled value",
        "reml": "weight: 1/(τ² + squared standard error)",
        "exact": "weight: the series' part of all patients or person-years",
    }[name]


def pool_half_added(labels: list[str]) -> str:
    """Say that ½ was added, and to which series."""
    return (
        f"½ was added to the events and to those without one in {listed(labels)}, which has no logit otherwise; "
        "the binomial–normal model needs no such correction and may differ much when events are rare"
    ).replace("which has", "which have" if len(labels) > 1 else "which has")


def pool_no_events(series: int, total: float, one: float, two: float, level: float, measure: str) -> str:
    """Say what no event at all can tell."""
    unit = "" if measure == "share" else " person-years"
    return (
        f"no event in {count(series, 'series', 'series')} ({total:,.10g}{unit}): the upper limit is exact, one-sided and takes all as one "
        f"series ({level:.0%}: {_upper(measure, one)}; two-sided it would be {_upper(measure, two)}); a difference between series cannot be estimated"
    )


def pool_all_events(series: int, total: float, one: float, two: float, level: float) -> str:
    """Say what nothing but events can tell."""
    return (
        f"nothing but events in {count(series, 'series', 'series')} ({total:,.10g}): the lower limit is exact, one-sided and takes all as one "
        f"series ({level:.0%}: {percent(one, 2)}; two-sided it would be {percent(two, 2)}); a difference between series cannot be estimated"
    )


def pool_one_series() -> str:
    """Say that one series is no pool."""
    return (
        "one series is no pool: these are its own limits, and a difference between series cannot be estimated"
    )


def pool_few_series(series: int) -> str:
    """Say that few series hardly tell how much series differ."""
    return (
        f"{count(series, 'series', 'series')} hardly tell how much series differ: read the limits of τ² and the prediction "
        "as very uncertain"
    )


def pool_unbounded() -> str:
    """Say that the series differ without bound."""
    return "the series differ so much that the likelihood sets no upper bound to τ²: a pool says little of any of them"


def pool_no_prediction() -> str:
    """Say why no prediction is told."""
    return "no prediction for a further series: the variance between them cannot be estimated"


def pool_summaries(labels: list[str]) -> str:
    """Say which rows are shown and not pooled."""
    what = (
        "is a published summary: shown, not pooled"
        if len(labels) == 1
        else "are published summaries: shown, not pooled"
    )
    return f"{listed(labels)} {what}, since the series that a summary was made from may stand here too"


def pool_summaries_pooled(labels: list[str]) -> str:
    """Warn that summaries were pooled because it was asked."""
    return (
        f"published summaries ({listed(labels)}) were pooled because it was asked: their series may be counted twice, the "
        "differences between the series inside each are lost, and events are the nearest whole number to share × n where none was printed"
    )


def left_out(
    measure: str, label: str, without: tuple[float, float, float], whole: float, level: float, per: float
) -> str:
    """Say which series moves the pool most: ``Without Elm the pool is 2.1% (…) instead of 1.6%``."""
    estimate, low, high = without
    return (
        f"{label} moves the pool most: without it {pooled_value(measure, estimate, per)} ({level:.0%} CI {pooled_limits(measure, low, high)}) "
        f"instead of {pooled_value(measure, whole, per)}"
    )


def funnel_told(centre: float, outside: list[str], far: list[str], series: int) -> str:
    """Say which hospitals lie outside the control limits."""
    about = f"about the common {_share(centre)}"
    if not outside:
        return f"All {count(series, 'series', 'series')} lie within the 95% control limits {about}"
    text = f"{listed(outside)} outside the 95% control limits {about}"
    if far:
        text += f", {listed(far)} outside the 99.8% limits too"
    return (
        f"{text}; of {count(series)} about {number(0.05 * series)} would lie outside the 95% limits by chance"
    )


def series_label(place: int) -> str:
    """Name a series that was given no label."""
    return f"series {place}"


def only_summaries(rows: int) -> str:
    """Say that there is nothing to pool."""
    return f"Nothing is pooled: the table holds {count(rows, 'published summary', 'published summaries')} and no series"
