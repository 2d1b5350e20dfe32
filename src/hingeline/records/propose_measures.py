"""How well cells fit an age, a weight, a height, a ring or a length of gestation, and in which unit they are."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

import numpy as np

from .. import wording
from .header_words import senses
from .legend_model import UNITS
from .propose_columns import Column
from .propose_fit import NEVER, Fit, Seen


def fit_age(name: str, column: Column, seen: Seen, header: str) -> Fit:
    """How well cells fit an age, and in which unit."""
    if column.number_share < 0.75 or column.dates.share > 0.6:
        return Fit(NEVER)
    numbers = column.numbers[np.isfinite(column.numbers)]
    if (numbers < -1).mean() > 0.05 or numbers.max(initial=0) > 45_000 or column.distinct < 4:
        return Fit(NEVER)
    said = senses(header) & set(UNITS["age"])
    fits = [fit for fit in seen.together.ages if fit.age == column.position]
    top = float(np.percentile(numbers, 99)) if len(numbers) else 0.0
    if fits and fits[0].share > 0.75:
        best = max(fits, key=lambda fit: (fit.share, fit.unit in said))
        return Fit(1.2, (wording.look_age_of_dates(best.share, best.unit),), unit=best.unit)
    units = [unit for unit in said if unit != "days" or "day" in header.casefold() or top > 400]
    if len(units) == 1:
        fitting = _age_fits(top, units[0])
        return Fit(
            0.5 if fitting else -0.4, (wording.look_says_unit(units[0]),), unit=units[0], unit_sure=fitting
        )
    inside = _units_in_cells(column)
    if inside is not None:
        return Fit(0.5, (wording.look_units_in_cells(),), unit=inside)
    if top > 112:
        unit = "months" if top < 1_340 else "days"
        return Fit(0.3, (wording.look_beyond_years(top),), unit=unit, unit_sure=False)
    # ages of a children's hospital in years stay under 20; with higher ones months are unlikely
    return Fit(
        0.45,
        (wording.look_range(float(numbers.min()), float(numbers.max())),),
        unit="years",
        unit_sure=top > 20,
    )


def _age_fits(top: float, unit: str) -> bool:
    return top * UNITS["age"][unit] <= 113 * 365.25


def _units_in_cells(column: Column) -> str | None:
    """The commonest unit that cells of an age say themselves."""
    found: dict[str, int] = {}
    said = 0
    for cell in column.cells:
        word = re.fullmatch(r"[\d.,]+\s*([^\W\d_]+)\.?", cell) if cell else None
        if word is not None:
            said += 1
            for unit in senses(word.group(1)) & set(UNITS["age"]):
                found[unit] = found.get(unit, 0) + 1
    return max(found, key=lambda unit: found[unit]) if found and said > 0.5 * len(column.cells) else None


_BODIES: Final[Mapping[str, tuple[tuple[str, float, float], ...]]] = {
    "gestation_weeks": (("weeks", 21, 45), ("days", 147, 310)),
    "height_cm": (("cm", 28, 230), ("m", 0.28, 2.3)),
    "weight_kg": (("kg", 0.4, 220), ("g", 400, 120_000)),
    "ring_mm": (("mm", 1, 80), ("cm", 0.1, 8)),
}
"""Units of each number with what nearly all of its values lie between."""


def fit_number(name: str, column: Column, seen: Seen, header: str) -> Fit:
    """How well cells fit a measure of the body, and in which unit."""
    numbers = column.numbers
    if name == "gestation_weeks":
        weeks = [_weeks(cell) for cell in column.cells]
        numbers = np.array([np.nan if week is None else week for week in weeks]) if any(weeks) else numbers
    kept = numbers[np.isfinite(numbers)]
    filled = sum(cell is not None for cell in column.cells)
    if not filled or len(kept) < 0.7 * filled or column.dates.share > 0.6:
        return Fit(NEVER)
    for unit, low, high in _BODIES[name]:
        if ((kept >= low) & (kept <= high)).mean() > 0.9:
            if name == "ring_mm" and unit == "mm" and kept.max() <= 4.5 and (kept % 1 != 0).any():
                continue
            if name == "ring_mm" and kept.max() <= 4 and "diameter" not in senses(header):
                continue  # finger breadths
            if name == "weight_kg" and unit == "kg" and float(np.median(kept)) > 150:
                continue
            return Fit(0.5, (wording.look_range(float(kept.min()), float(kept.max())),), unit=unit)
    return Fit(-0.9)


def _weeks(cell: str | None) -> float | None:
    found = re.match(r"^(\d{2})(?:\s*[+/]\s*|\s+)([0-6])(?:\s*/\s*7)?$", cell) if cell else None
    if found:
        return int(found.group(1)) + int(found.group(2)) / 7
    plain = re.fullmatch(r"(\d{2})(?:[.,]\d+)?(?: ?[^\W\d_]+\.?)?", cell) if cell else None
    return float(plain.group(1)) if plain else None
