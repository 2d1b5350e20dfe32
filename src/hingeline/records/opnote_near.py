"""What stands near a spot within its own sentence, and whether what it names was done before today.

A year or a childhood beside a named repair tells of an earlier operation.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import Clause
from .opnote_scan import Spot

SACS: Final = t.mask("sac ring bare_ring pv ppv")
ENDS: Final = frozenset((".", ";", "\n", "\n\n"))
STITCHES: Final = frozenset(("suture", "sewn", "stitch"))
_CHILDHOOD: Final = frozenset(("childhood", "infancy", "toddler", "ago", "child"))


def stretch(words: list[str], spot: Spot, ahead: int, behind: int, last: Spot | None = None) -> list[str]:
    """Words around a spot, or around two, within its sentence."""
    start, end = spot.first, (last or spot).after
    low, high = max(0, start - ahead), min(len(words), end + behind)
    while start > low and words[start - 1] not in ENDS:
        start -= 1
    while end < high and words[end] not in ENDS:
        end += 1
    return words[start:end]


def dated(clause: Clause, spot: Spot) -> bool:
    """Whether a year or a childhood beside a named repair tells that it was done before: "Bassini '04"."""
    words = clause.words
    beside = words[spot.after : spot.after + 5]
    for place, word in enumerate(beside[:3]):
        if len(word) == 4 and word.isdigit() and "1940" <= word <= "2040":
            dated = beside[place - 1] if place else ""
            return dated not in (".", "/", ":", "\n")
        if word == "'" and beside[place + 1 : place + 2] and beside[place + 1].isdigit():
            return True
    near = {*words[max(0, spot.first - 7) : spot.first], *beside}
    if "\n" in near or _CHILDHOOD.isdisjoint(near):
        return False
    return bool(clause.tags & (t.RECURRENT | t.PAST)) or "same" in near or "ago" in near
