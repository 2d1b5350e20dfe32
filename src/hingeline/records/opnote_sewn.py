"""Repairs with tissue that are told by their steps: a floor reinforced, the arch sewn to a ligament, a gap closed.

A plication of a hydrocele's sac is none; a floor that is spoken of was seen.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, PLACED, Clause
from .opnote_marks import listed
from .opnote_near import SACS, stretch
from .opnote_scan import Spot

_NO_WALLS: Final = t.mask("sac ring bare_ring pv oblique testis cord hernia")
_OTHER_WOUNDS: Final = listed("umbilical umb umbilicus skin wound port peritoneum scarpa scarpas")
_SEWN: Final = listed(
    """
    sewn sew suture sutures stitch brought joined drawn united approximated apposed plicated stitches sewing
    closed shut nylon prolene interrupted pulled gathered lowered darned secured anchored down
    """
)
"""Words by which the muscle arch comes down to the ligament, or a gap in the wall is closed."""
_GATHERED: Final = frozenset(("plicated", "plicate", "plication", "imbricated", "imbrication", "plicating"))
_GAPS: Final = frozenset(("defect", "gap", "hole", "opening", "weakness", "bulge"))
_ARCHES: Final = listed(
    "arch conjoint conjoined transversus pectineal pectineus tract cooper poupart pouparts"
)


def of_sac(clause: Clause, at: int, spot: Spot) -> bool:
    """Whether a plication is a hydrocele sac's and no wall's."""
    if clause.words[spot.first] not in _GATHERED or clause.tags & t.WALL:
        return False
    before = clause.spots[at - 1] if at else None
    return before is not None and bool(before.tags & t.SAC) and spot.first - before.after <= 2


def canal_closed(clause: Clause) -> None:
    """The canal that is closed over a femoral hernia is a repair with tissue."""
    words = clause.words
    if not any(spot.tags & t.FEMORAL and not spot.negated and spot.when == "now" for spot in clause.spots):
        return
    for spot in clause.spots:
        if (
            spot.tags & (t.SHUT | t.TIED)
            and not spot.negated
            and "canal" in words[max(0, spot.first - 3) : spot.first]
        ):
            clause.say("repair", "tissue", spot, PLACED)
            return


def arched(clause: Clause) -> None:
    """The arch or tendon that is sewn to a ligament is a repair with tissue."""
    arches = [spot for spot in clause.spots if spot.tags & t.ARCH and spot.when == "now" and not spot.negated]
    if not arches:
        return
    first, last = arches[0], arches[-1]
    words = clause.words
    if last.first - first.after > 14:
        first = last
    near = set(stretch(words, first, 8, 8, last))
    if near & _SEWN and not near & _OTHER_WOUNDS and (len(arches) > 1 or near & _ARCHES):
        clause.say("repair", "tissue", first, PLACED, upto=last)
        clause.say("approach", "open", first, INFERRED, upto=last)


def gap_closed(clause: Clause, at: int, gap: Spot) -> None:
    """A femoral canal or a defect that is closed with sutures is a repair with tissue."""
    words = clause.words
    start = max(0, clause.spots[0].first - 4)
    if gap.negated or not _OTHER_WOUNDS.isdisjoint(words[start : gap.first]):
        return
    if gap.tags & t.DEFECT and words[gap.first] not in _GAPS:
        return
    for spot in clause.spots[at + 1 : at + 7]:
        if spot.tags & (t.STOP | SACS) or spot.first - gap.after > 8:
            return
        if spot.tags & (t.SHUT | t.TIED | t.REINFORCE) and not spot.negated:
            following = set(words[spot.first : spot.after + 9])
            if gap.tags & t.FEMCANAL or following & _SEWN - {"closed", "shut", "secured", "down"}:
                clause.say("repair", "tissue", gap, PLACED, upto=spot)
            return


def read_wall(clause: Clause, at: int, wall: Spot, meshed: bool) -> None:
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
            clause.say("approach", "open", spot, INFERRED, upto=wall)
            return
    before = spots[at - 1] if at else None
    near = before is not None and wall.first - before.after <= 2
    if before is not None and near and before.tags & t.REINFORCE and clause.words[before.after] != "to":
        clause.say("repair", "tissue", before, PLACED, upto=wall)
