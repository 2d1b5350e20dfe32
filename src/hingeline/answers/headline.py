"""The headline cases and everything estimated on them: the tally goes in once, fits and replicates come out.

Both the answer and the statistician's notebook take their numbers from here, so that they cannot differ.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..counts import AgeRows, PatternTally
from ..errors import HingelineError
from ..estimates.bootstrap_curve import CurveBootstrap, bootstrap_curve
from ..estimates.bootstrap_hinge import HingeBootstrap, bootstrap_hinges
from ..estimates.crossing import Crossing, crossing
from ..estimates.curve import CurveFit, Steepest, fit_curve, isotonic
from ..estimates.hinge_choose import TurnChoice, choose_turns
from ..estimates.hinge_fit import HingeFit
from ..estimates.hinge_random import RandomIntercepts, random_intercepts
from ..protocol import Protocol, Typing
from ..vocabulary import DAYS_PER_YEAR
from .spans import stretches

Floats = NDArray[np.float64]
Progress = Callable[[str, int, int], None]

STEP_YEARS = 0.25
"""Step of the ages at which curves and bands are drawn."""


def silent(what: str, done: int, of: int) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class HeadlineRows:
    """Plain arrays of the headline cases, ready for any estimator.

    Attributes
    ----------
    rows : AgeRows
        Patterns × hospital × age bin.
    age_years : array, (rows,)
        Mean age of the bin over all hospitals, so that a bin has one age.
    sensitivity, specificity : array, (rows,)
        Of the recorded type, from the protocol's ``[[typing]]``; 1 where nothing is said.
    tally : PatternTally
        The headline cases.
    """

    rows: AgeRows
    age_years: Floats
    sensitivity: Floats
    specificity: Floats
    tally: PatternTally

    @property
    def perfect(self) -> bool:
        """Whether every recorded type is taken as right."""
        return bool(np.all(self.sensitivity == 1) and np.all(self.specificity == 1))


def headline_tally(tally: PatternTally, protocol: Protocol, *, sex: str | None = None) -> PatternTally:
    """Restrict to the headline's sex (or another), occurrence and reasons."""
    counting = protocol.counting
    return tally.where(
        sex=sex or counting.sex, occurrence=counting.occurrence, reason=tuple(counting.reasons)
    )


def headline_rows(tally: PatternTally, protocol: Protocol, *, sex: str | None = None) -> HeadlineRows:
    """Make the rows of the headline cases.

    Raises
    ------
    HingelineError
        When no case is left.
    """
    chosen = headline_tally(tally, protocol, sex=sex)
    by = ("hospital", "approach", "known_by") if protocol.typing else ("hospital",)
    rows = chosen.age_rows(direct=protocol.counting.direct, among=protocol.counting.among, by=by)
    if rows.n_groins == 0:
        raise HingelineError(
            "No case is left to estimate a direct share from",
            "study.toml, [counting]",
            "Widen what is counted, or see with 'hingeline check' why the cases were set aside.",
        )
    cells = rows.cells
    bins = np.asarray(cells["age_bin"].to_numpy(), dtype=np.int64)
    days = np.bincount(bins, np.asarray(cells["days"].to_numpy(), dtype=np.float64))
    cases = np.bincount(bins, np.asarray(cells["n"].to_numpy(), dtype=np.float64))
    mean = days / np.maximum(cases, 1) / DAYS_PER_YEAR
    sensitivity, specificity = _typing_by_cell(rows, mean[bins], protocol.typing)
    return HeadlineRows(
        rows=rows,
        age_years=mean[bins][rows.cell],
        sensitivity=sensitivity[rows.cell],
        specificity=specificity[rows.cell],
        tally=chosen,
    )


def _typing_by_cell(rows: AgeRows, age: Floats, entries: tuple[Typing, ...]) -> tuple[Floats, Floats]:
    """Sensitivity and specificity of each cell: the last entry that matches counts."""
    size = rows.cells.num_rows
    sensitivity, specificity = np.ones(size), np.ones(size)
    for entry in entries:
        here = (age >= entry.ages[0]) & (age < entry.ages[1])
        for name in ("hospital", "approach", "known_by"):
            wanted = getattr(entry, name)
            if wanted is not None:
                here &= np.array([value == wanted for value in rows.cells[name].to_pylist()], dtype=np.bool_)
        sensitivity[here], specificity[here] = entry.sensitivity, entry.specificity
    return sensitivity, specificity


class ShareEstimates:
    """Every estimate of the direct share on one set of cases, each made when first asked for.

    Parameters
    ----------
    data : HeadlineRows
    protocol : Protocol
    progress : callable, optional
    workers : int, optional
        Processes; all cores when left out. No digit depends on it.
    """

    def __init__(
        self,
        data: HeadlineRows,
        protocol: Protocol,
        progress: Progress = silent,
        workers: int | None = None,
    ) -> None:
        self.data = data
        self.protocol = protocol
        self.progress = progress
        self.workers = workers

    @property
    def seed(self) -> int:
        """The study's seed."""
        return self.protocol.study.seed

    @property
    def ages(self) -> Floats:
        """Ages at which curves and bands are drawn: whole years that enough people lie at or beyond."""
        low, high = self.ends
        inner = np.arange(np.ceil(low / STEP_YEARS) * STEP_YEARS, high, STEP_YEARS)
        return np.unique(np.concatenate([[low], inner, [high]]))

    @cached_property
    def ends(self) -> tuple[float, float]:
        """Youngest and oldest age told, in years: nobody is given away by being the only one beyond it."""
        counting = self.protocol.counting
        parts = stretches(
            self.data.tally.where(type=tuple(counting.among)),
            counting.direct,
            self.protocol.privacy.smallest_cell,
        )
        if not parts.n.size:
            raise HingelineError(
                "Too few people are left to estimate a direct share from",
                "study.toml, [counting] and [privacy]",
                "Widen what is counted; fewer people than the smallest cell cannot be told of at all.",
            )
        low, high = float(np.floor(parts.age_from[0])), float(np.ceil(parts.age_to[-1]))
        return low, min(high, float(self.protocol.ages.drawn_to))

    @cached_property
    def _patients(self) -> dict[str, Any]:
        """What every estimator is told of the rows beside age, directs and totals."""
        rows = self.data.rows
        return {
            "groups": rows.groups,
            "clusters": rows.clusters,
            "weights": rows.weights,
            "sensitivity": self.data.sensitivity,
            "specificity": self.data.specificity,
        }

    def _told(self, what: str) -> Callable[[int, int], None]:
        return lambda done, of: self.progress(what, done, of)

    @cached_property
    def choice(self) -> TurnChoice:
        """How many turns, with the fit of that many."""
        rows, protocol = self.data.rows, self.protocol
        return choose_turns(
            self.data.age_years,
            rows.direct,
            rows.total,
            most=protocol.turns.most,
            replicates=protocol.resampling.calibration,
            calibration=protocol.resampling.calibration,
            seed=self.seed,
            **self._patients,
            apart_years=protocol.turns.apart_years,
            workers=self.workers,
            progress=self._told("placing and testing the turns"),
        )

    @property
    def fit(self) -> HingeFit:
        """The hinge fit with the chosen number of turns."""
        return self.choice.fit

    @cached_property
    def boot(self) -> HingeBootstrap:
        """Hinges of redrawn patients."""
        rows, protocol = self.data.rows, self.protocol
        return bootstrap_hinges(
            self.data.age_years,
            rows.direct,
            rows.total,
            **self._patients,
            turns=len(self.fit.turns),
            apart_years=protocol.turns.apart_years,
            replicates=protocol.resampling.replicates,
            seed=self.seed,
            ages=self.ages,
            thresholds=protocol.counting.thresholds,
            audit=protocol.resampling.audited,
            workers=self.workers,
            progress=self._told("redrawing patients, hinges"),
        )

    @cached_property
    def curve(self) -> CurveFit:
        """The smooth curve, which assumes no bend."""
        rows = self.data.rows
        self.progress("fitting the smooth curve", 0, 1)
        return fit_curve(
            self.data.age_years,
            rows.direct,
            rows.total,
            **self._patients,
            seed=self.seed,
        )

    @cached_property
    def curve_boot(self) -> CurveBootstrap:
        """Curves of the same redrawn patients."""
        rows, protocol = self.data.rows, self.protocol
        return bootstrap_curve(
            self.data.age_years,
            rows.direct,
            rows.total,
            **self._patients,
            replicates=protocol.resampling.replicates,
            seed=self.seed,
            ages=self.ages,
            thresholds=protocol.counting.thresholds,
            workers=self.workers,
            progress=self._told("redrawing patients, curve"),
        )

    @cached_property
    def steepest(self) -> Steepest:
        """Where the smooth curve grows fastest."""
        low, high = self.ends
        return self.curve.steepest(low, high)

    @cached_property
    def random(self) -> RandomIntercepts:
        """Hospitals' levels as draws from one distribution, given the turns."""
        rows = self.data.rows
        return random_intercepts(
            self.data.age_years,
            rows.direct,
            rows.total,
            [turn.age for turn in self.fit.turns],
            groups=rows.groups,
            weights=rows.weights,
            sensitivity=self.data.sensitivity,
            specificity=self.data.specificity,
        )

    def isotonic_age(self, threshold: float) -> float:
        """Age from which a share that never falls, hospitals taken together, is at a threshold; inf if never."""
        rows = self.data.rows
        fitted = isotonic(self.data.age_years, rows.direct, rows.total, weights=rows.weights)
        reached = np.flatnonzero(fitted.share >= threshold)
        return float(fitted.age[reached[0]]) if reached.size else float("inf")

    def crossing(self, threshold: float, *, by: str = "hinge") -> Crossing:
        """Return the age at which the standardised share first reaches a threshold, with its interval.

        Parameters
        ----------
        threshold : float
        by : {"hinge", "curve"}
        """
        low, high = self.ends
        fit, boot = (self.curve, self.curve_boot) if by == "curve" else (self.fit, self.boot)
        return crossing(fit, threshold, lowest=low, highest=high, boot=boot)
