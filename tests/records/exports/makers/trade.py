"""Invented patients and groin operations, as a hospital sees them.

Comes in: a seed and a mix of ages. Goes out: patients with their operations, every value in the trade's plain words.
The shares are a data manager's common knowledge (common practice, no source), not a model of anything.
"""

from __future__ import annotations

import datetime as dt
import random
from bisect import bisect_right
from dataclasses import dataclass, field

DIRECT_MEN = (
    (0, 0.01),
    (12, 0.012),
    (14, 0.04),
    (16, 0.09),
    (18.5, 0.13),
    (40, 0.19),
    (70, 0.47),
    (90, 0.52),
)
DIRECT_WOMEN = ((0, 0.005), (15, 0.01), (40, 0.03), (70, 0.08), (90, 0.1))
COMBINED_MEN = ((0, 0.0), (16, 0.0), (30, 0.03), (60, 0.07), (90, 0.07))
FEMORAL_MEN = ((0, 0.002), (18, 0.004), (60, 0.015), (90, 0.03))
FEMORAL_WOMEN = ((0, 0.004), (18, 0.06), (50, 0.22), (90, 0.35))

# Bands of age in years and the weight of each, by the kind of hospital.
MIXES: dict[str, tuple[tuple[float, float, float], ...]] = {
    "infants": ((0.08, 1, 6), (1, 4, 3), (4, 8, 1)),
    "children": ((0.1, 1, 3), (1, 6, 5), (6, 12, 3), (12, 16.5, 1.5)),
    "teens": ((6, 12, 2), (12, 18, 5), (18, 25, 4)),
    "adults": ((18, 30, 2), (30, 50, 4), (50, 70, 6), (70, 90, 3)),
    "whole": (
        (0.08, 1, 1.2),
        (1, 6, 2.4),
        (6, 12, 1.4),
        (12, 16, 0.9),
        (16, 22, 1.1),
        (22, 40, 2),
        (40, 65, 4),
        (65, 89.9, 3),
    ),
    "all": ((0.1, 2, 2), (2, 12, 3), (12, 18, 2), (18, 40, 3), (40, 65, 5), (65, 90, 4)),
}


def along(line: tuple[tuple[float, float], ...], age_years: float) -> float:
    """Read a broken line of (age, share) at an age."""
    at = bisect_right([point[0] for point in line], age_years)
    if at == 0:
        return line[0][1]
    if at == len(line):
        return line[-1][1]
    (x0, y0), (x1, y1) = line[at - 1], line[at]
    return y0 + (y1 - y0) * (age_years - x0) / (x1 - x0)


def type_of(age_years: float, sex: str, rng: random.Random) -> str:
    male = sex == "male"
    if rng.random() < along(FEMORAL_MEN if male else FEMORAL_WOMEN, age_years):
        return "femoral"
    draw = rng.random()
    direct = along(DIRECT_MEN if male else DIRECT_WOMEN, age_years)
    if draw < direct:
        return "direct"
    if male and draw < direct + along(COMBINED_MEN, age_years):
        return "combined"
    return "indirect"


@dataclass
class Patient:
    """One patient; `ops` holds the operations in order of time, each a dictionary of field to plain word."""

    number: int
    index: int
    sex: str
    born_on: dt.date
    gestation_weeks: int
    connective: str
    died_on: dt.date | None
    ops: list[dict[str, object]] = field(default_factory=list)

    def on(self, side: str) -> dict[str, object] | None:
        return next((op for op in self.ops if op["side"] == side), None)


def often(rng: random.Random, share: float) -> str:
    return "yes" if rng.random() < share else "no"


def pick(rng: random.Random, **weights: float) -> str:
    return rng.choices(list(weights), list(weights.values()))[0].replace("_", " ")


def draw_age(mix: str, rng: random.Random) -> float:
    bands = MIXES[mix]
    low, high, _ = rng.choices(bands, [band[2] for band in bands])[0]
    return rng.uniform(low, high)


def growth(age_years: float, sex: str, rng: random.Random) -> tuple[float, float, int]:
    """Height in cm, weight in kg and stage of puberty that go together well enough."""
    height = along(((0, 51), (1, 76), (4, 103), (10, 139), (16, 173), (90, 174)), age_years) + rng.gauss(0, 4)
    weight = along(((0, 3.6), (1, 9.8), (4, 16.5), (10, 32), (16, 62), (30, 79), (90, 77)), age_years)
    weight *= max(0.75, rng.gauss(1, 0.1))
    if age_years > 15 and sex == "female":
        height -= 9
        weight -= 8
    stage = round(along(((0, 1), (10, 1), (12.5, 2), (14, 3), (16, 4.4), (18, 5), (90, 5)), age_years))
    return round(height), round(weight, 1), stage


def operation(
    patient: Patient, day: dt.date, side: str, rng: random.Random, *, kind: str | None = None
) -> dict[str, object]:
    """One operated groin with everything a hospital might write down about it."""
    age_years = (day - patient.born_on).days / 365.25
    child = age_years < 14
    male = patient.sex == "male"
    kind = kind or type_of(age_years, patient.sex, rng)
    reason = "hernia"
    if child and kind == "indirect":
        reason = pick(rng, hernia=84, hydrocele=6 if male else 0, processus_closed_in_passing=5)
        if male and rng.random() < 0.05:
            reason = "with orchidopexy"
    keyhole = rng.random() < (0.32 if child else 0.42)
    approach = "laparoscopic" if keyhole else "open"
    if child:
        repair = "high_ligation" if kind in ("indirect", "direct") else "tissue"
    elif age_years < 19:
        repair = rng.choice(["high_ligation", "tissue", "mesh"])
    else:
        repair = "mesh" if keyhole else rng.choices(["mesh", "tissue"], [80, 20])[0]
    known = "laparoscopic view" if keyhole else "floor examined"
    if not keyhole and child and rng.random() < 0.6:
        known = "not examined"
    if rng.random() < 0.04:
        known = "code only"
    height, weight, stage = growth(age_years, patient.sex, rng)
    occurrence = "recurrent" if rng.random() < (0.015 if child else 0.09) else "primary"
    size = max(0, min(3, round(rng.gauss(1.1 if child else 1.7, 0.7))))
    followed = day + dt.timedelta(days=rng.choice([14, 42, 56, 90, 180, 365, 730]) + rng.randint(-6, 9))
    recurred = None
    if rng.random() < 0.05:
        recurred = day + dt.timedelta(days=rng.randint(90, 900))
        if patient.died_on and recurred > patient.died_on:
            recurred = None
        followed = max(followed, recurred or followed)
    pain = pick(rng, none=86, mild=10, severe=2) if not child else pick(rng, none=97, mild=3)
    letter = {"indirect": "L", "direct": "M", "combined": "LM", "femoral": "F"}[kind]
    percutaneous = "yes" if child and keyhole and rng.random() < 0.5 else "no"
    return {
        "patient": patient.number,
        "operated_on": day,
        "born_on": patient.born_on,
        "age": (day - patient.born_on).days,
        "sex": patient.sex,
        "side": side,
        "type": kind,
        "known_by": known,
        "reason": reason,
        "ehs_size": size,
        "ehs": f"{'R' if occurrence == 'recurrent' else 'P'}{letter}{size}",
        "occurrence": occurrence,
        "repair": repair,
        "mesh_used": "yes" if repair == "mesh" else "no",
        "approach": approach,
        "sac_divided": often(rng, 0.8),
        "ring_narrowed": often(rng, 0.25),
        "percutaneous": percutaneous,
        "emergency": often(rng, 0.07),
        "specialty": "paediatric surgery" if child else "general surgery",
        "surgeon": rng.randint(0, 5),
        "gestation_weeks": patient.gestation_weeks,
        "preterm": "yes" if patient.gestation_weeks < 37 else "no",
        "connective_tissue_disorder": patient.connective,
        "height_cm": height,
        "weight_kg": weight,
        "puberty_stage": stage,
        "ring_mm": max(4, round(rng.gauss(9 if child else 21, 3))),
        "followed_until": min(followed, patient.died_on) if patient.died_on else followed,
        "recurred_on": recurred,
        "recurrence_known_by": pick(rng, examined=5, telephone=2, registry=1) if recurred else None,
        "reoperation_type": rng.choice([kind, "direct", "indirect"]) if recurred else None,
        "other_groin_on": None,
        "died_on": patient.died_on,
        "chronic_pain": pain,
        "testicular_atrophy": often(rng, 0.015) if male else None,
        "ascending_testis": often(rng, 0.02 if child else 0.002) if male else None,
        "vas_injury": often(rng, 0.006) if male else None,
        "infection": often(rng, 0.03),
    }


def hear_of(op: dict[str, object], later: dt.date) -> None:
    """A hernia of the other groin, later; the patient was then seen."""
    op["other_groin_on"] = later
    op["followed_until"] = max(later, op["followed_until"])  # type: ignore[type-var]


def patients(
    how_many: int,
    mix: str,
    rng: random.Random,
    *,
    years: tuple[int, int] = (2009, 2018),
    first_number: int = 10_000,
    both: float = 0.08,
    male: float = 0.88,
) -> list[Patient]:
    """Draw patients with one operation each, and a second groin in some, the same day or later."""
    drawn = []
    number = first_number
    start = dt.date(years[0], 1, 1)
    span = (dt.date(years[1], 12, 31) - start).days
    for index in range(how_many):
        number += rng.randint(3, 97)
        day = start + dt.timedelta(days=rng.randrange(span))
        while day.weekday() > 4 and rng.random() < 0.9:
            day -= dt.timedelta(days=1)
        age = draw_age(mix, rng)
        sex = "male" if rng.random() < male else "female"
        early = rng.random() < (0.3 if age < 1 else 0.09)
        patient = Patient(
            number=number,
            index=index,
            sex=sex,
            born_on=day - dt.timedelta(days=max(20, round(age * 365.25))),
            gestation_weeks=rng.randint(26, 36)
            if early
            else rng.choice([37, 38, 39, 39, 40, 40, 40, 41, 41]),
            connective=often(rng, 0.015),
            died_on=day + dt.timedelta(days=rng.randint(400, 2500))
            if age > 65 and rng.random() < 0.2
            else None,
        )
        side = "right" if rng.random() < 0.6 else "left"
        patient.ops.append(operation(patient, day, side, rng))
        if rng.random() < both:
            later = day if rng.random() < 0.6 else day + dt.timedelta(days=rng.randint(60, 700))
            if patient.died_on is None:
                patient.ops.append(operation(patient, later, "left" if side == "right" else "right", rng))
                if later > day:
                    hear_of(patient.ops[0], later)
        elif rng.random() < 0.06 and patient.died_on is None:
            hear_of(patient.ops[0], day + dt.timedelta(days=rng.randint(60, 1400)))
        drawn.append(patient)
    return drawn
