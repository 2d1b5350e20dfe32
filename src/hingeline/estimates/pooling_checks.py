"""What every pool checks before it begins and tells at its end: counts, labels and names; rows and warnings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.errors import HingelineError

from .pooling_result import SeriesShown

Floats = NDArray[np.float64]
Limits = Literal["profile", "wald", "t"]
EffectLimits = Literal["hartung-knapp", "z"]
Settings = tuple[tuple[str, str], ...]

NAN: Final = float("nan")

FEW_SERIES: Final = 5
"""Below this many series the variance between them is told with a warning (common practice, no source)."""


def checked_counts(
    events: ArrayLike, totals: ArrayLike, labels: Sequence[str] | None, name: str
) -> tuple[Floats, Floats, tuple[str, ...]]:
    """Events, totals and labels when they are possible ones."""
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
    names = names_of(labels, x.size)
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


def names_of(labels: Sequence[str] | None, k: int) -> tuple[str, ...]:
    """The labels as text, or series by their number."""
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


def count_limits(limits: str | None) -> Limits:
    """Which limits of a mixed model are the headline."""
    if limits is None or limits == "profile":
        return "profile"
    if limits in ("wald", "t"):
        return "wald" if limits == "wald" else "t"
    raise HingelineError(
        f"There are no limits {limits!r} in this model", "limits", 'Use "profile", "wald" or "t"'
    )


def effect_limits(limits: str | None) -> EffectLimits:
    """Which limits of an inverse-variance pool are the headline."""
    if limits is None or limits == "hartung-knapp":
        return "hartung-knapp"
    if limits == "z":
        return "z"
    raise HingelineError(
        f"There are no limits {limits!r} in this model", "limits", 'Use "hartung-knapp" or "z"'
    )


def check_level(level: float) -> None:
    """Refuse an impossible coverage level."""
    if not 0 < level < 1:
        raise HingelineError(f"{level} is no coverage level", "level", "Give a number between 0 and 1")


def series_rows(names: tuple[str, ...], *columns: Floats) -> tuple[SeriesShown, ...]:
    """Rows of series from estimate, low, high, weight, events and total."""
    numbers = np.stack(columns, axis=1).tolist()
    return tuple(
        SeriesShown(label, estimate, low, high, weight, events, total, "series")
        for label, (estimate, low, high, weight, events, total) in zip(names, numbers, strict=True)
    )


def told_of_spread(series: int, unbounded: bool) -> tuple[str, ...]:
    """Warnings on how little is known of the variance between series."""
    few = (wording.pool_few_series(series),) if series < FEW_SERIES else ()
    return (*few, *((wording.pool_unbounded(),) if unbounded else ()))
