"""Which way in was taken: a conversion, a scope through the sac, a cut or a cord that was taken up."""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_evidence import INFERRED, OUTRIGHT, Clause
from .opnote_marks import listed
from .opnote_scan import Spot

TOOLS: Final = listed(
    "port ports trocar camera telescope telescopic pneumoperitoneum insufflated insufflation gas three two co2"
)
_GIVEN_UP: Final = frozenset(("abandoned", "given"))
_OTHER_WAYS: Final = listed("tapp tep laparoscopic robotic transabdominal ipom spinal ga general")


def through_sac(clause: Clause, spot: Spot) -> bool:
    """Whether a telescope went through an opened sac, which is an open operation."""
    following = clause.words[spot.after : spot.after + 7]
    way = next((i for i, word in enumerate(following) if word in ("through", "via", "into", "down")), -1)
    return way >= 0 and not {"sac", "it", "neck"}.isdisjoint(following[way + 1 : way + 5])


def read_conversion(clause: Clause, spot: Spot) -> None:
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


def read_front(clause: Clause, spot: Spot) -> None:
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
