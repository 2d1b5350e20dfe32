"""Rows alike in all but one column, and recurrences whose groin was not operated before, in SQL.

The fields that a legend maps come in; queries of the view ``sound`` go out that give ``groin``, ``field``, ``value``
and the groin ``beside`` which it is to be looked at. Each row is hashed once with every column left out in turn, so
that the work grows with the rows and not with their pairs.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from .phrases import quoted

_NOT_A_SLIP: Final = ("patient", "side", "age", "born_on", "operated_on")
"""Columns that differ between two true operations of one patient, or that are no column of the operation."""

_ONE_PART: Final = (
    "((year(operated_on) = year(first_on))::INT + (month(operated_on) = month(first_on))::INT "
    "+ (day(operated_on) = day(first_on))::INT = 2 OR (year(operated_on) = year(first_on) "
    "AND day(operated_on) = month(first_on) AND month(operated_on) = day(first_on)))"
)
"""Two days that differ in the day, the month or the year alone, or by day and month exchanged: a slip of the pen."""

_NOTHING: Final = "SELECT NULL::BIGINT AS groin, '' AS field, '' AS value, NULL::BIGINT AS beside WHERE false"


def near_duplicates(mapped: frozenset[str]) -> str:
    """Rows alike in every mapped column but one.

    Rows of one patient and side are compared with each column left out, the day of operation only where the two days
    differ as a slip of the pen does. Rows under two keys are alike when all else is, both dates among it; without
    dates of birth and operation two patients may well agree in a few columns.
    """
    names = sorted(mapped - {"side"})
    hashed = {name: _hash(name) for name in names}
    if not hashed:
        return _NOTHING
    whole = _xor(hashed.values())
    queries = [_NOTHING]
    if {"patient", "born_on", "operated_on"} <= mapped:
        rest = _xor(value for name, value in hashed.items() if name != "patient")
        queries.append(
            _pairs(
                f"SELECT groin, 'patient' AS field, patient_text AS value, {rest} AS rest, side, operated_on "
                "FROM sound SEMI JOIN (SELECT born_on, operated_on, sex, side FROM sound WHERE born_on IS NOT NULL "
                "AND operated_on IS NOT NULL GROUP BY ALL HAVING count(*) > 1) USING (born_on, operated_on, sex, side)",
                "rest, side",
                "true",
            )
        )
    if "patient" in mapped:
        again = "SEMI JOIN (SELECT patient, side FROM sound GROUP BY ALL HAVING count(*) > 1) USING (patient, side)"
        if "operated_on" in mapped:
            # Two rows of one groin and day are no longer both sound, so that the days of two that are differ.
            rest = _xor(value for name, value in hashed.items() if name != "operated_on")
            queries.append(
                _pairs(
                    f"SELECT groin, 'operated_on' AS field, operated_on_text AS value, {rest} AS rest, patient, side, "
                    f"operated_on FROM sound {again} WHERE operated_on IS NOT NULL",
                    "patient, side, rest",
                    _ONE_PART,
                )
            )
        each = ", ".join(
            f"{{field: {quoted(name)}, value: {_shown(name)}, rest: xor({whole}, {hashed[name]})}}"
            for name in names
            if name not in _NOT_A_SLIP
        )
        if each:
            queries.append(
                _pairs(
                    "SELECT groin, one.field, one.value, one.rest, patient, side, operated_on FROM (SELECT groin, "
                    f"patient, side, operated_on, unnest([{each}]) AS one FROM sound {again} "
                    "WHERE operated_on IS NULL)",
                    "patient, side, field, rest",
                    "true",
                )
            )
    return " UNION ALL ".join(queries)


def recurrences_alone(mapped: frozenset[str]) -> str:
    """Recurrences of patients whom the file knows from before, though not in this groin."""
    if not mapped & {"occurrence", "ehs", "note"} or "operated_on" not in mapped:
        return _NOTHING
    dated = "FROM groin WHERE operated_on <= cutoff AND patient IS NOT NULL"
    return (
        "SELECT groin, 'occurrence' AS field, coalesce(occurrence_text, ehs_text) AS value, beside FROM sound "
        "JOIN (SELECT patient, min(operated_on) AS first_on, arg_min(groin, operated_on) AS beside "
        f"{dated} GROUP BY patient HAVING min(operated_on) < max(operated_on)) USING (patient) "
        f"JOIN (SELECT patient, side, min(operated_on) AS first_here {dated} GROUP BY patient, side) "
        "USING (patient, side) WHERE occurrence_told = 'recurrent' AND operated_on = first_here "
        "AND first_on < operated_on"
    )


def _pairs(query: str, alike_in: str, condition: str) -> str:
    """Each row of a group with another of it: the group's first, or for the first the second."""
    over = f"OVER (PARTITION BY {alike_in} ORDER BY groin"
    return (
        "SELECT groin, field, value, CASE WHEN groin = first_groin THEN next_groin ELSE first_groin END AS beside "
        f"FROM (SELECT groin, field, value, operated_on, first_value(groin) {over}) AS first_groin, "
        f"lead(groin) {over}) AS next_groin, CASE WHEN row_number() {over}) = 1 THEN lead(operated_on) {over}) "
        f"ELSE first_value(operated_on) {over}) END AS first_on FROM ({query})) "
        f"WHERE coalesce(next_groin, first_groin) <> groin AND {condition}"
    )


def _hash(name: str) -> str:
    if name == "note":
        return f"hash(note_text, {quoted(name)})"
    return f"hash({name}, CASE WHEN {name} IS NULL THEN {name}_text END, {quoted(name)})"


def _shown(name: str) -> str:
    return "NULL" if name == "note" else f"{name}_text"


def _xor(values: Iterable[str]) -> str:
    whole = ""
    for value in values:
        whole = f"xor({whole}, {value})" if whole else value
    return whole or "0::UBIGINT"
