"""What the invented outcomes truly are: risks of recurrence as the generating hazards give them, not as they fell out.

The sound groins come in with how likely each repair was and how fast each recurs; risks by repair go out, among
those who had it and for the populations that a comparison may be of.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from hingeline.invented.outcomes import (
    FIRST_DAYS,
    FIVE_YEAR_RISK,
    Rows,
    repair_chances,
    take,
    years_to_recurrence,
)
from hingeline.invented.patients import Floats
from hingeline.vocabulary import DAYS_PER_YEAR, INGUINAL

YEARS: Final = 5.0
AGES: Final = (12.0, 30.0)
REPAIRS: Final = tuple(FIVE_YEAR_RISK)


@dataclass(frozen=True)
class OutcomesTruth:
    """True risks of recurrence after some years, were no one to die or to be lost.

    Attributes
    ----------
    years : float
    ages : tuple of float
        Of the comparison: youngest age, first age left out.
    by_repair : dict of str to float
        Among the headline's groins that had the repair: male, primary, reason hernia, type recorded and inguinal.
    by_repair_and_type : dict of str to dict
    compared : dict of str to float
        Among the comparison's that had it: the headline's, indirect, of those ages. Not like with like.
    all : dict of str to float
        Were the repair done in all of the comparison's groins.
    overlap : dict of str to float
        The same weighted by how open the choice among the three was (generalised overlap, Li & Li 2019).
    effective_n : float
        Groins behind ``overlap``: the square of the sum of these weights by the sum of their squares.
    """

    years: float
    ages: tuple[float, float]
    by_repair: dict[str, float]
    by_repair_and_type: dict[str, dict[str, float]]
    compared: dict[str, float]
    all: dict[str, float]
    overlap: dict[str, float]
    effective_n: float


def outcomes_truth(rows: Rows, years: float = YEARS, ages: tuple[float, float] = AGES) -> OutcomesTruth:
    """Work out the true risks of the sound groins."""
    headline = rows["male"] & (rows["occurrence"] == "primary") & (rows["reason"] == "hernia")
    among = take(rows, headline & np.isin(rows["type"], INGUINAL))
    age = among["age_years"]
    compared = take(among, (among["type"] == "indirect") & (age >= ages[0]) & (age < ages[1]))
    chances = _chances(compared)
    # the product of the chances by the sum of products, up to a factor; nought where one repair was no option
    openness = 1 / (1 / np.maximum(chances, 1e-300)).sum(axis=0)
    done = {name: risk(compared | {"repair": np.full(openness.size, name)}, years) for name in REPAIRS}
    return OutcomesTruth(
        years=years,
        ages=ages,
        by_repair=_by_repair(among, years),
        by_repair_and_type={kind: _by_repair(take(among, among["type"] == kind), years) for kind in INGUINAL},
        compared=_by_repair(compared, years),
        all={name: _rounded(risks.mean()) for name, risks in done.items()},
        overlap={name: _rounded(np.average(risks, weights=openness)) for name, risks in done.items()},
        effective_n=round(float(openness.sum() ** 2 / (openness**2).sum()), 1),
    )


def risk(rows: Rows, years: float) -> Floats:
    """True risk of each groin that its hernia has recurred after so many years."""
    exposed = max(years - FIRST_DAYS / DAYS_PER_YEAR, 0.0)
    return np.asarray(-np.expm1(-exposed / years_to_recurrence(rows)), dtype=np.float64)


def _chances(rows: Rows) -> Floats:
    """Chance of each repair for an indirect hernia, shape (repairs, groins), in the order of `REPAIRS`."""
    ligated, mesh = repair_chances(rows, np.zeros(len(rows["side"]), dtype=np.bool_))
    mesh = np.where(rows["laparoscopic"], 1.0, mesh)
    chance = {"high_ligation": ligated, "tissue": (1 - ligated) * (1 - mesh), "mesh": (1 - ligated) * mesh}
    return np.array([chance[name] for name in REPAIRS])


def _by_repair(rows: Rows, years: float) -> dict[str, float]:
    risks = risk(rows, years)
    return {
        name: _rounded(risks[rows["repair"] == name].mean())
        for name in REPAIRS
        if (rows["repair"] == name).any()
    }


def _rounded(share: float) -> float:
    return round(float(share), 6)
