"""Types told by a code or a letter: EHS codes such as ``PL2`` or ``L1M2``, a letter after "Type:", Nyhus types.

EHS: Miserez et al. 2007 (Hernia 11:113-116): P primary, R recurrent; L lateral (indirect), M medial (direct), F
femoral; 0 none found, 1 to 3 finger breadths, x not investigated. Nyhus 1993 (Curr Probl Surg 30, from memory): I, II
and IIIB indirect, IIIA direct, IIIC femoral, IV recurrent.
"""

from __future__ import annotations

import re
from typing import Final

from . import opnote_tags as t
from .opnote_marks import listed

_CODE: Final = re.compile(r"([pr]?)((?:[lmf][0-3x]){1,3})")
_CODED: Final = t.HERNIA | t.CODE
_MARKED: Final = re.compile(r"[pr]?[lmf]")
LETTERS: Final = {"l": t.INDIRECT, "m": t.DIRECT, "f": t.FEMORAL}
_LABELS: Final = listed(
    """
    ehs type class classification classified code hernia grade eh miserez tapp tep lichtenstein herniotomy
    lih rih shouldice bassini inguinal mesh
    """
)
_NYHUS: Final = {
    "i": t.INDIRECT,
    "ii": t.INDIRECT,
    "1": t.INDIRECT,
    "2": t.INDIRECT,
    "iiia": t.DIRECT,
    "iiib": t.INDIRECT,
    "iiic": t.FEMORAL,
    "3a": t.DIRECT,
    "3b": t.INDIRECT,
    "3c": t.FEMORAL,
}

Coded = tuple[int, bool]
"""Tags, and whether the code says that there is none."""


def code(words: list[str], at: int) -> list[Coded]:
    """Read a word with a figure in it as an EHS code; empty when it is none."""
    found = _CODE.fullmatch(words[at])
    if found is None:
        return []
    history, parts = found.groups()
    if not history and len(parts) == 2 and not _labelled(words, at):
        return []
    coded: list[Coded] = []
    for letter, size in zip(parts[::2], parts[1::2], strict=True):
        if size != "x":
            coded.append((LETTERS[letter] | _CODED, size == "0"))
    if history:
        coded.append(((t.PRIMARY if history == "p" else t.RECURRENT) | t.CODE, False))
    return coded


def _labelled(words: list[str], at: int) -> bool:
    """Whether a bare ``L2`` stands near a word that makes it a hernia's and not a vertebra's."""
    near = words[max(0, at - 10) : at] + words[at + 1 : at + 6]
    if "spinal" in near or "vertebra" in near:
        return False
    return any(word in _LABELS or (word != words[at] and _CODE.fullmatch(word) is not None) for word in near)


def graded(words: list[str], after: int, tags: int) -> tuple[list[Coded], int]:
    """Read the grade that alone answers "lateral", "medial" or "femoral" in a form, and the place after it, or 0."""
    step = after
    if step < len(words) and words[step] == ")":
        step += 1
    if step < len(words) and words[step] in ("|", ":", "="):
        step += 1
    grade = words[step] if step < len(words) else ""
    if grade not in _GRADES or (step + 1 < len(words) and words[step + 1][0] != "\n"):
        return [], 0
    kind = t.INDIRECT if tags & t.LATERAL else t.DIRECT if tags & t.MEDIAL else t.FEMORAL
    return ([] if grade == "x" else [(kind | _CODED, grade == "0")]), step + 1


_GRADES: Final = frozenset(("0", "1", "2", "3", "x"))


def letters(words: list[str], at: int) -> tuple[list[Coded], int]:
    """Read the letters that answer a label such as "Hernia type (L/M/F): L", and the place after them."""
    step = at + 1
    count = len(words)
    if step < count and words[step] in ("class", "classification", "type", "of"):
        step += 1
    if step < count and words[step] == "hernia":
        step += 1
    if step < count and words[step] == "(":
        while step < count and words[step] != ")" and step < at + 14:
            step += 1
        step += 1
    if step >= count:
        return [], at + 1
    marked = words[step] in (":", "-", "=")
    if marked:
        step += 1
    told: list[str] = []
    while step < count and _MARKED.fullmatch(words[step]) and words[step - 1] not in ("(",):
        told.append(words[step])
        step += 1
        if (
            step + 1 < count
            and words[step] in ("/", "+", "&", "and", ",")
            and _MARKED.fullmatch(words[step + 1])
        ):
            step += 1
    if not told or len(told) > 2 or (not marked and len(told) > 1):
        return [], at + 1
    if not marked and words[at] != "ehs" and told[0] in ("l", "f"):
        return [], at + 1
    coded = [(LETTERS[one[-1]] | _CODED, False) for one in told]
    if len(told[0]) == 2:
        coded.append(((t.PRIMARY if told[0][0] == "p" else t.RECURRENT) | t.CODE, False))
    return coded, step


def nyhus(words: list[str], at: int) -> tuple[list[Coded], int]:
    """Read "Nyhus IIIA", "Nyhus type 2" and the like, and the place after."""
    step = at + 1
    while step < len(words) and words[step] in ("type", "class", "classification", "grade", ":", "-"):
        step += 1
    if step >= len(words):
        return [], at + 1
    whole = words[step]
    if whole in ("3", "iii") and step + 1 < len(words) and words[step + 1] in ("a", "b", "c"):
        whole, step = whole + words[step + 1], step + 1
    kind = _NYHUS.get(whole)
    return ([(kind | _CODED, False)] if kind else []), step + 1
