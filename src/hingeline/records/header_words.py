"""Words of column names and codes in eleven languages: a text comes in, what each of its words means goes out.

A name such as ``OPdatum``, ``date_of_surgery`` or ``Fecha IQ`` is parted into words and compounds, and each part is
looked up in the glossaries beside this module (common words of the trade in English, German, French, Spanish,
Italian, Dutch, Danish, Swedish, Norwegian, Portuguese and Polish; common practice, no source). What a part means is
a set of senses, since ``lat`` is a side, a lateral hernia or years.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final

from .header_words_body import BODY
from .header_words_operation import OPERATION
from .header_words_other import OTHER
from .header_words_outcome import OUTCOME
from .identifier_words import flat

_SHORTEST: Final = 3
"""Letters from which a beginning of a known word is taken for its abbreviation."""

_LONGEST: Final = 60
"""Letters of a word that are looked at; a longer one is no column's name."""


@dataclass(frozen=True)
class Part:
    """A word, or a part of a compound.

    Attributes
    ----------
    text : str
        Plain letters, as they stand in the name.
    senses : frozenset of str
        What it may mean; none when it is not known.
    clear : float
        1 for a known word, less for an abbreviation or a word that holds unknown letters.
    """

    text: str
    senses: frozenset[str]
    clear: float


@lru_cache(maxsize=20_000)
def parts(text: str) -> tuple[Part, ...]:
    """Part a name or a cell into words and say what each may mean."""
    found: list[Part] = []
    for word in words(text):
        found.extend(_of_word(word))
    return tuple(found)


def senses(text: str) -> frozenset[str]:
    """Everything that the words of a text may mean."""
    return frozenset().union(*(part.senses for part in parts(text)))


def words(text: str) -> list[str]:
    """Plain words of a text: lower case, no accents, parted at marks, figures and inner capitals."""
    text = text[:400]
    apart = re.sub(r"(?<=[a-zà-ÿąćęłńóśźż])(?=[A-ZÀ-ÞĄĆĘŁŃÓŚŹŻ])", " ", text)
    apart = re.sub(r"(?<=[A-Z]{2})(?=[A-Z][a-z]{3})", " ", apart)
    plain = re.sub(r"[’'ʼ`´]s\b", "", flat(apart))
    return [word[:_LONGEST] for word in re.findall(r"[^\W\d_]+", plain)]


@cache
def _glossary() -> tuple[dict[str, frozenset[str]], frozenset[str], dict[str, tuple[str, ...]]]:
    """Known words with their senses, those that also begin longer words, and words by their first letters."""
    known: dict[str, set[str]] = defaultdict(set)
    stems: set[str] = set()
    for glossary in (BODY, OPERATION, OUTCOME, OTHER):
        for sense, listed in glossary.items():
            for word in listed.split():
                plain = flat(word.removeprefix("="))
                known[plain].add(sense)
                if not word.startswith("="):
                    stems.add(plain)
    starts: dict[str, list[str]] = defaultdict(list)
    for word in known:
        starts[word[:2]].append(word)
    ordered = {start: tuple(sorted(each, key=len, reverse=True)) for start, each in starts.items()}
    return {word: frozenset(each) for word, each in known.items()}, frozenset(stems), ordered


@lru_cache(maxsize=20_000)
def _of_word(word: str) -> tuple[Part, ...]:
    known, stems, _ = _glossary()
    if word in known:
        return (Part(word, known[word], 1.0),)
    compound = _compound(word)
    if compound:
        return compound
    if len(word) >= _SHORTEST:
        begun = [one for one in stems if one.startswith(word)]
        if begun:
            return (Part(word, frozenset().union(*(known[one] for one in begun)), 0.75),)
    return (Part(word, frozenset(), 0.0),)


def _compound(word: str) -> tuple[Part, ...]:
    """Part a word into known ones with the fewest letters left over; nothing when too many are."""
    known, stems, starts = _glossary()
    length = len(word)
    # cost of the rest from each place on, with the part taken there ("" for a letter left over)
    best: list[tuple[float, str]] = [(0.0, "")] * (length + 1)
    for at in range(length - 1, -1, -1):
        # letters left over at the beginning make another word; at the end they are an inflection
        cost = best[at + 1][0] + (3.0 if at == 0 else 1.0)
        taken = ""
        for one in starts.get(word[at : at + 2], ()):
            if not word.startswith(one, at):
                continue
            whole = one not in stems
            after = best[at + len(one)][0]
            own = after + (1.0 if len(one) < 4 else 0.2) + (0.5 if whole else 0.0)
            if len(one) < 4 and at > 0 and at + len(one) < length:
                own += 2.0  # short words stand at either end of a compound
            if own < cost:
                cost, taken = own, one
        best[at] = (cost, taken)
    found: list[Part] = []
    at = left = 0
    while at < length:
        taken = best[at][1]
        if taken:
            found.append(Part(taken, known[taken], 1.0))
            at += len(taken)
        else:
            left += 1
            at += 1
    if not found or left > 0.45 * length or (len(found) == 1 and not _inflected(word, found[0].text)):
        return ()
    clear = 1.0 - 0.5 * left / length
    return tuple(Part(one.text, one.senses, clear) for one in found)


def _inflected(word: str, stem: str) -> bool:
    """Whether a word is a known stem with an ending, or ends in a known long word."""
    _, stems, _ = _glossary()
    if stem not in stems:
        return False
    return (word.startswith(stem) and len(stem) >= 4) or (word.endswith(stem) and len(stem) >= 5)
