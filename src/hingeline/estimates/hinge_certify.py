"""A fit comes in; a proof that no other turns do better comes out, or turns that do, by branch and bound.

Boxes of turns below the best fit are dropped, the others halved (`hinge_boxes` says how a box is bounded). A
box of single gaps in which two turns press closer than they may has its maximum on its edges, or with the two
at exactly their least distance: each of these is then a box of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hingeline.estimates.hinge_boxes import SLOTS, TOLERANCE, Boxes, bound_boxes, fresh, joined
from hingeline.estimates.hinge_climb import climb
from hingeline.estimates.hinge_fits import Found, fit_at, limits_of
from hingeline.estimates.hinge_newton import Batch
from hingeline.estimates.hinge_rows import DECADE, Cells, Floats, occupied

CHUNK: Final = 128
NARROWEST: Final = 1e-9
WIDE_GAP: Final = 1e-3
MOST_BOXES: Final = 6_000
FIRST_PIECES: Final = {1: 4, 2: 5, 3: 4}


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
    cells, y, n = occupied(cells, y, n)
    k = found.tau.size
    runs_off = bool(np.abs(found.theta).max(initial=0) > 200 or _extreme(cells, n, found))
    if k == 0:
        method = _method(cells, runs_off, False)
        return found, Certificate(found.loglik, found.loglik, 0.0, 0, method, cells.exact)
    bounds = limits_of(cells, k)
    low = bounds[0] if low is None else np.maximum(low, bounds[0])
    high = bounds[1] if high is None else np.minimum(high, bounds[1])
    null = fit_at(cells, y, n, np.zeros((1, 0)))
    hunt = _Hunt(cells, y, n, low, high, null, found)
    queues = [_first_boxes(cells, low, high, null.theta[0])]
    while queues:
        queue = queues.pop()
        part = queue.take(np.arange(len(queue)) < CHUNK)
        if len(queue) > CHUNK:
            queues.append(queue.take(np.arange(len(queue)) >= CHUNK))
        queues += hunt.examine(part, hunt.examined > most_boxes)
    best, bound = hunt.best, max(hunt.ceiling, hunt.best.loglik)
    gap = bound - best.loglik
    return best, Certificate(
        best.loglik,
        bound,
        gap,
        hunt.examined,
        _method(cells, runs_off, hunt.unsolved),
        bool(cells.exact and not hunt.unsolved and gap <= 1e-6),
    )


@dataclass
class _Hunt:
    """The state of one branch and bound: the best fit so far, and what was left standing."""

    cells: Cells
    y: Floats
    n: Floats
    low: Floats
    high: Floats
    null: Batch
    best: Found
    ceiling: float = -np.inf
    examined: int = 0
    unsolved: bool = False

    def examine(self, part: Boxes, stop: bool) -> list[Boxes]:
        """Bound some boxes; returns the smaller ones that are left to examine."""
        self.examined += len(part)
        upper, reached = bound_boxes(self.cells, self.y, self.n, part, self.best.loglik, self.null)
        part, upper, reached = self._above(part, upper, reached)
        if not len(part):
            return []
        self._climb_from(part, reached)
        if stop:
            self.ceiling, self.unsolved = max(self.ceiling, float(upper.max())), True
            return []
        if part.pressed >= 0:
            narrow = (part.corner[:, [1, 3]] - part.corner[:, [0, 2]]).max(axis=1) < NARROWEST
        else:
            narrow = (part.high - part.low).max(axis=1) < NARROWEST
        # what is left of a box too narrow to halve: its bound stands
        self.ceiling = max(self.ceiling, float(upper[narrow].max(initial=-np.inf)))
        part = part.take(~narrow)
        if part.pressed >= 0:
            return [_halved_pair(self.cells, part)] if len(part) else []
        tight = _single_gaps(self.cells, part).all(axis=1)
        made = [_halved(self.cells, part.take(np.flatnonzero(~tight)))]
        made += self._edges(part.take(np.flatnonzero(tight)))
        return [boxes for boxes in made if len(boxes)]

    def _above(self, part: Boxes, upper: Floats, reached: Floats) -> tuple[Boxes, Floats, Floats]:
        """Drop the boxes that cannot hold a better fit, and keep their bound."""
        kept = upper > self.best.loglik + TOLERANCE
        self.ceiling = max(self.ceiling, float(upper[~kept].max(initial=-np.inf)))
        return part.take(kept), upper[kept], reached[kept]

    def _edges(self, part: Boxes) -> list[Boxes]:
        """Boxes of single gaps, solved to the end; where two turns press too close, their edges instead."""
        if not len(part):
            return []
        upper, reached = bound_boxes(
            self.cells, self.y, self.n, part, self.best.loglik, self.null, finish=True
        )
        part, upper, reached = self._above(part, upper, reached)
        if not len(part):
            return []
        mean, whole = part.means()
        apart = self.cells.apart_years / DECADE
        close = (np.diff(mean, axis=1) < apart - NARROWEST) & (whole[:, 1:] > 0) & (whole[:, :-1] > 0)
        close &= _presses(self.cells, part)
        # with its turns far enough apart the box is exact: its maximum is a fit, and its bound stands, unless
        # where a
        # coefficient runs off a smaller box may bring it lower
        exact = ~close.any(axis=1)
        wide = (part.high - part.low).max(axis=1) > WIDE_GAP
        done = np.flatnonzero(exact & ~wide)
        self.ceiling = max(self.ceiling, float(upper[done].max(initial=-np.inf)))
        if exact.any():
            self._climb_from(part.take(np.flatnonzero(exact)), reached[exact])
        made = [_halved(self.cells, part.take(np.flatnonzero(exact & wide)))]
        for pair in range(close.shape[1]):
            first = close[:, pair] & ~close[:, :pair].any(axis=1)
            if first.any():
                made += _boundary(self.cells, part.take(np.flatnonzero(first)), pair, self.null.theta[0])
        return made

    def _climb_from(self, part: Boxes, reached: Floats) -> None:
        """Climb from the mixtures' mean ages: the branch and bound may come upon a better fit."""
        part = part.take(np.argsort(-reached, kind="stable")[:4])
        mean, _ = part.means()
        if part.pressed >= 0:
            mean = np.insert(mean, part.pressed + 1, mean[:, part.pressed] + part.apart, axis=1)
        fits = fit_at(self.cells, self.y, self.n, mean, eta=self.null.eta[0], iterations=8, tolerance=1e-4)
        tau, fit = climb(
            self.cells, self.y, self.n, mean, fits.theta, self.low, self.high, free_steps=0, iterations=15
        )
        winner = int(np.argmax(fit.loglik))
        if fit.loglik[winner] <= self.best.loglik:
            return
        final = fit_at(self.cells, self.y, self.n, tau[[winner]], start=fit.theta[[winner]])
        if final.loglik[0] > self.best.loglik:
            self.best = Found(tau[winner], final.theta[0], float(final.loglik[0]))


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


def _first_boxes(cells: Cells, low: Floats, high: Floats, null: Floats) -> Boxes:
    """Pieces of about equal numbers of ages: every ordered set of them, in every direction."""
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
    first = np.maximum(np.array(lows), low), np.minimum(np.array(highs), high)
    return _feasible(cells, fresh(*first, np.array(signs), null))


def _feasible(cells: Cells, boxes: Boxes) -> Boxes:
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


def _halved(cells: Cells, boxes: Boxes) -> Boxes:
    """Cut each box in two at the middle of the mixture that is spread the widest, else of its widest
    interval."""
    count, k = boxes.low.shape
    if count == 0:
        return boxes
    mean, _ = boxes.means()
    slope = np.abs(boxes.theta[:, -SLOTS * k :] * boxes.active).reshape(count, k, SLOTS)
    spread = (slope * np.abs(boxes.age.reshape(count, k, SLOTS) - mean[:, :, None])).sum(2)
    # within a single gap the bound is exact already: to halve it would gain nothing
    single = _single_gaps(cells, boxes)
    single &= ~single.all(axis=1, keepdims=True)
    width = np.where(single, -1.0, boxes.high - boxes.low)
    spread = np.where(single | (width < NARROWEST), -1.0, spread)
    mixed = spread.max(1) > 1e-9
    turn = np.where(mixed, spread.argmax(1), width.argmax(1))
    rows = np.arange(count)
    low, high = boxes.low[rows, turn], boxes.high[rows, turn]
    at = np.where(mixed, mean[rows, turn], (low + high) / 2)
    knots = cells.knots
    nearest = np.clip(np.searchsorted(knots, at), 1, knots.size - 1)
    nearest = nearest - (at - knots[nearest - 1] < knots[nearest] - at)
    # the nearest age strictly inside, else the middle of the gap
    first = np.searchsorted(knots, low + 1e-12, "right")
    last = np.searchsorted(knots, high - 1e-12, "left") - 1
    inside = knots[np.clip(np.clip(nearest, first, last), 0, knots.size - 1)]
    cut = np.where(first <= last, inside, (low + high) / 2)
    left, right = boxes.take(rows), boxes.take(rows)
    left.high[rows, turn] = cut
    right.low[rows, turn] = cut
    return _feasible(cells, joined([left, right]))


def _single_gaps(cells: Cells, boxes: Boxes) -> NDArray[np.bool_]:
    """Whether each interval (B, k) has no age inside."""
    first = np.searchsorted(cells.knots, boxes.low + 1e-12, "right")
    last = np.searchsorted(cells.knots, boxes.high - 1e-12, "left")
    return np.asarray(first >= last)


def _presses(cells: Cells, boxes: Boxes) -> NDArray[np.bool_]:
    """Whether each pair of neighbouring turns (B, k − 1) could lie too close in a box."""
    return np.asarray(boxes.low[:, 1:] - boxes.high[:, :-1] < cells.apart_years / DECADE - 1e-12)


def _boundary(cells: Cells, boxes: Boxes, pair: int, null: Floats) -> list[Boxes]:
    """The four edges of where a pair may lie, and the segment at its least distance.

    The likelihood of three unjoined lines is concave, so when its maximum puts two turns too close, the
    maximum over those that are allowed lies on the boundary of where they are allowed.
    """
    apart = cells.apart_years / DECADE
    a, b, c, d = boxes.low[:, pair], boxes.high[:, pair], boxes.low[:, pair + 1], boxes.high[:, pair + 1]
    made = []
    for first, second in (
        ((a, a), (c, d)),
        ((b, b), (b + apart, d)),
        ((a, c - apart), (c, c)),
        ((a, b), (d, d)),
    ):
        low, high = boxes.low.copy(), boxes.high.copy()
        low[:, pair], high[:, pair] = first
        low[:, pair + 1], high[:, pair + 1] = second
        made.append(_feasible(cells, fresh(low, high, boxes.sign.copy(), null)))
    low, high = np.delete(boxes.low, pair + 1, axis=1), np.delete(boxes.high, pair + 1, axis=1)
    low[:, pair], high[:, pair] = c - apart, np.maximum(b, c - apart)
    sign = np.delete(boxes.sign, pair + 1, axis=1)
    sign[:, pair] = 1.0
    pressed = fresh(low, high, sign, null)
    pressed.pressed, pressed.apart = pair, apart
    width = np.maximum(high[:, pair] - low[:, pair], NARROWEST)
    nothing = np.zeros(len(low))
    pressed.corner = np.column_stack([low[:, pair], high[:, pair], nothing, nothing + 1, width])
    pressed.pair_sign = boxes.sign[:, pair : pair + 2].copy()
    return [joined(made), _beside_pair(pressed)]


def _beside_pair(boxes: Boxes) -> Boxes:
    """Trim the other turns by their least distance from a pressed pair."""
    place = boxes.pressed
    boxes.high[:, :place] = np.minimum(boxes.high[:, :place], boxes.corner[:, 1, None] - boxes.apart)
    boxes.low[:, place + 1 :] = np.maximum(
        boxes.low[:, place + 1 :], boxes.corner[:, 0, None] + 2 * boxes.apart
    )
    return boxes.take(np.flatnonzero((boxes.high >= boxes.low - 1e-12).all(axis=1)))


def _halved_pair(cells: Cells, boxes: Boxes) -> Boxes:
    """Cut boxes with a pressed pair in two, along its t or its share s, the wider; other turns lie in single
    gaps."""
    rows = np.arange(len(boxes))
    t0, t1, s0, s1, width = boxes.corner.T
    by_age = (t1 - t0) / width >= s1 - s0
    left, right = boxes.take(rows), boxes.take(rows)
    middle, half = (t0 + t1) / 2, (s0 + s1) / 2
    left.corner[:, 1], right.corner[:, 0] = np.where(by_age, middle, t1), np.where(by_age, middle, t0)
    left.corner[:, 3], right.corner[:, 2] = np.where(by_age, s1, half), np.where(by_age, s0, half)
    both = joined([left, right])
    both.low[:, both.pressed], both.high[:, both.pressed] = both.corner[:, 0], both.corner[:, 1]
    both = _beside_pair(both)
    # the corners have moved, so what the mixture was made of is no longer there
    both.active[:] = False
    both.theta[:, cells.fixed.shape[1] :] = 0.0
    return both
