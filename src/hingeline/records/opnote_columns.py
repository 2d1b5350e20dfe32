"""Two columns side by side in a form, headed by the two sides: each cell speaks of the side that heads its column.

A header is a line that names left and right and nothing else but the table's own words; its rows run to the next empty
line, or to a line that is no row. Cells are parted by two blanks, a tab or an upright stroke, and counted from the right.
"""

from __future__ import annotations

import re
from typing import Final

from .opnote_scan import Sentence
from .opnote_text import Read

_HEADER: Final = re.compile(
    r"^[ \t|]*(?:(?:side|groin|hernia|findings?|item|field)?[ \t]*(?:[|\t:]|[ ]{2,})[ \t|]*)?"
    r"(left|right|lt|rt|l|r)(?:[ ](?:side|groin))?[ \t]*(?:[ ]{2}|[|\t])[ \t|]*"
    r"(left|right|lt|rt|l|r)(?:[ ](?:side|groin))?[ \t|]*$",
    re.IGNORECASE | re.MULTILINE,
)
_GAP: Final = re.compile(r"[ ]{2,}|[ ]*[\t|]+[ ]*")
_SIDES: Final = {"l": "left", "r": "right"}


def by_columns(read: Read, sentences: list[Sentence]) -> None:
    """Give the spots of a table's rows the side of their column."""
    if "  " not in read.text and "|" not in read.text and "\t" not in read.text:
        return
    for header in _HEADER.finditer(read.text):
        first, second = (_SIDES[name[0].lower()] for name in header.groups())
        if first != second:
            _rows(read, sentences, header.end() + 1, (first, second))


def _rows(read: Read, sentences: list[Sentence], start: int, sides: tuple[str, str]) -> None:
    """Go through the rows below a header."""
    text = read.text
    while start < len(text):
        end = text.find("\n", start)
        end = len(text) if end < 0 else end
        line = text[start:end].rstrip(" \t|\r")
        gaps = list(_GAP.finditer(line.lstrip(" \t|")))
        if len(gaps) < 2:
            return
        indent = len(line) - len(line.lstrip(" \t|"))
        cells = (start + indent + gaps[-2].end(), start + indent + gaps[-1].end())
        for sentence in sentences:
            for spot in sentence.spots:
                place = read.spans[spot.first][0]
                if cells[0] <= place < end:
                    spot.side, spot.told = sides[place >= cells[1]], True
        start = end + 1
