"""Questions: what the records leave open, as a list that a person can answer.

Intake's table of questions comes in; a CSV file goes out with an empty column ``answer``, and comes back as
decisions. The file lies with the list of what was set aside, in the private part of the study: a note's excerpt may
say more than a code does.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from .csv_files import read_rows, read_text, write_rows
from .decisions import Decision, allowed_words, check_field, check_line, meaning_of

_COLUMNS: Final[list[pa.Field[Any]]] = [
    pa.field("hospital", pa.string()),
    pa.field("kind", pa.string()),
    pa.field("field", pa.string()),
    pa.field("print", pa.string()),
    pa.field("shown", pa.string()),
    pa.field("rows", pa.int64()),
    pa.field("suggests", pa.string()),
    pa.field("why", pa.string()),
    pa.field("file", pa.string()),
    pa.field("sheet", pa.string()),
    pa.field("row", pa.int64()),
]
QUESTION_SCHEMA: Final = pa.schema(_COLUMNS)
"""A row a question: ``kind`` is code, note or pair; ``print`` what a decision calls it (the code itself, or a keyed
fingerprint); ``shown`` what a person sees, identifiers masked; ``rows`` how many rows wait for the answer; ``suggests``
an answer or nothing; ``file``, ``sheet`` and ``row`` where the first of these rows stands."""

FILE_COLUMNS: Final = (
    "hospital",
    "kind",
    "field",
    "what",
    "shown",
    "where",
    "rows",
    "suggests",
    "why",
    "words",
    "answer",
)
"""Of the list: ``where`` names the file, sheet and row at which the record is found, and how many more rows say it."""


def write_questions(tables: Sequence[pa.Table], path: Path) -> int:
    """Write all open questions, those on which most rows wait first; return how many.

    The file is replaced as a whole; answers in an earlier one that were not settled are lost with it.
    """
    whole = pa.concat_tables(tables) if tables else QUESTION_SCHEMA.empty_table()
    rows = sorted(whole.to_pylist(), key=lambda row: (-(row["rows"] or 0), row["hospital"], row["field"]))
    write_rows(path, FILE_COLUMNS, map(_line, rows), "questions")
    return len(rows)


def read_answers(path: Path | str, *, by: str, on: date, why: str = "") -> tuple[Decision, ...]:
    """Read an answered list of questions.

    Parameters
    ----------
    path : Path or str
    by : str
        Who answered.
    on : datetime.date
    why : str
        Kept with each decision.

    Returns
    -------
    tuple of Decision
        One for each row whose ``answer`` is not empty.

    Raises
    ------
    HingelineError
        When the file cannot be read or an answer is no word of the field: with its row; then nothing is settled.
    """
    path = Path(path)
    if not by.strip():
        raise HingelineError(
            "It is not told who answers", "--by", "Give a name or initials: 'hingeline settle --by AB'"
        )
    text = read_text(path, "answers", also="cp1252")
    told: list[Decision] = []
    wrong: list[HingelineError] = []
    for number, row in read_rows(text, str(path), ("hospital", "kind", "field", "what", "answer")):
        if not row["answer"].strip():
            continue
        try:
            told.append(_decision(row, f"{path}, row {number}", by.strip(), on, why))
        except HingelineError as error:
            wrong.append(error)
    if len(wrong) > 1:
        rows = wording.listed([error.where.rpartition(", ")[2] for error in wrong])
        raise HingelineError(
            f"{len(wrong)} answers cannot be; the first: {wrong[0].what}", f"{path}, {rows}", wrong[0].todo
        )
    if wrong:
        raise wrong[0]
    return tuple(told)


def _decision(row: Mapping[str, str], where: str, by: str, on: date, why: str) -> Decision:
    if row["kind"] not in ("code", "note", "pair"):
        raise HingelineError(f"{row['kind']!r} is no kind of question", where, "Leave the column as it was")
    check_field(row["kind"], row["field"], where)
    means = meaning_of(row["kind"], row["field"], row["answer"], where)
    line = Decision(row["hospital"], row["kind"], row["field"], row["what"], means, by, on, why)
    check_line(line, where)
    return line


def _line(row: Mapping[str, Any]) -> tuple[object, ...]:
    words = " | ".join(allowed_words(row["kind"], row["field"] or ""))
    where = wording.question_stands(row["file"], row["sheet"], row["row"], row["rows"])
    cells = {**row, "what": row["print"], "where": where, "words": words, "answer": ""}
    return tuple(cells[name] for name in FILE_COLUMNS)
