"""Which cells of a coded column are codes, so that they may be shown: all others could name somebody.

A cell comes in; whether it is plainly a code goes out. A code is made of words that the glossaries know (the trade's
words in eleven languages, the words of operation notes, the names of repairs), of a classification's codes, of EHS
codes, or of a few letters and figures. A name in small letters, a record's number or a postcode is none of these.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import Final

from .header_words import is_abbreviation, is_compound, known_words
from .identifier_words import EPONYMS, flat
from .identifier_words import words as plain_set

_LONGEST: Final = 48
_WORD: Final = re.compile(r"[^\W\d_]+")
_FIGURES: Final = re.compile(r"\d+")
_FEW_LETTERS: Final = 3
"""Letters of words that nobody knows which a code may hold: initials and short codes of a hospital's own."""

_FEW_FIGURES: Final = 2
"""Figures that a code may hold beside its words; a record's number, a year and a postcode have more."""

_CLASSIFIED: Final = re.compile(
    r"(?<![^\W_])(?:"
    r"[KNPQT]\d{2}(?:\.\d{1,3})?[GVLRB]?"  # ICD-10, with the mark of certainty or side that some add
    r"|55[0-3]\.\d{1,2}|53\.\d{1,2}"  # ICD-9-CM, diseases and procedures
    r"|5-53[0-9](?:\.[0-9a-z]{1,3})?"  # OPS
    r"|T(?:19|2[0-7])(?:\.?\d)?|Z94\.?\d"  # OPCS-4, with its dot or without
    r"|49[4-6]\d\d"  # CPT, hernia repairs
    r"|LMM[A-Z]\d{3}"  # CCAM
    r"|JA[A-H]\d\d"  # NCSP
    r"|[PR]?(?:[LMF][0-3X]){1,3}"  # EHS
    r"|[IVX]{1,4}[ABC]?"  # grades in Roman figures
    r")(?![^\W_])",
    re.IGNORECASE,
)
"""Codes of public classifications and grades, in the chapters that hold hernias, testes and their operations."""


_POSTCODE: Final = re.compile(r"\b[A-Z]{1,2}\d[A-Z\d]? ?\d[A-Z]{2}\b", re.IGNORECASE)
"""A place in Britain: an outward and an inward part."""


@lru_cache(maxsize=50_000)
def is_plain_code(cell: str) -> bool:
    """Whether a cell is plainly a code, of which everything may be shown."""
    if len(cell) > _LONGEST or _POSTCODE.search(cell):
        return False
    rest = _CLASSIFIED.sub(" ", cell)
    if sum(map(len, _FIGURES.findall(rest))) > _FEW_FIGURES:
        return False
    unknown = 0
    for word in _WORD.finditer(rest):
        dotted = rest[word.end() : word.end() + 1] == "."
        if not is_known_word(word.group(), dotted=dotted):
            # short names stand in small letters behind a capital; codes of three letters in capitals
            unknown += len(word.group()) + (len(word.group()) > 2 and not word.group().isupper())
    return unknown <= _FEW_LETTERS


_STEMS: Final = re.compile(
    r"(?:laparos[ck]|coeliosc|endosc|pa?ediatr|in?complet|complet|offen|extern|estern|intern|anterior|posterior|kombin|combin|inguin|s[ck]rot|femoral|femoris|leistenhern|liesbreuk|"
    r"indire[ck]?t|dire[ck]?t|obli[qk]u|net[tz]?plasti|natplasti|hernioplasti|re[cz]idiv|recurr|perkutan|percutan|"
    r"coelioscopi|mitverschl|verschl|framre|bakre)[a-z]{0,10}|cir|chir|paeds|peds"
)
"""Words of the trade with whatever ending."""


def is_known_word(word: str, *, dotted: bool = False) -> bool:
    """Whether a word is one of the trade's, whole, inflected, shortened, or a compound of such words."""
    parts = re.findall(r"[A-ZÀ-Þ]?[^\W\d_A-ZÀ-Þ]+|[A-ZÀ-Þ]+", word) if not word.isupper() else [word]
    whole = flat(word)
    return _known(whole, dotted) or (len(parts) > 1 and all(_known(flat(part), False) for part in parts))


def _known(plain: str, dotted: bool) -> bool:
    return (
        plain in _every_word()
        or bool(_STEMS.fullmatch(plain))
        or is_compound(plain)
        or is_abbreviation(plain, dotted=dotted)
        or _is_misspelt(plain)
    )


_SEE: Final = plain_set(
    "siehe bericht brief akte unklar fraglich voir compte rendu dossier lettre ver informe carta vedi referto lettera "
    "zie verslag se journal brev notat relatorio zob opis letter report file folder remark enclosed attached ask"
)
"""Words by which a cell sends its reader elsewhere."""


def _is_misspelt(plain: str) -> bool:
    """Whether one letter too many, too few or another makes it a long word of the trade, with the same beginning."""
    return len(plain) >= _LONG - 1 and not _shorter(plain).isdisjoint(_nearly())


_LONG: Final = 7
"""Letters from which a word is so long that hardly a name is one letter off it."""


def _shorter(plain: str) -> set[str]:
    """Return the word, and the word without each of its letters but the first two."""
    return {plain, *(plain[:at] + plain[at + 1 :] for at in range(2, len(plain)))}


@cache
def _nearly() -> frozenset[str]:
    return frozenset(one for word in known_words() if len(word) >= _LONG for one in _shorter(word))


@cache
def _every_word() -> frozenset[str]:
    from .excerpt import spoken  # the reader's own words, which no other command needs

    return known_words() | spoken() | EPONYMS | _SEE
