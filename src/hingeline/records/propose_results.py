"""What `propose` hands back: guesses, questions and the proposal that holds them, as text, JSON and a frame."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import pyarrow as pa

from .. import wording
from .legend_model import Meaning
from .propose_drafts import Sure

Form = Literal["operations", "patients"]


@dataclass(frozen=True)
class Guess:
    """One field of the proposed legend.

    Attributes
    ----------
    field, table : str
        ``table`` is ``"fields"``, ``"left"``, ``"right"`` or ``"follow_up"``.
    column : str
    why : str
    sure : {"sure", "fairly sure", "a guess"}
    runner_up : str or None
    codes : dict
    unit : str or None
    """

    field: str
    table: str
    column: str
    why: str
    sure: Sure
    runner_up: str | None
    codes: Mapping[str, Meaning]
    unit: str | None = None


@dataclass(frozen=True)
class Question:
    """Something that a person must confirm.

    Attributes
    ----------
    key : str
        Key of an answer to it, for `propose`'s ``answers``: ``"type.codes"``, ``"side.column"``.
    text : str
    values : tuple of str
        Codes that have no meaning yet.
    """

    key: str
    text: str
    values: tuple[str, ...] = ()


@dataclass(frozen=True)
class Proposal:
    """A proposed legend.

    Attributes
    ----------
    hospital : str
    form : {"operations", "patients"}
    legend_text : str
    guesses : tuple of Guess
    questions : tuple of Question
    drop : tuple of str
        Columns that seem to identify people, which the legend drops.
    notes : tuple of str
        What a person should know beside.
    """

    hospital: str
    form: Form
    legend_text: str
    guesses: tuple[Guess, ...]
    questions: tuple[Question, ...]
    drop: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def to_confirm(self) -> tuple[str, ...]:
        """What a person must confirm, as sentences."""
        return tuple(f"{question.key}: {question.text}" for question in self.questions)

    def guess(self, name: str, table: str = "fields") -> Guess | None:
        """Return the guess for a field; None when there is none."""
        return next((one for one in self.guesses if one.field == name and one.table == table), None)

    def text(self) -> str:
        """Return the proposal as a person reads it in a terminal."""
        rows = [(_place(one), one.column, one.sure, one.why) for one in self.guesses]
        return wording.look_proposal(self.hospital, self.form, rows, self.to_confirm, self.drop, self.notes)

    def to_json(self) -> dict[str, Any]:
        """Return the proposal as plain values."""
        return {
            "form": self.form,
            "fields": [
                {
                    "table": one.table, "field": one.field, "column": one.column, "why": one.why, "sure": one.sure,
                    "runner_up": one.runner_up, "codes": dict(one.codes), "unit": one.unit,
                }
                for one in self.guesses
            ],
            "confirm": [{"key": one.key, "text": one.text, "values": list(one.values)} for one in self.questions],
            "drop": list(self.drop),
            "notes": list(self.notes),
        }  # fmt: skip

    def to_frame(self) -> pa.Table:
        """Return one row a field."""
        return pa.table(
            {
                "table": pa.array([one.table for one in self.guesses], pa.string()),
                "field": pa.array([one.field for one in self.guesses], pa.string()),
                "column": pa.array([one.column for one in self.guesses], pa.string()),
                "sure": pa.array([one.sure for one in self.guesses], pa.string()),
                "why": pa.array([one.why for one in self.guesses], pa.string()),
                "runner_up": pa.array([one.runner_up for one in self.guesses], pa.string()),
            }
        )

    def __str__(self) -> str:
        return wording.look_summary(self.hospital, len(self.guesses), len(self.questions))


def _place(guess: Guess) -> str:
    return guess.field if guess.table == "fields" else f"{guess.table}.{guess.field}"
