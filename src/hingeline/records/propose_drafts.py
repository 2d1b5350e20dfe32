"""Drafts of a legend's entries: what was assigned comes in, entries with reason, sureness and what to confirm go out.

Whatever a person must look at is a `Draft.confirm`; an answer to it settles the entry.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from .. import wording
from ..errors import HingelineError
from .identifier_cells import MASK, masked, says_more
from .legend_model import KINDS, UNITS, VISIT_KINDS, Meaning, fold
from .propose_assign import Assigned, Scored
from .propose_codes import Codes, codes_in_name, kind_of
from .propose_columns import Column
from .propose_fit import Seen
from .propose_poles import flags_of

Sure = Literal["sure", "fairly sure", "a guess"]

WHICH: Final = "(which column?)"
"""Stands for a column that a field must have and none was found for."""

_REQUIRED: Final = ("patient", "operated_on", "born_on", "age", "sex", "side", "type", "ehs", "note")
_MANY_UNKNOWN: Final = 0.015
"""Share of cells without a meaning from which a person is asked about them."""


@dataclass(frozen=True)
class Draft:
    """One entry of the proposed legend.

    Attributes
    ----------
    table, field : str
        ``"fields"``, ``"left"``, ``"right"`` or ``"follow_up"``; the field.
    column : str or None
        Name in the table; None for a constant.
    shown : str
        The column's name as it stands.
    value : str or None
        A constant in place of a column.
    codes : dict
    unknown : tuple of str
        Codes that are not understood, masked where they could name somebody.
    unit, order : str or None
    why : tuple of str
    sure : {"sure", "fairly sure", "a guess"}
    runner_up : str or None
    confirm : tuple of (str, str)
        What to confirm: which part (``"column"``, ``"codes"``, ``"unit"``, ``"order"``) and the question.
    """

    table: str
    field: str
    column: str | None
    shown: str
    value: str | None = None
    codes: Mapping[str, Meaning] = dataclasses.field(default_factory=dict)
    unknown: tuple[str, ...] = ()
    unit: str | None = None
    order: str | None = None
    why: tuple[str, ...] = ()
    sure: Sure = "sure"
    runner_up: str | None = None
    confirm: tuple[tuple[str, str], ...] = ()

    @property
    def key(self) -> str:
        """Name of the entry in an answer: ``type``, ``left.type`` or ``follow_up.patient``."""
        return self.field if self.table == "fields" else f"{self.table}.{self.field}"


def drafts_of(assigned: Mapping[str, Assigned], table: str, seen: Seen) -> list[Draft]:
    """Entries of what was assigned, in the order of the legend."""
    kinds = VISIT_KINDS if table == "follow_up" else KINDS
    found: list[Draft] = []
    for name in kinds:
        if name not in assigned:
            continue
        one = assigned[name]
        if one.best.unit.paired:
            found += [_draft(name, one, side, at, seen) for at, side in enumerate(("left", "right"))]
        else:
            found.append(_draft(name, one, table, 0, seen))
    return found


def _draft(name: str, assigned: Assigned, table: str, at: int, seen: Seen) -> Draft:
    best = assigned.best
    column, fit = best.unit.columns[at], best.fits[at]
    sure = _sure(assigned)
    why = ((wording.look_named(best.words),) if best.words else ()) + fit.why
    if fit.codes.basis == "list":
        why = (*why, wording.look_by_key())
    if assigned.shared:
        why = (wording.look_shared(), *why)
    runner_up = (
        assigned.runner_up.unit.columns[min(at, len(assigned.runner_up.unit.columns) - 1)].header
        if assigned.runner_up
        else None
    )
    confirm: list[tuple[str, str]] = []
    if sure == "a guess" and (column.filled or best.named < 0.5):
        confirm.append(("column", wording.look_ask_column(name, column.header, runner_up)))
    codes, unknown = _codes(name, fit.codes, column.counts)
    if assigned.shared:
        # what such a code says of the other field says nothing of this one
        codes, unknown = codes | dict.fromkeys(fit.codes.unknown, ""), ()
    kind = kind_of(name)
    if kind in ("code", "flag", "grade"):
        total = max(1, sum(column.counts.values()))
        rest = sum(column.counts.get(cell, 0) for cell in fit.codes.unknown) / total
        if rest > _MANY_UNKNOWN and unknown:
            confirm.append(("codes", wording.look_ask_codes(name, unknown)))
        elif fit.codes.basis == "standard":
            confirm.append(("codes", wording.look_ask_standard()))
        elif name == "occurrence" and best.named < 0.9 and _flags(fit.codes, column, seen):
            confirm.append(("codes", wording.look_ask_occurrence(column.header)))
    unit = None
    if kind in ("age", "number"):
        unit = fit.unit if kind == "age" or fit.unit != next(iter(UNITS[name])) else None
        if kind == "age" and unit is None:
            unit = "years"
        if kind == "age" and not fit.unit_sure:
            confirm.append(("unit", wording.look_ask_unit(str(unit))))
    order = None
    if kind == "date":
        own, settled = column.dates.best()
        if own and settled and seen.together.order and own != seen.together.order:
            order = own
    return Draft(
        table=table,
        field=name,
        column=column.name,
        shown=column.header or column.name,
        codes=codes,
        unknown=unknown,
        unit=unit,
        order=order,
        why=why,
        sure=sure,
        runner_up=runner_up,
        confirm=tuple(confirm),
    )


def _flags(codes: Codes, column: Column, seen: Seen) -> bool:
    """Whether the codes say yes and no, by themselves or by the file's key, and not primary and recurrent."""
    key = codes_in_name(column.header) | dict(seen.listed.get(column.name, {}))
    told = [key.get(fold(cell), cell) for cell in codes.meanings]
    return bool(told) and set(flags_of("occurrence", "", told)) >= set(told)


def _codes(name: str, codes: Codes, counts: Mapping[str, int]) -> tuple[dict[str, Meaning], tuple[str, ...]]:
    shown = [masked(name, cell, counts.get(cell, 0)) for cell in codes.unknown[:40]]
    meanings = {cell: meaning for cell, meaning in codes.meanings.items() if not says_more(cell)}
    shown += [MASK] * (len(meanings) < len(codes.meanings))
    return meanings, tuple(dict.fromkeys(shown))


def _sure(assigned: Assigned) -> Sure:
    best = assigned.best
    cells = min(fit.score for fit in best.fits)
    if assigned.shared:
        return "fairly sure"
    lead = _lead(best, assigned.runner_up)
    if kind_of(best.field) == "date" and best.named >= 0.8 and cells >= 0.1:
        others = assigned.runner_up.named if assigned.runner_up else 0.0
        if others <= 0.3:
            return "sure"  # the other dates say that they are something else
    if best.named >= 0.8 and cells >= 0.3 and lead >= 0.3:
        return "sure"
    if (best.named >= 0.6 and cells >= 1.0 and lead >= 0.3) or (
        best.named >= 0.8 and cells >= 0.1 and lead >= 0.6
    ):
        return "sure"
    if (best.named >= 0.5 and cells >= 0.05) or (best.named < 0.5 and cells >= 1.1 and lead >= 0.2):
        return "fairly sure"
    return "a guess"


def _lead(best: Scored, runner_up: Scored | None) -> float:
    return best.score - (runner_up.score if runner_up is not None else 0.0)


def ask_order(drafts: list[Draft], seen: Seen, example: str) -> list[Draft]:
    """Have the order of dates confirmed where nothing settles it, at the first date of the legend."""
    if seen.together.settled or seen.together.order is None:
        return drafts
    out, asked = [], False
    for draft in drafts:
        if not asked and kind_of(draft.field) == "date":
            asked = True
            draft = replace(draft, confirm=(*draft.confirm, ("order", wording.look_ask_order(example))))
        out.append(draft)
    return out


def missing(drafts: list[Draft], wide: bool) -> list[Draft]:
    """Entries that a legend must have and no column was found for, each to be confirmed."""
    here = {(draft.table, draft.field) for draft in drafts}
    names = {draft.field for draft in drafts}
    added: list[Draft] = []

    def ask(name: str, table: str = "fields", **options: Any) -> None:
        column = None if "value" in options else WHICH
        added.append(
            Draft(
                table,
                name,
                column,
                WHICH,
                sure="a guess",
                confirm=(("column", wording.look_ask_missing(name)),),
                **options,
            )
        )

    if "patient" not in names and not {"born_on", "operated_on", "sex"} <= names:
        ask("patient")
    if "sex" not in names:
        ask("sex")
    if not wide and not names & {"side", "note"}:
        ask("side")
    if "age" not in names and not {"born_on", "operated_on"} <= names:
        ask("age", unit="years")
    for table in ("left", "right") if wide else ("fields",):
        if not any((where, name) in here for where in (table, "fields") for name in ("type", "ehs", "note")):
            ask("type", table)
    return [*drafts, *added]


def settle(
    drafts: list[Draft], answers: Mapping[str, Any], names: Mapping[str, tuple[str, ...]]
) -> list[Draft]:
    """Apply a person's answers: what they settle needs no confirmation any more.

    Parameters
    ----------
    drafts : list of Draft
    answers : mapping
        ``"type"``: True keeps the entry as proposed, False leaves it out; ``"type.column"``, ``"type.codes"``,
        ``"type.unit"``, ``"type.order"``, ``"type.value"`` settle a part.
    names : mapping of str to tuple of str
        Columns by table of the legend.
    """
    settled = {draft.key: draft for draft in drafts}
    for key, answer in answers.items():
        if key in ("dates.order", "drop", "form", "follow_up"):
            continue
        entry, _, part = key.rpartition(".")
        if part not in ("column", "codes", "unit", "order", "value"):
            entry, part = key, ""
        for name in _meant(entry, settled):
            if part == "" and answer is False:
                del settled[name]
            else:
                settled[name] = _settled(_entry(settled, name, part, answer), part, answer, names)
    return list(settled.values())


def _meant(entry: str, settled: Mapping[str, Draft]) -> list[str]:
    entry = entry.removeprefix("fields.")
    if entry in settled:
        return [entry]
    sides = [f"{side}.{entry}" for side in ("left", "right") if f"{side}.{entry}" in settled]
    return sides or [entry]


def _entry(settled: Mapping[str, Draft], key: str, part: str, answer: object) -> Draft:
    if key in settled:
        return settled[key]
    table, _, name = key.rpartition(".")
    kinds = VISIT_KINDS if table == "follow_up" else KINDS
    if (
        name not in kinds
        or part not in ("column", "value")
        or table not in ("", "left", "right", "follow_up")
    ):
        raise HingelineError(
            f"There is no proposed entry {key!r}",
            f"answers[{key!r}]",
            f"Answer one of: {', '.join(settled)}; or give {key}.column",
        )
    return Draft(table or "fields", name, None, "", unit="years" if name == "age" else None)


def _settled(draft: Draft, part: str, answer: Any, names: Mapping[str, tuple[str, ...]]) -> Draft:
    if part == "":
        return replace(draft, confirm=())
    confirm = tuple(one for one in draft.confirm if one[0] != part)
    if part == "column":
        known = names.get("follow_up" if draft.table == "follow_up" else "fields", ())
        found = next((name for name in known if fold(name) == fold(str(answer))), None)
        if found is None:
            raise HingelineError(
                f"There is no column {str(answer)!r}",
                f"answers[{draft.key + '.column'!r}]",
                f"Give one of: {', '.join(known[:40])}",
            )
        return replace(
            draft,
            column=found,
            shown=found,
            value=None,
            sure="sure",
            why=(wording.look_told(),),
            confirm=confirm,
        )
    if part == "codes":
        codes = {**draft.codes, **{str(code): meaning for code, meaning in dict(answer).items()}}
        return replace(draft, codes=codes, confirm=confirm)
    if part == "value":
        return replace(
            draft, column=None, codes={}, value=answer, sure="sure", why=(wording.look_told(),), confirm=()
        )
    if part == "unit":
        return replace(draft, unit=str(answer), confirm=confirm)
    return replace(draft, order=str(answer), confirm=confirm)
