"""The size of the next study, asked in a clinician's units: per cent and points in, a sentence and a table out.

What is asked comes in by name (shares in per cent, ages in years); each kind of question knows which names it needs
and refuses the others, so that no assumption is typed in vain. A picture of kind ``size`` is drawn where a path is
given.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final, get_args

import numpy as np
import pyarrow as pa

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.errors import HingelineError
from hingeline.estimates.simulate import Shape, shape_through
from hingeline.estimates.size import (
    Allowance,
    Size,
    power_log_rank,
    power_noninferiority,
    power_two_proportions,
    precision_of_ages,
    size_crossing,
    size_curve,
    size_log_rank,
    size_noninferiority,
    size_proportion,
    size_turn,
    size_two_proportions,
)

Progress = Callable[[str, int, int], None]
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
STEPS: Final = (0.5, 0.75, 1.0, 1.5, 2.0)
"""Multiples of the main assumption in the table."""
AGE_STEPS: Final = (0.5, 2.0)
"""Multiples of the size at which the precision of an age is simulated for the table."""


@dataclass(frozen=True)
class Sizing:
    """A size with its table against the assumption it hangs on most.

    Attributes
    ----------
    kind : str
        One of `NEEDED`.
    size : Size
    curve : pyarrow.Table
        ``assumption``, ``size``, ``series``; the frame of a picture of kind ``size``.
    assumption : str
        What ``curve`` changes, in words with its unit.
    power : float
        Of the sizes in ``curve``; nan where the question is one of precision.
    at : float
        Where in ``curve`` the answer stands, in the assumption's unit.
    """

    kind: str
    size: Size
    curve: pa.Table
    assumption: str
    power: float
    at: float

    def text(self) -> str:
        """The sentence, then the table."""
        rows = [(r["assumption"], r["size"]) for r in self.curve.to_pylist()]
        return f"{self.size.sentence}\n\n{wording.size_table(self.assumption, rows, self.power)}"

    def to_json(self) -> dict[str, Any]:
        """The same for machines; what is not known is null."""
        size = self.size
        return {
            "question": self.kind,
            "sentence": size.sentence,
            "analysed": list(size.per_arm),
            "enrolled": list(size.enrolled),
            "total": size.total,
            "patients": size.patients,
            "events": _finite(size.events),
            "power": _finite(size.power),
            "half_width": _finite(size.half_width),
            "level": size.level,
            "design_effect": size.allowance.design_effect,
            "error": [_finite(limit) for limit in size.error],
            "method": size.method,
            "assumption": self.assumption,
            "table": [{"assumption": r["assumption"], "size": r["size"]} for r in self.curve.to_pylist()],
        }

    def figure(self) -> Figure:
        """The picture's frame and words."""
        return Figure(
            name="size",
            kind="size",
            title=wording.size_title(),
            alt=wording.size_alt(self.assumption, self.size.total),
            caption=wording.size_caption(self.size.sentence),
            frames={"rows": self.curve, "chosen": self._chosen(), "axes": self._axes()},
        )

    def _axes(self) -> pa.Table:
        return pa.table({"x": [wording.capital(self.assumption)], "y": [wording.size_counted(self.power)]})

    def _chosen(self) -> pa.Table:
        """What was asked for, ringed in the picture."""
        return pa.table(
            {
                "assumption": pa.array([self.at], pa.float64()),
                "size": pa.array([self.size.total], pa.int64()),
                "label": [wording.size_chosen(self.size.total, self.size.power, self.power)],
            }
        )

    def draw(self, path: Path) -> Path:
        """Write the picture; its form follows the ending of the path (svg, png or pdf).

        Raises
        ------
        HingelineError
            When the ending is none of them, or the file cannot be written.
        """
        from hingeline.pictures import Format, draw, export

        fmt = path.suffix.lstrip(".").lower()
        if fmt not in get_args(Format):
            raise HingelineError(
                f"A picture cannot be written as {path.suffix or 'a file without ending'!r}",
                "--picture",
                "Name a file that ends in .svg, .png or .pdf",
            )
        drawn = export(draw(self.figure()), fmt)  # type: ignore[arg-type]
        try:
            path.write_bytes(drawn)
        except OSError as error:
            raise HingelineError(
                f"The picture cannot be written: {error.strerror}",
                str(path),
                "Name a place that may be written",
            ) from None
        return path


def size_next(kind: str, asked: Asked, *, progress: Progress | None = None) -> Sizing:
    """Answer how large the next study has to be, or what a given size can show.

    Parameters
    ----------
    kind : str
        One of `NEEDED`.
    asked : mapping
        Assumptions by name, those left out absent or None: shares, powers, levels and what is lost in per cent,
        margins in points, ages and times in years. ``groins`` (enrolled in the first arm, or in all where there
        are no arms) turns the question round.
    progress : callable, optional
        Told (what, done, of) while studies are simulated.

    Raises
    ------
    HingelineError
        When the kind is not known, something it needs is not told or something else is, and for impossible
        assumptions.
    """
    told = _checked(kind, asked)
    _refuse_impossible(kind, told)
    try:
        return _answered(kind, told, progress)
    except HingelineError as error:
        raise HingelineError(error.what, _as_typed(error.where), error.todo) from None


def _answered(kind: str, told: dict[str, Any], progress: Progress | None) -> Sizing:
    if kind in ("turn", "crossing"):
        return _of_ages(kind, told, progress)
    size, name, given, base, unit = _QUESTIONS[kind](told)
    values = [round(base * step, 6) for step in STEPS]
    if base * max(STEPS) >= 1 and kind != "log-rank":
        values = [v for v in values if v < 1]
    curve = size_curve(size, name, values, series=wording.size_series(kind), **given)
    if unit == "per cent":
        shown = pa.array([100 * float(v) for v in curve["assumption"].to_numpy()], pa.float64())
        curve = curve.set_column(0, "assumption", shown)
    answer = size(**given, **{name: base})
    if told.get("groins") is not None:
        answer = _POWERS[kind](**given, **{name: base}, groins=told["groins"])
    at = 100 * base if unit == "per cent" else base
    return Sizing(kind, answer, curve, wording.size_assumption(name, kind), given.get("power", np.nan), at)


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


def _as_typed(where: str) -> str:
    """Name the options as they are typed where an estimator names its arguments."""
    known = set().union(*(needed | may for needed, may in NEEDED.values()))
    names = [
        _TYPED.get(name.removeprefix("allow."), name.removeprefix("allow.")) for name in where.split(", ")
    ]
    if not set(names) <= known:
        return where
    return ", ".join(dict.fromkeys(wording.size_option(name) for name in names))


def _refuse_impossible(kind: str, told: dict[str, Any]) -> None:
    """Refuse what no study could show, in the units it was told in."""

    def refuse(what: str, *names: str, todo: str) -> None:
        raise HingelineError(what, ", ".join(wording.size_option(name) for name in names), todo)

    for name in ("new", "standard", "share"):
        if name in told and kind != "as-good" and _share(told, name) in (0, 1):
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
        if not 0 < _share(told, "margin") < 1:
            refuse(
                f"margin is {told['margin']:g} points",
                "margin",
                todo="Give the points of difference that would still be borne, above 0",
            )
        worse = _share(told, "new") - _share(told, "standard")
        if worse >= _share(told, "margin"):
            refuse(
                f"The new repair is assumed worse by {100 * worse:g} points, which is not under the margin of "
                f"{told['margin']:g} points",
                "new",
                "standard",
                "margin",
                todo="Assume less, or widen the margin with a reason: no size can show what is assumed untrue",
            )
    if kind == "share" and not 0 < _share(told, "within") < 0.5:
        refuse(f"within is {told['within']:g} points", "within", todo="Give points above 0 and under 50")
    if kind in ("turn", "crossing") and not _number(told, "within") > 0:
        refuse(f"within is {told['within']:g} years", "within", todo="Give years above 0")
    if kind == "turn" and int(told.get("turn") or 1) > len(_shape(told.get("points") or TRADE_POINTS).turns):
        refuse(
            f"The assumed shares have no turn {told['turn']}",
            "turn",
            "points",
            todo="Count turns from 1: each age in --points but the first and the last is one",
        )
    if kind == "log-rank" and not _number(told, "years") > 0:
        refuse(
            f"years is {told['years']:g}", "years", todo="Give the years by which the share recur, above 0"
        )
    if "power" in told:
        chance = (1 - _share(told, "level", 95.0)) / 2
        if not chance < _share(told, "power") < 1:
            refuse(
                f"power is {told['power']:g} per cent",
                "power",
                todo=f"Give more than {100 * chance:g} per cent, which chance alone gives, and less than 100: 80 or 90",
            )


Question = tuple[Callable[..., Size], str, dict[str, Any], float, str]


def _for_shares(told: dict[str, Any]) -> Question:
    given = _test(told) | {"second": _share(told, "standard")}
    return size_two_proportions, "first", given, _share(told, "new"), "per cent"


def _for_as_good(told: dict[str, Any]) -> Question:
    given = _test(told) | {"new": _share(told, "new"), "standard": _share(told, "standard")}
    return size_noninferiority, "margin", given, _share(told, "margin"), "per cent"


def _for_log_rank(told: dict[str, Any]) -> Question:
    given = _test(told) | {
        "hazard_ratio": told["hazard_ratio"],
        "risk_years": told["years"],
        "accrual_years": told["entry_years"],
        "follow_up_years": told["follow_years"],
        "lost_a_year": _share(told, "lost_a_year", 0.0),
    }
    return size_log_rank, "risk", given, _share(told, "standard"), "per cent"


def _for_share(told: dict[str, Any]) -> Question:
    given = {"share": _share(told, "share"), "level": _share(told, "level", 95.0), "allow": _allow(told)}
    if told.get("assurance") is not None:
        given["assurance"] = _share(told, "assurance")
    return size_proportion, "half_width", given, _share(told, "within"), "per cent"


_QUESTIONS: Final[dict[str, Callable[[dict[str, Any]], Question]]] = {
    "shares": _for_shares,
    "as-good": _for_as_good,
    "log-rank": _for_log_rank,
    "share": _for_share,
}


def _without_power(turned: Callable[..., Size], /, **given: Any) -> Size:
    return turned(**{name: value for name, value in given.items() if name != "power"})


_POWERS: Final[dict[str, Callable[..., Size]]] = {
    "shares": partial(_without_power, power_two_proportions),
    "as-good": partial(_without_power, power_noninferiority),
    "log-rank": partial(_without_power, power_log_rank),
}


def _of_ages(kind: str, told: dict[str, Any], progress: Progress | None) -> Sizing:
    """A turn or a crossing: by simulation, with the precision of half and of double the size in the table."""
    shape = _shape(told.get("points") or TRADE_POINTS)
    ages, weights = _ages(told.get("ages") or TRADE_AGES)
    wanted = _number(told, "within")
    studies = int(told.get("studies") or 400)
    given: dict[str, Any] = {
        "age_weights": weights,
        "hospitals": int(told.get("hospitals") or 1),
        "hospital_spread": _number(told, "hospital_spread", 0.0),
        "allow": _allow(told, both_groins=10.0, groin_likeness=0.4),
        "level": _share(told, "level", 95.0),
        "seed": int(told.get("seed") or 20),
    }
    if progress is not None:
        given["progress"] = partial(progress, wording.size_simulating())
    which = (
        {"turn": int(told.get("turn") or 1) - 1}
        if kind == "turn"
        else {"threshold": _share(told, "threshold", 10.0)}
    )
    if told.get("groins") is not None:
        size = precision_of_ages(shape, ages, told["groins"], studies=studies, **which, **given)
        at = size.half_width
    else:
        find = size_turn if kind == "turn" else size_crossing
        size = find(shape, ages, wanted, studies=studies, **which, **given)
        at = wanted
    rows = [(at, size.total)]
    few = max(100, studies // 4)
    for step in AGE_STEPS:
        try:
            other = precision_of_ages(shape, ages, size.total * step, studies=few, **which, **given)
        except HingelineError:  # too few patients to try
            continue
        rows.append((other.half_width, other.total))
    rows = sorted((r for r in rows if np.isfinite(r[0])), key=lambda r: r[1])
    curve = pa.table(
        {
            "assumption": pa.array([r[0] for r in rows], pa.float64()),
            "size": pa.array([r[1] for r in rows], pa.int64()),
            "series": [wording.size_series(kind)] * len(rows),
        }
    )
    return Sizing(kind, size, curve, wording.size_assumption("half_width", kind), np.nan, at)


def _checked(kind: str, asked: Asked) -> dict[str, Any]:
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


def _test(told: dict[str, Any]) -> dict[str, Any]:
    return {
        "power": _share(told, "power", 80.0),
        "level": _share(told, "level", 95.0),
        "ratio": _number(told, "ratio", 1.0),
        "allow": _allow(told),
    }


def _allow(told: dict[str, Any], both_groins: float = 0.0, groin_likeness: float = 0.0) -> Allowance:
    return Allowance(
        lost=_share(told, "lost", 0.0),
        per_hospital=_number(told, "per_hospital", 1.0),
        hospital_correlation=_number(told, "hospital_likeness", 0.0),
        bilateral=_share(told, "both_groins", both_groins),
        groin_correlation=_number(told, "groin_likeness", groin_likeness),
    )


def _number(told: dict[str, Any], name: str, otherwise: float | None = None) -> float:
    value = told.get(name, otherwise)
    if value is None or not np.isfinite(value):
        raise HingelineError(
            f"{name.replace('_', ' ')} is {value}", wording.size_option(name), "Give a number"
        )
    return float(value)


def _share(told: dict[str, Any], name: str, otherwise: float | None = None) -> float:
    """A share told in per cent; what lies outside 0 to 100 is refused here, in the words it was told in."""
    value = _number(told, name, otherwise)
    if not 0 <= value <= 100:
        raise HingelineError(
            f"{name.replace('_', ' ')} is {value:g} per cent",
            wording.size_option(name),
            "Give 0 to 100 per cent",
        )
    return value / 100


def _shape(points: str) -> Shape:
    """``0:0.7,14:1.5`` as a shape: direct share in per cent at ages."""
    pairs = _pairs(points, ":", "--points", "Write ages and per cents as 0:0.7,14:1.5,18.5:13")
    return shape_through([age for age, _ in pairs], [share / 100 for _, share in pairs])


def _ages(bands: str) -> tuple[np.ndarray[Any, np.dtype[np.float64]], np.ndarray[Any, np.dtype[np.float64]]]:
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


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
