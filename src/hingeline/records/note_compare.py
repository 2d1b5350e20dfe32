"""Operation notes beside a typed column: the groins of one hospital come in, counts of types typed and read go out.

Where a hospital sends both, each groin has been typed twice by readers who know nothing of each other: the one who
filled in the column, and the note reader. What a person has settled about a note counts as read from it.
"""

from __future__ import annotations

from typing import Any, Final

from .. import vocabulary
from .legend_model import ABSENT

Compared = tuple[tuple[str, str, int], ...]
"""Type typed, type read, groins; in the order of `hingeline.vocabulary.TYPES`."""

_QUERY: Final = f"""
    SELECT type_typed, coalesce(note_type, '{vocabulary.UNKNOWN}') AS read, count(*) AS groins
    FROM groin
    WHERE type_typed IS NOT NULL AND note_text IS NOT NULL AND note_type IS DISTINCT FROM '{ABSENT}'
    GROUP BY ALL
"""


def compared(database: Any) -> Compared:
    """Count groins by the type that is typed and the type that the note reader found.

    Parameters
    ----------
    database : duckdb connection
        With the table ``groin`` of a legend that maps a note.
    """
    order = {name: place for place, name in enumerate(vocabulary.TYPES)}
    found = [(str(typed), str(read), int(n)) for typed, read, n in database.execute(_QUERY).fetchall()]
    return tuple(sorted(found, key=lambda one: (order[one[0]], order[one[1]])))
