"""Person-years of the invented catchment: nothing comes in, a small file of denominators goes out.

Two regions, by single years of age. The people are as many as make the rate of indirect repairs smooth over age, so
that the truth about rates is known: where the share turns, it is the direct hernias that bend.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hingeline.invented import patients

Floats = NDArray[np.float64]

YEARS: Final = (2005, 2023)
COVERAGE: Final = 0.8

REGIONS: Final = {"Northmere": 0.58, "Eastwold": 0.42}
"""Invented regions and their shares of the people."""

GROINS: Final = 25_000
"""Groins for which the people are many enough, whatever number is asked for: fewer groins are fewer repairs."""

OLDEST: Final = 95


def indirect_rate(age_years: Floats, male: bool) -> Floats:
    """Repairs of indirect hernias per person-year: a child's hump, a slow fall, a hump of the old; no bend."""
    child = 420 * np.exp(-age_years / 4) + 80 * np.exp(-((age_years / 22) ** 2))
    old = 110 * np.exp(-(((age_years - 72) / 14) ** 2))
    rate: Floats = (60 + child + old) / 100_000
    return rate if male else rate / 8


def person_years(male: bool) -> Floats:
    """Person-years of one sex by single year of age, all regions."""
    middles = np.arange(OLDEST, dtype=np.float64) + 0.5
    density = patients.operations_by_age(middles)
    groins = GROINS * density / density.sum()
    share = patients.share_male(middles)
    direct = patients.shape().share(middles)
    if not male:
        odds = patients.WOMENS_ODDS * direct / (1 - direct)
        share, direct = 1 - share, odds / (1 + odds)
    years: Floats = groins * share * (1 - direct) / indirect_rate(middles, male) / COVERAGE
    return years


def write_population(path: Path) -> None:
    """Write person-years by region, sex and single year of age; ``age_to`` is the first age outside the row."""
    lines = ["region,sex,age_from,age_to,person_years"]
    for region, part in REGIONS.items():
        for sex in ("male", "female"):
            for start, years in enumerate(np.round(part * person_years(sex == "male")).astype(int).tolist()):
                lines.append(f"{region},{sex},{start},{start + 1},{years}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
