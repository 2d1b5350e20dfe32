"""Words of column names and codes in eleven languages: a text comes in, what each of its words means goes out.

A name such as ``OPdatum``, ``date_of_surgery`` or ``Fecha IQ`` is parted into words and compounds, and each part is
looked up in the glossaries beside this module (common words of the trade in English, German, French, Spanish,
Italian, Dutch, Danish, Swedish, Norwegian, Portuguese and Polish; common practice, no source). What a part means is
a set of senses, since ``lat`` is a side, a lateral hernia or years.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, replace
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
        Plain letters, as they stand in the glossary or the name.
    senses : frozenset of str
        What it may mean; none when it is not known.
    clear : float
        1 for a known word, less for an abbreviation or a word that holds unknown letters.
    word : str
        The whole word that it is a part of.
    """

    text: str
    senses: frozenset[str]
    clear: float
    word: str = ""


@lru_cache(maxsize=20_000)
def parts(text: str) -> tuple[Part, ...]:
    """Part a name or a cell into words and say what each may mean."""
    found: list[Part] = []
    known, _, _ = _glossary()

    def taken(pair: re.Match[str]) -> str:
        sense = _SLASHED.get(flat(pair.group()))
        if sense is None:
            return pair.group()
        found.append(Part(flat(pair.group()), frozenset({sense}), 1.0))
        return " "

    listed = words(_SLASH.sub(taken, text[:400]))
    at = 0
    while at < len(listed):
        word = listed[at]
        # a letter before a word: ``f.dato``, ``M/F``, ``Ø-hjelp``
        joined = word + listed[at + 1] if at + 1 < len(listed) and len(word) == 1 else ""
        if joined in known:
            found.append(Part(joined, known[joined], 1.0))
            at += 2
            continue
        found.extend(replace(part, word=word) for part in _of_word(word))
        at += 1
    return tuple(found)


def senses(text: str) -> frozenset[str]:
    """Everything that the words of a text may mean."""
    return frozenset().union(*(part.senses for part in parts(text)))


_SLASH: Final = re.compile(r"(?<!\w)\w{1,2}/\w{1,2}(?!\w)")
_PAIRS: Final = {
    "side": "l/r r/l d/g g/d h/v v/h l/p p/l i/d d/i e/d d/e s/d d/s re/li li/re sx/dx dx/sx li/ri lt/rt rt/lt ri/le",
    "sex": "m/f f/m m/w w/m h/f f/h m/k k/m m/v v/m h/m m/h v/h_ k/m j/m g/j d/p p/f b/g",
    "occurrence": "p/r r/p",
    "urgency": "e/u u/e el/em em/el u/p p/u n/e pl/em",
    "approach": "o/l l/o",
    "little": "y/n n/y j/n n/j o/n n/o s/n n/s t/n n/t ja/ne 0/1 1/0 si/no",
}
_SLASHED: Final = {pair: sense for sense, pairs in _PAIRS.items() for pair in pairs.split()}
"""What two letters with a stroke between them tell of a column."""

_DOTTED: Final = re.compile(r"\b(?:[^\W\d_]\.){2,}")
"""Initials parted by points, such as ``D.O.B.``."""


def words(text: str) -> list[str]:
    """Plain words of a text: lower case, no accents, parted at marks, figures and inner capitals."""
    text = _DOTTED.sub(lambda found: found.group().replace(".", ""), text[:400])
    found = []
    for word in re.findall(r"[^\W\d_]+|[†]", re.sub(r"[’'ʼ`´]s\b", "", text)):
        plain = flat(word)
        if plain in _glossary()[0]:
            found.append(plain)
        else:
            found += [flat(part) for part in _CAPITALS.split(word)]
    return [word[:_LONGEST] for word in found]


_CAPITALS: Final = re.compile(r"(?<=[a-zà-ÿąćęłńóśźż])(?=[A-ZÀ-ÞĄĆĘŁŃÓŚŹŻ])|(?<=[A-Z]{2})(?=[A-Z][a-z]{3})")
"""Where a word begins inside another: ``opDate``, ``OPDatum``."""


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


def known_words() -> frozenset[str]:
    """Every word of the glossaries, plain."""
    return frozenset(_glossary()[0])


@lru_cache(maxsize=20_000)
def is_compound(word: str) -> bool:
    """Whether a word is made of known words and joints alone, or is a long known one with a short ending."""
    _, stems, starts = _glossary()
    whole = _parted(word, least=3, left_cost=None)
    if len(whole) > 1 and sum(len(one.text) >= 4 for one in whole) >= 2:
        return True
    return any(
        len(one) >= 5 and word.startswith(one) and len(word) - len(one) <= 3 and one in stems
        for one in starts.get(word[:2], ())
    )


def is_abbreviation(word: str, *, dotted: bool) -> bool:
    """Whether a word is the beginning of a known one: of three letters before a full stop, else of five."""
    _, stems, starts = _glossary()
    return len(word) >= (3 if dotted else 5) and any(
        one.startswith(word) and one in stems for one in starts.get(word[:2], ())
    )


@lru_cache(maxsize=20_000)
def _of_word(word: str) -> tuple[Part, ...]:
    known, stems, _ = _glossary()
    if word in known:
        return (Part(word, known[word], 1.0),)
    compound = _compound(word)
    if compound:
        return compound
    if len(word) >= _SHORTEST:
        # an abbreviation leaves out more than the ending
        begun = [one for one in stems if one.startswith(word) and len(one) >= len(word) + 2]
        if begun:
            return (Part(word, frozenset().union(*(known[one] for one in begun)), 0.75),)
    return (Part(word, frozenset(), 0.0),)


def _compound(word: str) -> tuple[Part, ...]:
    """Part a word into known ones: without a letter left over, else into long ones with the fewest left over."""
    whole = _parted(word, least=2, left_cost=None)
    found = _parted(word, least=4, left_cost=1.0)
    longer = _longest(found) >= _longest(whole) + 2 and word.startswith(found[0].text)
    if whole and not longer and (len(word) <= 6 or _longest(whole) >= 4):
        return whole
    covered = sum(len(one.text) for one in found)
    single = len(found) == 1
    if not found or (single and not _inflected(word, found[0].text)):
        return whole
    if covered < (0.4 if single and word.startswith(found[0].text) else 0.55) * len(word):
        return whole
    clear = 1.0 - 0.4 * (len(word) - covered) / len(word)
    return tuple(Part(one.text, one.senses, clear) for one in found)


def _longest(found: tuple[Part, ...]) -> int:
    return max((len(one.text) for one in found), default=0)


_SHORT_PARTS: Final = frozenset(
    {"op", "ok", "fu", "pt", "id", "nr", "no", "dt", "yn", "mm", "cm", "kg", "mo", "yr"}
)
"""Words of two letters that stand in longer compounds."""

_LINKS: Final = ("s", "n", "e", "o", "en", "es", "er", "ns", "i", "a")
"""Letters that join the parts of a compound."""


def _parted(word: str, *, least: int, left_cost: float | None) -> tuple[Part, ...]:
    """Part a word at the least cost; `left_cost` of a letter left over, None when only joints may be."""
    known, stems, starts = _glossary()
    length = len(word)
    far = 1e9
    best: list[tuple[float, str, int]] = [(far, "", 1)] * length + [(0.0, "", 0)]
    for at in range(length - 1, -1, -1):
        cost, taken, step = far, "", 1
        if left_cost is not None:
            # letters left over at the beginning make another word; at the end they are an inflection
            cost = best[at + 1][0] + left_cost * (6.0 if at == 0 else 1.0)
        elif 0 < at < length:
            for link in _LINKS:
                if word.startswith(link, at) and at + len(link) < length:
                    own = best[at + len(link)][0] + 0.6 * len(link)
                    if own < cost:
                        cost, taken, step = own, "", len(link)
        for one in starts.get(word[at : at + 2], ()):
            if len(one) < least or not word.startswith(one, at):
                continue
            if len(one) < 3 and length > 6 and one not in _SHORT_PARTS:
                continue
            if left_cost is not None and one not in stems and at + len(one) < length:
                continue  # a word that is taken only as a whole begins no other
            own = best[at + len(one)][0] + (1.0 if len(one) < 4 else 0.4) + (0.0 if one in stems else 0.3)
            if own < cost:
                cost, taken, step = own, one, len(one)
        best[at] = (cost, taken, step)
    if best[0][0] >= far:
        return ()
    found: list[Part] = []
    at = 0
    while at < length:
        _, taken, step = best[at]
        if taken:
            found.append(Part(taken, known[taken], 1.0))
        at += step
    return tuple(found)


def _inflected(word: str, stem: str) -> bool:
    """Whether a word is a known stem with an ending, or ends in a known long word."""
    _, stems, _ = _glossary()
    if stem not in stems:
        return False
    return word.startswith(stem) or (word.endswith(stem) and len(stem) >= 5)
