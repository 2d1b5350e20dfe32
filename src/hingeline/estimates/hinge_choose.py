"""Rows come in; how many turns they bear comes out, by three ways that need not agree.

Schwarz's criterion with n = patients (not bins: on the one-turn example of the textbooks the choice flips)
and every turn's age counted; the parametric-bootstrap likelihood ratio of k turns against k + 1 (Davison &
Hinkley, Bootstrap Methods, 1997, section 4.2.3); and how often the criterion would choose as many in samples
of other patients.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.hinge_certify import Certificate, fit_eta
from hingeline.estimates.hinge_design import HingeDesign, design_of
from hingeline.estimates.hinge_fit import HingeFit
from hingeline.estimates.hinge_fits import Found
from hingeline.estimates.hinge_make import bic, count_patients, fit_design, found_of, likeness
from hingeline.estimates.hinge_newton import without_information
from hingeline.estimates.hinge_profile import OBVIOUS, draw, seen_shares
from hingeline.estimates.hinge_rows import MOST_TURNS, Floats, Rows, check_rows, counts_by_cell
from hingeline.estimates.hinge_search import search
from hingeline.estimates.parallel import Progress, beside, run_tasks


@dataclass(frozen=True)
class TurnChoice:
    """How many turns, and the fit with as many.

    Attributes
    ----------
    fit : HingeFit
        The fit that the criterion chooses, with intervals.
    turns : (K,) int
        0, 1, … : the numbers of turns compared.
    logliks, bics : (K,) float
    ratios, p_values : (K,) float
        Of k turns against k + 1 (nan for the last), by parametric bootstrap under k; no p-value is below
        1 / (replicates + 1), which is also given where the ratio is too high to need samples.
    simulated : (K,) bool
        Whether samples were drawn for the p-value.
    frequencies : (K,) float
        Share of bootstrap samples of patients in which the criterion chooses as many; nan without samples.
    by_bic, by_test : int
        The number with the lowest criterion, and the first that the test does not reject.
    replicates : int
    alpha : float
        Of the test.
    """

    fit: HingeFit
    turns: tuple[int, ...]
    logliks: tuple[float, ...]
    bics: tuple[float, ...]
    ratios: tuple[float, ...]
    p_values: tuple[float, ...]
    simulated: tuple[bool, ...]
    frequencies: tuple[float, ...]
    by_bic: int
    by_test: int
    replicates: int
    alpha: float

    @property
    def agree(self) -> bool:
        """Whether criterion and test choose alike."""
        return self.by_bic == self.by_test

    def to_frame(self) -> pa.Table:
        """One row a number of turns."""
        return pa.table(
            {
                "turns": pa.array(self.turns, pa.int8()),
                "loglik": self.logliks,
                "bic": self.bics,
                "bic_difference": [value - min(self.bics) for value in self.bics],
                "ratio_to_next": self.ratios,
                "p_to_next": self.p_values,
                "p_simulated": self.simulated,
                "frequency": self.frequencies,
                "chosen": [k == self.by_bic for k in self.turns],
            }
        )

    def __str__(self) -> str:
        return wording.chosen_turns(self.by_bic, self.by_test, self.replicates > 0)


def choose_turns(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    *,
    most: int = 3,
    replicates: int = 999,
    seed: int = 20,
    selection_replicates: int | None = None,
    groups: ArrayLike | None = None,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    apart_years: float = 2,
    family: str = "binomial",
    unit: str = "years",
    certify: bool = True,
    level: float = 0.95,
    intervals: bool = True,
    calibration: int = 199,
    alpha: float = 0.05,
    workers: int | None = None,
    progress: Progress | None = None,
) -> TurnChoice:
    """Choose the number of turns from 0 to ``most`` (see `fit_hinges` for the other arguments).

    Parameters
    ----------
    most : int
        Up to 3; fewer are compared when the ages leave no room for as many.
    replicates : int
        Parametric bootstrap samples behind each p-value; 0 leaves the test out.
    selection_replicates : int, optional
        Bootstrap samples of patients behind the frequencies; ``replicates`` when left out.
    alpha : float
        Level of the test.
    progress : callable, optional
        Told (done, of) over the samples of the test, of the frequencies and of the intervals' cut-offs.

    Raises
    ------
    HingelineError
        As `fit_hinges`, and for impossible ``most``, ``replicates`` or ``alpha``.
    """
    if not isinstance(most, int | np.integer) or not 0 <= most <= MOST_TURNS:
        raise HingelineError(f"up to {most} turns", "most", f"give a whole number from 0 to {MOST_TURNS}")
    samples = replicates if selection_replicates is None else selection_replicates
    if replicates < 0 or samples < 0:
        raise HingelineError("fewer than 0 replicates", "replicates", "give a number of replicates, or 0")
    if not 0 < alpha < 1:
        raise HingelineError(f"alpha {alpha}", "alpha", "give a number between 0 and 1, such as 0.05")
    rows = check_rows(
        age,
        direct,
        total,
        groups=groups,
        clusters=clusters,
        weights=weights,
        sensitivity=sensitivity,
        specificity=specificity,
        family=family,
        unit=unit,
    )
    designs = _designs(rows, apart_years, int(most))

    def fitted(
        design: HingeDesign,
        with_intervals: bool,
        known: tuple[Found, Certificate] | None = None,
        progress: Progress | None = None,
    ) -> HingeFit:
        return fit_design(
            rows,
            design,
            prove=certify,
            level=level,
            intervals=with_intervals,
            calibration=calibration,
            seed=seed,
            workers=workers,
            progress=progress,
            known=known,
        )

    told = _Stages(progress, samples)
    frequencies = np.full(len(designs), np.nan)
    # the proof of the richest fit takes as long as many samples, and no sample needs it
    with beside(lambda: fitted(designs[-1], False), workers) as richest:
        if samples:
            task = Selection(tuple(designs), rows, count_patients(rows), seed)
            picked = run_tasks(task, samples, workers=workers, progress=told())[:, 0].astype(np.int64)
            frequencies = np.bincount(picked, minlength=len(designs)) / samples
        fits = [*(fitted(design, False) for design in designs[:-1]), richest()]
    bics = [fit.bic for fit in fits]
    chosen = int(np.argmin(bics))
    steps = len(designs) - 1
    ratios = [max(2 * (richer.loglik - fit.loglik), 0.0) for fit, richer in pairwise(fits)]
    # groins of one patient are alike, which makes ratios too high (see `hinge_make.likeness`)
    alike = [
        float(likeness(rows, fit.covariance, fit.robust_covariance, fit.design.turns).max())
        for fit in fits[1:]
    ]
    drawn = [bool(replicates) and ratio < OBVIOUS * more for ratio, more in zip(ratios, alike, strict=True)]
    inverted = calibration if intervals and chosen else 0
    told.add(sum(drawn) * replicates + inverted)
    p_values = _tests(
        rows,
        fits,
        [r / more for r, more in zip(ratios, alike, strict=True)],
        drawn,
        replicates,
        seed,
        workers,
        told,
    )
    by_test = next((k for k in range(steps) if not p_values[k] <= alpha), steps)
    return TurnChoice(
        fitted(designs[chosen], intervals, _proved(fits[chosen]), told()),
        tuple(range(len(designs))),
        tuple(fit.loglik for fit in fits),
        tuple(bics),
        (*ratios, float("nan")),
        tuple(p_values),
        (*drawn, False),
        tuple(float(f) for f in frequencies),
        chosen,
        by_test if replicates else chosen,
        int(replicates),
        float(alpha),
    )


def _proved(fit: HingeFit) -> tuple[Found, Certificate] | None:
    """The maximum of a fit with its proof, so that it need not be proved twice."""
    if fit.certificate is None:
        return None
    return replace(found_of(fit), loglik=fit.certificate.best), fit.certificate


def _designs(rows: Rows, apart_years: float, most: int) -> list[HingeDesign]:
    designs = [design_of(rows, apart_years, 0)]
    for k in range(1, most + 1):
        try:
            designs.append(design_of(rows, apart_years, k))
        except HingelineError:
            if k == 1:
                raise
            break
    return designs


class _Stages:
    """One progress over several runs: each call hands out the callback of the next run."""

    def __init__(self, progress: Progress | None, whole: int) -> None:
        self._progress = progress
        self._whole = whole
        self._past = 0

    def add(self, more: int) -> None:
        """Tell of samples whose number was not known before."""
        self._whole += more

    def __call__(self) -> Progress | None:
        progress, before = self._progress, self._past
        if progress is None:
            return None

        def tell(done: int, of: int) -> None:
            self._past = min(max(self._past, before + done), self._whole)
            progress(self._past, self._whole)

        return tell


def _tests(
    rows: Rows,
    fits: list[HingeFit],
    ratios: list[float],
    simulated: list[bool],
    replicates: int,
    seed: int,
    workers: int | None,
    told: Callable[[], Progress | None],
) -> list[float]:
    """Bootstrap p-value of k against k + 1 for every k; the last has none.

    The ratios are those over patients; one above `OBVIOUS` is taken to exceed all samples without drawing them.
    """
    p_values = []
    for (fit, richer), ratio, draws in zip(pairwise(fits), ratios, simulated, strict=True):
        p = 1 / (replicates + 1) if replicates else float("nan")
        if draws:
            y, n = counts_by_cell(rows, fit.design.cell_of_row, fit.design.n_cells)
            _, _, settled = without_information(fit.design.cells, y, n)
            shares = seen_shares(fit.design.cells, fit_eta(fit.design.cells, found_of(fit)), settled)
            task = Ratio(fit.design, richer.design, shares, n, seed)
            drawn = run_tasks(task, replicates, workers=workers, progress=told())[:, 0]
            p = float((1 + np.sum(drawn >= ratio - 1e-9)) / (replicates + 1))
        p_values.append(p)
    return [*p_values, float("nan")]


@dataclass(frozen=True)
class Ratio:
    """One replicate of the test: counts drawn with k turns, fitted with k and with k + 1."""

    fewer: HingeDesign
    richer: HingeDesign
    shares: Floats
    total: Floats
    seed: int

    def __call__(self, number: int) -> Floats:
        """Likelihood ratio (1,)."""
        rng = np.random.default_rng([self.seed, 10 + self.fewer.turns, number])
        counts = draw(self.fewer, self.shares, self.total, rng)
        y, n, _ = without_information(self.fewer.cells, counts, self.total)
        if not y.any():
            return np.zeros(1)
        few = search(self.fewer.cells, y, n, self.fewer.turns)
        many = search(self.richer.cells, y, n, self.richer.turns, fewer=few)
        return np.array([2 * max(many.loglik - few.loglik, 0.0)])


@dataclass(frozen=True)
class Selection:
    """One bootstrap sample of patients, and the number of turns that the criterion chooses in it."""

    designs: tuple[HingeDesign, ...]
    rows: Rows
    patients: float
    seed: int

    def __call__(self, number: int) -> Floats:
        """Number of turns (1,)."""
        rng = np.random.default_rng([self.seed, 20, number])
        y_all, n_all = self.sample(rng)
        values: list[float] = []
        fewer: Found | None = None
        for design in self.designs:
            y, n, _ = without_information(design.cells, y_all, n_all)
            fewer = search(design.cells, y, n, design.turns, fewer=fewer) if y.any() else None
            loglik = fewer.loglik if fewer is not None else 0.0
            values.append(bic(loglik, self.patients, design.cells.n_groups, design.turns))
        return np.array([float(np.argmin(values))])

    def sample(self, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Counts by cell of as many patients drawn with replacement (of rates, events drawn as Poisson)."""
        rows, design = self.rows, self.designs[0]
        if rows.clusters is not None:
            held = np.zeros(int(rows.clusters.max()) + 1)
            held[rows.clusters] = rows.weights
            drawn = rng.multinomial(int(held.sum()), held / held.sum()).astype(np.float64)
            weights = drawn[rows.clusters]
            return design.by_cell(rows.direct * weights), design.by_cell(rows.total * weights)
        y, n = counts_by_cell(rows, design.cell_of_row, design.n_cells)
        if rows.family == "poisson":
            return rng.poisson(y).astype(np.float64), n
        whole = np.concatenate([y, n - y])
        drawn = rng.multinomial(int(whole.sum()), whole / whole.sum()).astype(np.float64)
        return drawn[: y.size], drawn[: y.size] + drawn[y.size :]
