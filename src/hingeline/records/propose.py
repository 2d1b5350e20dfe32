"""Propose a legend from a hospital's files: paths come in, a `Proposal` goes out.

For each field of a case the column that was taken, why, how sure that is, and what a person must confirm. Names of
columns, what their cells hold and what the columns tell together are weighed jointly (`propose_assign`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import pyarrow as pa

from .. import wording
from ..errors import HingelineError
from .legend_model import Meaning, fold
from .propose_assign import Assigned, assign, operation_fields, scores_of, share_columns, units_of
from .propose_columns import Column
from .propose_content import Seen
from .propose_drafts import Draft, Sure, ask_order, drafts_of, missing, settle
from .propose_joint import together
from .propose_sides import pairs_of
from .propose_tables import Table, codes_listed, tables_of
from .propose_visits import Visits, visits_of
from .propose_write import legend_text

Form = Literal["operations", "patients"]


@dataclass(frozen=True)
class Guess:
    """One field of the proposed legend.

    Attributes
    ----------
    field, table : str
        ``table`` is ``"fields"``, ``"left"``, ``"right"`` or ``"follow_up"``.
    column : str
    why : str
    sure : {"sure", "fairly sure", "a guess"}
    runner_up : str or None
    codes : dict
    unit : str or None
    """

    field: str
    table: str
    column: str
    why: str
    sure: Sure
    runner_up: str | None
    codes: Mapping[str, Meaning]
    unit: str | None = None


@dataclass(frozen=True)
class Question:
    """Something that a person must confirm.

    Attributes
    ----------
    key : str
        Key of an answer to it, for `propose`'s ``answers``: ``"type.codes"``, ``"side.column"``.
    text : str
    values : tuple of str
        Codes that have no meaning yet.
    """

    key: str
    text: str
    values: tuple[str, ...] = ()


@dataclass(frozen=True)
class Proposal:
    """A proposed legend.

    Attributes
    ----------
    hospital : str
    form : {"operations", "patients"}
    legend_text : str
    guesses : tuple of Guess
    questions : tuple of Question
    drop : tuple of str
        Columns that seem to identify people, which the legend drops.
    notes : tuple of str
        What a person should know beside.
    """

    hospital: str
    form: Form
    legend_text: str
    guesses: tuple[Guess, ...]
    questions: tuple[Question, ...]
    drop: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def to_confirm(self) -> tuple[str, ...]:
        """What a person must confirm, as sentences."""
        return tuple(f"{question.key}: {question.text}" for question in self.questions)

    def guess(self, name: str, table: str = "fields") -> Guess | None:
        """Return the guess for a field; None when there is none."""
        return next((one for one in self.guesses if one.field == name and one.table == table), None)

    def text(self) -> str:
        """Return the proposal as a person reads it in a terminal."""
        rows = [(_place(one), one.column, one.sure, one.why) for one in self.guesses]
        return wording.look_proposal(self.hospital, self.form, rows, self.to_confirm, self.drop, self.notes)

    def to_json(self) -> dict[str, Any]:
        """Return the proposal as plain values."""
        return {
            "form": self.form,
            "fields": [
                {
                    "table": one.table, "field": one.field, "column": one.column, "why": one.why, "sure": one.sure,
                    "runner_up": one.runner_up, "codes": dict(one.codes), "unit": one.unit,
                }
                for one in self.guesses
            ],
            "confirm": [{"key": one.key, "text": one.text, "values": list(one.values)} for one in self.questions],
            "drop": list(self.drop),
            "notes": list(self.notes),
        }  # fmt: skip

    def to_frame(self) -> pa.Table:
        """Return one row a field."""
        return pa.table(
            {
                "table": pa.array([one.table for one in self.guesses], pa.string()),
                "field": pa.array([one.field for one in self.guesses], pa.string()),
                "column": pa.array([one.column for one in self.guesses], pa.string()),
                "sure": pa.array([one.sure for one in self.guesses], pa.string()),
                "why": pa.array([one.why for one in self.guesses], pa.string()),
                "runner_up": pa.array([one.runner_up for one in self.guesses], pa.string()),
            }
        )

    def __str__(self) -> str:
        return wording.look_summary(self.hospital, len(self.guesses), len(self.questions))


def _place(guess: Guess) -> str:
    return guess.field if guess.table == "fields" else f"{guess.table}.{guess.field}"


def propose(
    paths: Path | str | Sequence[Path | str],
    *,
    hospital: str,
    sheet: str | None = None,
    answers: Mapping[str, Any] | None = None,
) -> Proposal:
    """Propose a legend for one hospital's files.

    Parameters
    ----------
    paths : path or sequence of paths
        Exports of one form; files of visits and lists of codes may stand among them.
    hospital : str
        Its name in the protocol.
    sheet : str, optional
        Sheet of the operations; found unless given.
    answers : mapping, optional
        What a person has settled, by the keys of `Proposal.questions`: ``{"type.codes": {"1": "indirect"}}``,
        ``{"patient.column": "Pat. no."}``, ``{"age.unit": "months"}``, ``{"side": True}`` (as proposed) or False
        (left out), and ``"dates.order"``, ``"form"``, ``"drop"`` (names of columns), ``"follow_up": False``.

    Raises
    ------
    HingelineError
        When no table can be read, or an answer names what is not there.
    """
    answers = dict(answers or {})
    files = [paths] if isinstance(paths, str | Path) else list(paths)
    if not files:
        raise HingelineError("No file is named", "propose", "Name at least one file")
    tables = [table for path in files for table in tables_of(path)]
    listed = codes_listed(tables)
    found = _operations(tables, files, sheet, listed, answers.get("form"))
    others = [table for table in tables if table is not found.table]
    visits = visits_of(others, found.table, found.assigned) if answers.get("follow_up") is not False else None
    return _proposal(hospital, found, visits, others, answers, sheet)


@dataclass(frozen=True)
class _Found:
    """A table of operations with its fields assigned."""

    table: Table
    form: Form
    seen: Seen
    assigned: dict[str, Assigned]
    weight: float


def _assigned(table: Table, listed: Mapping[str, Mapping[str, str]], form: str | None = None) -> _Found:
    by_name = {
        column.name: listed[fold(column.header)] for column in table.columns if fold(column.header) in listed
    }
    seen = Seen(together(table.columns), table.suspects, by_name)
    tall = _tried(table.columns, seen, wide=False)
    wide = _tried(table.columns, seen, wide=True) if form != "operations" else None
    if wide is not None and (form == "patients" or _is_wide(tall or {}, wide)):
        return _Found(table, "patients", seen, wide, _weight(wide))
    return _Found(table, "operations", seen, tall or {}, _weight(tall or {}))


_OF_A_GROIN = (
    "type",
    "ehs",
    "repair",
    "operated_on",
    "approach",
    "reason",
    "occurrence",
    "ehs_size",
    "note",
    "known_by",
)


def _tried(columns: Sequence[Column], seen: Seen, *, wide: bool) -> dict[str, Assigned] | None:
    pairs = pairs_of(columns) if wide else ()
    if wide and not pairs:
        return None
    units = units_of(columns, pairs)
    fields = tuple(name for name in operation_fields() if not (wide and name == "side"))
    return share_columns(assign(fields, units, scores_of(fields, units, seen)), seen, fields)


def _is_wide(tall: Mapping[str, Assigned], wide: Mapping[str, Assigned]) -> bool:
    """Whether a row is a patient: something that belongs to a groin stands once for each side."""
    paired = [name for name in _OF_A_GROIN if name in wide and wide[name].best.unit.paired]
    side = tall.get("side")
    if side is not None and side.best.fits[0].codes.kinds >= 2 and side.best.score > 2.0:
        return False
    return bool(set(paired) & {"type", "ehs", "repair", "operated_on", "note"}) or len(paired) >= 2


def _weight(assigned: Mapping[str, Assigned]) -> float:
    core = (
        "patient",
        "operated_on",
        "born_on",
        "age",
        "sex",
        "side",
        "type",
        "ehs",
        "repair",
        "approach",
        "note",
    )
    return sum(assigned[name].best.score for name in core if name in assigned)


def _operations(
    tables: Sequence[Table],
    files: Sequence[Path | str],
    sheet: str | None,
    listed: Mapping[str, Mapping[str, str]],
    form: str | None,
) -> _Found:
    if sheet is not None:
        named = [table for table in tables if fold(table.sheet) == fold(sheet)]
        if not named:
            raise HingelineError(
                f"There is no sheet {sheet!r}", str(files[0]),
                f"Name one of: {', '.join(table.sheet for table in tables if table.sheet)}",
            )  # fmt: skip
        tables = named
    return max((_assigned(table, listed, form) for table in tables), key=lambda found: found.weight)


def _proposal(
    hospital: str,
    found: _Found,
    visits: Visits | None,
    others: Sequence[Table],
    answers: Mapping[str, Any],
    sheet: str | None,
) -> Proposal:
    table, seen = found.table, found.seen
    order = answers.get("dates.order") or seen.together.order
    drafts = drafts_of(found.assigned, "fields", seen)
    drafts = missing(drafts, found.form == "patients")
    if "dates.order" not in answers:
        drafts = ask_order(drafts, seen, _example(found))
    if visits is not None:
        drafts = [*drafts, *drafts_of(visits.assigned, "follow_up", visits.seen)]
    names = {"fields": tuple(column.name for column in table.columns)}
    if visits is not None:
        names["follow_up"] = tuple(column.name for column in visits.table.columns)
    drafts = settle(drafts, answers, names)
    drop = _drop(table, drafts, "fields", answers.get("drop"))
    told = None
    if visits is not None:
        own = visits.seen.together.order
        told = {
            "files": (visits.table.name,) if visits.table.path != table.path else (),
            "sheet": visits.table.sheet
            if visits.table.path == table.path or len(visits.table.sheets) > 1
            else "",
            "order": own if own and own != order and visits.seen.together.settled else "",
            "drop": _drop(visits.table, drafts, "follow_up", None),
        }
    notes = _notes(table, visits, others)
    text = legend_text(
        drafts,
        hospital=hospital,
        form=found.form,
        sheet=table.sheet if len(table.sheets) > 1 or sheet else None,
        order=order,
        drop=drop,
        visits=told,
        detected=table.detected,
        notes=notes,
    )
    guesses = tuple(
        Guess(
            one.field,
            one.table,
            one.column,
            wording.look_why(one.why),
            one.sure,
            one.runner_up,
            one.codes,
            one.unit,
        )
        for one in drafts
        if one.column is not None and one.why
    )
    questions = tuple(
        Question(f"{one.key}.{part}", question, one.unknown if part == "codes" else ())
        for one in drafts
        for part, question in one.confirm
    )
    return Proposal(hospital, found.form, text, guesses, questions, tuple(drop), tuple(notes))


def _example(found: _Found) -> str:
    """Return a date that could be read in two orders."""
    for name in ("operated_on", "born_on", "followed_until"):
        if name in found.assigned:
            column = found.assigned[name].best.unit.columns[0]
            if name != "born_on":
                return next((cell for cell in column.cells if cell), "")
    return ""


def _drop(table: Table, drafts: Sequence[Draft], where: str, answer: object) -> list[str]:
    """Columns that identify people and are not mapped, or those that a person names."""
    own = (where,) if where == "follow_up" else ("fields", "left", "right")
    mapped = {draft.column for draft in drafts if draft.table in own}
    found = [
        column.name for column in table.columns if column.name in table.suspects and column.name not in mapped
    ]
    if isinstance(answer, list | tuple):
        found = [str(one) for one in answer if one not in mapped]
    return found


def _notes(table: Table, visits: Visits | None, others: Sequence[Table]) -> list[str]:
    notes = []
    for other in others:
        if visits is not None and other is visits.table:
            continue
        where = other.sheet or other.name
        if other.header == table.header:
            notes.append(wording.look_same_form(where, other.path == table.path))
        elif other.rows:
            notes.append(wording.look_left_aside(where))
    return notes


__all__ = ["Guess", "Proposal", "Question", "propose"]
