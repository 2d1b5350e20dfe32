"""Lateral and medial as labels of a terse note or a form: "Medial 3 cm", "LIH, lateral, TAPP", "Laterally nothing".

A label stands at the edge of its clause; what follows it there answers it.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import PLACED, Clause
from .opnote_marks import listed
from .opnote_places import BODIES, still
from .opnote_scan import Spot

_FOUND: Final = BODIES | t.PV | t.PPV
_FOREIGN: Final = t.MESH | t.TOOL | t.STOP
_BOUNDS: Final = frozenset((",", ".", ":", ";", "-", "(", "|", "*", "/", "\n", "\n\n", "+", "&", "and", "="))
_AN_OPERATION: Final = t.mask("hernia lap repair recurrent highlig meshrepair tissue mesh")

_CAME: Final = frozenset(("came", "comes", "coming", "come", "bulged", "protruded", "pushed"))


def led(clause: Clause, at: int, spot: Spot) -> None:
    """ "Medially nothing", "laterally a wide ring with a sac": an adverb that leads its clause."""
    before = clause.words[spot.first - 1] if spot.first else "\n"
    kind = "indirect" if spot.tags & t.LATERAL else "direct"
    if before == "out" and not _CAME.isdisjoint(clause.words[max(0, spot.first - 3) : spot.first]):
        clause.say("type", kind, spot, PLACED)  # "it came out medially"
        return
    if before not in _BOUNDS:
        return
    for other in clause.spots[at + 1 : at + 5]:
        if other.tags & (_FOREIGN | t.COMMA | t.EPIGASTRIC | t.CORD) or other.first - spot.after > 6:
            return
        if other.tags & (t.NO | t.ABSENT | t.SOUND | t.CLEAR | t.SHUT):
            clause.say("type", kind, still(spot), PLACED, flip=True)
            return
        if other.tags & (_FOUND | t.WEAK | t.OPEN | t.WIDE):
            clause.say("type", kind, still(spot), PLACED, upto=other)
            return


_SIZES: Final = listed("large small moderate big huge sizeable tiny medium recurrent wide")
_LED_BY: Final = _SIZES | listed("sac defect hernia findings now left right l r")


_YES: Final = (["yes"], ["present"], ["positive"])


def label(clause: Clause, at: int, spot: Spot) -> None:
    """ "Lateral" or "medial" as the label or the answer of a terse note: "Medial 3 cm", "LIH, lateral, TAPP"."""
    spots, words = clause.spots, clause.words
    kind = "indirect" if spot.tags & t.LATERAL else "direct"
    before = words[spot.first - 1] if spot.first else "\n"
    if before not in _BOUNDS and before not in _LED_BY:
        return
    following = words[spot.after] if spot.after < len(words) else "\n"
    nearby = spots[at + 1 : at + 4]
    if following in (":", "=", "-") and words[spot.after + 1 : spot.after + 2] in _YES:
        clause.say("type", kind, still(spot), PLACED)
        return
    if following[0].isdigit():
        if (
            not any(s.tags & (t.MESH | t.TOOL) for s in nearby[:1])
            and "x" not in words[spot.after : spot.after + 3]
        ):
            clause.say("type", kind, spot, PLACED, flip=following == "0")
        return
    answered = (
        nearby[1:]
        if nearby and nearby[0].tags & (t.COLON | t.COMMA) and following in (":", "-", "=", "|")
        else nearby
    )
    told = answered[0] if answered else None
    if told is not None and told.first - spot.after <= 3:
        if told.tags & (t.NO | t.ABSENT) or told.tags & (t.SOUND | t.CLEAR | t.SHUT):
            clause.say("type", kind, spot, PLACED, upto=still(told), flip=not spot.negated)
            return
        if following == ":" and told.tags & (BODIES | t.SAW):
            clause.say("type", kind, told, PLACED, upto=still(spot))
            return
    stands = following in _BOUNDS and following != ":" and (clause.tags & _AN_OPERATION or before in _SIZES)
    if stands and (before in _SIZES or before in (",", "now", "left", "right", "l", "r", "(", "-", "/")):
        clause.say("type", kind, spot, PLACED)
