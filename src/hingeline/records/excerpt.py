"""An excerpt of an operation note for the person who is to settle it: its words around those that decided.

A text and the places of the deciding words come in; at most 300 characters go out, with dates, numbers that could be
a person's and words that could be names masked. A mask too many does no harm: the note itself lies in the file.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import Final

from . import identifier_words as known
from .identifier_cells import shown
from .identifier_words import flat

LONGEST: Final = 300
_AROUND: Final = 60
"""Characters kept on either side of words that decided: about a sentence."""

_MASK: Final = "[…]"
_EMAIL: Final = re.compile(r"(?<![^\s@])[^\s@]{1,64}@[^\s@]+")
_FIGURES: Final = re.compile(r"[+(]?\d[\d\s().:/-]{3,}\d")
_FEW: Final = re.compile(r"^\d{1,3}\s?-\s?\d{1,3}$|^\d-\d$")
_TITLE: Final = re.compile(
    r"\b(?i:dr|mr|mrs|ms|miss|prof|professor|surgeon|operator|assistant|assist|anaesthetist|anesthetist|consultant|"
    r"registrar|nurse|sister|patient|name|pt|chirurg|assistent|operateur|oberarzt|herr|frau|signed|dictated by|by)"
    r"\b\.?:?\s*((?:[A-ZÀ-ÞŠŽ][\w'’.-]*[ ,]*){1,4})"
)
_WORD: Final = re.compile(r"[^\W\d_](?:[^\W\d_]|['’-])*")


def excerpt(text: str, places: Sequence[tuple[int, int]], longest: int = LONGEST) -> str:
    """Write the part of a note around some places, identifiers masked.

    Parameters
    ----------
    text : str
    places : sequence of (int, int)
        Start and end of words in `text`; none: its beginning.
    longest : int
        Characters at most.
    """
    masked = _masked(text)
    kept: list[list[int]] = []
    for start, end in sorted(places) or [(0, min(len(text), longest))]:
        begin, stop = max(0, start - _AROUND), min(len(text), end + _AROUND)
        if kept and begin <= kept[-1][1]:
            kept[-1][1] = max(kept[-1][1], stop)
        else:
            kept.append([begin, stop])
    pieces = []
    for begin, stop in kept:
        piece = "".join(masked[begin:stop])
        pieces.append(f"{'… ' if begin else ''}{piece.strip()}")
    written = " ".join(shown(" ".join(pieces)).split())
    return written if len(written) <= longest else written[: longest - 1].rstrip() + "…"


def _masked(text: str) -> list[str]:
    """Characters of the text; of a masked stretch the first is the mask and the others are nothing."""
    letters = list(text)

    def hide(start: int, end: int) -> None:
        letters[start:end] = [_MASK, *[""] * (end - start - 1)]

    for word in _WORD.finditer(text):
        if _could_name(text, word):
            hide(*word.span())
    for pattern in (_EMAIL, _FIGURES):
        for found in pattern.finditer(text):
            if not _FEW.match(found.group()):
                hide(*found.span())
    for found in _TITLE.finditer(text):
        name = found.group(1).rstrip(" ,.")
        if name and not _clinical(name.split()[0]):
            hide(found.start(1), found.start(1) + len(name))
    return letters


def _clinical(word: str) -> bool:
    return bool(known.CLINICAL.search(flat(word)))


def _could_name(text: str, word: re.Match[str]) -> bool:
    """Whether a word could be somebody's name: a common one, or one with a capital that notes do not use."""
    written, plain = word.group(), flat(word.group())
    if not written[0].isupper() or plain in known.EPONYMS or _clinical(written):
        return False
    if plain in known.GIVEN or plain in known.SURNAMES:
        return True
    return not written.isupper() and len(written) >= 3 and plain not in spoken()


@cache
def spoken() -> frozenset[str]:
    """Words that notes use, names of nobody."""
    from .opnote_phrases import VOCABULARY

    return _COMMON | frozenset(map(flat, VOCABULARY))


_COMMON: Final = known.words(
    "the this that there then these those it its a an and or but no not none nil never cannot could can may might must "
    "was were is are be been being has had have did does do done under over after before during on in into at by from "
    "for with within without through to of off up down as also again both each either neither all any some only one "
    "two three four five first second third small large wide narrow thin thick long short big tiny huge old new good "
    "bad poor strong weak normal found seen looked felt noted very quite rather well still even because since when "
    "while where which who what how if so than more most less least few many much other another same different next "
    "last previous routine day case baby boy girl child infant man woman male female patient skin muscle layer layers "
    "closed opened closure entered taken placed used given made kept left went gone came put cut tied freed cleared "
    "followed delivered returned reduced checked washed dressed discharge home review clinic plan notes note summary"
)
"""Common words with which a sentence may begin."""
