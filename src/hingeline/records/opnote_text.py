"""An operation note's text to words with their places: lower case, one spelling, and where each stood.

The places always slice the text as it was given, whatever ligatures, accents or invisible characters were made plain
on the way. Line breaks, punctuation and tick boxes are words too, since they end a scope or choose an answer.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from itertools import accumulate, compress
from operator import add
from typing import Final

from .opnote_marks import TICKED, UNTICKED
from .opnote_spelling import CANON

LONGEST: Final = 20_000
"""Characters read of one note; the longest dictated notes have some 8,000 (common practice, no source)."""

_ALIKE: Final = str.maketrans(
    {
        "’": "'", "‘": "'", "`": "'", "´": "'", "ʼ": "'", "“": '"', "”": '"', "–": "-", "—": "-", "−": "-", "‐": "-",
        "‑": "-", "\u00a0": " ", "\u202f": " ", "\t": " ", "\x0b": "\n", "\x0c": "\n", "\u2028": "\n",
        "☒": TICKED, "✓": TICKED, "✔": TICKED, "✅": TICKED, "■": TICKED, "◉": TICKED, "●": TICKED, "🗹": TICKED,
        "🗷": TICKED, "⊠": TICKED, "☑": TICKED, "□": UNTICKED, "◯": UNTICKED, "○": UNTICKED, "▢": UNTICKED,
        "❑": UNTICKED, "❏": UNTICKED, "•": "*", "·": "*", "▪": "*", "…": ".", "\x00": " ",
    }
)  # fmt: skip

_REST: Final = (
    r"| ?(?:\d+(?:[.,]\d+)*"
    r"|\n(?:[ ]*\n)*"
    r"|[\[(](?:[ _.-]{0,3}|[ ]?(?:x{1,2}|✗|✘|✕|×|☑|\*|\+)[ ]?)[\])]"
    r"|_+(?:x|☑)_+|_{2,}|::+|--+|[^\w\s]|\s|.)"
)
_WORD: Final = re.compile(r" ?[^\W\d_][^\W_]*(?:'[a-z]+)?" + _REST, re.DOTALL)
"""A word, a number, line breaks, a box in brackets, a mark, each with one blank before it; or a blank alone. No part
can be read in two ways: time grows with length."""
_PLAIN_WORD: Final = re.compile(r" ?[a-z][a-z0-9]*(?:'[a-z]+)?| ?[.,;?!/)]" + _REST, re.DOTALL | re.ASCII)
"""The same for text of ASCII letters alone, which is quicker to match."""


@dataclass(frozen=True, slots=True)
class Read:
    """A note as words.

    Attributes
    ----------
    text : str
        The note as it was given.
    words : list of str
        Lower case, one spelling; ``"\\n"`` is a line break, ``"\\n\\n"`` an empty line.
    spans : list of (int, int)
        Where each word stands in `text`.
    cut : bool
        Whether the note was longer than what is read.
    """

    text: str
    words: list[str]
    spans: list[tuple[int, int]]
    cut: bool


def read_words(text: str) -> Read:
    """Part a note into words and keep their places."""
    cut = len(text) > LONGEST
    part = text[:LONGEST] if cut else text
    if "\r" in part:
        part = part.replace("\r\n", " \n").replace("\r", "\n")
    if part.isascii():
        plain, places = part.lower(), None
        if "\t" in plain or "\x00" in plain or "`" in plain:
            plain = plain.translate(_ALIKE)
    else:
        plain, places = _plain(part)
    # every letter falls to some piece, so that the pieces' lengths add up to their places; a blank is spelt "" and
    # falls away
    pieces = (_PLAIN_WORD if plain.isascii() else _WORD).findall(plain)
    spelt = list(map(CANON.__getitem__, pieces))
    ends = list(accumulate(map(len, pieces)))
    starts = map(add, [0, *ends], [piece[0] == " " for piece in pieces])
    spans = list(compress(zip(starts, ends, strict=True), spelt))
    words = list(filter(None, spelt))
    if places is not None:
        spans = [(places[start], places[end - 1] + 1) for start, end in spans]
    if " " in "".join(words):
        words, spans = _parted(words, spans)
    return Read(text, words, spans, cut)


def _plain(text: str) -> tuple[str, list[int] | None]:
    """Lower-case text of one spelling, and the place in `text` of each of its characters when they shift."""
    swapped = text.translate(_ALIKE).lower()
    if (
        len(swapped) == len(text)
        and unicodedata.is_normalized("NFKC", swapped)
        and swapped.replace("\n", " ").isprintable()
    ):
        return swapped, None
    letters: list[str] = []
    places: list[int] = []
    for place, letter in enumerate(text.translate(_ALIKE)):
        for one in unicodedata.normalize("NFKD", letter).lower():
            if unicodedata.combining(one) or unicodedata.category(one) == "Cf":
                continue
            letters.append(one)
            places.append(place)
    return "".join(letters), places


def _parted(words: list[str], spans: list[tuple[int, int]]) -> tuple[list[str], list[tuple[int, int]]]:
    """Part words whose space was missing; both halves keep the place of the whole."""
    apart: list[str] = []
    places: list[tuple[int, int]] = []
    for word, span in zip(words, spans, strict=True):
        halves = word.split(" ") if len(word) > 1 else [word]
        apart.extend(halves)
        places.extend([span] * len(halves))
    return apart, places
