"""What a person is asked: drafts of a legend come in, questions go out, each of them once.

The same codes of a field's left and right column make one question, whose key bears no side; answers may still name
a side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from .. import wording
from .propose_drafts import Draft

_FOR_BOTH: Final = ("codes", "unit", "order")
"""Parts of an entry that both sides of a patient may share; their columns are never the same."""


@dataclass(frozen=True)
class Asked:
    """One question.

    Attributes
    ----------
    key : str
        ``"type.codes"``, also for both sides of a patient; ``"left.type.codes"`` for one.
    drafts : tuple of Draft
        The entries that it settles: one, or the left and the right.
    part, text : str
    values : tuple of str
        Codes without a meaning.
    """

    key: str
    drafts: tuple[Draft, ...]
    part: str
    text: str
    values: tuple[str, ...]


def asked_of(drafts: Sequence[Draft]) -> tuple[Asked, ...]:
    """Questions about a proposed legend, in its order."""
    found: list[Asked] = []
    sides = {draft.field: draft for draft in drafts if draft.table == "right"}
    told: set[tuple[str, str]] = set()
    for draft in drafts:
        for part, text in draft.confirm:
            if (draft.key, part) in told:
                continue
            other = sides.get(draft.field) if draft.table == "left" else None
            if other is not None and _alike(draft, other, part):
                told.add((other.key, part))
                found.append(_for_both(draft, other, part, text))
            else:
                values = draft.unknown if part == "codes" else ()
                found.append(Asked(f"{draft.key}.{part}", (draft,), part, text, values))
    return tuple(found)


def _alike(left: Draft, right: Draft, part: str) -> bool:
    """Whether both sides wait for the same."""
    if part not in _FOR_BOTH or part not in dict(right.confirm):
        return False
    if part != "codes":
        return (left.unit, left.order) == (right.unit, right.order)
    one, other = set(left.unknown), set(right.unknown)
    return 2 * len(one & other) >= min(len(one), len(other)) and bool(one) == bool(other)


def _for_both(left: Draft, right: Draft, part: str, text: str) -> Asked:
    values: tuple[str, ...] = ()
    if part == "codes" and left.unknown:
        values = tuple(dict.fromkeys((*left.unknown, *right.unknown)))
        text = wording.look_ask_codes(left.field, values)
    return Asked(f"{left.field}.{part}", (left, right), part, text, values)
