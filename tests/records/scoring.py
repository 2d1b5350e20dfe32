"""How well the reader of operation notes reads notes that were written and labelled without sight of it.

A file of labelled notes comes in; counts of right and wrong readings go out, by type and by field. The labels'
rules stand in ``notes/README.md``.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from hingeline.records.opnote import read_note

NOTES = Path(__file__).parent / "notes"
FILES = ("first.jsonl", "second.jsonl")
PLAIN = ("indirect", "direct")
FIELDS = ("repair", "approach", "mesh", "reason", "occurrence")


@dataclass
class Score:
    """Counts over groins.

    Attributes
    ----------
    types : Counter of (labelled, read)
        Hydroceles are left out: they stand outside the denominator, and the two writers labelled their type by
        different rules.
    sides : Counter of (labelled, read)
        Over notes.
    fields : dict of str to Counter of (labelled, read)
        Of groins whose side was read rightly.
    wrong : list of dict
        Each groin whose type was read otherwise than it was labelled.
    """

    types: Counter[tuple[str, str]] = field(default_factory=Counter)
    sides: Counter[tuple[str | None, str | None]] = field(default_factory=Counter)
    fields: dict[str, Counter[tuple[object, object]]] = field(default_factory=dict)
    wrong: list[dict[str, Any]] = field(default_factory=list)

    def typed(self) -> float:
        """Share typed among groins that a surgeon reads as indirect or direct."""
        told = [(read, n) for (label, read), n in self.types.items() if label in PLAIN]
        return sum(n for read, n in told if read != "unknown") / sum(n for _, n in told)

    def right(self) -> float:
        """Share read as labelled among those groins that were typed."""
        told = [
            (label == read, n)
            for (label, read), n in self.types.items()
            if label in PLAIN and read != "unknown"
        ]
        return sum(n for right, n in told if right) / sum(n for _, n in told)

    def guessed(self) -> float:
        """Share typed among groins of which a surgeon cannot tell the type from the note."""
        told = [(read, n) for (label, read), n in self.types.items() if label == "unknown"]
        return sum(n for read, n in told if read != "unknown") / max(1, sum(n for _, n in told))

    def recall(self, kind: str) -> float:
        """Share of the groins labelled so that are read so."""
        return self.types[kind, kind] / max(
            1, sum(n for (label, _), n in self.types.items() if label == kind)
        )

    def precision(self, kind: str) -> float:
        """Share of the groins read so that are labelled so."""
        return self.types[kind, kind] / max(1, sum(n for (_, read), n in self.types.items() if read == kind))

    def agreement(self, name: str) -> float:
        """Share of groins (notes, for the side) of which a field is read as labelled."""
        counts: Counter[Any] = self.sides if name == "side" else self.fields[name]
        return sum(n for (label, read), n in counts.items() if label == read) / max(1, sum(counts.values()))


def labelled(names: Iterable[str] = FILES) -> list[dict[str, Any]]:
    """All labelled notes of some files."""
    return [
        json.loads(line)
        for name in names
        for line in (NOTES / name).read_text(encoding="utf-8").splitlines()
        if line.strip()
    ]


def score(notes: Iterable[dict[str, Any]]) -> Score:
    """Read every note and compare."""
    told = Score(fields={name: Counter() for name in FIELDS})
    for note in notes:
        read = read_note(note["text"])
        told.sides[note["side"], read.side] += 1
        # of a note that tells no side one groin is compared, since both stand for it
        sides = ("left",) if note["side"] is None else ("left", "right")
        sides = tuple(side for side in sides if note[side])  # some notes are of no operation
        for side in sides:
            label, groin = note[side], read.groin(side)
            if label["reason"] != "hydrocele":
                told.types[label["type"], groin.type] += 1
            if label["type"] != groin.type and label["reason"] != "hydrocele":
                told.wrong.append(
                    {
                        "id": note["id"],
                        "side": side,
                        "label": label["type"],
                        "read": groin.type,
                        "text": note["text"],
                    }
                )
            if note["side"] == read.side:
                for name in FIELDS:
                    value = getattr(groin, name)
                    expected = label.get(name)
                    if name == "reason":  # a note that says nothing of it means a hernia
                        value, expected = value or "hernia", expected or "hernia"
                    if name == "occurrence":
                        value, expected = value or "primary", expected or "primary"
                    told.fields[name][expected, value] += 1
    return told
