"""What is asked of a next study, as it was typed: options by name come in, checked numbers go out.

Shares are typed in per cent and ages in years; what is impossible or not used is refused by the option's own name.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.simulate import Shape, shape_through
from hingeline.estimates.size import (
    Allowance,
)

Asked = Mapping[str, Any]
TEST: Final = {"power", "level", "ratio", "groins"}
LIKE: Final = {"lost", "both_groins", "groin_likeness", "per_hospital", "hospital_likeness"}
AGES: Final = {"points", "ages", "hospitals", "hospital_spread", "studies", "seed", "level", "groins"}
AGES_LIKE: Final = {"lost", "both_groins", "groin_likeness"}
NEEDED: Final[dict[str, tuple[set[str], set[str]]]] = {
    "shares": ({"new", "standard"}, TEST | LIKE),
    "as-good": ({"new", "standard", "margin"}, TEST | LIKE),
    "log-rank": (
        {"hazard_ratio", "standard", "years", "entry_years", "follow_years"},
        TEST | LIKE | {"lost_a_year"},
    ),
    "share": ({"share", "within"}, {"level", "assurance"} | LIKE),
    "turn": ({"within"}, {"turn"} | AGES | AGES_LIKE),
    "crossing": ({"within"}, {"threshold"} | AGES | AGES_LIKE),
}
"""Kind of question → what has to be told, and what may be."""
TRADE_POINTS: Final = "0:0.7,14:1.5,18.5:13,40:19,70:47"
"""Direct shares in per cent at ages, a shape that fits the trade (common practice, no source)."""
TRADE_AGES: Final = "8-35"
"""Ages enrolled unless told: those at which the share begins to climb."""
_TYPED: Final = {
    "first": "new",
    "second": "standard",
    "risk": "standard",
    "risk_years": "years",
    "accrual_years": "entry_years",
    "follow_up_years": "follow_years",
    "half_width": "within",
    "bilateral": "both_groins",
    "groin_correlation": "groin_likeness",
    "hospital_correlation": "hospital_likeness",
    "shape": "points",
    "age_years": "ages",
    "age_weights": "ages",
}
"""An estimator's name of an assumption → the name it was told by."""


def as_typed(where: str) -> str:
    """Name the options as they are typed where an estimator names its arguments."""
    known = set().union(*(needed | may for needed, may in NEEDED.values()))
    names = [
        _TYPED.get(name.removeprefix("allow."), name.removeprefix("allow.")) for name in where.split(", ")
    ]
    if not set(names) <= known:
        return where
    return ", ".join(dict.fromkeys(wording.size_option(name) for name in names))


def refuse_impossible(kind: str, told: dict[str, Any]) -> None:
    """Refuse what no study could show, in the units it was told in."""

    def refuse(what: str, *names: str, todo: str) -> None:
        raise HingelineError(what, ", ".join(wording.size_option(name) for name in names), todo)

    for name in ("new", "standard", "share"):
        if name in told and kind != "as-good" and share_of(told, name) in (0, 1):
            refuse(
                f"{name} is {told[name]:g} per cent", name, todo="Give more than 0 and less than 100 per cent"
            )
    if kind == "shares" and told["new"] == told["standard"]:
        refuse(
            f"Both repairs are assumed at {told['new']:g} per cent: there is no difference to show",
            "new",
            "standard",
            todo="Give two that differ, or ask '--for as-good'",
        )
    if kind == "as-good":
        if not 0 < share_of(told, "margin") < 1:
            refuse(
                f"margin is {told['margin']:g} points",
                "margin",
                todo="Give the points of difference that would still be borne, above 0",
            )
        worse = share_of(told, "new") - share_of(told, "standard")
        if worse >= share_of(told, "margin"):
            refuse(
                f"The new repair is assumed worse by {100 * worse:g} points, which is not under the margin of "
                f"{told['margin']:g} points",
                "new",
                "standard",
                "margin",
                todo="Assume less, or widen the margin with a reason: no size can show what is assumed untrue",
            )
    if kind == "share" and not 0 < share_of(told, "within") < 0.5:
        refuse(f"within is {told['within']:g} points", "within", todo="Give points above 0 and under 50")
    if kind in ("turn", "crossing") and not number_of(told, "within") > 0:
        refuse(f"within is {told['within']:g} years", "within", todo="Give years above 0")
    if kind == "turn" and int(told.get("turn") or 1) > len(
        shape_of(told.get("points") or TRADE_POINTS).turns
    ):
        refuse(
            f"The assumed shares have no turn {told['turn']}",
            "turn",
            "points",
            todo="Count turns from 1: each age in --points but the first and the last is one",
        )
    if kind == "log-rank" and not number_of(told, "years") > 0:
        refuse(
            f"years is {told['years']:g}", "years", todo="Give the years by which the share recur, above 0"
        )
    if "power" in told:
        chance = (1 - share_of(told, "level", 95.0)) / 2
        if not chance < share_of(told, "power") < 1:
            refuse(
                f"power is {told['power']:g} per cent",
                "power",
                todo=f"Give more than {100 * chance:g} per cent, which chance alone gives, and less than 100: 80 or 90",
            )


def checked(kind: str, asked: Asked) -> dict[str, Any]:
    """Return what was told of a question; refuse what it lacks and what it does not use."""
    if kind not in NEEDED:
        raise HingelineError(f"There is no question {kind!r}", "--for", f"Give one of {', '.join(NEEDED)}")
    needed, may = NEEDED[kind]
    if asked.get("groins") is not None:  # the power is then what is asked for
        may = may - {"power"}
    told = {name: value for name, value in asked.items() if value is not None}
    strange = sorted(set(told) - needed - may)
    if strange:
        raise HingelineError(
            f"The question {kind!r} does not ask for {strange[0].replace('_', ' ')}",
            wording.size_option(strange[0]),
            f"Leave it out; {kind!r} takes {wording.listed([wording.size_option(n) for n in sorted(needed | may)])}",
        )
    left = sorted(needed - set(told))
    if "groins" in told and kind in ("turn", "crossing"):
        left = [name for name in left if name != "within"]
        told.setdefault("within", 1.0)
    if left:
        raise HingelineError(
            f"The question {kind!r} needs {wording.listed([name.replace('_', ' ') for name in left])}",
            ", ".join(wording.size_option(name) for name in left),
            "Tell what is assumed, shares in per cent and ages in years",
        )
    return told


def of_test(told: dict[str, Any]) -> dict[str, Any]:
    """Return power, level, ratio and allowance of a test as the estimators take them."""
    return {
        "power": share_of(told, "power", 80.0),
        "level": share_of(told, "level", 95.0),
        "ratio": number_of(told, "ratio", 1.0),
        "allow": allowance(told),
    }


def allowance(told: dict[str, Any], both_groins: float = 0.0, groin_likeness: float = 0.0) -> Allowance:
    """Return what is allowed for loss and likeness."""
    return Allowance(
        lost=share_of(told, "lost", 0.0),
        per_hospital=number_of(told, "per_hospital", 1.0),
        hospital_correlation=number_of(told, "hospital_likeness", 0.0),
        bilateral=share_of(told, "both_groins", both_groins),
        groin_correlation=number_of(told, "groin_likeness", groin_likeness),
    )


def number_of(told: dict[str, Any], name: str, otherwise: float | None = None) -> float:
    """Return a number that was told, or what stands otherwise; refuse none and what is infinite."""
    value = told.get(name, otherwise)
    if value is None or not np.isfinite(value):
        raise HingelineError(
            f"{name.replace('_', ' ')} is {value}", wording.size_option(name), "Give a number"
        )
    return float(value)


def share_of(told: dict[str, Any], name: str, otherwise: float | None = None) -> float:
    """A share told in per cent; what lies outside 0 to 100 is refused here, in the words it was told in."""
    value = number_of(told, name, otherwise)
    if not 0 <= value <= 100:
        raise HingelineError(
            f"{name.replace('_', ' ')} is {value:g} per cent",
            wording.size_option(name),
            "Give 0 to 100 per cent",
        )
    return value / 100


def shape_of(points: str) -> Shape:
    """``0:0.7,14:1.5`` as a shape: direct share in per cent at ages."""
    pairs = _pairs(points, ":", "--points", "Write ages and per cents as 0:0.7,14:1.5,18.5:13")
    return shape_through([age for age, _ in pairs], [share / 100 for _, share in pairs])


def ages_of(
    bands: str,
) -> tuple[np.ndarray[Any, np.dtype[np.float64]], np.ndarray[Any, np.dtype[np.float64]]]:
    """``8-16:1,16-35:2`` as half-year ages with weights: how many patients come from each band, spread evenly."""
    todo = "Write bands of ages, with parts when there are several, as 8-16:1,16-35:2"
    ages, weights = [], []
    for band in bands.split(","):
        span, _, part = band.partition(":")
        (low, high), weight = _pairs(span, "-", "--ages", todo)[0], 1.0
        if part:
            weight = _parsed(part, "--ages", todo)
        if not (0 <= low < high <= 111 and weight > 0):
            raise HingelineError(f"{band.strip()!r} is no band of ages", "--ages", todo)
        inside = np.arange(low, high, 0.5) + 0.25
        ages.append(inside)
        weights.append(np.full(inside.size, weight / inside.size))
    return np.concatenate(ages), np.concatenate(weights)


def _pairs(text: str, mark: str, where: str, todo: str) -> list[tuple[float, float]]:
    found = []
    for entry in text.split(","):
        first, _, second = entry.partition(mark)
        found.append((_parsed(first, where, todo), _parsed(second, where, todo)))
    return found


def _parsed(text: str, where: str, todo: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise HingelineError(f"{text.strip()!r} is no number", where, todo)
    return value
