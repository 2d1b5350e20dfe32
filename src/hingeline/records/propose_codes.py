"""What the codes of a column mean for a field: the distinct cells come in, their meanings go out, told or guessed.

Words are told by the glossaries (`header_words`); single letters by the set that they stand in, since ``D`` is the
right side beside ``G`` (French) and ``S`` (Italian), and ``H`` is it beside ``V`` (Nordic); a list of codes in the
column's own name or in a sheet beside it by that list. Sexes as numbers follow ISO/IEC 5218 (0 not known, 1 male,
2 female, 9 not applicable) and are marked to be confirmed. Other numbers are never guessed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from .. import vocabulary
from .codes import FLAG_WORDS
from .header_words import parts, senses
from .identifier_words import flat
from .legend_model import ABSENT, ALWAYS_BLANK, BOTH, GRADES, KINDS, VISIT_KINDS, Meaning, fold
from .propose_columns import Column
from .propose_keys import keys_in
from .propose_letters import by_letters
from .propose_poles import flags_of
from .propose_values import meaning_of

Basis = Literal["words", "letters", "list", "standard", "none"]


@dataclass(frozen=True)
class Codes:
    """Codes of one column for one field.

    Attributes
    ----------
    meanings : dict of str to str, bool or int
        Of the cells that are understood and not already words of the vocabulary; ``""`` says nothing.
    share : float
        Of filled cells that are understood.
    unknown : tuple of str
        Cells that are not understood, the commonest first.
    kinds : int
        Different meanings among the cells that are understood.
    basis : {"words", "letters", "list", "standard", "none"}
        What the meanings rest on.
    counts : dict of meaning to int
        Cells of each meaning.
    """

    meanings: Mapping[str, Meaning]
    share: float
    unknown: tuple[str, ...]
    kinds: int
    basis: Basis
    counts: Mapping[Meaning, int]


NOTHING: Final = Codes({}, 0.0, (), 0, "none", {})
_MOST_CODES: Final = 120
"""Distinct cells of a column beyond which it is no column of codes."""


def kind_of(field: str) -> str:
    """How the cells of a field are read, of operations or of visits."""
    return KINDS[field] if field in KINDS else VISIT_KINDS[field]


def codes_of(
    field: str, column: Column, listed: Mapping[str, str] | None = None, sided: bool = False
) -> Codes:
    """Guess what a column's cells mean for a field.

    Parameters
    ----------
    field : str
    column : Column
    listed : mapping of str to str, optional
        Words of a list of codes for this column: ``{"1": "indirect"}``.
    sided : bool
        Whether the column belongs to one side of a patient, so that a code may say that this side was not operated.
    """
    if not column.filled or column.distinct > _MOST_CODES:
        return NOTHING
    cells = {cell: times for cell, times in column.counts.items() if fold(cell) not in ALWAYS_BLANK}
    told: dict[str, Meaning] = {}
    basis: Basis = "words"
    own_key = codes_in_name(column.header) | dict(listed or {})
    listed_words = {cell: own_key[fold(cell)] for cell in cells if fold(cell) in own_key}
    by_key = _by_key(field, column.header, listed_words, sided)
    if by_key:
        told.update(by_key)
        basis = "list"
    flags: Mapping[str, Meaning | None] = {}
    if field in _ASKED_FLAGS or kind_of(field) == "flag":
        flags = flags_of(field, column.header, [cell for cell in cells if cell not in told])
    if basis != "list":
        letters = by_letters(field, cells, column.header)
        if letters is not None:
            told.update(letters[0])
            basis = letters[1]
    for cell in cells:
        if cell in told:
            continue
        if cell in flags:
            meaning = flags[cell]
        else:
            own = own_word(field, cell)
            meaning = own if own is not None else meaning_of(field, cell, sided)
        if meaning is not None:
            told[cell] = meaning
    return _gathered(field, cells, told, basis)


_ASKED_FLAGS: Final = ("occurrence", "approach", "sex")
"""Fields of codes whose column may hold yes and no, which mean what its name says."""


def _by_key(field: str, header: str, words: Mapping[str, str], sided: bool) -> dict[str, Meaning]:
    """Meanings of codes by the words of a key."""
    found: dict[str, Meaning] = {}
    flags: Mapping[str, Meaning | None] = {}
    if field in _ASKED_FLAGS or kind_of(field) == "flag":
        flags = flags_of(field, header, words.values())
    letters = by_letters(field, Counter(words.values()), "")
    for cell, told in words.items():
        meaning = flags[told] if told in flags else meaning_of(field, told, sided)
        if letters is not None:
            meaning = letters[0].get(told, meaning)
        if meaning is not None:
            found[cell] = meaning
    return found


def _gathered(field: str, cells: Mapping[str, int], told: Mapping[str, Meaning], basis: Basis) -> Codes:
    total = sum(cells.values())
    known = sum(times for cell, times in cells.items() if cell in told)
    counts: dict[Meaning, int] = {}
    for cell, meaning in told.items():
        counts[meaning] = counts.get(meaning, 0) + cells[cell]
    unknown = tuple(cell for cell in cells if cell not in told)
    # one spelling of each code, and none that the vocabulary understands by itself
    kept: dict[str, Meaning] = {}
    seen: set[str] = set()
    for cell, meaning in told.items():
        if fold(cell) in seen or own_word(field, cell) == meaning:
            continue
        seen.add(fold(cell))
        kept[cell] = meaning
    kinds = len({meaning for meaning in counts if meaning not in ("", ABSENT, vocabulary.UNKNOWN)})
    return Codes(kept, known / total if total else 0.0, unknown, kinds, basis if told else "none", counts)


def own_word(field: str, cell: str) -> Meaning | None:
    """What a cell means without any code, as intake reads it; None when it needs one."""
    kind = kind_of(field)
    plain = fold(cell)
    if kind == "flag":
        return FLAG_WORDS.get(plain)
    if kind == "grade":
        return int(plain) if plain.isdigit() and int(plain) in GRADES[field] else None
    if kind != "code":
        return None
    if field == "side" and plain == BOTH:
        return BOTH
    return next((value for value in vocabulary.FIELD[field].values if fold(value) == plain), None)


def codes_in_name(header: str) -> dict[str, str]:
    """Codes that a column's own name explains: ``Sex (1=m, 2=f)``."""
    if not re.search(r"[=:–)-]|\d ", header):
        return {}
    return {code: words for key in keys_in(header) for code, words in key.codes.items()}


def says_something(cell: str) -> bool:
    """Whether any word of a cell is known."""
    return bool(senses(cell))


def is_number(cell: str) -> bool:
    """Whether a code is a number alone."""
    return bool(re.fullmatch(r"\d{1,3}(?:[.,]0)?", cell.strip()))


def plain_letters(cell: str) -> str:
    """A code as it is compared: plain letters alone."""
    return re.sub(r"[^\w]", "", flat(cell))


__all__ = [
    "NOTHING",
    "Codes",
    "codes_in_name",
    "codes_of",
    "is_number",
    "kind_of",
    "own_word",
    "parts",
    "says_something",
]
