"""Who gets which repair: a multinomial logistic propensity by maximum likelihood on counts by profile and arm.

Profiles and counts go in; each arm's probability by profile comes out, for the patients as they are and for many
redrawn sets of them at once. Newton's method; the likelihood is concave (Böhning, Ann Inst Stat Math 1992;44:197).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import qr

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.contrast_rows import Array

MOST_STEPS: Final = 40
SETTLED: Final = 1e-10
"""Largest step of a coefficient, in standard deviations of its covariate, at which a fit is at its maximum."""
REDRAWN_SETTLED: Final = 1e-5
"""The same for a redrawn set of patients: its shares then stand to about 1e-7, far under the bootstrap's own error."""
MOST_REDRAWN_STEPS: Final = 12
HESSIAN_STEPS: Final = (0, 1, 5, 8)
"""Steps of a redrawn set at which the Hessian is made anew; between them the last one serves."""
MOST_PRODUCTS: Final = 10_000_000
"""So many products of covariates are kept, 80 MB; more are made in pieces."""
LONGEST_STEP: Final = 3.0
SEPARATED: Final = 25.0
"""A logit of e^25 to 1 in a fit of fewer than 10^9 groins has no finite maximum."""


@dataclass(frozen=True)
class Propensity:
    """Probability of each arm by profile.

    Attributes
    ----------
    probability : array, shape (profiles, arms)
    coefficients : array, shape (columns + 1, arms - 1)
        Log odds of each arm against the first: the intercept, then a unit of each covariate.
    loglik : float
    steps : int
        Newton steps taken.
    ridge : float
    names : tuple of str
    """

    probability: Array
    coefficients: Array
    loglik: float
    steps: int
    ridge: float
    names: tuple[str, ...]

    def to_frame(self) -> pa.Table:
        """One row a coefficient: arm (its number, from 1), covariate, log_odds."""
        arms = self.coefficients.shape[1]
        return pa.table(
            {
                "arm": [code + 1 for code in range(arms) for _ in self.names],
                "covariate": list(self.names) * arms,
                "log_odds": self.coefficients.T.ravel().tolist(),
            }
        )

    def __str__(self) -> str:
        return wording.contrast_propensity(self.probability.shape[0], len(self.names) - 1, self.ridge)


@dataclass(frozen=True)
class Scaled:
    """Covariates centred and scaled, with an intercept, and the products that a Hessian is added up from.

    Attributes
    ----------
    matrix : array, shape (profiles, columns + 1)
    products : array, shape (profiles, pairs of columns), or None
        None where they would fill the memory; they are then made in pieces each time.
    centre, scale : array, shape (columns,)
    """

    matrix: Array
    products: Array | None
    centre: Array
    scale: Array


def propensity(
    design: ArrayLike, counts: ArrayLike, *, ridge: float = 0.0, names: tuple[str, ...] | None = None
) -> Propensity:
    """Fit a multinomial logistic model by maximum likelihood.

    Parameters
    ----------
    design : array_like, shape (profiles, columns)
        Covariates without an intercept; factors coded 0 and 1.
    counts : array_like, shape (profiles, arms)
        Groins, 0 or more.
    ridge : float
        Half the weight on the squares of coefficients of covariates scaled to standard deviation 1; 0 is maximum
        likelihood. Only as stated: nothing is penalised unasked.
    names : tuple of str, optional

    Returns
    -------
    Propensity

    Raises
    ------
    HingelineError
        When an arm has no one, columns say the same, or arms are separated: some covariates then tell for certain
        who had which repair, and no finite maximum exists (Albert & Anderson, Biometrika 1984;71:1).
    """
    matrix, groins = np.asarray(design, dtype=np.float64), np.asarray(counts, dtype=np.float64)
    if np.any(groins.sum(axis=0) <= 0):
        raise HingelineError("An arm has no one", "argument counts", "leave that arm out")
    told = names or tuple(f"covariate {place + 1}" for place in range(matrix.shape[1]))
    scaled = scale(matrix, groins.sum(axis=1))
    by_arm = np.ascontiguousarray(groins.T)[:, None, :]
    if np.any(redundant(scaled, groins.sum(axis=1))):
        raise HingelineError(
            "Some covariates say the same as others",
            "argument design",
            "leave out what follows from the others",
        )
    beta = _start(scaled, groins)
    loglik = _loglik(scaled, groins, beta, ridge)
    steps = 0
    for steps in range(1, MOST_STEPS + 1):
        shares, largest = _shares(scaled, beta.T[None])
        if ridge == 0 and largest > SEPARATED:
            break
        score = _score(scaled, by_arm, beta.T[None], shares, ridge)
        hessian = _hessian(scaled, by_arm, shares, ridge)
        try:
            step = np.linalg.solve(hessian[0], score.ravel()).reshape(beta.shape[::-1]).T
        except np.linalg.LinAlgError:  # so nearly certain that nothing is left to tell
            steps = MOST_STEPS
            break
        taken = 1.0
        while (new := _loglik(scaled, groins, beta + taken * step, ridge)) < loglik - 1e-9 * abs(loglik):
            taken /= 2
            if taken < 1e-6:
                break
        beta, loglik = beta + taken * step, new
        if np.abs(step).max() < SETTLED:
            break
    shares, largest = _shares(scaled, beta.T[None])
    probability = np.ascontiguousarray(shares[:, 0].T)
    if ridge == 0 and (largest > SEPARATED or steps == MOST_STEPS):
        raise HingelineError(
            wording.contrast_separated(_culprits(beta, told)),
            "argument covariates",
            "leave a covariate out, join its levels, or state a weak ridge (ridge=0.1) and report it",
        )
    return Propensity(probability, _unscaled(scaled, beta), loglik, steps, ridge, ("intercept", *told))


def refit(scaled: Scaled, start: Array, counts: Array, ridge: float) -> tuple[Array, NDArray[np.bool_]]:
    """Fit redrawn sets of patients at once, from the fit of the patients as they are.

    Two of Newton's steps, then steps with the last Hessian as long as they suffice. The number of steps is one for
    all sets at once, so equal batches give equal bytes.

    Parameters
    ----------
    scaled : Scaled
    start : array, shape (columns + 1, arms - 1)
        On the scale of ``scaled``.
    counts : array, shape (arms, sets, profiles)
    ridge : float

    Returns
    -------
    probability : array, shape (arms, sets, profiles)
    settled : array of bool, shape (sets,)
    """
    sets = counts.shape[1]
    beta = np.repeat(start.T[None], sets, axis=0)
    size = np.full(sets, np.inf)
    inverse: Array = np.zeros((0, 0, 0))
    shares, _ = _shares(scaled, beta)
    for number in range(MOST_REDRAWN_STEPS):
        score = _score(scaled, counts, beta, shares, ridge)
        if number in HESSIAN_STEPS:
            hessian = _hessian(scaled, counts, shares, ridge)
            # a level that nobody of a redrawn set has leaves its coefficient where it is; so does a set that tells
            # every arm for certain
            diagonal = np.einsum("bii->bi", hessian)
            diagonal += np.maximum(1e-9 * diagonal.max(axis=1, keepdims=True), 1e-10)
            inverse = np.asarray(np.linalg.inv(hessian), dtype=np.float64)
        step = np.matmul(inverse, score.reshape(sets, -1, 1)).reshape(beta.shape)
        size = np.abs(step).max(axis=(1, 2))
        step *= np.minimum(1, LONGEST_STEP / np.maximum(size, 1e-300))[:, None, None]
        beta += step
        shares, _ = _shares(scaled, beta)
        if size.max() < REDRAWN_SETTLED:
            break
    return shares, size < REDRAWN_SETTLED


def scale(design: Array, groins: Array) -> Scaled:
    """Centre and scale covariates over the groins, and multiply columns out."""
    total = groins.sum()
    centre = groins @ design / total
    spread = np.sqrt(groins @ (design - centre) ** 2 / total)
    spread = np.where(spread > 0, spread, 1.0)
    matrix = np.column_stack([np.ones(design.shape[0]), (design - centre) / spread])
    columns = matrix.shape[1]
    held = matrix.shape[0] * columns * (columns + 1) // 2 <= MOST_PRODUCTS
    products = _products(matrix) if held else None
    return Scaled(matrix, products, centre, spread)


def on_scale(scaled: Scaled, coefficients: Array) -> Array:
    """Coefficients of scaled covariates from those of the covariates themselves."""
    slopes = coefficients[1:] * scaled.scale[:, None]
    return np.vstack([coefficients[:1] + scaled.centre @ coefficients[1:], slopes])


def redundant(scaled: Scaled, groins: Array) -> NDArray[np.bool_]:
    """Which columns are constant or follow from those before them, shape (columns,)."""
    weighted = scaled.matrix * np.sqrt(groins / groins.sum())[:, None]
    # a rotation keeps every length and angle, so that the triangle tells what the long columns would
    upper = qr(weighted, mode="r")[0][: weighted.shape[1]]
    out = np.zeros(weighted.shape[1] - 1, dtype=bool)
    if upper.shape[0] == upper.shape[1] and np.all(np.abs(np.diag(upper)) > 1e-7):
        return out
    kept = upper[:, :1]
    for place in range(1, upper.shape[1]):
        column = upper[:, place]
        rest = column - kept @ np.linalg.lstsq(kept, column, rcond=None)[0]
        if np.linalg.norm(rest) <= 1e-7:
            out[place - 1] = True
        else:
            kept = np.column_stack([kept, column])
    return out


def _unscaled(scaled: Scaled, beta: Array) -> Array:
    slopes = beta[1:] / scaled.scale[:, None]
    return np.vstack([beta[:1] - scaled.centre @ slopes, slopes])


def _start(scaled: Scaled, groins: Array) -> Array:
    beta = np.zeros((scaled.matrix.shape[1], groins.shape[1] - 1))
    total = groins.sum(axis=0)
    beta[0] = np.log(total[1:] / total[0])
    return beta


def _shares(scaled: Scaled, beta: Array) -> tuple[Array, float]:
    """Each arm's probability, (arms, sets, profiles), and the largest logit; beta is (sets, arms - 1, columns).

    Arms come outermost: sums over so few are quick only when each is one long array.
    """
    sets, arms = beta.shape[:2]
    odds = np.empty((arms + 1, sets, scaled.matrix.shape[0]))
    for code in range(arms):
        np.matmul(beta[:, code], scaled.matrix.T, out=odds[code + 1])
    largest = float(np.abs(odds[1:]).max())
    top = np.maximum(odds[1], 0) if largest > 500 else None
    if top is None:
        odds[0] = 1.0
        np.exp(odds[1:], out=odds[1:])
    else:
        for code in range(2, arms + 1):
            np.maximum(top, odds[code], out=top)
        odds[1:] -= top
        np.exp(odds[1:], out=odds[1:])
        odds[0] = np.exp(-top)
    total = odds[0].copy()
    for code in range(1, arms + 1):
        total += odds[code]
    odds /= total
    return odds, largest


def _loglik(scaled: Scaled, groins: Array, beta: Array, ridge: float) -> float:
    eta = scaled.matrix @ beta
    whole = np.column_stack([np.zeros(eta.shape[0]), eta])
    top = whole.max(axis=1)
    log_sum = top + np.log(np.exp(whole - top[:, None]).sum(axis=1))
    return float((groins * whole).sum() - groins.sum(axis=1) @ log_sum - ridge / 2 * (beta[1:] ** 2).sum())


def _score(scaled: Scaled, counts: Array, beta: Array, shares: Array, ridge: float) -> Array:
    """Slope of the log-likelihood, shape (sets, arms - 1, columns)."""
    total = counts.sum(axis=0)
    score = np.empty_like(beta)
    for code in range(beta.shape[1]):
        score[:, code] = (counts[code + 1] - total * shares[code + 1]) @ scaled.matrix
    if ridge:
        score[:, :, 1:] -= ridge * beta[:, :, 1:]
    return score


def _hessian(scaled: Scaled, counts: Array, shares: Array, ridge: float) -> Array:
    """Minus the second derivative of the log-likelihood, shape (sets, p, p), arms outermost in p."""
    total = counts.sum(axis=0)
    sets, columns, arms = total.shape[0], scaled.matrix.shape[1], counts.shape[0] - 1
    left, right = np.triu_indices(columns)
    hessian = np.empty((sets, arms, columns, arms, columns))
    for j in range(arms):
        weighted = total * shares[j + 1]
        for k in range(j, arms):
            block = _added_up(scaled, weighted * ((j == k) - shares[k + 1]))
            square = np.empty((sets, columns, columns))
            square[:, left, right] = block
            square[:, right, left] = block
            hessian[:, j, :, k, :] = square
            hessian[:, k, :, j, :] = square
    flat = hessian.reshape(sets, arms * columns, arms * columns)
    if ridge:
        penalised = np.tile(np.r_[0.0, np.full(columns - 1, ridge)], arms)
        np.einsum("bii->bi", flat)[...] += penalised
    return flat


def _products(matrix: Array) -> Array:
    """Each column times each from itself on, shape (profiles, pairs)."""
    left, right = np.triu_indices(matrix.shape[1])
    pairs: Array = matrix[:, left] * matrix[:, right]
    return pairs


def _added_up(scaled: Scaled, weighted: Array) -> Array:
    """Sums of the products over profiles with weights (sets, profiles), shape (sets, pairs)."""
    if scaled.products is not None:
        whole: Array = weighted @ scaled.products
        return whole
    columns = scaled.matrix.shape[1]
    piece = max(1, MOST_PRODUCTS // (columns * (columns + 1) // 2))
    total = np.zeros((weighted.shape[0], columns * (columns + 1) // 2))
    for first in range(0, scaled.matrix.shape[0], piece):
        part = slice(first, first + piece)
        total += weighted[:, part] @ _products(scaled.matrix[part])
    return total


def _culprits(beta: Array, names: tuple[str, ...]) -> list[str]:
    """The covariates whose coefficients ran away furthest."""
    size = np.abs(beta[1:]).max(axis=1)
    return [names[place] for place in np.argsort(-size)[:2] if size[place] > 1]
