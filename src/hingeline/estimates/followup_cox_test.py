"""Are hazards proportional? Pieces of a fitted Cox model by day come in, a test by covariate and overall goes out.

Grambsch & Therneau, Biometrika 1994;81:515–526: a coefficient β + θ g(t) with θ = 0 against any. The score test of θ
uses the information on each day, as R's survival does from version 3.0, and not its mean over days.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from scipy.special import gammaincc

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.followup_cox_sums import Design, Sums
from hingeline.estimates.followup_rows import Floats, Rows

NO_INFORMATION: Final = 1e12
"""Condition of the scaled information beyond which double precision tells nothing of a covariate's change."""


@dataclass(frozen=True, eq=False)
class ProportionalHazards:
    """A test of proportional hazards.

    Attributes
    ----------
    names : tuple of str
    chi2, p : (p,) float
        By covariate, one degree of freedom each.
    overall_chi2, overall_p : float
        With as many degrees of freedom as covariates.
    transform : str
    """

    names: tuple[str, ...]
    chi2: Floats
    p: Floats
    overall_chi2: float
    overall_p: float
    transform: str

    def to_frame(self) -> pa.Table:
        """One row a covariate, then one for all."""
        return pa.table(
            {
                "name": [*self.names, "overall"],
                "chi2": [*self.chi2, self.overall_chi2],
                "df": [*[1] * len(self.names), len(self.names)],
                "p": [*self.p, self.overall_p],
            }
        )

    def __str__(self) -> str:
        return wording.followup_proportional(self.names, self.p.tolist(), self.overall_p)


def proportional_test(
    rows: Rows, design: Design, sums: Sums, names: tuple[str, ...], transform: str
) -> ProportionalHazards:
    """Score test of coefficients that change with time; ``transform`` is "km" or "identity".

    A covariate whose information does not change over the events' days has no test: its numbers are not numbers.
    """
    time = _transformed(rows, design, transform)
    if np.ptp(time) == 0:
        raise HingelineError(
            "All events came on one day, over which no ratio can change",
            "the test of proportional hazards",
            "tell the hazard ratio without this test",
        )
    time = time - np.average(time, weights=design.number)
    size = len(names)
    score = np.concatenate([np.zeros(size), time @ sums.score_by_key])
    v, gv, ggv = (np.einsum("k,kij->ij", time**power, sums.information_by_key) for power in range(3))
    information = np.block([[v, gv], [gv, ggv]])
    chi2 = np.empty(size)
    for place in range(size):
        chosen = [*range(size), size + place]
        chi2[place] = _quadratic(score[chosen], information[np.ix_(chosen, chosen)])
    overall = _quadratic(score, information)
    return ProportionalHazards(
        names,
        chi2,
        np.asarray(gammaincc(0.5, chi2 / 2), dtype=np.float64),
        overall,
        float(gammaincc(size / 2, overall / 2)),
        transform,
    )


def _transformed(rows: Rows, design: Design, transform: str) -> Floats:
    if transform == "identity":
        return design.times
    if transform != "km":
        raise HingelineError(
            f"There is no transform {transform!r}", "argument transform", 'use "km" or "identity"'
        )
    groins = rows.n * rows.patients
    free = np.cumprod(1 - rows.by_day(groins, rows.outcome == 1) / rows.at_risk(groins))
    before = np.concatenate([[1.0], free])[np.searchsorted(rows.days, design.times, side="left")]
    passed: Floats = 1 - before
    return passed


def _quadratic(score: Floats, information: Floats) -> float:
    size = np.sqrt(np.maximum(np.diag(information), 0))
    if not (size > 0).all() or np.linalg.cond(information / np.outer(size, size)) > NO_INFORMATION:
        return float("nan")
    return float(score @ np.linalg.solve(information, score))
