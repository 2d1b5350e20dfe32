"""The tags of spots as bits, so that a question to many of them is one operation; `mask` joins them by name."""

from __future__ import annotations

from typing import Final

from .opnote_marks import listed

NAMES: Final = tuple(
    sorted(
        listed(
            """
            ? absent across adverb and arch at_operation bare_ring be before both clear code colon combined
            comma contra
            convert cord correction defect did direct double_no epigastric examined excised femcanal femoral
            freed fromfront fullstop hernia highlig hydrocele indirect ipsi lap lateral latplace left
            left_alone lipoma maybe
            maybe_after medial medplace mesh meshrepair nearpubis no nomesh nor not not_so notexamined
            nowadays oblique open
            openop orchidopexy passing past ppv primary pv recurrent reinforce removed repair right ring sac
            same saw scopy search shut sliding sound stop straddle superficial testis tied tissue tool udt
            underligament undecided unsure unsure_after wall weak wide
            """
        )
    )
)
"""Every tag of the tables."""

_BIT: Final = {name: 1 << place for place, name in enumerate(NAMES)}


def mask(names: str) -> int:
    """Bits of the tags that are named, parted by blanks.

    Raises
    ------
    KeyError
        When a name is no tag.
    """
    joined = 0
    for name in names.split():
        joined |= _BIT[name]
    return joined


def names_of(tags: int) -> list[str]:
    """Names of the tags in a mask."""
    return [name for name, bit in _BIT.items() if tags & bit]


QUERY: Final = _BIT["?"]
ABSENT: Final = _BIT["absent"]
ACROSS: Final = _BIT["across"]
ADVERB: Final = _BIT["adverb"]
AND: Final = _BIT["and"]
ARCH: Final = _BIT["arch"]
AT_OPERATION: Final = _BIT["at_operation"]
BARE_RING: Final = _BIT["bare_ring"]
BE: Final = _BIT["be"]
BEFORE: Final = _BIT["before"]
BOTH: Final = _BIT["both"]
CLEAR: Final = _BIT["clear"]
CODE: Final = _BIT["code"]
COLON: Final = _BIT["colon"]
COMBINED: Final = _BIT["combined"]
COMMA: Final = _BIT["comma"]
CONTRA: Final = _BIT["contra"]
CONVERT: Final = _BIT["convert"]
CORD: Final = _BIT["cord"]
CORRECTION: Final = _BIT["correction"]
DEFECT: Final = _BIT["defect"]
DID: Final = _BIT["did"]
DIRECT: Final = _BIT["direct"]
DOUBLE_NO: Final = _BIT["double_no"]
EPIGASTRIC: Final = _BIT["epigastric"]
EXAMINED: Final = _BIT["examined"]
EXCISED: Final = _BIT["excised"]
FEMCANAL: Final = _BIT["femcanal"]
FEMORAL: Final = _BIT["femoral"]
FREED: Final = _BIT["freed"]
FROMFRONT: Final = _BIT["fromfront"]
FULLSTOP: Final = _BIT["fullstop"]
HERNIA: Final = _BIT["hernia"]
HIGHLIG: Final = _BIT["highlig"]
HYDROCELE: Final = _BIT["hydrocele"]
INDIRECT: Final = _BIT["indirect"]
IPSI: Final = _BIT["ipsi"]
LAP: Final = _BIT["lap"]
LATERAL: Final = _BIT["lateral"]
LATPLACE: Final = _BIT["latplace"]
LEFT: Final = _BIT["left"]
LEFT_ALONE: Final = _BIT["left_alone"]
LIPOMA: Final = _BIT["lipoma"]
MAYBE: Final = _BIT["maybe"]
MAYBE_AFTER: Final = _BIT["maybe_after"]
MEDIAL: Final = _BIT["medial"]
MEDPLACE: Final = _BIT["medplace"]
MESH: Final = _BIT["mesh"]
MESHREPAIR: Final = _BIT["meshrepair"]
NEARPUBIS: Final = _BIT["nearpubis"]
NO: Final = _BIT["no"]
NOMESH: Final = _BIT["nomesh"]
NOR: Final = _BIT["nor"]
NOT: Final = _BIT["not"]
NOT_SO: Final = _BIT["not_so"]
NOTEXAMINED: Final = _BIT["notexamined"]
NOWADAYS: Final = _BIT["nowadays"]
OBLIQUE: Final = _BIT["oblique"]
OPEN: Final = _BIT["open"]
OPENOP: Final = _BIT["openop"]
ORCHIDOPEXY: Final = _BIT["orchidopexy"]
PASSING: Final = _BIT["passing"]
PAST: Final = _BIT["past"]
PPV: Final = _BIT["ppv"]
PRIMARY: Final = _BIT["primary"]
PV: Final = _BIT["pv"]
RECURRENT: Final = _BIT["recurrent"]
REINFORCE: Final = _BIT["reinforce"]
REMOVED: Final = _BIT["removed"]
REPAIR: Final = _BIT["repair"]
RIGHT: Final = _BIT["right"]
RING: Final = _BIT["ring"]
SAC: Final = _BIT["sac"]
SAME: Final = _BIT["same"]
SAW: Final = _BIT["saw"]
SCOPY: Final = _BIT["scopy"]
SEARCH: Final = _BIT["search"]
SHUT: Final = _BIT["shut"]
SLIDING: Final = _BIT["sliding"]
SOUND: Final = _BIT["sound"]
STOP: Final = _BIT["stop"]
STRADDLE: Final = _BIT["straddle"]
SUPERFICIAL: Final = _BIT["superficial"]
TESTIS: Final = _BIT["testis"]
TIED: Final = _BIT["tied"]
TISSUE: Final = _BIT["tissue"]
TOOL: Final = _BIT["tool"]
UDT: Final = _BIT["udt"]
UNDERLIGAMENT: Final = _BIT["underligament"]
UNDECIDED: Final = _BIT["undecided"]
UNSURE: Final = _BIT["unsure"]
UNSURE_AFTER: Final = _BIT["unsure_after"]
WALL: Final = _BIT["wall"]
WEAK: Final = _BIT["weak"]
WIDE: Final = _BIT["wide"]
