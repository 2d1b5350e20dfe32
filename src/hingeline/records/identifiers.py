"""Columns that hold identifiers of people: found by their names, in several languages, and by what they hold.

Columns of an export come in; those that intake must not read go out, each with the reason. The patient's and
the surgeon's key and the date of birth may be mapped, since only a keyed hash or an age is kept of them. A column
whose cells are what the legend says of them, or plainly dates, yes and no or a few codes, is not judged by its name.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from .. import wording
from . import identifier_words as known
from .identifier_cells import by_content, has_telephone, is_date, is_name_like, is_person, masked
from .identifier_codes import is_known_word
from .identifier_words import flat, plain_words
from .layout import letter
from .legend_model import fold
from .source import Source

__all__ = ["Suspect", "masked", "names_that_tell", "plain_words", "suspects"]

_PARSED: Final = 0.9
_YES_NO: Final = known.words("yes no y n true false ja nein j oui non o si s sim nao nei")
_FEW_CODES: Final = 20
_CODE_LENGTH: Final = 12
_TIMES_EACH: Final = 5

Reads = Callable[[str], bool]
"""Whether a cell is one that a field of the legend can read."""


@dataclass(frozen=True)
class Suspect:
    """A column that seems to identify people: its name, its letter, and why."""

    column: str
    letter: str
    why: str


def suspects(
    source: Source,
    allowed: Sequence[str],
    dropped: Sequence[str],
    mapped: Mapping[str, Sequence[Reads]] | None = None,
) -> tuple[Suspect, ...]:
    """Columns that seem to hold identifiers.

    Parameters
    ----------
    source : Source
    allowed : sequence of str
        Columns of which only a keyed hash or an age is kept (table names).
    dropped : sequence of str
        Columns that the legend drops (table names).
    mapped : mapping of str to sequence of callable, optional
        Columns that the legend maps to dates, numbers and codes (table names), each with what tells whether a cell
        is one; a column passes when nearly all its cells are.
    """
    found = []
    for position, name in enumerate(source.names):
        if name in dropped or name in allowed:
            continue
        cells = source.some(name)
        if cells and any(_share(cells, reads) >= _PARSED for reads in (mapped or {}).get(name, ())):
            continue
        header = source.header[position]
        words = plain_words(header)
        why = _by_name(header, cells) or by_content(cells, set(words)) or _by_both(header, words, cells)
        if why is not None:
            found.append(Suspect(header or name, letter(position + 1), why))
    return tuple(found)


def names_that_tell(source: Source) -> tuple[str, ...]:
    """Letters of the columns whose names could be a patient's data: a person, a telephone or record number, a date.

    A file without column names has its first patient where they should be.
    """
    found = {
        position
        for position, header in enumerate(source.header)
        if _tells(header, source.some(source.names[position]))
    }
    values = {position: _VALUES.get(fold(header)) for position, header in enumerate(source.header)}
    kinds = {kind for kind in values.values() if kind is not None}
    if len(kinds) > 1 and kinds & {"sex", "flag"}:
        found |= {position for position, kind in values.items() if kind is not None}
    return tuple(letter(position + 1) for position in sorted(found))


_VALUES: Final = {
    word: kind
    for kind, listed in {
        "sex": "m f w male female mann frau männlich weiblich homme femme",
        "flag": "yes no ja nein oui non y n j true false",
        "side": "left right l r li re links rechts gauche droite",
        "type": "direct indirect lat med lateral medial",
    }.items()
    for word in listed.split()
}
"""Cells of records, of which a row of names holds none, or one kind: "Left" and "Right" name columns."""


_NUMBERED: Final = re.compile(r"\d{6}|@[^\s@]+\.[a-z]{2}")


def _tells(header: str, cells: Sequence[str]) -> bool:
    if has_telephone(header) or _NUMBERED.search(header):
        return True
    if is_date(header):
        return bool(cells) and _share(cells, is_date) >= _PARSED
    written = is_name_like(header) and "," in header
    if (is_person(header) or written) and len(header.split()) > 1:
        return not any(map(is_known_word, plain_words(header)))
    return False


def told_of_notes(source: Source, notes: Sequence[str]) -> tuple[str, ...]:
    """Sentences on columns of notes that hold telephone numbers or addresses, which are read and not kept."""
    return tuple(
        wording.detected_identifiers_in_notes(source.name, source.header[source.names.index(name)])
        for name in notes
        if by_content(source.some(name), set()) is not None
    )


def _share(cells: Sequence[str], reads: Reads) -> float:
    counts = Counter(cells)
    return sum(times for cell, times in counts.items() if reads(cell)) / len(cells)


def _by_name(header: str, cells: Sequence[str]) -> str | None:
    words = plain_words(header)
    said = f"its name says so ({header!r})"
    if _says_birth(words):
        return None if cells and _share(cells, _is_yes_no) >= _PARSED else said
    firm = _says_person(words, flat(header))
    if not firm and not _says_soft(words):
        return None
    if cells and (_share(cells, is_date) >= _PARSED or _share(cells, _is_yes_no) >= _PARSED):
        return None
    return None if not firm and _few_codes(cells) else said


def _by_both(header: str, words: Sequence[str], cells: Sequence[str]) -> str | None:
    """Why a name that may speak of people, and cells that may be names, together do."""
    bag = set(words)
    part = bag & known.PARTS_OF_NAMES and bag <= known.PARTS_OF_NAMES | known.BESIDE_PARTS
    if not cells or not (part or bag & known.STAFF):
        return None
    if _share(cells, _names_somebody) < _NAMES or len(set(cells)) < _FEWEST_NAMES:
        return None
    return f"its name and its cells say that it holds people's names ({header!r})"


def _names_somebody(cell: str) -> bool:
    titled = any(word in known.TITLES for word in plain_words(cell)[:1])
    return is_name_like(cell) and (titled or not known.GRADES.search(flat(cell)))


_NAMES: Final = 0.6
_FEWEST_NAMES: Final = 3


def _says_birth(words: Sequence[str]) -> bool:
    bag = set(words)
    if bag & known.BIRTH or "".join(words) in known.BIRTH:
        return True
    return bool(bag & known.BIRTH_WORDS and bag & known.DATE_WORDS and bag <= _BIRTH_ONLY)


_BIRTH_ONLY: Final = known.BIRTH_WORDS | known.DATE_WORDS | known.PEOPLE


def _says_person(words: Sequence[str], whole: str) -> bool:
    """Whether the name can mean nothing but a person's name or where one lives, or a record's number."""
    bag = set(words)
    firm = known.NAMES_OF_PEOPLE | known.PLACES | known.RECORDS
    if bag & firm or "".join(words) in firm or any(one in whole for one in known.IN_ANY_WORD):
        return True
    if (
        {"post", "code"} <= bag
        or {"postal", "code"} <= bag
        or {"zip", "code"} <= bag
        or {"code", "postal"} <= bag
    ):
        return True
    return bool(bag & known.NAME and bag <= known.NAME | known.PEOPLE | {"contact", "person"})


def _says_soft(words: Sequence[str]) -> bool:
    """Whether the name speaks of a person unless the cells say otherwise."""
    bag = set(words)
    if {"last", "contact"} <= bag:
        return False  # a date of follow-up, whatever it was by
    if (
        bag & known.SOFT
        and bag <= known.SOFT | known.BESIDE_CONTACT | known.PEOPLE | known.NUMBER | known.CONTACT_ONLY
    ):
        # "Private/NHS" is how somebody was treated, not a number.
        return not (bag & {"nhs", "chi"}) or bag <= {"nhs", "chi"} | known.PEOPLE | known.NUMBER
    if "".join(words) in known.SOFT:
        return True
    if bag & known.NUMBER and bag & known.NUMBERED and bag <= known.NUMBER | known.NUMBERED | known.PEOPLE:
        return True
    if (
        bag & {"tel", "cell"}
        and bag <= known.CONTACT_ONLY | known.NUMBER | known.PEOPLE | known.BESIDE_CONTACT
    ):
        return True
    beside = known.NUMBER | {"details", "detail", "info", "person", "emergency"}
    return "contact" in bag and bool(bag & beside) and bag <= {"contact"} | beside | known.PEOPLE


def _is_yes_no(cell: str) -> bool:
    return cell in ("0", "1") or flat(cell) in _YES_NO


def _few_codes(cells: Sequence[str]) -> bool:
    """Whether cells are a few short codes, each of them often; names and numbers of people differ from row to row."""
    distinct = set(cells)
    return (
        bool(cells)
        and len(distinct) <= _FEW_CODES
        and len(cells) >= _TIMES_EACH * len(distinct)
        and all(len(cell) <= _CODE_LENGTH for cell in distinct)
        and not any(is_person(cell) for cell in distinct)
    )
