"""Small things that the parts of the note reader share: the two marks of a tick box, and lists of words."""

from __future__ import annotations

from typing import Final

TICKED: Final = "☑"
UNTICKED: Final = "☐"


def listed(words: str) -> frozenset[str]:
    """Words of a table's line as a set."""
    return frozenset(words.split())
