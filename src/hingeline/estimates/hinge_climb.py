"""From turns that are near to the nearest maximum: turns and coefficients climb together, gap by gap, since the profile
has a kink at every age in the data; turns at their least distance move as one (ours; see `hinge_search`)."""

from __future__ import annotations

import numpy as np

from hingeline.estimates.hinge_fits import SAME_AGE, fit_at, project
from hingeline.estimates.hinge_newton import Batch, hinges, likelihood, normal_equations, solve
from hingeline.estimates.hinge_rows import DECADE, Cells, Floats


def climb(
    cells: Cells,
    y: Floats,
    n: Floats,
    tau: Floats,
    theta: Floats,
    low: Floats,
    high: Floats,
    *,
    free_steps: int = 3,
    iterations: int = 30,
    tolerance: float = 1e-9,
) -> tuple[Floats, Batch]:
    """Climb in turns and coefficients together, from (C, k) turns and (C, q + k) coefficients.

    A turn moves by Newton steps inside its gap between neighbouring ages, where the likelihood is smooth, and
    stops at an age when the slope of the profile points back to it from both sides (a kink, often the
    maximum). Turns that press against their least distance move as one. The first ``free_steps`` may jump
    gaps.

    Parameters
    ----------
    low, high : (C, k) or (k,)
        Limits of each turn; a turn with equal limits is held.
    """
    q = cells.fixed.shape[1]
    apart = cells.apart_years / DECADE
    low, high = np.broadcast_to(low, tau.shape), np.broadcast_to(high, tau.shape)
    tau = project(tau, low, high, apart)
    first = fit_at(cells, y, n, tau, start=theta, iterations=3, tolerance=1e-6)
    theta, eta, loglik = first.theta.copy(), first.eta.copy(), first.loglik.copy()
    live = np.arange(tau.shape[0])
    failed = np.zeros(tau.shape[0], dtype=np.int64)
    _, score, info = likelihood(cells, y, n, eta)
    for turn_of_loop in range(iterations):
        free = turn_of_loop < free_steps
        here, there, gain = _step(cells, tau[live], theta[live], score, info, low[live], high[live], free)
        go = (gain >= tolerance) & (failed[live] < 2)
        live = live[go]
        if live.size == 0:
            break
        shift, change = here[go], there[go]
        old_tau, old_theta, objective = tau[live], theta[live], loglik[live]
        factor = np.ones(live.size)
        for attempt in range(7):
            trial_tau = old_tau + factor[:, None] * shift
            trial = old_theta + factor[:, None] * change
            bent = (trial[:, None, q:] @ hinges(cells, trial_tau))[:, 0, :]
            trial_eta = trial[:, :q] @ cells.fixed.T + bent
            reached, score, info = likelihood(cells, y, n, trial_eta)
            worse = ~(reached >= objective - 1e-11 * (1 + np.abs(objective)))
            if not worse.any():
                break
            # two failures in gaps that are smooth: nothing is left to climb; jumps may fail
            if attempt == 5:
                failed[live[worse]] += 1 if free else 2
            factor = np.where(worse, factor / 4 if attempt < 5 else 0.0, factor)
        tau[live], theta[live], eta[live], loglik[live] = trial_tau, trial, trial_eta, reached
    return tau, Batch(theta, loglik, eta)


def _step(
    cells: Cells,
    tau: Floats,
    theta: Floats,
    score: Floats,
    info: Floats,
    low: Floats,
    high: Floats,
    free: bool,
) -> tuple[Floats, Floats, Floats]:
    """Steps of turns (C, k) and coefficients (C, q + k), and the gain they promise (C,)."""
    k = tau.shape[1]
    q = cells.fixed.shape[1]
    apart = cells.apart_years / DECADE
    sides, above, below = _sides(cells, tau, theta[:, q:], score, low, high, apart)
    tied = _tied(tau, sides, apart)
    # columns max(age − τ, 0) and, for turns that move, −γ beyond τ (from τ on when it moves down)
    extra = np.empty((tau.shape[0], 2 * k, cells.decades.size))
    columns, moving = extra[:, :k], extra[:, k:]
    np.subtract(cells.decades, tau[:, :, None], out=columns)
    np.maximum(columns, 0.0, out=columns)
    since = np.where(sides > 0, tau, np.nextafter(tau, -np.inf))
    np.multiply(
        cells.decades > since[:, :, None], np.where(sides != 0, -theta[:, q:], 0.0)[:, :, None], out=moving
    )
    if tied.any():
        for j in range(k - 1, 0, -1):
            moving[:, j - 1] += moving[:, j] * tied[:, j, None]
            moving[:, j] *= ~tied[:, j, None]
    gradient, matrix = normal_equations(cells, extra, score, info)
    step = solve(matrix, gradient)
    gain = (gradient * step).sum(1)
    shift = step[:, q + k :]
    for j in range(1, k):
        shift[:, j] = np.where(tied[:, j], shift[:, j - 1], shift[:, j])
    if free:
        shift = np.clip(shift, -2.0 / DECADE, 2.0 / DECADE)
    else:
        # stay in the gap; from an age, only to the side whose slope was used
        shift = np.clip(shift, np.where(sides > 0, np.minimum(0, below - tau), below - tau), above - tau)
        on_age = _on_age(cells, tau)
        shift = np.where(on_age & (sides > 0), np.maximum(shift, 0), shift)
        shift = np.where(on_age & (sides < 0), np.minimum(shift, 0), shift)
    shift = np.where(sides == 0, 0.0, shift)
    for j in range(1, k):
        nearer = np.where(np.abs(shift[:, j]) < np.abs(shift[:, j - 1]), shift[:, j], shift[:, j - 1])
        shift[:, j] = np.where(tied[:, j], nearer, shift[:, j])
        shift[:, j - 1] = np.where(tied[:, j], nearer, shift[:, j - 1])
    shift = project(tau + shift, low, high, apart) - tau
    # the step of the coefficients that goes with the turns' step as it was cut
    cut = shift * (sides != 0)
    for j in range(1, k):
        cut[:, j] *= ~tied[:, j]
    size = q + k
    if np.array_equal(cut, step[:, size:]):
        return shift, step[:, :size], gain
    right = gradient[:, :size] - (matrix[:, :size, size:] @ cut[:, :, None])[:, :, 0]
    return shift, solve(matrix[:, :size, :size], right), gain


def _on_age(cells: Cells, tau: Floats) -> np.ndarray:
    knots = cells.knots
    place = np.clip(np.searchsorted(knots, tau), 1, knots.size - 1)
    near: np.ndarray = np.minimum(np.abs(knots[place] - tau), np.abs(tau - knots[place - 1])) < SAME_AGE
    return near


def _sides(
    cells: Cells, tau: Floats, gamma: Floats, score: Floats, low: Floats, high: Floats, apart: float
) -> tuple[Floats, Floats, Floats]:
    """Where each turn wants to go: +1, −1, or 0 at a kink or limit; and the next age above and below it."""
    knots = cells.knots
    tails = np.concatenate(
        [np.cumsum(score[:, ::-1], axis=1)[:, ::-1], np.zeros((score.shape[0], 1))], axis=1
    )
    rows = np.arange(tau.shape[0])[:, None]
    right = -gamma * tails[rows, np.searchsorted(cells.decades, tau, side="right")]
    left = -gamma * tails[rows, np.searchsorted(cells.decades, tau, side="left")]
    above = knots[np.minimum(np.searchsorted(knots, tau + SAME_AGE, side="right"), knots.size - 1)]
    below = knots[np.maximum(np.searchsorted(knots, tau - SAME_AGE, side="left") - 1, 0)]
    above, below = np.minimum(above, high), np.maximum(below, low)
    up = (right > 0) & (tau < high - SAME_AGE)
    down = (left < 0) & (tau > low + SAME_AGE)
    both = up & down
    up = np.where(both, right >= -left, up)
    down = np.where(both, right < -left, down)
    sides = up.astype(np.float64) - down
    # two turns at their least distance, one of which presses on the other: they go where their sum points, or stay
    for j in range(1, tau.shape[1]):
        first, second = sides[:, j - 1], sides[:, j]
        close = tau[:, j] - tau[:, j - 1] < apart + SAME_AGE
        pressed = close & (((first > 0) & (second <= 0)) | ((first >= 0) & (second < 0)))
        can_rise = (tau[:, j] < high[:, j] - SAME_AGE) & (low[:, j - 1] < high[:, j - 1])
        can_fall = (tau[:, j - 1] > low[:, j - 1] + SAME_AGE) & (low[:, j] < high[:, j])
        rises = (right[:, j - 1] + right[:, j] > 0) & can_rise
        falls = (left[:, j - 1] + left[:, j] < 0) & can_fall
        together = np.where(rises, 1.0, np.where(falls, -1.0, 0.0))
        sides[:, j - 1] = np.where(pressed, together, first)
        sides[:, j] = np.where(pressed, together, second)
    return sides, above, below


def _tied(tau: Floats, sides: Floats, apart: float) -> np.ndarray:
    """Whether turn j moves as one with turn j − 1: at the least distance, and in the same direction."""
    tied = np.zeros(tau.shape, dtype=bool)
    for j in range(1, tau.shape[1]):
        close = tau[:, j] - tau[:, j - 1] < apart + SAME_AGE
        tied[:, j] = close & (sides[:, j] == sides[:, j - 1]) & (sides[:, j] != 0)
    return tied
