"""Cells that identify people: addresses, telephone and record numbers, dates of birth beside them, and names.

Cells of one column come in; why the column seems to identify people goes out, or nothing. `masked` writes one value
for the list of what was set aside, or a mask where it could name somebody.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence, Set
from typing import Final

from . import identifier_words as known
from .identifier_codes import is_plain_code
from .identifier_words import flat, plain_words
from .legend_model import EVERY_KIND

_EMAIL: Final = re.compile(r"[^\s@]@[^\s@]{1,250}\.[a-zA-Z]{2,}")
_TELEPHONE: Final = re.compile(
    r"(?<![\d.,])(?:\+|00|\(?0)\d[\d\s()/.-]{5,15}\d(?!\d|[.,]\d)|(?<!\d)\(\d{3}\) ?\d{3}[- .]?\d{4}(?!\d)"
)
_DATE: Final = re.compile(
    r"^\d{1,4}[-/. ]\d{1,2}[-/. ]\d{1,4}(?:[T ,].*)?$|^(?:18|19|20|21)\d{2}[01]\d[0-3]\d"
    r"(?:[T_ -]?[0-2]\d[0-5]\d(?:[0-5]\d)?)?$"
)
_WORDED_DATE: Final = re.compile(
    r"^\d{1,2}[-. /]*[^\W\d_]{3,9}\.?[-., /]*\d{2,4}$|^[^\W\d_]{3,9}\.? \d{1,2},? \d{4}$"
)
_SHORT_DATE: Final = re.compile(
    r"^(?:(?:0[1-9]|[12]\d|3[01])(?:0[1-9]|1[0-2])\d\d|\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01]))$"
)
_DATE_INSIDE: Final = re.compile(
    r"\b(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2}))\b(?:[T ]\d{1,2}:\d{2}(?::\d{2})?)?"
)
_LONG_NUMBER: Final = re.compile(r"^[A-Za-z]{0,4}[-/ ]?\d{6,12}[-/ ]?[A-Za-z0-9]?$")
_FORMAL_NUMBER: Final = re.compile(r"^\d{3}[- ]\d{3}[- ]\d{4}$|^\d{3}-\d{2}-\d{4}$")
_LETTERS: Final = re.compile(r"^[^\W\d_]{2}[^\d]*$")
_INITIAL: Final = re.compile(r"^[^\W\d_][^\d]*$")
_COMMA_NAME: Final = re.compile(
    r"^[^\W\d_][\w'’-]+(?: [^\W\d_][\w'’-]+)?, ?[^\W\d_][\w'’.-]*(?: [^\W\d_][\w.'’-]*)?$"
)
_WORD: Final = re.compile(r"^[^\W\d_](?:[^\W\d_]|['’.-])*$")
_HAN: Final = re.compile(r"^[\u4e00-\u9fff]{2,4}$")
_HANGUL: Final = re.compile(r"^[\uac00-\ud7a3]{2,4}$")
_UNSEEN: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]")

MASK: Final = "(masked)"
ALWAYS_MASKED: Final = ("patient", "surgeon", "born_on")
"""Fields whose cells tell who somebody is, whatever they hold."""

_OFTEN: Final = 5
"""Times from which a value is a code of the hospital's and no slip of the pen that names somebody."""


def is_date(cell: str) -> bool:
    """Whether a cell looks like a date, with or without a time."""
    return bool(_DATE.match(cell) or _WORDED_DATE.match(cell) or _SHORT_DATE.match(cell))


def by_content(cells: Sequence[str], header: Set[str]) -> str | None:
    """Why cells seem to identify people, if they do; `header` is the words of the column's name."""
    if not cells:
        return None
    many = max(min(3, len(cells)), len(cells) // 50)
    half = max(3, len(cells) // 2)
    counts = Counter(cells)
    if sum(bool(_EMAIL.search(cell)) for cell in cells) >= many:
        return "it holds e-mail addresses"
    other = bool(header & known.OTHER_THINGS)
    if not header & known.NUMBERED_THINGS and sum(map(has_telephone, cells)) >= many:
        return "it holds telephone numbers"
    if sum(bool(_FORMAL_NUMBER.match(cell)) for cell in cells) >= half:
        return "it holds identity numbers"
    dates = sum(map(is_date, cells))
    if not other and dates < 0.9 * len(cells):
        numbers = sum(bool(_LONG_NUMBER.match(cell)) and not _DATE.match(cell) for cell in cells)
        if numbers >= half and len(counts) >= 3 and len(counts) / len(cells) > 0.3:
            return "it holds long numbers, mostly different, as record numbers are"
    return "it holds people's names" if _names(counts, len(cells), other) else None


def _names(counts: Counter[str], total: int, other: bool) -> bool:
    """Names that are known as such, or many different cells that are written as names are."""
    if sum(times for cell, times in counts.items() if is_person(cell)) >= max(3, total * 3 // 10):
        return True
    shaped = {cell: times for cell, times in counts.items() if is_name_like(cell)}
    most = sum(shaped.values()) >= 0.6 * total
    single = sum(len(cell.split()) == 1 for cell in shaped)
    least = 8 if single > len(shaped) / 2 else 5
    return not other and most and len(shaped) >= least and len(shaped) >= 0.4 * sum(shaped.values())


def has_telephone(cell: str) -> bool:
    """Whether a cell holds a telephone number, dates and times left aside."""
    return bool(_TELEPHONE.search(_TIMES.sub(" ", _DATE_INSIDE.sub("", cell)))) and not _DATE.match(cell)


_TIMES: Final = re.compile(
    r"(?<![\d.+/-])[0-2]?\d[.:][0-5]\d(?![\d./])(?:\s*(?:-|–|to|bis|à)\s*[0-2]?\d[.:][0-5]\d(?![\d./]))?"
)


def is_person(cell: str) -> bool:
    """Whether a cell is the name of a person, by a given name or surname that is common."""
    if len(cell) > 60 or not _INITIAL.match(cell):
        return False
    if _is_east_asian(cell) or any(name in cell for name in known.INDIC):
        return True
    found = plain_words(cell)
    bag = set(found)
    if (
        not bag & (known.GIVEN | known.SURNAMES)
        or bag & known.OF_HOSPITALS
        or bag <= known.EPONYMS | {"and", "und"}
    ):
        return False
    if len(cell.split()) == 1:
        return len(cell) > 2
    return bool(_COMMA_NAME.match(cell)) or (len(cell.split()) <= 4 and all(map(_WORD.match, cell.split())))


def is_name_like(cell: str) -> bool:
    """Whether a cell is written as a name is: ``Surname, Given``, one to four words with capitals, no clinical word."""
    if is_person(cell):
        return True
    if len(cell) > 60 or len(cell) < 3 or not _LETTERS.match(cell):
        return False
    bag = set(plain_words(cell))
    if (
        bag <= known.EPONYMS | {"and", "und"}
        or bag & known.OF_HOSPITALS
        or any(map(known.CLINICAL.search, bag))
    ):
        return False
    if _COMMA_NAME.match(cell):
        return True
    parts = cell.split()
    if not all(map(_WORD.match, parts)) or len(parts) > 4:
        return False
    if len(parts) == 1:
        return len(cell) >= 4 and cell[0].isupper()
    return all(
        part[0].isupper()
        for part in parts
        if flat(part) not in ("de", "van", "von", "der", "del", "da", "bin")
    )


def _is_east_asian(cell: str) -> bool:
    han = _HAN.match(cell) and cell[0] in known.HAN_SURNAMES and not set(cell) & set("疝侧側性术術")
    hangul = _HANGUL.match(cell) and len(cell) == 3 and cell[0] in known.HANGUL_SURNAMES
    return bool(han or hangul)


def shown(value: str) -> str:
    """Write a value without characters that steer a terminal or a spreadsheet, or that nobody sees."""
    return _UNSEEN.sub(" ", value)


_MORE: Final = re.compile(r"\d{3}|\d[/.-]\d+[/.-]|@", re.ASCII)
"""Three figures in a row, a date or an address: no code of a type, side or repair holds one."""


def says_more(cell: str) -> bool:
    """Whether a cell holds more than a code, perhaps of a person; such a cell never stands in a legend."""
    return bool(_MORE.search(cell)) or is_person(cell) or not is_plain_code(cell)


def _wordless(value: str) -> str:
    """Write x for the letters of words: what is wrong with a number or a date shows without them, a name does not."""
    return (
        value
        if _WORDED_DATE.match(value)
        else re.sub(r"[^\W\d_]{3,}", lambda word: "x" * len(word[0]), value)
    )


CODED: Final = ("code", "flag", "grade", "ehs")
"""Kinds of fields whose cells are codes."""


def masked(field: str, value: str, times: int = 1) -> str:
    """Write a value for the list of what was set aside, or a mask where it would identify somebody.

    Of a field of codes only what is plainly a code is shown: how often another value stands says nothing, since a
    surgeon's name, or a patient's with many visits, stands often too.

    Parameters
    ----------
    field : str
    value : str
        The cell.
    times : int
        How often it stands in the list for the field, which tells a word from a name where no field of codes is
        meant.
    """
    mask = MASK
    value = shown(value[:500]).strip()  # no more is shown, and no more is worth the time
    if field in ALWAYS_MASKED or _EMAIL.search(value) or is_person(value):
        return mask
    kind = EVERY_KIND.get(field)
    if kind in CODED:
        return value if is_plain_code(value) else mask
    if kind in ("date", "number", "age"):
        value = _wordless(value)
    if has_telephone(value) or re.search(r"\d[\d -]{4,}\d", _DATE_INSIDE.sub("", value)):
        return mask
    if times < _OFTEN and is_name_like(value):
        return mask
    return value if len(value) <= 80 else value[:79] + "…"
