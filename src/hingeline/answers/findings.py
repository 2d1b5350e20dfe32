"""A finding: one number with its interval, counts, method, source cells and whether it was planned.

Estimates come in, findings go out; pages, papers, slides and ``findings.json`` are all written from them and
from nothing else. The rounded digits in ``findings.json`` are the promise that a re-run must keep.
"""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass, field
from typing import Any

import pyarrow as pa

FORMAT = 1
DIGITS = 6
"""Significant digits kept in ``findings.json``: enough for a statistician, few enough to be the same anywhere."""


def rounded(value: float | None) -> float | None:
    """Round to `DIGITS` significant digits; what is not a finite number becomes None, as JSON has no word for it."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.{DIGITS}g}")


@dataclass(frozen=True)
class Finding:
    """One number and all that is needed to check it.

    Attributes
    ----------
    id : str
        Stable name, e.g. ``turn.1`` or ``crossing.0.10``.
    estimand : str
        What the number is a number of, in words.
    estimate : float
        NaN when the answer is that it cannot be told or is not reached.
    unit : str
        ``years``, ``share``, ``odds ratio per year``, ``cases`` …
    low, high : float
        Limits; infinite where an interval is open on that side.
    level : float
        Coverage of the interval, 0.95 by default.
    method : str
        Estimator and how the interval was made, with its source.
    n, events : int, int or None
        Groins, and events among them (direct hernias, or recurrences), that the number rests on; None where it
        counts none.
    cells : str
        The cells of the tally it came from, as the filter that selects them.
    status : str
        ``told``, ``not identified``, ``not reached`` or ``open``.
    planned, headline : bool
        Without a seal nothing is planned.
    seed, replicates : int or None
    sentence : str
        The number as a sentence, from `wording`.
    """

    id: str
    estimand: str
    estimate: float
    unit: str
    low: float
    high: float
    method: str
    n: int
    events: int | None
    cells: str
    sentence: str
    status: str = "told"
    level: float = 0.95
    planned: bool = False
    headline: bool = False
    seed: int | None = None
    replicates: int | None = None

    def __str__(self) -> str:
        return self.sentence

    def to_json(self) -> dict[str, Any]:
        """Return plain values, numbers rounded to the promised digits and open limits as None."""
        plain = asdict(self)
        for name in ("estimate", "low", "high"):
            plain[name] = rounded(plain[name])
        return plain


@dataclass(frozen=True)
class Figure:
    """What a picture is drawn from: frames and the picture's kind; pictures know the rest.

    Attributes
    ----------
    kind : str
        One of the kinds that `hingeline.pictures` draws.
    title, alt, caption : str
        A heading, a description for those who cannot see the picture, and the note under it.
    frames : dict of str to pyarrow.Table
        What each kind needs is said in `hingeline.answers.figures`.
    name : str
        File name without ending.
    """

    name: str
    kind: str
    title: str
    alt: str
    caption: str
    frames: dict[str, pa.Table] = field(repr=False)


@dataclass(frozen=True)
class Grid:
    """A table to be read: column heads and rows of ready text, with a title and a note."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    numeric: tuple[int, ...] = ()
    """Positions of the columns that are set flush right."""


@dataclass(frozen=True)
class Part:
    """One part of an answer: a sentence, then its picture, table and notes.

    Attributes
    ----------
    id, heading, sentence : str
    figures : tuple of Figure
    grids : tuple of Grid
    method : str
        How it was computed, with references by key (see `Answer.references`).
    cannot : tuple of str
        What these numbers cannot say.
    operations : bool
        Whether the part says anything on operations, so that the caution must stand by it.
    leads : bool
        Whether its sentence stands in the answer, on the report's first page.
    """

    id: str
    heading: str
    sentence: str
    figures: tuple[Figure, ...] = ()
    grids: tuple[Grid, ...] = ()
    method: str = ""
    cannot: tuple[str, ...] = ()
    operations: bool = True
    leads: bool = True


@dataclass(frozen=True)
class Answer:
    """Everything a run answers: the writing and the app are made from this alone.

    Attributes
    ----------
    title, question, dated : str
        `dated` is the data cut-off in words.
    sentences : tuple of str
        The answer, built from headline findings.
    findings : tuple of Finding
    parts : tuple of Part
        Flow of records, ages, direct share, what cannot be said …
    references : tuple of str
        Sources of the methods.
    marks : dict of str to str
        Version, protocol fingerprint, seed, run, seal.
    """

    title: str
    question: str
    dated: str
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]
    parts: tuple[Part, ...]
    references: tuple[str, ...]
    marks: dict[str, str]

    def finding(self, id: str) -> Finding:
        """Return the finding of that name; KeyError when there is none."""
        for finding in self.findings:
            if finding.id == id:
                return finding
        raise KeyError(id)

    @property
    def cannot(self) -> tuple[str, ...]:
        """What the numbers of all parts cannot say, each once."""
        return tuple(dict.fromkeys(told for part in self.parts for told in part.cannot))

    def to_json(self) -> str:
        """Return ``findings.json``: the promise that a re-run keeps to the digit."""
        body = {
            "format": FORMAT,
            "title": self.title,
            "marks": self.marks,
            "sentences": list(self.sentences),
            "cannot": list(self.cannot),
            "findings": [finding.to_json() for finding in self.findings],
        }
        return json.dumps(body, ensure_ascii=False, indent=1) + "\n"
