"""What the words of a cell mean for a coded field: ``li. indirekt`` is left, and indirect.

A field and a cell come in; a word of the vocabulary goes out, ``""`` when the cell says that nothing is known, or None
when its words do not tell.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import Final

from .header_words import parts, senses, words
from .identifier_words import flat
from .legend_model import ABSENT, BOTH, GRADES, Meaning
from .propose_values_more import (
    read_emergency,
    read_flag,
    read_grade,
    read_pain,
    read_recurrence_known_by,
    read_specialty,
)
from .propose_words import is_negated, is_unknown

_MARKS: Final = {"?": "", "??": "", ".": ""}


@lru_cache(maxsize=50_000)
def meaning_of(field: str, cell: str, sided: bool = False) -> Meaning | None:
    """What a cell means for a field by its words; None when they do not tell."""
    text = cell.strip()
    if len(text) > 120:
        return None
    if text in _MARKS:
        return ""
    read = _READ.get(field)
    if read is None:
        read = read_flag
    if field in GRADES:
        return read_grade(field, text)
    meaning = read(text, senses(text))
    if meaning is None and field not in _READ:
        return None
    if meaning is None and sided and field in ("type", "reason", "repair") and _says_none(text):
        return ABSENT
    return meaning


def _says_none(text: str) -> bool:
    bag = senses(text)
    return text in ("0", "-", "–", "—", "./.") or (
        bool(bag & {"none", "not", "no"}) and len(words(text)) <= 3 and "unknown" not in bag - {"none"}
    )


def _type(text: str, bag: frozenset[str]) -> Meaning | None:
    if code := _ehs_like(text):
        return code
    found: set[str] = set()
    for part in parts(text):
        # the word that tells, and not one that also means something else beside it
        if "combined" in part.senses and part.text not in ("both",):
            found.add("combined")
        elif "femoral" in part.senses and part.text != "f":
            found.add("femoral")
        elif "indirect" in part.senses:
            found.add("indirect")
        elif "direct" in part.senses:
            found.add("direct")
    if found == {"indirect", "direct"} or "combined" in found:
        return "combined"
    if found & {"indirect", "direct"} and "femoral" in found:
        return None
    if len(found) == 1:
        only = found.pop()
        if is_negated(text, only):
            return None
        return only
    short = flat(text).strip(" .")
    if short in ("f", "fem"):
        return "femoral"
    letters = set(re.sub(r"[^a-z]", "", short))
    if short == "both" or (len(short) <= 5 and letters in ({"l", "m"}, {"i", "d"})):
        return "combined"
    if short in ("l", "i"):
        return "indirect"
    if short in ("m", "d"):
        return "direct"
    return "unknown" if is_unknown(text, bag) else None


def _ehs_like(text: str) -> str | None:
    plain = re.sub(r"[^A-Z0-9]", "", text.upper())
    if not re.fullmatch(r"[PR]?(?:[LMF][0-3X]){1,3}", plain):
        return None
    found = {letter for letter, size in re.findall(r"([LMF])([0-3X])", plain) if size in "123"}
    if {"L", "M"} <= found:
        return "combined"
    return "indirect" if "L" in found else "direct" if "M" in found else "femoral" if "F" in found else None


def _side(text: str, bag: frozenset[str]) -> Meaning | None:
    if set(re.sub(r"[^a-z]", "", flat(text))) == {"l", "r"}:
        return BOTH
    found = {sense for part in parts(text) for sense in _one_side(part.text, part.senses)}
    if "both" in found or {"left", "right"} <= found:
        return BOTH
    if len(found) == 1:
        return found.pop()
    return "" if is_unknown(text, bag) else None


def _one_side(word: str, meant: frozenset[str]) -> set[str]:
    if len(word) < 2:
        return set()  # single letters are told by their set alone
    hit = meant & {"left", "right", "both"}
    return set(hit) if len(hit) == 1 else set()


def _sex(text: str, bag: frozenset[str]) -> Meaning | None:
    found: set[str] = set()
    for part in parts(text):
        if len(part.text) < 2:
            continue
        hit = part.senses & {"male", "female"}
        if len(hit) == 1:
            found |= hit
    if len(found) == 1:
        return found.pop()
    return "" if is_unknown(text, bag) else None


def _repair(text: str, bag: frozenset[str]) -> Meaning | None:
    hits: list[str] = []
    for part in parts(text):
        for sense, value in (("mesh", "mesh"), ("tissue", "tissue"), ("ligation", "high_ligation")):
            if sense in part.senses and part.text not in (
                "high",
                "hohe",
                "hoch",
                "alta",
                "haute",
                "alto",
                "net",
                "rede",
                "rete",
            ):
                hits.append(value)
                break
            if sense in part.senses and value == "mesh" and part.text in ("net", "rete", "rede"):
                hits.append(value)
                break
    denied = is_negated(text, "mesh")
    found = set(hits) - ({"mesh"} if denied else set())
    if "percutaneous" in bag and found <= {"tissue"}:
        return "high_ligation"  # a suture around the ring through the skin
    if denied and not found:
        return "tissue" if bag & {"repair", "open", "hernia", "operation", "method"} else None
    if len(found) == 1:
        return found.pop()
    if "mesh" in found:
        return "mesh"  # a mesh over a sutured floor or a ligated sac is a mesh repair
    if found == {"tissue", "high_ligation"}:
        return "tissue"
    if "sac" in bag or ({"ring", "narrowed"} <= bag) or {"processus", "narrowed"} <= bag:
        return "high_ligation"  # nothing but the sac, or the ring over it, was dealt with
    return "unknown" if is_unknown(text, bag) else None


def _approach(text: str, bag: frozenset[str]) -> Meaning | None:
    lap, opened = "laparoscopic" in bag, "open" in bag
    if lap and opened:
        found = [part for part in parts(text) if part.senses & {"laparoscopic", "open"}]
        if re.search(r"conv|konv|umst|umgest", flat(text)):
            return "open"
        both = [part for part in found if {"laparoscopic", "open"} <= part.senses]
        if both or len(found) > 1:
            return None
    if lap:
        return "laparoscopic" if not is_negated(text, "laparoscopic") else "open"
    if opened:
        return "open" if not is_negated(text, "open") else None
    if bag & {"mesh", "tissue", "ligation"} and re.search(
        r"lichtenst|shouldic|bassini|mcvay|desarda|ferguson|herniotom|kielotom|rutkow|plug|trabucco|rrhaph|rrafi|mitchell|banks|onstep|tipp",
        flat(text),
    ):
        return "open"
    return "unknown" if is_unknown(text, bag) else None


def _occurrence(text: str, bag: frozenset[str]) -> Meaning | None:
    short = flat(text).strip(" .")
    if short in ("p", "prim"):
        return "primary"
    if short in ("r", "rec", "rez", "re-op", "redo"):
        return "recurrent"
    firm = {part.text for part in parts(text) if part.senses & {"recurrent", "again"} and len(part.text) > 1}
    if firm:
        return "recurrent" if not is_negated(text, "recurrent") else "primary"
    if any("primary" in part.senses and len(part.text) > 1 for part in parts(text)):
        return "primary"
    flag = read_flag(text, bag)
    if flag is not None and flag != "":
        return "recurrent" if flag else "primary"
    return "" if is_unknown(text, bag) else None


def _known_by(text: str, bag: frozenset[str]) -> Meaning | None:
    if "laparoscopic" in bag and not is_negated(text, "laparoscopic"):
        return "laparoscopic view"
    denied = bool(bag & {"not", "none"}) or flat(text).startswith("unexam")
    if "code" in bag:
        return "code only"
    if bag & {"floor", "examined", "view"} or ("known" in bag and denied):
        return "not examined" if denied else "floor examined"
    return "unknown" if is_unknown(text, bag) else None


def _reason(text: str, bag: frozenset[str]) -> Meaning | None:
    if "orchidopexy" in bag or {"testis", "ascending"} <= bag:
        return "with orchidopexy"
    if "processus" in bag and not (
        "hernia" in bag
        and "hydrocele" not in bag
        and re.search(r"prozess|proces", flat(text)) is None
        and "ppv" not in flat(text)
    ):
        return "processus closed in passing"
    hydro = "hydrocele" in bag
    hernia = any("hernia" in part.senses and "hydrocele" not in part.senses for part in parts(text))
    if hydro and not hernia:
        return "hydrocele"
    if hernia:
        return "hernia"
    return "" if is_unknown(text, bag) else None


_READ: Final[dict[str, Callable[[str, frozenset[str]], Meaning | None]]] = {
    "type": _type,
    "reoperation_type": _type,
    "side": _side,
    "sex": _sex,
    "repair": _repair,
    "approach": _approach,
    "occurrence": _occurrence,
    "known_by": _known_by,
    "reason": _reason,
    "emergency": read_emergency,
    "specialty": read_specialty,
    "recurrence_known_by": read_recurrence_known_by,
    "chronic_pain": read_pain,
    "ehs_size": lambda text, bag: None,
    "puberty_stage": lambda text, bag: None,
}
