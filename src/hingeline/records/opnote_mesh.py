"""Whether a mesh was put in today: a mesh that is laid, sewn or answered with yes, and not one that is talked of.

A talk about mesh (offered, declined, asked for) tells nothing; a mesh that is only mentioned tells something when
nothing else was done.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, PLACED, Clause
from .opnote_marks import listed
from .opnote_near import STITCHES, dated, stretch
from .opnote_scan import Spot

_PUT: Final = listed(
    """
    placed put laid lay inserted insert fixed suture sewn staple tack fashioned used using trimmed cut
    shaped covers
    covered covering over across with repair spread unrolled positioned anchored secured top on deployed
    introduced implanted glue glued goes went lies sits slit split tailored unfurled behind beneath applied
    inlay onlay sublay lightweight flat hernioplasty plasty x2 received got by x cm stitch tension composite
    macroporous self gripping secure held holding holds bridging overlap overlapping clip passed slid rolled
    open place position in
    """
)
"""Words beside a mesh that is put in, not only talked of."""
_TALK: Final = listed(
    """
    asked ask asks asking talked talk leaflet wanted want wants wish wished wishes question questions question
    literature debate against nothing declined refuse refused refuses decline reluctant rather avoid avoided
    discussed discussion option why whether needs preference needed object objected objection shelf unopened
    """
)
"""Words of a talk about mesh."""
_NO_ANSWERS: Final = frozenset(("x", "see", "\n", "\n\n", "?", "-", "n", "_", "__", "___", "____"))
_WAS: Final = frozenset(("was", "is", "were", "then"))
_STRONG_PUT: Final = frozenset(
    (
        "placed",
        "put",
        "laid",
        "inserted",
        "fixed",
        "suture",
        "sewn",
        "positioned",
        "tack",
        "staple",
        "used",
        "then",
    )
)


def read_mesh(clause: Clause, at: int, spot: Spot) -> None:
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
    if spot.tags & t.MESHREPAIR and not spot.negated:
        if not dated(clause, spot):
            sure = Spot(spot.tags, spot.first, spot.after)
            sure.side, sure.told, sure.when, sure.alive = spot.side, spot.told, spot.when, spot.alive
            clause.say("mesh", "mesh", sure, PLACED)
        return
    answer = (
        words[spot.after + 1 : spot.after + 2] if words[spot.after : spot.after + 1] == [":"] else ["yes"]
    )
    if answer and answer[0] in _NO_ANSWERS:
        return
    if spot.negated or put_in(clause, spot):
        clause.say("mesh", "mesh", spot, OUTRIGHT)
        if not spot.negated and not STITCHES.isdisjoint(words[spot.after : spot.after + 5]):
            clause.say("approach", "open", spot, INFERRED)
    elif not _talked_of(words, spot):
        clause.say("mesh", "mesh", spot, INFERRED)


def put_in(clause: Clause, spot: Spot) -> bool:
    """Whether the words beside a mesh tell that it was put in, and not only talked of."""
    words = clause.words
    behind = words[spot.after : spot.after + 7]
    if len(behind) > 1 and behind[0] in _WAS and not _STRONG_PUT.isdisjoint(behind[1:3]):
        spot.when = "now" if spot.when == "maybe" else spot.when
        return True
    if _talked_of(words, spot):
        return False
    near = stretch(words, spot, 5, 7)
    near = [word for word in near if word != "mesh"]
    return not _PUT.isdisjoint(near) or any(word[0].isdigit() for word in near) or _terse(clause, spot)


def _talked_of(words: list[str], spot: Spot) -> bool:
    """Whether a mesh is the matter of a talk."""
    return not _TALK.isdisjoint(stretch(words, spot, 9, 6))


def _terse(clause: Clause, spot: Spot) -> bool:
    """Whether a word stands by itself or as an answer, as in "Direct. Mesh." and "Mesh: yes"."""
    words = clause.words
    return (not spot.first or not words[spot.first - 1][0].isalpha()) and (
        spot.after >= len(words) or not words[spot.after][0].isalpha()
    )
