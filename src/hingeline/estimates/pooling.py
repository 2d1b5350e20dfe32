"""One share, rate or effect from several hospitals or series: counts come in, the pool with its limits goes out.

Rare events and series without one are the normal case: counts are pooled by a mixed model that takes them as they
are; inverse variance stands beside it and says so whenever ½ was added. What cannot be estimated is not guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtrc, expit, gammaincinv, ndtri, stdtrit

from hingeline import wording
from hingeline.errors import HingelineError

from .pooling_funnel import Funnel, FunnelLimits, funnel, funnel_limits
from .pooling_mixed import Counts, Family, MixedFit, fit_mixed, heterogeneity, level_limits, tau_limits
from .pooling_normal import fit_normal, q_profile, share_between
from .pooling_result import Pooled, SeriesShown
from .proportion import clopper_pearson_limits

Floats = NDArray[np.float64]
Limits = Literal["profile", "wald", "t"]
EffectLimits = Literal["hartung-knapp", "z"]

NAN = float("nan")
FEW_SERIES = 5
"""Below this many series the variance between them is told with a warning (common practice, no source)."""


def pool_shares(
    events: ArrayLike,
    n: ArrayLike,
    labels: Sequence[str] | None = None,
    *,
    model: Literal["binomial-normal", "reml"] = "binomial-normal",
    limits: Limits | EffectLimits | None = None,
    level: float = 0.95,
) -> Pooled:
    """Pool shares of events, as recurrences after a repair in several hospitals.

    Parameters
    ----------
    events, n : array_like of whole numbers, (series,)
        0 <= events <= n, n > 0.
    labels : sequence of str, optional
    model : {"binomial-normal", "reml"}
        The mixed model on the counts, or inverse variance on the logits (½ added, and said, where a series has
        no event or nothing but events).
    limits : optional
        Of the mixed model ``"profile"`` (default), ``"wald"`` (normal) or ``"t"`` (on k − 1 degrees of freedom);
        of inverse variance ``"hartung-knapp"`` (default) or ``"z"``. The others stand in ``beside``.
    level : float

    Returns
    -------
    Pooled
        On the share's scale; ``tau2`` on the logit. Without an event, or with nothing else, the answer is the
        exact one-sided limit of all taken as one series.

    Raises
    ------
    HingelineError
        When counts are impossible, or a name is unknown.

    Notes
    -----
    Hamza, van Houwelingen & Stijnen, J Clin Epidemiol 2008;61:41–51. The pooled value is the share at the mean
    logit, that of a hospital in the middle, not the mean of the shares. Prediction: Higgins, Thompson &
    Spiegelhalter, J R Stat Soc A 2009;172:137–159, here with k − 1 degrees of freedom (normal with ``"wald"``
    and ``"z"``).
    """
    x, totals, names = _counts(events, n, labels, "n")
    _level(level)
    over = np.flatnonzero(x > totals)
    if over.size:
        raise HingelineError(
            f"{x[over[0]]:g} events of {totals[over[0]]:g} are more than there are patients",
            f"events and n, {names[over[0]]}",
            "Give events from 0 up to their total",
        )
    settings = (("model", model), ("limits", limits or ""))
    if model == "reml":
        return _reml_shares(x, totals, names, _effect_limits(limits), level, settings)
    if model != "binomial-normal":
        raise HingelineError(f"There is no model {model!r}", "model", 'Use "binomial-normal" or "reml"')
    return _mixed(Counts(x, totals, "binomial"), names, _count_limits(limits), level, 1.0, settings)


def pool_rates(
    events: ArrayLike,
    person_years: ArrayLike,
    labels: Sequence[str] | None = None,
    *,
    limits: Limits | None = None,
    level: float = 0.95,
    per: float = 100.0,
) -> Pooled:
    """Pool rates of events in person-years by the Poisson–normal model.

    Parameters
    ----------
    events : array_like of whole numbers, (series,)
    person_years : array_like, (series,)
        Above 0.
    labels, limits, level
        As in `pool_shares`.
    per : float
        Rates are told per so many person-years.

    Raises
    ------
    HingelineError
        When counts or person-years are impossible, or a name is unknown.

    Notes
    -----
    Stijnen, Hamza & Özdemir, Stat Med 2010;29:3046–3067.
    """
    x, years, names = _counts(events, person_years, labels, "person_years")
    _level(level)
    if not per > 0:
        raise HingelineError(f"A rate per {per:g} person-years is none", "per", "Give a number above 0")
    settings = (("limits", limits or ""),)
    return _mixed(Counts(x, years, "poisson"), names, _count_limits(limits), level, per, settings)


def pool_effects(
    estimate: ArrayLike,
    se: ArrayLike,
    labels: Sequence[str] | None = None,
    *,
    limits: EffectLimits | None = None,
    level: float = 0.95,
) -> Pooled:
    """Pool effects with their standard errors, as log ratios or differences, by inverse variance and REML.

    Parameters
    ----------
    estimate, se : array_like, (series,)
        Finite; standard errors above 0.
    labels, level
        As in `pool_shares`.
    limits : {"hartung-knapp", "z"}
        Which are the headline (Hartung–Knapp by default); the others stand in ``beside``.

    Raises
    ------
    HingelineError
        When a number is missing or a standard error is not above 0.

    Notes
    -----
    As `pooling_normal.fit_normal`; the limits of τ² are those of `pooling_normal.q_profile`.
    """
    effects, errors = np.asarray(estimate, dtype=np.float64), np.asarray(se, dtype=np.float64)
    if effects.ndim != 1 or effects.shape != errors.shape or effects.size == 0:
        raise HingelineError(
            "Effects and standard errors are not one each a series", "estimate, se", "Give two equal lists"
        )
    names = _names(labels, effects.size)
    wrong = np.flatnonzero(~(np.isfinite(effects) & np.isfinite(errors) & (errors > 0)))
    if wrong.size:
        raise HingelineError(
            f"An effect of {effects[wrong[0]]:g} with a standard error of {errors[wrong[0]]:g} cannot be pooled",
            f"estimate and se, {names[wrong[0]]}",
            "Give finite effects with standard errors above 0, or leave the series out",
        )
    _level(level)
    settings = (("limits", limits or ""),)
    z = float(ndtri((1 + level) / 2))
    nothing = np.full(effects.size, NAN)
    shown = (names, effects, effects - z * errors, effects + z * errors, nothing, nothing)
    return _inverse_variance("effect", effects, errors**2, shown, _effect_limits(limits), level, settings, ())


def compare_pools(
    events: ArrayLike, n: ArrayLike, labels: Sequence[str] | None = None, *, level: float = 0.95
) -> tuple[Pooled, Pooled]:
    """Pool shares by the mixed model and by inverse variance: how much the choice of model matters."""
    return (
        pool_shares(events, n, labels, level=level),
        pool_shares(events, n, labels, level=level, model="reml"),
    )


def _mixed(
    counts: Counts,
    names: tuple[str, ...],
    limits: Limits,
    level: float,
    per: float,
    settings: tuple[tuple[str, str], ...],
) -> Pooled:
    x, n = counts.events, counts.totals
    no_other = counts.family == "binomial" and bool((x == n).all())
    if x.sum() == 0 or no_other or x.size == 1:
        return _one(counts, names, level, per, settings, no_other)
    fit = fit_mixed(counts)
    low, high = tau_limits(fit, level)
    t = float(stdtrit(x.size - 1, (1 + level) / 2))
    z = float(ndtri((1 + level) / 2))
    told = {
        "profile": level_limits(fit, level),
        "wald": (fit.level - z * fit.se, fit.level + z * fit.se),
        "t": (fit.level - t * fit.se, fit.level + t * fit.se),
    }
    ahead = (z if limits == "wald" else t) * float(np.hypot(fit.se, fit.tau))
    back = _Back(counts.family, per)
    within = _variance_at(fit)
    weights = 1.0 / (within + fit.tau**2)
    q = heterogeneity(fit)
    return Pooled(
        "share" if counts.family == "binomial" else "rate",
        back(fit.level),
        back(told[limits][0]),
        back(told[limits][1]),
        level,
        wording.pool_model(counts.family),
        wording.pool_limits(limits),
        wording.pool_weighting("mixed"),
        fit.level,
        fit.se,
        fit.tau**2,
        low**2,
        high**2,
        share_between(fit.tau**2, within),
        q,
        float(chdtrc(x.size - 1, q)),
        back(fit.level - ahead),
        back(fit.level + ahead),
        tuple(
            (wording.pool_limits(name), back(a), back(b)) for name, (a, b) in told.items() if name != limits
        ),
        _shown(counts, names, weights / weights.sum(), level, per),
        _told_of_spread(x.size, fit.unbounded),
        per=per,
        settings=settings,
    )


def _one(
    counts: Counts,
    names: tuple[str, ...],
    level: float,
    per: float,
    settings: tuple[tuple[str, str], ...],
    no_other: bool,
) -> Pooled:
    """Where no mixed model can be fitted: no event, nothing but events, or one series."""
    x, n = float(counts.events.sum()), float(counts.totals.sum())
    measure: Literal["share", "rate"] = "share" if counts.family == "binomial" else "rate"
    low, high = (
        float(limit[0]) for limit in _exact(Counts(np.array([x]), np.array([n]), counts.family), level, per)
    )
    warnings: list[str] = []
    if x == 0:
        two, high = high, _none_above(counts.family, n, level) * per
        warnings.append(wording.pool_no_events(len(names), n, high, two, level, measure))
    elif no_other:
        two, low = low, 1.0 - _none_above("binomial", n, level)
        warnings.append(wording.pool_all_events(len(names), n, low, two, level))
    if len(names) == 1:
        warnings.append(wording.pool_one_series())
    name = "one" if len(names) == 1 else "exact"
    return Pooled(
        measure,
        per * x / n,
        low,
        high,
        level,
        wording.pool_model(name),
        wording.pool_limits("exact"),
        wording.pool_weighting("exact"),
        *(NAN,) * 10,
        (),
        _shown(counts, names, counts.totals / n, level, per),
        tuple(warnings),
        one_sided=x == 0 or no_other,
        per=per,
        settings=settings,
    )


def _reml_shares(
    x: Floats,
    n: Floats,
    names: tuple[str, ...],
    limits: EffectLimits,
    level: float,
    settings: tuple[tuple[str, str], ...],
) -> Pooled:
    counts = Counts(x, n, "binomial")
    if x.sum() == 0 or (x == n).all() or x.size == 1:
        return _one(counts, names, level, 1.0, settings, bool((x == n).all()))
    bare = (x == 0) | (x == n)
    half = np.where(bare, 0.5, 0.0)
    logit = np.log((x + half) / (n - x + half))
    variance = 1 / (x + half) + 1 / (n - x + half)
    low, high = clopper_pearson_limits(x, n, level)
    warnings = (wording.pool_half_added([names[i] for i in np.flatnonzero(bare)]),) if bare.any() else ()
    return _inverse_variance(
        "share", logit, variance, (names, x / n, low, high, x, n), limits, level, settings, warnings
    )


def _inverse_variance(
    measure: Literal["share", "effect"],
    effects: Floats,
    variances: Floats,
    shown: tuple[tuple[str, ...], Floats, Floats, Floats, Floats, Floats],
    limits: EffectLimits,
    level: float,
    settings: tuple[tuple[str, str], ...],
    warnings: tuple[str, ...],
) -> Pooled:
    back = expit if measure == "share" else float
    k = effects.size
    z = float(ndtri((1 + level) / 2))
    if k == 1:
        centre, error = float(effects[0]), float(np.sqrt(variances[0]))
        told = {"z": (centre - z * error, centre + z * error)}
        limits, weights = "z", np.ones(1)
        spread = (NAN,) * 6
        ahead = (NAN, NAN)
        warnings = (*warnings, wording.pool_one_series())
    else:
        fit = fit_normal(effects, variances)
        t = float(stdtrit(k - 1, (1 + level) / 2))
        centre, error, weights = fit.effect, fit.se, fit.weights
        told = {
            "hartung-knapp": (centre - t * fit.se_hk, centre + t * fit.se_hk),
            "z": (centre - z * fit.se, centre + z * fit.se),
        }
        spread = (fit.tau2, *q_profile(effects, variances, level), fit.i2, fit.q, fit.q_p)
        wide = z * np.hypot(fit.se, np.sqrt(fit.tau2))
        if limits == "hartung-knapp":
            wide = t * np.hypot(fit.se_hk, np.sqrt(fit.tau2))
        ahead = (float(centre - wide), float(centre + wide))
        warnings = (*warnings, *_told_of_spread(k, False))
    low, high = told[limits]
    names, value, own_low, own_high, events, totals = shown
    return Pooled(
        measure,
        float(back(centre)),
        float(back(low)),
        float(back(high)),
        level,
        wording.pool_model("one" if k == 1 else "reml"),
        wording.pool_limits(limits),
        wording.pool_weighting("reml"),
        centre,
        error,
        *spread,
        float(back(ahead[0])),
        float(back(ahead[1])),
        tuple(
            (wording.pool_limits(name), float(back(a)), float(back(b)))
            for name, (a, b) in told.items()
            if name != limits
        ),
        _series(names, value, own_low, own_high, weights, events, totals),
        warnings,
        settings=settings,
        errors=tuple(np.sqrt(variances).tolist()),
    )


class _Back:
    """From the model's scale to the measure's."""

    def __init__(self, family: Family, per: float) -> None:
        self.family, self.per = family, per

    def __call__(self, level: float) -> float:
        return float(expit(level)) if self.family == "binomial" else self.per * float(np.exp(level))


def _variance_at(fit: MixedFit) -> Floats:
    """Variance on the model's scale that each series would have at the pooled value; no count is corrected."""
    _, _, information = fit.counts.terms(np.full((fit.counts.events.size, 1), fit.level))
    return np.asarray(1.0 / information[:, 0], dtype=np.float64)


def _exact(counts: Counts, level: float, per: float) -> tuple[Floats, Floats]:
    """Exact two-sided limits of each series by itself."""
    x, n = counts.events, counts.totals
    if counts.family == "binomial":
        return clopper_pearson_limits(x, n, level)
    low = np.where(x > 0, gammaincinv(np.maximum(x, 1.0), (1 - level) / 2), 0.0)
    return per * low / n, per * gammaincinv(x + 1.0, (1 + level) / 2) / n


def _none_above(family: Family, total: float, level: float) -> float:
    """Exact one-sided upper limit when nothing happened in a total of patients or person-years."""
    each = -np.log1p(-level) / total
    return float(-np.expm1(-each)) if family == "binomial" else float(each)


def _shown(
    counts: Counts, names: tuple[str, ...], weights: Floats, level: float, per: float
) -> tuple[SeriesShown, ...]:
    low, high = _exact(counts, level, per)
    return _series(
        names, per * counts.events / counts.totals, low, high, weights, counts.events, counts.totals
    )


def _series(names: tuple[str, ...], *columns: Floats) -> tuple[SeriesShown, ...]:
    """Rows of series from estimate, low, high, weight, events and total."""
    numbers = np.stack(columns, axis=1).tolist()
    return tuple(
        SeriesShown(label, estimate, low, high, weight, events, total, "series")
        for label, (estimate, low, high, weight, events, total) in zip(names, numbers, strict=True)
    )


def _told_of_spread(series: int, unbounded: bool) -> tuple[str, ...]:
    few = (wording.pool_few_series(series),) if series < FEW_SERIES else ()
    return (*few, *((wording.pool_unbounded(),) if unbounded else ()))


def _counts(
    events: ArrayLike, totals: ArrayLike, labels: Sequence[str] | None, name: str
) -> tuple[Floats, Floats, tuple[str, ...]]:
    try:
        x, n = np.asarray(events, dtype=np.float64), np.asarray(totals, dtype=np.float64)
    except (TypeError, ValueError):
        raise HingelineError(
            "Counts hold something that is no number", f"events, {name}", "Give numbers"
        ) from None
    if x.ndim != 1 or x.shape != n.shape or x.size == 0:
        raise HingelineError(
            "Events and totals are not one each a series", f"events, {name}", "Give two lists of equal length"
        )
    names = _names(labels, x.size)
    whole = np.isfinite(x) & (x >= 0) & (x == np.round(x))
    right = np.isfinite(n) & (n > 0) & ((n == np.round(n)) | (name == "person_years"))
    wrong = np.flatnonzero(~(whole & right))
    if wrong.size:
        raise HingelineError(
            f"{x[wrong[0]]:g} events of {n[wrong[0]]:g} are no counts",
            f"events and {name}, {names[wrong[0]]}",
            f"Give whole numbers of 0 or more, and {name} above 0; leave out a series that has no one",
        )
    return x, n, names


def _names(labels: Sequence[str] | None, k: int) -> tuple[str, ...]:
    names = (
        tuple(wording.series_label(place + 1) for place in range(k))
        if labels is None
        else tuple(map(str, labels))
    )
    if len(names) != k:
        raise HingelineError(
            f"There are {len(names)} labels for {k} series", "labels", "Give one label a series, or none"
        )
    return names


def _count_limits(limits: str | None) -> Limits:
    if limits is None or limits == "profile":
        return "profile"
    if limits in ("wald", "t"):
        return "wald" if limits == "wald" else "t"
    raise HingelineError(
        f"There are no limits {limits!r} in this model", "limits", 'Use "profile", "wald" or "t"'
    )


def _effect_limits(limits: str | None) -> EffectLimits:
    if limits is None or limits == "hartung-knapp":
        return "hartung-knapp"
    if limits == "z":
        return "z"
    raise HingelineError(
        f"There are no limits {limits!r} in this model", "limits", 'Use "hartung-knapp" or "z"'
    )


def _level(level: float) -> None:
    if not 0 < level < 1:
        raise HingelineError(f"{level} is no coverage level", "level", "Give a number between 0 and 1")


__all__ = [
    "Funnel",
    "FunnelLimits",
    "Pooled",
    "SeriesShown",
    "compare_pools",
    "funnel",
    "funnel_limits",
    "pool_effects",
    "pool_rates",
    "pool_shares",
]
