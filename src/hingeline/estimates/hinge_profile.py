"""A fit comes in; the ages that cannot be told from each of its turns come out, by likelihood ratio.

The profile of a turn holds it at an age and lets everything else go to its maximum; the interval is where
twice the loss of log-likelihood stays under a cut-off. The χ² cut-off is wrong here (the likelihood has
kinks, and under a straight logit it is exceeded in one sample of five), so it is calibrated by parametric
bootstrap: counts are drawn from the fit and the statistic recomputed at the turn that they were drawn with
(Feder, Ann Stat 1975;3:84, for the failure of the χ²; Davison & Hinkley, Bootstrap Methods, 1997, section
5.4, for the inversion).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import gammaincinv

from hingeline.estimates.hinge_certify import fit_eta
from hingeline.estimates.hinge_climb import climb
from hingeline.estimates.hinge_design import HingeDesign
from hingeline.estimates.hinge_fits import Found, fit_at, limits_of, working
from hingeline.estimates.hinge_newton import without_information
from hingeline.estimates.hinge_rows import DECADE, MOST_TURNS, Cells, Floats, Ints
from hingeline.estimates.hinge_screen import best_sets, gains_of, screen, with_knots
from hingeline.estimates.hinge_search import search
from hingeline.estimates.parallel import Progress, run_tasks

CHUNK: Final = 64
OBVIOUS: Final = 30.0
"""A likelihood ratio for a turn above this is not compared with simulated ones. In 2,400 samples of a study of 20,000
groins drawn with 0, 1 or 2 turns, the highest for one more was 20.5 (99th percentiles 12.4 to 14.4)."""
WIDE: Final = 3.0
MOST_STRETCHES: Final = 16


@dataclass(frozen=True)
class Span:
    """What is known of one turn: stretches in years, the cut-off, and the ratio against the fit without
    it."""

    stretches: tuple[tuple[float, float], ...]
    cutoff: float
    ratio_without: float
    cutoff_without: float

    @property
    def identified(self) -> bool:
        """Whether the fit without this turn lies outside both cut-offs."""
        return self.ratio_without > max(self.cutoff, self.cutoff_without)


def territories(cells: Cells, tau: Floats, skip: int) -> tuple[Floats, Floats]:
    """Limits of the other turns: each stays nearer to its own place than to any other turn's, ``skip``
    included.

    Without this a second turn that is not there could stand in for the first, and both would seem unknown.
    """
    low, high = cells.to_decades(np.array([cells.low_years, cells.high_years]))
    middles = np.concatenate([[low], (tau[1:] + tau[:-1]) / 2, [high]])
    return np.delete(middles[:-1], skip), np.delete(middles[1:], skip)


def profile_at(
    cells: Cells, y: Floats, n: Floats, tau: Floats, eta: Floats, turn: int, ages: Floats
) -> Floats:
    """Log-likelihood (T,) with one turn held at each age in decades (T,), the others maximised in their
    territories.

    Parameters
    ----------
    tau : (k,)
        The fit's turns, which give the others their territories.
    eta : (N,)
        A good fit, about which the others are screened.
    """
    k = tau.size
    if k == 1:
        result = np.empty(ages.size)
        for first in range(0, ages.size, CHUNK):
            part = slice(first, first + CHUNK)
            result[part] = fit_at(cells, y, n, ages[part, None], eta=eta).loglik
        return result
    places, lows, highs, starts = _starts(cells, y, n, tau, eta, turn, ages)
    result = np.full(ages.size, -np.inf)
    for first in range(0, places.size, CHUNK):
        part = slice(first, first + CHUNK)
        fits = fit_at(cells, y, n, starts[part], eta=eta, iterations=3, tolerance=1e-4)
        _, climbed = climb(
            cells,
            y,
            n,
            starts[part],
            fits.theta,
            lows[part],
            highs[part],
            free_steps=2,
            iterations=12,
            tolerance=1e-5,
        )
        np.maximum.at(result, places[part], climbed.loglik)
    return result


def _starts(
    cells: Cells, y: Floats, n: Floats, tau: Floats, eta: Floats, turn: int, ages: Floats
) -> tuple[Ints, Floats, Floats, Floats]:
    """Limits and starts at each age held: the others where they were, and where a screen has them."""
    k, apart = tau.size, cells.apart_years / DECADE
    others_low, others_high = territories(cells, tau, turn)
    others = np.delete(tau, turn)
    bounds = limits_of(cells, k)
    knots = cells.screen_knots
    if k == 3 and knots.size > 48:
        knots = knots[np.unique(np.linspace(0, knots.size - 1, 48).astype(np.int64))]
    weight, response = working(cells, y, n, eta)
    places, lows, highs, starts = [], [], [], []
    every = with_knots(knots, ages)
    pull, gram = screen(cells, weight, response, every)
    kept = np.isin(every, knots) | np.isin(every, others)
    for place, age in enumerate(ages):
        at = int(np.searchsorted(every, age))
        at = min(at, every.size - 1)
        share = gram[at] / max(gram[at, at], 1e-12)
        rest = gram - share[:, None] * gram[at][None, :]
        pulled = pull - share * pull[at]
        for position in range(k):
            # passed over by the held turn, the others stay where they are: else they would change names
            slack = np.inf if position == turn else apart / 2
            low = np.insert(np.maximum(others_low, others - slack), position, age)
            high = np.insert(np.minimum(others_high, others + slack), position, age)
            low, high = np.maximum(low, bounds[0]), np.minimum(high, bounds[1])
            for j in range(1, k):
                low[j] = max(low[j], low[j - 1] + apart)
            for j in range(k - 2, -1, -1):
                high[j] = min(high[j], high[j + 1] - apart)
            if np.any(low > high + 1e-12) or abs(low[position] - age) > 1e-9:
                continue
            free_low, free_high = np.delete(low, position), np.delete(high, position)
            gains = gains_of(pulled[kept], rest[np.ix_(kept, kept)], every[kept], free_low, free_high, apart)
            sets = best_sets(gains, every[kept], 2, 1)
            sets = np.concatenate([np.clip(others, free_low, free_high)[None, :], sets])
            full = np.insert(sets, position, age, axis=1)
            places += [place] * len(full)
            lows += [low] * len(full)
            highs += [high] * len(full)
            starts += list(full)
    shape = (len(places), k)
    return (
        np.array(places, dtype=np.int64),
        np.array(lows).reshape(shape),
        np.array(highs).reshape(shape),
        np.array(starts).reshape(shape),
    )


def without_turn(cells: Cells, y: Floats, n: Floats, found: Found, turn: int) -> Found:
    """The best fit with one turn fewer, the others in their territories."""
    low, high = territories(cells, found.tau, turn)
    return search(cells, y, n, found.tau.size - 1, low=low, high=high)


def stretches_of(
    cells: Cells, y: Floats, n: Floats, found: Found, turn: int, cutoff: float
) -> tuple[tuple[float, float], ...]:
    """Ages in years at which the profile of a turn stays within the cut-off, as one or more stretches."""
    eta, tau = fit_eta(cells, found), found.tau
    low, high = cells.to_decades(np.array([cells.low_years, cells.high_years]))
    near = cells.knots[np.abs(cells.knots - tau[turn]) < WIDE / DECADE]
    near = near[:: max(1, near.size // 24)]
    # with three turns a point of the profile is dear, so that away from the turn every other age must do
    far = cells.screen_knots[:: 2 if tau.size == MOST_TURNS else 1]
    grid = with_knots(np.concatenate([far, near]), np.array([low, high, tau[turn]]))
    floor = found.loglik - cutoff / 2
    values = profile_at(cells, y, n, tau, eta, turn, grid)
    values[np.argmin(np.abs(grid - tau[turn]))] = found.loglik
    inside = values >= floor
    edges = np.flatnonzero(inside[1:] != inside[:-1])
    inner = np.where(inside[edges], grid[edges], grid[edges + 1])
    outer = np.where(inside[edges], grid[edges + 1], grid[edges])
    for _ in range(9):
        if edges.size == 0:
            break
        middle = (inner + outer) / 2
        holds = profile_at(cells, y, n, tau, eta, turn, middle) >= floor
        inner, outer = np.where(holds, middle, inner), np.where(holds, outer, middle)
    limits = list(cells.to_years(inner))
    if inside[0]:
        limits = [cells.low_years, *limits]
    if inside[-1]:
        limits = [*limits, cells.high_years]
    return tuple((float(a), float(b)) for a, b in zip(limits[::2], limits[1::2], strict=True))


def draw(design: HingeDesign, shares: Floats, total: Floats, rng: np.random.Generator) -> Floats:
    """Counts by cell drawn from fitted shares of being seen direct (or from fitted rates)."""
    if design.cells.family == "poisson":
        return rng.poisson(shares * total).astype(np.float64)
    return rng.binomial(total.astype(np.int64), shares).astype(np.float64)


def seen_shares(cells: Cells, eta: Floats, settled: Floats) -> Floats:
    """P(seen direct) in each cell (or the rate), 0 or 1 in hospitals whose intercept is infinite."""
    own = settled[cells.group]
    if cells.family == "poisson":
        return np.where(own == 0, np.exp(eta), 0.0)
    p = 1 / (1 + np.exp(-np.clip(eta, -700, 700)))
    p = np.where(own == -np.inf, 0.0, np.where(own == np.inf, 1.0, p))
    return np.clip(cells.false_direct + cells.gain * p, 0, 1)


@dataclass(frozen=True)
class AtTheTurn:
    """One replicate of the statistic: counts drawn from the fit, each turn held at its age against all
    free."""

    design: HingeDesign
    found: Found
    shares: Floats
    total: Floats
    seed: int

    def __call__(self, number: int) -> Floats:
        """Likelihood ratio (k,) of each turn's own age."""
        rng = np.random.default_rng([self.seed, 1, number])
        cells, tau = self.design.cells, self.found.tau
        y, n, _ = without_information(cells, draw(self.design, self.shares, self.total, rng), self.total)
        if not y.any():
            return np.zeros(tau.size)
        full = search(cells, y, n, tau.size, also=tau[None, :])
        eta = fit_eta(cells, full)
        held = np.array([profile_at(cells, y, n, tau, eta, j, tau[[j]])[0] for j in range(tau.size)])
        return np.asarray(2 * np.maximum(max(full.loglik, held.max()) - held, 0))


@dataclass(frozen=True)
class WithoutTheTurn:
    """One replicate under the fit without a turn: how much a turn that is not there seems to gain."""

    design: HingeDesign
    found: Found
    turn: int
    shares: Floats
    total: Floats
    seed: int

    def __call__(self, number: int) -> Floats:
        """Likelihood ratio (1,) of the turn that is not there."""
        rng = np.random.default_rng([self.seed, 2 + self.turn, number])
        cells, tau = self.design.cells, self.found.tau
        y, n, _ = without_information(cells, draw(self.design, self.shares, self.total, rng), self.total)
        if not y.any():
            return np.zeros(1)
        with_it = search(cells, y, n, tau.size)
        without = without_turn(cells, y, n, self.found, self.turn)
        return np.array([2 * max(with_it.loglik - without.loglik, 0.0)])


def quantile(draws: Floats, level: float) -> float:
    """The order statistic that leaves (1 − level) of B + 1 above it (Davison & Hinkley 1997, section
    5.2.3)."""
    place = int(np.ceil((draws.size + 1) * level)) - 1
    return float(np.sort(draws)[min(place, draws.size - 1)])


def spans(
    design: HingeDesign,
    y: Floats,
    n: Floats,
    settled: Floats,
    found: Found,
    total: Floats,
    *,
    level: float,
    calibration: int,
    alike: Floats,
    seed: int,
    workers: int | None,
    progress: Progress | None,
) -> tuple[Span, ...]:
    """Interval and identification of every turn; ``total`` are the totals before hospitals were emptied.

    ``alike`` (k,) raises the cut-offs for groins of one patient that are alike (see `hinge_make.likeness`).
    """
    cells, k = design.cells, found.tau.size
    plain = 2 * float(gammaincinv(0.5, level))  # of χ² with 1 degree of freedom
    cutoffs = plain * alike
    if calibration:
        shares = seen_shares(cells, fit_eta(cells, found), settled)
        task = AtTheTurn(design, found, shares, total, seed)
        ratios = run_tasks(task, calibration, workers=workers, progress=progress)
        cutoffs = alike * np.array([quantile(ratios[:, j], level) for j in range(k)])
    told: list[tuple[float, float, float]] = []
    for j in range(k):
        fewer = without_turn(cells, y, n, found, j)
        ratio = max(2 * (found.loglik - fewer.loglik), 0.0)
        absent = 0.0
        if calibration and cutoffs[j] < ratio < OBVIOUS * alike[j]:
            shares = seen_shares(cells, fit_eta(cells, fewer), settled)
            null = WithoutTheTurn(design, found, j, shares, total, seed)
            ratios = run_tasks(null, calibration, workers=workers, progress=progress)
            absent = float(alike[j]) * quantile(ratios[:, 0], level)
        told.append((float(cutoffs[j]), ratio, absent))
    sure = [j for j, (cutoff, ratio, absent) in enumerate(told) if ratio > max(cutoff, absent)]
    everywhere: tuple[tuple[float, float], ...] = ((cells.low_years, cells.high_years),)
    stretches = [everywhere] * k
    if sure:
        limits = run_tasks(Inversion(cells, y, n, found, tuple(sure), cutoffs), len(sure), workers=workers)
        for j, row in zip(sure, limits, strict=True):
            ends = row[np.isfinite(row)]
            stretches[j] = tuple((float(a), float(b)) for a, b in zip(ends[::2], ends[1::2], strict=True))
    return tuple(Span(stretches[j], *told[j]) for j in range(k))


@dataclass(frozen=True)
class Inversion:
    """The stretches of each turn that is identified, as work for several cores."""

    cells: Cells
    y: Floats
    n: Floats
    found: Found
    turns: tuple[int, ...]
    cutoffs: Floats

    def __call__(self, number: int) -> Floats:
        """Limits in years, two a stretch, nan behind the last."""
        turn = self.turns[number]
        told = stretches_of(self.cells, self.y, self.n, self.found, turn, float(self.cutoffs[turn]))
        limits = np.full(2 * MOST_STRETCHES, np.nan)
        ends = np.array(told).ravel()[: limits.size]
        limits[: ends.size] = ends
        return limits
