"""What a word is where it stands, when its neighbours decide: a bare "L", "open", "both", "direct", marks and codes.

`counts` tells whether a phrase means what its tags say; `coded` reads the words that no phrase begins with.
"""

from __future__ import annotations

import re
from typing import Final

from . import opnote_tags as t
from .opnote_codes import Coded, code, letters, nyhus
from .opnote_forms import BLOT
from .opnote_marks import listed
from .opnote_text import Read
from .opnote_triggers import NOUNS

SIDE_WORDS: Final = frozenset(("left", "right"))
_ARTICLES: Final = frozenset(("the", "on"))
_ADVERBS: Final = listed(
    """
    for to in at as with over out well up down through open alone behind or long free was
    """
)


def names_side(words: list[str], at: int) -> bool:
    """Whether "left" names a side after all: "on the left for two years", "left open inguinal hernia repair"."""
    following = words[at + 1 : at + 3]
    if following[:1] == ["open"] and len(following) > 1 and following[1] in _OPENED:
        return True
    if not at or not following:
        return bool(following)
    before = words[at - 1]
    if "lateral" in (following[0], following[-1] if following[0] == "-" else ""):
        place = words.index("lateral", at) + 1
        return words[place : place + 1] != [] and words[place] in _IN_DIRECT  # "Rt - lateral sac"
    if following[0] in _STATES:
        return before in _ARTICLES or not before[0].isalnum()
    if following[0] in _ADVERBS:
        return before in _ARTICLES or (before in _OPERATIONS and following[0] in _LINKS)
    return False


_STATES: Final = listed("open patent intact free wide loose long attached alone untouched")
_LINKS: Final = frozenset(("for", "with", "to", "and"))
_OPERATIONS: Final = listed(
    """
    herniotomy hernia tapp tep lichtenstein repair groin orchidopexy hydrocele hernioplasty shouldice
    bassini side
    """
)
_IN_DIRECT: Final = frozenset(("hernia", "sac", "inguinal", "defect", "component"))
_BEFORE_IN: Final = listed("a an the large small left right of no : , . - ; wide scrotal reducible \n") | {
    "\n"
}


def broken(words: list[str], spans: list[tuple[int, int]], at: int, after: int) -> bool:
    """Whether "direct" is the second half of an "in direct" or of an "in-" broken at the end of a line."""
    if words[at - 1] == "in":
        if words[at - 2] in ("was", "is") and words[after : after + 1] in (["and"], [","], ["."]):
            return True  # dictated: "the sac was in direct and ran with the cord"
        return words[after : after + 1] != [] and words[after] in _IN_DIRECT and words[at - 2] in _BEFORE_IN
    if words[at - 1][0] == "\n" and words[at - 2] == "-" and at > 2 and words[at - 3] == "in":
        return spans[at - 3][1] == spans[at - 2][0]
    return False


_SIDED: Final = listed(
    """
    inguinal hernia ih groin herniotomy orchidopexy hydrocele laparoscopic tapp tep lichtenstein open direct
    indirect femoral udt testis ppv shouldice bassini recurrent repair inguinoscrotal mesh scrotal sliding
    undescended desarda sac ring internal deep high pantaloon primary communicating medial lateral processus
    cord combined side sided iih hernioplasty patent dih explored mcevedy post posterior floor darn
    herniorrhaphy inguino plug large small reducible irreducible incarcerated strangulated obstructed
    scrotum ihr congenital pv etep inguinotomy encysted mcvay component
    """
)
"""Words that a bare "L" or "R" stands beside when it names a side."""

_OPENED: Final = listed(
    """
    inguinal hernia left right bilateral herniotomy lichtenstein mesh tissue shouldice bassini direct
    indirect femoral groin desarda preperitoneal recurrent orchidopexy repair l r lih rih primary
    hernioplasty hydrocele darn herniorrhaphy bih high ligated onlay one preperitoneal anterior plug mcvay
    """
)
_BOTH_OF: Final = listed(
    """
    : closed ring deep internal processus ppv sac ligated repair tied transfixed suture excised indirect
    direct hernia divided patent open was were had
    """
)
_OPENINGS: Final = listed("ring orifice sac ppv processus deep internal canal fossa pv end eyes wound")
_WAYS: Final = frozenset(("approach", "technique", "method", "access", "procedure", "operation"))


def of_operation(words: list[str], at: int) -> bool:
    """Whether "open" is said of the operation and not of a ring or sac."""
    following = words[at + 1 : at + 3]
    alone = (not following or not following[0][0].isalnum()) and (not at or not words[at - 1][0].isalnum())
    if alone and _OPENINGS.isdisjoint(words[max(0, at - 5) : at]):
        return True
    if at and words[at - 1] == "(" and following[:1] in ([","], [")"], ["/"]):
        return True
    if at > 1 and words[at - 1] in (":", "-", ",", BLOT) and _WAYS & set(words[max(0, at - 5) : at]):
        return True
    return following[:1] != [] and following[0] in _OPENED and following[1:] not in (["ring"], ["orifice"])


def _letter(words: list[str], at: int) -> int:
    """The side that a bare "l" or "r" names, or nothing."""
    word = words[at]
    side = t.LEFT if word == "l" else t.RIGHT
    before = words[at - 1] if at else "\n"
    following = words[at + 1] if at + 1 < len(words) else "\n"
    if before in ("(", "[") and following in (")", "]"):
        return side
    if following in _SIDED or (following == "-" and at + 2 < len(words) and words[at + 2] in _SIDED):
        return side
    if before in (":", "-", "=", ",") and {"side", "laterality", "site", "groin"} & set(
        words[max(0, at - 4) : at]
    ):
        return side
    if before in (BLOT, ",", ":") and not following[0].isalnum() and BLOT in words[max(0, at - 4) : at + 3]:
        return side  # a ticked letter
    if before in ("on", "the", "side"):
        return side
    if before[0] in "\n.;" and (following in (":", "-", ")", ".")):
        return side
    return side if before in _SIDED and not following[0].isalnum() and following != "/" else 0


_EHS: Final = re.compile(r"[pr]?(?:[lmf][0-3x])+")
_CODED_BY: Final = listed("type ehs class classification nyhus dr mr mrs ms grade letter")


def _capital(words: list[str], at: int) -> int:
    """The side that a capital "L" or "R" names by itself: not a measure, an initial or a code."""
    before = words[at - 1] if at else "\n"
    following = words[at + 1] if at + 1 < len(words) else "\n"
    if before[0].isdigit() or following[0].isdigit() or following in ("/", "'", "&", "+"):
        return 0
    if _EHS.fullmatch(before):
        return t.LEFT if words[at] == "l" else t.RIGHT  # "EHS PM2 L"
    if before in ("/", "&", "'") or not _CODED_BY.isdisjoint(words[max(0, at - 4) : at]):
        return 0
    if (
        following == "("
        and at + 2 < len(words)
        and words[at + 2] in ("lateral", "recurrent", "left", "right")
    ):
        return 0
    return t.LEFT if words[at] == "l" else t.RIGHT


_POINTING: Final = listed("the on his her this that its both and or") | {",", "-", "(", ":", "/"}
_ONWARD: Final = listed(
    """
    to up through down by beside at into next across over in against along round around behind under where
    enough so from before after
    """
)
_REMAINS: Final = frozenset(("no", "nothing", "any", "little", "enough"))
_FURTHER: Final = frozenset(("to", "up", "through", "down", "into", "past"))
_CALLED: Final = listed(
    "proved proven all is was quite seem seemed looked swabs counts instruments just not look looks felt feel"
)
_REST: Final = frozenset(("distal", "remainder", "rest", "stump", "remnant"))
_DONE_TO: Final = listed("was were is are been being be i we he she nothing none never have has had")


def idle_side(words: list[str], at: int, after: int) -> bool:
    """Whether "right" is an adverb or means correct, or "left" is a verb: "right to the ring", "I left it"."""
    word = words[at]
    if after != at + 1 or word not in SIDE_WORDS:
        return False
    before = words[at - 1] if at else "\n"
    following = words[after] if after < len(words) else "\n"
    if following in _SIDED or following == "-":
        return False
    if word == "right":
        if following in _FURTHER:
            return before[0].isalpha() and before not in _POINTING and before != "side"
        if following in _ONWARD:
            return before[0].isalpha() and before not in _POINTING and before not in _SIDED
        return before in _CALLED
    if before == "mesh" and at > 1 and words[at - 2] in ("old", "previous", "existing", "earlier"):
        return True
    if not following[0].isalpha() and not _REMAINS.isdisjoint(words[max(0, at - 3) : at]):
        return True  # "no landmark left"
    if following == "in" and before[0].isalpha() and before not in _POINTING and before not in _SIDED:
        return True  # "the distal part left in place"
    if before in _REST and not following[0].isalpha():
        return True  # "proximal end tied, distal left"
    if following == "the" and (before.endswith("ly") or before == "it"):
        return True  # "it barely left the canal"
    if before in _DONE_TO and following[0].isalpha() and following not in ("sided", "side"):
        return "side" not in words[max(0, at - 4) : at]
    return False


def counts(tags: int, words: list[str], spans: list[tuple[int, int]], at: int, after: int) -> bool:
    """Whether a phrase means what its tags say where it stands."""
    if tags & t.COMMA:
        word = words[at]
        if word == "-":
            return not _touches(spans, at)
        if word in ("(", "[") and at + 2 < len(words):
            return words[at + 2] not in (")", "]") and not (
                at + 3 < len(words) and words[at + 3] in (")", "]")
            )
        if word in (")", "]"):
            return not {"(", "["} & set(words[max(0, at - 3) : max(0, at - 1)])
        return True
    if tags & t.MAYBE and words[at : at + 2] == ["in", "any"]:
        return False  # "in any case"
    if after - at == 1:
        word = words[at]
        if tags & t.INDIRECT:
            return after >= len(words) or words[after] not in _INDIRECTLY
        if tags & t.DIRECT and not tags & t.HERNIA:
            return _names_hernia(words, after)
        if word == "no" and after < len(words):
            # "No. 15 blade", "no 1 suture"
            return not (
                words[after][0].isdigit()
                or (words[after] == "." and after + 1 < len(words) and words[after + 1][0].isdigit())
            )
        if word == "/":
            return True
        if word == "?":
            return True
    return True


def asks(read: Read, at: int) -> bool:
    """Whether a question mark closes a label whose answer follows: "Floor? fine"."""
    spans = read.spans
    if not 0 < at < len(spans) - 1:
        return False
    start = spans[at + 1][0]
    return spans[at - 1][1] == spans[at][0] and start > spans[at][1] and read.text[start].islower()


def _touches(spans: list[tuple[int, int]], at: int) -> bool:
    """Whether a hyphen joins two words."""
    return 0 < at < len(spans) - 1 and spans[at - 1][1] == spans[at][0] and spans[at + 1][0] == spans[at][1]


_INDIRECTLY: Final = listed(
    "consequence result evidence effect cause way route method light pressure approach trauma"
)
_SURE_NOUNS: Final = frozenset(
    [
        "hernia",
        "sac",
        "defect",
        "component",
        "bulge",
        "weakness",
        "inguinal",
        "inguinoscrotal",
        "recurrence",
        "herniation",
        "protrusion",
    ]
)


def _names_hernia(words: list[str], after: int) -> bool:
    """Whether "direct" before these words names a hernia."""
    for step in range(after, min(after + 3, len(words))):
        word = words[step]
        if word in _SURE_NOUNS:
            return True
        if step == after and (word in NOUNS or not word.isalpha()):
            return True
    return after >= len(words)


def coded(words: list[str], at: int, word: str, upper: bool = False) -> tuple[list[Coded], int]:
    """Codes and letters that name a type at a word."""
    if word[-1] in "0123x" and len(word) <= 7 and word[0] in "prlmf":
        return code(words, at), at + 1
    if word in ("type", "ehs", "classification", "class"):
        return letters(words, at)
    if word in ("l", "r"):
        side = _letter(words, at) or (_capital(words, at) if upper else 0)
        return ([(side, False)] if side else []), at + 1
    if word == "both" and at + 1 < len(words) and words[at + 1] in _BOTH_OF:
        return [(t.BOTH, False)], at + 1
    if word == "n" and at and words[at - 1] in (":", "-", "=", "?", "|"):
        return [(t.NO, False)], at + 1
    if word == "nyhus":
        return nyhus(words, at)
    return [], at
