"""An answer as an outline that no renderer owns: headings, sentences, pictures, tables and notes, in order.

An `Answer` comes in, its figures are drawn, an `Outline` goes out. The page (`html`), the PDF (`pdf`), and
later slides and paper, are renderers of this one thing, so that they cannot say different things.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from hingeline import pictures, wording
from hingeline.answers.findings import Answer, Figure, Finding, Grid, Part
from hingeline.pictures.share import close_up
from hingeline.writing.data import data_behind


@dataclass(frozen=True)
class Sentence:
    """A sentence that answers.

    Attributes
    ----------
    lead : bool
        Whether it is the first thing to be read.
    about : tuple of (str, str)
        The findings told in it: the row of each in the table of all numbers, and what it is a number of.
    """

    text: str
    lead: bool = False
    about: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Table:
    """A table: heads, rows of ready text, which columns are set flush right, a note.

    Attributes
    ----------
    number : int
        Its number in the report; 0 when it has none (the data behind a picture).
    ids : tuple of str
        Names of the rows, so that a number can be pointed at; empty when they have none.
    """

    number: int
    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[int, ...] = ()
    note: str = ""
    ids: tuple[str, ...] = ()


@dataclass(frozen=True)
class Picture:
    """A picture with its specifications for page and telephone, and the numbers that it shows."""

    number: int
    name: str
    title: str
    alt: str
    caption: str
    spec: dict[str, Any] = field(repr=False)
    narrow: dict[str, Any] = field(repr=False)
    data: Table | None = field(repr=False, default=None)

    @cached_property
    def svg(self) -> str:
        """The picture as SVG, drawn once for all formats."""
        return pictures.svg(self.spec)

    def drawn(self, svg: str) -> None:
        """Take the SVG as it was drawn elsewhere."""
        self.__dict__["svg"] = svg


@dataclass(frozen=True)
class Note:
    """A note under a heading of its own: how it was computed, what cannot be said, references, the caution.

    `kind` is ``method``, ``cannot``, ``caution`` or ``references``; one item is a paragraph, several are a
    list.
    """

    kind: str
    title: str
    items: tuple[str, ...]


Block = Sentence | Picture | Table | Note


@dataclass(frozen=True)
class Section:
    """A heading, the name it can be pointed at by, and what stands under it."""

    id: str
    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Outline:
    """Everything a renderer needs, in reading order; the first section is the answer."""

    title: str
    question: str
    dated: str
    sections: tuple[Section, ...]
    caution: str
    marks: tuple[tuple[str, str], ...]

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """All pictures, in order."""
        return tuple(b for s in self.sections for b in s.blocks if isinstance(b, Picture))


def outline(answer: Answer) -> Outline:
    """Draw an answer's figures and set everything in reading order.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    Outline

    Raises
    ------
    HingelineError
        When a figure is not of a known kind or lacks a column.
    """
    count = _Count()
    sections = [_answer(answer, count), *(_part(part, answer, count) for part in answer.parts)]
    if answer.findings:
        sections.append(_numbers(answer.findings, count))
    if answer.references:
        sections.append(
            Section("references", "References", (Note("references", "", answer.references),)),
        )
    return Outline(
        answer.title,
        answer.question,
        answer.dated[:1].upper() + answer.dated[1:],
        tuple(sections),
        wording.CAUTION,
        tuple(answer.marks.items()),
    )


@dataclass
class _Count:
    """Numbers of pictures and tables so far."""

    pictures: int = 0
    tables: int = 0


def _answer(answer: Answer, count: _Count) -> Section:
    """Return the answer's sentences with the one picture that shows it: the first of the first part."""
    sentences = tuple(Sentence(text, True, _about(text, answer.findings)) for text in answer.sentences)
    shown = [picture for figure in _shown_first(answer) for picture in _pictures(figure, count)]
    return Section("answer", "The answer", (*sentences, *shown, Note("caution", "", (wording.CAUTION,))))


def _shown_first(answer: Answer) -> tuple[Figure, ...]:
    return answer.parts[0].figures[:1] if answer.parts else ()


def _about(text: str, findings: tuple[Finding, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((_row_id(f), f.estimand) for f in findings if f.sentence and f.sentence in text)


def _row_id(finding: Finding) -> str:
    return f"number-{finding.id}"


def _part(part: Part, answer: Answer, count: _Count) -> Section:
    """Return a section: the sentence, the pictures, the tables, how it was computed, what cannot be said.

    What the answer has said or shown already does not stand here again.
    """
    blocks: list[Block] = []
    if part.sentence and part.sentence not in answer.sentences:
        blocks.append(Sentence(part.sentence, about=_about(part.sentence, answer.findings)))
    first = _shown_first(answer)
    for figure in part.figures:
        if not any(figure is one for one in first):
            blocks += _pictures(figure, count)
    blocks += [_table(grid, count) for grid in part.grids]
    if part.method:
        blocks.append(Note("method", "How it was computed", (part.method,)))
    if part.cannot:
        blocks.append(Note("cannot", "What these numbers cannot say", part.cannot))
    if part.operations:
        blocks.append(Note("caution", "", (wording.CAUTION,)))
    return Section(part.id, part.heading, tuple(blocks))


def _pictures(figure: Figure, count: _Count) -> list[Picture]:
    """Return a figure's picture, and the same seen closer where turns or thresholds lie close together."""
    made = [_picture(figure, figure.name, figure.title, figure.caption, count, None)]
    near = close_up(figure)
    if near is not None:
        span = wording.age_span(*near)
        title, caption = wording.closer(figure.title, span), wording.closer_caption(span)
        made.append(_picture(figure, f"{figure.name}-closer", title, caption, count, near))
    return made


def _picture(
    figure: Figure, name: str, title: str, caption: str, count: _Count, ages: tuple[float, float] | None
) -> Picture:
    count.pictures += 1
    shown = Figure(name, figure.kind, title, figure.alt, caption, figure.frames)
    wide, narrow = (pictures.draw(shown, sheet, ages) for sheet in (pictures.WIDE, pictures.NARROW))
    behind = data_behind(figure) if ages is None else None
    table = Table(0, behind.title, behind.heads, behind.rows, behind.numeric) if behind else None
    return Picture(count.pictures, name, title, wide["description"], caption, wide, narrow, table)


def _table(grid: Grid, count: _Count) -> Table:
    count.tables += 1
    return Table(count.tables, grid.title, grid.heads, grid.rows, grid.numeric, grid.note)


def _numbers(findings: tuple[Finding, ...], count: _Count) -> Section:
    """Return every finding with its interval, its counts, its cells, its method and whether it was planned."""
    count.tables += 1
    heads = ("Number", "Estimate and interval", "Groins", "Events", "Cells", "Method", "Standing")
    rows = tuple(_finding_row(f) for f in findings)
    ids = tuple(_row_id(f) for f in findings)
    table = Table(count.tables, "Every number in this report", heads, rows, (2, 3), "", ids)
    return Section("numbers", "Every number, and where it comes from", (table,))


def _finding_row(f: Finding) -> tuple[str, ...]:
    return (
        f"{f.estimand} ({f.id})",
        f.status
        if f.status in ("not identified", "not reached")
        else wording.estimate(f.estimate, f.low, f.high, f.unit),
        wording.count(f.n),
        wording.count(f.events) if f.events is not None else wording.nothing(),
        f.cells,
        wording.method_told(f.method, f.level, f.replicates, f.seed),
        wording.standing(f.planned, f.headline),
    )
