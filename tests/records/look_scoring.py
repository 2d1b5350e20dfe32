"""How well `look` names the fields of exports that were written without sight of its code.

The truths' rules stand in ``exports/README.md``. A field is right when the proposal takes the very column that a
careful person would map; a column taken for a field that the truth does not have is counted apart.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from hingeline.records.legend_model import fold
from hingeline.records.propose import Proposal, propose

LOOK = Path(__file__).parent / "exports" / "look"


@dataclass
class Score:
    """Counts over exports.

    Attributes
    ----------
    right, mappable : int
        Fields named rightly, and fields that a careful person would map.
    missed : list of (file, table, field, column, taken)
    extra : list of (file, table, field, column, sure)
        Taken for a field that the truth does not have.
    sure_wrong : list
        Wrong and extra ones that were called sure.
    codes : Counter of {"right", "wrong", "left open"}
        Of cells that the truth gives a meaning, in fields named rightly.
    wrong_codes : list of (file, field, cell, meant, guessed)
    forms, drops : Counter of bool
    """

    right: int = 0
    mappable: int = 0
    missed: list[tuple[str, ...]] = field(default_factory=list)
    extra: list[tuple[str, ...]] = field(default_factory=list)
    sure_wrong: list[tuple[str, ...]] = field(default_factory=list)
    codes: Counter[str] = field(default_factory=Counter)
    wrong_codes: list[tuple[str, ...]] = field(default_factory=list)
    forms: Counter[bool] = field(default_factory=Counter)
    drops: Counter[bool] = field(default_factory=Counter)

    def named(self) -> float:
        """Share of mappable fields named rightly."""
        return self.right / self.mappable


def truths() -> list[tuple[Path, dict[str, Any]]]:
    """Every small export with its truth."""
    told = []
    for path in sorted(LOOK.glob("*.truth.json")):
        stem = path.name.removesuffix(".truth.json")
        export = next(one for one in LOOK.glob(f"{stem}.*") if not one.name.endswith(".truth.json"))
        told.append((export, json.loads(path.read_text(encoding="utf-8"))))
    return told


def score() -> Score:
    """Propose a legend for every small export and compare."""
    told = Score()
    for path, truth in truths():
        compare(path, truth, propose(path, hospital="Alder Vale"), told)
    return told


def compare(path: Path, truth: dict[str, Any], proposal: Proposal, told: Score) -> None:
    """Add one export's proposal to the score."""
    wanted = {
        (table, name): column
        for table in ("fields", "left", "right")
        for name, column in truth.get(table, {}).items()
    }
    taken = {(guess.table, guess.field): guess for guess in proposal.guesses}
    form = "patients" if any(table != "fields" for table, _ in taken) else "operations"
    told.forms[form == truth["form"]] += 1
    told.mappable += len(wanted)
    for (table, name), column in wanted.items():
        guess = taken.get((table, name))
        if guess is not None and guess.column is not None and fold(guess.column) == fold(column):
            told.right += 1
            _compare_codes(path.name, name, truth["codes"].get(name, {}), guess.codes, told)
            continue
        line = (path.name, table, name, column, "" if guess is None else f"{guess.column} ({guess.sure})")
        told.missed.append(line)
        if guess is not None and guess.sure == "sure":
            told.sure_wrong.append(line)
    for (table, name), guess in taken.items():
        if (table, name) not in wanted and guess.column is not None:
            line = (path.name, table, name, guess.column, guess.sure)
            told.extra.append(line)
            if guess.sure == "sure":
                told.sure_wrong.append(line)


_SAME = {"no operation": "absent", "unknown": ""}


def _compare_codes(
    file: str, name: str, meant: dict[str, str], guessed: dict[str, Any] | None, told: Score
) -> None:
    from hingeline.records.codes import known_codes
    from hingeline.records.legend_model import Mapped

    if not meant:
        return
    known = known_codes(name, Mapped(column="x", codes={str(k): v for k, v in (guessed or {}).items()}))
    for cell, meaning in meant.items():
        read = known.get(fold(cell))
        if read is None:
            told.codes["left open"] += 1
            continue
        plain = {True: "yes", False: "no"}.get(read, str(read)) if isinstance(read, bool) else str(read)
        if plain == meaning or plain == _SAME.get(meaning, meaning):
            told.codes["right"] += 1
        else:
            told.codes["wrong"] += 1
            told.wrong_codes.append((file, name, cell, meaning, plain))
