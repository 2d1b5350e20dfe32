"""Operations of one patient ordered in time, groin by groin, over all files of the hospital.

The view ``groin`` comes in; a table ``operated`` (each groin whose patient, side and day can be trusted) and a table
``stay`` go out: one row an operation of a groin, with the earlier and the next hernia operation there and the first
later hernia of the other groin. Patient keys are the hospital's own, so that nothing is joined between hospitals.

A later operation is a recurrence of an earlier one when both were for a hernia. A processus closed in passing, a
hydrocele or an orchidopexy in a groin says nothing of a hernia's return, and a hernia after one of them is the first
in that groin. Two rows of one day are no earlier and later, and two within a week only when the file calls the later
one recurrent: the rest is a slip in a date as likely as an early failure, and is counted. What is planned in two
stages cannot be told from a later hernia of the other groin by dates.
"""

from __future__ import annotations

from typing import Any, Final

from .legend_model import ABSENT

WITHIN_DAYS: Final = 7
"""Days within which a second operation of a groin may be a slip in a date (common practice, no source)."""


def order_operations(database: Any) -> None:
    """Make ``operated`` and ``stay``.

    Notes
    -----
    ``stay`` has ``patient``, ``side``, ``operated_on`` (unique together), ``hernia`` (whether it was for one),
    ``recurrent`` (whether the file calls it so), ``has_recurred`` (whether its own columns tell a recurrence),
    ``earlier_on``, ``again_on``, ``again_type``, ``other_on``, and ``close`` (whether the next hernia operation there
    is so near that it was not taken for a recurrence).
    """
    database.execute(
        "CREATE TABLE operated AS SELECT groin, source_file, source_row, patient, sex, born_on, operated_on, side, "
        # What an unknown code says of the reason is not known, and no default may hide that.
        "recurred_on, CASE WHEN reason_told IS NULL THEN NOT reason_bad ELSE reason_told = 'hernia' END AS hernia, "
        "nullif(type_told, 'unknown') AS type, coalesce(occurrence_told = 'recurrent', false) AS recurrent, "
        # A day that cannot be is no day by which operations are ordered; the rules set the groin aside.
        "coalesce(side IN ('left', 'right') AND operated_on <= cutoff "
        "AND (born_on <= operated_on) IS NOT FALSE, false) AS dated "
        # A groin that a person settled as not operated takes no visit from the other.
        f"FROM groin WHERE patient IS NOT NULL AND note_type IS DISTINCT FROM '{ABSENT}'"
    )
    near = f"again_1 - operated_on <= {WITHIN_DAYS} AND NOT recurrent_1"
    database.execute(
        "CREATE TABLE stay AS WITH "
        "op AS (SELECT patient, side, operated_on, bool_or(hernia) AS hernia, bool_or(recurrent) AS recurrent, "
        "bool_or(recurred_on IS NOT NULL) AS has_recurred, "
        "arg_min(type, groin) FILTER (hernia AND type IS NOT NULL) AS type "
        "FROM operated WHERE dated GROUP BY patient, side, operated_on), "
        "neighbours AS (SELECT patient, side, operated_on, recurrent, "
        "lag(operated_on, 1) OVER w AS earlier_1, lag(operated_on, 2) OVER w AS earlier_2, "
        "lead(operated_on, 1) OVER w AS again_1, lead(operated_on, 2) OVER w AS again_2, "
        "lead(recurrent, 1) OVER w AS recurrent_1, lead(type, 1) OVER w AS type_1, lead(type, 2) OVER w AS type_2 "
        # A groin operated once has no neighbours, and most are.
        "FROM op JOIN (SELECT patient, side, count(*) AS times FROM op WHERE hernia GROUP BY patient, side) "
        "USING (patient, side) WHERE hernia AND times > 1 "
        "WINDOW w AS (PARTITION BY patient, side ORDER BY operated_on)), "
        f"hernias AS (SELECT patient, side, operated_on, recurrent, coalesce({near}, false) AS close, "
        f"CASE WHEN operated_on - earlier_1 <= {WITHIN_DAYS} AND NOT recurrent THEN earlier_2 ELSE earlier_1 END "
        f"AS earlier_on, CASE WHEN {near} THEN again_2 ELSE again_1 END AS again_on, "
        f"CASE WHEN {near} THEN type_2 ELSE type_1 END AS again_type FROM neighbours), "
        "firsts AS (SELECT patient, CASE side WHEN 'left' THEN 'right' ELSE 'left' END AS side, "
        "min(operated_on) AS other_on FROM op WHERE hernia GROUP BY op.patient, op.side "
        "HAVING NOT arg_min(recurrent, operated_on)) "
        "SELECT op.* EXCLUDE (type), earlier_on, again_on, again_type, coalesce(close, false) AS close, "
        "CASE WHEN other_on > op.operated_on THEN other_on END AS other_on "
        "FROM op LEFT JOIN (SELECT * EXCLUDE (recurrent) FROM hernias) USING (patient, side, operated_on) "
        "LEFT JOIN firsts USING (patient, side)"
    )
