"""The bootstrap of a comparison: patients are drawn again, the propensity fitted again, the risks weighted again.

Checked rows and their fit go in; each redrawn set's risks by arm and horizon come out. Sets are worked in batches of
one size, each batch on one thread, so that the number of cores changes no digit. Drawing patients again with the
model fitted again in each set counts that weights are estimated (Austin, Stat Med 2016;35:5642).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from hingeline.estimates.contrast_propensity import Propensity, Scaled, on_scale, refit, scale
from hingeline.estimates.contrast_rows import Array, ContrastRows, Index
from hingeline.estimates.contrast_weights import arm_weights
from hingeline.estimates.followup_kernel import RiskKernel, risk_kernel
from hingeline.estimates.parallel import Progress, run_tasks
from hingeline.estimates.patterns import Patients

BATCH: Final = 20
"""Sets of patients worked at once: enough for the matrices, little enough for the processor's cache."""


@dataclass(frozen=True)
class ArmLines:
    """Each arm's rows and their kernel.

    Attributes
    ----------
    members : tuple of array of int
        Places of the arm's rows.
    kernels : tuple of RiskKernel
    """

    members: tuple[Index, ...]
    kernels: tuple[RiskKernel, ...]

    def risks(self, weights: Array) -> Array:
        """Risks of sets of weights, (sets, rows), by arm and horizon: (sets, arms, horizons)."""
        by_arm = [
            kernel.risks(weights[:, own]) for own, kernel in zip(self.members, self.kernels, strict=True)
        ]
        return np.stack(by_arm, axis=1)


def arm_lines(rows: ContrastRows, horizons_days: Array) -> ArmLines:
    """Arrange the rows of each arm; deaths compete."""
    members = tuple(np.flatnonzero(rows.arm == code) for code in range(len(rows.arms)))
    kernels = tuple(
        risk_kernel(rows.days[own], rows.outcome[own], horizons_days, competing=True) for own in members
    )
    return ArmLines(members, kernels)


@dataclass(frozen=True)
class _Batch:
    """What a process does with the number of a batch."""

    rows: ContrastRows
    lines: ArmLines
    scaled: Scaled
    start: Array
    cells: csr_array
    estimand: str
    ridge: float
    seed: int

    def __call__(self, batch: int) -> Array:
        numbers = range(batch * BATCH, (batch + 1) * BATCH)
        patients = Patients(self.rows.patients)
        drawn = np.stack([patients.draw(self.seed, number) for number in numbers]).astype(np.float64)
        profiles, arms = self.rows.design.shape[0], len(self.rows.arms)
        counts = np.ascontiguousarray(
            (self.cells @ drawn.T).reshape(arms, profiles, BATCH).transpose(0, 2, 1)
        )
        probability, settled = refit(self.scaled, self.start, counts, self.ridge)
        by_arm = counts.sum(axis=2)
        weight = arm_weights(probability, self.estimand, by_arm / by_arm.sum(axis=0))
        by_row = np.empty((BATCH, self.rows.arm.size))
        for code, own in enumerate(self.lines.members):
            by_row[:, own] = np.take(weight[code], self.rows.profile[own], axis=1)
        by_row *= np.take(drawn, self.rows.cluster, axis=1)
        by_row *= self.rows.n
        risks = self.lines.risks(by_row)
        return np.concatenate([risks.reshape(BATCH, -1), settled[:, None]], axis=1).ravel()


def redraw(
    rows: ContrastRows,
    fit: Propensity,
    lines: ArmLines,
    *,
    estimand: str,
    replicates: int,
    seed: int,
    workers: int | None = None,
    progress: Progress | None = None,
) -> tuple[Array, NDArray[np.bool_]]:
    """Draw patients again and again.

    Returns
    -------
    risks : array, shape (replicates, arms, horizons)
        Not a number for an arm that a set has no one of.
    settled : array of bool, shape (replicates,)
        Whether the propensity of the set reached its maximum.
    """
    profiles, arms = rows.design.shape[0], len(rows.arms)
    place = rows.arm * profiles + rows.profile
    cells = csr_array((rows.n, (place, rows.cluster)), shape=(profiles * arms, rows.patients.size))
    scaled = scale(rows.design, rows.counts().sum(axis=1))
    task = _Batch(
        rows=rows,
        lines=lines,
        scaled=scaled,
        start=on_scale(scaled, fit.coefficients),
        cells=cells,
        estimand=estimand,
        ridge=fit.ridge,
        seed=seed,
    )
    batches = -(-replicates // BATCH)

    def told(done: int, of: int) -> None:
        if progress is not None:
            progress(min(done * BATCH, replicates), replicates)

    found = run_tasks(task, batches, workers=workers, progress=told).reshape(batches * BATCH, -1)[:replicates]
    horizons = lines.kernels[0].horizons_days.size
    return found[:, :-1].reshape(replicates, arms, horizons), found[:, -1] > 0
