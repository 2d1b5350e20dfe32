"""What negation, doubt and time do to the spots of a sentence, each within its scope.

After Chapman et al. 2001 (NegEx, J Biomed Inform 34:301-310): triggers that reach forward, triggers that
reach back,
words that only look like one, and words that end a scope. A scope here ends with its clause; a comma ends
it unless a
list goes on to an "or"; "and" ends it once a noun has been said.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_marks import listed
from .opnote_scan import Sentence, Spot
from .opnote_times import quoted, times

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
    ' deemed considered felt - : very also both trace traces remnant vestige sight shadow hint whatsoever
    whatever little bit somewhat rather slightly
    semblance hernial
    """
) | {'"'}
"""Words that may stand between a negation and what it negates."""

_BREAKS: Final = t.mask("saw did tied freed excised reinforce weak sound open shut wide clear no not absent")
_VERBS: Final = t.mask("saw did tied freed excised reinforce")
_TRIGGERS: Final = t.mask(
    "nor no not absent unsure unsure_after ? past before maybe maybe_after search double_no not_so"
)
_NOUNS: Final = t.mask(
    "hernia sac defect weak mesh ppv pv hydrocele sliding recurrent lipoma tissue meshrepair highlig repair combined "
    "nomesh orchidopexy udt open wide"
)
_CONCEPTS: Final = _NOUNS | t.mask(
    "indirect direct femoral lateral medial wall ring bare_ring femcanal left right both contra sound shut clear "
    "testis epigastric cord lap primary convert"
)
_WORK: Final = t.mask("tied freed excised reinforce")
_LIST_ENDS: Final = _BREAKS | t.mask("and stop colon be")
_NOT_SPANS: Final = _CONCEPTS | _VERBS | t.mask("comma stop and nor")
_QUERY_ENDS: Final = t.mask("comma stop colon and")
_SIDES: Final = t.mask("left right both contra")
_LABELS: Final = t.mask("direct indirect femoral lateral medial sliding mesh")
_JOINTS: Final = frozenset(
    ("of", "and", "or", "nor", "with", "to", "from", "which", "also", "then", "previously")
)
_BEHIND: Final = 20
"""Words that a trigger reaches back over at most."""
FAR: Final = 60
"""Spots that a trigger reaches at most, which bounds the work in an endless sentence."""
_PLACED_BY: Final = frozenset(("in", "within", "inside", "from", "at", "on", "into", "through"))
"""After the noun that is negated these lead to where it is not; only the side there matters."""


def _either(spots: list[Spot]) -> None:
    """ "Direct or indirect": two types that are weighed against each other, unless both are denied."""
    for at in range(1, len(spots) - 1):
        if not spots[at].tags & t.NOR:
            continue
        one, other = spots[at - 1], spots[at + 1]
        near = other.first - one.after <= 4
        for kind, opposite in ((t.DIRECT, t.INDIRECT), (t.INDIRECT, t.DIRECT)):
            if near and one.tags & kind and other.tags & opposite:
                one.unsure = other.unsure = True


def settle(sentence: Sentence, words: list[str]) -> None:
    """Mark the spots of one sentence as negated, unsure, or of another time."""
    spots = sentence.spots
    if sentence.tags & t.COMMA:
        quoted(spots, words)
    if not sentence.tags & _TRIGGERS:
        return
    skip = False
    if sentence.tags & t.NOR:
        _either(spots)
    for at, spot in enumerate(spots):
        tags = spot.tags
        if not tags & _TRIGGERS:
            continue
        if tags & t.NOT_SO:
            skip = True
        elif tags & t.NOR and not at and words[spot.first] == "nor":
            _forward(spots, at, "negated", words)  # "Nor was any indirect sac found."
        elif tags & (t.NO | t.ABSENT) and _heads_list(spots, at):
            for listed_one in spots[at + 2 :]:
                if listed_one.tags & t.STOP:
                    break
                listed_one.negated = True
        elif tags & t.NO:
            if skip:
                skip = False
            elif _sealed(spots, at, words):
                if (
                    not _back(spots, at, "negated", words)
                    and words[spot.first] != "no"
                    and at + 1 < len(spots)
                ):
                    commas = [i for i in range(at + 1, min(at + 5, len(spots))) if spots[i].tags & t.COMMA]
                    near = [i for i in commas if spots[i].first - spot.after <= 6]
                    _forward(
                        spots, near[-1] if near else at + 1, "negated", words
                    )  # "did not find, an indirect sac"
            else:
                if not _forward(spots, at, "negated", words) and words[spot.first] == "neither":
                    _back(spots, at, "negated", words)  # "of a sac there was neither hide nor hair"
                if at and spot.first and words[spot.first - 1] == ":" and spots[at - 1].tags & t.COLON:
                    _back(spots, at, "negated", words, label=True)  # "Direct: no defect"
        elif tags & t.NOT:
            if skip:
                skip = False
            else:
                _not(spots, at, words)
        elif tags & t.ABSENT:
            if _next_is_concept(spots, at, words):
                _forward(spots, at, "negated", words)
            else:
                _back(spots, at, "negated", words)
        elif tags & t.UNSURE_AFTER and not _next_is_concept(spots, at, words):
            _back(spots, at, "unsure", words)
        elif tags & t.UNSURE and _able(spot, words):
            continue
        elif tags & t.UNSURE or tags & t.UNSURE_AFTER:
            if not _forward(spots, at, "unsure", words) and words[spot.after : spot.after + 1] != ["if"]:
                _back(spots, at, "unsure", words)
        elif tags & t.QUERY:
            _query(spots, at, words)
        times(spots, at, words)


_ABLE: Final = listed(
    "seen felt made found shut brought pushed put cut got drawn swept led split passed easily readily"
)


_NUMBERS: Final = listed("one two three four five six seven eight nine ten half twelve fifteen twenty")


def _able(spot: Spot, words: list[str]) -> bool:
    """Whether "could be" tells what one was able to do: "could be traced"."""
    if words[spot.first] in ("perhaps", "maybe", "possibly", "probably", "some"):
        return (
            words[spot.after][0].isdigit() or words[spot.after] in _NUMBERS
            if spot.after < len(words)
            else False
        )
    if words[spot.first : spot.after] == ["could", "have"]:
        return words[spot.after : spot.after + 1] in (["told"], ["said"], ["known"], ["guessed"], ["sworn"])
    if words[spot.first] not in ("could", "can", "may") or words[spot.after - 1] != "be":
        return False
    following = words[spot.after] if spot.after < len(words) else "."
    return following in _ABLE or following.endswith("ed") or following.endswith("ly")


def _heads_list(spots: list[Spot], at: int) -> bool:
    """Whether a negation opens its sentence before a colon: "Excluded: direct, femoral"."""
    return at == 0 and len(spots) > 2 and bool(spots[1].tags & t.COLON) and spots[1].first == spots[0].after


def _mark(spot: Spot, what: str) -> None:
    if what == "negated":
        spot.negated = True
    else:
        spot.unsure = True


_OPENS: Final = frozenset(("no", "without", "nothing", "nil", "none", "neither"))


def _sealed(spots: list[Spot], at: int, words: list[str]) -> bool:
    """Whether a "no" answers what stands before it, since nothing follows it in its clause ("Direct component: no")."""
    spot = spots[at]
    if not at and words[spot.first] in _OPENS:
        return False
    if words[spot.first] == "n":
        return True
    following = spots[at + 1] if at + 1 < len(spots) else None
    if following is None:
        gap = words[spot.after : spot.after + 1]
        return not gap or not gap[0][0].isalpha()
    ended = following.tags & (t.COMMA | t.STOP | t.COLON)
    return bool(ended) and not any(word[0].isalpha() for word in words[spot.after : following.first])


_ADJECTIVES: Final = ("al", "ic", "able", "ible", "ous", "ive")


def _forward(spots: list[Spot], at: int, what: str, words: list[str]) -> bool:
    """Mark what follows a trigger, up to the end of its scope; whether anything was marked."""
    end = spots[at].after
    noun = False
    marked = False
    waiting = False
    beyond = False
    for step in range(at + 1, min(len(spots), at + 1 + FAR)):
        spot = spots[step]
        tags = spot.tags
        gap = words[end : spot.first]
        if not noun and not waiting and gap and not marked:
            if not all(word in SOFT or not word[0].isalpha() or word.endswith(_ADJECTIVES) for word in gap):
                waiting = True  # the negation has another noun ("no bowel in the sac"): wait for an "or"
        elif marked and len(gap) > 4:
            break
        end = spot.after
        if tags & t.STOP or tags & t.COLON:
            break
        if tags & t.NOR:
            waiting = False
            noun = False
            continue
        if tags & t.COMMA:
            if _list_goes_on(spots, step):
                continue
            break
        if tags & t.AND:
            if noun or (waiting and not marked):
                break
            continue
        if waiting:
            if tags & _VERBS:
                break
            continue
        if tags & _CONCEPTS:
            beyond = beyond or (noun and not _PLACED_BY.isdisjoint(gap))
            if tags & t.TESTIS and not marked:
                waiting = True
                continue
            if beyond and not tags & _SIDES:
                continue
            _mark(spot, what)
            marked = True
            noun = noun or bool(tags & _NOUNS)
        elif tags & _VERBS:
            spot.negated = spot.negated or (what == "negated" and not marked)
            if marked and tags & _WORK:
                break
        elif tags & t.NO or (tags & t.NOT and marked):
            break
    return marked


def _list_goes_on(spots: list[Spot], at: int) -> bool:
    """Whether a comma stands in a list that goes on to an "or" before any verb."""
    for spot in spots[at + 1 : at + 9]:
        if spot.tags & t.NOR:
            return True
        if spot.tags & _LIST_ENDS:
            return False
    return False


def _not(spots: list[Spot], at: int, words: list[str]) -> None:
    """ "Not": back when a participle follows ("was not seen"), else forward ("not direct")."""
    step = at + 1
    end = spots[at].after
    while step < len(spots) and not spots[step].tags & _NOT_SPANS:
        end = spots[step].after
        step += 1
    if step < len(spots):
        spot = spots[step]
        gap = words[end : spot.first]
        if spot.tags & _VERBS and all(word in SOFT or word.endswith("ly") for word in gap):
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
        if spot.tags & (t.COMMA | t.STOP):
            gap = words[spots[at].after : spot.first]
            if all(
                word in SOFT or not word[0].isalpha() or word.endswith(("ed", "en", "ly")) for word in gap
            ):
                _back(spots, at, "negated", words)
            return
    elif words[spots[at].first] != "non" and (end >= len(words) or not words[end][0].isalnum()):
        _back(spots, at, "negated", words)  # "an indirect sac there was not."
        return
    _forward(spots, at, "negated", words)


def _next_is_concept(spots: list[Spot], at: int, words: list[str]) -> bool:
    """Whether a concept follows a trigger at once, so that it belongs to what comes after it."""
    if at + 1 >= len(spots):
        return False
    spot = spots[at + 1]
    if not spot.tags & _CONCEPTS or spot.tags & (t.AT_OPERATION | t.LAP):
        return False
    gap = words[spots[at].after : spot.first]
    if not all(word in ("of", "a", "an", "the", "any", "for", "-") for word in gap):
        return False
    before = spots[at - 1] if at else None
    told = before is not None and before.tags & (t.BE | t.COLON)
    return not (before is not None and told and before.after == spots[at].first)


def _back(spots: list[Spot], at: int, what: str, words: list[str], *, label: bool = False) -> bool:
    """Mark what stands before a trigger that reaches back; whether anything was marked."""
    marked = False
    edge = spots[at].first
    for step in range(at - 1, max(-1, at - 1 - FAR), -1):
        spot = spots[step]
        tags = spot.tags
        if edge - spot.after > _BEHIND:
            break
        if tags & t.STOP:
            if marked:
                break
            continue
        if tags & t.COMMA:
            if marked:
                break
            continue
        if tags & t.AND or tags & t.NOR:
            if marked and (tags & t.AND) and _verb_before(spots, step):
                break
            continue
        if tags & _VERBS and not tags & t.HERNIA:
            if marked:
                break
            continue
        if not marked and tags & (t.NO | t.ABSENT) and not spots[at].tags & (t.UNSURE | t.UNSURE_AFTER):
            continue
        if tags & _CONCEPTS:
            if label and not tags & _LABELS:
                break
            if marked and not _joined(words[spot.after : edge]):
                break
            _mark(spot, what)
            marked = True
            edge = spot.first
    return marked


def _joined(gap: list[str]) -> bool:
    """Whether the words between two concepts leave them in one phrase ("hernia of the direct type")."""
    return all(word in SOFT or word in _JOINTS or not word[0].isalpha() for word in gap)


def _verb_before(spots: list[Spot], at: int) -> bool:
    """Whether a clause of its own stands before an "and"."""
    for step in range(at - 1, -1, -1):
        tags = spots[step].tags
        if tags & (t.COMMA | t.STOP):
            return False
        if tags & _BREAKS:
            return True
    return False


def _query(spots: list[Spot], at: int, words: list[str]) -> None:
    """A question mark doubts the word it stands before, or the whole clause that it ends."""
    spot = spots[at]
    if at + 1 < len(spots) and spots[at + 1].first == spot.after:
        for following in spots[at + 1 : at + 5]:
            if following.tags & _QUERY_ENDS:
                break
            following.unsure = True
            if following.tags & _NOUNS:
                break
    elif at and spots[at - 1].tags & (t.PRIMARY | t.RECURRENT) and not spots[at - 1].tags & t.HERNIA:
        spots[at - 1].unsure = True
    elif spot.after >= len(words) or not words[spot.after][0].isalpha():
        _back(spots, at, "unsure", words)
