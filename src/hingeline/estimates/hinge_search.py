"""Counts by cell come in; the turns that maximise the unpenalised likelihood come out, within ten
milliseconds.

Three steps, ours: *screen* every set of candidate ages in closed form about a reference fit (suffix sums and
a Schur complement); *polish* the best by batched Newton; *climb* in the turns themselves, gap by gap, since
the profile has a kink at every age in the data. The global maximum is not promised here but by
`hinge_certify`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from hingeline.estimates.hinge_newton import (
    Batch,
    fixed_information,
    hinges,
    likelihood,
    newton,
    normal_equations,
    solve,
    starting_values,
)
from hingeline.estimates.hinge_rows import DECADE, Cells, Floats, Ints, add_up, occupied

CANDIDATES: Final = 12
CLIMBERS: Final = 4
WINDOW_YEARS: Final = 4.0
SAME_AGE: Final = 1e-9
SLACK_YEARS: Final = 1.0
OTHERS: Final = 6
ROUNDS: Final = 4
SETTLED: Final = 1e-3
"""A round of screening about the best fit that gains less than this is the last."""
TRIPLE_KNOTS: Final = 48
NEAR: Final = 20.0
"""Coefficients (log odds, and change of slope a decade) beyond which a fit has run off under separation."""


@dataclass(frozen=True)
class Found:
    """One model: turns in decades (k,), coefficients (q + k,), log-likelihood without constants."""

    tau: Floats
    theta: Floats
    loglik: float


def limits_of(cells: Cells, turns: int) -> tuple[Floats, Floats]:
    """Lowest and highest place of each turn in decades, given those that must fit on either side."""
    apart = cells.apart_years / DECADE
    low, high = cells.to_decades(np.array([cells.low_years, cells.high_years]))
    order = np.arange(turns)
    return low + order * apart, high - (turns - 1 - order) * apart


def project(tau: Floats, low: Floats, high: Floats, apart: float) -> Floats:
    """Bring turns (C, k) inside their limits, in order and far enough apart."""
    tau = np.minimum(np.maximum(tau, low), high)
    for j in range(1, tau.shape[1]):
        tau[:, j] = np.maximum(tau[:, j], tau[:, j - 1] + apart)
    tau = np.minimum(tau, high)
    for j in range(tau.shape[1] - 2, -1, -1):
        tau[:, j] = np.minimum(tau[:, j], tau[:, j + 1] - apart)
    return tau


def _reference(cells: Cells, y: Floats, n: Floats) -> Floats:
    """Linear predictor (N,) of a supple fit: a bend at each eighth of the cases, shrunk a little."""
    cumulated = np.cumsum(n)
    places = np.searchsorted(cumulated, cumulated[-1] * np.arange(1, 8) / 8)
    tau = np.unique(cells.decades[np.minimum(places, n.size - 1)])[None, :]
    start = np.concatenate([starting_values(cells, y, n), np.zeros(tau.shape[1])])[None, :]
    fit = newton(cells, y, n, hinges(cells, tau), start, iterations=5, tolerance=1e-3, penalised=True)
    eta: Floats = fit.eta[0]
    return eta


def working(cells: Cells, y: Floats, n: Floats, eta: Floats) -> tuple[Floats, Floats]:
    """Weights and working responses (N,) of the weighted least squares about a linear predictor."""
    _, score, info = likelihood(cells, y, n, eta[None, :])
    weight = info[0]
    response = eta + score[0] / np.maximum(weight, 1e-12)
    return weight, np.where(weight > 1e-12, response, eta)


def screen(cells: Cells, weight: Floats, response: Floats, knots: Floats) -> tuple[Floats, Floats]:
    """Weighted least squares with hinges at each knot, hospitals' intercepts and base slope profiled out.

    Returns the cross-products of hinges with the residual (K,) and among themselves (K, K), from suffix sums
    alone.
    """
    q = cells.fixed.shape[1]
    z, groups = cells.decades, cells.n_groups
    base = fixed_information(cells, weight[None, :])[0]
    base[np.diag_indices(q)] = base.diagonal() * (1 + 1e-10) + 1e-10
    inverse = np.linalg.inv(base)
    coefficients = inverse @ ((weight * response) @ cells.fixed)
    residual = response - cells.fixed @ coefficients
    place = np.searchsorted(knots, z, side="left")
    size = knots.size + 1

    def beyond(values: Floats) -> Floats:
        """Sum over cells older than each knot."""
        return np.cumsum(add_up(place, values, size)[::-1])[::-1][1:]

    wz, we = weight * z, weight * residual
    s0, s1, s2 = beyond(weight), beyond(wz), beyond(wz * z)
    pull = beyond(we * z) - knots * beyond(we)
    cross = np.empty((knots.size, q))
    both = place * groups + cells.group
    by_group = add_up(both, weight, size * groups).reshape(size, groups)
    by_group_z = add_up(both, wz, size * groups).reshape(size, groups)
    tail = np.cumsum(by_group[::-1], axis=0)[::-1][1:]
    tail_z = np.cumsum(by_group_z[::-1], axis=0)[::-1][1:]
    cross[:, :groups] = tail_z - knots[:, None] * tail
    cross[:, groups] = s2 - knots * s1
    # Σ w (z − s)(z − t) over z beyond the later of s and t
    later = np.maximum(np.arange(knots.size)[:, None], np.arange(knots.size)[None, :])
    gram = (
        s2[later]
        - (knots[:, None] + knots[None, :]) * s1[later]
        + (knots[:, None] * knots[None, :]) * s0[later]
    )
    gram -= cross @ inverse @ cross.T
    return pull, gram


def gains_of(pull: Floats, gram: Floats, knots: Floats, low: Floats, high: Floats, apart: float) -> Floats:
    """Gain in log-likelihood, to second order, of hinges at every ordered set of knots: shape (K,) * k."""
    k = low.size
    floor = 1e-9 * max(float(gram.diagonal().max(initial=0.0)), 1e-300)
    allowed = (knots >= low[:, None] - SAME_AGE) & (knots <= high[:, None] + SAME_AGE)
    diagonal = np.maximum(gram.diagonal(), floor)
    if k == 1:
        return np.where(allowed[0], pull * pull / (2 * diagonal), -np.inf)
    far = knots[None, :] - knots[:, None] >= apart - SAME_AGE
    if k == 2:
        gain = _pair_gains(pull, gram, diagonal, floor)
        return np.where(far & allowed[0][:, None] & allowed[1][None, :], gain, -np.inf)
    gain = np.empty((knots.size,) * 3)
    for i in range(knots.size):
        share = gram[i] / diagonal[i]
        rest = gram - share[:, None] * gram[i][None, :]
        pulled = pull - share * pull[i]
        gain[i] = pull[i] ** 2 / (2 * diagonal[i]) + _pair_gains(
            pulled, rest, np.maximum(rest.diagonal(), floor), floor
        )
    mask = far[:, :, None] & far[None, :, :]
    mask &= allowed[0][:, None, None] & allowed[1][None, :, None] & allowed[2][None, None, :]
    return np.where(mask, gain, -np.inf)


def _pair_gains(pull: Floats, gram: Floats, diagonal: Floats, floor: float) -> Floats:
    determinant = np.maximum(diagonal[:, None] * diagonal[None, :] - gram * gram, max(floor * floor, 1e-300))
    scaled = (pull * pull)[:, None] * diagonal[None, :]
    gain = (scaled + scaled.T - 2 * (pull[:, None] * pull[None, :]) * gram) / (2 * determinant)
    result: Floats = gain
    return result


def best_sets(gains: Floats, knots: Floats, count: int, spread: int) -> Floats:
    """The best ``count`` sets of knots (C, k), each at least ``spread`` knots from those before it in some
    turn."""
    k = gains.ndim
    flat = gains.ravel()
    # ties of −inf make a partition slow, so only sets that are allowed go in
    allowed = np.flatnonzero(np.isfinite(flat))
    take = min(allowed.size, count * (2 * spread + 1) ** k * 2, 4000)
    top = allowed[np.argpartition(-flat[allowed], take - 1)[:take]] if take else allowed
    top = top[np.argsort(-flat[top], kind="stable")]
    places = np.stack(np.unravel_index(top, gains.shape), axis=1)
    chosen: list[Ints] = []
    while places.shape[0] and len(chosen) < count:
        chosen.append(places[0])
        places = places[(np.abs(places - places[0]) > spread).any(axis=1)]
    return knots[np.array(chosen, dtype=np.int64).reshape(-1, k)]


def fit_at(
    cells: Cells,
    y: Floats,
    n: Floats,
    tau: Floats,
    *,
    eta: Floats | None = None,
    start: Floats | None = None,
    iterations: int = 60,
    tolerance: float = 1e-9,
    penalised: bool = False,
) -> Batch:
    """Fit the models with turns (C, k) held; ``eta`` (N,) is a fit to take the first step about."""
    extra = hinges(cells, tau)
    count, k = tau.shape
    if start is None:
        start = np.zeros((count, cells.fixed.shape[1] + k))
        if eta is None:
            start[:, : cells.fixed.shape[1]] = starting_values(cells, y, n)
        else:
            weight, response = working(cells, y, n, eta)
            ones = np.ones((count, 1))
            gradient, matrix = normal_equations(cells, extra, ones * (weight * response), ones * weight)
            start = solve(matrix, gradient)
    return newton(cells, y, n, extra, start, iterations=iterations, tolerance=tolerance, penalised=penalised)


def fit_shrunk(cells: Cells, y: Floats, n: Floats, found: Found) -> Batch:
    """The penalised fit at the turns found: from there, or from flat lines where coefficients have run off.

    Under separation the unpenalised slopes run to infinity and the intercepts after them; there the likelihood
    is flat, and a Newton step from it leads anywhere.
    """
    near = np.abs(found.theta).max(initial=0) < NEAR
    return fit_at(
        cells, y, n, found.tau[None, :], start=found.theta[None, :].copy() if near else None, penalised=True
    )


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


def with_knots(knots: Floats, more: Floats) -> Floats:
    """Knots and more knots, sorted, each once."""
    knots = np.unique(np.concatenate([knots, more]))
    distinct: Floats = knots[np.concatenate([[True], np.diff(knots) > 1e-12])]
    return distinct


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
