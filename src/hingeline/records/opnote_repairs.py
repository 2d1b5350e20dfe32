"""Evidence on what was done and why in one sentence: repair, mesh, approach, known by, reason, occurrence.

A named repair says it outright; so do its steps (a sac tied, a ring closed, a floor sutured). Marcy's repair is counted
with the tissue repairs, as the trade lists it; a deep ring that is merely narrowed makes no repair of its own.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, Clause
from .opnote_mesh import put_in, read_mesh
from .opnote_near import SACS, dated
from .opnote_scan import Spot
from .opnote_sewn import arched, canal_closed, gap_closed, of_sac, read_wall
from .opnote_tied import read_closed, read_tied
from .opnote_ways import TOOLS, read_conversion, read_front, through_sac

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
_TELLING: Final = _KEYS | t.mask(
    "mesh nomesh meshrepair wall tied excised past shut fromfront cord arch femcanal defect freed convert femoral"
)
_MESHES: Final = t.MESH | t.NOMESH | t.MESHREPAIR
_CUT: Final = t.TIED | t.EXCISED
_REPAIRS: Final = t.mask("repair highlig tissue meshrepair mesh")
_NAMED: Final = t.mask("highlig tissue meshrepair")


def read_repairs(clause: Clause, carried: Spot | None) -> Spot | None:
    """Add what a sentence says of the rest; returns the sac that the next sentence may go on about."""
    if not clause.tags & _TELLING:
        return carried
    spots = clause.spots
    sac = carried
    if clause.tags & t.FEMORAL and not clause.tags & _MESHES:
        canal_closed(clause)
    meshed = bool(clause.tags & t.MESH) and any(
        spot.tags & t.MESH and not spot.negated and put_in(clause, spot) for spot in spots
    )
    if clause.tags & t.ARCH and not clause.tags & _MESHES:
        arched(clause)
    for at, spot in enumerate(spots):
        tags = spot.tags
        if not tags & _TELLING:
            if tags & SACS:
                sac = spot
            continue
        told = tags & _KEYS
        if tags & _NAMED and (of_sac(clause, at, spot) or dated(clause, spot)):
            told = 0
        if tags & t.LAP and spot.when == "before" and clause.words[spot.first] in TOOLS:
            spot.when = "now"
        if tags & t.LAP and through_sac(clause, spot):
            clause.say("approach", "scopy", spot, OUTRIGHT)
            told &= ~t.LAP
        done = told
        while told:
            bit = told & -told
            told ^= bit
            if not (bit == t.HERNIA and tags & t.CODE and spot.negated):
                field, value = _OUTRIGHT[bit]
                clause.say(field, value, spot, OUTRIGHT)
        if tags & _MESHES:
            read_mesh(clause, at, spot)
        if tags & SACS or (tags & t.FEMORAL and clause.words[spot.after - 1] == "sac"):
            sac = spot
        if tags & t.CONVERT:
            read_conversion(clause, spot)
        if tags & (t.FROMFRONT | t.CORD):
            read_front(clause, spot)
        if tags & (t.FEMCANAL | t.DEFECT) and not meshed:
            gap_closed(clause, at, spot)
        if tags & t.TISSUE and done:
            clause.say("approach", "open", spot, INFERRED)
        if tags & t.SHUT and not meshed and not clause.tags & (t.WALL | t.TESTIS):
            read_closed(clause, at, spot, sac)
        if tags & t.SHUT and sac is not None and sac.tags & t.PPV and not (sac.negated or spot.negated):
            clause.say("repair", "high_ligation", sac, INFERRED, upto=spot)  # what was patent was closed
        if tags & t.WALL:
            read_wall(clause, at, spot, meshed)
        elif tags & _CUT:
            read_tied(clause, at, spot, sac, meshed)
        if tags & t.PAST:
            _past(clause, at, spot)
    return sac


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
