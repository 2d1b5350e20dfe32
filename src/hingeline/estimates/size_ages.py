"""Groins needed to know an age: where the direct share turns, or where it crosses a threshold. By simulation.

A shape, the ages of the patients and the hospitals come in; studies are drawn and refitted on all cores
(`size_studies`), and the size goes out at which 19 of 20 of them find the age to within the half-width (`size_search`).
That a turn is one is not asked here but told beside it: how often the criterion (BIC with n = patients) would choose
so many turns.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.cells import finite_column, open_unit
from hingeline.estimates.hinge_design import HingeDesign, prepare_hinges
from hingeline.estimates.parallel import Progress
from hingeline.estimates.patterns import checked_seed
from hingeline.estimates.simulate import Shape
from hingeline.estimates.size_parts import Allowance, Size, checked_positive, whole
from hingeline.estimates.size_search import FEWEST, answer, smallest
from hingeline.estimates.size_studies import AgesSought, Floats, check_studies, try_size

USUAL: Final = Allowance(bilateral=0.1, groin_correlation=0.4)
"""One patient in ten with both groins, alike as `simulate_patients` has them."""


def size_turn(
    shape: Shape,
    age_years: ArrayLike,
    half_width: float,
    *,
    turn: int = 0,
    age_weights: ArrayLike | None = None,
    hospitals: int = 1,
    hospital_spread: float = 0.0,
    allow: Allowance = USUAL,
    level: float = 0.95,
    apart_years: float = 2,
    studies: int = 400,
    seed: int = 20,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Size:
    """Groins needed to find a turn of the direct share to within a half-width.

    Parameters
    ----------
    shape : Shape
        The truth that is assumed; as many turns are fitted as it has within the patients' ages.
    age_years : array_like, (ages,)
        Ages of the patients, or of age bins with ``age_weights``. They are taken together by half-years to 30
        and by whole years after.
    half_width : float
        Years either side of the truth within which the estimate has to lie in ``level`` of the studies.
    turn : int
        Which of the shape's turns, from 0.
    age_weights : array_like, (ages,), optional
        Patients of each age, in any unit; one each unless given.
    hospitals : int
        As many of equal size, each with an intercept of its own in the fit.
    hospital_spread : float
        Standard deviation of the hospitals on the logit.
    allow : Allowance
        ``lost`` are groins whose type stays unknown; ``bilateral`` and ``groin_correlation`` are simulated.
        Likeness within hospitals enters by ``hospital_spread`` instead.
    level : float
        Share of the studies.
    apart_years : float
        As in `fit_hinges`.
    studies : int
        Simulated studies of each size; 100 or more.
    seed, workers, progress
        The same bytes on any number of cores. Progress is told over the studies of the size being tried.

    Raises
    ------
    HingelineError
        When an assumption is impossible, or even the largest study that is tried does not suffice.
    """
    sought = _sought(
        shape, age_years, age_weights, hospitals, hospital_spread, allow, apart_years, seed, math.nan, turn
    )
    return smallest(sought, half_width, level, studies, workers, progress)


def size_crossing(
    shape: Shape,
    age_years: ArrayLike,
    half_width: float,
    *,
    threshold: float = 0.10,
    age_weights: ArrayLike | None = None,
    hospitals: int = 1,
    hospital_spread: float = 0.0,
    allow: Allowance = USUAL,
    level: float = 0.95,
    apart_years: float = 2,
    studies: int = 400,
    seed: int = 20,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Size:
    """Groins needed to find the age at which the direct share reaches a threshold to within a half-width.

    ``threshold`` is a share; the rest as in `size_turn`. The share is standardised to hospitals of equal weight.
    """
    open_unit(threshold, "threshold")
    sought = _sought(
        shape, age_years, age_weights, hospitals, hospital_spread, allow, apart_years, seed, threshold, 0
    )
    return smallest(sought, half_width, level, studies, workers, progress)


def precision_of_ages(
    shape: Shape,
    age_years: ArrayLike,
    groins: float,
    *,
    threshold: float | None = None,
    turn: int = 0,
    age_weights: ArrayLike | None = None,
    hospitals: int = 1,
    hospital_spread: float = 0.0,
    allow: Allowance = USUAL,
    level: float = 0.95,
    apart_years: float = 2,
    studies: int = 400,
    seed: int = 20,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Size:
    """The other way round: to within how many years so many enrolled groins find a turn, or a crossing.

    With a ``threshold`` the crossing is sought, else the turn. ``error`` of the answer holds the limits of the
    half-width in years by simulation error.
    """
    checked_positive(groins, "groins", "Give the groins to be enrolled")
    sought = _sought(
        shape,
        age_years,
        age_weights,
        hospitals,
        hospital_spread,
        allow,
        apart_years,
        seed,
        math.nan if threshold is None else open_unit(threshold, "threshold"),
        turn,
    )
    check_studies(studies, level)
    patients = math.floor(groins * (1 - allow.lost) / (1 + allow.bilateral))
    if patients < FEWEST:
        raise HingelineError(
            f"{groins:g} groins leave {patients} patients",
            "groins",
            f"Give enough for {FEWEST} patients or more",
        )
    tried = try_size(sought, patients, studies, level, workers, progress)
    return answer(
        sought, tried, tried.half_width, level, studies, (tried.low, tried.high), given=whole(groins)
    )


def _sought(
    shape: Shape,
    age_years: ArrayLike,
    age_weights: ArrayLike | None,
    hospitals: int,
    hospital_spread: float,
    allow: Allowance,
    apart_years: float,
    seed: int,
    threshold: float,
    turn: int,
) -> AgesSought:
    """Check what is assumed, and prepare what is fitted."""
    checked_seed(seed)
    if not isinstance(hospitals, int | np.integer) or hospitals < 1:
        raise HingelineError(f"There are {hospitals} hospitals", "hospitals", "Give 1 or more")
    if not (math.isfinite(hospital_spread) and hospital_spread >= 0):
        raise HingelineError(
            f"The hospitals' spread is {hospital_spread:g}", "hospital_spread", "Give logits, 0 or more"
        )
    if allow.per_hospital != 1 or allow.hospital_correlation:
        raise HingelineError(
            "Likeness within hospitals is simulated here, not multiplied",
            "allow.per_hospital, allow.hospital_correlation",
            "Give 'hospitals' and 'hospital_spread' instead",
        )
    ages, upper = _bins(age_years, age_weights)
    inside = [i for i, at in enumerate(shape.turns) if ages[0] + apart_years <= at <= ages[-1] - apart_years]
    if math.isnan(threshold) and turn not in inside:
        raise HingelineError(
            f"The shape has no turn {turn} (counted from 0) that patients of {ages[0]:g} to {ages[-1]:g} could show",
            "turn, shape, age_years",
            f"Ask for a turn at least {apart_years:g} years from the youngest and the oldest, or enrol other ages",
        )
    truth = shape.turns[turn] if math.isnan(threshold) else shape.crossing(threshold)
    if not ages[0] < truth < ages[-1]:
        raise HingelineError(
            f"The age sought, {wording.age(truth)} years, does not lie between the patients' ages",
            "shape, age_years",
            f"Assume one between {ages[0]:g} and {ages[-1]:g}, or enrol other ages",
        )
    at, hospital = np.repeat(ages, hospitals), np.tile(np.arange(hospitals), ages.size)
    once = np.ones(at.size)

    def design(turns: int) -> HingeDesign:
        return prepare_hinges(at, once, turns=turns, groups=hospital, apart_years=apart_years)

    k = len(inside)
    logits = np.zeros(hospitals)
    if hospitals > 1:
        quantiles = ndtri((np.arange(hospitals) + 0.5) / hospitals)
        logits = hospital_spread * quantiles / quantiles.std()
    return AgesSought(
        shape=shape,
        ages=ages,
        upper=upper,
        hospital_logits=logits,
        allowance=allow,
        design=design(k),
        fewer=design(k - 1) if k and math.isnan(threshold) else None,
        threshold=threshold,
        turn=turn,
        first=inside[0] if inside else 0,
        seed=int(seed),
    )


def _bins(age_years: ArrayLike, age_weights: ArrayLike | None) -> tuple[Floats, Floats]:
    """Middles of half-years to 30 and whole years after, and the cumulative share of patients up to each."""
    age = finite_column(age_years, "age_years")
    weight = np.ones(age.size) if age_weights is None else finite_column(age_weights, "age_weights")
    if (
        age.size == 0
        or weight.shape != age.shape
        or (weight < 0).any()
        or weight.sum() <= 0
        or (age < 0).any()
    ):
        raise HingelineError(
            "The patients' ages are impossible",
            "age_years, age_weights",
            "Give ages of 0 or more with one weight each, of 0 or more and not all 0",
        )
    middle = np.where(age < 30, np.floor(age * 2) / 2 + 0.25, np.floor(age) + 0.5)
    ages, place = np.unique(middle[weight > 0], return_inverse=True)
    share = np.bincount(place, weight[weight > 0])
    upper = np.cumsum(share) / share.sum()
    upper[-1] = 1.0
    return ages, upper
