"""Whose visit it is: by the patient's key, or by date of birth, sex and date of operation where there is no key.

The tables ``visit`` and ``operated`` come in. A table ``whose`` goes out, one row a visit: ``patient`` where it is sure
or was settled by a person, else ``doubt``, a word for what speaks against it; and a table ``candidate`` of the
operations that it may belong to. Nothing doubtful is ever joined.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

import pyarrow as pa

from .decisions import NONE
from .phrases import PHRASES, quoted

DAYS_OFF: Final = 7
"""Days by which two dates of one operation may differ and still be a slip: a week (common practice, no source)."""

_ROW: Final = re.compile(r"^(?P<file>.+?)(?:[ ,]+(?P<side>left|right))?:(?P<row>\d+)$", re.IGNORECASE)

_EXACT: Final = "v.born_on = o.born_on AND v.sex = o.sex AND v.operated_on = o.operated_on"
_NEAR_BIRTH: Final = (
    "CASE WHEN month(v.born_on) = day(o.born_on) AND day(v.born_on) = month(o.born_on) "
    "AND year(v.born_on) = year(o.born_on) THEN 'birth turned' "
    "WHEN hamming(strftime(v.born_on, '%Y%m%d'), strftime(o.born_on, '%Y%m%d')) = 1 THEN 'birth digit' END"
)


_COLUMNS: Final[list[pa.Field[Any]]] = [
    pa.field("print", pa.string()),
    pa.field("none", pa.bool_()),
    pa.field("file", pa.string()),
    pa.field("row", pa.int64()),
    pa.field("side", pa.string()),
]
_SETTLED: Final = pa.schema(_COLUMNS)


def tell_whose(database: Any) -> None:
    """Make ``whose`` and ``candidate``.

    Notes
    -----
    ``whose`` has ``visit``, ``patient``, ``how``, ``differs`` and ``doubt``; ``candidate`` has ``visit`` and ``groin``.
    A key that an operation has tells the patient, unless sex and date of birth both speak against it; a key that none
    has is not overruled by the other three.
    """
    database.execute(
        "CREATE TEMP TABLE asker AS SELECT visit, CASE WHEN patient_text IS NOT NULL THEN patient END AS patient, "
        "patient_text IS NOT NULL AS keyed, sex, born_on, operated_on, "
        "born_on IS NOT NULL AND sex IS NOT NULL AND operated_on IS NOT NULL AS told FROM visit"
    )
    database.execute(
        "CREATE TEMP TABLE by_key AS SELECT visit, patient, "
        "coalesce(v.sex NOT IN (p.sex_1, p.sex_2), false) AS other_sex, "
        "coalesce(v.born_on NOT IN (p.born_1, p.born_2), false) AS other_birth FROM asker v JOIN "
        "(SELECT patient, min(sex) AS sex_1, max(sex) AS sex_2, min(born_on) AS born_1, max(born_on) AS born_2 "
        "FROM operated GROUP BY patient) p USING (patient)"
    )
    database.execute(
        f"CREATE TEMP TABLE by_three AS SELECT visit, o.groin, o.patient FROM asker v JOIN operated o ON {_EXACT} "
        "WHERE visit NOT IN (SELECT visit FROM by_key)"
    )
    near = "FROM asker v JOIN operated o ON v.sex = o.sex AND v.told AND NOT v.keyed AND"
    database.execute(
        "CREATE TEMP TABLE near AS SELECT * FROM ("
        f"SELECT visit, o.groin, {_NEAR_BIRTH} AS doubt {near} v.operated_on = o.operated_on UNION ALL "
        f"SELECT visit, o.groin, 'operation near' {near} v.born_on = o.born_on AND v.operated_on <> o.operated_on "
        f"AND abs(v.operated_on - o.operated_on) <= {DAYS_OFF}) "
        "WHERE doubt IS NOT NULL AND visit NOT IN (SELECT visit FROM by_three)"
    )
    database.execute(
        "CREATE TABLE whose AS WITH "
        "three AS (SELECT visit, count(DISTINCT patient) AS people, min(patient) AS of_three FROM by_three "
        "GROUP BY visit), "
        "close AS (SELECT visit, min(doubt) AS near FROM near GROUP BY visit), "
        "told AS (SELECT visit, k.patient AS of_key, people, of_three, other_sex, other_birth, "
        "CASE WHEN other_sex AND other_birth THEN 'person differs' WHEN keyed AND people > 0 THEN 'key differs' "
        "WHEN people > 1 THEN 'several' ELSE near END AS doubt "
        "FROM asker LEFT JOIN by_key k USING (visit) LEFT JOIN three USING (visit) LEFT JOIN close USING (visit)) "
        "SELECT visit, doubt, CASE WHEN doubt IS NULL THEN coalesce(of_key, of_three) END AS patient, "
        "CASE WHEN doubt IS NOT NULL THEN NULL WHEN of_key IS NOT NULL THEN 'key' "
        "WHEN people = 1 THEN 'three' END AS how, "
        "CASE WHEN other_sex THEN 'sex' WHEN other_birth THEN 'born_on' END AS differs FROM told"
    )
    database.execute(
        "CREATE TABLE candidate AS SELECT DISTINCT visit, groin FROM ("
        "SELECT visit, groin FROM near UNION ALL SELECT visit, groin FROM by_three UNION ALL "
        "SELECT visit, o.groin FROM by_key JOIN operated o USING (patient) WHERE other_sex AND other_birth) "
        "SEMI JOIN (SELECT visit FROM whose WHERE doubt IS NOT NULL) USING (visit)"
    )
    for name in ("asker", "by_key", "by_three", "near"):
        database.execute(f"DROP TABLE {name}")


def settle_whose(database: Any, hospital: str, pairs: Mapping[str, str], keys: tuple[bytes, bytes]) -> None:
    """Lay what a person settled over ``whose``; make ``settled`` (``visit``, ``none``, ``patient``, ``side``).

    Parameters
    ----------
    database : duckdb connection
    hospital : str
    pairs : mapping of str to str
        What was settled, by fingerprint: ``file:row`` of an operation, ``file left:row`` of one side of it, or none.
    keys : (bytes, bytes)
        Padded keys of the fingerprints (RFC 2104).
    """
    database.register("given", _settled(pairs))
    database.execute(
        "CREATE TABLE settled AS SELECT visit, any_value(g.none) AS none, any_value(o.patient) AS patient, "
        "coalesce(any_value(g.side), CASE WHEN count(DISTINCT o.side) = 1 THEN any_value(o.side) END) AS side "
        f"FROM {prints(hospital, 'visit' if pairs else '(FROM visit LIMIT 0)')} p JOIN given g USING (print) "
        "LEFT JOIN operated o ON o.source_file = g.file AND o.source_row = g.row GROUP BY visit",
        {"inner": keys[0], "outer": keys[1]},
    )
    database.unregister("given")
    database.execute(
        "UPDATE whose SET patient = s.patient, how = CASE WHEN s.none THEN 'none' ELSE 'decision' END, doubt = NULL "
        "FROM settled s WHERE s.visit = whose.visit AND doubt IS NOT NULL AND (s.none OR s.patient IS NOT NULL)"
    )


def prints(hospital: str, visits: str) -> str:
    """SQL of visits' fingerprints, for ``$inner`` and ``$outer``: of what a row says, so it outlives a new export."""
    text = f"concat_ws(chr(31), {quoted(hospital)}, 'visit', to_hex(meaning), side)"
    hashed = PHRASES["duckdb"].keyed_hash(text, "$inner", "$outer")
    return f"(SELECT visit, lower(lpad(to_hex({hashed}), 16, '0')) AS print FROM {visits})"


def _settled(pairs: Mapping[str, str]) -> pa.Table:
    rows: list[dict[str, object]] = []
    for fingerprint, means in pairs.items():
        found = _ROW.match(means)
        rows.append(
            {
                "print": fingerprint,
                "none": means == NONE,
                "file": found["file"] if found else None,
                "row": int(found["row"]) if found else None,
                "side": found["side"].lower() if found and found["side"] else None,
            }
        )
    return pa.Table.from_pylist(rows, schema=_SETTLED)
