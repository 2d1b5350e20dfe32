"""What the spots of a sentence say of type, repair and the rest: one piece of evidence each, with its words.

Type words and codes say it outright; places say it too (lateral or medial to the epigastric vessels, through the deep
ring, in the floor), and so does what is sound or shut. How much a piece weighs is its grade, where it stands its tier.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from .opnote_scan import Sentence, Spot

OUTRIGHT: Final = 3
PLACED: Final = 2
INFERRED: Final = 1

OPERATIVE: Final = 3
TITLE: Final = 2
BEFORE: Final = 1
NOTHING: Final = 0

_TIERS: Final = {
    "": OPERATIVE,
    "findings": OPERATIVE,
    "procedure": OPERATIVE,
    "title": TITLE,
    "postop": TITLE,
    "before": BEFORE,
}


class Evidence(NamedTuple):
    """One thing that the note says of a groin."""

    field: str
    value: str
    positive: bool
    sure: bool
    grade: int
    tier: int
    side: str
    told: bool
    first: int
    after: int


def tier_of(sentence: Sentence) -> int:
    """How much the section of a sentence tells of what was found and done."""
    if sentence.section == "title" and not sentence.lead:
        return OPERATIVE
    return _TIERS.get(sentence.section, NOTHING)


class Clause:
    """A sentence on its way to evidence."""

    __slots__ = ("found", "spots", "tags", "tier", "words")

    def __init__(self, sentence: Sentence, words: list[str], found: list[Evidence]) -> None:
        self.spots = sentence.spots
        self.tags = sentence.tags
        self.words = words
        self.tier = tier_of(sentence)
        self.found = found

    def say(
        self, field: str, value: str, spot: Spot, grade: int, *, upto: Spot | None = None, flip: bool = False
    ) -> None:
        """Add a piece of evidence that rests on one spot, or on two."""
        other = upto if upto is not None else spot
        when = spot.when if spot.when != "now" else other.when
        if when in ("past", "maybe") or not (spot.alive and other.alive):
            return
        positive = not (spot.negated or other.negated)
        if when == "search" and positive:
            return
        tier = min(self.tier, BEFORE) if when == "before" else self.tier
        self.found.append(
            Evidence(
                field,
                value,
                positive != flip,
                not (spot.unsure or other.unsure),
                grade,
                tier,
                other.side or spot.side,
                other.told or spot.told,
                min(spot.first, other.first),
                max(spot.after, other.after),
            )
        )

    def between(self, one: Spot, other: Spot) -> list[str]:
        """Words between two spots, whichever comes first."""
        if one.after <= other.first:
            return self.words[one.after : other.first]
        return self.words[other.after : one.first]
