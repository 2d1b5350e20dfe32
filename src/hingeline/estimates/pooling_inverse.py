"""Effects, or the logits of shares, pooled by inverse variance: estimates and errors come in, the pool goes out.

REML for the variance between series; Hartung and Knapp's limits beside the normal ones. A share without an event has
no logit: ½ is added to it and that is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, ndtri, stdtrit

from hingeline import wording
from hingeline.errors import HingelineError

from .pooling_checks import (
    NAN,
    EffectLimits,
    Settings,
    check_level,
    effect_limits,
    names_of,
    series_rows,
    told_of_spread,
)
from .pooling_normal import fit_normal, q_profile
from .pooling_result import Pooled
from .proportion import clopper_pearson_limits

Floats = NDArray[np.float64]


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
    names = names_of(labels, effects.size)
    wrong = np.flatnonzero(~(np.isfinite(effects) & np.isfinite(errors) & (errors > 0)))
    if wrong.size:
        raise HingelineError(
            f"An effect of {effects[wrong[0]]:g} with a standard error of {errors[wrong[0]]:g} cannot be pooled",
            f"estimate and se, {names[wrong[0]]}",
            "Give finite effects with standard errors above 0, or leave the series out",
        )
    check_level(level)
    settings = (("limits", limits or ""),)
    z = float(ndtri((1 + level) / 2))
    nothing = np.full(effects.size, NAN)
    shown = (names, effects, effects - z * errors, effects + z * errors, nothing, nothing)
    return inverse_variance("effect", effects, errors**2, shown, effect_limits(limits), level, settings, ())


def reml_shares(
    x: Floats,
    n: Floats,
    names: tuple[str, ...],
    limits: EffectLimits,
    level: float,
    settings: Settings,
) -> Pooled:
    """Pool logits of shares; at least one series has an event and one has a patient without."""
    bare = (x == 0) | (x == n)
    half = np.where(bare, 0.5, 0.0)
    logit = np.log((x + half) / (n - x + half))
    variance = 1 / (x + half) + 1 / (n - x + half)
    low, high = clopper_pearson_limits(x, n, level)
    warnings = (wording.pool_half_added([names[i] for i in np.flatnonzero(bare)]),) if bare.any() else ()
    return inverse_variance(
        "share", logit, variance, (names, x / n, low, high, x, n), limits, level, settings, warnings
    )


def inverse_variance(
    measure: Literal["share", "effect"],
    effects: Floats,
    variances: Floats,
    shown: tuple[tuple[str, ...], Floats, Floats, Floats, Floats, Floats],
    limits: EffectLimits,
    level: float,
    settings: Settings,
    warnings: tuple[str, ...],
) -> Pooled:
    """Pool effects on their own scale and tell them on the measure's."""
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
        warnings = (*warnings, *told_of_spread(k, False))
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
        series_rows(names, value, own_low, own_high, weights, events, totals),
        warnings,
        settings=settings,
        errors=tuple(np.sqrt(variances).tolist()),
    )
