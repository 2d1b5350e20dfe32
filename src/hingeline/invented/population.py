"""Person-years of the invented catchment: nothing comes in, a small file of denominators goes out.

Two regions with a pyramid like a northern country's; the hospitals do four fifths of their repairs.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np

YEARS: Final = (2005, 2023)
COVERAGE: Final = 0.8

REGIONS: Final = {"Northmere": 560_000, "Eastwold": 400_000}
"""Invented regions and their people: about 170 repairs per 100,000 a year (Burcharth 2013)."""

_AGES = (0, 20, 40, 55, 65, 75, 85, 95, 100)
_PYRAMID = (1.15, 1.2, 1.3, 1.35, 1.15, 0.85, 0.4, 0.06, 0.01)
"""People a year of age, on a scale of its own."""

BAND: Final = 5


def write_population(path: Path) -> None:
    """Write person-years by region, sex and five-year age band; ``age_to`` is the first age outside it."""
    starts = np.arange(0, 100, BAND)
    people = np.interp(starts + BAND / 2, _AGES, _PYRAMID)
    # Women outlive men: more of them from 70 on.
    men = np.interp(starts, (0, 50, 70, 95), (0.513, 0.505, 0.48, 0.27))
    lines = ["region,sex,age_from,age_to,person_years"]
    for region, inhabitants in REGIONS.items():
        years = inhabitants * (YEARS[1] - YEARS[0] + 1) * people / people.sum()
        for sex, share in (("male", men), ("female", 1 - men)):
            for start, count in zip(starts.tolist(), np.round(years * share).tolist(), strict=True):
                lines.append(f"{region},{sex},{start},{start + BAND},{int(count)}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
