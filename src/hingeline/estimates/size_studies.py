"""Simulated studies that look for an age: a shape, ages and hospitals come in, how near the estimates come goes out.

Study i holds the same first patients at every size (common random numbers), so that sizes can be compared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

from hingeline.errors import HingelineError
from hingeline.estimates.first_reach import hinge_crossings
from hingeline.estimates.hinge_design import HingeDesign
from hingeline.estimates.parallel import Progress, run_tasks
from hingeline.estimates.simulate import Shape, simulate_patients
from hingeline.estimates.size_parts import Allowance, checked_share

Floats = NDArray[np.float64]
BLOCK: Final = 2048
"""Patients drawn at a time; a study's patients are the first of its blocks at any size."""
FEWEST_STUDIES: Final = 100


@dataclass(frozen=True)
class AgesSought:
    """What is simulated: patients, and what is fitted to them.

    Attributes
    ----------
    shape : Shape
    ages : array, (ages,)
        Middle of each age bin in years.
    upper : array, (ages,)
        Cumulative share of patients up to each.
    hospital_logits : array, (hospitals,)
    allowance : Allowance
    design, fewer : HingeDesign
        With all turns that are fitted, and with one less (None when a crossing is sought).
    threshold : float
        Share to be crossed; nan when a turn is sought.
    turn : int
        Place of the turn sought among the shape's, from 0.
    first : int
        Place of the first turn that is fitted; those outside the patients' ages are not.
    seed : int
    """

    shape: Shape
    ages: Floats
    upper: Floats
    hospital_logits: Floats
    allowance: Allowance
    design: HingeDesign
    fewer: HingeDesign | None
    threshold: float
    turn: int
    first: int
    seed: int

    @property
    def truth(self) -> float:
        """The age that is sought."""
        return (
            self.shape.turns[self.turn] if math.isnan(self.threshold) else self.shape.crossing(self.threshold)
        )

    def cells(self, study: int, patients: int) -> tuple[Floats, Floats]:
        """Directs and groins by cell of a study's first patients."""
        hospitals = len(self.hospital_logits)
        direct, total = np.zeros(self.ages.size * hospitals), np.zeros(self.ages.size * hospitals)
        for block in range(-(-patients // BLOCK)):
            stream = np.random.SeedSequence(self.seed, spawn_key=(study, block))
            generator = np.random.Generator(np.random.Philox(stream))
            at = np.searchsorted(self.upper, generator.random(BLOCK), side="right")
            hospital = generator.integers(hospitals, size=BLOCK)
            drawn = simulate_patients(
                self.ages[at],
                self.shape,
                generator,
                hospital=hospital,
                hospital_logits=self.hospital_logits,
                bilateral=self.allowance.bilateral,
                correlation=self.allowance.groin_correlation,
            )
            kept = drawn.patient < patients - block * BLOCK
            cell = (at * hospitals + hospital)[drawn.patient[kept]]
            total += np.bincount(cell, minlength=total.size)
            direct += np.bincount(cell, drawn.direct[kept], minlength=total.size)
        return direct, total


@dataclass(frozen=True)
class _Study:
    """What a process does with the number of a study: draw it, refit it, tell the error and whether it is chosen."""

    sought: AgesSought
    patients: int

    def __call__(self, study: int) -> Floats:
        sought = self.sought
        direct, total = sought.cells(study, self.patients)
        fit = sought.design.refit(sought.design.by_cell(direct), sought.design.by_cell(total))
        chosen = math.nan
        if math.isnan(sought.threshold):
            found = (
                np.sort(fit.turns)[sought.turn - sought.first] if np.isfinite(fit.turns).all() else math.inf
            )
            if sought.fewer is not None:
                less = sought.fewer.refit(sought.fewer.by_cell(direct), sought.fewer.by_cell(total))
                # a turn costs two parameters, its age and its change of slope
                chosen = float(2 * (fit.loglik - less.loglik) > 2 * math.log(self.patients))
        else:
            hospitals = len(sought.hospital_logits)
            found = hinge_crossings(
                fit.coefficients[None, :],
                fit.turns[None, :],
                sought.threshold,
                np.full(hospitals, 1 / hospitals),
                float(sought.ages[0]),
                float(sought.ages[-1]),
            )[0]
        error = abs(float(found) - sought.truth)
        return np.array([math.inf if math.isnan(error) else error, chosen])


@dataclass(frozen=True)
class Tried:
    """One size as it came out."""

    patients: int
    half_width: float
    low: float
    high: float
    chosen: float


def try_size(
    sought: AgesSought,
    patients: int,
    studies: int,
    level: float,
    workers: int | None,
    progress: Progress | None,
) -> Tried:
    """Half-width of one size: the quantile of the errors, with limits from its neighbours in order."""
    table = run_tasks(_Study(sought, patients), studies, workers=workers, progress=progress)
    errors = np.sort(table[:, 0])
    places = [level * studies, *(binom.ppf(tail, studies, level) for tail in (0.025, 0.975))]
    value, low, high = (errors[min(max(math.ceil(p - 1e-9), 1), studies) - 1] for p in places)
    if binom.ppf(0.975, studies, level) >= studies:  # the sample says nothing on how far it may lie above
        high = math.inf
    return Tried(patients, float(value), float(low), float(high), float(table[:, 1].mean()))


def check_studies(studies: int, level: float) -> None:
    """Refuse a level that is no share, and fewer studies than tell a share of them."""
    checked_share(level, "level")
    if not isinstance(studies, int | np.integer) or studies < FEWEST_STUDIES:
        raise HingelineError(
            f"{studies} simulated studies do not tell a half-width",
            "studies",
            f"Ask for {FEWEST_STUDIES} or more",
        )
