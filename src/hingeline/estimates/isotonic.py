"""The direct share by age assuming only that it never falls: pool-adjacent-violators.

Counts by age come in, steps go out (Ayer et al., Ann Math Stat 1955;26:641–647). No bootstrap interval goes
with it: the estimate converges with the cube root of n, where the ordinary bootstrap fails (Sen, Banerjee &
Woodroofe, Ann Stat 2010;38:1953–1977).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike
from scipy.optimize import isotonic_regression

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.cells import Array, collapse


@dataclass(frozen=True, eq=False)
class IsotonicFit:
    """A share that never falls with age.

    Attributes
    ----------
    age : array, shape (ages,)
        Distinct ages with at least one case, as given.
    share : array, shape (ages,)
    total : array, shape (ages,)
    """

    age: Array
    share: Array
    total: Array

    def predict(self, age: ArrayLike) -> Array:
        """The step at each age; below the youngest age its share, above the oldest that one's."""
        place = np.searchsorted(self.age, np.atleast_1d(np.asarray(age, dtype=np.float64)), side="right") - 1
        step: Array = self.share[np.maximum(place, 0)]
        return step

    def to_frame(self) -> pa.Table:
        """One row a distinct age."""
        return pa.table({"age": self.age, "share": self.share, "total": self.total})

    def __str__(self) -> str:
        return wording.isotonic(float(self.share[0]), float(self.share[-1]), int(np.unique(self.share).size))


def isotonic(
    age: ArrayLike, direct: ArrayLike, total: ArrayLike, *, weights: ArrayLike | None = None
) -> IsotonicFit:
    """Maximum-likelihood share that never falls with age, hospitals taken together.

    Parameters
    ----------
    age, direct, total : array_like, shape (rows,)
        Age in any unit; direct cases and all cases.
    weights : array_like or None, shape (rows,)
        Number of patients that a row stands for.

    Raises
    ------
    HingelineError
        When the rows are impossible or hold no case.
    """
    cells = collapse(age, direct, total, weights=weights)
    held = cells.total > 0
    if not np.any(held):
        raise HingelineError("There are no cases", "argument total", "give at least one case")
    seen = cells.direct[held] / cells.total[held]
    steps = isotonic_regression(seen, weights=cells.total[held]).x
    return IsotonicFit(cells.age_years[held], np.clip(steps, 0, 1), cells.total[held])
