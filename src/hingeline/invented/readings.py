"""A double-read file of the invented study: groins and their true types come in, three readers' typings go out.

Readers err as people do: a combined hernia is called by one of its parts, a side of the vessels is mistaken, a record
tells nothing. The reference reader errs least.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

FILE: Final = "by-hand/read-again.csv"
REFERENCE: Final = "reference"
READERS: Final = ("first reader", "second reader", REFERENCE)
EACH: Final = 20
"""Groins of each hospital."""

MISTAKEN: Final = {"first reader": 0.03, "second reader": 0.06, REFERENCE: 0.02}
"""Share of directs called indirect and of indirects called direct."""
IN_PART: Final = 0.25
"""Share of combined hernias called by one of their parts."""
OPEN: Final = 0.03
"""Share whose record tells a reader nothing."""


@dataclass(frozen=True)
class ReadAgain:
    """A groin that was read again: where it stands, and its true type."""

    hospital: str
    file: str
    row: int
    side: str
    type: str


def draw_again(
    hospital: str,
    path: str,
    rows: NDArray[Any],
    sides: Sequence[str] | NDArray[Any],
    types: Sequence[str] | NDArray[Any],
    sound: NDArray[np.bool_],
    seed: int,
) -> list[ReadAgain]:
    """Draw the groins of one hospital that are read again, among those on which no fault was planted."""
    among = np.flatnonzero(sound)
    drawn = np.random.default_rng([seed, 11]).choice(among, min(EACH, len(among)), replace=False)
    name = Path(path).name
    return [
        ReadAgain(hospital, name, int(rows[one]), str(sides[one]), str(types[one]))
        for one in np.sort(drawn).tolist()
    ]


def readings_text(groins: Iterable[ReadAgain], seed: int) -> str:
    """Write the file: one row a reading."""
    generator = np.random.default_rng([seed, 12])
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["hospital", "file", "row", "side", "reader", "type"])
    for groin in groins:
        for reader in READERS:
            dice = generator.random(3)
            typed = _typed(groin.type, MISTAKEN[reader], dice)
            writer.writerow([groin.hospital, groin.file, groin.row, groin.side, reader, typed])
    return text.getvalue()


def _typed(true: str, mistaken: float, dice: NDArray[np.float64]) -> str:
    if dice[0] < OPEN:
        return "unknown"
    if true == "combined" and dice[1] < IN_PART:
        return "direct" if dice[2] < 0.5 else "indirect"
    if true in ("direct", "indirect") and dice[1] < mistaken:
        return "indirect" if true == "direct" else "direct"
    return true
