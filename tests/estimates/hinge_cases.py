"""Data sets for hinges, and a plain solver that shares no code with the package: a grid, and scoring one by one."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np


def fresh_seed() -> int:
    """A new seed each run, printed so that a failure can be repeated."""
    seed = int(np.random.SeedSequence().entropy % 2**32)
    print(f"seed {seed}")
    return seed


def _expit(eta):
    return 1 / (1 + np.exp(-np.clip(eta, -500, 500)))


def drawn(rng, age, group, n, eta):
    return age, rng.binomial(n, _expit(eta)), n, group


def near_equal_maxima(rng):
    """Two bends up, 25 years apart and of one size."""
    age = np.arange(1, 66, 1.5)
    n = rng.integers(20, 60, age.size)
    return drawn(
        rng,
        age,
        np.zeros(age.size, int),
        n,
        np.interp(age, [0, 18, 25, 43, 50, 66], [-1.5, -1.5, -0.5, -0.5, 0.5, 0.5]),
    )


def unequal_gaps(rng):
    age = np.sort(rng.choice(np.arange(0, 60, 0.5), 24, replace=False))
    age, group = np.tile(age, 3), np.repeat(np.arange(3), 24)
    n = rng.integers(1, 50, age.size)
    return drawn(rng, age, group, n, np.interp(age, [0, 15, 60], [-3, -2.5, 0.5]) + 0.3 * group)


def separated_infancy(rng):
    """No directs at all below about 15 years."""
    age, group = np.tile(np.arange(0.5, 60, 2.5), 2), np.repeat(np.arange(2), 24)
    n = rng.integers(1, 60, age.size)
    return drawn(rng, age, group, n, np.where(age < 15, -40, np.interp(age, [15, 60], [-2, 0.5])))


def one_hospital(rng):
    age = np.arange(0.25, 60, 2)
    n = rng.integers(0, 60, age.size)
    return drawn(
        rng, age, np.zeros(age.size, int), n, np.interp(age, [0, 15, 40, 60], [-3.5, -2.8, 0.6, 0.2])
    )


def straight(rng):
    age, group = np.tile(np.arange(0.25, 50, 2), 2), np.repeat(np.arange(2), 25)
    n = rng.integers(5, 60, age.size)
    return drawn(rng, age, group, n, -2 + 0.03 * age + 0.2 * group)


KINDS = (near_equal_maxima, unequal_gaps, separated_infancy, one_hospital, straight)


def plain_logliks(age, y, n, group, taus, rounds=25):
    """Log-likelihood (without coefficients) at each row of turns, by scoring from zero with halved steps."""
    taus = np.atleast_2d(taus)
    first = np.column_stack([(group[:, None] == np.unique(group)).astype(float), (age - 30) / 10])
    first = np.broadcast_to(first, (len(taus), *first.shape))
    bent = np.maximum(age[None, :, None] - taus[:, None, :], 0) / 10
    x = np.concatenate([first, bent], axis=2)
    beta = np.zeros((len(taus), x.shape[2]))

    def loglik(b):
        eta = np.einsum("cnp,cp->cn", x, b)
        return eta, (eta * y - n * np.logaddexp(0, eta)).sum(1)

    eta, best = loglik(beta)
    for _ in range(rounds):
        p = _expit(eta)
        w = n * p * (1 - p)
        a = np.einsum("cnp,cn,cnq->cpq", x, w, x)
        a += 1e-9 * (1 + np.einsum("cpp->cp", a))[:, :, None] * np.eye(x.shape[2])
        step = np.linalg.solve(a, np.einsum("cnp,cn->cp", x, y - n * p)[:, :, None])[:, :, 0]
        size = np.ones(len(taus))
        for _ in range(8):
            _, trial = loglik(beta + size[:, None] * step)
            worse = trial < best
            if not worse.any():
                break
            size = np.where(worse, size / 2, size)
        size = np.where(trial < best, 0, size)
        beta = beta + size[:, None] * step
        eta, trial = loglik(beta)
        gained = trial - best
        best = trial
        if gained.max() < 1e-9:
            break
    return best


def plain_maximum(age, y, n, group, turns, apart=2.0):
    """Best log-likelihood on a 0.5-year grid, and on a 0.05-year grid near its five best places."""
    seen = n > 0
    age, y, n, group = age[seen], y[seen].astype(float), n[seen].astype(float), group[seen]
    low, high = age.min() + apart, age.max() - apart
    grid = np.unique(np.concatenate([np.arange(low, high, 0.5), [high]]))
    sets = np.array([s for s in combinations(grid, turns) if np.all(np.diff(s) >= apart - 1e-9)])
    values = np.concatenate(
        [plain_logliks(age, y, n, group, part) for part in np.array_split(sets, 1 + len(sets) // 200)]
    )
    best, left = values.max(), np.argsort(-values)
    for _ in range(3):
        centre = sets[left[0]]
        steps = np.arange(-0.5, 0.51, 0.05 if turns == 1 else 0.1)
        fine = np.array([np.clip(centre + np.array(s), low, high) for s in product(steps, repeat=turns)])
        fine = fine[(np.diff(fine, axis=1) >= apart - 1e-9).all(axis=1)]
        if len(fine):
            near = plain_logliks(age, y, n, group, fine)
            best = max(best, near.max())
            if turns > 1:
                steps = np.arange(-0.05, 0.051, 0.05)
                centre_fine = fine[near.argmax()]
                finer = np.array(
                    [np.clip(centre_fine + np.array(s), low, high) for s in product(steps, repeat=turns)]
                )
                finer = finer[(np.diff(finer, axis=1) >= apart - 1e-9).all(axis=1)]
                if len(finer):
                    best = max(best, plain_logliks(age, y, n, group, finer).max())
        left = left[(np.abs(sets[left] - centre) > 1.0).any(axis=1)]
        if not len(left):
            break
    return float(best)
