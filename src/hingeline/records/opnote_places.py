"""Where a hernia is said to be: through the floor, the deep ring or the femoral canal, beside the epigastric vessels.

A place counts when the words between it and a hernia, sac or defect put that there; mesh, tacks, ports and dissection
near a place say nothing of the type.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, PLACED, Clause
from .opnote_marks import listed
from .opnote_scan import Spot

BODIES: Final = t.HERNIA | t.SAC | t.DEFECT
_THROUGH: Final = listed(
    """
    through thru via traversing entering entered exiting exit exited emerging emerged emerges arising arose
    originating originated originates passing passes passed coming comes came protruding protrudes
    herniating herniated out runs enters traverses leaving exits starting in into from of inside within
    following descending at over extending occupying pushing pushed carrying
    """
)
_RISING: Final = listed(
    "arising emerging protruding coming herniating exiting passing originating through traversing"
)
_HOLDS: Final = frozenset(
    ("contained", "contains", "containing", "held", "holding", "had", "showed", "housed")
)
_BESIDE: Final = frozenset(("left", "right", "l", "r", "-", ":"))
_FAR: Final = frozenset(("far", "away", "clear", "well", "distant"))
_UPTO: Final = listed("to until upto towards toward far level flush into till")
_AT: Final = frozenset(("at", "level", "flush"))
_BLOCKS: Final = t.TOOL | t.MESH
_BARRIERS: Final = t.STOP | t.AND | t.TIED
_RINGED: Final = t.mask("ring ppv pv weak")


def read_place(clause: Clause, at: int, place: Spot) -> None:
    """A hernia, sac or defect in a place: through the floor, through the deep ring, in the femoral canal."""
    spots = clause.spots
    words = clause.words
    tags = place.tags
    for step in range(at - 1, -1, -1):
        other = spots[step]
        if other.tags & t.STOP and words[other.first] not in ("which", "then"):
            break
        if not other.tags & BODIES:
            continue
        gap = words[other.after : place.first]
        if len(gap) > 9:
            break
        kind = _kind_of_place(tags)
        if not tags & t.PV and all(word in _BESIDE for word in gap) and not other.tags & t.HERNIA:
            clause.say("type", kind, other, PLACED, upto=still(place))  # "bulge L Hesselbach's"
            break
        if _THROUGH.isdisjoint(gap) and _UPTO.isdisjoint(gap):
            continue
        if tags & t.RING:
            _ring(clause, other, place, gap, step, at)
        elif not tags & t.PV and not _THROUGH.isdisjoint(gap):
            barriers = _BARRIERS if not _RISING.isdisjoint(gap) else _BARRIERS | t.COMMA
            if any(s.tags & barriers for s in spots[step + 1 : at]):
                continue
            clause.say("type", kind, other, PLACED, upto=still(place))
        break
    following = spots[at + 1] if at + 1 < len(spots) else None
    held = words[place.after : place.after + 3]
    if following is not None and not _HOLDS.isdisjoint(held) and not tags & t.PV:
        body = next((s for s in spots[at + 1 : at + 4] if s.tags & BODIES), None)
        if body is not None and body.first - place.after <= 6:
            clause.say("type", _kind_of_place(tags), body, PLACED, upto=still(place))
    beside = following is not None and following.first - place.after <= 1
    if following is not None and beside and following.tags & t.DEFECT and not tags & t.PV:
        clause.say("type", _kind_of_place(tags), following, PLACED, upto=still(place))
    if tags & t.PV and not place.negated and _to_the_testis(clause, at, place):
        clause.say("type", "processus", place, PLACED)
    if tags & t.PV and any(s.tags & (t.TIED | t.FREED | t.EXCISED) for s in spots):
        clause.say("type", "processus", place, PLACED)


_DOWN: Final = listed("to reaching reached down into upto open")


def _to_the_testis(clause: Clause, at: int, pv: Spot) -> bool:
    """Whether a processus runs to the testis or into the scrotum, so that it is open."""
    near = clause.words[pv.after : pv.after + 4]
    return not _DOWN.isdisjoint(near[:2]) and not {"testis", "scrotum"}.isdisjoint(near)


def read_followed(clause: Clause, at: int, ring: Spot, carried: Spot | None) -> None:
    """A sac that was freed, and then followed up to the deep ring, however much is told in between."""
    spots = clause.spots
    words = clause.words
    sac = carried
    for step in range(at):
        if spots[step].tags & (t.SAC | t.PV) and not spots[step].negated:
            sac = spots[step]
    if sac is None or sac.negated:
        return
    for step in range(at - 1, -1, -1):
        spot = spots[step]
        gap = words[spot.after : ring.first]
        if len(gap) > 7 or spot.tags & _BLOCKS:
            return
        if spot.tags & t.FREED and not spot.negated and not _UPTO.isdisjoint(gap):
            free = still(sac)
            clause.say("type", "sac", spot, PLACED, upto=free if sac in spots else None)
            return


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
        clause.say("type", "sac", body, PLACED, upto=still(ring))
    elif tied and not (_AT | _UPTO).isdisjoint(gap):
        clause.say("type", "sac", body, INFERRED, upto=still(ring))
    elif not tied and _FAR.isdisjoint(gap) and not (_THROUGH - {"of", "over"}).isdisjoint(gap):
        clause.say("type", "indirect", body, PLACED, upto=still(ring))


def read_vessels(clause: Clause, at: int, vessels: Spot) -> None:
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
            clause.say("type", "combined", spot, PLACED, upto=still(vessels))
            return
        if spot.tags & (t.LATERAL | t.MEDIAL) and ("to" in gap or "of" in gap):
            _related(clause, low, step, at)
            return
    gap = words[max(0, vessels.first - 5) : vessels.first]
    if "between" in gap and "rectus" in words[vessels.after : vessels.after + 9]:
        body = next((s for s in spots if s.tags & BODIES), None)
        if body is not None:
            clause.say("type", "direct", body, PLACED, upto=still(vessels))
        return
    # the vessels named first: "epigastrics run medial to the sac"
    for step in range(at + 1, min(at + 6, len(spots))):
        spot = spots[step]
        if spot.tags & (t.STOP | t.COMMA):
            break
        if spot.tags & (t.LATERAL | t.MEDIAL):
            if words[spot.after : spot.after + 1] != ["to"]:
                break
            if words[spot.after + 1 : spot.after + 2] in (["it"], ["this"]) and any(
                s.tags & BODIES for s in spots[:at]
            ):
                clause.say("type", "direct" if spot.tags & t.LATERAL else "indirect", spot, PLACED)
                break
            body = next((s for s in spots[step + 1 : step + 3] if s.tags & BODIES), None)
            if body is not None and body.first - spot.after <= 6:
                clause.say(
                    "type",
                    "direct" if spot.tags & t.LATERAL else "indirect",
                    body,
                    PLACED,
                    upto=still(spot),
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
    subjects = [s for s in spots[start:step] if s.tags & (BODIES | _BLOCKS | _RINGED)]
    nearest = subjects[-1] if subjects else None
    if nearest is None:
        # "medial to the vessels there is a defect": what follows in the clause
        following = [
            s for s in spots[at + 1 : at + 6] if s.tags & (BODIES | _BLOCKS | t.SOUND | t.CLEAR | t.WEAK)
        ]
        nearest = following[0] if following else None
        if nearest is not None and nearest.negated:
            inside = spots[at + 1 : spots.index(nearest)]
            nearest = None if any(s.tags & t.COMMA for s in inside) else nearest
    if nearest is None:
        clause.say("type", kind, relation, PLACED, upto=spots[at])
    elif nearest.tags & (t.SOUND | t.CLEAR):
        clause.say("type", kind, relation, PLACED, upto=still(nearest), flip=True)
    elif not nearest.tags & _BLOCKS:
        if relation.negated and not nearest.negated:
            clause.say("type", kind, relation, PLACED, upto=nearest)
        else:
            grade = INFERRED if nearest.tags & t.WEAK and not nearest.tags & BODIES else PLACED
            clause.say("type", kind, nearest, grade, upto=still(relation))
    elif any(s.tags & (t.SAC | t.HERNIA) for s in subjects) and nearest.tags & t.FREED:
        clause.say("type", kind, relation, PLACED)


def read_below(clause: Clause, place: Spot) -> None:
    """Below the inguinal ligament: femoral, when a hernia is said to be there."""
    for other in clause.spots:
        if other.negated and any(
            s.tags & t.STOP and other.first < s.first < place.first for s in clause.spots
        ):
            continue  # "no inguinal hernia, but below the ligament ..."
        if other.tags & (BODIES | t.WEAK) and abs(other.first - place.first) <= 10:
            clause.say("type", "femoral", other, PLACED, upto=still(place))
            return


def still(target: Spot) -> Spot:
    """The subject without its own negation: "no weakness of the wall" negates the weakness."""
    free = Spot(target.tags, target.first, target.after)
    free.side, free.told, free.when, free.alive = target.side, target.told, target.when, target.alive
    if free.when == "search":
        free.when = "now"
    return free
