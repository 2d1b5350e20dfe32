"""Counts by cell come in; the turns that maximise the unpenalised likelihood come out, within ten
milliseconds.

Three steps, ours: *screen* every set of candidate ages in closed form about a reference fit (suffix sums and
a Schur complement); *polish* the best by batched Newton; *climb* in the turns themselves, gap by gap, since
the profile has a kink at every age in the data. The global maximum is not promised here but by
`hinge_certify`.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from hingeline.estimates.hinge_climb import climb
from hingeline.estimates.hinge_fits import Found, fit_at, limits_of, project, working
from hingeline.estimates.hinge_newton import hinges, newton, starting_values
from hingeline.estimates.hinge_rows import DECADE, Cells, Floats, occupied
from hingeline.estimates.hinge_screen import best_sets, gains_of, screen, with_knots

CANDIDATES: Final = 12
CLIMBERS: Final = 4
WINDOW_YEARS: Final = 4.0
SLACK_YEARS: Final = 1.0
OTHERS: Final = 6
ROUNDS: Final = 4
SETTLED: Final = 1e-3
"""A round of screening about the best fit that gains less than this is the last."""
TRIPLE_KNOTS: Final = 48


def _reference(cells: Cells, y: Floats, n: Floats) -> Floats:
    """Linear predictor (N,) of a supple fit: a bend at each eighth of the cases, shrunk a little."""
    cumulated = np.cumsum(n)
    places = np.searchsorted(cumulated, cumulated[-1] * np.arange(1, 8) / 8)
    tau = np.unique(cells.decades[np.minimum(places, n.size - 1)])[None, :]
    start = np.concatenate([starting_values(cells, y, n), np.zeros(tau.shape[1])])[None, :]
    fit = newton(cells, y, n, hinges(cells, tau), start, iterations=5, tolerance=1e-3, penalised=True)
    eta: Floats = fit.eta[0]
    return eta


def search(
    cells: Cells,
    y: Floats,
    n: Floats,
    turns: int,
    *,
    low: Floats | None = None,
    high: Floats | None = None,
    also: Floats | None = None,
    fewer: Found | None = None,
) -> Found:
    """Screen, polish and climb to the best turns inside their limits.

    Parameters
    ----------
    y, n : (N,)
        Counts by cell, hospitals without information emptied.
    low, high : (k,), optional
        Limits of each turn in decades; a turn with equal limits is held there.
    also : (C, k), optional
        Further candidates, such as the turns of the fit that a replicate was drawn from.
    fewer : Found, optional
        For three turns, the best fit with two, when it is known already.
    """
    cells, y, n = occupied(cells, y, n)
    if turns == 0:
        fit = fit_at(cells, y, n, np.zeros((1, 0)))
        return Found(np.zeros(0), fit.theta[0], float(fit.loglik[0]))
    bounds = limits_of(cells, turns)
    low = bounds[0] if low is None else np.maximum(low, bounds[0])
    high = bounds[1] if high is None else np.minimum(high, bounds[1])
    apart = cells.apart_years / DECADE
    reference = _reference(cells, y, n)
    knots = cells.screen_knots
    held = low[low == high]
    if turns == 3 and knots.size > TRIPLE_KNOTS:
        knots = knots[np.unique(np.linspace(0, knots.size - 1, TRIPLE_KNOTS).astype(np.int64))]
    knots = with_knots(knots, np.concatenate([held, low, high]))
    pull, gram = screen(cells, *working(cells, y, n, reference), knots)
    sets = best_sets(gains_of(pull, gram, knots, low, high, apart), knots, CANDIDATES, 1)
    if turns == 3 and not held.size and (also is None or fewer is not None):
        two = fewer if fewer is not None and fewer.tau.size == 2 else search(cells, y, n, 2)
        sets = np.concatenate([sets, _with_a_third(cells, y, n, two, knots, low, high)])
    if also is not None:
        sets = np.concatenate([sets, also])
    sets = project(sets, low, high, apart)
    fits = fit_at(cells, y, n, sets, eta=reference, iterations=2, tolerance=1e-2)
    order = np.argsort(-fits.loglik)[:CLIMBERS]
    tau, climbed = climb(
        cells, y, n, sets[order], fits.theta[order], low, high, free_steps=3, iterations=5, tolerance=1e-3
    )
    best = int(np.argmax(climbed.loglik))
    for _ in range(ROUNDS):
        before = climbed.loglik[best]
        again = _nearby(cells, y, n, tau[best], climbed.eta[best], low, high)
        fits = fit_at(cells, y, n, again, eta=climbed.eta[best], iterations=2, tolerance=1e-2)
        order = np.argsort(-fits.loglik)[:CLIMBERS]
        starts = np.concatenate([tau[[best]], again[order]])
        thetas = np.concatenate([climbed.theta[[best]], fits.theta[order]])
        tau, climbed = climb(
            cells, y, n, starts, thetas, low, high, free_steps=0, iterations=6, tolerance=1e-4
        )
        best = int(np.argmax(climbed.loglik))
        if climbed.loglik[best] < before + SETTLED:
            break
    tau, climbed = climb(cells, y, n, tau[[best]], climbed.theta[[best]], low, high, free_steps=0)
    best = 0
    final = fit_at(cells, y, n, tau[[best]], start=climbed.theta[[best]])
    return Found(tau[best], final.theta[0], float(final.loglik[0]))


def _with_a_third(
    cells: Cells, y: Floats, n: Floats, two: Found, knots: Floats, low: Floats, high: Floats
) -> Floats:
    """Sets of three screened about the best fit with two turns: triples of a coarse grid may miss what it shows."""
    eta = two.theta[: cells.fixed.shape[1]] @ cells.fixed.T
    eta = eta + two.theta[cells.fixed.shape[1] :] @ hinges(cells, two.tau[None, :])[0]
    knots = with_knots(knots, two.tau)
    pull, gram = screen(cells, *working(cells, y, n, eta), knots)
    gains = gains_of(pull, gram, knots, low, high, cells.apart_years / DECADE)
    return best_sets(gains, knots, CANDIDATES, 1)


def _nearby(
    cells: Cells, y: Floats, n: Floats, tau: Floats, eta: Floats, low: Floats, high: Floats
) -> Floats:
    """Sets of ages near a good fit (and coarse ones everywhere), screened about that fit."""
    close = (np.abs(cells.knots[:, None] - tau[None, :]) < WINDOW_YEARS / DECADE).any(axis=1)
    knots = cells.knots[close]
    most = 90 if tau.size < 3 else TRIPLE_KNOTS
    if knots.size > most:
        nearest = np.abs(knots[:, None] - tau[None, :]).min(axis=1)
        knots = np.sort(knots[np.argsort(nearest, kind="stable")[:most]])
    apart = cells.apart_years / DECADE
    if tau.size == 2:
        # a maximum may lie where two turns are at their least distance and neither is at an age
        tight = np.abs(np.diff(tau)[0] - apart) < SLACK_YEARS / DECADE
        partners = [knots - apart, knots + apart] if tight else [tau - apart, tau + apart]
        knots = np.concatenate([knots, *partners])
        knots = knots[(knots >= low.min()) & (knots <= high.max())]
    if tau.size < 3:
        knots = np.concatenate([knots, cells.screen_knots[::2]])
    knots = with_knots(knots, np.concatenate([low, high]))
    pull, gram = screen(cells, *working(cells, y, n, eta), knots)
    gains = gains_of(pull, gram, knots, low, high, apart)
    # the best, which are neighbours of each other, and the best that are not
    return np.concatenate([best_sets(gains, knots, CANDIDATES, 0), best_sets(gains, knots, OTHERS, 6)])
