"""Evidence on the type in one sentence: words, codes, places, and the state of the floor and the deep ring.

A hernia, sac or defect is put where the words between it and a place put it; a state (weak, sound, open, shut) belongs
to the subject right after it, else to the last one before it.
"""

from __future__ import annotations

from typing import Final

from . import opnote_anatomy
from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, PLACED, Clause
from .opnote_forms import BLOT
from .opnote_marks import listed
from .opnote_places import BODIES, read_below, read_followed, read_place, read_vessels, still
from .opnote_scan import Spot

_SUBJECTS: Final = t.mask(
    "wall ring bare_ring pv femcanal testis cord sac mesh superficial oblique lipoma hydrocele"
)
_STATES: Final = t.mask("weak sound open wide shut clear")
_GIVEN_WAY: Final = listed(
    """
    bulge bulging ballooning ballooned blown blow blowout gave giving given gives disrupted destroyed hole
    gap breach breached torn dehiscent failure failed fallen everted pouting sagging sagged defective
    """
)
_BY: Final = listed(
    """
    with by using purse stitch suture passing laparoscopic laparoscopically percutaneous percutaneously
    extraperitoneally pursestring absorbable silk prophylactically intracorporeal intracorporeally
    extracorporeally endoloop
    """
)
_AMONG_FEMORAL: Final = t.mask("nor and comma direct indirect colon clear wide no")
_AMONG_TYPES: Final = t.mask("and nor lateral medial direct indirect wide primary recurrent")
_ADVERB_ENDS: Final = t.mask("comma stop tool mesh freed cord tied oblique epigastric")
_ANSWERED: Final = listed("type kind form class defect hernia sac ehs site location position")
_CLAUSE_ENDS: Final = t.COMMA | t.STOP | t.AND


def read_types(clause: Clause, carried: Spot | None, sac: Spot | None) -> Spot | None:
    """Add what a sentence says of the type; returns the subject that the next sentence may go on about."""
    if clause.tags & opnote_anatomy.TELLING:
        opnote_anatomy.read_anatomy(clause, sac)
    if not clause.tags & _TELLING:
        return carried if not clause.tags else None
    spots = clause.spots
    subject = carried
    for at, spot in enumerate(spots):
        tags = spot.tags
        if not tags & _TELLING:
            continue
        if tags & _OUTRIGHT:
            _outright(clause, at, spot)
        if tags & _STATES:
            _state(clause, at, spot, subject)
        if tags & _SUBJECTS:
            subject = spot
            if tags & t.BARE_RING and clause.words[spot.after - 1] == "fat":
                read_followed(clause, at, spot, sac)
            if tags & _PLACES:
                read_place(clause, at, spot)
                if tags & t.RING:
                    read_followed(clause, at, spot, sac)
        elif tags & t.EPIGASTRIC:
            read_vessels(clause, at, spot)
        elif tags & t.UNDERLIGAMENT:
            read_below(clause, spot)
    return subject


_OUTRIGHT: Final = t.mask("indirect direct combined femoral lateral medial ppv")
_TELLING: Final = _OUTRIGHT | _STATES | _SUBJECTS | t.EPIGASTRIC | t.UNDERLIGAMENT
_PLACES: Final = t.mask("wall ring femcanal pv")


def _outright(clause: Clause, at: int, spot: Spot) -> None:
    """Words and codes that name a type."""
    tags = spot.tags
    if clause.words[spot.after : spot.after + 1] == ["then"] and clause.words[
        spot.after + 1 : spot.after + 2
    ] != ["the"]:
        return  # "(indirect then)"
    if tags & (t.INDIRECT | t.DIRECT) and _answered_clear(clause, at, spot):
        clause.say("type", "indirect" if tags & t.INDIRECT else "direct", still(spot), OUTRIGHT, flip=True)
    elif tags & t.INDIRECT:
        if not (spot.negated and clause.words[spot.first] == "bubonocele"):  # a stage, not the kind
            clause.say("type", "indirect", spot, OUTRIGHT)
    elif tags & t.DIRECT:
        clause.say("type", "direct", spot, OUTRIGHT)
    elif tags & t.COMBINED:
        clause.say("type", "combined", spot, OUTRIGHT)
    elif tags & t.PPV:
        clause.say("type", "processus", spot, PLACED)
    elif tags & t.FEMORAL:
        if tags & t.HERNIA or spot.negated:
            clause.say("type", "femoral", spot, OUTRIGHT)
        else:
            noun = _femoral_hernia(clause, at, spot)
            if noun is not None:
                clause.say("type", "femoral", spot, OUTRIGHT, upto=noun)
    elif tags & t.ADVERB:
        _adverb(clause, at, spot)
    else:
        noun = _adjective_of(clause, at, spot) or _predicate_of(clause, at, spot)
        if noun is None and _ticked(clause, spot):
            noun = spot
        if noun is None and tags & t.MEDIAL and clause.words[spot.after : spot.after + 1] == ["weakness"]:
            clause.say("type", "direct", spot, INFERRED, upto=clause.spots[at + 1])
        if noun is not None and not noun.tags & t.WALL:
            clause.say("type", "indirect" if tags & t.LATERAL else "direct", spot, OUTRIGHT, upto=noun)


def _answered_clear(clause: Clause, at: int, spot: Spot) -> bool:
    """Whether a type is a label whose answer is that there is none: "Indirect: clear"."""
    beside = clause.spots[at + 1 : at + 3]
    if spot.negated or len(beside) < 2 or clause.words[spot.after] != ":":
        return False
    return bool(beside[1].tags & (t.CLEAR | t.SOUND | t.SHUT)) and beside[1].first == spot.after + 1


_LEADS_FEMORAL: Final = listed(
    "left right so l r strang strangulated incarcerated obstructed irreducible emergency a rt lt recurrent"
)


def _femoral_hernia(clause: Clause, at: int, spot: Spot) -> Spot | None:
    """What a bare "femoral" is said of: "femoral or direct hernia", "Femoral: small hernia", "Type: femoral"."""
    words = clause.words
    before = words[spot.first - 1] if spot.first else ":"
    following = words[spot.after] if spot.after < len(words) else "\n"
    if (
        (before in (":", ",", "-") or before in _LEADS_FEMORAL)
        and not following[0].isalpha()
        and following != ":"
    ):
        return spot
    for other in clause.spots[at + 1 : at + 5]:
        if other.tags & BODIES:
            return other if other.first - spot.after <= 4 else None
        if not other.tags & _AMONG_FEMORAL:
            return None
    return None


def _ticked(clause: Clause, spot: Spot) -> bool:
    """Whether "lateral" or "medial" stands alone as the answer to a label: "Defect: medial"."""
    words = clause.words
    before = words[spot.first - 1] if spot.first else ""
    following = words[spot.after] if spot.after < len(words) else "\n"
    if before not in (":", ",", "-", BLOT) or following[0].isalpha():
        return False
    return not _ANSWERED.isdisjoint(words[max(0, spot.first - 8) : spot.first])


def _adverb(clause: Clause, at: int, spot: Spot) -> None:
    """ "Medially a 3 cm defect", "the bulge was medially": said of a defect or hernia, not of what was dissected."""
    spots = clause.spots
    for step in (*range(at + 1, min(at + 5, len(spots))), *range(at - 1, max(at - 5, -1), -1)):
        other = spots[step]
        near = clause.between(spot, other)
        if other.tags & (t.DEFECT | t.HERNIA) and len(near) <= 6:
            inside = spots[min(at, step) + 1 : max(at, step)]
            if not any(s.tags & _ADVERB_ENDS for s in inside):
                clause.say(
                    "type",
                    "indirect" if spot.tags & t.LATERAL else "direct",
                    other,
                    PLACED,
                    upto=still(spot),
                )
                return


def _predicate_of(clause: Clause, at: int, spot: Spot) -> Spot | None:
    """The hernia that is said to be lateral or medial at the end of a clause: "the hernia was medial"."""
    words = clause.words
    following = words[spot.after] if spot.after < len(words) else "\n"
    if following[0].isalpha() and following not in ("and", "with", "but", "type"):
        return None
    if (
        at >= 2
        and clause.spots[at - 1].tags & (t.BE | t.AT_OPERATION)
        and clause.spots[at - 2].tags & (BODIES | t.RECURRENT)
    ):
        near = spot.first - clause.spots[at - 1].after <= 1
        return (
            clause.spots[at - 2]
            if near and clause.spots[at - 1].first - clause.spots[at - 2].after <= 1
            else None
        )
    return None


def _adjective_of(clause: Clause, at: int, spot: Spot) -> Spot | None:
    """The hernia that "lateral" or "medial" is said of: right after it, or before it at the end of a clause."""
    words = clause.words
    following = words[spot.after : spot.after + 1]
    if following in (["to"], ["of"]):
        return None
    if following == ["one"] and words[spot.first - 1 : spot.first] == ["the"]:
        return spot if _of_openings(words, spot) else None
    for other in clause.spots[at + 1 : at + 4]:
        gap = words[spot.after : other.first]
        if len(gap) > 1 or (gap and not gap[0].isalpha() and gap[0] not in ("(", ")", "-", "/")):
            return None
        if other.tags & (BODIES | t.RECURRENT):
            return other
        if not other.tags & _AMONG_TYPES:
            return None
    return None


_OPENINGS: Final = listed("opening openings defect hernia sac orifice")
_HARDWARE: Final = listed("port ports trocar tack tacks stitch suture clip row")


def _of_openings(words: list[str], spot: Spot) -> bool:
    """Whether "the lateral one" stands for one of the openings told of before it."""
    before = words[max(0, spot.first - 36) : spot.first]
    return not _OPENINGS.isdisjoint(before) and _HARDWARE.isdisjoint(before)


def _state(clause: Clause, at: int, spot: Spot, subject: Spot | None) -> None:
    """What is weak, sound, open or shut: the subject right after the word, else the last one before it."""
    target = _subject_after(clause, at, spot)
    if target is None:
        if subject is None or subject is spot:
            return
        target = subject
        if spot.told and target.told and {spot.side, target.side} == {"left", "right"}:
            return
        if spot.first - target.after > 14:
            return
        if tags_of_rest(spot.tags) and _loose(clause, at, spot, target):
            return
    tags = spot.tags
    if target not in clause.spots and _elsewhere(clause, at, spot, target):
        return
    if target.tags & t.WALL:
        if tags & t.WEAK:
            strong = clause.words[spot.first] in _GIVEN_WAY
            clause.say("type", "direct", spot, PLACED if strong else INFERRED, upto=still(target))
        elif tags & (t.SOUND | t.CLEAR):
            _sound(clause, spot, target, "direct")
        elif tags & (t.OPEN | t.WIDE) and clause.words[target.first] in ("direct", "medial"):
            clause.say("type", "direct", spot, PLACED, upto=still(target))
    elif target.tags & t.RING or target.tags & t.PV or target.tags & t.BARE_RING:
        if tags & t.OPEN:
            if target.tags & t.PV or clause.words[spot.first] != "opened":
                clause.say("type", "processus", spot, PLACED, upto=still(target))
        elif tags & t.SHUT:
            if not _done(clause, spot):
                # a ring that was found open and is closed at the end was closed by the surgeon
                _sound(clause, spot, target, "indirect", grade=INFERRED)
            elif target.tags & (t.RING | t.BARE_RING) and not spot.negated and _by_stitch(clause, spot):
                clause.say("type", "sac", spot, INFERRED, upto=still(target))  # "ring shut with 2-0"
        elif tags & t.WIDE:
            clause.say("type", "indirect", spot, INFERRED, upto=still(target))
        elif tags & (t.CLEAR | t.SOUND) and target.tags & t.RING:
            _sound(clause, spot, target, "indirect")
    elif target.tags & t.FEMCANAL and tags & (t.CLEAR | t.SOUND | t.SHUT):
        _sound(clause, spot, target, "femoral")


def _elsewhere(clause: Clause, at: int, spot: Spot, target: Spot) -> bool:
    """Whether a state of another sentence is none of the subject's: a line of its own, "it was dissected free"."""
    between = clause.words[target.after : spot.first]
    if ":" in between and not {"\n", "\n\n"}.isdisjoint(between):
        return True  # "... transfixed at deep ring / Gonads: normal"
    before = clause.spots[at - 1] if at else None
    return before is not None and before.after == spot.first and bool(before.tags & t.FREED)


def tags_of_rest(tags: int) -> bool:
    """Whether a state says that all is well."""
    return bool(tags & (t.SOUND | t.CLEAR))


def _loose(clause: Clause, at: int, spot: Spot, target: Spot) -> bool:
    """Whether "good" or "empty" after a subject is said of something else: "the ring and needed a good while"."""
    words = clause.words
    following = words[spot.after] if spot.after < len(words) else "\n"
    if following[0].isalpha() and following not in _AFTER_STATE and not _is_subject(clause, at):
        return True
    if target not in clause.spots:
        return spot.first - clause.spots[0].first > 4
    start = clause.spots.index(target)
    if words[spot.first] == "empty" and target.tags & t.RING:
        # it is the sac that was empty
        return any(s.tags & t.SAC and not s.negated for s in clause.spots[:start])
    between = clause.spots[start + 1 : at]
    if any(s.tags & (t.TIED | t.FREED | t.MESH | t.EXCISED | t.REINFORCE) for s in between):
        return True
    if any(s.tags & t.AND and words[s.first] in ("and", "with") for s in between):
        return not any(s.tags & t.BE for s in between)
    if target.tags & t.RING and any(s.tags & t.COMMA for s in between):
        return any(s.tags & BODIES and not s.negated for s in clause.spots[:start])
    return False


def _is_subject(clause: Clause, at: int) -> bool:
    following = clause.spots[at + 1] if at + 1 < len(clause.spots) else None
    return (
        following is not None
        and bool(following.tags & _SUBJECTS)
        and following.first <= clause.spots[at].after + 1
    )


_AFTER_STATE: Final = listed(
    """
    and with but to on at from in throughout all as by so no for over apart although though when then except
    behind under enough medially laterally both without indirect direct or nor there like again today under
    around round across along even if it i we he the this that which while because also only still
    considering given below above left right bilaterally repaired lichtenstein mesh nil not
    """
)


def _sound(clause: Clause, spot: Spot, target: Spot, none: str, grade: int = PLACED) -> None:
    """A subject that is sound, shut or empty tells that there is no such hernia; "not intact" that there is."""
    clause.say("type", none, spot, grade if not spot.negated else INFERRED, upto=still(target), flip=True)


def _done(clause: Clause, spot: Spot) -> bool:
    """Whether "closed" was done, and not found: a suture or a way of closing follows."""
    near = clause.words[spot.after : spot.after + 5]
    return not _BY.isdisjoint(near) or any(word[0].isdigit() for word in near)


_SEWN: Final = listed(
    "with by using percutaneously laparoscopically extraperitoneally intracorporeally extracorporeally"
)
_NOT_THE_DEEP: Final = t.MESH | t.SUPERFICIAL | t.OBLIQUE | t.WALL


def _by_stitch(clause: Clause, spot: Spot) -> bool:
    """Whether a ring was closed by a stitch ("shut with 2-0"), and no other ring can be meant."""
    return not clause.tags & _NOT_THE_DEEP and not _SEWN.isdisjoint(clause.words[spot.after : spot.after + 1])


def _subject_after(clause: Clause, at: int, spot: Spot) -> Spot | None:
    """The subject that a state stands right before: "weak posterior wall", "weakness of the floor"."""
    for other in clause.spots[at + 1 : at + 4]:
        gap = clause.words[spot.after : other.first]
        if other.tags & _SUBJECTS:
            if len(gap) > 4 or any(word in (",", ".", "and", "with") for word in gap):
                return None
            linked = all(word in _LINKS for word in gap)
            return other if linked else None
        if other.tags & (_CLAUSE_ENDS | t.BE | t.COLON):
            return None
    return None


_LINKS: Final = listed(
    """
    of in the a an to at through within inguinal medial posterior left right his her this that along whole
    entire - area internal
    """
)
