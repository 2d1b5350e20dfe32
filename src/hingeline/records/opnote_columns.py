"""Two columns side by side in a form, headed by the two sides: each cell speaks of the side that heads its column.

A header is a line that names left and right and nothing else but the table's own words; its rows run to the next empty
line, or to a line that is no row. Cells are parted by two blanks, a tab or an upright stroke, counted from the
right.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from typing import Final

from . import opnote_tags as t
from .opnote_scan import Sentence, Spot
from .opnote_text import LONGEST, Read

_HEADER: Final = re.compile(
    r"^[ \t|]*(?:(?:side|groin|hernia|findings?|item|field)?[ \t]*(?:[|\t:]|[ ]{2,})[ \t|]*)?"
    r"(left|right|lt|rt|l|r)(?:[ ](?:side|groin))?[ \t]*(?:[ ]{2}|[|\t])[ \t|]*"
    r"(left|right|lt|rt|l|r)(?:[ ](?:side|groin))?[ \t|]*$",
    re.IGNORECASE | re.MULTILINE,
)
_GAP: Final = re.compile(r"[ ]{2,}|[ ]*[\t|]+[ ]*")
WIDEST: Final = 120
"""Characters of the widest line that is taken for a header."""
_DENIES: Final = t.NO | t.NOT | t.ABSENT
_SIDES: Final = {"l": "left", "r": "right"}


def by_columns(read: Read, sentences: list[Sentence]) -> None:
    """Give the spots of a table's rows the side of their column."""
    text = read.text[:LONGEST]
    if "  " not in text and "|" not in text and "\t" not in text:
        return
    places: list[int] | None = None
    spots = [spot for sentence in sentences for spot in sentence.spots]
    start = 0
    for line in text.split("\n"):
        start += len(line) + 1
        sides = _headed(line)
        if sides:
            places = places or [read.spans[spot.first][0] for spot in spots]
            _rows(text, start, sides, spots, places)


def _headed(line: str) -> tuple[str, str] | None:
    """The two sides that head a line's columns; a long line is no header, which bounds the work of matching."""
    names = line.strip(" \t|\r")
    if len(names) > WIDEST or not names or not names[0].isalpha():
        return None
    header = _HEADER.match(names)
    if header is None:
        return None
    first, second = (_SIDES[name[0].lower()] for name in header.groups())
    return (first, second) if first != second else None


def _rows(text: str, start: int, sides: tuple[str, str], spots: list[Spot], places: list[int]) -> None:
    """Go through the rows below a header; the spots stand in the order of the text."""
    while start < len(text):
        end = text.find("\n", start)
        end = len(text) if end < 0 else end
        line = text[start:end].rstrip(" \t|\r")
        gaps = list(_GAP.finditer(line.lstrip(" \t|")))
        if len(gaps) < 2:
            return
        indent = len(line) - len(line.lstrip(" \t|"))
        first, second = (start + indent + gap.end() for gap in gaps[-2:])
        low, middle, high = (bisect_left(places, place) for place in (first, second, end))
        for side, cell in zip(sides, (spots[low:middle], spots[middle:high]), strict=True):
            denied = any(spot.tags & _DENIES for spot in cell)
            for spot in cell:
                spot.side, spot.told = side, True
                spot.negated = spot.negated and denied  # "none" in one cell denies nothing in the other
        start = end + 1
