"""The size of the next study, asked in a clinician's units: per cent and points in, a sentence and a table out.

What is asked comes in by name (shares in per cent, ages in years); each kind of question knows which names it needs
and refuses the others, so that no assumption is typed in vain. A picture of kind ``size`` is drawn where a path is
given.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final, get_args

import numpy as np
import pyarrow as pa

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.desk.sizing_asked import (
    TRADE_AGES,
    TRADE_POINTS,
    Asked,
    ages_of,
    allowance,
    as_typed,
    checked,
    number_of,
    of_test,
    refuse_impossible,
    shape_of,
    share_of,
)
from hingeline.errors import HingelineError
from hingeline.estimates.size import (
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
    told = checked(kind, asked)
    refuse_impossible(kind, told)
    try:
        return _answered(kind, told, progress)
    except HingelineError as error:
        raise HingelineError(error.what, as_typed(error.where), error.todo) from None


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


Question = tuple[Callable[..., Size], str, dict[str, Any], float, str]


def _for_shares(told: dict[str, Any]) -> Question:
    given = of_test(told) | {"second": share_of(told, "standard")}
    return size_two_proportions, "first", given, share_of(told, "new"), "per cent"


def _for_as_good(told: dict[str, Any]) -> Question:
    given = of_test(told) | {"new": share_of(told, "new"), "standard": share_of(told, "standard")}
    return size_noninferiority, "margin", given, share_of(told, "margin"), "per cent"


def _for_log_rank(told: dict[str, Any]) -> Question:
    given = of_test(told) | {
        "hazard_ratio": told["hazard_ratio"],
        "risk_years": told["years"],
        "accrual_years": told["entry_years"],
        "follow_up_years": told["follow_years"],
        "lost_a_year": share_of(told, "lost_a_year", 0.0),
    }
    return size_log_rank, "risk", given, share_of(told, "standard"), "per cent"


def _for_share(told: dict[str, Any]) -> Question:
    given = {
        "share": share_of(told, "share"),
        "level": share_of(told, "level", 95.0),
        "allow": allowance(told),
    }
    if told.get("assurance") is not None:
        given["assurance"] = share_of(told, "assurance")
    return size_proportion, "half_width", given, share_of(told, "within"), "per cent"


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
    shape = shape_of(told.get("points") or TRADE_POINTS)
    ages, weights = ages_of(told.get("ages") or TRADE_AGES)
    wanted = number_of(told, "within")
    studies = int(told.get("studies") or 400)
    given: dict[str, Any] = {
        "age_weights": weights,
        "hospitals": int(told.get("hospitals") or 1),
        "hospital_spread": number_of(told, "hospital_spread", 0.0),
        "allow": allowance(told, both_groins=10.0, groin_likeness=0.4),
        "level": share_of(told, "level", 95.0),
        "seed": int(told.get("seed") or 20),
    }
    if progress is not None:
        given["progress"] = partial(progress, wording.size_simulating())
    which = (
        {"turn": int(told.get("turn") or 1) - 1}
        if kind == "turn"
        else {"threshold": share_of(told, "threshold", 10.0)}
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


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
