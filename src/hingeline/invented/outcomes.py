"""What became of the invented groins: operations come in, repairs, follow-up, recurrences and deaths go out.

Five-year recurrence is about 2% after open high ligation at 13–18 and 3% after laparoscopic (common
practice, no source), and far more where a direct hernia was only ligated. A recurrence operated here is an
operation of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from hingeline.estimates.simulate import simulate_patients
from hingeline.invented.hospitals import HOSPITALS
from hingeline.invented.patients import CUTOFF, LAST_DAY, WOMENS_ODDS, Booleans, Days, Floats, Integers, shape
from hingeline.vocabulary import DAYS_PER_YEAR

Rows = dict[str, NDArray[Any]]
"""Columns of equal length, one entry a groin operated once."""

NO_DATE = np.datetime64("NaT", "D")

FIVE_YEAR_RISK = {"high_ligation": 0.02, "tissue": 0.03, "mesh": 0.015}
LAPAROSCOPIC_LIGATION_RISK = 0.03
ONLY_LIGATED_RISK = 0.30
"""A direct hernia whose sac was tied and whose floor was left (an assumption of the invented study)."""

FIRST_DAYS = 30
"""Nothing recurs before."""

GOMPERTZ = (4e-5, 0.092)
"""Yearly hazard of death a·exp(b·age): 4% a year at 75, as in a rich country (memory)."""


def add_outcomes(groins: Rows, generator: np.random.Generator) -> Rows:
    """Give each groin its repair, how its type was known, its follow-up and what became of it.

    Parameters
    ----------
    groins : Rows
        As `patients.draw_groins` makes it.

    Returns
    -------
    Rows
        Those groins and later operations (of the other groin, of recurrences), with all that some export
        tells. A missing date is NaT, a missing word "", a missing number NaN. `type` is as recorded,
        `true_type` as it is.
    """
    groins["died_on"] = _deaths(groins, generator)
    groins["occurrence"] = _occurrences(groins, generator)
    groins["other_groin_on"], later = _other_groins(groins, generator)
    rows = join(groins, later)
    rows |= _repairs(rows, generator)
    rows |= _follow_up(rows, generator)
    rows = join(rows, _reoperations(rows, generator))
    rows["true_type"] = rows["type"].copy()
    rows |= _recorded(rows, generator)
    rows |= _measured(rows, generator)
    return rows | {
        "sex": np.where(rows["male"], "male", "female"),
        "approach": np.where(rows["laparoscopic"], "laparoscopic", "open"),
        "operation": np.char.add(np.where(rows["laparoscopic"], "laparoscopic ", "open "), rows["repair"]),
    }


def join(rows: Rows, more: Rows) -> Rows:
    """Put rows under rows."""
    return {name: np.concatenate((column, more[name])) for name, column in rows.items()}


def take(rows: Rows, which: Integers | Booleans) -> Rows:
    """Choose rows."""
    return {name: column[which] for name, column in rows.items()}


def days(length: ArrayLike) -> NDArray[np.timedelta64]:
    """Whole days, as a span that can be added to dates."""
    return np.round(np.asarray(length, dtype=np.float64)).astype(np.int64).astype("timedelta64[D]")


def later_than(dates: Days, length: ArrayLike) -> Days:
    """Dates so many days later."""
    return dates + days(length)


def by_hospital(rows: Rows, name: str) -> NDArray[Any]:
    """A fact of each row's hospital."""
    return np.array([getattr(hospital, name) for hospital in HOSPITALS])[rows["hospital"]]


def _deaths(rows: Rows, generator: np.random.Generator) -> Days:
    """Date of death of each patient, when before the cut-off."""
    hazard, growth = GOMPERTZ
    patients = int(rows["patient"].max()) + 1
    chance = -np.log(generator.random(patients))[rows["patient"]]
    years = np.log1p(chance * growth / (hazard * np.exp(growth * rows["age_years"]))) / growth
    died = rows["operated_on"] + days(np.minimum(years, 150) * DAYS_PER_YEAR) + np.timedelta64(1, "D")
    return np.where(died <= CUTOFF, died, NO_DATE)


def _occurrences(rows: Rows, generator: np.random.Generator) -> NDArray[np.str_]:
    """Recurrent hernias that were first repaired elsewhere."""
    chance = np.interp(rows["age_years"], (15, 30, 60), (0.0, 0.03, 0.06))
    elsewhere = (generator.random(len(chance)) < chance) & (rows["reason"] == "hernia")
    return np.where(elsewhere, "recurrent", "primary")


def _other_groins(rows: Rows, generator: np.random.Generator) -> tuple[Days, Rows]:
    """Later hernias of the other groin: their dates, and the operations done here for them."""
    alone = np.bincount(rows["patient"])[rows["patient"]] == 1
    yearly = np.where(rows["age_years"] < 16, 0.010, 0.008)
    found = later_than(rows["operated_on"], 90 + generator.exponential(DAYS_PER_YEAR / yearly))
    alive = np.isnat(rows["died_on"]) | (found < rows["died_on"])
    here = alone & (rows["reason"] == "hernia") & alive & (found <= LAST_DAY) & _taken(rows, found)
    at_first = np.where(here, found, NO_DATE)
    later = take(rows, here)
    born = later["born_on"]
    age = (found[here] - born).astype(np.int64) / DAYS_PER_YEAR
    drawn = simulate_patients(
        age,
        shape(),
        generator,
        hospital=later["hospital"],
        hospital_logits=[hospital.logit for hospital in HOSPITALS],
        shift=np.where(later["male"], 0.0, np.log(WOMENS_ODDS)),
        bilateral=0.0,
    )
    later["type"] = np.where(drawn.direct, "direct", "indirect").astype(rows["type"].dtype)
    later["side"] = np.where(later["side"] == "left", "right", "left")
    later |= {"operated_on": found[here], "age_years": age}
    later["occurrence"] = np.full(len(age), "primary")
    later["other_groin_on"] = np.full(len(age), NO_DATE)
    return at_first, later


def _taken(rows: Rows, when: Days) -> Booleans:
    """Whether the hospital still takes the patient at that date."""
    age = (when - rows["born_on"]).astype(np.int64) / DAYS_PER_YEAR
    return np.asarray(age < by_hospital(rows, "takes_ages")[:, 1], dtype=bool)


def _repairs(rows: Rows, generator: np.random.Generator) -> Rows:
    """Repair by age, type and kind of hospital; the floor is left alone in children, and seldom later."""
    kind = rows["type"]
    saw_the_floor = (kind != "indirect") & (generator.random(len(kind)) < 0.7)
    ligated, mesh = repair_chances(rows, saw_the_floor)
    drawn = generator.random(len(kind))
    repair = np.where(
        drawn < ligated, "high_ligation", np.where(generator.random(len(kind)) < mesh, "mesh", "tissue")
    )
    # a laparoscopic repair without a mesh is a ligation; adults who are not ligated get a mesh there
    repair = np.where(rows["laparoscopic"] & (repair == "tissue"), "mesh", repair)
    return {"repair": repair}


def repair_chances(rows: Rows, saw_the_floor: Booleans) -> tuple[Floats, Floats]:
    """Chance of a ligation, and of a mesh where there is none and the operation is open."""
    age = rows["age_years"]
    children = by_hospital(rows, "setting") == "children"
    ligated = np.where(
        children,
        np.interp(age, (0, 12, 15, 18), (0.985, 0.975, 0.92, 0.82)),
        np.interp(age, (0, 10, 15, 18, 24, 30, 35), (0.98, 0.97, 0.75, 0.40, 0.15, 0.05, 0.0)),
    )
    ligated = np.where(saw_the_floor, ligated * 0.1, ligated)
    ligated = np.where((rows["reason"] != "hernia") & (age < 16), 1.0, ligated)
    mesh = np.interp(age, (0, 12, 18, 30, 50), (0.05, 0.2, 0.55, 0.75, 0.88))
    return np.asarray(ligated, dtype=np.float64), np.asarray(mesh, dtype=np.float64)


def _follow_up(rows: Rows, generator: np.random.Generator) -> Rows:
    """Last visits, and recurrences as somebody came to know of them."""
    n, operated, lots = len(rows["side"]), rows["operated_on"], _by_patient(rows, generator)
    birthday = rows["born_on"] + days(np.full(n, 18 * DAYS_PER_YEAR))
    end = np.minimum(CUTOFF, np.where(np.isnat(rows["died_on"]), CUTOFF, rows["died_on"]))
    end = np.where(
        by_hospital(rows, "setting") == "children",
        np.minimum(end, later_than(np.maximum(birthday, operated), 120 * lots())),
        end,
    )
    length = -np.log1p(-lots()) * by_hospital(rows, "follow_years") * DAYS_PER_YEAR
    visited = later_than(operated, 20 + length)
    seen = (lots() < by_hospital(rows, "followed")) & (operated < end)
    until = np.where(seen, np.minimum(visited, end), NO_DATE)

    years = np.minimum(generator.exponential(years_to_recurrence(rows)), 200)
    recurred = later_than(operated, FIRST_DAYS + years * DAYS_PER_YEAR)
    at_visit = seen & (recurred <= until)
    came_back = ~at_visit & (recurred < end) & (generator.random(n) < 0.35) & _taken(rows, recurred)
    known = at_visit | came_back
    how = generator.choice(["examined", "telephone", "re-operation"], size=n, p=[0.6, 0.22, 0.18])
    how = np.where(came_back, np.where(by_hospital(rows, "deaths"), "registry", "re-operation"), how)
    return {
        "followed_until": np.where(came_back, np.fmax(until, recurred), until),
        "recurred_on": np.where(known, recurred, NO_DATE),
        "recurrence_known_by": np.where(known, how, ""),
    }


def years_to_recurrence(rows: Rows) -> Floats:
    """Mean time to a recurrence, from the five-year risk of each repair."""
    repair, ligated = rows["repair"], rows["repair"] == "high_ligation"
    risk = np.select([repair == name for name in FIVE_YEAR_RISK], list(FIVE_YEAR_RISK.values()))
    risk = np.where(ligated & rows["laparoscopic"], LAPAROSCOPIC_LIGATION_RISK, risk)
    risk = np.where(ligated & (rows["age_years"] < 12), risk / 2, risk)
    risk = np.where(ligated & (rows["age_years"] >= 18), risk * 2, risk)
    risk = np.where(ligated & np.isin(rows["type"], ("direct", "combined")), ONLY_LIGATED_RISK, risk)
    risk = np.where(np.isin(rows["reason"], ("hydrocele", "processus closed in passing")), 0.002, risk)
    return np.asarray(-5 / np.log1p(-risk), dtype=np.float64)


def _reoperations(rows: Rows, generator: np.random.Generator) -> Rows:
    """Operations here for recurrences here; the first row learns what type was found."""
    when = later_than(rows["recurred_on"], generator.integers(0, 60, len(rows["side"])))
    alive = np.isnat(rows["died_on"]) | (when < rows["died_on"])
    again = np.isin(rows["recurrence_known_by"], ("re-operation", "registry")) & alive & (when <= LAST_DAY)
    again &= _taken(rows, when)
    floor = np.isin(rows["type"], ("direct", "combined"))
    direct = generator.random(len(floor)) < np.where(
        floor, 0.8, np.interp(rows["age_years"], (0, 15, 60), (0.02, 0.15, 0.5))
    )
    found = np.where(rows["type"] == "femoral", "femoral", np.where(direct, "direct", "indirect"))
    rows["reoperation_type"] = np.where(again, found, "")
    more = take(rows, again)
    n = len(more["side"])
    more["operated_on"] = when[again]
    more["age_years"] = (when[again] - more["born_on"]).astype(np.int64) / DAYS_PER_YEAR
    more["type"] = more["reoperation_type"].astype(rows["type"].dtype)
    more["occurrence"] = np.full(n, "recurrent")
    more["reason"] = np.full(n, "hernia").astype(rows["reason"].dtype)
    more["repair"] = np.where(more["age_years"] < 15, "high_ligation", "mesh")
    for name in ("followed_until", "recurred_on", "other_groin_on"):
        more[name] = np.full(n, NO_DATE)
    for name in ("recurrence_known_by", "reoperation_type"):
        more[name] = np.full(n, "", dtype=rows[name].dtype)
    return more


def _recorded(rows: Rows, generator: np.random.Generator) -> Rows:
    """How the type was known, and the type as recorded: some are not."""
    n, children = len(rows["side"]), by_hospital(rows, "setting") == "children"
    year = rows["operated_on"].astype("datetime64[Y]").astype(np.int64) + 1970
    chance = generator.random(n)
    looked = np.where(children | (rows["age_years"] < 14), 0.25, 0.80)
    known = np.where(chance < looked, "floor examined", "not examined")
    hohenwiek = by_hospital(rows, "slug") == "hohenwiek"
    known = np.where(hohenwiek & (year < 2010) & (generator.random(n) < 0.6), "code only", known)
    known = np.where(generator.random(n) < 0.04, "unknown", known)
    known = np.where(rows["laparoscopic"], "laparoscopic view", known)
    unknown = generator.random(n) < np.where(
        known == "code only", 0.2, np.where(known == "unknown", 0.3, 0.01)
    )
    return {"known_by": known, "type": np.where(unknown, "unknown", rows["type"])}


def _by_patient(rows: Rows, generator: np.random.Generator) -> Callable[[], Floats]:
    """Draws from 0 to 1, one a patient: what one visit tells is the same for both groins."""
    patients = int(rows["patient"].max()) + 1
    return lambda: generator.random(patients)[rows["patient"]]


def _measured(rows: Rows, generator: np.random.Generator) -> Rows:
    """Numbers and complications that some hospital writes down."""
    n, age, lots = len(rows["side"]), rows["age_years"], _by_patient(rows, generator)
    preterm, weeks = lots() < 0.18, lots()
    weeks = np.where(preterm, 26 + np.floor(11 * weeks), 37 + np.floor(5 * weeks))
    early = (age < 2) & (preterm | (lots() < 0.6))
    size = np.clip(np.round(np.interp(age, (0, 18, 70), (0.7, 1.4, 2.0)) + generator.normal(0, 0.6, n)), 1, 3)
    weight = np.interp(age, (0, 1, 5, 12, 18, 40, 95), (3.6, 9.8, 18.5, 40, 68, 80, 72))
    weight = weight * np.exp(0.13 * ndtri(np.maximum(lots(), 1e-9)))
    followed = ~np.isnat(rows["followed_until"])
    pain = generator.random(n)
    adult_mesh = followed & (age >= 15) & (rows["repair"] == "mesh")
    return {
        "gestation_weeks": np.where(early, weeks, np.nan),
        "ehs_size": np.where(generator.random(n) < 0.9, size, np.nan),
        "weight_kg": np.where(lots() < 0.85, np.round(weight, 1), np.nan),
        "chronic_pain": np.where(
            adult_mesh & (pain < 0.02),
            "severe",
            np.where(adult_mesh & (pain < 0.10), "mild", np.where(followed, "none", "")),
        ),
        "testicular_atrophy": rows["male"] & followed & (age < 15) & (generator.random(n) < 0.004),
        "infection": generator.random(n) < np.where(rows["repair"] == "mesh", 0.012, 0.006),
        "emergency": lots() < np.interp(age, (0, 0.5, 2, 20, 70, 95), (0.12, 0.1, 0.04, 0.02, 0.05, 0.14)),
        "surgeon": 1 + np.floor(12 * lots()).astype(np.int64),
    }
