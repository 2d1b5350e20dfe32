"""How well the cells of a column fit a field: −3 when they cannot be it, above 1 when they hardly can be another.

A field, a column and what the columns tell together come in; a number and the reasons for it go out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Final

import numpy as np

from .. import wording
from .header_words import parts, senses
from .propose_codes import codes_of, is_number, kind_of
from .propose_columns import Column
from .propose_fit import NEVER, Fit, Seen
from .propose_joint import DATED
from .propose_measures import fit_age, fit_number


def content(name: str, column: Column, seen: Seen, *, header: str, sided: bool = False) -> Fit:
    """How well a column's cells fit a field; `header` is its name without the side, `sided` whether it had one."""
    if not column.filled:
        return Fit(-0.45)
    kind = kind_of(name)
    if kind == "date":
        return _date(name, column, seen, sided)
    if kind == "code":
        return _code(name, column, seen, header, sided)
    return _KINDS[kind](name, column, seen, header)


def _date(name: str, column: Column, seen: Seen, sided: bool) -> Fit:
    share = column.dates.share
    at = column.position
    if share < 0.5:
        serial = _serial(column)
        return Fit(0.1 if serial else NEVER, (wording.look_holds_serials(),) if serial else ())
    score = 0.5 if share >= DATED else 0.1
    why = [wording.look_holds_dates(share)]
    together = seen.together
    earliest = together.earliest.get(at)
    span = _span(column, seen)
    if name == "born_on":
        if earliest is not None:
            first = (
                earliest >= 0.95
                and span > 2 * 365
                and _gap(column, seen) > 300
                and "operation" not in senses(column.header)
            )
            score += 0.7 if first else -1.2 if earliest < 0.8 else 0.0
            if first:
                why.append(wording.look_earliest())
        if any(fit.born == at and fit.share > 0.8 for fit in together.ages):
            score += 0.4
            why.append(wording.look_makes_age())
    else:
        births = [one for one, early in together.earliest.items() if early >= 0.95 and one != at]
        named = senses(column.header) & {"operation", "follow", "recurrent", "death", "other"}
        if earliest is not None and earliest >= 0.95 and not births and span > 12 * 365 and not named:
            score -= 0.9  # probably the date of birth
        if name == "operated_on":
            score += 0.2 if column.fill > 0.9 else -0.5 if column.fill < 0.5 and not sided else 0.0
            if any(fit.operated == at and fit.share > 0.8 for fit in together.ages):
                score += 0.3
                why.append(wording.look_makes_age())
        elif name in ("recurred_on", "died_on", "other_groin_on"):
            score += 0.25 if column.fill < 0.35 else -0.9 if column.fill > 0.85 and column.rows > 20 else 0.0
            if column.fill < 0.35:
                why.append(wording.look_seldom_filled(column.fill))
        elif name == "seen_on":
            score += 0.2 if column.fill > 0.8 else -0.2
    return Fit(score, tuple(why))


def _span(column: Column, seen: Seen) -> float:
    days = seen.together.dates.get(column.position)
    if days is None:
        return 0.0
    kept = days[np.isfinite(days)]
    return float(np.subtract(*np.percentile(kept, [95, 5]))) if len(kept) > 3 else 0.0


def _gap(column: Column, seen: Seen) -> float:
    """Days that lie between a column's date and the next of its row in the upper tenth of the rows."""
    own = seen.together.dates.get(column.position)
    others = [days for at, days in seen.together.dates.items() if at != column.position]
    if own is None or not others:
        return 0.0
    gaps = np.fmin.reduce(others) - own
    kept = gaps[np.isfinite(gaps)]
    return float(np.percentile(kept, 90)) if len(kept) else 0.0


def _serial(column: Column) -> bool:
    """Whether cells are day numbers of a spreadsheet: whole numbers of the years 1920 to 2040."""
    numbers = column.numbers[np.isfinite(column.numbers)]
    return (
        column.number_share > 0.95
        and len(numbers) > 0
        and bool(((numbers > 7_000) & (numbers < 52_000)).mean() > 0.95)
        and column.distinct > 3
        and "date" in senses(column.header)
    )


def _key(name: str, column: Column, seen: Seen, header: str) -> Fit:
    if column.dates.share > 0.8 and not column.number_share > 0.8:
        return Fit(NEVER)
    ratio = column.distinct / column.filled
    decimals = np.isfinite(column.numbers) & (column.numbers % 1 != 0)
    if name == "surgeon":
        if column.mean_length > 40 or decimals.mean() > 0.1:
            return Fit(NEVER)
        many = ratio > 0.6 and column.filled > 30
        score = -0.8 if many or _speaks(column) else 0.4
        return Fit(score, () if many else (wording.look_few_repeated(column.distinct),))
    if column.mean_length > 40 or decimals.mean() > 0.1 or column.distinct < min(4, column.rows):
        return Fit(NEVER)
    if _is_name(column, seen):
        return Fit(-1.6)
    score = 0.4 if column.fill > 0.9 else -0.6
    why = []
    least = 0.1 if seen.visits else 0.3
    if ratio > least:
        score += 0.3
        why.append(wording.look_mostly_different(column.distinct, column.filled))
    else:
        score -= 1.2
    if _counts_rows(column):
        score -= 0.3 if "patient" in senses(header) else 0.9
    elif ratio < 1 and column.rows > 20:
        score += 0.12
        why.append(wording.look_some_repeat())
    return Fit(score, tuple(why))


def _speaks(column: Column) -> bool:
    """Whether most cells hold known words, as codes of a finding or a repair do and those of people do not."""
    known = [
        cell for cell in column.counts if any(len(part.text) > 3 and part.senses for part in parts(cell))
    ]
    return sum(column.counts[cell] for cell in known) > 0.5 * column.filled


def _is_name(column: Column, seen: Seen) -> bool:
    return (
        "name" in seen.suspects.get(column.name, "")
        and column.number_share < 0.5
        and not any(any(map(str.isdigit, cell)) for cell in column.cells[:50] if cell)
    )


def _counts_rows(column: Column) -> bool:
    """Whether cells are 1, 2, 3, … down the file."""
    numbers = column.numbers[:200]
    return (
        len(numbers) > 3 and bool(np.isfinite(numbers).all()) and bool((np.diff(numbers) == 1).mean() > 0.98)
    )


def _flag(name: str, column: Column, seen: Seen, header: str) -> Fit:
    if column.dates.share > 0.5 or column.distinct > 12:
        return Fit(NEVER)
    codes = codes_of(name, column, seen.listed.get(column.name))
    if codes.share >= 0.9:
        return Fit(0.5, (wording.look_codes_read(codes.share),), codes)
    if column.distinct == 1:
        return Fit(0.1, (), codes)
    numbers = sum(is_number(cell) for cell in codes.unknown)
    if column.distinct <= 3 and numbers == len(codes.unknown):
        return Fit(0.1, (), codes)
    if column.distinct == 2 and column.mean_length <= 2:
        return Fit(0.0, (), codes)  # letters that a person must say: E and U for elective and urgent
    return Fit(0.2 if codes.share >= 0.6 else -1.0, (), codes)


def _grade(name: str, column: Column, seen: Seen, header: str) -> Fit:
    if column.dates.share > 0.5:
        return Fit(NEVER)
    codes = codes_of(name, column, seen.listed.get(column.name))
    if codes.share >= 0.85:
        return Fit(0.5, (wording.look_codes_read(codes.share),), codes)
    return Fit(-0.2 if codes.share >= 0.5 else -1.4, (), codes)


def _ehs(name: str, column: Column, seen: Seen, header: str) -> Fit:
    cells = [cell for cell in column.cells if cell is not None]
    hits = sum(is_ehs(cell) for cell in cells)
    share = hits / len(cells)
    if share > 0.7:
        return Fit(1.5, (wording.look_ehs(share),))
    return Fit(0.2 if share > 0.3 else NEVER)


@lru_cache(maxsize=20_000)
def is_ehs(cell: str) -> bool:
    """Whether a cell is a code such as PL2 (Miserez et al., Hernia 2007;11:113)."""
    plain = re.sub(r"[^A-Z0-9]", "", cell.upper())
    return (
        bool(re.fullmatch(r"[PR]?(?:[LMF][0-3X]){1,3}|[PR](?:[LMF][0-3X]?){1,3}", plain)) and len(plain) <= 9
    )


def _note(name: str, column: Column, seen: Seen, header: str) -> Fit:
    length = column.mean_length
    if length < 18:
        return Fit(NEVER)
    texts = [cell for cell in column.cells if cell][:60]
    told = sum(bool(senses(text[:400]) & _OF_NOTES) for text in texts) / len(texts)
    if told < 0.25:
        return Fit(-1.0)
    score = (
        (0.9 if length > 60 else 0.3)
        + (0.4 if told > 0.6 else 0.0)
        - (1.0 if column.distinct < 0.2 * column.filled else 0)
    )
    return Fit(score, (wording.look_long_texts(length),))


_OF_NOTES: Final = frozenset(
    {"hernia", "sac", "indirect", "direct", "mesh", "ligation", "ring", "tissue", "laparoscopic", "floor"}
)

_STRONG: Final[Mapping[str, float]] = {
    "sex": 1.35, "side": 1.4, "type": 1.4, "repair": 1.35, "approach": 1.35, "occurrence": 1.25, "known_by": 1.25,
    "specialty": 1.2, "reason": 1.2, "recurrence_known_by": 1.2, "chronic_pain": 0.6, "reoperation_type": 0.7,
}  # fmt: skip
"""What words of a field's own in the cells tell, where at least two different ones stand."""


def _code(name: str, column: Column, seen: Seen, header: str, sided: bool) -> Fit:
    if column.dates.share > 0.5:
        return Fit(NEVER)
    codes = codes_of(name, column, seen.listed.get(column.name), sided)
    if column.distinct > 120 or column.mean_length > 60:
        return Fit(-1.6)
    if codes.share >= 0.5 and codes.basis != "none":
        score = (_STRONG.get(name, 0.6) if codes.kinds >= 2 else 0.55) * min(1.0, codes.share / 0.85)
        flags = name == "occurrence" and _all_flags(column)
        if flags:
            score = 0.3
        if name == "sex" and codes.basis != "standard":
            men = codes.counts.get("male", 0)
            total = men + codes.counts.get("female", 0)
            score += 0.1 if total and men / total > 0.55 else -0.2
        return Fit(score, (wording.look_codes_read(codes.share),), codes)
    figures = sum(times for cell, times in column.counts.items() if is_number(cell)) / column.filled
    if column.distinct <= 15 and figures > 0.9:
        return Fit(
            0.12 if column.distinct >= 2 else -0.1, (wording.look_numbers_as_codes(column.distinct),), codes
        )
    if column.distinct <= 15 and column.mean_length <= 30:
        return Fit(0.0 if codes.share > 0.2 or column.mean_length <= 5 else -0.3, (), codes)
    return Fit(-0.7 if codes.share > 0.2 else -1.1, (), codes)


def _all_flags(column: Column) -> bool:
    codes = codes_of("infection", column)
    return codes.share > 0.9


_KINDS: Final[Mapping[str, Callable[[str, Column, Seen, str], Fit]]] = {
    "key": _key,
    "age": fit_age,
    "number": fit_number,
    "flag": _flag,
    "grade": _grade,
    "ehs": _ehs,
    "note": _note,
}
