"""Evidence on what was done and why in one sentence: repair, mesh, approach, known by, reason, occurrence.

A named repair says it outright; so do its steps (a sac tied, a ring closed, a floor sutured). Marcy's repair is counted
with the tissue repairs, as the trade lists it; a deep ring that is merely narrowed makes no repair of its own.
"""

from __future__ import annotations

from typing import Final

from .opnote_evidence import INFERRED, OUTRIGHT, PLACED, Clause
from .opnote_scan import Spot

_SACS: Final = frozenset(("sac", "ring", "bare_ring", "pv", "ppv"))
_OUTRIGHT: Final = {
    "highlig": ("repair", "high_ligation"),
    "tissue": ("repair", "tissue"),
    "meshrepair": ("repair", "mesh"),
    "hydrocele": ("reason", "hydrocele"),
    "orchidopexy": ("reason", "orchidopexy"),
    "udt": ("reason", "undescended"),
    "recurrent": ("occurrence", "recurrent"),
    "primary": ("occurrence", "primary"),
    "sliding": ("sliding", "sliding"),
    "lap": ("approach", "laparoscopic"),
    "openop": ("approach", "open"),
    "convert": ("approach", "converted"),
    "scopy": ("approach", "scopy"),
    "notexamined": ("known_by", "not examined"),
    "hernia": ("reason", "hernia"),
    "passing": ("reason", "passing"),
    "same": ("same", "same"),
    "left_alone": ("left", "left"),
    "sac": ("reason", "sac"),
    "ppv": ("reason", "processus"),
}
_KEYS: Final = frozenset(_OUTRIGHT)
_SEEN: Final = frozenset(("examined",))


def read_repairs(clause: Clause, carried: Spot | None) -> Spot | None:
    """Add what a sentence says of the rest; returns the sac that the next sentence may go on about."""
    spots = clause.spots
    sac = carried
    meshed = any("mesh" in spot.tags and not spot.negated for spot in spots)
    for at, spot in enumerate(spots):
        tags = spot.tags
        if not tags.isdisjoint(_KEYS):
            for tag in tags & _KEYS:
                if "code" in tags and tag == "hernia" and spot.negated:
                    continue
                field, value = _OUTRIGHT[tag]
                clause.say(field, value, spot, OUTRIGHT)
            if "recurrent" in tags and spot.when == "past":
                pass
        if "mesh" in tags or "nomesh" in tags or "meshrepair" in tags:
            _mesh(clause, at, spot)
        if not tags.isdisjoint(_SACS):
            sac = spot
        if "wall" in tags:
            _wall(clause, at, spot, meshed)
        elif "tied" in tags or "excised" in tags:
            _tied(clause, at, spot, sac, meshed)
        if "past" in tags:
            _past(clause, at, spot)
    return sac


def _mesh(clause: Clause, at: int, spot: Spot) -> None:
    """Whether a mesh was put in today."""
    if "nomesh" in spot.tags:
        if not spot.negated:
            clause.say("mesh", "mesh", spot, OUTRIGHT, flip=True)
        return
    words = clause.words
    following = clause.spots[at + 1 : at + 4]
    if any("removed" in s.tags and s.first - spot.after <= 3 for s in following):
        return
    before = clause.spots[at - 1] if at else None
    if before is not None and "removed" in before.tags and spot.first - before.after <= 3:
        return
    if words[spot.first] == "plug" and spot.after < len(words) and words[spot.after] == "of":
        return
    if spot.negated and spot.when in ("maybe", "before"):
        spot.when = "now"  # "offered and declined"
    clause.say("mesh", "mesh", spot, OUTRIGHT if "mesh" in spot.tags else PLACED)


def _wall(clause: Clause, at: int, wall: Spot, meshed: bool) -> None:
    """A floor that is spoken of was seen; one that is sutured was repaired with tissue."""
    spots = clause.spots
    unseen = wall.negated and any(
        s.negated and not s.tags.isdisjoint(("examined", "did")) for s in spots[at + 1 : at + 8]
    )
    if wall.when in ("now", "search"):
        looked = Spot(wall.tags, wall.first, wall.after)
        looked.side, looked.told = wall.side, wall.told
        clause.say("known_by", "not examined" if unseen else "floor examined", looked, PLACED)
    if meshed:
        return
    for step, spot in enumerate(spots[at + 1 : at + 10], at + 1):
        tags = spot.tags
        if not tags.isdisjoint(("stop",)) or (spot.first - wall.after > 14):
            break
        if not tags.isdisjoint(("sac", "ring", "bare_ring", "pv", "oblique", "testis", "cord", "hernia")):
            break
        if "reinforce" in tags and (step > at):
            clause.say("repair", "tissue", spot, PLACED, upto=wall)
            return
    before = spots[at - 1] if at else None
    near = before is not None and wall.first - before.after <= 2
    if before is not None and near and "reinforce" in before.tags and clause.words[before.after] != "to":
        clause.say("repair", "tissue", before, PLACED, upto=wall)


def _tied(clause: Clause, at: int, spot: Spot, sac: Spot | None, meshed: bool) -> None:
    """A sac or ring that is tied, or a sac that is excised, is a high ligation."""
    target = sac
    for other in clause.spots[at + 1 : at + 4]:
        if not other.tags.isdisjoint(_SACS):
            if other.first - spot.after <= 5 or target is None:
                target = other
            break
        if "comma" in other.tags:
            break
    if target is None or meshed:
        return
    nearest = next(
        (
            s
            for s in reversed(clause.spots[:at])
            if not s.tags.isdisjoint(
                (
                    "wall",
                    "mesh",
                    "oblique",
                    "testis",
                    "cord",
                    "superficial",
                    "orchidopexy",
                    "lipoma",
                    "hydrocele",
                    *_SACS,
                )
            )
        ),
        None,
    )
    other_thing = nearest is not None and nearest.tags.isdisjoint(_SACS) and target is sac
    if nearest is not None and other_thing and ("cord" not in nearest.tags or "excised" in spot.tags):
        return  # "cord lipoma excised", "external oblique sutured": something else was tied
    if (
        "excised" in spot.tags
        and "sac" not in target.tags
        and "pv" not in target.tags
        and "ppv" not in target.tags
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
        if (
            not other.tags.isdisjoint(("repair", "highlig", "tissue", "meshrepair", "mesh"))
            and not other.negated
        ):
            told = other.side if other.told else ""
            named = Spot(other.tags, other.first, other.after)
            named.side, named.told = told, bool(told)
            clause.tier = max(clause.tier, 1)
            clause.say("earlier", "repair", named, INFERRED)
            return
