"""Sentences on how well readers of the same operations agree, and on how often a recorded type is right."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence

from .numbers import capital, count, interval, number, p_value, percent, share_limits


def kappa_told(
    kappa: float,
    limits: tuple[float, float],
    observed: float,
    expected: float,
    n: float,
    level: float,
    weights: str,
    note: str,
) -> str:
    """Write a kappa beside the agreement observed and what chance gives."""
    kind = "" if weights == "none" else f", {weights} weights"
    read = count(round(n), "groin")
    if math.isnan(kappa):
        return f"Both readers gave all of {read} one and the same answer{kind}: kappa is not defined."
    told = (
        f"Kappa {number(kappa, 2)} ({level:.0%} CI {_limits(limits)}{kind}); {percent(observed)} of {read} read "
        f"alike, {percent(expected)} expected by chance."
    )
    return f"{told} {note}".strip()


def kappa_note(kappa: float, alike: float, prevalence: float, bias: float, adjusted: float) -> str:
    """Say what prevalence or bias does to a kappa; empty where they do little."""
    if math.isnan(kappa):
        return ""
    parts = []
    if abs(prevalence) > 0.5 or (math.isnan(prevalence) and alike >= 0.85 and kappa < 0.6):
        parts.append(
            "One answer is far commoner than the others, which lowers kappa however well readers agree: read it "
            "beside the agreement by answer"
            + ("." if math.isnan(adjusted) else f" (balanced, it would be {number(adjusted, 2)}).")
        )
    if abs(bias) > 0.1:
        parts.append(
            f"The readers differ in how often they give an answer (by {percent(abs(bias))} of groins), which raises "
            "kappa's chance share."
        )
    return " ".join(parts)


def fleiss_told(
    kappa: float,
    limits: tuple[float, float],
    observed: float,
    expected: float,
    groins: float,
    readers: tuple[int, int],
    level: float,
) -> str:
    """Write a kappa of many readers."""
    times = f"{readers[0]}" if readers[0] == readers[1] else f"{readers[0]} to {readers[1]}"
    read = f"{count(round(groins), 'groin')} read {times} times each"
    if math.isnan(kappa):
        return f"All readings of {read} gave one and the same answer: kappa is not defined."
    return (
        f"Kappa {number(kappa, 2)} ({level:.0%} CI {_limits(limits)}) of {read}; {percent(observed)} of pairs of "
        f"readings alike, {percent(expected)} expected by chance."
    )


def read_twice_told(groins: int, known: int, first: int, second: int, both: int) -> str:
    """Write how many groins were read twice, and how many of them not."""
    return (
        f"{capital(count(groins, 'groin'))} read twice: {known:,} typed by both readers, {first:,} not by the first "
        f"alone, {second:,} not by the second alone, {both:,} by neither."
    )


def typing_rates_told(
    stratum: Mapping[str, object],
    sensitivity: tuple[float, float, float],
    specificity: tuple[float, float, float],
    level: float,
) -> str:
    """Write sensitivity and specificity for direct."""
    where = stratum_told(stratum)
    return (
        f"{capital(where)}: sensitivity for direct {_rate(sensitivity, level)}, "
        f"specificity {_rate(specificity, level)}."
    )


def stratum_told(stratum: Mapping[str, object]) -> str:
    """Write what a typing entry holds for."""
    parts = []
    for name, value in stratum.items():
        if name == "ages" and isinstance(value, Sequence) and len(value) == 2:
            parts.append(f"ages {interval(float(value[0]), float(value[1]), 0)} years")
        else:
            parts.append(str(value))
    return ", ".join(parts) or "all groins"


def typing_entries(entries: Iterable[Mapping[str, object]]) -> str:
    """Write typing entries as a protocol has them."""
    return "\n".join(
        "[[typing]]\n" + "".join(f"{name} = {_toml(value)}\n" for name, value in entry.items())
        for entry in entries
    )


def _toml(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6g}" if value != round(value) else f"{value:.1f}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return f"[{', '.join(_toml(float(v)) for v in value)}]"
    return json.dumps(str(value), ensure_ascii=False)


def typing_assumed(specificity: float, lowest: Iterable[float], least: Iterable[float]) -> str:
    """Say what two readers without a reference leave open."""
    spans = ", ".join(
        f"sensitivity {percent(se)} with no false direct to 100% with a specificity of {percent(sp, 2)}"
        for sp, se in zip(lowest, least, strict=True)
    )
    return (
        f"Assumed: both readers are alike, their errors are independent, specificity is {percent(specificity, 2)}. "
        f"Without a reference the readings fit everything from {spans} equally well."
    )


def two_by_two_told(
    events: tuple[int, int], totals: tuple[int, int], fisher: float, chi2: float, yates: float
) -> str:
    """Write the tests of two shares."""
    arms = " v ".join(
        f"{x:,}/{n:,} ({percent(x / n, 2 if 0 < x / n < 0.01 else 1)})"
        for x, n in zip(events, totals, strict=True)
    )
    if math.isnan(chi2):
        return f"{arms}: Fisher {p_value(fisher)}; χ² is not defined."
    return (
        f"{arms}: Fisher {p_value(fisher)}, χ² {p_value(chi2)}, χ² with Yates' correction {p_value(yates)}."
    )


def _rate(rate: tuple[float, float, float], level: float) -> str:
    value, low, high = rate
    if math.isnan(value):
        return "not known"
    if low == value == high:
        return f"{percent(value)} (stated)"
    return f"{percent(value)} ({level:.0%} CI {share_limits(low, high)})"


def _limits(limits: tuple[float, float]) -> str:
    return f"{number(limits[0], 2)} to {number(limits[1], 2)}"
