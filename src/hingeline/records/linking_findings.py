"""What visits tell of groins: seen until when, recurrences, hernias of the other groin, death, pain, complications.

The tables ``visit``, ``whose`` and ``stay`` come in. A table ``visited`` goes out, one row an operation of a groin, and
with it ``attached`` (visit and operation), ``unsided`` (findings that two groins could have) and ``early`` (findings
dated before the operation). A visit belongs to the latest operation at or before it; a recurrence, to the latest
operation before it, so that one found on the day of re-operation is the earlier operation's.

No finding is guessed. A recurrence that cannot be given to a groin, or whose date cannot be read, is not applied;
since the groins would otherwise look free of one, they count as followed only up to the visit before.
"""

from __future__ import annotations

from typing import Any, Final

from .phrases import quoted

COMPLICATIONS: Final = ("testicular_atrophy", "ascending_testis", "vas_injury", "infection")

FINDINGS: Final = (*COMPLICATIONS, "chronic_pain")
"""What a visit may find in a groin besides a recurrence."""

PAIN_FROM_MONTHS: Final = 3
"""Pain is chronic from three months after the operation; International Association for the Study of Pain, 1986, and
HerniaSurge, 2018 (memory)."""

FILLED: Final = (
    "recurred_on",
    "recurrence_known_by",
    "reoperation_type",
    "other_groin_on",
    "died_on",
    *FINDINGS,
)
"""Fields of a case that visits may fill, besides how long it was followed."""

_SIDES: Final = "CASE WHEN side IN ('left', 'right') THEN [side] ELSE ['left', 'right'] END"


def place_visits(database: Any) -> None:
    """Make ``placed``, each visit with its patient and day, and ``attached``, each with its operations.

    Notes
    -----
    ``day`` is that of the visit, or the latest date that it tells, brought back to the cut-off; ``late`` says that it
    lay after it. A visit that tells no side was of the patient, so that it belongs to both groins.
    """
    database.execute(
        "CREATE TABLE placed AS SELECT v.visit, v.side, seen_on, recurred, recurred_bad, recurred_on, recurred_on_bad, "
        "recurrence_known_by, reoperation_type, other_groin, other_groin_on, died_on, chronic_pain, "
        f"{', '.join(COMPLICATIONS)}, v.cutoff, w.patient AS person, how, differs, doubt, "
        "s.none IS TRUE AS settled_none, s.side AS settled_side, "
        "coalesce(seen_on, greatest(recurred_on, other_groin_on, died_on)) AS dated, "
        "CASE WHEN dated > v.cutoff THEN v.cutoff ELSE dated END AS day, "
        "coalesce(seen_on > v.cutoff, false) AS late, "
        "visit NOT IN (SELECT min(visit) FROM visit GROUP BY meaning, side) AS again "
        "FROM visit v JOIN whose w USING (visit) LEFT JOIN settled s USING (visit)"
    )
    database.execute(
        "CREATE TABLE attached AS SELECT visit, v.patient, v.side, operated_on, has_recurred, recurrent, day FROM "
        f"(SELECT visit, person AS patient, unnest({_SIDES}) AS side, day FROM placed "
        "WHERE person IS NOT NULL AND day IS NOT NULL AND NOT again) v "
        "JOIN stay USING (patient, side) WHERE operated_on <= day AND (again_on IS NULL OR day < again_on)"
    )


def find(database: Any, fields: frozenset[str]) -> None:
    """Make ``visited``, ``unsided`` and ``early`` of the visits that are attached; `fields` are those that they map."""
    _events(database)
    _complications(database, fields)
    database.execute(
        "CREATE TABLE unsided AS "
        "SELECT visit, CASE kind WHEN 'recurrence' THEN 'recurred' ELSE 'other_groin' END AS field FROM event "
        "WHERE doubtful GROUP BY ALL UNION ALL SELECT visit, field FROM complication WHERE doubtful GROUP BY ALL"
    )
    _barriers(database)
    _visited(database)


def _events(database: Any) -> None:
    """Recurrences and hernias of the other groin, each with the operations after which it may be."""
    database.execute(
        "CREATE TEMP TABLE told AS SELECT visit, person AS patient, side, settled_side, settled_none, kind, "
        "unnest(" + _SIDES + ") AS of_side, happened_on, recurrence_known_by, reoperation_type FROM ("
        "SELECT *, 'recurrence' AS kind, coalesce(recurred_on, CASE WHEN recurred THEN seen_on END) AS happened_on "
        "FROM placed UNION ALL "
        "SELECT *, 'other groin', coalesce(other_groin_on, CASE WHEN other_groin THEN seen_on END) FROM placed) "
        "WHERE happened_on <= cutoff AND visit IN (SELECT visit FROM attached)"
    )
    database.execute(
        "CREATE TABLE event AS SELECT *, "
        "chosen IS NULL AND sides > 1 AND side IS NULL AS doubtful, "
        "(chosen IS NULL AND (sides = 1 OR side IS NOT NULL)) OR chosen = of_side AS applies FROM (SELECT *, "
        "CASE WHEN side IS NOT NULL THEN NULL WHEN settled_side IS NOT NULL THEN settled_side "
        "WHEN settled_none THEN 'none' "
        # A recurrence that is known already, on one side, is not told a second time of the other.
        "WHEN kind = 'recurrence' AND own = 1 AND sides > 1 THEN own_side END AS chosen FROM (SELECT *, "
        "count(DISTINCT of_side) OVER of_event AS sides, "
        "count(DISTINCT of_side) FILTER (known) OVER of_event AS own, "
        "min(of_side) FILTER (known) OVER of_event AS own_side FROM (SELECT t.*, s.operated_on, s.again_on, "
        "has_recurred OR coalesce(min(happened_on) FILTER (t.side IS NOT NULL AND kind = 'recurrence') "
        "OVER (PARTITION BY s.patient, s.side, s.operated_on) <= happened_on, false) AS known "
        "FROM told t JOIN stay s ON s.patient = t.patient AND s.side = t.of_side AND s.operated_on < happened_on "
        "AND (again_on IS NULL OR happened_on <= again_on)) WINDOW of_event AS (PARTITION BY visit, kind)))"
    )
    database.execute(
        "CREATE TABLE early AS SELECT DISTINCT visit, kind FROM told ANTI JOIN event USING (visit, kind) UNION ALL "
        "SELECT visit, 'death' FROM placed JOIN (SELECT patient AS person, max(operated_on) AS last_on FROM stay "
        "GROUP BY patient) USING (person) WHERE died_on < last_on AND visit IN (SELECT visit FROM attached)"
    )
    database.execute("DROP TABLE told")


def _complications(database: Any, fields: frozenset[str]) -> None:
    """Pain and complications at visits, one row a field and operation."""
    mapped = [name for name in FINDINGS if name in fields]
    any_found = " OR ".join(f"{name} IS NOT NULL" for name in mapped) or "false"
    database.execute(
        "CREATE TEMP TABLE looked AS SELECT a.visit, a.patient, a.side, a.operated_on, a.day, p.side AS told_side, "
        "settled_side, settled_none, open, "
        f"{', '.join(COMPLICATIONS)}, chronic_pain "
        "FROM attached a JOIN placed p USING (visit) "
        "JOIN (SELECT visit, CASE WHEN min(side) <> max(side) THEN 2 ELSE 1 END AS open FROM attached GROUP BY visit) "
        "USING (visit) "
        f"WHERE NOT late AND ({any_found})"
    )
    pain = f"day >= (operated_on + INTERVAL {PAIN_FROM_MONTHS} MONTH)::DATE AND chronic_pain <> 'unknown'"
    selects = [
        f"SELECT visit, patient, side, operated_on, day, told_side, settled_side, settled_none, open, "
        f"{quoted(name)} AS field, {name}::VARCHAR AS found FROM looked "
        f"WHERE {pain if name == 'chronic_pain' else f'{name} IS NOT NULL'}"
        for name in mapped
    ] or ["SELECT *, '' AS field, '' AS found FROM looked WHERE false"]
    database.execute(
        "CREATE TABLE complication AS SELECT visit, patient, side, operated_on, day, field, found, "
        "found NOT IN ('false', 'none') AND open > 1 AND told_side IS NULL AND settled_side IS NULL "
        "AND NOT settled_none AS doubtful, "
        "found IN ('false', 'none') OR told_side IS NOT NULL OR coalesce(settled_side = side, open = 1) AS applies "
        f"FROM ({' UNION ALL '.join(selects)})"
    )
    database.execute("DROP TABLE looked")


def _barriers(database: Any) -> None:
    """Day from which a groin's follow-up does not count: a recurrence that is told, and cannot be applied."""
    unread = (
        "coalesce(recurred_on_bad AND recurred IS NOT TRUE, false) OR "
        "coalesce(recurred AND coalesce(recurred_on, seen_on) IS NULL, false)"
    )
    database.execute(
        f"CREATE TABLE unread AS SELECT visit FROM placed WHERE ({unread}) AND visit IN (SELECT visit FROM attached)"
    )
    database.execute(
        "CREATE TEMP TABLE barrier AS SELECT patient, side, operated_on, min(since) AS since FROM ("
        "SELECT patient, of_side AS side, operated_on, happened_on AS since FROM event "
        "WHERE doubtful AND kind = 'recurrence' UNION ALL "
        "SELECT patient, side, operated_on, day FROM attached SEMI JOIN unread USING (visit) UNION ALL "
        # A recurrence before the operation may be what led to it, where the operation was for one.
        "SELECT a.patient, a.side, a.operated_on, a.day FROM attached a JOIN placed p USING (visit) "
        "SEMI JOIN (SELECT visit FROM early WHERE kind = 'recurrence') e USING (visit) "
        "WHERE NOT a.recurrent AND coalesce(p.recurred_on, p.seen_on) < a.operated_on) "
        "GROUP BY patient, side, operated_on"
    )


def _visited(database: Any) -> None:
    of_stay = "patient, side, operated_on"
    first = "FILTER (kind = 'recurrence')"
    flags = ", ".join(
        f"bool_or(found = 'true') FILTER (field = {quoted(name)}) AS {name}" for name in COMPLICATIONS
    )
    database.execute(
        "CREATE TABLE visited AS WITH "
        # A visit whose word on recurrence is no known code does not tell that there was none.
        "seen AS (SELECT a.patient, a.side, a.operated_on, max(a.day) AS seen_until, "
        "max(a.day) FILTER (since IS NULL OR a.day < since) AS seen_before, any_value(since) AS since, "
        # Days on which the groin was looked at and no recurrence was told of it.
        "list(a.day) FILTER (p.recurred IS NOT TRUE AND (since IS NULL OR a.day < since)) AS well_on "
        "FROM attached a JOIN placed p USING (visit) LEFT JOIN barrier b ON b.patient = a.patient AND b.side = a.side "
        "AND b.operated_on = a.operated_on WHERE p.recurred_bad IS NOT TRUE "
        "GROUP BY a.patient, a.side, a.operated_on), "
        f"events AS (SELECT patient, of_side AS side, operated_on, min(happened_on) {first} AS recurred_on, "
        f"arg_min(recurrence_known_by, happened_on) {first} AS recurrence_known_by, "
        f"arg_min(reoperation_type, happened_on) {first} AS reoperation_type, "
        "min(happened_on) FILTER (kind = 'other groin') AS other_groin_on "
        "FROM event WHERE applies GROUP BY ALL), "
        f"found AS (SELECT {of_stay}, "
        "arg_max(found, (day, CASE found WHEN 'severe' THEN 2 WHEN 'mild' THEN 1 ELSE 0 END)) "
        f"FILTER (field = 'chronic_pain') AS chronic_pain, {flags} FROM complication WHERE applies GROUP BY ALL), "
        "death AS (SELECT person AS patient, min(died_on) AS died_on FROM placed "
        "WHERE died_on <= cutoff AND visit IN (SELECT visit FROM attached) "
        "AND visit NOT IN (SELECT visit FROM early WHERE kind = 'death') GROUP BY person) "
        f"SELECT {of_stay}, seen_until, seen_before, since, well_on, recurred_on, recurrence_known_by, "
        f"reoperation_type, other_groin_on, died_on, chronic_pain, "
        f"{', '.join(COMPLICATIONS)} FROM stay LEFT JOIN seen USING ({of_stay}) LEFT JOIN events USING ({of_stay}) "
        f"LEFT JOIN found USING ({of_stay}) LEFT JOIN death USING (patient) "
        "WHERE coalesce(seen_until, since, recurred_on, other_groin_on, died_on) IS NOT NULL "
        "OR found.patient IS NOT NULL"
    )
