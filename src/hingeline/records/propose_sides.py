"""Columns in pairs, one for each groin: ``Typ li`` beside ``Typ re``, ``r_repair`` beside ``l_repair``.

Columns come in; pairs go out, with the name that both share.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Final

from .header_words import senses
from .identifier_words import flat
from .propose_columns import Column

_LISTED: Final = (
    "left/right l/r lt/rt lft/rgt lhs/rhs li/re links/rechts linke/rechte linker/rechter linkes/rechtes "
    "gauche/droite gauche/droit gche/dte gche/drt g/d izquierda/derecha izquierdo/derecho izq/der "
    "izqdo/dcho izq/dcha izqda/dcha izda/dcha izq/dch i/d izdo/dcho sinistra/destra sinistro/destro sin/des "
    "sin/dx sin/dex sx/dx sn/dx s/d sin/dest sin/dxt esquerda/direita esquerdo/direito esq/dir "
    "esq/dta e/d venstre/hojre venstre/hoyre ve/ho v/h ven/hoj ven/hoy vanster/hoger va/ho vs/hs "
    "vsn/hoj lewa/prawa lewy/prawy lewe/prawe lewej/prawej lewego/prawego lewostronna/prawostronna "
    "l/p lew/praw lewo/prawo lks/rts lnks/rchts linkszijdig/rechtszijdig venstresidig/hojresidig "
    "vanst/hog venstresidig/hoyresidig vanstersidig/hogersidig linksseitig/rechtsseitig"
)
_SIDES: Final = tuple((pair.partition("/")[0], pair.partition("/")[2]) for pair in _LISTED.split())
"""Words for left and right, in pairs, in eleven languages."""

_LEFT_OF: Final = {(left, right) for left, right in _SIDES}
_LEFTS: Final = frozenset(left for left, _ in _SIDES)
_RIGHTS: Final = frozenset(right for _, right in _SIDES)


def _languages() -> tuple[tuple[frozenset[str], frozenset[str]], ...]:
    """Marks of each language: pairs that share a word of more than one letter with the language's own words."""
    listed = (
        "left right l r lt rt lft rgt lhs rhs",
        "links rechts li re l r lks rts linke rechte linker rechter linkes rechtes lk rt",
        "gauche droite droit g d gche dte drt",
        "izquierda derecha izquierdo derecho izq der dcha dch izqda izda izqdo izdo dcho i d",
        "sinistra destra sinistro destro sin des dx dex sx sn dest dxt s d",
        "esquerda direita esquerdo direito esq dir dta dto e d",
        "venstre hojre hoyre ve ho v h ven hoj hoy vanster hoger va vs hs vsn hog",
        "lewa prawa lewy prawy lewe prawe lewej prawej lewego prawego l p lew praw pr",
    )
    return tuple((frozenset(one.split()) & _LEFTS, frozenset(one.split()) & _RIGHTS) for one in listed)


_LANGUAGES: Final = _languages()


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
    """Find pairs of columns whose names differ by the side alone.

    Names that differ by a listed pair of marks make pairs first. Once there are some, the file writes its sides so,
    and what is left is paired by any mark of a left and any of a right of the same language, and by names of which one
    is an abbreviation of the other.
    """
    words = {column.position: _words(column.header) for column in columns}
    found = _alike(columns, words)
    more = _more(columns, words, found)
    if len(found) >= _ENOUGH or len(found) + len(more) > _ENOUGH:
        found += more
    return tuple(sorted(found, key=lambda pair: pair.left.position))


def lone_of(columns: Sequence[Column], pairs: Sequence[Pair]) -> tuple[Column, ...]:
    """Columns that bear the mark of a side as the pairs of the file do, and have no other side."""
    if len(pairs) < _ENOUGH:
        return ()
    paired = {column.position for pair in pairs for column in (pair.left, pair.right)}
    marks = {
        (sided.mark, sided.first)
        for pair in pairs
        for column in (pair.left, pair.right)
        for sided in _sided(_words(column.header))
        if " ".join(sided.rest) == pair.name
    }
    return tuple(
        column
        for column in columns
        if column.position not in paired
        and any(_as_marked(one, marks) and not _again(one) for one in _sided(_words(column.header)))
    )


def _as_marked(sided: _Sided, marks: AbstractSet[tuple[str, bool]]) -> bool:
    """Whether a mark is one of the file's, or a longer one of the same language in the same place."""
    if (sided.mark, sided.first) in marks:
        return True
    return len(sided.mark) > 1 and any(
        first == sided.first and ({mark, sided.mark} <= lefts | rights)
        for mark, first in marks
        for lefts, rights in _LANGUAGES
    )


def _again(sided: _Sided) -> bool:
    """Whether a ``Re`` is no right but a second time: ``Re-OP``."""
    return sided.mark == "re" and bool(senses(" ".join(sided.rest[:1])) & {"operation", "repair"})


_ENOUGH: Final = 2
"""Pairs from which a file is known to write its sides so."""


def _alike(columns: Sequence[Column], words: Mapping[int, tuple[str, ...]]) -> list[Pair]:
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
    return found


@dataclass(frozen=True)
class _Sided:
    """A name that begins or ends with the mark of a side: the mark, the side, whether first, and the rest."""

    mark: str
    left: bool
    first: bool
    rest: tuple[str, ...]


def _sided(words: tuple[str, ...]) -> list[_Sided]:
    found = []
    for first, mark, rest in ((True, words[:1], words[1:]), (False, words[-1:], words[:-1])):
        for left, known in ((True, _LEFTS), (False, _RIGHTS)):
            if mark and rest and mark[0] in known:
                found.append(_Sided(mark[0], left, first, rest))
    return found


def _more(
    columns: Sequence[Column], words: Mapping[int, tuple[str, ...]], found: Sequence[Pair]
) -> list[Pair]:
    """Pairs among the columns left over, by marks of one language and rests that mean the same."""
    taken = {column.position for pair in found for column in (pair.left, pair.right)}
    free = [column for column in columns if column.position not in taken]
    lefts = [(column, one) for column in free for one in _sided(words[column.position]) if one.left]
    rights = [(column, one) for column in free for one in _sided(words[column.position]) if not one.left]
    ranked = sorted(
        (
            (likeness, -abs(left.position - right.position), left.position, right.position, left, right, a, b)
            for left, a in lefts
            for right, b in rights
            if left is not right
            and _of_one_language(a.mark, b.mark)
            and (likeness := _likeness(a.rest, b.rest))
        ),
        key=lambda one: one[:4],
        reverse=True,
    )
    more = []
    for *_, left, right, a, b in ranked:
        if left.position in taken or right.position in taken:
            continue
        taken |= {left.position, right.position}
        more.append(Pair(left, right, " ".join(max(a.rest, b.rest, key=lambda rest: len("".join(rest))))))
    return more


def _of_one_language(left: str, right: str) -> bool:
    return any(left in lefts and right in rights for lefts, rights in _LANGUAGES)


def _likeness(one: tuple[str, ...], other: tuple[str, ...]) -> float:
    """How nearly two rests are the same: 3 word for word, 2 in another order, 1 abbreviated; 0 when they are not."""
    if one == other:
        return 3.0
    if sorted(one) == sorted(other):
        return 2.0
    # a single letter is an abbreviation where another word of the rest is the same
    least = 1 if set(one) & set(other) else 2
    if len(one) == len(other) and all(
        a == b or (min(len(a), len(b)) >= least and (a.startswith(b) or b.startswith(a)))
        for a, b in zip(one, other, strict=True)
    ):
        return 1.0
    return 0.0


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
