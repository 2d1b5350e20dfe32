"""Shares and rates pooled by a mixed model on the counts: counts come in, the pool with its limits goes out.

Where no mixed model can be fitted (no event, nothing but events, one series) the exact answer of all counts taken as
one series stands instead, and says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtrc, expit, gammaincinv, ndtri, stdtrit

from hingeline import wording
from hingeline.errors import HingelineError

from .pooling_checks import (
    NAN,
    EffectLimits,
    Limits,
    Settings,
    check_level,
    checked_counts,
    count_limits,
    effect_limits,
    series_rows,
    told_of_spread,
)
from .pooling_inverse import reml_shares
from .pooling_mixed import Counts, Family, MixedFit, fit_mixed, heterogeneity, level_limits, tau_limits
from .pooling_normal import share_between
from .pooling_result import Pooled, SeriesShown
from .proportion import clopper_pearson_limits

Floats = NDArray[np.float64]


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
    x, totals, names = checked_counts(events, n, labels, "n")
    check_level(level)
    over = np.flatnonzero(x > totals)
    if over.size:
        raise HingelineError(
            f"{x[over[0]]:g} events of {totals[over[0]]:g} are more than there are patients",
            f"events and n, {names[over[0]]}",
            "Give events from 0 up to their total",
        )
    settings = (("model", model), ("limits", limits or ""))
    if model == "reml":
        chosen = effect_limits(limits)
        counts = Counts(x, totals, "binomial")
        if _alone(counts):
            return _one(counts, names, level, 1.0, settings)
        return reml_shares(x, totals, names, chosen, level, settings)
    if model != "binomial-normal":
        raise HingelineError(f"There is no model {model!r}", "model", 'Use "binomial-normal" or "reml"')
    return _mixed(Counts(x, totals, "binomial"), names, count_limits(limits), level, 1.0, settings)


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
    x, years, names = checked_counts(events, person_years, labels, "person_years")
    check_level(level)
    if not per > 0:
        raise HingelineError(f"A rate per {per:g} person-years is none", "per", "Give a number above 0")
    settings = (("limits", limits or ""),)
    return _mixed(Counts(x, years, "poisson"), names, count_limits(limits), level, per, settings)


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
    settings: Settings,
) -> Pooled:
    x = counts.events
    if _alone(counts):
        return _one(counts, names, level, per, settings)
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
        told_of_spread(x.size, fit.unbounded),
        per=per,
        settings=settings,
    )


def _one(
    counts: Counts,
    names: tuple[str, ...],
    level: float,
    per: float,
    settings: Settings,
) -> Pooled:
    """Where no mixed model can be fitted: no event, nothing but events, or one series."""
    x, n = float(counts.events.sum()), float(counts.totals.sum())
    no_other = _no_other(counts)
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


def _alone(counts: Counts) -> bool:
    """Whether no difference between series can be estimated."""
    return counts.events.size == 1 or counts.events.sum() == 0 or _no_other(counts)


def _no_other(counts: Counts) -> bool:
    """Whether every patient had the event."""
    return counts.family == "binomial" and bool((counts.events == counts.totals).all())


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
    return series_rows(
        names, per * counts.events / counts.totals, low, high, weights, counts.events, counts.totals
    )
