"""Turns, shares and crossings of redrawn patients, by the hinges' fast path.

Rows of patients' patterns come in; for every replicate its turns, shares, crossings and slopes go out, in
arrays that stay together row by row, so that two bootstraps under one seed can be subtracted (percentile
limits: Davison & Hinkley, Bootstrap Methods and their Application, 1997, 5.3). A share of the replicates is
audited: the maximum that was found quickly is compared with the one that is proved.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.bootstrap import (
    checked_span,
    checked_thresholds,
    column_at,
    crossing_columns,
    freeze_mixes,
)
from hingeline.estimates.cells import checked_mix, finite_column, open_unit
from hingeline.estimates.first_reach import HingeLogit, hinge_crossings
from hingeline.estimates.hinge_certify import certify
from hingeline.estimates.hinge_design import HingeDesign, prepare_hinges, share
from hingeline.estimates.hinge_fits import Found, fit_at
from hingeline.estimates.hinge_newton import without_information
from hingeline.estimates.hinge_rows import check_rows
from hingeline.estimates.mix import mix_near
from hingeline.estimates.parallel import Progress, run_tasks
from hingeline.estimates.patterns import CellDraws, cell_draws, checked_seed, percentile_interval

Array = NDArray[np.float64]

MISSED: Final = 1e-6
"""Log-likelihood by which a replicate may lie below the proved maximum and still count as having found it."""
AUDIT_BOXES: Final = 3000
"""Sets of turns that an audit may examine (about 200 are usual): after that the replicate is undecided."""


@dataclass(frozen=True, eq=False)
class HingeBootstrap:
    """Hinges of redrawn patients, one row a replicate.

    Attributes
    ----------
    turns : array, shape (replicates, k)
        Years, youngest first.
    shares : array, shape (replicates, ages)
        Standardised share at ``ages`` (years).
    crossings : array, shape (replicates, thresholds)
        First age in years at each of ``thresholds``: inf not reached, −inf there already at ``lowest``.
    odds_per_year : array, shape (replicates, k + 1)
        What a year multiplies the odds by, on each stretch (for a family of rates, the rate).
    coefficients : array, shape (replicates, hospitals + 1 + k)
        Penalised intercepts at age 0, slope of the first stretch a year, changes of slope.
    loglik : array, shape (replicates,)
        Unpenalised.
    ages, thresholds : array
    mix : array, shape (hospitals,) or (ages, hospitals)
        Of ``shares``.
    threshold_mix : array, shape (thresholds, hospitals)
        Of ``crossings``: one fixed set a threshold.
    groups : tuple
        The hospitals, in the order of a mix.
    lowest, highest : float
        Ages looked at for crossings, in years.
    audited, mismatches, undecided : int
        Replicates whose maximum was sought by branch and bound; how many had missed it (better turns were
        found); and for how many the search stopped at its limit with neither better turns nor a proof.
    largest_miss : float
        Log-likelihood by which the worst of the mismatches had missed it; 0 when there was none.
    seconds, audit_seconds : float
        What refitting and auditing took.
    patients, seed, replicates : int
    level : float
    """

    turns: Array
    shares: Array
    crossings: Array
    odds_per_year: Array
    coefficients: Array
    loglik: Array
    ages: Array
    thresholds: Array
    mix: Array
    threshold_mix: Array
    groups: tuple[object, ...]
    lowest: float
    highest: float
    audited: int
    mismatches: int
    undecided: int
    largest_miss: float
    seconds: float
    audit_seconds: float
    patients: int
    seed: int
    replicates: int
    level: float

    @property
    def mismatch_rate(self) -> float:
        """Share of audited replicates that had missed the maximum; nan when none was audited."""
        return self.mismatches / self.audited if self.audited else np.nan

    def interval(self, what: str, at: float = 0, level: float | None = None) -> tuple[float, float]:
        """Percentile limits of one number.

        Parameters
        ----------
        what : str
            ``turn`` or ``odds_per_year`` (``at`` is its place from 0), ``crossing`` (``at`` is the
            threshold) or ``share`` (``at`` is the age).
        at : float
        level : float or None
            Coverage; None is the bootstrap's.
        """
        columns = {
            "turn": (self.turns, np.arange(self.turns.shape[1], dtype=np.float64)),
            "odds_per_year": (
                self.odds_per_year,
                np.arange(self.odds_per_year.shape[1], dtype=np.float64),
            ),
            "crossing": (self.crossings, self.thresholds),
            "share": (self.shares, self.ages),
        }
        return percentile_interval(column_at(columns, what, at), level or self.level)

    def crossing_ages(self, threshold: float, mix: ArrayLike, lowest: float, highest: float) -> Array:
        """Each replicate's first age in years at any threshold, under any fixed mix."""
        weights = checked_mix(mix, len(self.groups))
        return hinge_crossings(
            self.coefficients, self.turns, open_unit(threshold, "threshold"), weights, lowest, highest
        )

    def to_frame(self) -> pa.Table:
        """One row a replicate: turns, odds a year by stretch, crossings, log-likelihood."""
        columns = {f"turn_{j + 1}_years": turn for j, turn in enumerate(self.turns.T)}
        columns |= {f"odds_per_year_{j + 1}": odds for j, odds in enumerate(self.odds_per_year.T)}
        columns |= crossing_columns(self.crossings, self.thresholds)
        return pa.table(columns | {"loglik": self.loglik})

    def __str__(self) -> str:
        return wording.bootstrap(
            self.replicates, self.patients, self.audited, self.mismatches, self.undecided
        )


@dataclass(frozen=True)
class _HingeTask:
    """What a process does with the number of a replicate: redraw the patients and find their turns."""

    design: HingeDesign
    draws: CellDraws
    seed: int
    also: Array | None

    def __call__(self, replicate: int) -> Array:
        refit = self.design.refit(*self.draws.draw(self.seed, replicate), also=self.also)
        return np.concatenate(
            [refit.turns, refit.intercepts, refit.slopes, [refit.loglik], refit.coefficients]
        )

    def unpack(self, rows: Array) -> list[Array]:
        """Turns, intercepts, slopes, log-likelihoods and penalised coefficients of rows that this made."""
        k, hospitals = self.design.turns, len(self.design.groups)
        return np.split(rows, np.cumsum([k, hospitals, k + 1, 1]), axis=-1)


@dataclass(frozen=True)
class _AuditTask:
    """Redraw a replicate's patients and seek better turns: what was gained, and what may still be."""

    task: _HingeTask
    numbers: NDArray[np.int64]
    rows: Array

    def __call__(self, place: int) -> Array:
        number = int(self.numbers[place])
        direct, total = self.task.draws.draw(self.task.seed, number)
        turns, _, _, (loglik,), _ = self.task.unpack(self.rows[number])
        cells = self.task.design.cells
        direct, total, _ = without_information(cells, direct, total)
        if not direct.any() or not turns.size:
            return np.zeros(2)
        tau = cells.to_decades(turns)
        start = Found(tau, fit_at(cells, direct, total, tau[None, :]).theta[0], float(loglik))
        best, proof = certify(cells, direct, total, start, most_boxes=AUDIT_BOXES)
        return np.array([best.loglik - loglik, proof.bound - best.loglik])


def bootstrap_hinges(
    age: ArrayLike,
    direct: ArrayLike,
    total: ArrayLike,
    *,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    groups: ArrayLike | None = None,
    sensitivity: float | ArrayLike = 1,
    specificity: float | ArrayLike = 1,
    turns: int = 1,
    apart_years: float = 2,
    family: str = "binomial",
    unit: str = "years",
    replicates: int = 2000,
    seed: int,
    ages: ArrayLike = (),
    thresholds: ArrayLike = (),
    mix: ArrayLike | None = None,
    lowest: float | None = None,
    highest: float | None = None,
    audit: float = 0.05,
    level: float = 0.95,
    workers: int | None = None,
    progress: Progress | None = None,
) -> HingeBootstrap:
    """Refit the turns to patients redrawn with replacement.

    Parameters
    ----------
    age, direct, total : array_like, shape (rows,)
        Age in ``unit``; what one patient of the row's pattern has in the row's cell.
    clusters : array_like or None, shape (rows,)
        Pattern of each row. None draws each groin as if it were a patient.
    weights : array_like or None, shape (rows,)
        Number of patients with the pattern, the same on all its rows.
    groups, sensitivity, specificity, turns, apart_years, family, unit
        As in `fit_hinges`.
    replicates, seed : int
        Replicate i depends on the seed and i alone.
    ages : array_like
        Years at which to keep the standardised share.
    thresholds : array_like
        Shares whose crossings to keep.
    mix : array_like or None, shape (hospitals,) or (len(ages), hospitals)
        Of the shares kept; None is the case mix near each age. A crossing's mix is frozen at that of
        hospitals with cases within 3 years of the crossing in the data.
    lowest, highest : float or None
        Years to look for crossings between; None is the end of the data.
    audit : float
        Share of replicates, evenly spaced, whose maximum is then proved.
    level : float
    workers : int or None
    progress : callable or None
        Told (done, of) over replicates and audits together.

    Raises
    ------
    HingelineError
        As `fit_hinges`; and when replicates, seed, audit, thresholds or workers are impossible.
    """
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
    checked_seed(seed)
    open_unit(level, "level")
    if not 0 <= audit <= 1:
        raise HingelineError(f"The audited share is {audit}", "argument audit", "give 0 to 1")
    reached = checked_thresholds(thresholds)
    if reached.size and family != "binomial":
        raise HingelineError("A rate reaches no share", "argument thresholds", "leave them out for rates")
    design = prepare_hinges(
        age,
        total,
        turns=turns,
        groups=groups,
        weights=weights,
        sensitivity=sensitivity,
        specificity=specificity,
        apart_years=apart_years,
        family=family,
        unit=unit,
    )
    draws = cell_draws(rows, design.cell_of_row, design.n_cells)
    point = design.refit(*draws.whole())
    settled = point.turns if turns and np.all(np.isfinite(point.turns)) else None
    task = _HingeTask(design, draws, int(seed), settled)
    numbers = _audited(replicates, audit)
    of = replicates + numbers.size

    began = time.perf_counter()
    table = run_tasks(task, replicates, workers=workers, progress=_counted(progress, 0, of))
    seconds = time.perf_counter() - began
    began = time.perf_counter()
    gaps = np.zeros((0, 2))
    if numbers.size:
        gaps = run_tasks(
            _AuditTask(task, numbers, table),
            numbers.size,
            workers=workers,
            progress=_counted(progress, replicates, of),
            long=True,
        )
    audit_seconds = time.perf_counter() - began
    missed = gaps[:, 0] > MISSED

    found, _, _, loglik, coefficients = task.unpack(table)
    low, high = checked_span(lowest, highest, *_ends(design))
    kept = finite_column(ages, "ages")
    if mix is None:
        used = mix_near(
            kept, design.group_by_cell, design.age_by_cell, design.total_by_cell, len(design.groups)
        )
    else:
        used = checked_mix(mix, len(design.groups), kept.size)

    logit = HingeLogit(point.coefficients, point.turns)
    frozen = freeze_mixes(
        logit, reached, design.group_by_cell, design.age_by_cell, design.total_by_cell, (low, high)
    )
    crossed = [
        hinge_crossings(coefficients, found, threshold, weights, low, high)
        for threshold, weights in zip(reached, frozen, strict=True)
    ]
    return HingeBootstrap(
        turns=np.sort(found, axis=1),
        # without any direct case there are no turns, and slopes of nought
        shares=share(coefficients, np.nan_to_num(found), kept, used, family),
        crossings=np.array(crossed).reshape(reached.size, replicates).T,
        odds_per_year=np.exp(np.cumsum(coefficients[:, len(design.groups) :], axis=1)),
        coefficients=coefficients,
        loglik=loglik[:, 0],
        ages=kept,
        thresholds=reached,
        mix=used,
        threshold_mix=frozen,
        groups=design.groups,
        lowest=low,
        highest=high,
        audited=int(numbers.size),
        mismatches=int(np.sum(missed)),
        undecided=int(np.sum(~missed & ~(gaps[:, 1] <= MISSED))),
        largest_miss=float(np.where(missed, gaps[:, 0], 0.0).max(initial=0.0)),
        seconds=seconds,
        audit_seconds=audit_seconds,
        patients=draws.patients.number,
        seed=int(seed),
        replicates=replicates,
        level=level,
    )


def _audited(replicates: int, audit: float) -> NDArray[np.int64]:
    """Numbers of the replicates to audit, evenly spaced; at least one unless none is asked for."""
    wanted = int(np.ceil(audit * replicates - 1e-9))
    return (np.arange(wanted) * replicates // max(wanted, 1)).astype(np.int64)


def _counted(progress: Progress | None, before: int, of: int) -> Progress | None:
    """Progress of one part of the work, told as progress of the whole."""
    if progress is None:
        return None
    return lambda done, _: progress(before + done, of)


def _ends(design: HingeDesign) -> tuple[float, float]:
    ages = design.age_by_cell[design.total_by_cell > 0]
    return float(ages.min()), float(ages.max())
