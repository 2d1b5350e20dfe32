"""Doubts about a legend that the records themselves raise: a wrong date order, unit, century or set of codes.

The view ``groin``, the table ``broken`` and the flow come in; sentences go out that say what to look at. Nothing is
changed: one slip sets one groin aside, but a rule that sets many aside speaks of the legend. The shares from which a
doubt is told are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate
from typing import Any, Final

from .. import wording
from .flow import Flow
from .legend_model import Legend, fold
from .rule import Rule
from .rules import RULE

_MANY: Final = 0.05
"""Share of a hospital's groins set aside under one rule from which it is told."""

_MANY_UNREAD: Final = 0.2
"""Share of cells that were left empty as unreadable from which it is told."""

_LEAST: Final = 5
"""Groins below which no share is told: two slips among ten rows are slips."""

_ENOUGH: Final = 20
"""Groins from which the ages of a hospital are judged as a whole."""

_UNREAD: Final = ("unknown code", "unusable number", "unusable date left empty", "ambiguous date left empty")
"""Rules that leave a cell empty and cost no case."""

_ALL_YOUNGER_YEARS: Final = 10
_MEDIAN_OLDER_YEARS: Final = 75


def doubts(
    database: Any, legend: Legend, rules: Sequence[Rule], flow: Flow, orders: dict[str, str]
) -> tuple[str, ...]:
    """Sentences on what the legend may have wrong; empty when nothing stands out."""
    lines = flow.table.to_pylist()
    read = sum(line["groins"] for line in lines if line["step"] == "groins read")
    broken = database.execute("SELECT rule, field, count(*) FROM broken GROUP BY rule, field").fetchall()
    listings = {(rules[rule].name, name): times for rule, name, times in broken}
    told = []
    for line in lines:
        if line["step"] == "set aside" and line["groins"] >= max(_LEAST, _MANY * read):
            rule = line["reason"]
            name = max((one for one in listings if one[0] == rule), key=lambda one: listings[one])[1]
            hint = _hint(rule, name, line["groins"] / read, legend, orders)
            told.append(wording.doubt_set_aside(line["groins"], read, rule, hint))
    for (rule, name), times in sorted(listings.items()):
        if rule in _UNREAD and times >= max(_LEAST, _MANY_UNREAD * read):
            told.append(
                wording.doubt_unread(times, read, name, _hint(rule, name, times / read, legend, orders))
            )
    return (*told, *_on_ages(database, legend))


def _hint(rule: str, name: str, share: float, legend: Legend, orders: dict[str, str]) -> str:
    """What to look at in the legend when a rule is broken often."""
    if rule in ("unusable date", "unusable date left empty"):
        return wording.hint_date_order(name, share, _order(name, legend, orders))
    if rule in ("operation before birth", "operation in the future"):
        return wording.hint_dates(_order("operated_on", legend, orders))
    if rule.startswith("age outside"):
        return wording.hint_age_unit() if _has_age(legend) else wording.hint_birth_and_operation()
    if rule in ("unusable side", "unusable sex", "unknown code"):
        return wording.hint_codes(name)
    if rule == "unusable number":
        return wording.hint_number(name)
    if rule == "exact duplicate":
        return wording.hint_duplicates()
    return wording.hint_rule(RULE[rule].todo) if rule in RULE else ""


def _order(name: str, legend: Legend, orders: dict[str, str]) -> str:
    columns = [how.column for _, one, how in legend.mapped() if one == name and how.column is not None]
    return next((orders[fold(column)] for column in columns if fold(column) in orders), "")


def _has_age(legend: Legend) -> bool:
    return any(name == "age" and how.column is not None for _, name, how in legend.mapped())


def _on_ages(database: Any, legend: Legend) -> tuple[str, ...]:
    """Judge the ages as a whole, before anything is set aside; a few slips among them do not hide the rest."""
    # Counted by day, since a quantile in the database holds every age at once.
    days = database.execute(
        "SELECT round(age_days), count(*) FROM groin WHERE age_days IS NOT NULL GROUP BY 1 ORDER BY 1"
    ).fetchall()
    groins = sum(number for _, number in days)
    if groins < _ENOUGH:
        return ()
    highest, median = (_reached(days, share * groins) for share in (0.98, 0.5))
    units = {how.unit for _, name, how in legend.mapped() if name == "age"} - {None, "years"}
    told = []
    if units and highest < _ALL_YOUNGER_YEARS * 365.25:
        unit = sorted(str(one) for one in units)[0]
        told.append(wording.doubt_all_young(max(1, math.ceil(highest / 365.25)), unit))
    if median > _MEDIAN_OLDER_YEARS * 365.25:
        told.append(wording.doubt_median(median / 365.25, _has_age(legend)))
    return tuple(told)


def _reached(days: Sequence[tuple[float, int]], number: float) -> float:
    """Age in days up to which so many groins are counted."""
    counted = accumulate(times for _, times in days)
    return next(day for (day, _), so_far in zip(days, counted, strict=True) if so_far >= number)
