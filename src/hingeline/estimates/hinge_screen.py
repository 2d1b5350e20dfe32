"""Every set of candidate ages weighed in closed form: a reference fit comes in, the gain of hinges at each set of knots
goes out, by suffix sums and a Schur complement (ours; see `hinge_search`)."""

from __future__ import annotations

import numpy as np

from hingeline.estimates.hinge_fits import SAME_AGE
from hingeline.estimates.hinge_newton import fixed_information
from hingeline.estimates.hinge_rows import Cells, Floats, Ints, add_up


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


def with_knots(knots: Floats, more: Floats) -> Floats:
    """Knots and more knots, sorted, each once."""
    knots = np.unique(np.concatenate([knots, more]))
    distinct: Floats = knots[np.concatenate([[True], np.diff(knots) > 1e-12])]
    return distinct
