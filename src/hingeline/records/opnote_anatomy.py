"""Anatomy in place of type words: where a sac lay, what a stitch closed, which side of the vessels, and terse labels.

A sac on the cord or the round ligament, tied at the deep ring, or a deep ring that was measured or closed by a stitch
speaks for an indirect hernia; what came by the pubic tubercle for a direct one. What only speaks for a type is graded
as inferred, so that any word outweighs it. Common practice, no source.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, PLACED, Clause
from .opnote_labels import label, led
from .opnote_marks import listed
from .opnote_places import BODIES, still
from .opnote_scan import Spot

_SACS: Final = t.SAC | t.PV | t.PPV
_FOUND: Final = BODIES | t.PV | t.PPV
_FOREIGN: Final = t.MESH | t.TOOL | t.STOP
_RINGS: Final = t.RING | t.BARE_RING
_WAYS: Final = t.mask("ring bare_ring wall femcanal")
_PLACES: Final = t.mask("ring bare_ring wall femcanal cord medplace latplace across nearpubis")
_CLOSED: Final = t.TIED | t.HIGHLIG | t.EXCISED | t.SHUT
_ALONG: Final = listed(
    """
    in within on along alongside with accompanied accompanying accompanies beside around round inside upon
    clinging clung plastered wrapped draped ant into over about against through surrounding embracing
    anterior anterolateral anteromedial hugging
    next adherent stuck attached followed following follows
    """
)
_OFF: Final = frozenset(("from", "off"))
_BESIDE: Final = frozenset(("in", "within", "on", "along", "alongside", "beside", "inside", "upon", "with"))
_VESSELS: Final = frozenset(("vessel", "vessels", "artery", "arteries", "them"))
_AT: Final = frozenset(("at", "from", "through", "by", "via", "to", "level", "flush", "near", "on"))
_MEASURES: Final = listed("mm cm millimetres millimetre millimeters millimeter centimetres centimetre")
_SCOPED: Final = listed(
    "pirs lper lpec percutaneous percutaneously burnia hook needle intracorporeal ring seal"
)
_OPEN_QUESTION: Final = listed("sort kind type which direct indirect whether class")

TELLING: Final = (
    t.STRADDLE
    | t.WEAK
    | t.EPIGASTRIC
    | _FOUND
    | _PLACES
    | _CLOSED
    | t.LATERAL
    | t.MEDIAL
    | t.UNDECIDED
    | t.UNSURE
    | t.UNSURE_AFTER
)
_EXCLUDES: Final = listed("exclude excluded rule ruled")


def read_anatomy(clause: Clause, carried: Spot | None) -> None:
    """Add what the anatomy told in a sentence says of the type; `carried` is a sac of the sentence before."""
    spots = clause.spots
    sac = carried
    for at, spot in enumerate(spots):
        tags = spot.tags
        if tags & _SACS:
            sac = spot
        if tags & t.WEAK and not clause.tags & t.WALL:
            _fascia(clause, spot)
        if tags & t.FEMCANAL:
            _femoral(clause, at, spot)
        if tags & t.EPIGASTRIC:
            _its_side(clause, spot)
        if tags & _WAYS:
            _pronoun(clause, spot)
        if tags & t.CORD:
            _cord(clause, at, spot, sac)
        if tags & _RINGS:
            _ring(clause, at, spot)
        if tags & t.FREED and sac is not None and not (sac.negated or spot.negated):
            _to_its_neck(clause, spot)
        if tags & _CLOSED:
            _closed(clause, at, spot, sac)
        if tags & (t.MEDPLACE | t.LATPLACE):
            _beside(clause, at, spot, "direct" if tags & t.MEDPLACE else "indirect", PLACED)
        if tags & t.STRADDLE and not _VESSELS.isdisjoint(clause.words[spot.after : spot.after + 3]):
            clause.say("type", "combined", spot, PLACED)
        if tags & t.ACROSS:
            _across(clause, at, spot)
        if tags & t.NEARPUBIS:
            _beside(clause, at, spot, "direct", INFERRED)
        if tags & (t.LATERAL | t.MEDIAL):
            if tags & t.ADVERB:
                led(clause, at, spot)
            else:
                label(clause, at, spot)
        if tags & t.UNDECIDED and not _OPEN_QUESTION.isdisjoint(_around(clause, spot)):
            spot.when = "now"
            clause.say("undecided", "type", still(spot), OUTRIGHT)
        if tags & (t.UNSURE | t.UNSURE_AFTER) and not _EXCLUDES.isdisjoint(
            clause.words[spot.first : spot.after]
        ):
            _not_excluded(clause, spot)


def _not_excluded(clause: Clause, trigger: Spot) -> None:
    """A second component that cannot be excluded leaves it open whether the hernia was combined."""
    for other in clause.spots:
        if other.unsure and other.tags & (t.DIRECT | t.INDIRECT):
            kind = "direct" if other.tags & t.DIRECT else "indirect"
            clause.say("not excluded", kind, other, OUTRIGHT, upto=still(trigger))


def _around(clause: Clause, spot: Spot) -> list[str]:
    return clause.words[max(0, spot.first - 40) : spot.after + 16]


_POUCHES: Final = frozenset(("pouch", "protrusion", "knuckle", "outpouching", "evagination"))
_WITHIN: Final = frozenset(("in", "within", "inside"))
_ANOTHER: Final = frozenset(("another", "second"))
_STANDING: Final = frozenset(("one", "first", "second", "other", "it", "this", "hernia", "latter", "former"))
_WAY: Final = frozenset(("through", "via", "by", "traversing", "along"))


def _pronoun(clause: Clause, place: Spot) -> None:
    """ "One through the ring and one through the floor": a word that stands for a hernia before its way."""
    before = clause.words[max(0, place.first - 14) : place.first]
    if _ANOTHER.isdisjoint(before):
        before = before[-9:]
    if "one" not in before:
        before = before[-6:]
    if place.negated or _WAY.isdisjoint(before) or _STANDING.isdisjoint(before):
        return
    if any(s.tags & t.NO and 0 < place.first - s.first <= 9 for s in clause.spots):
        return
    way = max(i for i, word in enumerate(before) if word in _WAY)
    if not _STANDING.isdisjoint(before[:way]) and len(before) - way <= 3:
        kind = "direct" if place.tags & t.WALL else "femoral" if place.tags & t.FEMCANAL else "indirect"
        clause.say("type", kind, place, PLACED)


def _cord(clause: Clause, at: int, cord: Spot, sac: Spot | None) -> None:
    """A sac in, on or along the cord or the round ligament, or freed from it; "no sac in the cord" denies it."""
    spots, words = clause.spots, clause.words
    for step in range(at - 1, -1, -1):
        other = spots[step]
        if _ends(clause, other) or other.tags & t.WALL:
            break
        gap = words[other.after : cord.first]
        if len(gap) > (14 if not (_OFF.isdisjoint(gap[-5:]) and _TOGETHER.isdisjoint(gap[-3:])) else 10):
            break
        if other.tags & (t.SAC | t.PV) or words[other.first] in _POUCHES:
            if not _OFF.isdisjoint(gap) and ("off" in gap or any(s.tags & t.FREED for s in spots[step:at])):
                if not other.negated:
                    clause.say("type", "sac", other, INFERRED, upto=still(cord))
            elif not _ALONG.isdisjoint(gap):
                place = still(cord)
                place.when = other.when  # "a sac that had been lying along the vas"
                clause.say("type", "sac", other, PLACED, upto=place)
            return
        if other.tags & t.HERNIA and not _WITHIN.isdisjoint(gap[:2]):
            clause.say("type", "indirect", other, PLACED, upto=still(cord))
            return
        if other.tags & t.HERNIA and _came_off(clause, step, at, cord):
            clause.say("type", "sac", other, INFERRED, upto=still(cord))
            return
    if sac is not None and not sac.negated and words[cord.first] == "round" and clause.tags & t.TIED:
        clause.say("type", "sac", cord, INFERRED)  # "the neck was closed with the round ligament taken in"
        return
    if sac is not None and sac not in spots and not sac.negated and _came_off(clause, -1, at, cord):
        clause.say("type", "sac", cord, INFERRED)  # "It was opened and separated from the vas."
        return
    before = words[max(0, cord.first - 3) : cord.first]
    if _BESIDE.isdisjoint(before) and _HOLDING.isdisjoint(words[cord.after : cord.after + 2]):
        return
    for other in spots[at + 1 : at + 5]:
        if other.tags & (_FOREIGN | t.WALL | t.COMMA):
            return
        if other.tags & (t.SAC | t.PV):
            if other.first - cord.after <= 7:
                clause.say("type", "sac", other, PLACED, upto=still(cord))
            return


_TOGETHER: Final = frozenset(("along", "alongside", "beside"))
_OTHERS: Final = t.mask("lipoma testis mesh oblique wall superficial hydrocele defect")


def _came_off(clause: Clause, step: int, at: int, cord: Spot) -> bool:
    """Whether what was spoken of was freed from the cord, and nothing else that could be meant stands between."""
    between = clause.spots[step + 1 : at]
    freed = [s for s in between if s.tags & t.FREED and not s.negated]
    if not freed or any(s.tags & _OTHERS for s in between):
        return False
    gap = clause.words[freed[-1].after : cord.first]
    return len(gap) <= 4 and not _OFF.isdisjoint(gap)


_ROOTS: Final = frozenset(("neck", "fat"))
_TO: Final = frozenset(("to", "upto", "until", "till"))


def _to_its_neck(clause: Clause, freed: Spot) -> None:
    """ "The sac was dissected up to its neck", or to the fat that lies there: a direct bulge has none."""
    near = clause.words[freed.after : freed.after + 6]
    end = next((place for place, word in enumerate(near) if word in _ROOTS), 0)
    if not _TO.isdisjoint(near[:end]) and not clause.tags & t.MESH:
        clause.say("type", "sac", freed, INFERRED)


_ONWARD: Final = frozenset(("which", "then", "so", "just", "only", "still", "simply"))
_HOLDING: Final = frozenset(
    ("held", "holds", "contained", "with", "had", "carrying", "bearing", "carried", "bore", "wore", "has")
)


def _ends(clause: Clause, spot: Spot) -> bool:
    """Whether a spot ends what is said of a body: another thing, or a word that turns the sentence."""
    if spot.tags & (t.MESH | t.TOOL):
        return True
    return bool(spot.tags & t.STOP) and clause.words[spot.first] not in _ONWARD


_RETURNED: Final = listed("pushed returned reduced sent replaced inverted put")
_INTO: Final = frozenset(("through", "into", "thru"))
_GONE: Final = listed(
    "blown gone gave giving given torn disrupted destroyed hole gap breached bulging ballooning sagging"
)
_INNER: Final = frozenset(("medial", "inner"))


_FAT: Final = listed("fat plug plugged lipoma omentum loop knuckle content contents finger cm mm")


def _femoral(clause: Clause, at: int, canal: Spot) -> None:
    """A femoral canal that was open, filled, measured or sutured speaks for a femoral hernia."""
    words = clause.words
    if canal.negated or canal.when != "now":
        return
    near = words[canal.after : canal.after + 7]
    states = [s for s in clause.spots[at + 1 : at + 5] if s.first - canal.after <= 7]
    if any(s.tags & (t.CLEAR | t.SOUND | t.NO | t.NOT | t.ABSENT | t.MESH) for s in states):
        return
    shut = any(spot.tags & t.SHUT for spot in states)
    sewn = any(spot.tags & (t.TIED | t.REINFORCE) for spot in states) or any(w[0].isdigit() for w in near)
    open_ = any(spot.tags & (t.OPEN | t.WIDE) for spot in states)
    filled = not _FAT.isdisjoint(near) or not _FAT.isdisjoint(words[max(0, canal.first - 6) : canal.first])
    if sewn or (not shut and (open_ or filled)):
        clause.say("type", "femoral", canal, INFERRED)


def _fascia(clause: Clause, spot: Spot) -> None:
    """ "The fascia below it was blown out": the floor by another name, with no other subject in sight."""
    words = clause.words
    if words[spot.first] in _GONE and "fascia" in words[max(0, spot.first - 9) : spot.first]:
        clause.say("type", "direct", spot, INFERRED)


def _its_side(clause: Clause, vessels: Spot) -> None:
    """ "The epigastric artery could be felt on its medial side": the vessels told of from the hernia."""
    words = clause.words
    for i in range(vessels.after, min(vessels.after + 12, len(words) - 1)):
        if words[i] in (".", ";"):
            return
        if words[i] in _INNER or words[i] in ("lateral", "outer"):
            if (
                words[i + 1] in ("side", "edge", "border")
                and words[i - 1] in ("its", "the")
                and words[i - 2] in ("on", "at", "to")
            ) and (
                words[i + 2 : i + 3] != ["of"]
                or not {"sac", "neck", "hernia", "defect"}.isdisjoint(words[i + 3 : i + 6])
            ):
                clause.say("type", "indirect" if words[i] in _INNER else "direct", vessels, PLACED)
            return


_NECK: Final = listed("neck constricting constriction constricted constrictor strangulating")


def _ring(clause: Clause, at: int, ring: Spot) -> None:
    """A deep ring that a sac came from, that was measured, or at which there was nothing."""
    spots, words = clause.spots, clause.words
    if any(s.tags & t.MESH for s in spots):
        return
    following = words[ring.after : ring.after + 6]
    if ring.negated and at and not any(s.tags & (t.DID | t.TIED) for s in spots):
        if spots[at - 1].tags & t.NO and words[spots[at - 1].first] == "nothing":
            clause.say("type", "indirect", ring, PLACED)
        return
    measured = not _MEASURES.isdisjoint(following) and any(word[0].isdigit() for word in following)
    parted = any(s.tags & (t.COMMA | t.STOP) for s in spots[at + 1 : at + 2] if s.first - ring.after < 2)
    if measured and not parted and not ring.negated:
        clause.say("type", "sac", ring, INFERRED)
    if not ring.negated and not _NECK.isdisjoint(words[max(0, ring.first - 8) : ring.after + 5]):
        clause.say(
            "type", "sac", ring, INFERRED
        )  # "its neck at the deep ring", "the constriction was the ring"
    before = words[max(0, ring.first - 9) : ring.first]
    if not ring.negated and not _RETURNED.isdisjoint(before) and not _INTO.isdisjoint(before[-3:]):
        clause.say("type", "sac", ring, INFERRED)  # "it was pushed back through the deep ring"
    if _AT.isdisjoint(words[max(0, ring.first - 3) : ring.first]):
        return
    for other in spots[at + 1 : at + 5]:
        if other.tags & (_FOREIGN | t.WALL | t.COMMA | t.TIED):
            return
        if other.tags & _FOUND:
            if other.first - ring.after <= 6:
                clause.say("type", "indirect", other, PLACED, upto=still(ring))
            return


_IT: Final = frozenset(("it", "this", "which"))
_NARROWS: Final = listed(
    "snugged narrowed tightened narrowing snugging tightening snug tighten narrow reinforced calibrated"
)


def _closed(clause: Clause, at: int, spot: Spot, sac: Spot | None) -> None:
    """A sac tied at the deep ring; a ring closed by a stitch; a closure through the scope."""
    spots, words = clause.spots, clause.words
    if spot.negated or (
        words[spot.first] in ("stitch", "suture")
        and not _NARROWS.isdisjoint(words[max(0, spot.first - 6) : spot.first])
    ):
        return
    if any(s.tags & t.MESH and not s.negated for s in spots):
        return
    if sac is not None and sac.tags & t.PV and sac not in spots and not sac.negated:
        lead = words[max(0, spot.first - 4) : spot.first]
        if spot.tags & (t.TIED | t.EXCISED) and not _IT.isdisjoint(lead):
            clause.say("type", "processus", spot, INFERRED)  # "It was clamped, cut and tied."
            return
    if spot.tags & (t.EXCISED | t.SHUT) and (
        sac is None or (not spot.tags & t.EXCISED and not _meant(clause, spot))
    ):
        return
    if spot.tags & t.HIGHLIG and not _SCOPED.isdisjoint(words[spot.first : spot.after]):
        clause.say("type", "sac", spot, INFERRED)
        return
    for other in (*spots[at + 1 : at + 7], *reversed(spots[max(0, at - 4) : at])):
        if other.tags & (t.STOP | t.WALL):
            continue
        near = clause.between(spot, other)
        if len(near) > 9 or not other.tags & _RINGS or other.negated:
            continue
        if other.first > spot.first and not _AT.isdisjoint(near) and sac is not None and not sac.negated:
            clause.say("type", "sac", spot, INFERRED, upto=still(other))
            return
        if spot.tags & (t.TIED | t.HIGHLIG) and len(near) <= 5:
            clause.say("type", "sac", spot, INFERRED, upto=still(other))
            return


def _meant(clause: Clause, spot: Spot) -> bool:
    """Whether "closed" is what was done to a sac: "closed it high up at the ring"."""
    return clause.words[spot.first] == "closed" and not any(s.tags & t.BE for s in clause.spots[:1])


def _beside(clause: Clause, at: int, place: Spot, kind: str, grade: int) -> None:
    """A hernia beside the vessels or the pubis: the body before the place, else a state or a body after it."""
    spots, words = clause.spots, clause.words
    for step in range(at - 1, -1, -1):
        other = spots[step]
        if _ends(clause, other) or place.first - other.after > 12:
            break
        if other.tags & (_FOUND | t.WEAK | t.RECURRENT):
            clause.say("type", kind, other, grade, upto=still(place))
            return
        if other.tags & (t.SOUND | t.CLEAR) and place.first - other.after <= 3:
            clause.say("type", kind, other, grade, upto=still(place), flip=True)
            return
    parted = False
    for other in spots[at + 1 : at + 6]:
        if other.tags & _FOREIGN or other.first - place.after > 9:
            break
        if other.tags & (_FOUND | t.WEAK):
            clause.say("type", kind, other, grade, upto=still(place))
            return
        if other.tags & (t.SOUND | t.CLEAR | t.SHUT):
            clause.say("type", kind, other, grade, upto=still(place), flip=True)
            return
        parted = parted or bool(
            other.tags & t.COMMA and words[place.after] == "," and clause.spots[0] is not place
        )
        if (
            not parted
            and other.tags & (t.NO | t.ABSENT)
            and words[other.first] in ("nothing", "none", "no", "nil")
        ):
            clause.say("type", kind, place, grade, upto=still(other), flip=True)
            return


def _across(clause: Clause, at: int, place: Spot) -> None:
    """On the other side of the vessels: the other type than the last that was spoken of."""
    for one in reversed(clause.found):
        if one.field == "type" and one.value in ("indirect", "sac", "processus", "direct"):
            _beside(clause, at, place, "indirect" if one.value == "direct" else "direct", PLACED)
            return
