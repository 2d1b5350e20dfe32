"""Groins needed to know an age: where the direct share turns, or where it crosses a threshold. By simulation.

A shape, the ages of the patients and the hospitals come in; studies are drawn and refitted on all cores, and the
size goes out at which 19 of 20 of them find the age to within the half-width. Study i holds the same first
patients at every size (common random numbers), so that sizes can be compared. A quarter of the studies brackets
the size, all of them settle it; between near sizes the half-width is taken to fall with the square root of the
size. That a turn is one is not asked here but told beside it: how often the criterion (BIC with n = patients)
would choose so many turns.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri
from scipy.stats import binom

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.cells import finite_column, open_unit
from hingeline.estimates.first_reach import hinge_crossings
from hingeline.estimates.hinge_design import HingeDesign, prepare_hinges
from hingeline.estimates.parallel import Progress, run_tasks
from hingeline.estimates.patterns import checked_seed
from hingeline.estimates.simulate import Shape, simulate_patients
from hingeline.estimates.size_parts import Allowance, Size, checked_positive, checked_share, whole

Floats = NDArray[np.float64]

USUAL: Final = Allowance(bilateral=0.1, groin_correlation=0.4)
"""One patient in ten with both groins, alike as `simulate_patients` has them."""
BLOCK: Final = 2048
"""Patients drawn at a time; a study's patients are the first of its blocks at any size."""
FEWEST: Final = 100
"""Patients under which no study is tried."""
LARGEST: Final = 300_000
"""Patients over which none is tried."""
FIRST: Final = 2_000
NEAR: Final = 1.1
"""Sizes this close (as a ratio) bracket the answer well enough: the simulation error is larger."""
LAW_HOLDS: Final = 1.15
"""Sizes this close (as a ratio) are taken for each other by the law of the square root."""
MOST_STEPS: Final = 6
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
class _Tried:
    """One size as it came out."""

    patients: int
    half_width: float
    low: float
    high: float
    chosen: float


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
    return _size(sought, half_width, level, studies, workers, progress)


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
    return _size(sought, half_width, level, studies, workers, progress)


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
    _checked_studies(studies, level)
    patients = math.floor(groins * (1 - allow.lost) / (1 + allow.bilateral))
    if patients < FEWEST:
        raise HingelineError(
            f"{groins:g} groins leave {patients} patients",
            "groins",
            f"Give enough for {FEWEST} patients or more",
        )
    tried = _try(sought, patients, studies, level, workers, progress)
    return _answer(
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


def _size(
    sought: AgesSought,
    half_width: float,
    level: float,
    studies: int,
    workers: int | None,
    progress: Progress | None,
) -> Size:
    """Bracket the size, close the bracket, and take it from the law through the sizes tried."""
    checked_positive(half_width, "half_width", "Give years above 0")
    _checked_studies(studies, level)
    few = max(FEWEST_STUDIES, studies // 4)

    def attempt(patients: int, count: int = few) -> _Tried:
        return _try(sought, patients, count, level, workers, progress)

    low, high = _bracket(attempt, half_width)
    while high.patients > NEAR * low.patients:
        middle = _by_law(low.patients, low.half_width, half_width)
        inner = math.sqrt(NEAR)
        inside = low.patients * inner < middle < high.patients / inner
        between = attempt(round(middle if inside else math.sqrt(low.patients * high.patients)))
        low, high = (between, high) if between.half_width > half_width else (low, between)
    # the bracket rests on a quarter of the studies: all of them settle it
    last, patients = _settled(lambda n: attempt(n, studies), high.patients, half_width)
    limits = (
        min(_by_law(last.patients, last.low, half_width), patients),
        max(_by_law(last.patients, last.high, half_width), patients)
        if math.isfinite(last.high)
        else math.inf,
    )
    return _answer(sought, replace(last, patients=patients), half_width, level, studies, limits)


def _settled(attempt: Callable[[int], _Tried], start: int, half_width: float) -> tuple[_Tried, int]:
    """A size near which the law of the square root may be trusted, and the size that it gives for the wish.

    Where the half-width jumps (an age that small studies do not find at all) no law holds: then the smallest size
    tried that suffices is the answer.
    """
    last, short, enough = attempt(start), None, None
    for _ in range(MOST_STEPS):
        if last.half_width <= half_width:
            enough = last
        else:
            short = last
        wanted = _by_law(last.patients, last.half_width, half_width)
        if math.isfinite(last.half_width) and 1 / LAW_HOLDS <= wanted / last.patients <= LAW_HOLDS:
            return last, max(FEWEST, round(wanted))
        if short is not None and enough is not None:
            if enough.patients <= LAW_HOLDS * short.patients:
                break
            if not short.patients * 1.05 < wanted < enough.patients / 1.05:
                wanted = math.sqrt(short.patients * enough.patients)
        wanted = min(max(round(wanted), FEWEST), LARGEST)
        if wanted == last.patients:
            break
        last = attempt(wanted)
    if last.half_width <= half_width and (enough is None or last.patients < enough.patients):
        enough = last
    if enough is None:
        return last, min(round(_by_law(last.patients, last.half_width, half_width)), LARGEST)
    return enough, enough.patients


def _bracket(attempt: Callable[[int], _Tried], half_width: float) -> tuple[_Tried, _Tried]:
    """Two sizes, of which the smaller does not suffice and the larger does."""
    at = attempt(FIRST)
    while True:
        enough = at.half_width <= half_width
        wanted = _by_law(at.patients, at.half_width, half_width)
        if enough:
            if at.patients <= FEWEST:
                return at, at
            smaller = attempt(max(FEWEST, round(min(max(wanted * 0.9, at.patients / 8), at.patients / 1.3))))
            if smaller.half_width > half_width:
                return smaller, at
            at = smaller
        else:
            if at.patients >= LARGEST:
                raise HingelineError(
                    f"{LARGEST:,} patients would not suffice for a half-width of {half_width:g} years",
                    "half_width",
                    "Ask for less precision, or assume a sharper turn or a steeper share",
                )
            larger = attempt(min(LARGEST, round(max(min(wanted * 1.1, at.patients * 8), at.patients * 1.3))))
            if larger.half_width <= half_width:
                return at, larger
            at = larger


def _by_law(patients: int, half_width: float, wanted: float) -> float:
    """Patients by the law of the square root; eightfold where the half-width is not finite."""
    return patients * (half_width / wanted) ** 2 if math.isfinite(half_width) else patients * 8.0


def _try(
    sought: AgesSought,
    patients: int,
    studies: int,
    level: float,
    workers: int | None,
    progress: Progress | None,
) -> _Tried:
    """Half-width of one size: the quantile of the errors, with limits from its neighbours in order."""
    table = run_tasks(_Study(sought, patients), studies, workers=workers, progress=progress)
    errors = np.sort(table[:, 0])
    places = [level * studies, *(binom.ppf(tail, studies, level) for tail in (0.025, 0.975))]
    value, low, high = (errors[min(max(math.ceil(p - 1e-9), 1), studies) - 1] for p in places)
    if binom.ppf(0.975, studies, level) >= studies:  # the sample says nothing on how far it may lie above
        high = math.inf
    return _Tried(patients, float(value), float(low), float(high), float(table[:, 1].mean()))


def _answer(
    sought: AgesSought,
    tried: _Tried,
    half_width: float,
    level: float,
    studies: int,
    limits: tuple[float, float],
    given: int | None = None,
) -> Size:
    allow = sought.allowance
    groins = tried.patients * (1 + allow.bilateral)
    analysed = whole(groins)
    enrolled = whole(analysed / (1 - allow.lost)) if given is None else given
    if math.isnan(sought.threshold):
        sign = 1 if sought.shape.changes[sought.turn] > 0 else -1
        about = wording.size_turn_sought(sought.truth, sign)
    else:
        about = wording.size_crossing_sought(sought.threshold, sought.truth)
    if given is None:
        scale = (1 + allow.bilateral) / (1 - allow.lost)
        error = (limits[0] * scale, limits[1] * scale)
        sentence = wording.size_for_age(
            about, half_width, level, analysed, allow.lost, enrolled, allow.patients(enrolled), error, studies,
            tried.chosen,
        )  # fmt: skip
    else:
        error = limits
        sentence = wording.precision_for_age(
            about, half_width, level, given, allow.lost, error, studies, tried.chosen
        )
    share = sought.shape.share(sought.ages)
    return Size(
        question="turn" if math.isnan(sought.threshold) else "crossing",
        exact=(groins,),
        per_arm=(analysed,),
        enrolled=(enrolled,),
        total=enrolled,
        patients=allow.patients(enrolled),
        events=float(groins * (np.diff(sought.upper, prepend=0.0) @ share)),
        power=tried.chosen,
        half_width=half_width,
        level=level,
        allowance=allow,
        assumptions=(
            ("age_years", sought.truth),
            ("half_width", half_width),
            ("hospitals", len(sought.hospital_logits)),
            ("studies", studies),
            ("seed", sought.seed),
        ),
        method=wording.size_method_simulated(studies),
        sentence=sentence,
        error=error,
    )


def _checked_studies(studies: int, level: float) -> None:
    checked_share(level, "level")
    if not isinstance(studies, int | np.integer) or studies < FEWEST_STUDIES:
        raise HingelineError(
            f"{studies} simulated studies do not tell a half-width",
            "studies",
            f"Ask for {FEWEST_STUDIES} or more",
        )
