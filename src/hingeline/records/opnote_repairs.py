"""Evidence on what was done and why in one sentence: repair, mesh, approach, known by, reason, occurrence.

A named repair says it outright; so do its steps (a sac tied, a ring closed, a floor sutured). Marcy's repair is counted
with the tissue repairs, as the trade lists it; a deep ring that is merely narrowed makes no repair of its own.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, PLACED, Clause
from .opnote_marks import listed
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
_THINGS: Final = _SACS | t.mask("wall mesh oblique testis cord superficial orchidopexy lipoma hydrocele")
_NO_WALLS: Final = t.mask("sac ring bare_ring pv oblique testis cord hernia")
_REPAIRS: Final = t.mask("repair highlig tissue meshrepair mesh")
_OTHER_WOUNDS: Final = listed("umbilical umb umbilicus skin wound port peritoneum scarpa scarpas")
_SEWN: Final = listed(
    """
    sewn sew suture sutures stitch brought joined drawn united approximated apposed plicated stitches sewing
    closed shut nylon prolene interrupted pulled gathered lowered darned secured anchored down
    """
)
"""Words by which the muscle arch comes down to the ligament, or a gap in the wall is closed."""

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


def read_repairs(clause: Clause, carried: Spot | None) -> Spot | None:
    """Add what a sentence says of the rest; returns the sac that the next sentence may go on about."""
    if not clause.tags & _TELLING:
        return carried
    spots = clause.spots
    sac = carried
    if clause.tags & t.FEMORAL and not clause.tags & _MESHES:
        _canal_closed(clause)
    meshed = bool(clause.tags & t.MESH) and any(
        spot.tags & t.MESH and not spot.negated and _put_in(clause, spot) for spot in spots
    )
    if clause.tags & t.ARCH and not clause.tags & _MESHES:
        _arched(clause)
    for at, spot in enumerate(spots):
        tags = spot.tags
        if not tags & _TELLING:
            if tags & _SACS:
                sac = spot
            continue
        told = tags & _KEYS
        if tags & _NAMED and (_of_sac(clause, at, spot) or _dated(clause, spot)):
            told = 0
        if tags & t.LAP and spot.when == "before" and clause.words[spot.first] in _TOOLS:
            spot.when = "now"
        if tags & t.LAP and _through_sac(clause, spot):
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
            _mesh(clause, at, spot)
        if tags & _SACS or (tags & t.FEMORAL and clause.words[spot.after - 1] == "sac"):
            sac = spot
        if tags & t.CONVERT:
            _converted(clause, spot)
        if tags & (t.FROMFRONT | t.CORD):
            _from_in_front(clause, spot)
        if tags & (t.FEMCANAL | t.DEFECT) and not meshed:
            _gap_closed(clause, at, spot)
        if tags & t.TISSUE and done:
            clause.say("approach", "open", spot, INFERRED)
        if tags & t.SHUT and not meshed and not clause.tags & (t.WALL | t.TESTIS):
            _closed(clause, at, spot, sac)
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
    if spot.tags & t.MESHREPAIR and not spot.negated:
        if not _dated(clause, spot):
            sure = Spot(spot.tags, spot.first, spot.after)
            sure.side, sure.told, sure.when, sure.alive = spot.side, spot.told, spot.when, spot.alive
            clause.say("mesh", "mesh", sure, PLACED)
        return
    answer = (
        words[spot.after + 1 : spot.after + 2] if words[spot.after : spot.after + 1] == [":"] else ["yes"]
    )
    if answer and answer[0] in _NO_ANSWERS:
        return
    if spot.negated or _put_in(clause, spot):
        clause.say("mesh", "mesh", spot, OUTRIGHT)
        if not spot.negated and not _STITCHES.isdisjoint(words[spot.after : spot.after + 5]):
            clause.say("approach", "open", spot, INFERRED)
    elif not _talked_of(words, spot):
        clause.say("mesh", "mesh", spot, INFERRED)


def _put_in(clause: Clause, spot: Spot) -> bool:
    """Whether the words beside a mesh tell that it was put in, and not only talked of."""
    words = clause.words
    behind = words[spot.after : spot.after + 7]
    if len(behind) > 1 and behind[0] in _WAS and not _STRONG_PUT.isdisjoint(behind[1:3]):
        spot.when = "now" if spot.when == "maybe" else spot.when
        return True
    if _talked_of(words, spot):
        return False
    near = _stretch(words, spot, 5, 7)
    near = [word for word in near if word != "mesh"]
    return not _PUT.isdisjoint(near) or any(word[0].isdigit() for word in near) or _terse(clause, spot)


def _talked_of(words: list[str], spot: Spot) -> bool:
    """Whether a mesh is the matter of a talk."""
    return not _TALK.isdisjoint(_stretch(words, spot, 9, 6))


def _stretch(words: list[str], spot: Spot, ahead: int, behind: int, last: Spot | None = None) -> list[str]:
    """Words around a spot, or around two, within its sentence."""
    start, end = spot.first, (last or spot).after
    low, high = max(0, start - ahead), min(len(words), end + behind)
    while start > low and words[start - 1] not in _ENDS:
        start -= 1
    while end < high and words[end] not in _ENDS:
        end += 1
    return words[start:end]


_ENDS: Final = frozenset((".", ";", "\n", "\n\n"))
_STITCHES: Final = frozenset(("suture", "sewn", "stitch"))
_TOOLS: Final = listed(
    "port ports trocar camera telescope telescopic pneumoperitoneum insufflated insufflation gas three two co2"
)
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


def _dated(clause: Clause, spot: Spot) -> bool:
    """Whether a year or a childhood beside a named repair tells that it was done before: "Bassini '04"."""
    words = clause.words
    beside = words[spot.after : spot.after + 5]
    for place, word in enumerate(beside[:3]):
        if len(word) == 4 and word.isdigit() and "1940" <= word <= "2040":
            dated = beside[place - 1] if place else ""
            return dated not in (".", "/", ":", "\n")
        if word == "'" and beside[place + 1 : place + 2] and beside[place + 1].isdigit():
            return True
    near = {*words[max(0, spot.first - 7) : spot.first], *beside}
    if "\n" in near or _CHILDHOOD.isdisjoint(near):
        return False
    return bool(clause.tags & (t.RECURRENT | t.PAST)) or "same" in near or "ago" in near


_CHILDHOOD: Final = frozenset(("childhood", "infancy", "toddler", "ago", "child"))
_NAMED: Final = t.mask("highlig tissue meshrepair")
_GATHERED: Final = frozenset(("plicated", "plicate", "plication", "imbricated", "imbrication", "plicating"))


def _of_sac(clause: Clause, at: int, spot: Spot) -> bool:
    """Whether a plication is a hydrocele sac's and no wall's."""
    if clause.words[spot.first] not in _GATHERED or clause.tags & t.WALL:
        return False
    before = clause.spots[at - 1] if at else None
    return before is not None and bool(before.tags & t.SAC) and spot.first - before.after <= 2


def _through_sac(clause: Clause, spot: Spot) -> bool:
    """Whether a telescope went through an opened sac, which is an open operation."""
    following = clause.words[spot.after : spot.after + 7]
    way = next((i for i, word in enumerate(following) if word in ("through", "via", "into", "down")), -1)
    return way >= 0 and not {"sac", "it", "neck"}.isdisjoint(following[way + 1 : way + 5])


def _canal_closed(clause: Clause) -> None:
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


def _terse(clause: Clause, spot: Spot) -> bool:
    """Whether a word stands by itself or as an answer, as in "Direct. Mesh." and "Mesh: yes"."""
    words = clause.words
    return (not spot.first or not words[spot.first - 1][0].isalpha()) and (
        spot.after >= len(words) or not words[spot.after][0].isalpha()
    )


def _converted(clause: Clause, spot: Spot) -> None:
    """A conversion is to an open repair, unless it names another way through the scope."""
    if spot.when == "past" and clause.tier > 1:
        spot.when = "now"
    following = clause.words[spot.first : spot.after + 4]
    if clause.words[spot.first] in _GIVEN_UP and not any(
        one.tags & t.LAP and one.first < spot.first for one in clause.spots
    ):
        return
    if (
        "to" not in following
        and "from" not in following
        and clause.words[spot.first] in ("conversion", "convert")
    ):
        return
    if _OTHER_WAYS.isdisjoint(following) or "from" in following:
        clause.say("approach", "converted", spot, OUTRIGHT)


_GIVEN_UP: Final = frozenset(("abandoned", "given"))
_OTHER_WAYS: Final = listed("tapp tep laparoscopic robotic transabdominal ipom spinal ga general")


def _from_in_front(clause: Clause, spot: Spot) -> None:
    """A cut or a cord that is taken up tells an open operation, as long as no scope is spoken of."""
    if spot.tags & t.HIGHLIG:
        if not spot.negated:
            clause.say("approach", "open", spot, INFERRED)
        return
    word = clause.words[spot.first]
    if word == "la" and spot.after < len(clause.words) and clause.words[spot.after][0].isdigit():
        return  # a dose
    free = Spot(spot.tags, spot.first, spot.after)
    free.side, free.told, free.alive = spot.side, spot.told, spot.alive
    free.when = spot.when if spot.when in ("past", "maybe") else "now"
    clause.say("approach", "open", free, INFERRED)


def _arched(clause: Clause) -> None:
    """The arch or tendon that is sewn to a ligament is a repair with tissue."""
    arches = [spot for spot in clause.spots if spot.tags & t.ARCH and spot.when == "now" and not spot.negated]
    if not arches:
        return
    first, last = arches[0], arches[-1]
    words = clause.words
    if last.first - first.after > 14:
        first = last
    near = set(_stretch(words, first, 8, 8, last))
    if near & _SEWN and not near & _OTHER_WOUNDS and (len(arches) > 1 or near & _ARCHES):
        clause.say("repair", "tissue", first, PLACED, upto=last)
        clause.say("approach", "open", first, INFERRED, upto=last)


_GAPS: Final = frozenset(("defect", "gap", "hole", "opening", "weakness", "bulge"))
_ARCHES: Final = listed(
    "arch conjoint conjoined transversus pectineal pectineus tract cooper poupart pouparts"
)


def _gap_closed(clause: Clause, at: int, gap: Spot) -> None:
    """A femoral canal or a defect that is closed with sutures is a repair with tissue."""
    words = clause.words
    start = max(0, clause.spots[0].first - 4)
    if gap.negated or not _OTHER_WOUNDS.isdisjoint(words[start : gap.first]):
        return
    if gap.tags & t.DEFECT and words[gap.first] not in _GAPS:
        return
    for spot in clause.spots[at + 1 : at + 7]:
        if spot.tags & (t.STOP | _SACS) or spot.first - gap.after > 8:
            return
        if spot.tags & (t.SHUT | t.TIED | t.REINFORCE) and not spot.negated:
            following = set(words[spot.first : spot.after + 9])
            if gap.tags & t.FEMCANAL or following & _SEWN - {"closed", "shut", "secured", "down"}:
                clause.say("repair", "tissue", gap, PLACED, upto=spot)
            return


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
            clause.say("approach", "open", spot, INFERRED, upto=wall)
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
        if spot.tags & t.EXCISED or clause.words[spot.first] == "transfixed":
            clause.say("approach", "open", free, INFERRED, upto=spot)


def _thing(words: list[str], spot: Spot) -> bool:
    """Whether a spot is something that could be tied; fat only marks the level."""
    return bool(spot.tags & _THINGS) and words[spot.first] not in ("fat", "preperitoneal")


def _closed(clause: Clause, at: int, spot: Spot, sac: Spot | None) -> None:
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
        told = word == "shut" and "ring" in before and not _STITCHES.isdisjoint(before)
    if told:
        clause.say("repair", "high_ligation", spot, INFERRED)


_WERE: Final = frozenset(("was", "were", "is", "found"))
_SITES: Final = frozenset(("ring", "sac", "neck", "processus", "ppv", "orifice", "pv"))


def _at_ring(following: list[str]) -> bool:
    """Whether something is closed "at its neck", "high up at the deep ring"."""
    for place, word in enumerate(following):
        if word in _ENDS or word == ",":
            return False
        if word == "at":
            return not {"neck", "ring", "base", "orifice", "level"}.isdisjoint(
                following[place + 1 : place + 6]
            )
        if word == "high":
            return True
    return False


FAR: Final = 40
"""Spots that are looked back on for what was tied, which bounds the work in an endless sentence."""
_PURSES: Final = frozenset(("purse", "pursestring"))


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
