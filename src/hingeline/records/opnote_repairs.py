"""Evidence on what was done and why in one sentence: repair, mesh, approach, known by, reason, occurrence.

A named repair says it outright; so do its steps (a sac tied, a ring closed, a floor sutured). Marcy's repair is counted
with the tissue repairs, as the trade lists it; a deep ring that is merely narrowed makes no repair of its own.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, PLACED, Clause
from .opnote_scan import Spot

_SACS: Final = t.mask("sac ring bare_ring pv ppv")
_OUTRIGHT: Final[dict[int, tuple[str, str]]] = {
    t.HIGHLIG: ("repair", "high_ligation"),
    t.TISSUE: ("repair", "tissue"),
    t.MESHREPAIR: ("repair", "mesh"),
    t.HYDROCELE: ("reason", "hydrocele"),
    t.ORCHIDOPEXY: ("reason", "orchidopexy"),
    t.UDT: ("reason", "undescended"),
    t.RECURRENT: ("occurrence", "recurrent"),
    t.PRIMARY: ("occurrence", "primary"),
    t.SLIDING: ("sliding", "sliding"),
    t.LAP: ("approach", "laparoscopic"),
    t.OPENOP: ("approach", "open"),
    t.CONVERT: ("approach", "converted"),
    t.SCOPY: ("approach", "scopy"),
    t.NOTEXAMINED: ("known_by", "not examined"),
    t.HERNIA: ("reason", "hernia"),
    t.PASSING: ("reason", "passing"),
    t.SAME: ("same", "same"),
    t.LEFT_ALONE: ("left", "left"),
    t.SAC: ("reason", "sac"),
    t.PPV: ("reason", "processus"),
}
_KEYS: Final = sum(_OUTRIGHT)
_TELLING: Final = _KEYS | t.mask("mesh nomesh meshrepair wall tied excised past shut")
_MESHES: Final = t.MESH | t.NOMESH | t.MESHREPAIR
_CUT: Final = t.TIED | t.EXCISED
_THINGS: Final = _SACS | t.mask("wall mesh oblique testis cord superficial orchidopexy lipoma hydrocele")
_NO_WALLS: Final = t.mask("sac ring bare_ring pv oblique testis cord hernia")
_REPAIRS: Final = t.mask("repair highlig tissue meshrepair mesh")


def read_repairs(clause: Clause, carried: Spot | None) -> Spot | None:
    """Add what a sentence says of the rest; returns the sac that the next sentence may go on about."""
    if not clause.tags & _TELLING:
        return carried
    spots = clause.spots
    sac = carried
    meshed = any(spot.tags & t.MESH and not spot.negated for spot in spots)
    for at, spot in enumerate(spots):
        tags = spot.tags
        if not tags & _TELLING:
            if tags & _SACS:
                sac = spot
            continue
        told = tags & _KEYS
        while told:
            bit = told & -told
            told ^= bit
            if not (bit == t.HERNIA and tags & t.CODE and spot.negated):
                field, value = _OUTRIGHT[bit]
                clause.say(field, value, spot, OUTRIGHT)
        if tags & _MESHES:
            _mesh(clause, at, spot)
        if tags & _SACS:
            sac = spot
        if tags & t.SHUT and sac is not None and sac.tags & t.PPV and not (sac.negated or spot.negated):
            clause.say("repair", "high_ligation", sac, INFERRED, upto=spot)  # what was patent was closed
        if tags & t.WALL:
            _wall(clause, at, spot, meshed)
        elif tags & _CUT:
            _tied(clause, at, spot, sac, meshed)
        if tags & t.PAST:
            _past(clause, at, spot)
    return sac


def _mesh(clause: Clause, at: int, spot: Spot) -> None:
    """Whether a mesh was put in today."""
    if spot.tags & t.NOMESH:
        if not spot.negated:
            clause.say("mesh", "mesh", spot, OUTRIGHT, flip=True)
        return
    words = clause.words
    following = clause.spots[at + 1 : at + 4]
    if any(s.tags & t.REMOVED and s.first - spot.after <= 3 for s in following):
        return
    before = clause.spots[at - 1] if at else None
    if before is not None and before.tags & t.REMOVED and spot.first - before.after <= 3:
        return
    if words[spot.first] == "plug" and spot.after < len(words) and words[spot.after] == "of":
        return
    if spot.negated and spot.when in ("maybe", "before"):
        spot.when = "now"  # "offered and declined"
    clause.say("mesh", "mesh", spot, OUTRIGHT if spot.tags & t.MESH else PLACED)


def _wall(clause: Clause, at: int, wall: Spot, meshed: bool) -> None:
    """A floor that is spoken of was seen; one that is sutured was repaired with tissue."""
    spots = clause.spots
    unseen = wall.negated and any(s.negated and s.tags & (t.EXAMINED | t.DID) for s in spots[at + 1 : at + 8])
    if wall.when in ("now", "search"):
        looked = Spot(wall.tags, wall.first, wall.after)
        looked.side, looked.told = wall.side, wall.told
        clause.say("known_by", "not examined" if unseen else "floor examined", looked, PLACED)
    if meshed:
        return
    for step, spot in enumerate(spots[at + 1 : at + 10], at + 1):
        tags = spot.tags
        if tags & t.STOP or (spot.first - wall.after > 14):
            break
        if tags & _NO_WALLS:
            break
        if tags & t.REINFORCE and (step > at):
            clause.say("repair", "tissue", spot, PLACED, upto=wall)
            return
    before = spots[at - 1] if at else None
    near = before is not None and wall.first - before.after <= 2
    if before is not None and near and before.tags & t.REINFORCE and clause.words[before.after] != "to":
        clause.say("repair", "tissue", before, PLACED, upto=wall)


def _tied(clause: Clause, at: int, spot: Spot, sac: Spot | None, meshed: bool) -> None:
    """A sac or ring that is tied, or a sac that is excised, is a high ligation."""
    target = sac
    for other in clause.spots[at + 1 : at + 4]:
        if other.tags & _SACS:
            if other.first - spot.after <= 5 or target is None:
                target = other
            break
        if other.tags & t.COMMA:
            break
    if target is None and not meshed and clause.words[spot.first] in ("purse", "endoloop", "lig"):
        clause.say("repair", "high_ligation", spot, INFERRED)
    if target is None or meshed:
        return
    nearest = next(
        (s for s in reversed(clause.spots[:at]) if s.tags & _THINGS),
        None,
    )
    other_thing = nearest is not None and not nearest.tags & _SACS and target is sac
    if nearest is not None and other_thing and (not nearest.tags & t.CORD or spot.tags & t.EXCISED):
        return  # "cord lipoma excised", "external oblique sutured": something else was tied
    if (
        spot.tags & t.EXCISED
        and not target.tags & t.SAC
        and not target.tags & t.PV
        and not target.tags & t.PPV
    ):
        return
    free = Spot(target.tags, target.first, target.after)
    free.side, free.told, free.alive = target.side, target.told, target.alive
    if free.alive and not target.negated:
        clause.say("repair", "high_ligation", free, INFERRED, upto=spot)


def _past(clause: Clause, at: int, spot: Spot) -> None:
    """An earlier repair; on the side that is operated today it makes this one recurrent."""
    for other in clause.spots[at + 1 : at + 7]:
        if other.when != "past":
            break
        if other.tags & _REPAIRS and not other.negated:
            told = other.side if other.told else ""
            named = Spot(other.tags, other.first, other.after)
            named.side, named.told = told, bool(told)
            clause.tier = max(clause.tier, 1)
            clause.say("earlier", "repair", named, INFERRED)
            return
