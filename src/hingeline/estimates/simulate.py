"""Invented counts and patients from a hinge model: a shape comes in, draws from it go out.

The shape is the design's: the logit of the direct share is a chain of straight lines over age. What is drawn
from it serves the invented study, calibration of cut-offs and studies of coverage; everything follows from a seed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit

from hingeline import wording
from hingeline.errors import HingelineError

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True)
class Shape:
    """A direct share by age whose logit is a chain of straight lines.

    Attributes
    ----------
    start : float
        Logit of the share at age 0.
    slope : float
        Logits a year before the first turn.
    turns : tuple of float
        Ages of the turns in years, rising.
    changes : tuple of float
        Change of slope at each turn, logits a year; above 0 the share turns up.
    """

    start: float
    slope: float
    turns: tuple[float, ...] = ()
    changes: tuple[float, ...] = ()

    def logit(self, age_years: ArrayLike) -> Floats:
        """Logit of the share at given ages, of their shape."""
        age = np.asarray(age_years, dtype=np.float64)
        value = self.start + self.slope * age
        for turn, change in zip(self.turns, self.changes, strict=True):
            value = value + change * np.maximum(age - turn, 0.0)
        return value

    def share(self, age_years: ArrayLike, shift: ArrayLike = 0.0) -> Floats:
        """Direct share at given ages, shifted by given logits (a hospital's intercept)."""
        return np.asarray(expit(self.logit(age_years) + np.asarray(shift, dtype=np.float64)))

    def crossing(self, threshold: float) -> float:
        """First age from 0 at which the share reaches a threshold; infinite when it never does."""
        wanted = float(logit(threshold))
        knots = np.array([0.0, *self.turns])
        values = self.logit(knots)
        slopes = self.slope + np.cumsum([0.0, *self.changes])
        if values[0] >= wanted:
            return 0.0
        for i, (knot, value, slope) in enumerate(zip(knots, values, slopes, strict=True)):
            if slope > 0:
                age = float(knot + (wanted - value) / slope)
                if i + 1 == len(knots) or age <= knots[i + 1]:
                    return age
        return float("inf")

    def to_frame(self) -> pa.Table:
        """One row a turn: age and change of slope."""
        return pa.table({"turn_age": list(self.turns), "change_of_slope": list(self.changes)})

    def __str__(self) -> str:
        return wording.shape(self.turns, self.changes)


def shape_through(ages: ArrayLike, shares: ArrayLike) -> Shape:
    """Shape that runs straight (on the logit) from point to point; the inner points are its turns.

    Parameters
    ----------
    ages : array_like, (points,)
        Rising ages in years, two or more.
    shares : array_like, (points,)
        Direct shares there, strictly between 0 and 1.

    Raises
    ------
    HingelineError
        When the points are no such chain.
    """
    x = np.asarray(ages, dtype=np.float64)
    p = np.asarray(shares, dtype=np.float64)
    if x.ndim != 1 or len(x) < 2 or x.shape != p.shape or not (np.diff(x) > 0).all():
        raise HingelineError("The points do not make a chain", "ages, shares", "Give two or more rising ages")
    if not ((p > 0) & (p < 1)).all():
        raise HingelineError("A share of 0 or 1 has no logit", "shares", "Give shares between 0 and 1")
    y = logit(p)
    slopes = np.diff(y) / np.diff(x)
    return Shape(
        float(y[0] - slopes[0] * x[0]),
        float(slopes[0]),
        tuple(x[1:-1].tolist()),
        tuple(np.diff(slopes).tolist()),
    )


def simulate_counts(
    age: ArrayLike, total: ArrayLike, share: Shape | ArrayLike, seed: int | np.random.Generator
) -> Integers:
    """Draw direct hernias among the cases of each bin.

    Parameters
    ----------
    age : array_like, (bins,)
        Age of each bin in years; only a `Shape` looks at it.
    total : array_like of int, (bins,)
    share : Shape or array_like, (bins,)
        The true direct share.
    seed : int or Generator

    Returns
    -------
    direct : ndarray of int, (bins,)

    Raises
    ------
    HingelineError
        When a total is negative or a share outside 0 to 1.
    """
    n = np.asarray(total, dtype=np.int64)
    p = share.share(age) if isinstance(share, Shape) else np.asarray(share, dtype=np.float64)
    if (n < 0).any() or not ((p >= 0) & (p <= 1)).all():
        raise HingelineError(
            "Totals or shares are impossible",
            "total, share",
            "Give totals of 0 or more and shares from 0 to 1",
        )
    return np.random.default_rng(seed).binomial(n, p).astype(np.int64)


@dataclass(frozen=True)
class SimulatedGroins:
    """Groins of simulated patients, one entry a groin, patients in order.

    Attributes
    ----------
    patient : ndarray of int, (groins,)
        Index of the patient; a bilateral patient has two neighbouring entries.
    hospital : ndarray of int, (groins,)
    age_years : ndarray, (groins,)
    direct : ndarray of bool, (groins,)
    """

    patient: Integers
    hospital: Integers
    age_years: Floats
    direct: NDArray[np.bool_]

    def to_frame(self) -> pa.Table:
        """One row a groin."""
        return pa.table(vars(self))

    def __str__(self) -> str:
        return wording.simulated(len(self.patient), int(self.direct.sum()))


def simulate_patients(
    age_years: ArrayLike,
    shape: Shape,
    seed: int | np.random.Generator,
    *,
    hospital: ArrayLike | None = None,
    hospital_logits: ArrayLike = (0.0,),
    shift: ArrayLike = 0.0,
    bilateral: ArrayLike = 0.1,
    correlation: float = 0.4,
) -> SimulatedGroins:
    """Draw patients with one or two groins, whose types are alike within a patient.

    Parameters
    ----------
    age_years : array_like, (patients,)
    shape : Shape
    seed : int or Generator
    hospital : array_like of int, (patients,), optional
        Index into `hospital_logits`; all 0 when left out.
    hospital_logits : array_like, (hospitals,)
        Shift of each hospital on the logit.
    shift : float or array_like, (patients,)
        Further shift on the logit, such as a woman's.
    bilateral : float or array_like, (patients,)
        Chance that both groins are operated.
    correlation : float
        Between the two groins of a patient: with this chance the second has the type of the first, else its
        own draw. Each groin's share stays exactly the shape's, and the correlation of the two is exactly this.

    Raises
    ------
    HingelineError
        When a chance lies outside 0 to 1 or an index has no hospital.
    """
    generator = np.random.default_rng(seed)
    age = np.asarray(age_years, dtype=np.float64)
    logits = np.asarray(hospital_logits, dtype=np.float64)
    where = np.zeros(len(age), dtype=np.int64) if hospital is None else np.asarray(hospital, dtype=np.int64)
    chance = np.broadcast_to(np.asarray(bilateral, dtype=np.float64), age.shape)
    if where.shape != age.shape or (len(age) and (where.min() < 0 or where.max() >= len(logits))):
        raise HingelineError(
            "A hospital has no shift", "hospital", "Give one of `hospital_logits` to each index"
        )
    if not 0 <= correlation <= 1 or not ((chance >= 0) & (chance <= 1)).all():
        raise HingelineError(
            "A chance lies outside 0 to 1", "bilateral, correlation", "Give chances from 0 to 1"
        )
    p = shape.share(age, logits[where] + np.asarray(shift, dtype=np.float64))
    first = generator.random(len(age)) < p
    own = generator.random(len(age)) < p
    second = np.where(generator.random(len(age)) < correlation, first, own)
    groins = 1 + (generator.random(len(age)) < chance).astype(np.int64)
    patient = np.repeat(np.arange(len(age), dtype=np.int64), groins)
    is_second = np.diff(patient, prepend=-1) == 0
    return SimulatedGroins(
        patient, where[patient], age[patient], np.where(is_second, second[patient], first[patient])
    )
