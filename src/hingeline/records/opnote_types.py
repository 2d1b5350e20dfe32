"""Evidence on the type in one sentence: words, codes, places, and the state of the floor and the deep ring.

A hernia, sac or defect is put where the words between it and a place put it; a state (weak, sound, open, shut) belongs to
the subject right after it, else to the last one before it.
"""

from __future__ import annotations

from typing import Final

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
_BODIES: Final = frozenset(("hernia", "sac", "defect"))
_SUBJECTS: Final = frozenset(
    (
        "wall",
        "ring",
        "bare_ring",
        "pv",
        "femcanal",
        "testis",
        "cord",
        "sac",
        "mesh",
        "superficial",
        "oblique",
        "lipoma",
        "hydrocele",
    )
)
_STATES: Final = frozenset(("weak", "sound", "open", "wide", "shut", "clear"))
_BLOCKS: Final = frozenset(("tool", "mesh"))
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
_CLAUSE_ENDS: Final = frozenset(("comma", "stop", "and"))


def read_types(clause: Clause, carried: Spot | None) -> Spot | None:
    """Add what a sentence says of the type; returns the subject that the next sentence may go on about."""
    spots = clause.spots
    subject = carried
    for at, spot in enumerate(spots):
        tags = spot.tags
        if not tags.isdisjoint(_OUTRIGHT):
            _outright(clause, at, spot)
        if not tags.isdisjoint(_STATES):
            _state(clause, at, spot, subject)
        if not tags.isdisjoint(_SUBJECTS):
            subject = spot
            if not tags.isdisjoint(_PLACES):
                _place(clause, at, spot)
        elif "epigastric" in tags:
            _vessels(clause, at, spot)
        elif "underligament" in tags:
            _below(clause, spot)
    return subject


_OUTRIGHT: Final = frozenset(
    ("indirect", "direct", "combined", "femoral", "lateral", "medial", "ppv", "congenital")
)
_PLACES: Final = frozenset(("wall", "ring", "femcanal", "pv"))


def _outright(clause: Clause, at: int, spot: Spot) -> None:
    """Words and codes that name a type."""
    tags = spot.tags
    if "indirect" in tags:
        clause.say("type", "indirect", spot, OUTRIGHT)
    elif "direct" in tags:
        clause.say("type", "direct", spot, OUTRIGHT)
    elif "combined" in tags:
        clause.say("type", "combined", spot, OUTRIGHT)
    elif "ppv" in tags:
        clause.say("type", "processus", spot, PLACED)
    elif "femoral" in tags:
        if "hernia" in tags or spot.negated:
            clause.say("type", "femoral", spot, OUTRIGHT)
        else:
            noun = _femoral_hernia(clause, at, spot)
            if noun is not None:
                clause.say("type", "femoral", spot, OUTRIGHT, upto=noun)
    else:
        noun = _adjective_of(clause, at, spot)
        if noun is not None and "wall" not in noun.tags:
            clause.say("type", "indirect" if "lateral" in tags else "direct", spot, OUTRIGHT, upto=noun)


def _femoral_hernia(clause: Clause, at: int, spot: Spot) -> Spot | None:
    """What a bare "femoral" is said of: "femoral or direct hernia", "Femoral: small hernia", "Type: femoral"."""
    words = clause.words
    before = words[spot.first - 1] if spot.first else ":"
    following = words[spot.after] if spot.after < len(words) else "\n"
    if before in (":", ",", "-") and not following[0].isalpha():
        return spot
    for other in clause.spots[at + 1 : at + 5]:
        if not other.tags.isdisjoint(_BODIES):
            return other if other.first - spot.after <= 4 else None
        if other.tags.isdisjoint(
            ("nor", "and", "comma", "direct", "indirect", "colon", "clear", "wide", "no")
        ):
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
        if not other.tags.isdisjoint(_BODIES):
            return other
        if other.tags.isdisjoint(
            ("and", "nor", "lateral", "medial", "direct", "indirect", "wide", "primary", "recurrent")
        ):
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
    if "wall" in target.tags:
        if "weak" in tags:
            strong = clause.words[spot.first] in _GIVEN_WAY
            clause.say("type", "direct", spot, PLACED if strong else INFERRED, upto=_still(target))
        elif "sound" in tags or (not tags.isdisjoint(("shut", "clear")) and not _done(clause, spot)):
            _sound(clause, spot, target, "direct")
        elif "open" in tags and clause.words[target.first] in ("direct", "medial"):
            clause.say("type", "direct", spot, PLACED, upto=_still(target))
    elif "ring" in target.tags or "pv" in target.tags or "bare_ring" in target.tags:
        if "open" in tags:
            if "pv" in target.tags or clause.words[spot.first] != "opened":
                clause.say("type", "processus", spot, PLACED, upto=_still(target))
        elif "shut" in tags:
            if not _done(clause, spot):
                _sound(clause, spot, target, "indirect")
        elif "wide" in tags and "ring" in target.tags:
            clause.say("type", "indirect", spot, INFERRED, upto=_still(target))
        elif not tags.isdisjoint(("clear", "sound")) and "ring" in target.tags:
            _sound(clause, spot, target, "indirect")
    elif "femcanal" in target.tags and not tags.isdisjoint(("clear", "sound", "shut")):
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
        if not other.tags.isdisjoint(_SUBJECTS):
            if len(gap) > 4 or any(word in (",", ".", "and", "with") for word in gap):
                return None
            linked = all(word in _LINKS for word in gap)
            return other if linked else None
        if not other.tags.isdisjoint(_CLAUSE_ENDS | {"be", "colon"}):
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
        if "stop" in other.tags:
            break
        if other.tags.isdisjoint(_BODIES):
            continue
        gap = words[other.after : place.first]
        if len(gap) > 9:
            break
        kind = _kind_of_place(tags)
        if _THROUGH.isdisjoint(gap) and _UPTO.isdisjoint(gap):
            continue
        if "ring" in tags:
            _ring(clause, other, place, gap, step, at)
        elif "pv" not in tags and not _THROUGH.isdisjoint(gap):
            barriers = (
                ("stop", "and", "tied") if not _RISING.isdisjoint(gap) else ("stop", "and", "tied", "comma")
            )
            if any(not s.tags.isdisjoint(barriers) for s in spots[step + 1 : at]):
                continue
            clause.say("type", kind, other, PLACED, upto=_still(place))
        break
    following = spots[at + 1] if at + 1 < len(spots) else None
    if following is not None and "defect" in following.tags and "pv" not in tags:
        if following.first - place.after <= 1:
            clause.say("type", _kind_of_place(tags), following, PLACED, upto=_still(place))
    if "pv" in tags and any(not s.tags.isdisjoint(("tied", "freed", "excised")) for s in spots):
        clause.say("type", "processus", place, PLACED)


def _kind_of_place(tags: frozenset[str]) -> str:
    return "direct" if "wall" in tags else "femoral" if "femcanal" in tags else "indirect"


def _ring(clause: Clause, body: Spot, ring: Spot, gap: list[str], step: int, at: int) -> None:
    """A sac and the deep ring: through it or followed up to it is indirect; tied at it says little."""
    if any("mesh" in s.tags for s in clause.spots[step:at]):
        return
    if body.negated and not _UPTO.isdisjoint(gap):
        return
    spots = clause.spots
    freed = any("freed" in s.tags for s in spots)
    tied = [s for s in spots[step + 1 : at] if not s.tags.isdisjoint(("tied", "excised", "highlig"))]
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
    low = max((i for i in range(at) if "stop" in spots[i].tags), default=-1) + 1
    for step in range(at - 1, low - 1, -1):
        spot = spots[step]
        gap = words[spot.after : vessels.first]
        if len(gap) > 5:
            break
        if "straddle" in spot.tags:
            clause.say("type", "combined", spot, PLACED, upto=_still(vessels))
            return
        if not spot.tags.isdisjoint(("lateral", "medial")) and ("to" in gap or "of" in gap):
            _related(clause, low, step, at)
            return
    # the vessels named first: "epigastrics run medial to the sac"
    for step in range(at + 1, min(at + 6, len(spots))):
        spot = spots[step]
        if not spot.tags.isdisjoint(("stop", "comma")):
            break
        if not spot.tags.isdisjoint(("lateral", "medial")):
            if words[spot.after : spot.after + 1] != ["to"]:
                break
            body = next((s for s in spots[step + 1 : step + 3] if not s.tags.isdisjoint(_BODIES)), None)
            if body is not None and body.first - spot.after <= 4:
                clause.say(
                    "type",
                    "direct" if "lateral" in spot.tags else "indirect",
                    body,
                    PLACED,
                    upto=_still(spot),
                )
            break


def _related(clause: Clause, low: int, step: int, at: int) -> None:
    """A relation to the vessels, when its subject is a hernia, or nothing else is in sight."""
    spots = clause.spots
    relation = spots[step]
    kind = "indirect" if "lateral" in relation.tags else "direct"
    start = low
    for i in range(step - 1, low - 1, -1):
        if "comma" in spots[i].tags and i != step - 1:
            start = i + 1
            break
    subjects = [
        s
        for s in spots[start:step]
        if not s.tags.isdisjoint(_BODIES | _BLOCKS | {"ring", "ppv", "pv", "weak"})
    ]
    nearest = subjects[-1] if subjects else None
    if nearest is None:
        # "medial to the vessels there is a defect": what follows in the clause
        following = [
            s
            for s in spots[at + 1 : at + 6]
            if not s.tags.isdisjoint(_BODIES | _BLOCKS | {"sound", "clear", "weak"})
        ]
        nearest = following[0] if following else None
    if nearest is None:
        clause.say("type", kind, relation, PLACED, upto=spots[at])
    elif not nearest.tags.isdisjoint(("sound", "clear")):
        clause.say("type", kind, relation, PLACED, upto=_still(nearest), flip=True)
    elif nearest.tags.isdisjoint(_BLOCKS):
        if relation.negated and not nearest.negated:
            clause.say("type", kind, relation, PLACED, upto=nearest)
        else:
            clause.say("type", kind, nearest, PLACED, upto=_still(relation))
    elif any(not s.tags.isdisjoint(("sac", "hernia")) for s in subjects) and "freed" in nearest.tags:
        clause.say("type", kind, relation, PLACED)


def _below(clause: Clause, place: Spot) -> None:
    """Below the inguinal ligament: femoral, when a hernia is said to be there."""
    for other in clause.spots:
        if not other.tags.isdisjoint(_BODIES | {"weak"}) and abs(other.first - place.first) <= 10:
            clause.say("type", "femoral", other, PLACED, upto=_still(place))
            return
