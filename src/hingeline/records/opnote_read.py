"""A free-text operation note in, what it tells of each groin out, with the words that decided.

`read_note` reads one: type, side, repair, approach, mesh, how the type was known, reason and occurrence; ``unknown``
rather than a guess, and a doubt where a person should look. Rules, no statistics: words, places and codes of the trade,
within the scopes of negation, doubt and time (after Chapman et al. 2001, J Biomed Inform 34:301-310). No age is read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import pyarrow as pa

from .. import vocabulary, wording
from . import opnote_tags as t
from .opnote_columns import by_columns
from .opnote_evidence import Clause, Evidence
from .opnote_repairs import read_repairs
from .opnote_scan import Sentence, Spot, scan
from .opnote_scopes import settle
from .opnote_sides import OTHER, assign, operated
from .opnote_text import LONGEST, Read, read_words
from .opnote_times import correct
from .opnote_types import read_types
from .opnote_verdict import Verdict, judge


@dataclass(frozen=True)
class Words:
    """Words of a note that decided a field.

    Attributes
    ----------
    field : str
        ``type``, ``side``, ``repair``, ``mesh``, ``approach``, ``known_by``, ``reason``, ``occurrence`` or ``sliding``.
    start, end : int
        Where they stand in the text as given: ``text[start:end]``.
    text : str
    means : str
        What they mean, such as ``direct``, ``no direct`` or ``left``.
    """

    field: str
    start: int
    end: int
    text: str
    means: str


@dataclass(frozen=True)
class GroinRead:
    """What a note tells of one groin, in the vocabulary's words.

    Attributes
    ----------
    type, repair, approach, known_by : str
        ``unknown`` when not told.
    reason, occurrence : str or None
        None when the note says nothing of it.
    mesh : bool or None
        Whether a mesh was implanted; None when not told.
    sliding : bool
        Whether a sliding hernia is told.
    doubt : str
        Why a person should look; empty when there is no reason to.
    words : tuple of Words
        The words that decided, in the order of the text.
    """

    type: str = vocabulary.UNKNOWN
    repair: str = vocabulary.UNKNOWN
    approach: str = vocabulary.UNKNOWN
    known_by: str = vocabulary.UNKNOWN
    reason: str | None = None
    occurrence: str | None = None
    mesh: bool | None = None
    sliding: bool = False
    doubt: str = ""
    words: tuple[Words, ...] = ()

    def __str__(self) -> str:
        return wording.note_groin(self.type, self.repair, self.approach, self.doubt)


@dataclass(frozen=True)
class NoteRead:
    """What a note tells.

    Attributes
    ----------
    side : str or None
        ``left``, ``right``, ``both``, or None when not told.
    left, right : GroinRead
        The side that was not operated is all unknown; both hold the reading when the side is not told.
    """

    side: str | None
    left: GroinRead
    right: GroinRead

    def groin(self, side: str) -> GroinRead:
        """Reading of one side.

        Raises
        ------
        KeyError
            When the side is neither ``left`` nor ``right``.
        """
        return {"left": self.left, "right": self.right}[side]

    def to_frame(self) -> pa.Table:
        """One row, as `read_notes` would give."""
        from .opnote_table import table_of

        return table_of([self])

    def __str__(self) -> str:
        return wording.note_read(self.side, str(self.left), str(self.right))


_CARRIED: Final = t.mask("wall ring bare_ring pv")
NOTHING: Final = GroinRead()


def read_note(text: str) -> NoteRead:
    """Read one operation note.

    Parameters
    ----------
    text : str
        The note; what stands beyond the first 20,000 characters is not read, and the doubt says so.

    Returns
    -------
    NoteRead
    """
    read = read_words(text)
    sentences, words = scan(read)
    if any(sentence.tags & t.CORRECTION for sentence in sentences):
        correct(sentences, words)
    for sentence in sentences:
        settle(sentence, words)
    assign(sentences, words)
    by_columns(read, sentences)
    side, why = operated(sentences, words)
    evidence = _evidence(sentences, words)
    first = [wording.note_side_doubt(why)] if why else []
    if read.cut:
        first.append(wording.note_cut(LONGEST))
    named = _side_words(read, sentences, side)
    if side is None:  # all evidence speaks of either
        groins = dict.fromkeys(vocabulary.SIDES, _groin(read, evidence, "left", side, first, named))
    else:
        groins = {
            one: _groin(read, evidence, one, side, first, named) if side in (one, "both") else NOTHING
            for one in vocabulary.SIDES
        }
    if side == "both":
        groins = _together(_alike(groins, evidence))
    return NoteRead(side, groins["left"], groins["right"])


def _evidence(sentences: list[Sentence], words: list[str]) -> list[Evidence]:
    """All that the sentences say."""
    found: list[Evidence] = []
    subject: Spot | None = None
    sac: Spot | None = None
    section: str | None = None
    for sentence in sentences:
        if sentence.section != section:
            section, sac = sentence.section, None
            subject = None
        clause = Clause(sentence, words, found)
        carried = subject if subject is not None and subject.tags & _CARRIED else None
        subject = read_types(clause, carried, sac)
        sac = read_repairs(clause, sac)
    return found


def _groin(
    read: Read,
    evidence: list[Evidence],
    side: str,
    operated_on: str | None,
    doubts: list[str],
    named: list[Words],
) -> GroinRead:
    """One groin's reading from the evidence that speaks of it."""
    mine = [one for one in evidence if _speaks_of(one, side, operated_on)]
    verdict = judge(mine, operated_on == "both")
    return _as_read(read, verdict, doubts, named)


def _speaks_of(one: Evidence, side: str, operated_on: str | None) -> bool:
    """Whether evidence speaks of a side; in a note on one groin only what names the other is left out."""
    if one.side in ("", "both", side) or (one.field == "approach" and one.value != "open"):
        return True
    if operated_on == "both":
        return False
    if one.field == "approach":
        return True
    if operated_on is None:
        return True
    if one.side == "contra":
        return False
    return not one.told and one.tier > 1


def _as_read(read: Read, verdict: Verdict, doubts: list[str], named: list[Words]) -> GroinRead:
    """A verdict as it is handed out, its evidence as words of the text."""
    spans, text = read.spans, read.text
    # keys in the order of the text; only what is distinct is made into words
    told = {(word.start, word.end, word.field, place, word.means): word for place, word in enumerate(named)}
    seen = {(word.field, word.start, word.end, word.means) for word in named}
    for place, one in enumerate(verdict.deciding, len(named)):
        start, end = spans[one.first][0], spans[one.after - 1][1]
        means = wording.note_means(one.value, one.positive)
        if (one.field, start, end, means) not in seen:
            seen.add((one.field, start, end, means))
            told[start, end, one.field, place, means] = Words(one.field, start, end, text[start:end], means)
    distinct = tuple(told[key] for key in sorted(told))
    return GroinRead(
        type=verdict.type,
        repair=verdict.repair,
        approach=verdict.approach,
        known_by=verdict.known_by,
        reason=verdict.reason,
        occurrence=verdict.occurrence,
        mesh=verdict.mesh,
        sliding=verdict.sliding,
        doubt=wording.note_doubt([*doubts, *verdict.doubts]),
        words=distinct,
    )


def _side_words(read: Read, sentences: list[Sentence], side: str | None) -> list[Words]:
    """The words that told the side: the first that name it in what counts."""
    if side is None:
        return []
    wanted = t.LEFT | t.RIGHT | t.BOTH if side == "both" else t.LEFT if side == "left" else t.RIGHT
    told: list[Words] = []
    for sentence in sentences:
        if not sentence.tags & wanted:
            continue
        for spot in sentence.spots:
            if not spot.tags & wanted or not spot.alive or spot.when in ("past", "maybe") or spot.negated:
                continue
            start, end = read.spans[spot.first][0], read.spans[spot.after - 1][1]
            means = "left" if spot.tags & t.LEFT else "right" if spot.tags & t.RIGHT else "both"
            told.append(Words("side", start, end, read.text[start:end], means))
            if len(told) == 2:
                return told
    return told


def _together(groins: dict[str, GroinRead]) -> dict[str, GroinRead]:
    """Two groins of one operation: what was done and how, told of one only, holds for the other."""
    for side in vocabulary.SIDES:
        mine, other = groins[side], groins[OTHER[side]]
        told: dict[str, Any] = {}
        fields: set[str] = set()
        if mine.approach == vocabulary.UNKNOWN != other.approach:
            told["approach"] = other.approach
            fields.add("approach")
        if mine.repair == vocabulary.UNKNOWN != other.repair and mine.mesh in (None, other.mesh):
            told |= {"repair": other.repair, "mesh": other.mesh}
            fields |= {"repair", "mesh"}
        if told:
            words = (*mine.words, *(word for word in other.words if word.field in fields))
            told["words"] = tuple(dict.fromkeys(words))
            groins[side] = replace(mine, **told)
    return groins


def _alike(groins: dict[str, GroinRead], evidence: list[Evidence]) -> dict[str, GroinRead]:
    """ "The same on the other side": a groin of which nothing else is told takes the other's reading."""
    for one in evidence:
        if one.field != "same" or not one.positive:
            continue
        for side in vocabulary.SIDES:
            mine, other = groins[side], groins[OTHER[side]]
            if one.side not in (side, "", "both") or other.type == vocabulary.UNKNOWN:
                continue
            if mine.type == vocabulary.UNKNOWN:
                groins[side] = replace(
                    mine,
                    type=other.type,
                    repair=other.repair if mine.repair == vocabulary.UNKNOWN else mine.repair,
                    approach=other.approach if mine.approach == vocabulary.UNKNOWN else mine.approach,
                    known_by=other.known_by if mine.known_by == vocabulary.UNKNOWN else mine.known_by,
                    reason=mine.reason or other.reason,
                    mesh=other.mesh if mine.mesh is None else mine.mesh,
                    words=tuple(dict.fromkeys((*mine.words, *other.words))),
                )
    return groins
