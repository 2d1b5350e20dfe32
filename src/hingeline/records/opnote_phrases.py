"""The tables of `opnote_lexicon` and `opnote_triggers` made into one tree of words that is walked once a note.

A phrase in several tables carries the tags of all. Articles and hyphens are passed over inside a phrase.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from typing import Any, Final

from .opnote_headings import HEADINGS, KINDS
from .opnote_lexicon import ANATOMY, REPAIRS, SAME, TYPES
from .opnote_tags import mask
from .opnote_triggers import SIDES, TRIGGERS

SKIPPED: Final = frozenset(("the", "a", "an", "-", "any"))
SHORTENED: Final = frozenset(
    ("post", "inferior", "internal", "external", "inguinal", "ant", "fem", "epig", "ext")
)
"""Words of one spelling whose full stop, inside a phrase, is an abbreviation's."""
TAGS: Final = ""
"""Key of a node at which a phrase may end; its value holds the tags."""

_SPELT: Final = {variant: word for word, variants in SAME.items() for variant in variants.split()}


def canonical(word: str) -> str:
    """One spelling of a word of the tables."""
    return _SPELT.get(word, word)


def phrases(listed: str) -> list[tuple[str, ...]]:
    """Every phrase of a table's line, as words of one spelling without articles."""
    every: dict[tuple[str, ...], None] = {}
    for phrase in listed.split(";"):
        choices: list[list[str]] = []
        for part in phrase.split():
            maybe = part.endswith("?") and len(part.strip("?")) > 0
            words = part.rstrip("?").split("|") if part.strip("|?") else [part]
            choices.append([*(canonical(word) for word in words), *([""] if maybe else [])])
        for chosen in product(*choices):
            words_of = tuple(word for word in chosen if word and (word not in SKIPPED or len(choices) == 1))
            if words_of:
                every[words_of] = None
    return list(every)


def _plant(root: dict[str, Any], tables: tuple[dict[str, str], ...], bits: Callable[[str], int]) -> None:
    """Add every phrase of the tables to a tree; swallowed phrases end without tags."""
    for table in tables:
        for key, listed in table.items():
            tags = 0 if key.startswith("- ") else bits(key)
            for words in phrases(listed):
                node = root
                for word in words:
                    node = node.setdefault(word, {})
                node[TAGS] = node.get(TAGS, 0) | tags


ROOT: Final[dict[str, Any]] = {}
_plant(ROOT, (TYPES, ANATOMY, REPAIRS, TRIGGERS, SIDES), mask)

HEADS: Final[dict[str, Any]] = {}
_plant(HEADS, (HEADINGS,), lambda kind: 1 << KINDS.index(kind))

_WAYS: Final = mask("lap openop")
_OTHERWISE: Final = mask("scopy convert notexamined maybe past left right both contra ipsi stop no colon")


def _inherit(node: dict[str, Any], words: tuple[str, ...]) -> None:
    """Give a phrase the way in that its own words tell: "laparoscopic herniotomy" is laparoscopic."""
    for word, onward in node.items():
        if word == TAGS:
            continue
        longer = (*words, word)
        tags = onward.get(TAGS)
        if tags and not tags & _OTHERWISE:
            for start in range(len(longer)):
                inner: dict[str, Any] | None = ROOT
                for place in range(start, len(longer)):
                    inner = inner.get(longer[place]) if inner is not None else None
                    if inner is not None and (start or place + 1 < len(longer)):
                        tags |= inner.get(TAGS, 0) & _WAYS
            onward[TAGS] = tags
        _inherit(onward, longer)


VOCABULARY: Final = frozenset(
    word
    for table in (TYPES, ANATOMY, REPAIRS, TRIGGERS, SIDES, HEADINGS)
    for listed in table.values()
    for words in phrases(listed)
    for word in words
) | frozenset(_SPELT)
"""Every word of the tables."""


SINGLE: Final[dict[str, int]] = {word: node[TAGS] for word, node in ROOT.items() if list(node) == [TAGS]}
"""Words that are a phrase by themselves and begin no other."""


PASSED: Final = 4
"""Articles and marks in a row that are passed over inside a phrase; a line of dashes is not looked along to its end."""


def longest(tree: dict[str, Any], words: list[str], at: int) -> tuple[int | None, int]:
    """Tags of the longest phrase that begins at a word, and the place after it; None when there is none."""
    node: dict[str, Any] | None = tree.get(words[at])
    if node is None:
        return None, at
    found: int | None = node.get(TAGS)
    after = at + 1
    step = at + 1
    count = len(words)
    passed = 0
    while step < count:
        word = words[step]
        onward = node.get(word)
        if onward is None:
            if passed < PASSED and (word in SKIPPED or (word == "." and words[step - 1] in SHORTENED)):
                step += 1
                passed += 1
                continue
            break
        node = onward
        passed = 0
        step += 1
        tags = node.get(TAGS)
        if tags is not None:
            found, after = tags, step
    return found, after


_inherit(ROOT, ())
