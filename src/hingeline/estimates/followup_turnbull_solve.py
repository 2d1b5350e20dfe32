"""Masses on ordered places, from counts of who lies in which stretch of them: the maximum with a certificate.

Each step takes in the places where the gradient peaks and solves the quadratic model over the masses (Wang, J R Stat
Soc B 2007;69:185–198), from a Kaplan–Meier start that is already the answer where all days are known; steps of
self-consistency (Turnbull, J R Stat Soc B 1976;38:290–295) help where the model does not. The certificate
is that of Gentleman & Geyer, Biometrika 1994;81:618–623: at the maximum no place has a gradient above the number of
groins, and by concavity the log-likelihood lies at most the excess below its maximum.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.linalg import cho_solve, cholesky, solve_triangular
from scipy.optimize import isotonic_regression, nnls

from hingeline.estimates.followup_rows import Floats, Ints

CLOSE: Final = 1e-6
"""Distance from the maximal log-likelihood at which a solution stands (1e-10 a groin where that is more)."""
ROUNDS: Final = 400
NARROWING: Final = 300
NEAR: Final = 1e-2
"""Where the search by isotonic steps hands over to the quadratic model."""
LOOKED_AT: Final = 1500
EXACTLY: Final = 250
"""Up to so many places the quadratic model is solved exactly."""


@dataclass(frozen=True, eq=False)
class Masses:
    """Masses on the places, and how far from the maximum they can be at most.

    Attributes
    ----------
    mass : (places,) float
    log_likelihood : float
    gap : float
        Upper bound of the maximal log-likelihood less this one.
    rounds : int
    unique : bool or None
        Whether no other masses reach the same log-likelihood; None with more places than are looked at.
    """

    mass: Floats
    log_likelihood: float
    gap: float
    rounds: int
    unique: bool | None


def solve_masses(first: Ints, last: Ints, count: Floats, places: int, open_end: bool) -> Masses:
    """Maximise Σ count · log(mass from first to last).

    Parameters
    ----------
    first, last : (rows,) int
        Places between which each row lies, both included.
    count : (rows,) float
    places : int
    open_end : bool
        Whether the last place is that of events never seen.
    """
    code, where = np.unique(first * places + last, return_inverse=True)
    a, b = code // places, code % places
    w: Floats = np.bincount(where, weights=count).astype(np.float64)
    total = float(w.sum())
    p = _start(a, b, w, places, open_end)
    if places > EXACTLY:
        p = _narrowed(p, a, b, w, total)
    gap, rounds, still = np.inf, 0, 0
    value, gradient = _value(p, a, b, w)
    while rounds < ROUNDS:
        gap = float(gradient.max()) - total
        if gap <= max(CLOSE, 1e-10 * total) or still >= 3:
            break
        rounds += 1
        before = value
        p, value, gradient = _step(p, value, gradient, a, b, w, total)
        still = still + 1 if value <= before + 1e-13 * abs(before) else 0
    tight = np.flatnonzero((p > 0) | (gradient > total * (1 - 1e-9)))
    return Masses(p, value, max(gap, 0.0), rounds, _unique(tight, p, a, b, w))


def _narrowed(p: Floats, a: Ints, b: Ints, w: Floats, total: float) -> Floats:
    """Steps of isotonic regression on the cumulative masses, which empty the places that need none.

    The iterative convex minorant with a step of self-consistency between (Wellner & Zhan, JASA 1997;92:945–959).
    """
    value, gradient = _value(p, a, b, w)
    size = p.size
    for _ in range(NARROWING):
        if float(gradient.max()) - total <= NEAR:
            break
        held = _held(p, a, b)
        ends, begins = b < size - 1, a > 0
        slope = np.bincount(b[ends], weights=(w / held)[ends], minlength=size)[:-1]
        slope = slope - np.bincount(a[begins] - 1, weights=(w / held)[begins], minlength=size)[: size - 1]
        bend = np.bincount(b[ends], weights=(w / held**2)[ends], minlength=size)[:-1]
        bend = bend + np.bincount(a[begins] - 1, weights=(w / held**2)[begins], minlength=size)[: size - 1]
        bend = np.maximum(bend, 1e-9 * bend.max())
        run = np.cumsum(p)[:-1]
        risen = np.clip(isotonic_regression(run + slope / bend, weights=bend).x, 0.0, 1.0)
        q = np.diff(np.concatenate([[0.0], risen, [1.0]]))
        share = 1.0
        while share > 1e-4:
            tried = p + share * (q - p)
            if _value(tried, a, b, w)[0] > value:
                p = tried
                break
            share /= 2
        p = _self_consistent(p, a, b, w, 1)
        value, gradient = _value(p, a, b, w)
    return p


def _value(p: Floats, a: Ints, b: Ints, w: Floats) -> tuple[float, Floats]:
    held = _held(p, a, b)
    if not (held > 0).all():
        return -np.inf, np.zeros_like(p)
    per = w / held
    steps = np.bincount(a, weights=per, minlength=p.size + 1) - np.bincount(
        b + 1, weights=per, minlength=p.size + 1
    )
    gradient: Floats = np.cumsum(steps)[:-1]
    return float(w @ np.log(held)), gradient


def _held(p: Floats, a: Ints, b: Ints) -> Floats:
    """Mass of each stretch; of single places without a subtraction."""
    run = np.concatenate([[0.0], np.cumsum(p)])
    back = np.concatenate([np.cumsum(p[::-1])[::-1], [0.0]])
    # the side on which less lies beyond the stretch loses fewer digits
    held = np.where(run[a] < back[b + 1], run[b + 1] - run[a], back[a] - back[b + 1])
    held = np.where(b + 1 == p.size, back[a], np.where(a == 0, run[b + 1], held))
    chosen: Floats = np.where(a == b, p[a], held)
    return chosen


def _start(a: Ints, b: Ints, w: Floats, places: int, open_end: bool) -> Floats:
    """Kaplan–Meier masses with every stretch taken at its middle place; what is left over goes to the last place."""
    unseen = (b == places - 1) & ((a < b) | open_end)
    at = np.where(unseen, np.maximum(a - 1, 0), (a + b) // 2)
    leaving = np.bincount(at, weights=w, minlength=places)
    leaving[0] -= w[unseen & (a == 0)].sum()  # open from the start: they leave before the first place
    died = np.bincount(at[~unseen], weights=w[~unseen], minlength=places)
    at_risk = np.cumsum(leaving[::-1])[::-1]
    some = at_risk > 0
    free = np.cumprod(np.where(some, 1 - died / np.where(some, at_risk, 1.0), 1.0))
    p: Floats = np.asarray(-np.diff(np.concatenate([[1.0], free])), dtype=np.float64)
    p[-1] += free[-1]
    if not (_held(p, a, b) > 0).all():
        p = 0.9 * p + 0.1 / places
    return _self_consistent(p / p.sum(), a, b, w, 5)


def _self_consistent(p: Floats, a: Ints, b: Ints, w: Floats, rounds: int) -> Floats:
    total = w.sum()
    for _ in range(rounds):
        p = p * _value(p, a, b, w)[1] / total
        p = np.maximum(p, 0.0) / np.maximum(p, 0.0).sum()
    return p


def _step(
    p: Floats, value: float, gradient: Floats, a: Ints, b: Ints, w: Floats, total: float
) -> tuple[Floats, float, Floats]:
    """Take in the peaks of the gradient, solve the quadratic model, and go as far as the likelihood rises."""
    support = _with_peaks(p, gradient, total)
    curvature = _curvature(support, _held(p, a, b), a, b, w)
    target = 2 * gradient[support] - total
    q = np.zeros_like(p)
    q[support] = _model(curvature, target)
    q = q / q.sum() if q.sum() > 0 else p
    slope = float(gradient @ (q - p))
    share = 1.0
    while slope > 0 and share > 1e-10:
        tried = p + share * (q - p)
        tried[tried < 1e-15] = 0.0
        new, steep = _value(tried, a, b, w)
        if new >= value + 1e-4 * share * slope or (
            share == 1.0 and slope < CLOSE and new >= value - 1e-12 * abs(value)
        ):
            return tried, new, steep
        share /= 2
    again = _self_consistent(p, a, b, w, 30)
    return again, *_value(again, a, b, w)


def _with_peaks(p: Floats, gradient: Floats, total: float) -> Ints:
    """Places with mass, and between any two of them the one where the gradient is highest if it is too high."""
    held = p > 0
    block = np.cumsum(held)
    order = np.lexsort((gradient, block))
    tops = order[np.concatenate([block[order][1:] != block[order][:-1], [True]])]
    chosen = held.copy()
    chosen[tops[gradient[tops] > total]] = True
    return np.flatnonzero(chosen)


def _curvature(support: Ints, held: Floats, a: Ints, b: Ints, w: Floats) -> Floats:
    """Minus the second derivative on the support: Σ over the stretches that hold both places, by sums in two ways."""
    size = support.size
    low = np.searchsorted(support, a, side="left")
    high = np.searchsorted(support, b, side="right") - 1
    some = low <= high
    cells = np.bincount(low[some] * size + high[some], weights=(w / held**2)[some], minlength=size * size)
    grid: Floats = np.cumsum(cells.reshape(size, size).astype(np.float64), axis=0)
    grid = np.cumsum(grid[:, ::-1], axis=1)[:, ::-1]
    upper = np.triu(grid)
    full: Floats = upper + np.triu(upper, 1).T
    return full


def _model(curvature: Floats, target: Floats) -> Floats:
    """Maximise target · q − q' curvature q / 2 over q of 0 or more."""
    ridge = 1e-12 * float(np.trace(curvature)) / target.size
    held = np.ones(target.size, dtype=bool)
    q: Floats = np.zeros(target.size)
    if target.size <= EXACTLY:
        root = _root(curvature, ridge)
        q[:] = cho_solve((root, False), target)
        return (
            q if (q >= 0).all() else nnls(root, solve_triangular(root, target, trans=1))[0].astype(np.float64)
        )
    while (
        held.any()
    ):  # very many places: drop those below 0 together; a wrong drop is taken in again as a peak
        q[:] = 0.0
        q[held] = cho_solve((_root(curvature[np.ix_(held, held)], ridge), False), target[held])
        if (q >= 0).all():
            break
        held &= q > 0
    return q


def _root(curvature: Floats, ridge: float) -> Floats:
    while True:
        try:
            root: Floats = cholesky(curvature + ridge * np.eye(curvature.shape[0]))
            return root
        except np.linalg.LinAlgError:
            ridge *= 100


def _unique(tight: Ints, p: Floats, a: Ints, b: Ints, w: Floats) -> bool | None:
    """Whether the curvature on every place that could hold mass is of full rank."""
    if tight.size > LOOKED_AT:
        return None
    scale = np.linalg.eigvalsh(_curvature(tight, _held(p, a, b), a, b, w))
    return bool(scale[0] > 1e-9 * scale[-1])
