"""Which of two things a yes means, by the column's name: ``Recurrent`` or ``Primary``, ``Prim/Rec`` for neither.

A field, a name and the distinct cells come in; what its flags mean goes out. Under a name that holds both sides no
flag and no number has a meaning, and numbers have none but 0 and 1 under a name that holds the marked side alone, so
that a person is asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final, Literal

from .header_words import parts, senses
from .identifier_words import flat
from .legend_model import ALWAYS_BLANK, Meaning, fold
from .propose_values_more import read_flag

Pole = Literal["marked", "other", "both", "neither"]

_POLES: Final[Mapping[str, tuple[frozenset[str], frozenset[str], Meaning, Meaning]]] = {
    "occurrence": (frozenset({"recurrent", "again"}), frozenset({"primary"}), "recurrent", "primary"),
    "recurred": (frozenset({"recurrent", "again"}), frozenset({"primary"}), True, False),
    "emergency": (frozenset({"emergency"}), frozenset({"elective"}), True, False),
    "approach": (frozenset({"laparoscopic"}), frozenset({"open"}), "laparoscopic", "open"),
    "mesh_used": (frozenset({"mesh"}), frozenset({"tissue"}), True, False),
    "sex": (frozenset({"male"}), frozenset({"female"}), "male", "female"),
}
"""Senses of the side that a yes marks, of the other side, and what both mean for the field."""

_SCALES: Final[Mapping[str, frozenset[str]]] = {
    "occurrence": frozenset({"occurrence"}),
    "emergency": frozenset({"urgency", "admission"}),
    "approach": frozenset({"approach"}),
    "mesh_used": frozenset({"method"}),
}
"""Senses that name the question and neither side of it."""


_HELD: Final[Mapping[tuple[bool, bool], Pole]] = {
    (True, True): "both",
    (True, False): "marked",
    (False, True): "other",
    (False, False): "neither",
}


def pole(field: str, header: str) -> Pole:
    """Which side of a field a column's name holds."""
    if field not in _POLES:
        return "marked"
    marked, other, _, _ = _POLES[field]
    if senses(header) & _SCALES.get(field, frozenset()):
        return "both"
    own = [part.senses for part in parts(header) if len(part.text) > 1]
    has = any(one & marked for one in own), any(one & other for one in own)
    return _HELD[has]


def flags_of(field: str, header: str, cells: Iterable[str]) -> dict[str, Meaning | None]:
    """Cells that are yes, no or numbers, with what they mean for a field; None for those that must be asked.

    Parameters
    ----------
    field : str
    header : str
        The column's name.
    cells : iterable of str
        Its distinct cells.
    """
    kept = [cell for cell in cells if fold(cell) not in ALWAYS_BLANK]
    numbers = {cell: number for cell in kept if (number := _number(cell)) is not None}
    said = {cell: flag for cell in kept if cell not in numbers and (flag := _flag(cell)) is not None}
    name = pole(field, header)
    plain = set(numbers.values()) <= {0, 1, 9, 99} and name == "marked"
    found: dict[str, Meaning | None] = {}
    for cell, number in numbers.items():
        found[cell] = _meaning(field, number == 1, name) if plain and number < 2 else None
    if field in _WORDED and len(said) + len(numbers) < len(kept) and not _whole(said, kept):
        return found  # a letter such as "S" is a yes only where nothing but yes and no stands
    for cell, flag in said.items():
        found[cell] = _meaning(field, flag, name)
    return found


_WORDED: Final = ("occurrence", "approach", "sex")
"""Fields that have words of their own, beside which a letter is no flag."""


def _whole(said: Mapping[str, bool], kept: Iterable[str]) -> bool:
    """Whether all cells that are no flag say that nothing is known."""
    return all(cell in said or "unknown" in senses(cell) or cell.strip() in ("?", "??") for cell in kept)


def _meaning(field: str, flag: bool, name: Pole) -> Meaning | None:
    if field not in _POLES:
        return flag
    _, _, marked, other = _POLES[field]
    if name in ("both", "neither"):
        return None
    return marked if flag == (name == "marked") else other


def _number(cell: str) -> int | None:
    found = re.fullmatch(r"(\d{1,3})(?:[.,]0)?", cell.strip())
    return int(found.group(1)) if found else None


def _flag(cell: str) -> bool | None:
    if flat(cell).strip(" .") in ("v", "r", "l", "p"):
        return None
    read = read_flag(cell, senses(cell))
    return read if isinstance(read, bool) else None
