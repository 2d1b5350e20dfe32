"""Small questions about the words of a cell: does it say that nothing is known, is a word of it denied?"""

from __future__ import annotations

import re

from .header_words import parts
from .identifier_words import flat


def is_unknown(text: str, bag: frozenset[str]) -> bool:
    """Whether a cell says that something is not known: ``n.b.``, ``not stated``, ``siehe Brief``."""
    found = parts(text)
    beside = {"unknown", "little", "known", "not", "told", "type", "view"}
    saying = "unknown" in bag or "told" in bag or {"not", "known"} <= bag
    return bool(found) and saying and all(part.senses & beside for part in found)


def is_negated(text: str, sense: str) -> bool:
    """Whether the word before one of a sense denies it: ``not examined``, ``ohne Netz``."""
    found = parts(text)
    for at, part in enumerate(found):
        if sense in part.senses and at and found[at - 1].senses & {"not"}:
            return True
        if sense in part.senses and re.match(r"(?:non|un|in)[a-z]{5}", part.text) and "not" in part.senses:
            return True
    return bool(
        re.search(
            r"\b(?:non|un|nicht|ikke|niet|ej|nie)[ -]?(?:examin|explor|esplor|mesh|untersuch)", flat(text)
        )
    )
