"""Propose a legend from a hospital's files: paths come in, a `Proposal` goes out.

For each field of a case the column that was taken, why, how sure that is, and what a person must confirm. Names of
columns, what their cells hold and what the columns tell together are weighed jointly (`propose_assign`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .. import wording
from ..errors import HingelineError
from .identifier_cells import masked
from .legend_model import fold
from .propose_ask import asked_of
from .propose_assign import Assigned, assign, operation_fields, scores_of, share_columns, units_of
from .propose_columns import Column
from .propose_drafts import Draft, ask_order, drafts_of, missing, settle
from .propose_fit import Seen
from .propose_joint import together
from .propose_results import Form, Guess, Proposal, Question
from .propose_sides import lone_of, pairs_of
from .propose_tables import Table, codes_listed, tables_of
from .propose_visits import Visits, visits_of
from .propose_write import legend_text


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
    } | dict(table.keys)
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
    alone = {column.position for column in lone_of(columns, pairs)}
    units = units_of([column for column in columns if column.position not in alone], pairs)
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
    notes = [*_notes(table, visits, others), *_unused(table, drafts, drop)]
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
    questions = tuple(Question(one.key, one.text, one.values) for one in asked_of(drafts))
    return Proposal(hospital, found.form, text, guesses, questions, tuple(drop), tuple(notes))


def _unused(table: Table, drafts: Sequence[Draft], drop: Sequence[str]) -> list[str]:
    """Say which columns of the operations no field takes, so that nothing is passed over in silence."""
    taken = {draft.column for draft in drafts if draft.table != "follow_up"} | set(drop)
    # a file without names has its first patient where they should be
    left = [
        masked("", column.header, times=1_000)
        for column in table.columns
        if column.header and not {column.name, column.header} & taken
    ]
    return [wording.look_unused(left)] if left else []


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
