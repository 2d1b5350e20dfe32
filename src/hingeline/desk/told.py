"""What a check and a run came to, as a person, a notebook and a machine are told it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from .. import wording
from .readers_notes import NotesBeside
from .runs import Run

if TYPE_CHECKING:
    pass


@dataclass(frozen=True)
class Checked:
    """What a check of the records found.

    Attributes
    ----------
    counts : pyarrow.Table
        Rows: hospital, of (operation or visit), rule, severity, rows.
    flow : pyarrow.Table
    detected : dict of str to tuple of str
        Hospital → what was detected in its files.
    set_aside : pathlib.Path
    questions : pyarrow.Table
        What a person should settle, in `hingeline.records.questions.QUESTION_SCHEMA`.
    asked : pathlib.Path
        The same as a list to answer.
    decided : int
        Answers of people by which the records were read.
    compared : dict of str to NotesBeside
        Hospital → its notes beside its typed column, where it sends both.
    """

    counts: pa.Table
    flow: pa.Table
    detected: dict[str, tuple[str, ...]]
    set_aside: Path
    questions: pa.Table
    asked: Path
    decided: int = 0
    compared: dict[str, NotesBeside] = field(default_factory=dict)

    def text(self, shown: Callable[[Path], str] = str) -> str:
        """Return the check as a person reads it, what waits for the person first."""
        first = [self._waiting()]
        if self.questions.num_rows:
            first.append(wording.where_to_answer(shown(self.asked)))
        if self.decided:
            first.append(wording.decisions_told(self.decided))
        report = wording.checked_told(self.detected, self.flow.to_pylist(), self.counts.to_pylist())
        beside = [line for name, one in self.compared.items() for line in ("", *one.lines(name))]
        return "\n".join([*first, "", report, *beside])

    def _waiting(self) -> str:
        asked: list[dict[str, Any]] = self.questions.to_pylist()
        kinds = Counter(str(one["kind"]) for one in asked)
        return wording.questions_told(dict(kinds), sum(one["rows"] for one in asked))

    def to_json(self) -> dict[str, Any]:
        """Return the check as plain values."""
        return {
            "detected": {name: list(told) for name, told in self.detected.items()},
            "flow": self.flow.to_pylist(),
            "counts": self.counts.to_pylist(),
            "set_aside": str(self.set_aside),
            "questions": self.questions.to_pylist(),
            "asked": str(self.asked),
            "decided": self.decided,
            "notes_beside_types": {name: one.to_json() for name, one in self.compared.items()},
        }


@dataclass(frozen=True)
class Outcome:
    """What a call of `Study.run` came to.

    Attributes
    ----------
    run : Run
        The run that now stands.
    fresh : bool
        False when nothing had changed and an earlier run stands.
    set_aside : pathlib.Path
    seconds : float
        From exports to report, installation and inventing not counted.
    """

    run: Run
    fresh: bool
    set_aside: Path
    seconds: float

    def text(self) -> str:
        """Return the answer in sentences, what it cannot say, and how long it took."""
        return wording.answer_told(self.run.sentences, self.run.cannot, self.seconds, self.fresh)

    def paths(self) -> dict[str, Path]:
        """Return what was written, by what it is."""
        return {
            "report (browser)": self.run.report,
            "report (PDF)": self.run.report_pdf,
            "findings": self.run.path / "findings.json",
            "pictures": self.run.path / "pictures",
            "tallies": self.run.path / "tallies",
            "rows set aside": self.set_aside,
        }

    def to_json(self) -> dict[str, Any]:
        """Return the outcome as plain values."""
        return {
            "run": self.run.id,
            "fresh": self.fresh,
            "sentences": list(self.run.sentences),
            "cannot": list(self.run.cannot),
            "findings": self.run.findings["findings"],
            "paths": {what: str(path) for what, path in self.paths().items()},
        }

    def __str__(self) -> str:
        return self.text()
