"""A fit comes in; a proof that no other turns do better comes out, or turns that do, by branch and bound.

A box holds every set of turns in given intervals, with given directions. Its bound is the *concave* problem
in which each turn may be any mixture of bends of its direction at any age inside its interval: on the ages in
the data a single bend between two neighbouring ages is such a mixture of the two, so the bound is never too
low, and for boxes of single gaps it is exact (the two lines cross inside the gap). Boxes below the best fit
are dropped, the others halved. The mixture is solved by adding the age whose directional derivative is the
largest (Groeneboom, Jongbloed & Wellner, Scand J Stat 2008;35:385, support reduction); the derivatives also
say how much can still be gained.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import entr

from hingeline.estimates.hinge_newton import FARTHEST, Batch, likelihood, normal_equations, solve
from hingeline.estimates.hinge_rows import DECADE, Cells, Floats, Ints
from hingeline.estimates.hinge_search import Found, climb, fit_at, limits_of

TOLERANCE: Final = 5e-7
SLOTS: Final = 4
"""Bends a turn may be mixed of at once; mixtures of more than three are not met with."""
CHUNK: Final = 48
NARROWEST: Final = 1e-9
MOST_ROUNDS: Final = 60
MOST_BOXES: Final = 40_000
FIRST_PIECES: Final = {1: 4, 2: 7, 3: 6}
STEEPEST: Final = 50.0
"""Total change of slope per decade within which the derivative tells what can be gained; only where there is
no proof."""


@dataclass(frozen=True)
class Certificate:
    """What is proved of a fit.

    Attributes
    ----------
    best : float
        Log-likelihood of the fit, without constants.
    bound : float
        What no set of turns can exceed.
    gap : float
        ``bound − best``; at most 1e-6 when the search was carried to its end.
    boxes : int
        Sets of turns examined.
    method : str
        How the bound was reached, in words: by the likelihood itself; by its supremum (deviance) when a
        coefficient runs off under separation; or by local maxima when typing errors make the likelihood not
        concave.
    proven : bool
        Whether the bound is a proof (not under typing errors, nor when boxes ran out).
    """

    best: float
    bound: float
    gap: float
    boxes: int
    method: str
    proven: bool


@dataclass
class _Boxes:
    """Boxes (B, k) with their directions and the mixture reached so far; slots belong to turns in order."""

    low: Floats
    high: Floats
    sign: Floats
    age: Floats
    active: NDArray[np.bool_]
    theta: Floats

    def take(self, rows: NDArray[np.bool_] | Ints) -> _Boxes:
        return _Boxes(
            self.low[rows],
            self.high[rows],
            self.sign[rows],
            self.age[rows],
            self.active[rows],
            self.theta[rows],
        )

    def __len__(self) -> int:
        return int(self.low.shape[0])


def _joined(parts: list[_Boxes]) -> _Boxes:
    return _Boxes(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("low", "high", "sign", "age", "active", "theta")
        )
    )


def certify(
    cells: Cells,
    y: Floats,
    n: Floats,
    found: Found,
    *,
    low: Floats | None = None,
    high: Floats | None = None,
    most_boxes: int = MOST_BOXES,
) -> tuple[Found, Certificate]:
    """Prove that ``found`` is the global maximum, or return what is.

    Parameters
    ----------
    y, n : (N,)
        Counts by cell, hospitals without information emptied.
    low, high : (k,), optional
        Limits of each turn in decades; those of the design when left out.

    Returns
    -------
    Found, Certificate
        The fit (a better one when the proof came upon it) and what is proved of it.
    """
    k = found.tau.size
    runs_off = bool(np.abs(found.theta).max(initial=0) > 200 or _extreme(cells, n, found))
    if k == 0:
        return found, Certificate(
            found.loglik, found.loglik, 0.0, 0, _method(cells, runs_off, False), cells.exact
        )
    bounds = limits_of(cells, k)
    low = bounds[0] if low is None else np.maximum(low, bounds[0])
    high = bounds[1] if high is None else np.minimum(high, bounds[1])
    null = fit_at(cells, y, n, np.zeros((1, 0)))
    queue = _first_boxes(cells, n, low, high, null.theta[0])
    best, ceiling, examined, unsolved = found, -np.inf, 0, False
    while len(queue):
        part, queue = queue.take(np.arange(len(queue)) < CHUNK), queue.take(np.arange(len(queue)) >= CHUNK)
        examined += len(part)
        upper, reached = _bound(cells, y, n, part, best.loglik, null)
        kept = upper > best.loglik + TOLERANCE
        ceiling = max(ceiling, float(upper[~kept].max(initial=-np.inf)))
        if not kept.any():
            continue
        part, reached, upper = part.take(kept), reached[kept], upper[kept]
        best = _try(cells, y, n, part, reached, best, low, high)
        if examined > most_boxes:
            ceiling, unsolved = max(ceiling, float(upper.max())), True
            continue
        narrow = (part.high - part.low).max(axis=1) < NARROWEST
        if narrow.any():
            # what is left of a box too narrow to halve: its bound stands
            ceiling = max(ceiling, float(upper[narrow].max()))
            part = part.take(~narrow)
        queue = _joined([queue, _halved(cells, part)])
    ceiling = max(ceiling, best.loglik)
    gap = ceiling - best.loglik
    return best, Certificate(
        best.loglik,
        ceiling,
        gap,
        examined,
        _method(cells, runs_off, unsolved),
        bool(cells.exact and not unsolved and gap <= 1e-6),
    )


def _extreme(cells: Cells, n: Floats, found: Found) -> bool:
    eta = fit_eta(cells, found)
    return bool((np.abs(eta[n > 0]) > 25).any()) if cells.family == "binomial" else False


def fit_eta(cells: Cells, found: Found) -> Floats:
    """Linear predictor (N,) of a fit."""
    q = cells.fixed.shape[1]
    bends = np.maximum(cells.decades[:, None] - found.tau, 0)
    eta: Floats = cells.fixed @ found.theta[:q] + bends @ found.theta[q:]
    return eta


def _method(cells: Cells, runs_off: bool, unsolved: bool) -> str:
    words = "boxes bounded by the concave likelihood of mixed bends"
    if not cells.exact:
        words = "boxes bounded by local maxima (with typing errors the likelihood is not concave: no proof)"
    elif runs_off:
        words += ", by its supremum where a coefficient runs off (convergence judged by deviance)"
    return words + ("; stopped with boxes left" if unsolved else "")


def _first_boxes(cells: Cells, n: Floats, low: Floats, high: Floats, null: Floats) -> _Boxes:
    """Cut the ages into pieces of about equal numbers of knots; every ordered set of pieces and
    directions."""
    k = low.size
    inside = cells.knots
    ends = np.linspace(0, inside.size - 1, FIRST_PIECES[k] + 1).round().astype(np.int64)
    edges = np.unique(inside[ends])
    pieces = list(pairwise(edges)) or [(edges[0], edges[0])]
    lows, highs, signs = [], [], []
    for places in product(range(len(pieces)), repeat=k):
        if any(a > b for a, b in pairwise(places)):
            continue
        for direction in product((1.0, -1.0), repeat=k):
            lows.append([pieces[p][0] for p in places])
            highs.append([pieces[p][1] for p in places])
            signs.append(direction)
    count = len(lows)
    theta = np.zeros((count, null.size + SLOTS * k))
    theta[:, : null.size] = null
    boxes = _Boxes(
        np.maximum(np.array(lows), low),
        np.minimum(np.array(highs), high),
        np.array(signs),
        np.zeros((count, SLOTS * k)),
        np.zeros((count, SLOTS * k), dtype=bool),
        theta,
    )
    return _feasible(cells, boxes)


def _feasible(cells: Cells, boxes: _Boxes) -> _Boxes:
    """Trim intervals by the least distance between turns; drop boxes in which no set of turns is allowed."""
    apart = cells.apart_years / DECADE
    for j in range(1, boxes.low.shape[1]):
        boxes.low[:, j] = np.maximum(boxes.low[:, j], boxes.low[:, j - 1] + apart)
    for j in range(boxes.low.shape[1] - 2, -1, -1):
        boxes.high[:, j] = np.minimum(boxes.high[:, j], boxes.high[:, j + 1] - apart)
    kept = np.flatnonzero((boxes.high >= boxes.low - 1e-12).all(axis=1))
    boxes = boxes.take(kept)
    boxes.high = np.maximum(boxes.high, boxes.low)
    boxes.age = np.clip(boxes.age, np.repeat(boxes.low, SLOTS, axis=1), np.repeat(boxes.high, SLOTS, axis=1))
    return boxes


def _halved(cells: Cells, boxes: _Boxes) -> _Boxes:
    """Cut each box in two at the middle of the mixture that is spread the widest, else of its widest
    interval."""
    count, k = boxes.low.shape
    if count == 0:
        return boxes
    slope = np.abs(boxes.theta[:, -SLOTS * k :] * boxes.active).reshape(count, k, SLOTS)
    age = boxes.age.reshape(count, k, SLOTS)
    whole = slope.sum(2)
    mean = np.where(
        whole > 0, (slope * age).sum(2) / np.where(whole > 0, whole, 1), (boxes.low + boxes.high) / 2
    )
    spread = (slope * np.abs(age - mean[:, :, None])).sum(2)
    width = boxes.high - boxes.low
    spread = np.where(width < NARROWEST, -1.0, spread)
    turn = np.where(spread.max(1) > 1e-9, spread.argmax(1), width.argmax(1))
    rows = np.arange(count)
    low, high = boxes.low[rows, turn], boxes.high[rows, turn]
    at = np.where(spread.max(1) > 1e-9, mean[rows, turn], (low + high) / 2)
    knots = cells.knots
    nearest = np.clip(np.searchsorted(knots, at), 1, knots.size - 1)
    nearest = nearest - (at - knots[nearest - 1] < knots[nearest] - at)
    # the nearest age strictly inside, else the middle of the gap
    first, last = (
        np.searchsorted(knots, low + 1e-12, "right"),
        np.searchsorted(knots, high - 1e-12, "left") - 1,
    )
    cut = np.where(
        first <= last, knots[np.clip(np.clip(nearest, first, last), 0, knots.size - 1)], (low + high) / 2
    )
    left, right = boxes.take(rows), boxes.take(rows)
    left.high[rows, turn] = cut
    right.low[rows, turn] = cut
    return _feasible(cells, _joined([left, right]))


def _try(
    cells: Cells,
    y: Floats,
    n: Floats,
    boxes: _Boxes,
    reached: Floats,
    best: Found,
    low: Floats,
    high: Floats,
) -> Found:
    """Climb from the mixtures' mean ages: the branch and bound may come upon a better fit."""
    k = boxes.low.shape[1]
    top = np.argsort(-reached, kind="stable")[:4]
    slope = np.abs(boxes.theta[top][:, -SLOTS * k :] * boxes.active[top]).reshape(top.size, k, SLOTS)
    whole = slope.sum(2)
    age = boxes.age[top].reshape(top.size, k, SLOTS)
    tau = np.where(
        whole > 0,
        (slope * age).sum(2) / np.where(whole > 0, whole, 1),
        (boxes.low[top] + boxes.high[top]) / 2,
    )
    q = cells.fixed.shape[1]
    bend = (boxes.theta[top][:, -SLOTS * k :] * boxes.active[top]).reshape(top.size, k, SLOTS).sum(2)
    theta = np.concatenate([boxes.theta[top][:, :q], bend], axis=1)
    tau, fit = climb(cells, y, n, tau, theta, low, high, free_steps=0, iterations=40)
    winner = int(np.argmax(fit.loglik))
    if fit.loglik[winner] <= best.loglik:
        return best
    final = fit_at(cells, y, n, tau[[winner]], start=fit.theta[[winner]])
    if final.loglik[0] <= best.loglik:
        return best
    return Found(tau[winner], final.theta[0], float(final.loglik[0]))


def _bound(
    cells: Cells, y: Floats, n: Floats, boxes: _Boxes, best: float, null: Batch
) -> tuple[Floats, Floats]:
    """Upper bound of each box, and the log-likelihood that its mixture reached.

    Stops as soon as a box is known to lie below ``best`` or its mixture above it. ``boxes`` keeps the
    mixtures.
    """
    count = boxes.low.shape[0]
    q = cells.fixed.shape[1]
    z, knots = cells.decades, cells.knots
    upper, reached = np.full(count, np.inf), np.full(count, -np.inf)
    rows = np.arange(count)
    work = boxes.take(rows)
    beyond = np.searchsorted(z, knots, side="right")
    extra = np.maximum(z - work.age[:, :, None], 0) * work.active[:, :, None]
    eta = work.theta[:, :q] @ cells.fixed.T + (work.theta[:, None, q:] @ extra)[:, 0, :]
    loglik, score, info = likelihood(cells, y, n, eta)
    poor = ~(loglik >= null.loglik[0])
    if poor.any():
        # what a halved box inherits may be far off: begin from the straight line
        work.theta[poor], work.active[poor], extra[poor] = 0.0, False, 0.0
        work.theta[poor, :q] = null.theta[0]
        eta[poor] = null.eta[0]
        loglik, score, info = likelihood(cells, y, n, eta)
    slot_sign = np.repeat(work.sign, SLOTS, axis=1)
    ready = np.full(count, np.inf)
    for turn_of_loop in range(MOST_ROUNDS):
        worst, where = _violations(z, knots, beyond, score, work)
        violation = np.maximum(worst, 0).sum(1)
        add = (worst > 1e-9) & (ready < 0.3)[:, None]
        if turn_of_loop == 0:
            add = worst > 1e-9
        asked, given = add, _add(z, work, extra, add, where)
        gradient, matrix = normal_equations(cells, extra, score, info)
        step = solve(matrix, gradient)
        gain = (gradient * step).sum(1)
        move = step[:, :q] @ cells.fixed.T + (step[:, None, q:] @ extra)[:, 0, :]
        if cells.exact:
            bound = _dual_bound(cells, y, n, work, score, info, move, matrix[:, :q, :q], beyond)
        else:
            bound = loglik + np.maximum(gain, 0) + STEEPEST * violation
        low_enough = bound < best + TOLERANCE
        high_enough = (loglik > best + TOLERANCE) & (gain < 0.05)
        # a mixture that would need more bends than there are slots tells to halve the box
        full = (asked & ~given).any(axis=1) & (gain < 1e-2)
        done = low_enough | high_enough | full
        if turn_of_loop == MOST_ROUNDS - 1:
            done[:] = True
        if done.any():
            places = rows[done]
            upper[places] = bound[done]
            reached[places] = loglik[done]
            boxes.age[places], boxes.active[places] = work.age[done], work.active[done]
            boxes.theta[places] = work.theta[done]
            left = ~done
            rows, work = rows[left], work.take(left)
            if rows.size == 0:
                break
            extra, eta, loglik, step, gain = extra[left], eta[left], loglik[left], step[left], gain[left]
            move = move[left]
            slot_sign = slot_sign[left]
        ready = gain
        # a bend may not change its direction: go as far as the first that would, and drop it
        gamma, change = work.theta[:, q:], step[:, q:]
        wrong = work.active & (slot_sign * (gamma + change) < 0)
        stuck = wrong & (slot_sign * gamma <= 1e-14)
        change[stuck] = 0.0
        wrong &= ~stuck
        ratio = np.where(wrong, gamma / np.where(wrong, -change, 1), 1.0)
        factor = ratio.min(axis=1, initial=1.0)
        if stuck.any():
            move = step[:, :q] @ cells.fixed.T + (change[:, None, :] @ extra)[:, 0, :]
        objective = loglik
        cut = factor.copy()
        for _ in range(12):
            trial_eta = eta + cut[:, None] * move
            loglik, score, info = likelihood(cells, y, n, trial_eta)
            worse = ~(loglik >= objective - 1e-10 * (1 + np.abs(objective)))
            if not worse.any():
                break
            cut = np.where(worse, cut / 4, cut)
        eta = trial_eta
        work.theta = work.theta + cut[:, None] * step
        hit = wrong & (ratio <= factor[:, None] * (1 + 1e-12)) & (cut == factor)[:, None]
        dropped = hit | stuck
        if dropped.any():
            work.theta[:, q:][dropped] = 0.0
            work.active[dropped] = False
            extra[dropped] = 0.0
    return upper, reached


def _dual_bound(
    cells: Cells,
    y: Floats,
    n: Floats,
    work: _Boxes,
    score: Floats,
    info: Floats,
    move: Floats,
    base: Floats,
    beyond: Ints,
) -> Floats:
    """What no mixture in a box can exceed, from any iterate: the value of a point of the dual problem.

    For any expected counts μ, yη − n·log(1 + e^η) ≤ (y − μ)η − n·H(μ/n). When y − μ is orthogonal to the
    fixed columns and points away from every bend of a box, the first term adds up to 0 or less, and −Σ
    n·H(μ/n) is a bound (Fenchel's; for rates Σ μ·log(μ/n) − μ). The counts expected after one Newton step
    meet the first condition; a small change along the bends that still pull meets the second. What is left of
    either, and counts outside 0 to n, are charged as if the linear predictor could be as far as ±300.
    """
    z = cells.decades
    rest = score - info * move
    left = np.zeros(len(work))
    for turn_of_loop in range(3):
        worst, where = _violations(z, cells.knots, beyond, rest, work)
        left = np.maximum(worst, 0).sum(1)
        pulling = np.flatnonzero(left > 1e-12)
        if pulling.size == 0 or turn_of_loop == 2:
            break
        for j in range(worst.shape[1]):
            rows = pulling[worst[pulling, j] > 0]
            if rows.size == 0:
                continue
            bend = np.maximum(z - where[rows, j, None], 0)
            weighted = info[rows] * bend
            inner = solve(base[rows], weighted @ cells.fixed)
            off = weighted - info[rows] * (inner @ cells.fixed.T)
            power = np.maximum((off * bend).sum(1), 1e-12)
            size = 1.02 * worst[rows, j] / power
            rest[rows] -= (work.sign[rows, j] * size)[:, None] * off
    expected = y - rest
    kept = np.maximum(expected, 0)
    if cells.family == "binomial":
        kept = np.minimum(kept, n)
    outside = np.abs(expected - kept).sum(1)
    level = np.where(n > 0, kept / np.where(n > 0, n, 1), 0)
    value = -entr(level) @ n - (entr(1 - level) @ n if cells.family == "binomial" else kept.sum(1))
    slack = np.abs(rest @ cells.fixed).sum(1)
    result: Floats = value + FARTHEST * (outside + slack + left)
    return result


def _violations(z: Floats, knots: Floats, beyond: Ints, score: Floats, work: _Boxes) -> tuple[Floats, Floats]:
    """Largest derivative towards a bend of each turn's direction, (B, k), and the age of it."""
    count, k = work.low.shape
    none = np.zeros((count, 1))
    tail = np.concatenate([np.cumsum(score[:, ::-1], axis=1)[:, ::-1], none], axis=1)
    tail_z = np.concatenate([np.cumsum((score * z)[:, ::-1], axis=1)[:, ::-1], none], axis=1)
    at_knots = tail_z[:, beyond] - knots * tail[:, beyond]
    worst, where = np.empty((count, k)), np.empty((count, k))
    every = np.arange(count)
    for j in range(k):
        sign = work.sign[:, j]
        inside = (knots > work.low[:, j, None]) & (knots < work.high[:, j, None])
        towards = np.where(inside, sign[:, None] * at_knots, -np.inf)
        place = towards.argmax(axis=1)
        worst[:, j], where[:, j] = towards[every, place], knots[place]
        for end in (work.low[:, j], work.high[:, j]):
            index = np.searchsorted(z, end, side="right")
            value = sign * (tail_z[every, index] - end * tail[every, index])
            better = value > worst[:, j]
            worst[:, j] = np.where(better, value, worst[:, j])
            where[:, j] = np.where(better, end, where[:, j])
    return worst, where


def _add(z: Floats, work: _Boxes, extra: Floats, add: NDArray[np.bool_], where: Floats) -> NDArray[np.bool_]:
    """Give each turn that asks for it a slot at its best age; False where none is free."""
    given = add.copy()
    for j in range(add.shape[1]):
        slots = slice(j * SLOTS, (j + 1) * SLOTS)
        there = (work.active[:, slots] & (np.abs(work.age[:, slots] - where[:, j, None]) < 1e-12)).any(axis=1)
        free = ~work.active[:, slots]
        given[:, j] &= there | free.any(axis=1)
        rows = np.flatnonzero(add[:, j] & ~there & free.any(axis=1))
        if rows.size == 0:
            continue
        slot = j * SLOTS + free[rows].argmax(axis=1)
        work.age[rows, slot] = where[rows, j]
        work.active[rows, slot] = True
        extra[rows, slot] = np.maximum(z - where[rows, j, None], 0)
    return given
