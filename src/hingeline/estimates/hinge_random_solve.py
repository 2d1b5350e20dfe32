"""Marginal likelihood of hospitals' levels drawn from one normal distribution, and its maximum.

Cells and turns come in; a model, its likelihood by adaptive Gauss–Hermite quadrature with derivatives, its maximum
and the profile limits of the spread go out (Pinheiro & Bates, J Comput Graph Stat 1995;4:12), for `hinge_random`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.optimize import brentq, minimize
from scipy.special import chdtri, expit

from hingeline.errors import HingelineError
from hingeline.estimates.hinge_rows import (
    Cells,
    Floats,
    Ints,
)

FLATTEST: Final = 100.0
"""A slope per ten years with a larger standard error than this has no finite estimate (the odds would be known to a
factor of e¹⁹⁶)."""
FARTHEST: Final = 500.0
"""Logits are held within this, so that no share underflows to exactly 0."""
WIDEST: Final = 50.0
"""τ is not looked for above this."""
NO_SPREAD: Final = 1e-5


def columns_of(ages: Floats, turns: Floats) -> Floats:
    """Intercept, age and hinges (N, 2 + k), on one scale."""
    hinges = np.maximum(ages[:, None] - turns[None, :], 0)
    return np.column_stack([np.ones(ages.size), ages, hinges])


@dataclass(frozen=True, eq=False)
class Model:
    """Cells with cases, sorted by hospital; ``starts`` is the first cell of each hospital present."""

    x: Floats
    y: Floats
    n: Floats
    false_direct: Floats
    missed: Floats
    gain: Floats
    exact: bool
    starts: Ints
    hospital: Ints
    present: Ints
    at: Floats
    log_weight: Floats


def make_model(cells: Cells, y: Floats, n: Floats, turns: Floats, nodes: int) -> Model:
    """Sort the cells that hold groins by hospital and lay out the columns of the age part."""
    kept = np.flatnonzero(n > 0)
    kept = kept[np.argsort(cells.group[kept], kind="stable")]
    present, starts, hospital = np.unique(cells.group[kept], return_index=True, return_inverse=True)
    x = columns_of(cells.decades[kept], cells.to_decades(turns))
    x = x[:, :1] if np.ptp(x[:, 1]) == 0 else x
    if np.linalg.matrix_rank(x) < x.shape[1]:
        raise HingelineError(
            f"the ages have no room for {turns.size} turns", "turns", "give turns with ages between them"
        )
    f, g = cells.false_direct[kept], cells.gain[kept]
    at, log_weight = rule(nodes)
    return Model(
        x, y[kept], n[kept], f, np.maximum(1 - f - g, 0), g, cells.exact, starts.astype(np.int64),
        hospital.ravel().astype(np.int64), present, at, log_weight,
    )  # fmt: skip


def rule(nodes: int) -> tuple[Floats, Floats]:
    """Gauss–Hermite nodes and the logs of their weights over the plain measure, times the normal's constant."""
    at, weight = np.polynomial.hermite_e.hermegauss(nodes)
    return at, np.log(weight) + at**2 / 2 - math.log(2 * math.pi) / 2


def with_nodes(m: Model, nodes: int) -> Model:
    """Return the model on another number of nodes."""
    at, log_weight = rule(nodes)
    return replace(m, at=at, log_weight=log_weight)


def derivatives(m: Model, eta: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Log-likelihood of each cell at its logits (N, J), its score, second derivative and Fisher information."""
    y, n = m.y[:, None], m.n[:, None]
    if m.exact:
        small = np.exp(-np.abs(eta))
        p = np.where(eta >= 0, 1, small) / (1 + small)
        loss = np.maximum(eta, 0) + np.log1p(small)
        fisher = n * small / (1 + small) ** 2
        return y * eta - n * loss, y - n * p, -fisher, fisher
    eta = np.clip(eta, -FARTHEST, FARTHEST)
    p, rest, gain = expit(eta), expit(-eta), m.gain[:, None]
    seen, unseen = m.false_direct[:, None] + gain * p, m.missed[:, None] + gain * rest
    up, down = gain * p * rest / seen, gain * p * rest / unseen
    score = y * up - (n - y) * down
    second = score * (1 - 2 * p) - y * up**2 - (n - y) * down**2
    return y * np.log(seen) + (n - y) * np.log(unseen), score, second, n * up * down


def by_hospital(m: Model, values: Floats) -> Floats:
    """Add values of cells up by hospital."""
    added: Floats = np.add.reduceat(values, m.starts, axis=0)
    return added


def modes_of(m: Model, logits: Floats, tau: float) -> tuple[Floats, Floats]:
    """Mode of each hospital's u given its counts, and the curvature there (Newton steps, halved when they fail)."""
    u = np.zeros(m.starts.size)

    def height(u: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        told = derivatives(m, (logits + tau * u[m.hospital])[:, None])
        ll, score, second, fisher = (by_hospital(m, part)[:, 0] for part in told)
        return ll - u**2 / 2, tau * score - u, 1 - tau**2 * second, 1 + tau**2 * fisher

    value, slope, curve, fisher = height(u)
    for _ in range(60):
        step = slope / np.where(curve > 0.25 * fisher, curve, fisher)
        if np.max(np.abs(step)) < 1e-9:
            break
        part = np.ones(u.size)
        for _ in range(30):
            new = height(u + part * step)
            worse = new[0] < value - 1e-10 * (1 + np.abs(value))
            if not worse.any():
                break
            part[worse] /= 2
        u = u + part * step
        value, slope, curve, fisher = new
    return u, np.where(curve > 0.25 * fisher, curve, fisher)


@dataclass(frozen=True, eq=False)
class Point:
    """Marginal log-likelihood at one (β, τ) with its gradient and, when asked for, its Hessian."""

    loglik: float
    gradient: Floats
    curvature: Floats


def point_at(m: Model, theta: Floats, curved: bool = False) -> Point:
    """Integrate each hospital out; derivatives are posterior means over the nodes (Louis, JRSS B 1982;44:226)."""
    tau, logits = float(theta[-1]), m.x @ theta[:-1]
    mode, precision = modes_of(m, logits, tau)
    scale = 1 / np.sqrt(precision)
    u = mode[:, None] + scale[:, None] * m.at[None, :]
    ll, score, second, _ = derivatives(m, logits[:, None] + tau * u[m.hospital])
    log_part = by_hospital(m, ll) - u**2 / 2 + m.log_weight[None, :]
    top = log_part.max(axis=1, keepdims=True)
    part = np.exp(log_part - top)
    whole = part.sum(axis=1, keepdims=True)
    loglik = float(np.sum(np.log(whole) + top) + np.log(scale).sum())
    part /= whole
    cells_by_node = score[:, :, None] * m.x[:, None, :]
    by_node = np.concatenate([by_hospital(m, cells_by_node), (u * by_hospital(m, score))[:, :, None]], axis=2)
    mean = np.einsum("gj,gjp->gp", part, by_node)
    gradient = mean.sum(axis=0)
    if not curved:
        return Point(loglik, gradient, np.empty((0, 0)))
    weight, at = part[m.hospital], u[m.hospital]
    plain, once, twice = ((weight * at**power * second).sum(axis=1) for power in (0, 1, 2))
    size = theta.size
    inner = np.empty((size, size))
    inner[:-1, :-1] = (m.x * plain[:, None]).T @ m.x
    inner[:-1, -1] = inner[-1, :-1] = once @ m.x
    inner[-1, -1] = twice.sum()
    spread = np.einsum("gj,gjp,gjq->pq", part, by_node, by_node) - mean.T @ mean
    return Point(loglik, gradient, inner + spread)


def given_tau(m: Model, beta: Floats, tau: float) -> tuple[Floats, float]:
    """Coefficients that maximise the likelihood given τ, and its value there (Newton, halved when it fails)."""
    point = point_at(m, np.r_[beta, tau], True)
    for _ in range(60):
        curve = -point.curvature[:-1, :-1]
        step = np.linalg.lstsq(curve, point.gradient[:-1], rcond=None)[0]
        if not np.linalg.eigvalsh(curve)[0] > 0:
            step = point.gradient[:-1] / max(1.0, float(np.abs(curve).max()))
        gain = abs(float(step @ point.gradient[:-1]))
        if gain < 1e-7 or np.abs(beta).max() > FARTHEST:
            break
        for _ in range(10):
            new = point_at(m, np.r_[beta + step, tau], True)
            if new.loglik >= point.loglik - 1e-10 * (1 + abs(point.loglik)):
                break
            if gain < 1e-3:  # what is left to gain is within the error of the quadrature
                return beta, point.loglik
            step = step / 2
        else:
            break
        beta, point = beta + step, new
    return beta, point.loglik


def climb_from_flat(m: Model) -> Floats:
    """Maximise over (β, τ). τ may take either sign, which the likelihood cannot tell, so that 0 is no edge."""
    start = np.zeros(m.x.shape[1])
    start[0] = math.log((m.y.sum() + 0.5) / (m.n.sum() - m.y.sum() + 0.5))
    beta, _ = given_tau(m, start, 0.0)
    check_finite(beta, 0.0)

    def fall(theta: Floats) -> float:
        return -point_at(m, theta).loglik

    def slope(theta: Floats) -> Floats:
        return -point_at(m, theta).gradient

    def bend(theta: Floats) -> Floats:
        return -point_at(m, theta, True).curvature

    found = minimize(
        fall, np.r_[beta, 0.5], jac=slope, hess=bend, method="trust-exact", options={"gtol": 1e-4, "maxiter": 200}
    )  # fmt: skip
    theta: Floats = np.asarray(found.x, dtype=np.float64)
    check_finite(theta[:-1], float(theta[-1]))
    # Last Newton steps on the gradient alone, which is finer than differences of the log-likelihood can be.
    for _ in range(20):
        point = point_at(m, theta, True)
        step = np.linalg.lstsq(point.curvature, -point.gradient, rcond=None)[0]
        if np.abs(step).max() > 1:
            break
        theta = theta + step
        if np.abs(step).max() < 1e-9:
            break
    theta[-1] = 0.0 if abs(theta[-1]) < NO_SPREAD else abs(theta[-1])
    check_finite(theta[:-1], float(theta[-1]))
    return theta


def not_finite() -> HingelineError:
    """Return the error for an estimate that runs off."""
    return HingelineError(
        "a slope or the spread of hospitals has no finite estimate",
        "turns",
        "leave out a turn whose stretch has no directs (or nothing but directs), or use the fixed intercepts",
    )


def check_finite(beta: Floats, tau: float) -> None:
    """Refuse coefficients or a spread that have run off."""
    if not np.all(np.isfinite(beta)) or np.abs(beta).max() > FARTHEST or not abs(tau) < WIDEST:
        raise not_finite()


def covariance_of(information: Floats) -> Floats:
    """Covariance of the coefficients, τ estimated beside them."""
    if not np.linalg.eigvalsh(information)[0] > 0:
        raise not_finite()
    covariance: Floats = np.asarray(np.linalg.inv(information), dtype=np.float64)[:-1, :-1]
    if np.sqrt(np.diagonal(covariance)).max() > FLATTEST:
        raise not_finite()
    return covariance


def limits_of_tau(m: Model, theta: Floats, level: float) -> tuple[float, float]:
    """Ages' coefficients profiled out: the τ whose likelihood ratio is at the χ²(1) cut-off."""
    cut, beta, tau = float(chdtri(1, 1 - level)), theta[:-1], float(theta[-1])
    loglik = given_tau(m, beta, tau)[1]

    def excess(at: float) -> float:
        return 2 * (loglik - given_tau(m, beta, at)[1]) - cut

    low = brentq(excess, 0.0, tau, xtol=1e-6) if tau > 0 and excess(0.0) > 0 else 0.0
    high = max(2 * tau, 0.25)
    while excess(high) < 0:
        high *= 2
        if high > WIDEST:
            return float(low), math.inf
    return float(low), float(brentq(excess, tau, high, xtol=1e-6))
