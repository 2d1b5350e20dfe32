"""Weights that make the arms alike, how alike they become, and what that costs in groins.

Probabilities by profile and arm go in; weights and balance come out. Inverse-probability weights speak of all
patients (Robins, Hernán & Brumback, Epidemiology 2000;11:550, stabilised); overlap weights of those of whom any of
the repairs might be done (Li, Morgan & Zaslavsky, J Am Stat Assoc 2018;113:390; several arms: Li & Li, Ann Appl Stat
2019;13:2389). With two arms and a logistic propensity by maximum likelihood overlap weights balance every modelled
covariate exactly.
"""

from __future__ import annotations

from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hingeline.errors import HingelineError
from hingeline.estimates.contrast_result import Balance, Weights
from hingeline.estimates.contrast_rows import Array, ContrastRows

ESTIMANDS: Final = ("overlap", "all")
MOST_OF_AN_ARM: Final = 0.1
"""A groin that carries more than this of an arm's weight decides the arm alone: the weights explode."""
LEAST_EFFECTIVE: Final = 0.1
"""So do weights that leave an arm less than this share of its groins."""


def arm_weights(probability: Array, estimand: str, shares: Array) -> Array:
    """Weight of a groin by its profile and its arm.

    Parameters
    ----------
    probability : array, shape (arms, ..., profiles)
    estimand : {"overlap", "all"}
    shares : array, shape (arms, ...)
        Each arm's share of the groins; stabilises inverse-probability weights.

    Returns
    -------
    array, shape (arms, ..., profiles)
    """
    inverse = 1 / np.maximum(probability, 1e-300)
    if estimand == "all":
        inverse *= shares[..., None]
    else:
        inverse /= inverse.sum(axis=0)
    return inverse


def checked_estimand(estimand: str) -> str:
    """An estimand that is known, or a refusal."""
    if estimand not in ESTIMANDS:
        raise HingelineError(
            f"The estimand is {estimand!r}", "argument estimand", f"give one of {', '.join(ESTIMANDS)}"
        )
    return estimand


def effective(groins: Array, weight: Array) -> float:
    """Number of equally weighted groins that tell as much (Kish, Survey Sampling, 1965, 11.2)."""
    total = float((groins * weight).sum())
    squares = float((groins * weight**2).sum())
    return total**2 / squares if squares > 0 else 0.0


def independent(rows: ContrastRows, own: NDArray[np.bool_], weight: Array) -> float:
    """Number of equally weighted patients of one groin each that tell as much.

    Kish's number over patients: two groins of one patient count as if they were one, which is the most that their
    likeness can cost; with a handful of events it cannot be measured.

    Parameters
    ----------
    rows : ContrastRows
    own : array of bool, shape (rows,)
        The groins meant.
    weight : array, shape (rows,)
    """
    weighted = rows.n[own] * weight[own]
    cluster = rows.cluster[own]
    each = np.bincount(cluster, weighted, rows.patients.size)
    total = float((rows.patients * each).sum())
    squares = float((rows.patients * each**2).sum())
    return total**2 / squares if squares > 0 else 0.0


def summarise_weights(rows: ContrastRows, weight: Array) -> tuple[Weights, ...]:
    """Largest weight and effective number of groins of each arm, from weights by row: what weighting alone costs."""
    told = []
    for code, name in enumerate(rows.arms):
        own = rows.arm == code
        groins, weights = rows.groins[own], weight[own]
        total, number = float((groins * weights).sum()), float(groins.sum())
        largest = float(weights.max()) / total if total else np.nan
        least = effective(groins, weights)
        told.append(
            Weights(
                arm=name,
                n=round(number),
                effective_n=least,
                largest=largest * number,
                largest_share=largest,
                explodes=bool(
                    number > 1 / MOST_OF_AN_ARM
                    and (largest > MOST_OF_AN_ARM or least < LEAST_EFFECTIVE * number)
                ),
            )
        )
    return tuple(told)


def balance(rows: ContrastRows, weight: Array) -> tuple[Balance, ...]:
    """Standardised differences of each covariate between each two arms, before and after weighting.

    Difference of means over the root of the mean of the two arms' unweighted variances, before and after alike
    (Austin & Stuart, Stat Med 2015;34:3661).
    """
    values = rows.design[rows.profile]
    arms = len(rows.arms)
    before = np.empty((arms, values.shape[1]))
    after, variance = np.empty_like(before), np.empty_like(before)
    for code in range(arms):
        own = rows.arm == code
        groins, weighted = rows.groins[own], (rows.groins * weight)[own]
        before[code] = groins @ values[own] / groins.sum()
        after[code] = weighted @ values[own] / weighted.sum()
        variance[code] = groins @ (values[own] - before[code]) ** 2 / groins.sum()
    told = []
    for first, second in combinations(range(arms), 2):
        spread = np.sqrt((variance[first] + variance[second]) / 2)
        for place, column in enumerate(rows.columns):
            gaps = [float(mean[second, place] - mean[first, place]) for mean in (before, after)]
            scaled = [
                gap / float(spread[place]) if spread[place] > 0 else (0.0 if gap == 0 else np.inf)
                for gap in gaps
            ]
            told.append(Balance(column.name, rows.arms[second], rows.arms[first], *scaled))
    return tuple(told)
