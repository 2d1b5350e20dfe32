"""Operation notes of one hospital: groins come in, a text for each goes out, one for both groins of an operation.

Where the type was not recorded the note leaves it open. The dice are the notes' own, so that nothing else is drawn
otherwise.
"""

from __future__ import annotations

import random
from typing import Final

import numpy as np

from hingeline.invented.cells import Cells
from hingeline.invented.note_styles import write_note
from hingeline.invented.note_told import told_of
from hingeline.invented.outcomes import Rows

SHARED: Final = ("followed_until", "recurred_on", "recurrence_known_by", "reoperation_type", "other_groin_on")
"""What stands in columns of its own: groins of one operation share a note and a row where these agree."""


def write_notes(rows: Rows, seed: int) -> Cells:
    """Write the notes of one hospital's operations.

    Parameters
    ----------
    rows : Rows
        Sound groins; those of one operation share patient and date.
    seed : int
        Of dice of the notes' own, so that nothing else is drawn otherwise.

    Returns
    -------
    Cells
        A text for each groin; the groins of one operation have the same where `SHARED` agrees.
    """
    dice = random.Random(f"notes {seed}")
    told = told_of(rows)
    notes = np.empty(len(told), dtype=object)
    for group in _operations(rows):
        notes[group] = write_note([told[i] for i in group], dice)
    return notes


def _operations(rows: Rows) -> list[list[int]]:
    """Groups of rows that share a note."""
    order = np.lexsort((rows["operated_on"], rows["patient"]))
    keys = [rows[name][order] for name in ("patient", "operated_on", *SHARED)]
    same = np.ones(max(len(order) - 1, 0), dtype=bool)
    for key in keys:
        alike = key[1:] == key[:-1]
        if key.dtype.kind == "M":
            alike |= np.isnat(key[1:]) & np.isnat(key[:-1])
        same &= alike
    groups: list[list[int]] = []
    for i, row in enumerate(order.tolist()):
        if i and same[i - 1] and len(groups[-1]) == 1:
            groups[-1].append(row)
        else:
            groups.append([row])
    return groups
