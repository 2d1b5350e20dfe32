"""Templated notes: what an unticked box governs is blotted out, so that only chosen answers are read.

A box may stand before its answer (``☐ direct ☒ indirect``) or after it (``direct ☐ indirect ☒``); each line tells by
its own ends. "Yes / No" and "direct / indirect / femoral" with nothing chosen tell nothing and are blotted out too.
"""

from __future__ import annotations

from typing import Final

from .opnote_marks import TICKED, UNTICKED

BLOT: Final = "\u00b6"
"""Stands where a word was that a form did not choose."""

_YES: Final = frozenset(("yes", "y"))
_NO: Final = frozenset(("no", "n"))
_KINDS: Final = frozenset(
    ("direct", "indirect", "femoral", "pantaloon", "combined", "lateral", "medial", "sliding")
)
_PAIRS: Final = frozenset(
    frozenset(pair.split())
    for pair in (
        "yes no",
        "y n",
        "primary recurrent",
        "left right",
        "open laparoscopic",
        "absent present",
        "no yes",
    )
)
_BOXES: Final = frozenset((TICKED, UNTICKED))


def chosen(words: list[str]) -> list[str]:
    """Words with what was not chosen blotted out; the same list when the note is no form."""
    boxed = TICKED in words or UNTICKED in words
    if not boxed and "/" not in words:
        return words
    filled = list(words)
    if boxed:
        _boxes(filled)
    _slashes(filled)
    return filled


def _boxes(words: list[str]) -> None:
    """Blot out the answers of unticked boxes, line by line."""
    start = 0
    count = len(words)
    while start < count:
        end = start
        while end < count and words[end][0] != "\n":
            end += 1
        places = [i for i in range(start, end) if words[i] in _BOXES]
        if places:
            _line(words, start, end, places)
        start = end + 1


def _line(words: list[str], start: int, end: int, places: list[int]) -> None:
    """One line of a form."""
    last = end - 1
    while last > start and words[last] in (".", ",", ";"):
        last -= 1
    first_label = max((i for i in range(start, places[0]) if words[i] == ":"), default=start - 1)
    after = words[last] in _BOXES and any(words[i][0].isalpha() for i in range(first_label + 1, places[0]))
    for order, place in enumerate(places):
        if after:
            low = places[order - 1] + 1 if order else first_label + 1
            high = place
        else:
            low = place + 1
            high = places[order + 1] if order + 1 < len(places) else end
            # a label between two boxes ("☐ yes ☒ no  Side: ☐ left") belongs to what follows
            colon = next((i for i in range(low, high) if words[i] == ":"), None)
            if colon is not None and order + 1 < len(places):
                high = max(low + 1, colon - 2)
        if words[place] == UNTICKED:
            words[place] = BLOT
            for i in range(low, high):
                words[i] = BLOT
        else:
            words[place] = ":" if _answers(words, low, high) else ","


def _answers(words: list[str], low: int, high: int) -> bool:
    """Whether a ticked answer is a bare yes or no, which speaks of the label before it."""
    told = [word for word in words[low:high] if word[0].isalpha()]
    return bool(told) and (told[0] in _YES or told[0] in _NO)


def _slashes(words: list[str]) -> None:
    """Blot out "yes / no" and lists of types between which nobody chose."""
    count = len(words)
    at = 0
    while at + 2 < count:
        if words[at + 1] == "/":
            one, other = words[at], words[at + 2]
            if frozenset((one, other)) in _PAIRS:
                words[at] = words[at + 1] = words[at + 2] = BLOT
            elif one in _KINDS and other in _KINDS:
                end = at + 2
                while end + 2 < count and words[end + 1] == "/":
                    end += 2
                kept = words[at - 1] in ("combined", "both", "no", "of", "or", "without") if at else False
                if not kept:
                    for i in range(at, min(end + 1, count)):
                        words[i] = BLOT
                at = end
        at += 1
