"""Evidence on the type in one sentence: words, codes, places, and the state of the floor and the deep ring.

A hernia, sac or defect is put where the words between it and a place put it; a state (weak, sound, open, shut) belongs
to the subject right after it, else to the last one before it.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, PLACED, Clause
from .opnote_marks import listed
from .opnote_scan import Spot

_THROUGH: Final = listed(
    """
    through via traversing entering entered exiting exit exited emerging emerged emerges arising arose
    originating originated originates passing passes passed coming comes came protruding protrudes
    herniating herniated out runs enters traverses leaving exits starting in into from of inside within
    following descending at over extending occupying
    """
)
_RISING: Final = listed(
    "arising emerging protruding coming herniating exiting passing originating through traversing"
)
_UPTO: Final = listed("to until upto towards toward far level flush into till")
_AT: Final = frozenset(("at", "level", "flush"))
_BODIES: Final = t.HERNIA | t.SAC | t.DEFECT
_SUBJECTS: Final = t.mask(
    "wall ring bare_ring pv femcanal testis cord sac mesh superficial oblique lipoma hydrocele"
)
_STATES: Final = t.mask("weak sound open wide shut clear")
_BLOCKS: Final = t.TOOL | t.MESH
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
_BARRIERS: Final = t.STOP | t.AND | t.TIED
_RINGED: Final = t.mask("ring ppv pv weak")
_CLAUSE_ENDS: Final = t.COMMA | t.STOP | t.AND


def read_types(clause: Clause, carried: Spot | None) -> Spot | None:
    """Add what a sentence says of the type; returns the subject that the next sentence may go on about."""
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
            if tags & _PLACES:
                _place(clause, at, spot)
        elif tags & t.EPIGASTRIC:
            _vessels(clause, at, spot)
        elif tags & t.UNDERLIGAMENT:
            _below(clause, spot)
    return subject


_OUTRIGHT: Final = t.mask("indirect direct combined femoral lateral medial ppv")
_TELLING: Final = _OUTRIGHT | _STATES | _SUBJECTS | t.EPIGASTRIC | t.UNDERLIGAMENT
_PLACES: Final = t.mask("wall ring femcanal pv")


def _outright(clause: Clause, at: int, spot: Spot) -> None:
    """Words and codes that name a type."""
    tags = spot.tags
    if tags & t.INDIRECT:
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
    else:
        noun = _adjective_of(clause, at, spot)
        if noun is not None and not noun.tags & t.WALL:
            clause.say("type", "indirect" if tags & t.LATERAL else "direct", spot, OUTRIGHT, upto=noun)


def _femoral_hernia(clause: Clause, at: int, spot: Spot) -> Spot | None:
    """What a bare "femoral" is said of: "femoral or direct hernia", "Femoral: small hernia", "Type: femoral"."""
    words = clause.words
    before = words[spot.first - 1] if spot.first else ":"
    following = words[spot.after] if spot.after < len(words) else "\n"
    if before in (":", ",", "-") and not following[0].isalpha():
        return spot
    for other in clause.spots[at + 1 : at + 5]:
        if other.tags & _BODIES:
            return other if other.first - spot.after <= 4 else None
        if not other.tags & _AMONG_FEMORAL:
            return None
    return None


def _adjective_of(clause: Clause, at: int, spot: Spot) -> Spot | None:
    """The hernia that "lateral" or "medial" is said of: right after it, or before it at the end of a clause."""
    words = clause.words
    following = words[spot.after : spot.after + 1]
    if following in (["to"], ["of"]):
        return None
    for other in clause.spots[at + 1 : at + 4]:
        gap = words[spot.after : other.first]
        if len(gap) > 1 or (gap and not gap[0].isalpha() and gap[0] not in ("(", ")", "-", "/")):
            return None
        if other.tags & _BODIES:
            return other
        if not other.tags & _AMONG_TYPES:
            return None
    return None


def _state(clause: Clause, at: int, spot: Spot, subject: Spot | None) -> None:
    """What is weak, sound, open or shut: the subject right after the word, else the last one before it."""
    target = _subject_after(clause, at, spot)
    if target is None:
        if subject is None or subject is spot:
            return
        target = subject
        if spot.first - target.after > 14:
            return
    tags = spot.tags
    if target.tags & t.WALL:
        if tags & t.WEAK:
            strong = clause.words[spot.first] in _GIVEN_WAY
            clause.say("type", "direct", spot, PLACED if strong else INFERRED, upto=_still(target))
        elif tags & t.SOUND or (tags & (t.SHUT | t.CLEAR) and not _done(clause, spot)):
            _sound(clause, spot, target, "direct")
        elif tags & t.OPEN and clause.words[target.first] in ("direct", "medial"):
            clause.say("type", "direct", spot, PLACED, upto=_still(target))
    elif target.tags & t.RING or target.tags & t.PV or target.tags & t.BARE_RING:
        if tags & t.OPEN:
            if target.tags & t.PV or clause.words[spot.first] != "opened":
                clause.say("type", "processus", spot, PLACED, upto=_still(target))
        elif tags & t.SHUT:
            if not _done(clause, spot):
                _sound(clause, spot, target, "indirect")
        elif tags & t.WIDE and target.tags & t.RING:
            clause.say("type", "indirect", spot, INFERRED, upto=_still(target))
        elif tags & (t.CLEAR | t.SOUND) and target.tags & t.RING:
            _sound(clause, spot, target, "indirect")
    elif target.tags & t.FEMCANAL and tags & (t.CLEAR | t.SOUND | t.SHUT):
        _sound(clause, spot, target, "femoral")


def _still(target: Spot) -> Spot:
    """The subject without its own negation: "no weakness of the wall" negates the weakness."""
    free = Spot(target.tags, target.first, target.after)
    free.side, free.told, free.when, free.alive = target.side, target.told, target.when, target.alive
    if free.when == "search":
        free.when = "now"
    return free


def _sound(clause: Clause, spot: Spot, target: Spot, none: str) -> None:
    """A subject that is sound, shut or empty tells that there is no such hernia; "not intact" that there is."""
    clause.say("type", none, spot, PLACED if not spot.negated else INFERRED, upto=_still(target), flip=True)


def _done(clause: Clause, spot: Spot) -> bool:
    """Whether "closed" was done, and not found: a suture or a way of closing follows."""
    near = clause.words[spot.after : spot.after + 5]
    return not _BY.isdisjoint(near) or any(word[0].isdigit() for word in near)


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


def _place(clause: Clause, at: int, place: Spot) -> None:
    """A hernia, sac or defect in a place: through the floor, through the deep ring, in the femoral canal."""
    spots = clause.spots
    words = clause.words
    tags = place.tags
    for step in range(at - 1, -1, -1):
        other = spots[step]
        if other.tags & t.STOP:
            break
        if not other.tags & _BODIES:
            continue
        gap = words[other.after : place.first]
        if len(gap) > 9:
            break
        kind = _kind_of_place(tags)
        if _THROUGH.isdisjoint(gap) and _UPTO.isdisjoint(gap):
            continue
        if tags & t.RING:
            _ring(clause, other, place, gap, step, at)
        elif not tags & t.PV and not _THROUGH.isdisjoint(gap):
            barriers = _BARRIERS if not _RISING.isdisjoint(gap) else _BARRIERS | t.COMMA
            if any(s.tags & barriers for s in spots[step + 1 : at]):
                continue
            clause.say("type", kind, other, PLACED, upto=_still(place))
        break
    following = spots[at + 1] if at + 1 < len(spots) else None
    beside = following is not None and following.first - place.after <= 1
    if following is not None and beside and following.tags & t.DEFECT and not tags & t.PV:
        clause.say("type", _kind_of_place(tags), following, PLACED, upto=_still(place))
    if tags & t.PV and any(s.tags & (t.TIED | t.FREED | t.EXCISED) for s in spots):
        clause.say("type", "processus", place, PLACED)


def _kind_of_place(tags: int) -> str:
    return "direct" if tags & t.WALL else "femoral" if tags & t.FEMCANAL else "indirect"


def _ring(clause: Clause, body: Spot, ring: Spot, gap: list[str], step: int, at: int) -> None:
    """A sac and the deep ring: through it or followed up to it is indirect; tied at it says little."""
    if any(s.tags & t.MESH for s in clause.spots[step:at]):
        return
    if body.negated and not _UPTO.isdisjoint(gap):
        return
    spots = clause.spots
    freed = any(s.tags & t.FREED for s in spots)
    tied = [s for s in spots[step + 1 : at] if s.tags & (t.TIED | t.EXCISED | t.HIGHLIG)]
    if freed and not (_UPTO | _AT | {"from"}).isdisjoint(gap):
        clause.say("type", "sac", body, PLACED, upto=_still(ring))
    elif tied and not (_AT | _UPTO).isdisjoint(gap):
        clause.say("type", "sac", body, INFERRED, upto=_still(ring))
    elif not tied and not (_THROUGH - {"of", "over"}).isdisjoint(gap):
        clause.say("type", "indirect", body, PLACED, upto=_still(ring))


def _vessels(clause: Clause, at: int, vessels: Spot) -> None:
    """Lateral or medial to the epigastric vessels, said of the hernia and not of mesh, tacks or ports."""
    spots = clause.spots
    words = clause.words
    low = max((i for i in range(at) if spots[i].tags & t.STOP), default=-1) + 1
    for step in range(at - 1, low - 1, -1):
        spot = spots[step]
        gap = words[spot.after : vessels.first]
        if len(gap) > 5:
            break
        if spot.tags & t.STRADDLE:
            clause.say("type", "combined", spot, PLACED, upto=_still(vessels))
            return
        if spot.tags & (t.LATERAL | t.MEDIAL) and ("to" in gap or "of" in gap):
            _related(clause, low, step, at)
            return
    # the vessels named first: "epigastrics run medial to the sac"
    for step in range(at + 1, min(at + 6, len(spots))):
        spot = spots[step]
        if spot.tags & (t.STOP | t.COMMA):
            break
        if spot.tags & (t.LATERAL | t.MEDIAL):
            if words[spot.after : spot.after + 1] != ["to"]:
                break
            body = next((s for s in spots[step + 1 : step + 3] if s.tags & _BODIES), None)
            if body is not None and body.first - spot.after <= 4:
                clause.say(
                    "type",
                    "direct" if spot.tags & t.LATERAL else "indirect",
                    body,
                    PLACED,
                    upto=_still(spot),
                )
            break


def _related(clause: Clause, low: int, step: int, at: int) -> None:
    """A relation to the vessels, when its subject is a hernia, or nothing else is in sight."""
    spots = clause.spots
    relation = spots[step]
    kind = "indirect" if relation.tags & t.LATERAL else "direct"
    start = low
    for i in range(step - 1, low - 1, -1):
        if spots[i].tags & t.COMMA and i != step - 1:
            start = i + 1
            break
    subjects = [s for s in spots[start:step] if s.tags & (_BODIES | _BLOCKS | _RINGED)]
    nearest = subjects[-1] if subjects else None
    if nearest is None:
        # "medial to the vessels there is a defect": what follows in the clause
        following = [
            s for s in spots[at + 1 : at + 6] if s.tags & (_BODIES | _BLOCKS | t.SOUND | t.CLEAR | t.WEAK)
        ]
        nearest = following[0] if following else None
    if nearest is None:
        clause.say("type", kind, relation, PLACED, upto=spots[at])
    elif nearest.tags & (t.SOUND | t.CLEAR):
        clause.say("type", kind, relation, PLACED, upto=_still(nearest), flip=True)
    elif not nearest.tags & _BLOCKS:
        if relation.negated and not nearest.negated:
            clause.say("type", kind, relation, PLACED, upto=nearest)
        else:
            clause.say("type", kind, nearest, PLACED, upto=_still(relation))
    elif any(s.tags & (t.SAC | t.HERNIA) for s in subjects) and nearest.tags & t.FREED:
        clause.say("type", kind, relation, PLACED)


def _below(clause: Clause, place: Spot) -> None:
    """Below the inguinal ligament: femoral, when a hernia is said to be there."""
    for other in clause.spots:
        if other.tags & (_BODIES | t.WEAK) and abs(other.first - place.first) <= 10:
            clause.say("type", "femoral", other, PLACED, upto=_still(place))
            return
