"""Remarks beside typed columns: groins come in, one plain sentence on finding and repair goes out, on a few of them."""

from __future__ import annotations

import random
from typing import Final

import numpy as np

from hingeline.invented.cells import Cells
from hingeline.invented.note_told import Told, told_of
from hingeline.invented.outcomes import Rows
from hingeline.invented.patients import Booleans

REMARKED: Final = 0.04
"""Share of groins with a remark, where remarks stand beside typed columns."""

_PLAIN_TYPES: Final = {
    "indirect": "indirect inguinal hernia",
    "direct": "direct inguinal hernia",
    "combined": "combined inguinal hernia, direct and indirect",
    "femoral": "femoral hernia",
}
_PLAIN_REPAIRS: Final = {
    "open high_ligation": "Open herniotomy, sac ligated high",
    "laparoscopic high_ligation": "Laparoscopic high ligation of the sac",
    "open tissue": "Open suture repair, no mesh",
    "open mesh": "Open mesh repair",
    "laparoscopic mesh": "Laparoscopic mesh repair",
}


def write_remarks(rows: Rows, seed: int, among: Booleans) -> Cells:
    """Write a plain remark on a few groins whose types stand in columns; the others have none.

    Parameters
    ----------
    rows : Rows
    seed : int
        Of dice of the remarks' own.
    among : ndarray of bool, (groins,)
        Groins that may have one.
    """
    dice = random.Random(f"remarks {seed}")
    alone = np.bincount(rows["patient"])[rows["patient"]] == 1
    may = among & alone & (rows["reason"] == "hernia") & (rows["type"] != "unknown")
    remarks = np.full(len(may), None, dtype=object)
    for i, told in enumerate(told_of(rows)):
        if may[i] and dice.random() < REMARKED:
            remarks[i] = remark(told)
    return remarks


def remark(groin: Told) -> str:
    """One plain sentence on what was found, and one on what was done."""
    again = "recurrent " if groin.occurrence == "recurrent" else ""
    return f"{groin.side.capitalize()} {again}{_PLAIN_TYPES[groin.type]}. {_PLAIN_REPAIRS[groin.operation]}."
