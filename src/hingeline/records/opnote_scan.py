"""Words of a note to spots: what each phrase names, in which sentence and under which heading.

A spot is one phrase of the tables at its place. Sentences end at full stops that are no abbreviation's, at semicolons,
and at line breaks that are no mere wrapping; a heading holds until the next.
"""

from __future__ import annotations

from itertools import compress
from typing import Final

from . import opnote_tags as t
from .opnote_codes import graded
from .opnote_forms import BLOT, chosen
from .opnote_headings import KINDS
from .opnote_marks import listed
from .opnote_phrases import HEADS, ROOT, SKIPPED, TAGS, longest
from .opnote_signs import SIDE_WORDS, asks, broken, coded, counts, idle_side, names_side, of_operation
from .opnote_spelling import KEPT
from .opnote_text import Read

ABBREVIATED: Final = listed(
    """
    left right dr mr ms mrs approx vs eg ie e g i resp inferior internal external lateral medial post ant
    sup inguinal no nr fig cf incl excl ca r l dx hx pt pts epig vess lap bilateral hern incl op ligament
    laparoscopic h dir indir
    """
)
"""Words whose full stop ends no sentence, unless a new line follows."""

_NO_END: Final = frozenset(("dx", "hx", "op", "h", "no"))
_STATES: Final = t.mask("sound shut clear open wide weak")


class Spot:
    """One phrase of the tables where it stands.

    ``tags`` are what it names; ``first`` and ``after`` its words; ``negated``, ``unsure`` and ``when`` what scopes say
    of it (``when`` is ``now``, ``past``, ``before``, ``maybe`` or ``search``); ``side`` the side it is told of, and
    ``told`` whether its own sentence names that side.
    """

    __slots__ = ("after", "alive", "first", "negated", "side", "tags", "told", "unsure", "when")

    def __init__(self, tags: int, first: int, after: int) -> None:
        self.tags = tags
        self.first = first
        self.after = after
        self.negated = False
        self.unsure = False
        self.when = "now"
        self.side = ""
        self.told = False
        self.alive = True

    def __repr__(self) -> str:
        return f"{'+'.join(t.names_of(self.tags))}@{self.first}"


class Sentence:
    """A stretch of spots under one heading: ``section`` is the heading's kind, ``""`` when the note has none."""

    __slots__ = ("lead", "section", "spots", "tags")

    def __init__(self, section: str, lead: bool) -> None:
        self.section = section
        self.lead = lead
        self.spots: list[Spot] = []
        self.tags = 0


_GRADED: Final = t.LATERAL | t.MEDIAL | t.FEMORAL
_MARKS: Final = frozenset(".;\n!")


def scan(read: Read) -> tuple[list[Sentence], list[str]]:
    """Find the sentences of a note with their spots, and the words, what a form did not choose blotted out."""
    words = chosen(read.words)
    sentences: list[Sentence] = []
    section = ""
    label = ""
    lead = True
    now = Sentence(section, lead)
    fresh = True
    at = headed = 0
    count = len(words)
    spans = read.spans
    tree = ROOT
    heads = HEADS
    # most words can begin nothing and are passed over without a step of their own
    for place in compress(range(count), map(_BEGINS.__getitem__, words)):
        if place < at:
            continue
        if fresh and place > at:
            fresh = not any(passed[0].isalpha() for passed in words[at:place])
        at = place
        word = words[at]
        if word in heads and at >= headed and (fresh or word in _STRONG):
            kind, headed = _heading(read, words, at, fresh)
            if kind == "plan" and section == "before" and word.startswith("post"):
                kind = "postop"  # "Pre-op: RIH / Post-op: bilateral indirect"
            if kind:
                if now.spots:
                    sentences.append(now)
                if kind == "label":
                    label = (
                        "findings" if section not in ("before", "postop", "title", "procedure") else section
                    )
                    lead = False
                else:
                    section, label, lead = kind, "", True
                now = Sentence(label or section, lead)
        node = tree.get(word)
        if node is not None:
            after = at + 1
            following = words[after] if after < count else "\n"
            tags: int | None
            if following in node or following in SKIPPED or following == ".":
                tags, after = longest(tree, words, at)
            else:
                tags = node.get(TAGS)
            if tags is not None:
                fresh = False
                if not tags or tags & t.LEFT_ALONE:
                    if word in SIDE_WORDS and names_side(words, at):
                        tags, after = (
                            t.LEFT if word == "left" else t.RIGHT,
                            at + 1,
                        )  # "on the left for two years"
                    elif not tags:
                        at = after
                        continue
                if word in SIDE_WORDS and idle_side(words, at, after):
                    at = after
                    continue
                if word == "direct" and at > 1 and broken(words, spans, at, after):
                    tags = t.INDIRECT
                if tags & _GRADED and (at == 0 or words[at - 1][0] in "\n("):
                    told_grade, on = graded(words, after, tags)
                    if on:
                        for more, none in told_grade:
                            spot = Spot(more, at, on)
                            spot.negated = none
                            now.spots.append(spot)
                            now.tags |= more
                        at = on
                        continue
                if word == "open" and of_operation(words, at):
                    tags = t.OPENOP
                if tags & t.FULLSTOP:
                    now, lead = _next(sentences, now, label or section, lead)
                    fresh = True
                    at = after
                    continue
                if word == "?" and asks(read, at) and len(now.spots) < 3:
                    tags = t.COLON  # "Floor? fine"
                if (not tags & _COUNTED and word != "no") or counts(tags, words, spans, at, after):
                    spot = Spot(tags, at, after)
                    now.spots.append(spot)
                    now.tags |= tags
                at = after
                continue
        first = word[0]
        if first in _MARKS:
            if _ends(read, words, at, first):
                now, lead = _next(sentences, now, label or section, lead)
                if first == "\n":
                    label = ""
                    if now.section != section:
                        now = Sentence(section, lead)
                fresh = True
            at += 1
            continue
        if first.isalpha():
            fresh = False
            if _BEGINS[word] < 2:
                at += 1
                continue
            upper = len(word) == 1 and read.text[spans[at][0]].isupper()
            told, after = coded(words, at, word, upper)
            for tags, none in told:
                spot = Spot(tags, at, max(after, at + 1))
                spot.negated = none
                now.spots.append(spot)
                now.tags |= tags
            at = max(after, at + 1)
            continue
        at += 1
    if now.spots:
        sentences.append(now)
    return sentences, words


_CODE_ENDS: Final = frozenset("0123x")
_TELLING: Final = (
    frozenset(ROOT)
    | frozenset(HEADS)
    | frozenset(".;!\n")
    | listed("l r n type ehs class classification nyhus both")
) | {"\n\n"}
"""Words at which anything can begin; all others are passed over at once."""
_CODED: Final = listed("type ehs classification class l r both n nyhus")
_COUNTED: Final = t.mask("comma maybe direct indirect")


class _Begins(dict[str, int]):
    """Words to what can begin at them: nothing (0), a phrase, a heading or a mark (1), a code or letter (2)."""

    def __missing__(self, word: str) -> int:
        if len(self) > KEPT:
            self.clear()
        code = word in _CODED or (word[-1] in _CODE_ENDS and word[0] in "prlmf" and len(word) <= 7)
        self[word] = kind = 2 if code else int(word in _TELLING)
        return kind


_BEGINS: Final = _Begins()

_STRONG: Final = listed(
    """
    findings procedure operation indication indications plan consent description technique diagnosis postop
    preop postoperative preoperative operative history impression operations procedures details title
    intraop
    """
)


def _next(sentences: list[Sentence], now: Sentence, section: str, lead: bool) -> tuple[Sentence, bool]:
    """Close a sentence and open the next; only the first with words leads its section."""
    if now.spots:
        sentences.append(now)
        lead = False
    elif now.section == section and now.lead == lead:
        return now, lead  # nothing stands in it yet
    return Sentence(section, lead), lead


def _heading(read: Read, words: list[str], at: int, fresh: bool) -> tuple[str, int]:
    """Kind of the heading that begins at a word, and the place after it."""
    tags, after = longest(HEADS, words, at)
    if not tags:
        return "", at
    kind = KINDS[(tags & -tags).bit_length() - 1]
    following = words[after] if after < len(words) else "\n"
    if following == "(":
        close = next((i for i in range(after + 1, min(after + 9, len(words))) if words[i] == ")"), -1)
        if close > 0 and close + 1 < len(words) and words[close + 1] == ":":
            return (kind if kind != "label" or fresh else ""), close + 2
    if following == ":" or (following == "colon" and fresh):
        return (kind if kind != "label" or fresh else ""), after + 1
    if not fresh:
        return _shouted(read, at, after, kind), after
    if following[0] == "\n" and (at == 0 or words[at - 1][0] == "\n" or words[at - 1] in ("*", "-", "#")):
        return kind if kind != "label" else "", after
    if following == "-" and after + 1 < len(words) and kind != "label":
        if read.spans[after][0] > read.spans[after - 1][1]:
            return kind, after + 1
        return "", at
    return _shouted(read, at, after, kind), after


def _shouted(read: Read, at: int, after: int, kind: str) -> str:
    """A heading in capitals before words that are not: its kind, or nothing."""
    if kind == "label" or after >= len(read.spans):
        return ""
    head = read.text[read.spans[at][0] : read.spans[after - 1][1]]
    following = read.text[read.spans[after][0] : read.spans[after][1]]
    return kind if len(head) > 4 and head.isupper() and following[-1:].islower() else ""


_GOES_ON: Final = listed("the a an of and or with to in on at no not was is by from for")


def _ends(read: Read, words: list[str], at: int, first: str) -> bool:
    """Whether a mark ends its sentence."""
    if first == ";" or first == "!":
        return True
    if first == "\n":
        if len(words[at]) > 1 or at + 1 >= len(words) or at == 0:
            return True
        if words[at - 1] in (".", ":", "?", ";", BLOT):
            return True
        start = read.spans[at + 1][0]
        letter = read.text[start]
        if words[at - 1] == "," and letter.isalpha():
            return False
        if not letter.islower() and letter != "(":
            return True
        if read.spans[at][0] - max(0, read.text.rfind("\n", 0, read.spans[at][0])) < 42:
            return (
                letter != "(" and words[at - 1] != "-" and words[at - 1] not in _GOES_ON
            )  # no wrapped line is so short
        return False
    before = words[at - 1] if at else "."
    if at + 1 < len(words) and words[at + 1][0] == "\n":
        return True
    if before in ABBREVIATED:
        touching = read.spans[at - 1][1] == read.spans[at][0]
        if touching and at + 1 < len(words):
            if before in _NO_END:
                return True
            follower = read.text[read.spans[at + 1][0]]
            own = read.text[read.spans[at - 1][0] : read.spans[at - 1][1]]
            # "left." is the word, "Lt." its abbreviation: a capital after the word ends the sentence
            return len(own) > 4 and not follower.islower()
    return True
