"""What a Cox model needs of its rows: sums over those at risk on each day with an event, for any coefficients.

A row is at risk on a run of days with an event, so a count by its first and last and one cumulative sum gives every day
at once. Ties by Breslow's way (Biometrics 1974;30:89–99) or Efron's (JASA 1977;72:557–565); of d tied events
Efron's sums over l = 0 … d − 1 depend on the day through five scalars, so d may be in the thousands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from hingeline.errors import HingelineError
from hingeline.estimates.followup_logrank import event_keys
from hingeline.estimates.followup_rows import Floats, Ints, Rows

Ties = Literal["efron", "breslow"]


@dataclass(frozen=True, eq=False)
class Design:
    """Rows ready for a Cox model.

    Attributes
    ----------
    x : (rows, p) float
        Covariates, centred.
    amount : (rows,) float
        Weighted groins.
    event : (rows,) bool
    where : (events,) int
        Key (stratum and day) of each row with an event.
    upto, first : (rows,) int
        A row is at risk on the keys from ``first`` up to, not including, ``upto``.
    keys : int
    spans : tuple of (int, int)
        First key of each stratum, and the one after its last.
    times : (keys,) float
        Day of each key.
    number, weight : (keys,) float
        Events on each key, unweighted and weighted.
    owner : (ties,) int, fraction : (ties,) float
        Of each of the l = 0 … d − 1 of a key: the key and l / d; 0 throughout by Breslow's way, once a key.
    times_each : (ties,) float
        What each of them counts for.
    """

    x: Floats
    amount: Floats
    event: np.ndarray
    where: Ints
    upto: Ints
    first: Ints
    keys: int
    spans: tuple[tuple[int, int], ...]
    times: Floats
    number: Floats
    weight: Floats
    owner: Ints
    fraction: Floats
    times_each: Floats

    def at_risk(self, amount: Floats) -> Floats:
        """Sum an amount of each row over those at risk on each key."""
        some = self.upto > self.first
        leaving = np.bincount(self.upto[some] - 1, weights=amount[some], minlength=self.keys)
        risk = np.empty(self.keys)
        for (
            start,
            stop,
        ) in self.spans:  # stratum by stratum and never subtracted: small sums keep their digits
            risk[start:stop] = np.cumsum(leaving[start:stop][::-1])[::-1]
        return risk

    def on_key(self, amount: Floats) -> Floats:
        """Sum an amount of each row with an event over each key."""
        summed: Floats = np.bincount(self.where, weights=amount, minlength=self.keys).astype(np.float64)
        return summed


@dataclass(frozen=True, eq=False)
class Sums:
    """Likelihood and its pieces at some coefficients.

    Attributes
    ----------
    log_likelihood : float
    score : (p,) float
    score_by_key : (keys, p) float
    information_by_key : (keys, p, p) float
    theta : (rows,) float
        Relative hazards.
    hazard, tied : (keys,) float
        Baseline hazard, and what of it the tied events themselves are spared.
    hazard_x, tied_x : (keys, p) float
        The same times the mean covariates of those at risk.
    mean : (keys, p) float
        Mean covariates that an event on the key is compared with.
    """

    log_likelihood: float
    score: Floats
    score_by_key: Floats
    information_by_key: Floats
    theta: Floats
    hazard: Floats
    tied: Floats
    hazard_x: Floats
    tied_x: Floats
    mean: Floats

    @property
    def information(self) -> Floats:
        """Observed information, (p, p)."""
        summed: Floats = self.information_by_key.sum(axis=0)
        return summed


def make_design(rows: Rows, x: Floats, stratum: Ints, ties: Ties) -> Design:
    """Number the days with an event and the ties on them."""
    event = rows.outcome == 1
    keys, upto, first = event_keys(stratum, rows, event)
    own = stratum[event] * rows.days.size + rows.at[event]
    where = np.searchsorted(keys, own)
    ends = (np.flatnonzero(np.diff(keys // rows.days.size)) + 1).tolist()
    amount, groins = rows.each * rows.patients, rows.n * rows.patients
    number = np.bincount(where, weights=groins[event], minlength=keys.size).astype(np.float64)
    weight = np.bincount(where, weights=amount[event], minlength=keys.size).astype(np.float64)
    if ties == "efron":
        if np.abs(number - np.round(number)).max() > 1e-9:
            raise HingelineError(
                "Tied events are not whole in number",
                "arguments n, weights",
                'give whole n and weights, with real weights in probability_weights, or use ties="breslow"',
            )
        size = np.round(number).astype(np.int64)
        owner = np.repeat(np.arange(keys.size), size)
        fraction = (np.arange(owner.size) - np.repeat(np.cumsum(size) - size, size)) / size[owner]
        times_each = (weight / number)[owner]
    else:
        owner, fraction, times_each = np.arange(keys.size), np.zeros(keys.size), weight
    return Design(
        x,
        amount,
        event,
        where.astype(np.int64),
        upto.astype(np.int64),
        first.astype(np.int64),
        keys.size,
        tuple(zip([0, *ends], [*ends, keys.size], strict=True)),
        rows.days[keys % rows.days.size],
        number,
        weight,
        owner.astype(np.int64),
        fraction,
        times_each,
    )


def sums_at(design: Design, beta: Floats) -> Sums:
    """Likelihood, score, information and the pieces of residuals at some coefficients."""
    x, p = design.x, design.x.shape[1]
    linear = x @ beta
    # a constant cancels; below e^-300 of the highest hazard, whose square is still a number, all are as good as none
    linear = np.maximum(linear - linear.max(), -300.0)
    theta = np.exp(linear)
    held = design.amount * theta
    died = held[design.event]
    s0, d0 = design.at_risk(held), design.on_key(died)
    s1 = np.column_stack([design.at_risk(held * one) for one in x.T])
    d1 = np.column_stack([design.on_key(died * one) for one in x[design.event].T])
    left = s0[design.owner] - design.fraction * d0[design.owner]
    m, f, phi = design.times_each, design.fraction, 1 / left

    def over_ties(amount: Floats) -> Floats:
        summed: Floats = np.bincount(design.owner, weights=amount, minlength=design.keys).astype(np.float64)
        return summed

    a0, a1 = over_ties(m * phi), over_ties(m * f * phi)
    b0, b1, b2 = (over_ties(m * f**power * phi**2) for power in range(3))
    information = np.empty((design.keys, p, p))
    dead = x[design.event]
    for i in range(p):
        for j in range(i, p):
            s2 = design.at_risk(held * x[:, i] * x[:, j])
            d2 = design.on_key(died * dead[:, i] * dead[:, j])
            squared = (
                s1[:, i] * s1[:, j] * b0
                - (s1[:, i] * d1[:, j] + d1[:, i] * s1[:, j]) * b1
                + d1[:, i] * d1[:, j] * b2
            )
            information[:, i, j] = information[:, j, i] = s2 * a0 - d2 * a1 - squared
    weighed = design.amount[design.event]
    seen = np.column_stack([design.on_key(weighed * one) for one in dead.T])
    expected = s1 * a0[:, None] - d1 * a1[:, None]
    by_key = seen - expected
    value = float(weighed @ linear[design.event] - m @ np.log(left))
    hazard_x = s1 * b0[:, None] - d1 * b1[:, None]
    tied_x = s1 * b1[:, None] - d1 * b2[:, None]
    return Sums(
        value,
        by_key.sum(axis=0),
        by_key,
        information,
        theta,
        a0,
        a1,
        hazard_x,
        tied_x,
        expected / design.weight[:, None],
    )


def score_residuals(design: Design, sums: Sums) -> Floats:
    """Of one groin of each row, its part in the score: (rows, p). Weighted, they sum to the score."""
    run = np.concatenate([[0.0], np.cumsum(sums.hazard)])
    run_x = np.concatenate([np.zeros((1, design.x.shape[1])), np.cumsum(sums.hazard_x, axis=0)])
    spent = (run[design.upto] - run[design.first])[:, None] * design.x
    residual: Floats = -sums.theta[:, None] * (spent - run_x[design.upto] + run_x[design.first])
    x, of = design.x[design.event], design.where
    residual[design.event] += x - sums.mean[of]
    residual[design.event] += sums.theta[design.event][:, None] * (
        sums.tied[of][:, None] * x - sums.tied_x[of]
    )
    return residual
