"""Keys of codes that a file brings along: ``Key: sex 1=male 2=female / type 1=indirect 2=direct``.

Lines above the column names or below the records, names of columns and single cells come in; for each column that a
key belongs to, its codes and the words they stand for go out. A key belongs to the column that the word before it
names, or that alone its words can mean, and only where nearly all cells of the column are codes of it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from .header_words import parts, senses, words
from .header_words_fields import NAMINGS, naming_score
from .identifier_words import flat
from .legend_model import fold
from .propose_columns import Column
from .propose_values import meaning_of

_HELD: Final = 0.8
"""Share of a column's cells that must be codes of a key, so that it is the column's."""

_LONGEST: Final = 60
"""Characters of a code's words that are read."""

_SEPARATORS: Final = ';,/|\n()[]{}•·\t"'
_CODE: Final = r"\d{1,2}|[^\W\d_]{1,3}|[?+]"
_FIRM: Final = re.compile(
    rf"(?<![\w.,=])['\"]?({_CODE})['\"]?\s*(?:=+>?|≙|→|->)\s*(?=[^\W\d_?])"
    r"|(?<![\w.,=/+-])(\d{1,2})\s*(?::|–|-|\)|\.(?=\s))\s*(?=[^\W\d_])"
)
_LOOSE: Final = re.compile(r"(?<![\w.,/=+-])(\d{1,2})[ \t]+(?=[^\W\d_])")
_LETTER: Final = re.compile(r"(?<=[:;,(|/\n])[ \t]*([A-ZÀ-Þ])[ \t]+(?=[^\W\d_A-Z]{3})")
_PARTED: Final = re.compile(r"[;|/\n()\[\]]")
_TURNED: Final = re.compile(
    r"([^\W\d_][^=:;,/|()\[\]\n\d]*?)\s*=\s*(\d{1,2})"
    r"(?=\s*(?:[;,/|)\]\n]|$|\.(?:\s|$))|\s+[^\W\d_][^=;,/|()\n\d]*=\s*\d)"
)
_TOGETHER: Final = re.compile(
    r"(?<![\w/])(\w{1,2}(?:\s*/\s*\w{1,2}){1,4})\s*=\s*([^\W\d_]+(?:\s*/\s*[^\W\d_]+){1,4})"
)
_JOINS: Final = frozenset(
    ["and", "und", "et", "y", "e", "o", "or", "oder", "ou", "en", "og", "och", "i", "eller", "lub"]
)


@dataclass(frozen=True)
class Key:
    """Codes with their words, and the words that stand before them.

    Attributes
    ----------
    label : str
        What stands before the first code: the name of a column, most often.
    codes : mapping of str to str
        Folded code to words.
    """

    label: str
    codes: Mapping[str, str]


def keys_in(text: str, is_label: Callable[[str], bool] = lambda label: bool(label)) -> tuple[Key, ...]:
    """Find the keys of codes in a text.

    Parameters
    ----------
    text : str
        Lines parted by line ends.
    is_label : callable
        Whether words that stand between two codes name a column, and are not more words of the code before them.
    """
    text = _spread(re.sub(r"\b([Nn])/([AaKk])\b", r"\1\2", text[:20_000].replace('"', "\n")))
    entries = _turned(text) or _straight(text)
    groups: list[tuple[str, dict[str, str]]] = []
    before = 0
    last = ""
    for start, code, told, end in entries:
        gap = text[before:start]
        label = _label(gap, is_label)
        said = _said(gap)
        restart = not groups or code in groups[-1][1]
        if restart and not label and groups and not said.strip():
            # "2=female type 1=indirect": the last word before a code that starts anew is the next column's
            *kept, tail = groups[-1][1][last].split() or [""]
            if kept:
                groups[-1][1][last] = " ".join(kept)
                label = tail
        if restart or label:
            groups.append((label or _last(gap), {}))
        elif said.strip():
            groups[-1][1][last] = f"{groups[-1][1][last]} {said.strip()}"
        groups[-1][1][code] = told
        before, last = end, code
    return tuple(
        Key(label, {code: told[:_LONGEST] for code, told in codes.items() if told})
        for label, codes in groups
        if len(codes) >= 2
    )


def _spread(text: str) -> str:
    """Write ``0/1 = no/yes`` as one entry a code."""

    def apart(found: re.Match[str]) -> str:
        codes = [one.strip() for one in found.group(1).split("/")]
        told = [one.strip() for one in found.group(2).split("/")]
        if len(codes) != len(told):
            return found.group()
        return ", ".join(f"{code}={word}" for code, word in zip(codes, told, strict=True))

    return _TOGETHER.sub(apart, text)


_Entry = tuple[int, str, str, int]
"""Where an entry begins, its code folded, its words, and where it ends."""


def _straight(text: str) -> list[_Entry]:
    marks = [(one.start(), one.end(), one.group(1) or one.group(2)) for one in _FIRM.finditer(text)]
    firm = [_segment(text, start) for start, _, _ in marks]
    for one in (*_LOOSE.finditer(text), *_LETTER.finditer(text)):
        # "1 male 2 female"; beside codes with a sign a bare number belongs to the words
        if _segment(text, one.start()) not in firm:
            marks.append((one.start(1), one.end(), one.group(1)))
    marks.sort()
    found = []
    for at, (start, end, code) in enumerate(marks):
        until = marks[at + 1][0] if at + 1 < len(marks) else len(text)
        told = re.split(rf"[{re.escape(_SEPARATORS)}]|[.](?=\s|$)", text[end:until], maxsplit=1)[0]
        found.append((start, fold(code), " ".join(told.split()), end + len(told)))
    return found


def _segment(text: str, at: int) -> int:
    """Where the stretch between two separators begins that a place lies in."""
    return max((one.end() for one in _PARTED.finditer(text, 0, at)), default=0)


def _turned(text: str) -> list[_Entry]:
    """Entries such as ``male=1, female=2``, where they are what the text holds."""
    found = list(_TURNED.finditer(text))
    if len(found) < 2 or len(found) < len(re.findall(r"(?<![\w])\d{1,2}\s*=\s*[^\W\d_]", text)):
        return []
    entries: list[_Entry] = []
    seen: set[str] = set()
    for one in found:
        told, code = one.group(1).split(), fold(one.group(2))
        if code in seen or not seen:
            # the words before the first code may name the column as well: "sex male=1"
            seen = set()
            told = told[-1:]
        seen.add(code)
        own = " ".join(told)
        entries.append((one.end(1) - len(own), code, own, one.end()))
    return entries


def _pieces(gap: str) -> list[str]:
    return [one.strip(" \t-–—*#'") for one in re.split(rf"[{re.escape(_SEPARATORS)}:=]|[.](?=\s|$)", gap)]


def _said(gap: str) -> str:
    """Words between two codes, without the marks and the joining words."""
    kept = [word for piece in _pieces(gap) for word in piece.split() if flat(word) not in _JOINS]
    return " ".join(kept)


def _label(gap: str, is_label: Callable[[str], bool]) -> str:
    """Words right before a code that name a column."""
    pieces = [one for one in _pieces(gap) if one and flat(one) not in _JOINS]
    if not pieces:
        return ""
    together = " ".join(pieces[-2:])
    for one in (pieces[-1], pieces[-1].split()[-1], together):
        if is_label(one):
            return one
    return ""


def _last(gap: str) -> str:
    pieces = [one for one in _pieces(gap) if one]
    return pieces[-1] if pieces else ""


_COLUMN: Final = re.compile(
    r"\b(?:col|column|spalte|colonne|columna|colonna|kolom|kolonne|kolumn|coluna|kolumna)\.? ([a-z]{1,2})\b"
)


def keys_of(texts: Sequence[str], columns: Sequence[Column]) -> dict[str, dict[str, str]]:
    """Match the keys in lines beside the records, in names and in cells to the columns.

    Parameters
    ----------
    texts : sequence of str
        Lines above the column names and below the records.
    columns : sequence of Column

    Returns
    -------
    dict of str to dict
        Name in the table to folded codes and their words.
    """
    found: dict[str, dict[str, str]] = {}
    for column in columns:
        for text in (column.header, *(cell for cell in column.counts if cell.count("=") > 1)):
            for key in keys_in(text) if len(re.findall(r"[=\d]", text)) > 1 else ():
                # a remark that fell among the cells of a column may speak of another
                own = text == column.header or not key.label or column in _named(key.label, columns)
                if own and _held(key, column) > 0.5:
                    found.setdefault(column.name, {}).update(key.codes)
    loose: list[Key] = []
    for text in texts:
        for key in keys_in(text, lambda label: bool(_named(label, columns))):
            mine = [one for one in _named(key.label, columns) if _held(key, one) >= _HELD]
            for column in mine:
                found.setdefault(column.name, dict(key.codes))
            if not mine:
                loose.append(key)
    for key in loose:
        for column in _meant(key, [one for one in columns if one.name not in found]):
            found[column.name] = dict(key.codes)
    return found


def _held(key: Key, column: Column) -> float:
    """Share of a column's cells that are codes of a key."""
    total = sum(column.counts.values())
    held = sum(times for cell, times in column.counts.items() if _plain(cell) in key.codes)
    return held / total if total else 0.0


def _plain(cell: str) -> str:
    return re.sub(r"[.,]0$", "", fold(cell))


def _named(label: str, columns: Sequence[Column]) -> list[Column]:
    """Columns that a label names: by its very words, else by what both mean."""
    own = _content(label)
    lettered = _COLUMN.search(flat(label))
    if lettered:
        return [column for column in columns if column.letter.casefold() == lettered.group(1)]
    if not own:
        return []
    scored = [(_likeness(own, column), column) for column in columns]
    best = max((score for score, _ in scored), default=0.0)
    if best > 0:
        return [column for score, column in scored if score == best]
    fields = [(naming_score(field, label)[0], field) for field in NAMINGS]
    told = {field for score, field in fields if score >= 0.6}
    return [
        column for column in columns if any(naming_score(field, column.header)[0] >= 0.5 for field in told)
    ]


def _content(text: str) -> list[str]:
    """Words of a name that say something."""
    return [word for word in words(text) if not senses(word) <= {"little", "code"} or not senses(word)]


def _likeness(own: Sequence[str], column: Column) -> float:
    """How nearly a column's name holds the words of a label: 0 when one is missing."""
    its = words(column.header)
    if list(own) == its:
        return 2.0
    if all(any(_begins(one, other) for other in its) for one in own):
        return 1.0 + len(own) / max(1, len(its))
    if its and all(any(_begins(one, other) for one in own) for other in _content(column.header) or its):
        return 1.0
    return 0.0


def _begins(one: str, other: str) -> bool:
    short, long = sorted((one, other), key=len)
    return one == other or (len(short) >= 3 and long.startswith(short))


_FIELDS_TOLD: Final = ("sex", "side", "type", "repair", "approach", "occurrence", "reason", "emergency")


def _meant(key: Key, columns: Sequence[Column]) -> list[Column]:
    """Columns that a key without a name of a column belongs to, by what its words mean."""
    if all(_yes_or_no(told) for told in key.codes.values()):
        return [column for column in columns if _held(key, column) >= 0.95]
    for field in _FIELDS_TOLD:
        meanings = [meaning_of(field, told) for told in key.codes.values()]
        kinds = {one for one in meanings if one not in (None, "", "unknown")}
        if None in meanings or len(kinds) < 2:
            continue
        named = [one for one in columns if naming_score(field, one.header)[0] >= 0.5]
        named = [one for one in named if _held(key, one) >= _HELD]
        if named:
            return named
    return []


def _yes_or_no(told: str) -> bool:
    first = parts(told)[:1]
    return bool(first) and bool(first[0].senses & {"yes", "no", "unknown", "not"}) and len(told) <= 20
