"""Invented patients and their groins: a seed and a number come in, one table of clean groins goes out.

Ages, hospitals and types follow the shapes at the top, which are made to look like the trade's; the direct
share is drawn by `estimates.simulate`. The rows are what a perfect record would hold.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from hingeline.estimates.simulate import Shape, shape_through, simulate_patients
from hingeline.invented.hospitals import HOSPITALS
from hingeline.vocabulary import DAYS_PER_YEAR

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Booleans = NDArray[np.bool_]
Days = NDArray[np.datetime64]
Words = NDArray[np.str_]

SHAPE_AGES: Final = (0.0, 14.5, 18.5, 40.0, 70.0)
SHAPE_SHARES: Final = (0.007, 0.013, 0.14, 0.185, 0.47)
"""Direct share of men's inguinal hernias; the three ages within are the turns (figures like the trade's)."""

WOMENS_ODDS: Final = 0.35
"""Odds of direct in women against men of the same age (common practice, no source)."""

CORRELATION: Final = 0.4
"""Correlation of the types of one patient's two groins."""

CLOSED_IN_PASSING: Final = 0.20
"""Chance that the camera shows the other side's processus open in a child, and that it is closed at once."""

GROINS_A_PATIENT: Final = 1.16
"""What bilateral and later operations make of one patient, so that the number asked for is met closely."""

_AGES = (0.0, 0.5, 1, 2, 3, 5, 8, 11, 14, 20, 24, 28, 34, 40, 50, 60, 72, 80, 88, 95)
_OPERATIONS = (
    1500,
    1150,
    920,
    780,
    690,
    640,
    620,
    615,
    615,
    605,
    480,
    350,
    300,
    298,
    320,
    370,
    450,
    360,
    120,
    12,
)
"""Operations a year of age, on a scale of their own: two humps, 0–5 and 70–80 (Burcharth 2013).

The young from 8 to 24 are taken to have been recruited well. In 40 seeds of 25,000 groins the likelihood (BIC)
chose three turns 34 times and two 6 times, and the first turn was within 2.5 years of the true one in 37; with
half as many of the young it chose one turn in 12.
"""

LAST_DAY: Final = np.datetime64("2023-12-31")
"""Last day of operation in the records."""

CUTOFF: Final = np.datetime64("2024-06-30")
"""Data cut-off of the invented study."""


def shape() -> Shape:
    """The true direct share of the invented study."""
    return shape_through(SHAPE_AGES, SHAPE_SHARES)


def draw_groins(groins: int, generator: np.random.Generator) -> dict[str, NDArray[Any]]:
    """Draw about so many groins, first operations only.

    Returns
    -------
    dict of ndarray
        One entry a groin, the groins of a patient neighbours: patient, hospital (index), born_on,
        operated_on, age_years, male, side, type (the true one), reason, laparoscopic.
    """
    n = max(round(groins / GROINS_A_PATIENT), 1)
    age = np.round(_ages(n, generator) * DAYS_PER_YEAR) / DAYS_PER_YEAR
    hospital = _hospitals(age, generator)
    male = generator.random(n) < share_male(age)
    first = np.array([f"{h.since}-01-01" for h in HOSPITALS], dtype="datetime64[D]")[hospital]
    operated = first + (generator.random(n) * ((LAST_DAY - first).astype(int) + 1)).astype("timedelta64[D]")
    laparoscopic = generator.random(n) < _laparoscopic(hospital, operated)
    both = np.interp(age, (0, 1, 4, 12, 20, 40, 75), (0.12, 0.09, 0.05, 0.03, 0.04, 0.09, 0.12))
    both = both + np.where(laparoscopic & (age < 14), CLOSED_IN_PASSING, 0.0)
    drawn = simulate_patients(
        age,
        shape(),
        generator,
        hospital=hospital,
        hospital_logits=[h.logit for h in HOSPITALS],
        shift=np.where(male, 0.0, np.log(WOMENS_ODDS)),
        bilateral=both,
        correlation=CORRELATION,
    )
    patient = drawn.patient
    second = np.diff(patient, prepend=-1) == 0
    reason = _reasons(age[patient], male[patient], second, laparoscopic[patient], generator)
    kind = _types(drawn.direct, age[patient], male[patient], reason, generator)
    left_first = generator.random(n) < 0.42  # the right side is the more frequent
    side = np.where(left_first[patient] ^ second, "left", "right")
    born = operated - np.round(age * DAYS_PER_YEAR).astype("timedelta64[D]")
    return {
        "patient": patient,
        "hospital": hospital[patient],
        "born_on": born[patient],
        "operated_on": operated[patient],
        "age_years": age[patient],
        "male": male[patient],
        "side": side,
        "type": kind,
        "reason": reason,
        "laparoscopic": laparoscopic[patient],
    }


def share_male(age_years: Floats) -> Floats:
    """Share of boys and men among those operated."""
    return np.interp(age_years, (0, 1, 5, 12, 25, 60, 95), (0.84, 0.83, 0.8, 0.9, 0.94, 0.91, 0.8))


def operations_by_age(age_years: Floats) -> Floats:
    """Operations a year of age, on a scale of its own: the true density of ages."""
    return np.interp(age_years, _AGES, _OPERATIONS, left=0.0, right=0.0)


def _ages(n: int, generator: np.random.Generator) -> Floats:
    """Ages from the density, by its inverse on a grid of hundredths of a year."""
    edges = np.linspace(0.0, 95.0, 9_501)
    mass = operations_by_age((edges[:-1] + edges[1:]) / 2)
    return np.interp(generator.random(n), np.concatenate(([0.0], np.cumsum(mass) / mass.sum())), edges)


def _hospitals(age: Floats, generator: np.random.Generator) -> Integers:
    """Index of the hospital that takes each patient; around the hand-over both kinds do."""
    pull = np.empty((len(HOSPITALS), len(age)))
    for i, hospital in enumerate(HOSPITALS):
        youngest, handed_on = hospital.takes_ages
        weight = np.where((age >= youngest) & (age < handed_on), hospital.volume, 0.0)
        if hospital.setting == "children":
            weight = weight * np.interp(age, (15, 18), (1.0, 0.4))
        if hospital.setting == "general":
            weight = weight * np.interp(age, (15, 18), (0.3, 1.0))
        pull[i] = weight
    upto = np.cumsum(pull, axis=0)
    above = generator.random(len(age)) * upto[-1] >= upto
    return np.asarray(above.sum(axis=0), dtype=np.int64)


def _laparoscopic(hospital: Integers, operated: Days) -> Floats:
    early, late = np.array([h.laparoscopic for h in HOSPITALS])[hospital].T
    year = operated.astype("datetime64[Y]").astype(np.int64) + 1970
    return np.asarray(early + (late - early) * (year - 2005) / 18, dtype=np.float64)


def _reasons(
    age: Floats, male: Booleans, second: Booleans, laparoscopic: Booleans, generator: np.random.Generator
) -> Words:
    """Why each groin was operated: the camera finds the other side's open processus, boys have hydroceles."""
    chance = generator.random(len(age))
    other = np.full(len(age), "hernia", dtype="<U27")
    boy = male & (age < 10) & ~second
    other[boy & (chance < 0.07)] = "hydrocele"
    other[boy & (chance >= 0.07) & (chance < 0.10)] = "with orchidopexy"
    other[second & laparoscopic & (age < 14) & (chance < 0.8)] = "processus closed in passing"
    return other


def _types(
    direct: Booleans, age: Floats, male: Booleans, reason: Words, generator: np.random.Generator
) -> Words:
    """True types: femoral rises with age, more in women; a fifth of the directs have an indirect too."""
    femoral = np.where(
        male,
        np.interp(age, (0, 15, 50, 90), (0.001, 0.002, 0.01, 0.03)),
        np.interp(age, (0, 15, 50, 90), (0.003, 0.02, 0.16, 0.38)),
    )
    kind = np.where(direct, "direct", "indirect").astype("<U8")
    kind[direct & (generator.random(len(age)) < 0.2)] = "combined"
    kind[generator.random(len(age)) < femoral] = "femoral"
    kind[(reason != "hernia") & (kind != "indirect")] = "indirect"
    return kind
