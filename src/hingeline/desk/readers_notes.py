"""The note reader beside a hospital's typed column, for `check`: counts come in, agreement and a small table go out.

This is told at home, where the records are, so that counts stand as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .. import vocabulary, wording
from .steps import HospitalRead

if TYPE_CHECKING:
    from ..estimates.agreement import Kappa, ReadTwice


@dataclass(frozen=True)
class NotesBeside:
    """One hospital's notes beside its typed column.

    Attributes
    ----------
    cells : tuple of (str, str, int)
        Type typed, type read, groins.
    table : ReadTwice
    kappa : Kappa or None
        None where no note told a type of a typed groin.
    """

    cells: tuple[tuple[str, str, int], ...]
    table: ReadTwice
    kappa: Kappa | None

    def lines(self, hospital: str) -> tuple[str, ...]:
        """Return the comparison as a person reads it."""
        rows = [
            (name, [int(n) for n in row])
            for name, row in zip(self.table.labels_all, self.table.all, strict=True)
            if row.sum()
        ]
        return wording.notes_beside_lines(
            hospital, str(self.kappa or ""), int(self.table.all.sum()), self.table.labels_all, rows
        )

    def to_json(self) -> dict[str, Any]:
        """Return the comparison as plain values; kappa is None where it is not defined."""
        kappa = self.kappa
        figures = (
            {}
            if kappa is None
            else {
                "observed": kappa.observed,
                "kappa": kappa.kappa,
                "kappa_low": kappa.low,
                "kappa_high": kappa.high,
            }
        )
        return {
            "cells": [{"typed": typed, "read": read, "groins": n} for typed, read, n in self.cells],
            **{name: value if value == value else None for name, value in figures.items()},
        }


def notes_beside(reads: Sequence[HospitalRead]) -> dict[str, NotesBeside]:
    """Compare notes and typed column of each hospital that sends both."""
    found = {}
    for read in reads:
        if not any(typed != vocabulary.UNKNOWN for typed, _, _ in read.compared):
            continue
        from ..estimates.agreement import cohen_kappa, read_twice

        labels = [one for one in vocabulary.TYPES if one != vocabulary.UNKNOWN]
        typed, noted, groins = zip(*read.compared, strict=True)
        table = read_twice(typed, noted, labels=labels, n=groins)
        kappa = cohen_kappa(table.known, labels=labels) if table.known.sum() else None
        found[read.hospital] = NotesBeside(read.compared, table, kappa)
    return found
