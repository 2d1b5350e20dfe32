"""High ligations that are told by their steps: a sac or ring that is tied, a sac closed at its neck, a ring closed."""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, Clause
from .opnote_near import ENDS, SACS, STITCHES
from .opnote_scan import Spot

_THINGS: Final = SACS | t.mask("wall mesh oblique testis cord superficial orchidopexy lipoma hydrocele")
_WERE: Final = frozenset(("was", "were", "is", "found"))
_SITES: Final = frozenset(("ring", "sac", "neck", "processus", "ppv", "orifice", "pv"))
FAR: Final = 40
"""Spots that are looked back on for what was tied, which bounds the work in an endless sentence."""
_PURSES: Final = frozenset(("purse", "pursestring"))


def read_tied(clause: Clause, at: int, spot: Spot, sac: Spot | None, meshed: bool) -> None:
    """A sac or ring that is tied, or a sac that is excised, is a high ligation."""
    target = sac
    for other in clause.spots[at + 1 : at + 4]:
        if other.tags & SACS:
            if other.first - spot.after <= 5 or target is None:
                target = other
            break
        if other.tags & t.COMMA:
            break
    word = clause.words[spot.first]
    if word in _PURSES and not meshed and not spot.negated:
        clause.say("repair", "high_ligation", spot, INFERRED)
        return
    if target is None and not meshed and word in ("endoloop", "lig", "transfixed"):
        clause.say("repair", "high_ligation", spot, INFERRED)
    if target is None or meshed:
        return
    ahead = clause.spots[max(0, at - FAR) : at]
    nearest = next((s for s in reversed(ahead) if _thing(clause.words, s)), None)
    if nearest is not None and nearest.tags & t.TESTIS and target in ahead:
        nearest = target  # "sacs were opened, no tube inside, transfixed"
    other_thing = nearest is not None and not nearest.tags & SACS and target is sac
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
        if spot.tags & t.EXCISED or clause.words[spot.first] == "transfixed":
            clause.say("approach", "open", free, INFERRED, upto=spot)


def _thing(words: list[str], spot: Spot) -> bool:
    """Whether a spot is something that could be tied; fat only marks the level."""
    return bool(spot.tags & _THINGS) and words[spot.first] not in ("fat", "preperitoneal")


def read_closed(clause: Clause, at: int, spot: Spot, sac: Spot | None) -> None:
    """A sac closed at its neck or the ring, or the closure of a ring, is a high ligation."""
    words = clause.words
    following = words[spot.after : spot.after + 8]
    if spot.negated or spot.unsure:
        return
    word = words[spot.first]
    before = words[max(0, spot.first - 4) : spot.first]
    of_sac = bool(clause.tags & (t.SAC | t.PV | t.PPV))
    if word == "closure":
        told = following[:1] == ["of"] and not _SITES.isdisjoint(following[:6])
    elif word == "closed" and _at_ring(following):
        told = of_sac or (sac is not None and _WERE.isdisjoint(before[-2:]))
    else:
        told = word == "shut" and "ring" in before and not STITCHES.isdisjoint(before)
    if told:
        clause.say("repair", "high_ligation", spot, INFERRED)


def _at_ring(following: list[str]) -> bool:
    """Whether something is closed "at its neck", "high up at the deep ring"."""
    for place, word in enumerate(following):
        if word in ENDS or word == ",":
            return False
        if word == "at":
            return not {"neck", "ring", "base", "orifice", "level"}.isdisjoint(
                following[place + 1 : place + 6]
            )
        if word == "high":
            return True
    return False
