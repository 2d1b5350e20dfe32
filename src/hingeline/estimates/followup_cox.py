"""Rows of follow-up with covariates come in, hazard ratios go out: Cox's model, with patterns and real weights.

Cox, J R Stat Soc B 1972;34:187–220; robust over patients after Lin & Wei, JASA 1989;84:1074–1078. A coefficient
that has no finite maximum (an arm with no events) is told as infinite, with a limit from the profile likelihood.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike
from scipy.special import chdtri, ndtr, ndtri

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.followup_cox_sums import Design, Sums, Ties, make_design, score_residuals, sums_at
from hingeline.estimates.followup_cox_test import ProportionalHazards, proportional_test
from hingeline.estimates.followup_logrank import by_pattern
from hingeline.estimates.followup_rows import Floats, Rows, check_level, check_rows, group_codes

ROUNDS: Final = 60
CLOSE: Final = 1e-11
"""Relative change of the log-likelihood at which it no longer rises."""
BEYOND: Final = 100.0
"""Log hazard ratio between a covariate's least and greatest value that is no finite maximum: e^100."""


@dataclass(frozen=True, eq=False)
class CoxFit:
    """A fitted Cox model.

    Attributes
    ----------
    names : tuple of str
    coefficients, se, robust_se : (p,) float
        Log hazard ratios; infinite where the likelihood has no maximum, with errors that are then not numbers.
        An error is infinite where such a covariate leaves another without information.
    hazard_ratio, low, high, p : (p,) float
        Limits and p-values rest on the robust error when patterns or probability weights were given. Of an infinite
        coefficient the finite limit is the profile likelihood's (naive): where the log-likelihood falls by half of
        χ²'s quantile at the level, which is the limit of a two-sided interval.
    covariance, robust_covariance : (p, p) float
    log_likelihood, null_log_likelihood : float
    groins, events : float
        Unweighted.
    ties : str
    level : float
    robust : bool
    infinite : tuple of str
        Covariates whose coefficient has no finite maximum.
    rounds : int
    """

    names: tuple[str, ...]
    coefficients: Floats
    se: Floats
    robust_se: Floats
    hazard_ratio: Floats
    low: Floats
    high: Floats
    p: Floats
    covariance: Floats
    robust_covariance: Floats
    log_likelihood: float
    null_log_likelihood: float
    groins: float
    events: float
    ties: str
    level: float
    robust: bool
    infinite: tuple[str, ...]
    rounds: int
    _rows: Rows = field(repr=False)
    _design: Design = field(repr=False)
    _sums: Sums = field(repr=False)

    def proportional(self, transform: str = "km") -> ProportionalHazards:
        """Test whether hazards are proportional, by covariate and overall.

        Parameters
        ----------
        transform : {"km", "identity"}
            Time as the test sees it: 1 − the Kaplan–Meier curve just before, or days.

        Raises
        ------
        HingelineError
            When a coefficient is infinite, all events came on one day, or the transform is another.

        Notes
        -----
        The score test of a coefficient that changes with transformed time (Grambsch & Therneau, Biometrika
        1994;81:515–526), with the exact information on each day rather than its mean. Not robust over patients.
        """
        if self.infinite:
            raise HingelineError(
                f"The hazard ratio of {wording.listed(self.infinite)} has no finite maximum",
                "the Cox model",
                "leave the covariate out before testing whether hazards are proportional",
            )
        return proportional_test(self._rows, self._design, self._sums, self.names, transform)

    def to_frame(self) -> pa.Table:
        """One row a covariate."""
        columns = ("coefficients", "se", "robust_se", "hazard_ratio", "low", "high", "p")
        return pa.table({"name": list(self.names)} | {name: getattr(self, name) for name in columns})

    def __str__(self) -> str:
        told = [
            wording.followup_hazard(
                name,
                float(self.hazard_ratio[i]),
                float(self.low[i]),
                float(self.high[i]),
                float(self.p[i]),
                self.level,
            )
            for i, name in enumerate(self.names)
        ]
        return wording.followup_cox(self.groins, self.events, self.ties, told)


def cox(
    days: ArrayLike,
    outcome: ArrayLike,
    covariates: ArrayLike,
    n: ArrayLike | None = None,
    *,
    clusters: ArrayLike | None = None,
    weights: ArrayLike | None = None,
    probability_weights: ArrayLike | None = None,
    strata: ArrayLike | None = None,
    ties: Ties = "efron",
    names: Sequence[str] | None = None,
    level: float = 0.95,
) -> CoxFit:
    """Cox's proportional hazards, with the competing event taken as censored.

    Parameters
    ----------
    covariates : array_like, (rows, p) or (rows,)
        Numbers; a group enters as a column of 0 and 1.
    strata : array_like or None, (rows,)
        Each stratum has a baseline hazard of its own.
    ties : {"efron", "breslow"}
    names : sequence of str or None
    days, outcome, n, clusters, weights, probability_weights
        As in `survival`; with Efron's ties the groins of a row are whole, real weights go in ``probability_weights``.

    Raises
    ------
    HingelineError
        When rows are impossible, nobody had the event, or covariates determine each other.
    """
    check_level(level)
    if ties not in ("efron", "breslow"):
        raise HingelineError(
            f"There is no way {ties!r} with ties", "argument ties", 'use "efron" or "breslow"'
        )
    rows = check_rows(
        days, outcome, n, clusters=clusters, weights=weights, probability_weights=probability_weights
    )
    x = _covariates(covariates, rows)
    told = tuple(names) if names is not None else tuple(f"covariate {i + 1}" for i in range(x.shape[1]))
    if len(told) != x.shape[1]:
        raise HingelineError("Names and covariates differ in number", "argument names", "name every column")
    stratum = group_codes(strata, rows.kept.size, "strata")[0][rows.kept]
    if not (rows.outcome == 1).any():
        raise HingelineError(
            "Nobody had the event",
            "argument outcome",
            "there is nothing to model: show the upper limits instead",
        )
    centre = np.average(x, axis=0, weights=rows.each * rows.patients)
    scale = np.sqrt(np.average((x - centre) ** 2, axis=0, weights=rows.each * rows.patients))
    _refuse_singular((x - centre) / np.where(scale > 0, scale, 1.0), scale, told)
    design = make_design(rows, (x - centre) / scale, stratum, ties)
    _refuse_flat(sums_at(design, np.zeros(x.shape[1])).information / design.weight.sum(), told)
    beta, sums, step, rounds = _climb(design, np.zeros(x.shape[1]), np.ones(x.shape[1], dtype=bool))
    endless = _endless(design, beta, step)
    return _told(rows, design, sums, beta, scale, endless, told, ties, level, rounds)


def _told(
    rows: Rows,
    design: Design,
    sums: Sums,
    beta: Floats,
    scale: Floats,
    endless: np.ndarray,
    names: tuple[str, ...],
    ties: Ties,
    level: float,
    rounds: int,
) -> CoxFit:
    finite = ~endless
    size = beta.size
    covariance, robust_covariance = np.full((size, size), np.nan), np.full((size, size), np.nan)
    held = np.ix_(finite, finite)
    if finite.any():
        inverse = np.linalg.pinv(sums.information[held], hermitian=True)
        meat = by_pattern(rows, score_residuals(design, sums)[:, finite])
        rescale = np.outer(scale[finite], scale[finite])
        covariance[held] = inverse / rescale
        robust_covariance[held] = inverse @ meat @ inverse / rescale
        if (
            endless.any()
        ):  # at the limit of an infinite coefficient another may be left without any information
            values, ways = np.linalg.eigh(sums.information[held] / design.weight.sum())
            untold = np.flatnonzero(finite)[(np.abs(ways[:, values < 1e-9]) > 1e-6).any(axis=1)]
            covariance[untold, untold] = robust_covariance[untold, untold] = np.inf
    coefficients = np.where(endless, np.copysign(np.inf, beta), beta / scale)
    se, robust_se = np.sqrt(np.diag(covariance)), np.sqrt(np.diag(robust_covariance))
    robust = rows.clustered or rows.weighted
    spread = robust_se if robust else se
    z = float(ndtri((1 + level) / 2))
    with np.errstate(over="ignore"):  # a limit beyond all numbers is infinite
        low, high = np.exp(coefficients - z * spread), np.exp(coefficients + z * spread)
    for place in np.flatnonzero(endless):
        limit = np.exp(_profile_limit(design, beta, sums.log_likelihood, int(place), level) / scale[place])
        low[place], high[place] = (limit, np.inf) if beta[place] > 0 else (0.0, limit)
    p = 2 * ndtr(-np.abs(coefficients / np.where(finite, spread, 1.0)))
    p[endless] = np.nan
    groins = rows.n * rows.patients
    return CoxFit(
        names,
        coefficients,
        se,
        robust_se,
        np.exp(coefficients),
        low,
        high,
        p,
        covariance,
        robust_covariance,
        sums.log_likelihood,
        sums_at(design, np.zeros(size)).log_likelihood,
        float(groins.sum()),
        float(groins[rows.outcome == 1].sum()),
        ties,
        level,
        robust,
        tuple(name for name, one in zip(names, endless, strict=True) if one),
        rounds,
        rows,
        design,
        sums,
    )


def _climb(design: Design, beta: Floats, free: np.ndarray) -> tuple[Floats, Sums, Floats, int]:
    """Newton's steps, halved until the likelihood rises, over the free coefficients."""
    sums = sums_at(design, beta)
    step = np.zeros_like(beta)
    for rounds in range(1, ROUNDS + 1):
        step[free] = _solve(sums.information[np.ix_(free, free)], sums.score[free])
        step = np.clip(step, -5.0, 5.0)
        share = 1.0
        tried = sums_at(design, beta + step)
        while (
            not tried.log_likelihood >= sums.log_likelihood - 1e-12 * abs(sums.log_likelihood)
            and share > 1e-6
        ):
            share /= 2
            tried = sums_at(design, beta + share * step)
        rise = tried.log_likelihood - sums.log_likelihood
        beta, sums = beta + share * step, tried
        if abs(rise) <= CLOSE * (abs(sums.log_likelihood) + 1e-3) and (
            np.abs(step).max() < 1e-8 or rounds > 8
        ):
            break
    return beta, sums, step, rounds


def _solve(information: Floats, score: Floats) -> Floats:
    try:
        solved = np.asarray(np.linalg.solve(information, score), dtype=np.float64)
    except np.linalg.LinAlgError:
        solved = np.asarray(np.linalg.lstsq(information, score, rcond=None)[0], dtype=np.float64)
    return solved


def _endless(design: Design, beta: Floats, step: Floats) -> np.ndarray:
    """Which coefficients still run away although the likelihood no longer rises, or have run beyond all hazards."""
    # in log hazards between the covariate's least and greatest value: of a rare level the standardised ones are small
    width = np.ptp(design.x, axis=0)
    reached, steps = np.abs(beta) * width, np.abs(step) * width
    found: np.ndarray = ((steps > 0.1) & (reached > 2)) | (reached > BEYOND)
    return found


def _profile_limit(design: Design, beta: Floats, top: float, place: int, level: float) -> float:
    """Where the profile log-likelihood of a coefficient without a maximum falls by half the χ² quantile."""
    drop = float(chdtri(1, 1 - level)) / 2
    free = np.ones(beta.size, dtype=bool)
    free[place] = False
    side = float(np.sign(beta[place]))
    inner, outer = float(beta[place]), float(beta[place])
    start = beta.copy()

    def short(value: float) -> float:
        trial = start.copy()
        trial[place] = value
        if free.any():
            return top - _climb(design, trial, free)[1].log_likelihood - drop
        return top - sums_at(design, trial).log_likelihood - drop

    width = 1.0
    while short(inner) < 0 and width < 1e4:
        outer, inner = inner, inner - side * width
        width *= 2
    for _ in range(60):
        middle = (inner + outer) / 2
        inner, outer = (inner, middle) if short(middle) < 0 else (middle, outer)
        if abs(inner - outer) < 1e-8 * (1 + abs(inner)):
            break
    return (inner + outer) / 2


def _covariates(covariates: ArrayLike, rows: Rows) -> Floats:
    x = np.asarray(covariates, dtype=np.float64)
    x = x[:, None] if x.ndim == 1 else x
    if x.ndim != 2 or x.shape[0] != rows.kept.size or x.shape[1] == 0:
        raise HingelineError(
            "Covariates do not fit the rows", "argument covariates", "give one row of numbers for each row"
        )
    x = x[rows.kept]
    if not np.isfinite(x).all():
        raise HingelineError(
            "Some covariates are missing", "argument covariates", "leave those rows out, or fill them in"
        )
    return x


def _refuse_singular(x: Floats, scale: Floats, names: tuple[str, ...]) -> None:
    for place, name in enumerate(names):
        if not scale[place] > 0:
            raise HingelineError(
                f"{name} is the same for everybody", "argument covariates", "leave that column out"
            )
        before = x[:, :place]
        if (
            place
            and np.abs(x[:, place] - before @ np.linalg.lstsq(before, x[:, place], rcond=None)[0]).max()
            < 1e-8
        ):
            raise HingelineError(
                f"{name} follows from the covariates before it",
                "argument covariates",
                "leave that column out",
            )


def _refuse_flat(information: Floats, names: tuple[str, ...]) -> None:
    """Refuse covariates in which those at risk do not differ whenever an event comes."""
    values, ways = np.linalg.eigh(information)
    if values[0] < 1e-10:
        name = names[int(np.argmax(np.abs(ways[:, 0])))]
        raise HingelineError(
            f"Whenever an event came, those at risk did not differ in {name} beyond the other covariates",
            "argument covariates",
            "leave that column out, or join strata",
        )
