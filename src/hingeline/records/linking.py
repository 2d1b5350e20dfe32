"""Linking: a hospital's visits to its operations, and its operations to one another.

The view ``groin`` and the view ``visit`` come in. The view ``groin`` goes out with its follow-up filled, and a
`Linked` with what was set aside, counted and left open. A patient is told by key, else by date of birth, sex and date
of operation, exactly; the rest is asked. What the operation's own columns say stands where both speak.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

import pyarrow as pa

from .. import wording
from .decisions import Decisions
from .linking_findings import FILLED, find, place_visits
from .linking_order import order_operations
from .linking_people import prints, settle_whose, tell_whose
from .linking_rules import VISIT_RULES
from .listing import SET_ASIDE_SCHEMA, as_list, list_rows_without_groin
from .phrases import padded_keys, quoted
from .questions import QUESTION_SCHEMA
from .visits import Visits

_MANY: Final = 0.05
"""Share of visits set aside under one rule from which it is told (common practice, no source)."""

_LEAST: Final = 5


@dataclass(frozen=True)
class Linked:
    """What linking made of one hospital's visits and operations.

    Attributes
    ----------
    questions : pyarrow.Table
        In `QUESTION_SCHEMA`, kind "pair": doubtful visits, and findings that two groins could have.
    listed : pyarrow.Table
        In `SET_ASIDE_SCHEMA`: visits set aside, corrected or noted.
    lines : tuple of (str, str, int, int)
        Step, reason, rows and groins for the flow: visits read = joined + set aside.
    told : tuple of str
        Sentences on what was joined, and on what looks doubtful.
    """

    questions: pa.Table
    listed: pa.Table
    lines: tuple[tuple[str, str, int, int], ...]
    told: tuple[str, ...]

    def __str__(self) -> str:
        return " ".join(self.told)


def link(database: Any, hospital: str, visits: Visits, decisions: Decisions, key: bytes) -> Linked:
    """Order operations, join visits to them and fill the view ``groin``.

    Parameters
    ----------
    database : duckdb connection
        With the view ``groin`` (`hingeline.records.groins`) and the view ``visit`` (`hingeline.records.visits`).
    hospital : str
    visits : Visits
        What was read of them; ``Visits()`` when there are none.
    decisions : Decisions
        What a person has settled of doubtful visits.
    key : bytes
        Of the fingerprints by which doubtful visits are named.

    Returns
    -------
    Linked

    Notes
    -----
    ``groin`` gains ``earlier_on`` (the hernia operation before it in that groin) and, for each field that visits may
    fill, ``seen_<field>``: what they say.
    """
    order_operations(database)
    keys = padded_keys(key)
    tell_whose(database)
    settle_whose(database, hospital, decisions.pairs(hospital), keys)
    place_visits(database)
    find(database, visits.fields)
    told = _fill(database)
    if not visits.opened:
        return Linked(QUESTION_SCHEMA.empty_table(), SET_ASIDE_SCHEMA.empty_table(), (), told)
    _judge(database, visits.fields)
    lines = _lines(database, visits)
    return Linked(
        questions=_questions(database, hospital, decisions, keys),
        listed=pa.concat_tables(
            [list_rows_without_groin(hospital, visits.opened, []), _listed(database, hospital)]
        ),
        lines=lines,
        told=(*told, *_told(database, lines)),
    )


def _fill(database: Any) -> tuple[str, ...]:
    """Lay over the view ``groin`` what visits and later operations tell of it."""
    database.execute(
        "CREATE TABLE linked AS SELECT groin, earlier_on, again_on, again_type, other_on, v.* "
        "EXCLUDE (patient, side, operated_on) FROM operated o JOIN stay USING (patient, side, operated_on) "
        "LEFT JOIN visited v USING (patient, side, operated_on) "
        "WHERE dated AND (v.patient IS NOT NULL OR coalesce(earlier_on, again_on, other_on) IS NOT NULL)"
    )
    recurred = "coalesce(g.recurred_on, least(l.recurred_on, again_on))"
    filled = {name: f"coalesce(g.{name}, l.{name})" for name in FILLED} | {
        # Where a recurrence could not be applied, no later day may count as free of one.
        "followed_until": f"CASE WHEN since IS NULL OR {recurred} IS NOT NULL "
        "THEN greatest(g.followed_until, seen_until, again_on) "
        "ELSE greatest(CASE WHEN g.followed_until < since THEN g.followed_until END, seen_before) END",
        "recurred_on": recurred,
        "last_well_on": "coalesce(g.last_well_on, list_max(list_filter(l.well_on, lambda day: "
        f"day < {recurred})))",
        "recurrence_known_by": "coalesce(nullif(g.recurrence_known_by, 'unknown'), l.recurrence_known_by, "
        f"CASE WHEN again_on = {recurred} THEN 're-operation' END, g.recurrence_known_by)",
        "reoperation_type": "coalesce(nullif(g.reoperation_type, 'unknown'), again_type, l.reoperation_type, "
        "g.reoperation_type)",
        "other_groin_on": "coalesce(g.other_groin_on, least(l.other_groin_on, other_on))",
        "chronic_pain": "coalesce(nullif(g.chronic_pain, 'unknown'), l.chronic_pain, g.chronic_pain)",
        "occurrence_told": "CASE WHEN g.occurrence_told IS NULL AND earlier_on IS NOT NULL THEN 'recurrent' "
        "ELSE g.occurrence_told END",
    }
    replaced = ", ".join(f"{value} AS {name}" for name, value in filled.items())
    seen = ", ".join(f"l.{name} AS seen_{name}" for name in FILLED)
    database.execute("ALTER VIEW groin RENAME TO groin_read")
    database.execute(
        f"CREATE VIEW groin AS SELECT g.* REPLACE ({replaced}), earlier_on, {seen} "
        "FROM groin_read g LEFT JOIN linked l USING (groin)"
    )
    again, other, close = database.execute(
        "SELECT count(earlier_on), count(other_on), count(*) FILTER (close) FROM stay"
    ).fetchone()
    return (wording.ordered_operations(again, other, close),) if again or other or close else ()


def _judge(database: Any, fields: frozenset[str]) -> None:
    """Make ``visit_aside``, the rule by which a visit is set aside, and ``visit_broken``, every rule that is listed."""
    database.execute(
        "CREATE VIEW checked AS SELECT v.*, person, how, differs, doubt, dated, late, again, "
        "coalesce(v.seen_on > dead_on, false) AS after_death, "
        "(v.patient_text IS NOT NULL OR (v.born_on IS NOT NULL AND v.sex IS NOT NULL AND v.operated_on IS NOT NULL)) "
        "AS told_person, visit IN (SELECT visit FROM attached) AS attached, "
        "person IN (SELECT patient FROM stay) AS any_operation, "
        "coalesce(v.side, 'both') = 'both' OR (person, v.side) IN (SELECT (patient, side) FROM stay) AS any_of_side, "
        "visit IN (SELECT visit FROM unread) AS unread, unsided, early FROM visit v JOIN placed p USING (visit) "
        "LEFT JOIN (SELECT person, min(died_on) AS dead_on FROM placed GROUP BY person) USING (person) "
        "LEFT JOIN (SELECT visit, list(field) AS unsided FROM unsided GROUP BY visit) USING (visit) "
        "LEFT JOIN (SELECT visit, list(CASE kind WHEN 'recurrence' THEN 'recurred_on' WHEN 'death' THEN 'died_on' "
        "ELSE 'other_groin_on' END) AS early FROM early GROUP BY visit) USING (visit)"
    )
    aside = [(number, rule) for number, rule in enumerate(VISIT_RULES) if rule.severity == "set aside"]
    arms = " ".join(f"WHEN ({rule.broken}) THEN {number}" for number, rule in aside)
    database.execute(
        f"CREATE TABLE visit_aside AS SELECT visit, rule FROM (SELECT visit, CASE {arms} END AS rule FROM checked) "
        "WHERE rule IS NOT NULL"
    )
    database.execute("CREATE TABLE visit_broken (visit BIGINT, rule INTEGER, field VARCHAR, value VARCHAR)")
    for number, rule in aside:
        database.execute(
            f"INSERT INTO visit_broken SELECT visit, {number}, {quoted(rule.fields[0])}, {rule.fields[0]}_text "
            f"FROM visit_aside JOIN visit USING (visit) WHERE rule = {number}"
        )
    asked = [
        (number, name, condition, (rule.value or "{field}_text").replace("{field}", name))
        for number, rule in enumerate(VISIT_RULES)
        if rule.severity != "set aside"
        for name, condition in rule.asked(fields | {"seen_on", "recurred", "recurred_on", "other_groin_on"})
    ]
    each = ", ".join(
        f"CASE WHEN {condition} THEN {{rule: {number}, field: {quoted(name)}, value: {value}}} END"
        for number, name, condition, value in asked
    )
    either = " OR ".join(f"({condition})" for _, _, condition, _ in asked)
    database.execute(
        f"INSERT INTO visit_broken SELECT visit, found.rule, found.field, found.value FROM (SELECT visit, "
        f"unnest(list_filter([{each}], lambda one: one IS NOT NULL)) AS found "
        f"FROM checked ANTI JOIN visit_aside USING (visit) WHERE {either})"
    )


def _listed(database: Any, hospital: str) -> pa.Table:
    table: pa.Table = database.sql(
        "SELECT source_file, sheet, source_row, side, field, value, rule "
        "FROM visit_broken JOIN visit USING (visit) ORDER BY visit, rule, field"
    ).to_arrow_table()
    return as_list(table, hospital, VISIT_RULES)


def _lines(database: Any, visits: Visits) -> tuple[tuple[str, str, int, int], ...]:
    """Count the way of the visits; each count from where it arises, so that the balance is a check."""
    other: dict[str, int] = {}
    for source in visits.opened:
        for why in ("blank row",) * source.blank + tuple(broken.why for broken in source.broken):
            other[why] = other.get(why, 0) + 1
    read = sum(source.n_rows + source.blank + len(source.broken) for source in visits.opened)
    (joined,) = database.execute("SELECT count(DISTINCT visit) FROM attached").fetchone()
    aside = database.execute("SELECT rule, count(*) FROM visit_aside GROUP BY rule ORDER BY rule").fetchall()
    return (
        ("visits read", "", read, 0),
        ("visits joined", "", joined, 0),
        *(("visits set aside", why, rows, 0) for why, rows in other.items()),
        *(("visits set aside", VISIT_RULES[rule].name, rows, 0) for rule, rows in aside),
    )


def _told(database: Any, lines: tuple[tuple[str, str, int, int], ...]) -> tuple[str, ...]:
    ways = dict(
        database.execute(
            "SELECT how, count(*) FROM placed WHERE visit IN (SELECT visit FROM attached) GROUP BY how"
        ).fetchall()
    )
    read, joined = lines[0][2], lines[1][2]
    told = [
        wording.linked_visits(read, joined, ways.get("key", 0), ways.get("three", 0), ways.get("decision", 0))
    ]
    told += [
        wording.doubt_visits(rows, read, rule)
        for step, rule, rows, _ in lines
        if step == "visits set aside" and rows >= max(_LEAST, _MANY * read)
    ]
    alike = "regexp_replace(regexp_replace(lower(patient_text), '[^0-9\\p{L}]', '', 'g'), '^0+', '')"
    (otherwise,) = database.execute(
        f"SELECT count(*) FROM (SELECT {alike} AS alike FROM visit JOIN placed USING (visit) "
        "WHERE person IS NULL AND doubt IS NULL AND patient_text IS NOT NULL AND NOT again) "
        f"SEMI JOIN (SELECT DISTINCT {alike} AS alike FROM groin WHERE patient_text IS NOT NULL) USING (alike)"
    ).fetchone()
    return (*told, *((wording.doubt_keys_written_otherwise(otherwise),) if otherwise else ()))


def _questions(database: Any, hospital: str, decisions: Decisions, keys: tuple[bytes, bytes]) -> pa.Table:
    """One question a visit that nearly fits an operation, or whose finding two groins could have."""
    database.execute(
        "CREATE TEMP TABLE open_pair AS "
        "SELECT visit, doubt AS why, source_file AS file, source_row AS row, NULL::VARCHAR AS side, "
        "count(*) OVER (PARTITION BY visit) = 1 AS likely FROM (SELECT DISTINCT visit, doubt, source_file, source_row "
        "FROM whose JOIN candidate USING (visit) JOIN operated USING (groin) "
        "SEMI JOIN (SELECT visit FROM visit_aside) USING (visit) WHERE doubt IS NOT NULL) UNION ALL "
        "SELECT DISTINCT a.visit, 'two groins', o.source_file, o.source_row, o.side, "
        # Where one of the two was operated again, the recurrence was most likely its own.
        "again_on IS NOT NULL AND count(again_on) OVER (PARTITION BY a.visit) = 1 "
        "FROM attached a SEMI JOIN unsided USING (visit) JOIN stay s USING (patient, side, operated_on) "
        "JOIN operated o USING (patient, side, operated_on)"
    )
    asked = prints(hospital, "(FROM visit SEMI JOIN open_pair USING (visit))")
    rows = database.execute(
        "SELECT print, v.source_file, v.sheet, v.source_row, why, p.file, p.row, p.side, likely "
        f"FROM open_pair p JOIN visit v USING (visit) JOIN {asked} USING (visit) "
        "ORDER BY v.visit, why, p.file, p.row, p.side",
        {"inner": keys[0], "outer": keys[1]},
    ).fetchall()
    answered = decisions.pairs(hospital)
    made = []
    for (fingerprint, file, sheet, row, why), pairs in groupby(rows, key=lambda one: one[:5]):
        named = [(wording.operation_named(*one[5:8]), one[8]) for one in pairs]
        likely = [name for name, is_likely in named if is_likely]
        made.append(
            {
                "hospital": hospital,
                "kind": "pair",
                "field": "",
                "print": fingerprint,
                "shown": wording.pair_shown(file, row, [name for name, _ in named]),
                "rows": 1,
                "suggests": likely[0] if len(likely) == 1 else "",
                "why": wording.pair_why(why, answered.get(fingerprint)),
                "file": file,
                "sheet": sheet,
                "row": row,
            }
        )
    return pa.Table.from_pylist(made, schema=QUESTION_SCHEMA)
