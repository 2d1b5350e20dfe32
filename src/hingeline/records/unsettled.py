"""What a hospital's operations leave open for a person to settle: codes that nobody knows, notes that say too little.

The view ``groin`` and the frames come in; a table in `QUESTION_SCHEMA` goes out, a row a distinct code or note, with
identifiers masked. A cell that could name somebody is named by a keyed fingerprint and by the row where it stands.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from typing import Any, Final

import pyarrow as pa

from .. import wording
from .codes import known_codes
from .decisions import Settled
from .frames import Frame
from .identifier_cells import MASK, masked
from .legend_model import ABSENT, Meaning, fold
from .questions import QUESTION_SCHEMA

_LONGEST: Final = 60
"""Characters from which a cell is a remark and no code."""

_MOST: Final = 1_000
"""Codes of one field that are asked about, the commonest first; a column with more is none of codes."""


def unsettled(
    database: Any,
    hospital: str,
    made: Sequence[Frame],
    settled: Settled,
    of_visits: Sequence[Frame] = (),
) -> pa.Table:
    """Questions on codes, of operations and of visits, and on notes; a code of both is asked about once."""
    codes = _codes(database, "groin", made, settled)
    asked = {(row["field"], fold(row["print"])) for row in codes}
    codes += [
        row
        for row in _codes(database, "visit", of_visits, settled)
        if (row["field"], fold(row["print"])) not in asked
    ]
    rows = [*codes, *_notes(database, made)]
    return pa.Table.from_pylist([{"hospital": hospital, **row} for row in rows], schema=QUESTION_SCHEMA)


def _codes(database: Any, view: str, made: Sequence[Frame], settled: Settled) -> list[dict[str, Any]]:
    coded = dict.fromkeys(name for frame in made for name in frame.lookups)
    told = []
    for name in coded:
        known: dict[str, Meaning] = {}
        for frame in made:
            if name in frame.lookups:
                known |= known_codes(name, frame.fields[name], settled)
        cells = database.execute(
            # By code and row first, which the database can do in pieces; a count of distinct rows it cannot.
            "SELECT min(cell), count(*), arg_min(file, place), arg_min(sheet, place), "
            "min(place) & ((1::BIGINT << 40) - 1) FROM ("
            f"SELECT lower({name}_text) AS code, min({name}_text) AS cell, min(source_file) AS file, "
            "min(sheet) AS sheet, (source_number::BIGINT << 40) + source_row AS place "
            f"FROM {view} WHERE {name}_bad GROUP BY code, source_number, source_row) "
            f"GROUP BY code ORDER BY 2 DESC, 1 LIMIT {_MOST}"
        ).fetchall()
        for cell, rows, file, sheet, row in cells:
            plain = masked(name, cell, rows) == cell
            if len(cell) <= _LONGEST:
                told.append(
                    {
                        "kind": "code",
                        "field": name,
                        "print": cell if plain else settled.name_of(name, cell),
                        "shown": cell if plain else MASK,
                        "rows": rows,
                        "suggests": _nearest(cell, known) if plain else "",
                        "why": wording.why_code(name),
                        "file": file,
                        "sheet": sheet,
                        "row": int(row),
                    }
                )
    return told


def _nearest(cell: str, known: Mapping[str, Meaning]) -> str:
    """Return what a code that is nearly this one means, as a person would answer; nothing when none is near."""
    near = difflib.get_close_matches(fold(cell), known, n=1, cutoff=0.8)
    meaning = known[near[0]] if near else ""
    if isinstance(meaning, bool):
        return "yes" if meaning else "no"
    return "" if meaning == ABSENT else str(meaning)


def _notes(database: Any, made: Sequence[Frame]) -> list[dict[str, Any]]:
    if not any("note" in frame.columns for frame in made):
        return []
    sides = "CASE WHEN note_side = 'both' THEN side || '.type' ELSE 'type' END"
    found = database.execute(
        "SELECT note_print, field, min(note_shown), count(DISTINCT (source_number, source_row)), min(why), "
        "arg_min({file: source_file, sheet: sheet, row: source_row}, (source_number, source_row)) FROM ("
        "SELECT note_print, note_shown, source_number, source_row, source_file, sheet, note_doubt AS why, "
        f"{sides} AS field FROM groin WHERE note_doubt IS NOT NULL AND type_typed IS NULL UNION ALL "
        "SELECT note_print, note_shown, source_number, source_row, source_file, sheet, '' AS why, 'side' AS field "
        "FROM groin WHERE note_print IS NOT NULL AND side IS NULL AND note_shown IS NOT NULL"
        ") GROUP BY note_print, field ORDER BY 4 DESC, note_print, field"
    ).fetchall()
    return [
        {
            "kind": "note",
            "field": field,
            "print": name,
            "shown": shown,
            "rows": rows,
            "suggests": "",
            "why": masked("note", why) if why else wording.why_no_side(),
            **place,
        }
        for name, field, shown, rows, why, place in found
    ]
