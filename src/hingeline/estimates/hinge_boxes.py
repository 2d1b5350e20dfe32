"""Boxes of turns come in; what no set of turns inside can exceed comes out, from a concave problem and its
dual.

In a box each turn may be any mixture of bends of its direction at any age inside its interval: on the ages in
the data a single bend between two neighbouring ages is such a mixture of the two, so the bound is never too
low, and for boxes of single gaps it is exact (the two lines cross inside the gap). The mixture is solved by
adding the age whose directional derivative is the largest (Groeneboom, Jongbloed & Wellner, Scand J Stat
2008;35:385, support reduction). Two turns *pressed* to their least distance δ are one turn of four bends: (1
− s)·bend at t and s·bend at t + δ is linear in t and in s inside gaps, so the corners of a box of (t, s) span
it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import entr

from hingeline.estimates.hinge_newton import Batch, likelihood, normal_equations, solve
from hingeline.estimates.hinge_rows import Cells, Floats, Ints

TOLERANCE: Final = 9e-7
FARTHEST: Final = 300.0
"""Where a coefficient runs off, linear predictors are taken to lie within ±300 (a share of 1e-130)."""
SLOTS: Final = 4
"""Bends a turn may be mixed of at once; a box whose mixture asks for more is halved."""
MOST_ROUNDS: Final = 60
STEEPEST: Final = 50.0
"""Total change of slope per decade within which derivatives tell what can be gained; only where there is no
proof."""


@dataclass
class Boxes:
    """Boxes (B, J) with their directions and the mixture reached so far; slots belong to turns in order.

    Attributes
    ----------
    low, high, sign : (B, J)
        Interval and direction of each turn, decades.
    age, active : (B, 4J)
        Where each slot bends, and whether it does.
    theta : (B, q + 4J)
    pressed : int
        Place of the pair that is pressed together, which counts as one turn; −1 for none.
    corner : (B, 5)
        Of such a pair: least and greatest t, least and greatest s, width of the first t.
    pair_sign : (B, 2)
    apart : float
    """

    low: Floats
    high: Floats
    sign: Floats
    age: Floats
    active: NDArray[np.bool_]
    theta: Floats
    corner: Floats
    pair_sign: Floats
    pressed: int = -1
    apart: float = 0.0

    def take(self, rows: NDArray[np.bool_] | Ints) -> Boxes:
        """Some of the boxes, copied."""
        picked: dict[str, Any] = {name: getattr(self, name)[rows] for name in ARRAYS}
        return replace(self, **picked)

    def __len__(self) -> int:
        return int(self.low.shape[0])

    def corners(self) -> tuple[Floats, Floats]:
        """The pressed pair's t and s at the four corners, (B, 4) each."""
        return self.corner[:, [0, 0, 1, 1]], self.corner[:, [2, 3, 2, 3]]

    def column(self, z: Floats, rows: Ints, j: int, where: Floats) -> Floats:
        """Column (R, N) of a bend of turn j at an age, or of a pressed pair at a corner."""
        if j != self.pressed:
            return np.maximum(z - where[:, None], 0.0).astype(np.float64, copy=False)
        t, s = self.corners()
        corner = where.astype(np.int64)
        at, share = t[rows, corner][:, None], s[rows, corner][:, None]
        first, second = self.pair_sign[rows, 0, None], self.pair_sign[rows, 1, None]
        bends = (1 - share) * first * np.maximum(z - at, 0)
        both: Floats = bends + share * second * np.maximum(z - at - self.apart, 0)
        return both

    def means(self) -> tuple[Floats, Floats]:
        """Mean age (B, J) of each turn's mixture, or the middle of its interval, and total bend (B, J)."""
        count, turns = self.low.shape
        bend = np.abs(self.theta[:, -SLOTS * turns :] * self.active).reshape(count, turns, SLOTS)
        age = self.age.reshape(count, turns, SLOTS)
        if self.pressed >= 0:
            age = age.copy()
            age[:, self.pressed] = self.corners()[0]
        whole = bend.sum(2)
        mean = (bend * age).sum(2) / np.where(whole > 0, whole, 1)
        return np.where(whole > 0, mean, (self.low + self.high) / 2), whole


ARRAYS: Final = ("low", "high", "sign", "age", "active", "theta", "corner", "pair_sign")


def joined(parts: list[Boxes]) -> Boxes:
    """All boxes of several batches of one kind."""
    whole: dict[str, Any] = {n: np.concatenate([getattr(p, n) for p in parts]) for n in ARRAYS}
    return replace(parts[0], **whole)


def fresh(low: Floats, high: Floats, sign: Floats, null: Floats) -> Boxes:
    """Boxes whose mixtures begin at the straight line ``null`` (q,)."""
    count, turns = low.shape
    theta = np.zeros((count, null.size + SLOTS * turns))
    theta[:, : null.size] = null
    slots = (count, SLOTS * turns)
    nothing = np.zeros((count, 5))
    return Boxes(
        low, high, sign, np.zeros(slots), np.zeros(slots, dtype=bool), theta, nothing, nothing[:, :2].copy()
    )


def bound_boxes(
    cells: Cells, y: Floats, n: Floats, boxes: Boxes, best: float, null: Batch, finish: bool = False
) -> tuple[Floats, Floats]:
    """Upper bound of each box, and the log-likelihood that its mixture reached.

    Stops as soon as a box is known to lie below ``best`` or, unless it is to ``finish``, its mixture above
    it. ``boxes`` keeps the mixtures.
    """
    count = boxes.low.shape[0]
    q = cells.fixed.shape[1]
    z, knots = cells.decades, cells.knots
    upper, reached = np.full(count, np.inf), np.full(count, -np.inf)
    rows = np.arange(count)
    work = boxes.take(rows)
    beyond = np.searchsorted(z, knots, side="right")
    extra = np.zeros((*work.age.shape, z.size))
    for slot in range(work.age.shape[1]):
        held = np.flatnonzero(work.active[:, slot])
        extra[held, slot] = work.column(z, held, slot // SLOTS, work.age[held, slot])
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
    rounds = (3 if finish else 1) * MOST_ROUNDS
    for turn_of_loop in range(rounds):
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
            # a box whose mixture is about to exceed the best fit cannot be dropped, so its bound can wait
            bound = np.full(rows.size, np.inf)
            may = np.flatnonzero(loglik + gain / 2 < best + TOLERANCE)
            bound[may] = _dual_bound(
                cells, y, n, work.take(may), score[may], info[may], move[may], matrix[may, :q, :q], beyond
            )
        else:
            bound = loglik + np.maximum(gain, 0) + STEEPEST * violation
        # a mixture that would need more bends than there are slots tells to halve the box
        done = (asked & ~given).any(axis=1) & (gain < 1e-2)
        done |= bound < best + TOLERANCE
        if finish:
            done |= (gain < 1e-12) & ~asked.any(axis=1)
        else:
            done |= (loglik > best + TOLERANCE) & (gain < 0.05)
        if turn_of_loop == rounds - 1:
            done[:] = True
        if done.any():
            late = np.flatnonzero(done & np.isinf(bound)) if cells.exact else rows[:0]
            if late.size:
                bound[late] = _dual_bound(
                    cells,
                    y,
                    n,
                    work.take(late),
                    score[late],
                    info[late],
                    move[late],
                    matrix[late, :q, :q],
                    beyond,
                )
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
    work: Boxes,
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
            bend = work.column(z, rows, j, where[rows, j])
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


def _violations(z: Floats, knots: Floats, beyond: Ints, score: Floats, work: Boxes) -> tuple[Floats, Floats]:
    """Largest derivative towards a bend of each turn's direction, (B, J), and where it is."""
    count, k = work.low.shape
    none = np.zeros((count, 1))
    tail = np.concatenate([np.cumsum(score[:, ::-1], axis=1)[:, ::-1], none], axis=1)
    tail_z = np.concatenate([np.cumsum((score * z)[:, ::-1], axis=1)[:, ::-1], none], axis=1)
    at_knots = tail_z[:, beyond] - knots * tail[:, beyond]
    worst, where = np.empty((count, k)), np.empty((count, k))
    every = np.arange(count)

    def pull(at: Floats) -> Floats:
        index = np.searchsorted(z, at, side="right")
        towards: Floats = tail_z[every, index] - at * tail[every, index]
        return towards

    for j in range(k):
        sign = work.sign[:, j]
        if j == work.pressed:
            t, s = work.corners()
            first, second = work.pair_sign[:, 0], work.pair_sign[:, 1]
            pulls = np.stack(
                [
                    (1 - s[:, c]) * first * pull(t[:, c]) + s[:, c] * second * pull(t[:, c] + work.apart)
                    for c in range(4)
                ],
                axis=1,
            )
            place = pulls.argmax(axis=1)
            worst[:, j], where[:, j] = pulls[every, place], place
            continue
        inside = (knots > work.low[:, j, None]) & (knots < work.high[:, j, None])
        towards = np.where(inside, sign[:, None] * at_knots, -np.inf)
        place = towards.argmax(axis=1)
        worst[:, j], where[:, j] = towards[every, place], knots[place]
        for end in (work.low[:, j], work.high[:, j]):
            value = sign * pull(end)
            better = value > worst[:, j]
            worst[:, j] = np.where(better, value, worst[:, j])
            where[:, j] = np.where(better, end, where[:, j])
    return worst, where


def _add(z: Floats, work: Boxes, extra: Floats, add: NDArray[np.bool_], where: Floats) -> NDArray[np.bool_]:
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
        extra[rows, slot] = work.column(z, rows, j, where[rows, j])
    return given
