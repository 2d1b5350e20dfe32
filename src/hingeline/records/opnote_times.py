"""Other times in a sentence: what is told of before, of a letter, of what might be; and what a correction takes back.

Part of `opnote_scopes`; after ConText (Harkema et al. 2009, J Biomed Inform 42:839-851, from memory), cut by clauses.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_marks import listed
from .opnote_scan import Sentence, Spot

_NOUNS: Final = t.mask(
    "hernia sac defect weak mesh ppv pv hydrocele sliding recurrent lipoma tissue meshrepair highlig repair combined "
    "nomesh orchidopexy udt open wide"
)
_SIDES: Final = t.mask("left right both contra")
_PAST_ENDS: Final = t.mask("nowadays comma stop at_operation")
_OTHERWISE_ENDS: Final = t.mask("stop at_operation")
_SEARCH_ENDS: Final = t.mask("stop comma be saw at_operation no not")
_BACK_BEFORE: Final = listed("clinically preoperatively uss on listed booked suspected scan imaging")
_BACK_PAST: Final = listed(
    "previously years months weeks year elsewhere earlier as in at when decade decades somewhere back last"
)
_SPEAKS: Final = listed(
    "letter note notes report reports reported scan says said states stated wrote written speaks reads discharge"
)


def quoted(spots: list[Spot], words: list[str]) -> None:
    """What a letter or a scan is quoted to say is of another time."""
    marks = [spot.first for spot in spots if words[spot.first] == '"']
    if len(marks) < 2 or _SPEAKS.isdisjoint(words[spots[0].first - min(spots[0].first, 6) : marks[-1] + 8]):
        return
    for low, high in zip(marks[::2], marks[1::2], strict=False):
        for spot in spots:
            if low < spot.first < high and spot.when == "now":
                spot.when = "past"


def times(spots: list[Spot], at: int, words: list[str]) -> None:
    """Mark what is told of another time, or only of what might be."""
    tags = spots[at].tags
    if tags & t.PAST and words[spots[at].first] in _KIN:
        if _of_the_kin(spots[at], words):
            for other in spots[at + 1 :]:
                if other.tags & (t.AT_OPERATION | t.NOWADAYS):
                    break
                if other.when == "now":
                    other.when = "past"
    elif tags & t.PAST and (_written(spots[at], words) or _labels(spots, at)):
        for other in spots:
            if other.tags & _RENEWS and other.first > spots[at].first:
                break
            if other.when == "now":
                other.when = "past"
    elif tags & t.PAST:
        _span(spots, at, "past", _PAST_ENDS, words, and_ends=True)
        if words[spots[at].first] in _BACK_PAST:
            _before(spots, at, "past")
    elif tags & t.BEFORE:
        _span(spots, at, "before", _OTHERWISE_ENDS, words, and_ends=False)
        if words[spots[at].first] in _BACK_BEFORE:
            _before(spots, at, "before")
    elif tags & t.MAYBE:
        ends = _IF_ENDS if words[spots[at].first] in _IFS else _OTHERWISE_ENDS
        _span(spots, at, "maybe", ends, words, and_ends=False)
    elif tags & t.SEARCH:
        _span(spots, at, "search", _SEARCH_ENDS, words, and_ends=True)
        _before(spots, at, "search")
    elif tags & t.MAYBE_AFTER:
        _before(spots, at, "maybe")


_KIN: Final = listed("brother father uncle sister mother cousin grandfather grandmother son dad mum aunt")
_HAD: Final = frozenset(("had", "has", "underwent"))
_OWN: Final = listed("himself herself own too")


def _of_the_kin(spot: Spot, words: list[str]) -> bool:
    """Whether a relative's own hernia is told, up to the end of its sentence: "the father reports ... himself"."""
    if words[spot.after - 1] in _HAD:
        return True
    for word in words[spot.after : spot.after + 24]:
        if word in _OWN:
            return True
        if word in (".", ";"):
            break
    return False


_IFS: Final = listed("if would should lest in told")
_IF_ENDS: Final = t.mask("stop at_operation comma colon")
_RENEWS: Final = t.mask("at_operation nowadays recurrent")
_WRITTEN: Final = frozenset(("note", "notes", "letter", "discharge"))


def _written(spot: Spot, words: list[str]) -> bool:
    """Whether an older note or a letter speaks: all of its sentence is of that time."""
    return not _WRITTEN.isdisjoint(words[spot.first : spot.after])


def _labels(spots: list[Spot], at: int) -> bool:
    """Whether "Previous repair:" heads a line, whose answer is of that time."""
    return at == 0 and any(s.tags & t.COLON for s in spots[1:4])


def _span(spots: list[Spot], at: int, when: str, ends: int, words: list[str], *, and_ends: bool) -> None:
    """Mark the spots after a trigger until one that ends its scope."""
    noun = False
    for spot in spots[at + 1 :]:
        if spot.tags & ends and not (when == "past" and words[spot.first] in ("(", "[", '"')):
            break
        if and_ends and noun and spot.tags & t.AND and words[spot.first] != "with":
            break
        if spot.tags & t.RECURRENT and when == "past":
            break
        noun = noun or bool(spot.tags & _NOUNS)
        if spot.when == "now":
            spot.when = when


def _before(spots: list[Spot], at: int, when: str) -> None:
    """Mark the spots of the clause before a trigger."""
    for step in range(at - 1, -1, -1):
        spot = spots[step]
        if spot.tags & (t.COMMA | t.STOP | t.AT_OPERATION) or (spot.tags & t.AND and when != "maybe"):
            break
        if when == "search" and spot.tags & (t.WALL | t.RING):
            continue
        if spot.when == "now" and not spot.tags & t.RECURRENT:
            spot.when = when


_LATE: Final = frozenset(("addendum", "please", "amended", "amendment", "erratum", "error", "wrong"))


def correct(sentences: list[Sentence], words: list[str]) -> None:
    """Take back what a correction replaces: "right, correction: left"."""
    spots = [spot for sentence in sentences for spot in sentence.spots]
    for at, spot in enumerate(spots):
        if not spot.tags & t.CORRECTION:
            continue
        for kinds in (_SIDES, _TYPE_WORDS):
            after = next((one for one in spots[at + 1 : at + 11] if one.tags & kinds), None)
            if after is None or after.first - spot.after > 14:
                continue
            reach = at if words[spot.first] in _LATE else 10
            for earlier in reversed(spots[max(0, at - reach) : at]):
                if earlier.tags & kinds:
                    if earlier.tags & kinds != after.tags & kinds:
                        for same in spots[:at] if words[spot.first] in _LATE else (earlier,):
                            if same.tags & kinds & earlier.tags or same is earlier:
                                same.alive = False
                                same.tags = same.tags & ~(kinds | t.HERNIA)
                    break


_TYPE_WORDS: Final = t.mask("indirect direct femoral combined")
