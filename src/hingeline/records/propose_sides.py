"""Columns in pairs, one for each groin: ``Typ li`` beside ``Typ re``, ``r_repair`` beside ``l_repair``.

Columns come in; pairs go out, with the name that both share.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from .identifier_words import flat
from .propose_columns import Column

_LISTED: Final = (
    "left/right l/r lt/rt lft/rgt li/re links/rechts linke/rechte linker/rechter linkes/rechtes "
    "gauche/droite gauche/droit gche/dte gche/drt g/d izquierda/derecha izquierdo/derecho izq/der "
    "izq/dcha izqda/dcha izda/dcha izq/dch i/d izdo/dcho sinistra/destra sinistro/destro sin/des "
    "sin/dx sin/dex sx/dx sn/dx s/d sin/dest sin/dxt esquerda/direita esquerdo/direito esq/dir "
    "esq/dta e/d venstre/hojre venstre/hoyre ve/ho v/h ven/hoj ven/hoy vanster/hoger va/ho vs/hs "
    "vsn/hoj lewa/prawa lewy/prawy lewe/prawe lewej/prawej lewego/prawego lewostronna/prawostronna "
    "l/p lew/praw lewo/prawo lks/rts lnks/rchts linkszijdig/rechtszijdig venstresidig/hojresidig "
    "venstresidig/hoyresidig vanstersidig/hogersidig linksseitig/rechtsseitig"
)
_SIDES: Final = tuple((pair.partition("/")[0], pair.partition("/")[2]) for pair in _LISTED.split())
"""Words for left and right, in pairs, in eleven languages."""

_LEFT_OF: Final = {(left, right) for left, right in _SIDES}


@dataclass(frozen=True)
class Pair:
    """Two columns that hold the same of the left and of the right groin.

    Attributes
    ----------
    left, right : Column
    name : str
        What their names share.
    """

    left: Column
    right: Column
    name: str


def pairs_of(columns: Sequence[Column]) -> tuple[Pair, ...]:
    """Find pairs of columns whose names differ by the side alone."""
    words = {column.position: _words(column.header) for column in columns}
    taken: set[int] = set()
    found = []
    for one in columns:
        if one.position in taken:
            continue
        for other in columns:
            if other.position in taken or other is one:
                continue
            name = _shared(words[one.position], words[other.position])
            if name is not None:
                found.append(Pair(one, other, name))
                taken |= {one.position, other.position}
                break
    return tuple(found)


def _words(header: str) -> tuple[str, ...]:
    apart = re.sub(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Þ])", " ", header)
    return tuple(re.findall(r"[^\W\d_]+|\d+", flat(apart)))


def _shared(left: tuple[str, ...], right: tuple[str, ...]) -> str | None:
    """Name without its side when two names differ by left and right alone; None otherwise."""
    if len(left) != len(right) or left == right:
        return None
    at = [i for i, (a, b) in enumerate(zip(left, right, strict=True)) if a != b]
    if not at or any((left[i], right[i]) not in _LEFT_OF and not _glued(left[i], right[i]) for i in at):
        return None
    kept = []
    for i, word in enumerate(left):
        if i not in at:
            kept.append(word)
        elif (left[i], right[i]) not in _LEFT_OF:
            kept.append(_glued(left[i], right[i]) or "")
    return " ".join(one for one in kept if one)


def _glued(left: str, right: str) -> str | None:
    """What is left of two words when the side is glued to either end: ``typl`` and ``typr``."""
    for a, b in _SIDES:
        if (
            len(left) > len(a) + 1
            and left.startswith(a)
            and right.startswith(b)
            and left[len(a) :] == right[len(b) :]
        ):
            return left[len(a) :]
        if (
            len(left) > len(a) + 1
            and left.endswith(a)
            and right.endswith(b)
            and left[: -len(a)] == right[: -len(b)]
        ):
            return left[: -len(a)]
    return None
