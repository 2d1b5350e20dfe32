"""What negation, doubt and time do to the spots of a sentence, each within its scope.

After Chapman et al. 2001 (NegEx, J Biomed Inform 34:301-310): triggers that reach forward, triggers that reach back,
words that only look like one, and words that end a scope. A scope here ends with its clause; a comma ends it unless a
list goes on to an "or"; "and" ends it once a noun has been said.
"""

from __future__ import annotations

from typing import Final

from .opnote_marks import listed
from .opnote_scan import Sentence, Spot

SOFT: Final = listed(
    """
    a an the any of obvious definite definitive clear other further associated evidence sign signs
    significant additional true real apparent gross separate visible demonstrable concomitant palpable large
    small discernible convincing such suggestion feature features concurrent coexisting co existing existent
    accompanying overt detectable frank formal actual current identifiable sizeable major minor new residual
    been being be to have had there was is were are really clearly actually felt thought found seen show
    reveal demonstrate see find identify have need require use place insert contain include extend involve
    it in at this on obviously apparently even fact time today however as well appreciable clinical
    clinically evident did do does type kind form so much especially particularly truly exactly entirely
    completely definitely ipsilateral inguinal groin any's hernia's synthetic permanent prosthetic posterior
    wall more intra operative intraoperative noticeable recognisable left right side bilateral contralateral
    ' deemed considered felt - : very also both
    """
) | {'"'}
"""Words that may stand between a negation and what it negates."""

_BREAKS: Final = listed(
    """
    saw did tied freed excised reinforce weak sound open shut wide clear no not absent
    """
)
_VERBS: Final = frozenset(("saw", "did", "tied", "freed", "excised", "reinforce"))
_TRIGGERS: Final = frozenset(
    (
        "no",
        "not",
        "absent",
        "unsure",
        "unsure_after",
        "?",
        "past",
        "before",
        "maybe",
        "maybe_after",
        "search",
        "double_no",
        "not_so",
    )
)
_NOUNS: Final = listed(
    """
    hernia sac defect weak mesh ppv pv hydrocele sliding recurrent lipoma tissue meshrepair highlig repair
    combined nomesh orchidopexy udt open wide
    """
)
_CONCEPTS: Final = _NOUNS | listed(
    """
    indirect direct femoral lateral medial wall ring bare ring femcanal left right both contra sound shut
    clear testis epigastric cord lap primary convert
    """
)
_SIDES: Final = frozenset(("left", "right", "both", "contra"))
_LABELS: Final = frozenset(("direct", "indirect", "femoral", "lateral", "medial", "sliding", "mesh"))
_PLACED_BY: Final = frozenset(("in", "within", "inside", "from", "at", "on", "into", "through"))
"""After the noun that is negated these lead to where it is not; only the side there matters."""

_BACK_PAST: Final = frozenset(("previously", "years", "months", "weeks", "year", "elsewhere", "earlier"))


def settle(sentence: Sentence, words: list[str]) -> None:
    """Mark the spots of one sentence as negated, unsure, or of another time."""
    spots = sentence.spots
    skip = False
    for at, spot in enumerate(spots):
        tags = spot.tags
        if tags.isdisjoint(_TRIGGERS):
            continue
        if "not_so" in tags:
            skip = True
        elif "no" in tags:
            if skip:
                skip = False
            elif _sealed(spots, at, words):
                _back(spots, at, "negated", words)
            else:
                _forward(spots, at, "negated", words)
                if at and spot.first and words[spot.first - 1] == ":" and "colon" in spots[at - 1].tags:
                    _back(spots, at, "negated", words, label=True)  # "Direct: no defect"
        elif "not" in tags:
            if skip:
                skip = False
            else:
                _not(spots, at, words)
        elif "absent" in tags:
            if _next_is_concept(spots, at, words):
                _forward(spots, at, "negated", words)
            else:
                _back(spots, at, "negated", words)
        elif "unsure_after" in tags and not _next_is_concept(spots, at, words):
            _back(spots, at, "unsure", words)
        elif "unsure" in tags or "unsure_after" in tags:
            if not _forward(spots, at, "unsure", words):
                _back(spots, at, "unsure", words)
        elif "?" in tags:
            _query(spots, at, words)
        _times(spots, at, words)


def _mark(spot: Spot, what: str) -> None:
    if what == "negated":
        spot.negated = True
    else:
        spot.unsure = True


def _sealed(spots: list[Spot], at: int, words: list[str]) -> bool:
    """Whether a "no" answers what stands before it: after a colon, or with nothing after it in its clause."""
    spot = spots[at]
    before = words[spot.first - 1] if spot.first else "\n"
    following = spots[at + 1] if at + 1 < len(spots) else None
    gap = words[spot.after : following.first] if following is not None else words[spot.after : spot.after + 1]
    clipped = following is None or (
        not following.tags.isdisjoint(("comma", "stop", "colon")) and not any(w[0].isalpha() for w in gap)
    )
    if following is None:
        clipped = not gap or not gap[0][0].isalpha()
    return clipped and (before in (":", "-", "=", "\u00b6", ")") or at > 0) and at > 0


def _forward(spots: list[Spot], at: int, what: str, words: list[str]) -> bool:
    """Mark what follows a trigger, up to the end of its scope; whether anything was marked."""
    end = spots[at].after
    noun = False
    marked = False
    waiting = False
    beyond = False
    for step in range(at + 1, len(spots)):
        spot = spots[step]
        tags = spot.tags
        gap = words[end : spot.first]
        if not noun and not waiting and gap and not marked:
            if not all(word in SOFT or not word[0].isalpha() for word in gap):
                waiting = True  # the negation has another noun ("no bowel in the sac"): wait for an "or"
        elif marked and len(gap) > 4:
            break
        end = spot.after
        if "stop" in tags or "colon" in tags:
            break
        if "nor" in tags:
            waiting = False
            noun = False
            continue
        if "comma" in tags:
            if _list_goes_on(spots, step):
                continue
            break
        if "and" in tags:
            if noun or (waiting and not marked):
                break
            continue
        if waiting:
            if not tags.isdisjoint(_VERBS):
                break
            continue
        if not tags.isdisjoint(_CONCEPTS):
            beyond = beyond or (noun and not _PLACED_BY.isdisjoint(gap))
            if "testis" in tags and not marked:
                waiting = True
                continue
            if beyond and tags.isdisjoint(_SIDES):
                continue
            _mark(spot, what)
            marked = True
            noun = noun or not tags.isdisjoint(_NOUNS)
        elif not tags.isdisjoint(_VERBS):
            spot.negated = spot.negated or (what == "negated" and not marked)
            if marked and not tags.isdisjoint(("tied", "freed", "excised", "reinforce")):
                break
        elif not tags.isdisjoint(("no", "not")) and marked:
            break
    return marked


def _list_goes_on(spots: list[Spot], at: int) -> bool:
    """Whether a comma stands in a list that goes on to an "or" before any verb."""
    for spot in spots[at + 1 : at + 9]:
        if "nor" in spot.tags:
            return True
        if not spot.tags.isdisjoint(_BREAKS) or not spot.tags.isdisjoint(("and", "stop", "colon", "be")):
            return False
    return False


def _not(spots: list[Spot], at: int, words: list[str]) -> None:
    """ "Not": back when a participle follows ("was not seen"), else forward ("not direct")."""
    step = at + 1
    end = spots[at].after
    while step < len(spots) and spots[step].tags.isdisjoint(
        _CONCEPTS | _VERBS | {"comma", "stop", "and", "nor"}
    ):
        end = spots[step].after
        step += 1
    if step < len(spots):
        spot = spots[step]
        gap = words[end : spot.first]
        if not spot.tags.isdisjoint(_VERBS) and all(word in SOFT or word.endswith("ly") for word in gap):
            following = words[spot.after : spot.after + 2]
            if following[:1] == ["to"] and following[1:] in (["be"], ["have"]):
                _forward(spots, step, "negated", words)
                return
            if _next_is_concept(spots, step, words) and words[spot.first] in ("find", "see", "need", "use"):
                _forward(spots, step, "negated", words)
                return
            spot.negated = True
            _back(spots, at, "negated", words)
            return
        if not spot.tags.isdisjoint(("comma", "stop")):
            _back(spots, at, "negated", words)
            return
    _forward(spots, at, "negated", words)


def _next_is_concept(spots: list[Spot], at: int, words: list[str]) -> bool:
    """Whether a concept follows a trigger at once, so that it belongs to what comes after it."""
    if at + 1 >= len(spots):
        return False
    spot = spots[at + 1]
    if spot.tags.isdisjoint(_CONCEPTS):
        return False
    gap = words[spots[at].after : spot.first]
    if not all(word in ("of", "a", "an", "the", "any", "for", "-") for word in gap):
        return False
    before = spots[at - 1] if at else None
    told = before is not None and not before.tags.isdisjoint(("be", "colon"))
    return not (before is not None and told and before.after == spots[at].first)


def _back(spots: list[Spot], at: int, what: str, words: list[str], *, label: bool = False) -> None:
    """Mark what stands before a trigger that reaches back."""
    marked = False
    for step in range(at - 1, -1, -1):
        spot = spots[step]
        tags = spot.tags
        if "stop" in tags:
            if marked:
                break
            continue
        if "comma" in tags:
            if marked:
                break
            continue
        if "and" in tags or "nor" in tags:
            if marked and ("and" in tags) and _verb_before(spots, step):
                break
            continue
        if not tags.isdisjoint(_VERBS) and "hernia" not in tags:
            if marked:
                break
            continue
        if (
            not marked
            and not tags.isdisjoint(("no", "absent"))
            and spots[at].tags.isdisjoint(("unsure", "unsure_after"))
        ):
            continue
        if not tags.isdisjoint(_CONCEPTS):
            if label and tags.isdisjoint(_LABELS):
                break
            _mark(spot, what)
            marked = True


def _verb_before(spots: list[Spot], at: int) -> bool:
    """Whether a clause of its own stands before an "and"."""
    for step in range(at - 1, -1, -1):
        tags = spots[step].tags
        if not tags.isdisjoint(("comma", "stop")):
            return False
        if not tags.isdisjoint(_BREAKS):
            return True
    return False


def _query(spots: list[Spot], at: int, words: list[str]) -> None:
    """A question mark doubts the word it stands before, or the whole clause that it ends."""
    spot = spots[at]
    if at + 1 < len(spots) and spots[at + 1].first == spot.after:
        for following in spots[at + 1 : at + 5]:
            if not following.tags.isdisjoint(("comma", "stop", "colon", "and")):
                break
            following.unsure = True
            if not following.tags.isdisjoint(_NOUNS):
                break
    elif spot.after >= len(words) or not words[spot.after][0].isalpha():
        _back(spots, at, "unsure", words)


def _times(spots: list[Spot], at: int, words: list[str]) -> None:
    """Mark what is told of another time, or only of what might be."""
    tags = spots[at].tags
    if "past" in tags:
        _span(spots, at, "past", ("nowadays", "comma", "stop", "at_operation"), and_ends=True)
        if words[spots[at].first] in _BACK_PAST:
            _before(spots, at, "past")
    elif "before" in tags:
        _span(spots, at, "before", ("at_operation", "stop"), and_ends=False)
        if words[spots[at].first] in (
            "clinically",
            "preoperatively",
            "uss",
            "on",
            "listed",
            "booked",
            "suspected",
            "scan",
            "imaging",
        ):
            _before(spots, at, "before")
    elif "maybe" in tags:
        _span(spots, at, "maybe", ("stop", "at_operation"), and_ends=False)
    elif "search" in tags:
        _span(spots, at, "search", ("stop", "comma", "be", "saw", "at_operation", "no", "not"), and_ends=True)
        _before(spots, at, "search")
    elif "maybe_after" in tags:
        _before(spots, at, "maybe")


def _span(spots: list[Spot], at: int, when: str, ends: tuple[str, ...], *, and_ends: bool) -> None:
    """Mark the spots after a trigger until one that ends its scope."""
    noun = False
    for spot in spots[at + 1 :]:
        if not spot.tags.isdisjoint(ends):
            break
        if and_ends and noun and "and" in spot.tags:
            break
        if "recurrent" in spot.tags and when == "past":
            break
        noun = noun or not spot.tags.isdisjoint(_NOUNS)
        if spot.when == "now":
            spot.when = when


def _before(spots: list[Spot], at: int, when: str) -> None:
    """Mark the spots of the clause before a trigger."""
    for step in range(at - 1, -1, -1):
        spot = spots[step]
        if not spot.tags.isdisjoint(("comma", "stop", "at_operation")) or (
            "and" in spot.tags and when != "maybe"
        ):
            break
        if when == "search" and not spot.tags.isdisjoint(("wall", "ring")):
            continue
        if spot.when == "now" and "recurrent" not in spot.tags:
            spot.when = when


def correct(sentences: list[Sentence]) -> None:
    """Take back what a correction replaces: "right, correction: left"."""
    spots = [spot for sentence in sentences for spot in sentence.spots]
    for at, spot in enumerate(spots):
        if "correction" not in spot.tags:
            continue
        for kinds in (_SIDES, _TYPE_WORDS):
            after = next((one for one in spots[at + 1 : at + 9] if not one.tags.isdisjoint(kinds)), None)
            if after is None or after.first - spot.after > 10:
                continue
            for earlier in reversed(spots[max(0, at - 10) : at]):
                if not earlier.tags.isdisjoint(kinds):
                    if earlier.tags & kinds != after.tags & kinds:
                        earlier.alive = False
                        earlier.tags = earlier.tags - kinds - {"hernia"} | {"taken back"}
                    break


_TYPE_WORDS: Final = frozenset(("indirect", "direct", "femoral", "combined"))
