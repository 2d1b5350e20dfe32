"""Columns to fields as one best assignment: scores of names and cells in, a column for each field out.

Every field is scored against every column, or pair of columns when a row is a patient, and the sum of scores is made
as large as it can be (Kuhn 1955, by `scipy.optimize.linear_sum_assignment`), so that a column that could be two things
becomes the one that nothing else can be. A field whose best column scores under the threshold stays without.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import linear_sum_assignment

from .header_words import senses
from .header_words_fields import naming_score
from .legend_model import KINDS, SHARED_ONLY, VISIT_KINDS
from .propose_codes import kind_of
from .propose_columns import Column
from .propose_content import content
from .propose_fit import NEVER, Fit, Seen
from .propose_sides import Pair

THRESHOLD: Final = 1.15
"""Score from which a column is proposed: a plain name with cells that fit, or cells that can hardly be another."""

BY_CELLS: Final = frozenset(
    {
        "sex",
        "side",
        "type",
        "ehs",
        "repair",
        "approach",
        "born_on",
        "operated_on",
        "age",
        "occurrence",
        "note",
        "known_by",
        "specialty",
        "reason",
        "patient",
        "recurrence_known_by",
    }
)
"""Fields that cells may tell without a name."""


@dataclass(frozen=True)
class Unit:
    """What a field may be assigned to: one column, or a pair of columns.

    Attributes
    ----------
    columns : tuple of Column
        One, or the left and the right one.
    name : str
        Its name, without the side.
    """

    columns: tuple[Column, ...]
    name: str

    @property
    def paired(self) -> bool:
        """Whether it is a pair."""
        return len(self.columns) == 2


@dataclass(frozen=True)
class Scored:
    """One field against one unit.

    Attributes
    ----------
    field : str
    unit : Unit
    score, named : float
        Of name and cells together, and of the name alone.
    words : tuple of str
        Of the name that tell.
    fits : tuple of Fit
        Of the cells of each of the unit's columns.
    """

    field: str
    unit: Unit
    score: float
    named: float
    words: tuple[str, ...]
    fits: tuple[Fit, ...]


@dataclass(frozen=True)
class Assigned:
    """A field and its column or pair.

    Attributes
    ----------
    best : Scored
    runner_up : Scored or None
        The next best unit for the field.
    margin : float
        Score by which the best leads the runner-up, or another field on the same column.
    shared : bool
        Whether the column serves another field before this one.
    """

    best: Scored
    runner_up: Scored | None
    margin: float
    shared: bool = False


def units_of(columns: Sequence[Column], pairs: Sequence[Pair]) -> tuple[Unit, ...]:
    """Columns that stand alone, and pairs."""
    paired = {column.position for pair in pairs for column in (pair.left, pair.right)}
    alone = [Unit((column,), column.header or "") for column in columns if column.position not in paired]
    return (*alone, *(Unit((pair.left, pair.right), pair.name) for pair in pairs))


def scores_of(fields: Sequence[str], units: Sequence[Unit], seen: Seen) -> dict[tuple[str, int], Scored]:
    """Score every field against every unit; pairs that cannot be are left out."""
    found = {}
    for at, unit in enumerate(units):
        for field in fields:
            if unit.paired and field in SHARED_ONLY:
                continue
            named, words = naming_score(field, unit.name)
            if named <= 0.12 and field not in BY_CELLS:
                continue
            fits = tuple(
                content(field, column, seen, header=unit.name, sided=unit.paired) for column in unit.columns
            )
            worst = min(fit.score for fit in fits)
            mean = sum(fit.score for fit in fits) / len(fits)
            if worst <= NEVER and not any(fit.score > 0 for fit in fits):
                continue
            score = 2.0 * named + mean
            if named <= 0.12 and not _told_by_cells(field, fits):
                continue
            found[field, at] = Scored(field, unit, score, named, words, fits)
    return found


def _told_by_cells(field: str, fits: Sequence[Fit]) -> bool:
    """Whether cells alone may tell a field whose name says nothing."""
    if field in ("born_on", "operated_on", "age", "patient"):
        return True
    if field in ("ehs", "note"):
        return all(fit.score > 1.0 for fit in fits)
    if not all(fit.codes.share > 0.8 and fit.codes.kinds >= 2 and fit.score > 0.9 for fit in fits):
        return False
    if field == "recurrence_known_by" and any(fit.codes.kinds < 3 for fit in fits):
        return False
    # letters such as M and F are a type as well as a sex; words are not
    return field in ("sex", "side") or all(
        max((len(cell) for cell in fit.codes.meanings), default=9) > 2 for fit in fits
    )


def assign(
    fields: Sequence[str], units: Sequence[Unit], scores: dict[tuple[str, int], Scored]
) -> dict[str, Assigned]:
    """Assign units to fields so that the sum of scores is largest."""
    if not units:
        return {}
    far = -50.0
    matrix = np.full((len(fields), len(units) + len(fields)), far)
    for (field, at), scored in scores.items():
        matrix[fields.index(field), at] = scored.score - THRESHOLD
    for row in range(len(fields)):
        matrix[row, len(units) + row] = 0.0  # to stay without a column
    rows, chosen = linear_sum_assignment(matrix, maximize=True)
    found = {}
    for row, at in zip(rows.tolist(), chosen.tolist(), strict=True):
        if at >= len(units):
            continue
        field = fields[row]
        best = scores[field, at]
        others = sorted(
            (one for (name, place), one in scores.items() if name == field and place != at),
            key=lambda one: -one.score,
        )
        runner_up = others[0] if others else None
        rivals = [one.score for (name, place), one in scores.items() if place == at and name != field]
        lead = best.score - max([*(one.score for one in others[:1]), *rivals, 0.0])
        found[field] = Assigned(best, runner_up, lead)
    return found


def operation_fields() -> tuple[str, ...]:
    """Fields of an operation, in the order of the legend."""
    return tuple(KINDS)


def visit_fields() -> tuple[str, ...]:
    """Fields of a visit."""
    return tuple(VISIT_KINDS)


SHAREABLE: Final = {
    "approach": ("repair", "known_by"),
    "percutaneous": (),
    "occurrence": ("type", "reason", "repair"),
    "side": ("type", "reason", "repair"),
    "type": ("reason",),
    "reason": ("type",),
    "repair": ("approach",),
}
"""Fields that may lie in the codes of another's column, such as ``TAPP``: a repair and an approach."""


def share_columns(assigned: dict[str, Assigned], seen: Seen, fields: Sequence[str]) -> dict[str, Assigned]:
    """Let a column whose codes carry two fields serve both."""
    found = dict(assigned)
    for field, hosts in SHAREABLE.items():
        if field in found or field not in fields or kind_of(field) != "code":
            continue
        for host in hosts:
            if host not in assigned:
                continue
            unit = assigned[host].best.unit
            if unit.paired and field in SHARED_ONLY:
                continue
            fits = tuple(
                content(field, column, seen, header=unit.name, sided=unit.paired) for column in unit.columns
            )
            if field == "occurrence" and not any(map(_speaks_of_recurrence, unit.columns)):
                continue
            if all(
                fit.codes.kinds >= 2 and fit.codes.share >= 0.6 and fit.codes.basis in ("words", "list")
                for fit in fits
            ):
                score = sum(fit.score for fit in fits) / len(fits)
                found[field] = Assigned(Scored(field, unit, score, 0.0, (), fits), None, 0.0, shared=True)
                break
    return found


def _speaks_of_recurrence(column: Column) -> bool:
    return any(senses(cell) & {"primary", "recurrent"} for cell in column.counts if len(cell) > 2)
