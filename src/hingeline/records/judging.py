"""Rules asked of groins: the view ``groin`` in, a table ``broken`` and the table of cases out.

``broken`` has a row for each rule that a groin breaks: ``groin``, ``rule`` (its place in the registry),
``field``, ``value`` and, where a rule compares two, the groin ``beside`` it. A groin is set aside by the first rule
of that severity that it breaks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import pyarrow as pa

from .. import vocabulary
from .groins import TOLD
from .legend_model import KINDS
from .phrases import quoted
from .rule import Rule

_FULL_TERM_WEEKS = 40
_PRETERM_BEFORE_WEEKS = 37
_AT_ONCE = 100_000


def judge(database: Any, rules: Sequence[Rule], mapped: frozenset[str]) -> None:
    """Fill ``broken`` and make the view ``sound`` of the groins that are cases."""
    database.execute(
        "CREATE TABLE broken (groin BIGINT, rule INTEGER, field VARCHAR, value VARCHAR, beside BIGINT)"
    )
    aside = [(number, rule) for number, rule in enumerate(rules) if rule.severity == "set aside"]
    first = ", ".join(str(number) for number, _ in aside) or "NULL"
    database.execute(
        f"CREATE VIEW sound AS SELECT * FROM groin ANTI JOIN "
        f"(SELECT groin FROM broken WHERE rule IN ({first})) USING (groin)"
    )
    _ask(database, "groin", [(n, rule) for n, rule in aside if rule.among == "all"], mapped)
    for number, rule in aside:
        if rule.among == "sound":
            _ask(database, "sound", [(number, rule)], mapped)
    others = [(number, rule) for number, rule in enumerate(rules) if rule.severity != "set aside"]
    _ask(database, "sound", [one for one in others if not one[1].found], mapped)
    for number, rule in others:
        if rule.found:
            # Read to the end before anything is written: the view looks at the table that is filled.
            database.execute(f"CREATE TEMP TABLE asked AS {rule.found(mapped)}")
            database.execute(f"INSERT INTO broken SELECT groin, {number}, field, value, beside FROM asked")
            database.execute("DROP TABLE asked")


def _ask(database: Any, view: str, rules: Sequence[tuple[int, Rule]], mapped: frozenset[str]) -> None:
    """Ask rules of a view in one pass: only groins that break one are looked at again for which, and where."""
    asked = [
        (number, name, f"({condition})", rule.value or (f"{name}_text" if name in KINDS else "NULL"))
        for number, rule in rules
        for name, condition in rule.asked(mapped)
    ]
    if not asked:
        return
    conditions = ", ".join(f"{condition} AS c{place}" for place, (_, _, condition, _) in enumerate(asked))
    values = ", ".join(f"{value} AS v{place}" for place, (_, _, _, value) in enumerate(asked))
    either = " OR ".join(f"c{place}" for place in range(len(asked)))
    each = ", ".join(
        f"CASE WHEN c{place} THEN {{rule: {number}, field: {quoted(name)}, value: v{place}}} END"
        for place, (number, name, _, _) in enumerate(asked)
    )
    # Read to the end before anything is written: the view looks at the table that is filled.
    database.execute(
        f"CREATE TEMP TABLE asked AS SELECT groin, unnest([{each}]) AS found "
        f"FROM (SELECT groin, {conditions}, {values} FROM {view}) WHERE {either}"
    )
    database.execute(
        "INSERT INTO broken SELECT groin, found.rule, found.field, found.value, NULL FROM asked "
        "WHERE found IS NOT NULL"
    )
    database.execute("DROP TABLE asked")


def cases(
    database: Any, hospital: str, rules: Sequence[Rule], mapped: frozenset[str]
) -> Iterator[pa.RecordBatch]:
    """Cases of the sound groins, in the schema of the vocabulary and in the order of files, rows and sides."""
    corrections: dict[str, list[tuple[str, str]]] = {}
    for rule in rules:
        for target, condition, value in rule.corrections(mapped):
            corrections.setdefault(target, []).append((condition, value))
    columns = ", ".join(
        f"{_corrected(name, value, corrections.get(name, ()))} AS {name}"
        for name, value in _case_columns(hospital)
    )
    query = f"SELECT {columns} FROM sound ORDER BY groin"
    for batch in database.sql(query).to_arrow_reader(_AT_ONCE):
        yield batch.cast(vocabulary.CASE_SCHEMA)


def _corrected(name: str, value: str, corrections: Iterable[tuple[str, str]]) -> str:
    arms = " ".join(f"WHEN ({condition}) THEN {corrected}" for condition, corrected in corrections)
    return f"CASE {arms} ELSE {value} END" if arms else value


def _case_columns(hospital: str) -> Iterable[tuple[str, str]]:
    """SQL of each column of a case."""
    weeks_early = f"({_FULL_TERM_WEEKS} - gestation_weeks)"
    preterm = f"gestation_weeks < {_PRETERM_BEFORE_WEEKS}"
    made = {
        "hospital": quoted(hospital),
        "age_days": "round(age_days)::INTEGER",
        "age_precision": "age_precision",
        "corrected_age_days": f"CASE WHEN {preterm} THEN round(age_days - 7 * {weeks_early})::INTEGER END",
        "preterm": f"coalesce(preterm, {preterm})",
        "birth_month_odd": "month(born_on) % 2 = 1",
        "source_file": "source_file",
        "source_row": "source_row",
        "ehs_size": "coalesce(ehs_size, ehs_size_read)",
    }
    for column in vocabulary.FIELDS:
        if column.name in made:
            yield column.name, made[column.name]
            continue
        value = f"{column.name}_told" if f"{column.name}_told" in TOLD else column.name
        if column.values and column.default is not None:
            # An unknown code is not an empty cell: what it says is not known, and no default may hide that.
            unread = quoted(vocabulary.UNKNOWN) if vocabulary.UNKNOWN in column.values else "NULL"
            value = (
                f"CASE WHEN {value} IS NOT NULL THEN {value} "
                f"WHEN {column.name}_bad THEN {unread} ELSE {quoted(column.default)} END"
            )
        yield column.name, value
