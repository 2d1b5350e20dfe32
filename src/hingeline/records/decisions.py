"""Decisions: what a person settled about codes, notes and pairs that the records leave open.

The lines of ``decisions.csv`` come in; a frozen `Decisions` goes out, which intake applies as if the legend or the
note had said so. Nothing is ever taken out of the file: a later line on the same question stands in place of an
earlier one, and a line whose meaning is ``(undone)`` lets the question be open again. A note, a visit and a
code that could name somebody are named by keyed fingerprints, so that the file holds no patient's words.
"""

from __future__ import annotations

import hashlib
import hmac
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Final

from .. import vocabulary, wording
from ..errors import HingelineError
from .csv_files import read_rows, read_text, write_rows
from .legend_model import ABSENT, BOTH, GRADES, KINDS, VISIT_KINDS, Meaning, fold

COLUMNS: Final = ("hospital", "kind", "field", "what", "means", "by", "on", "why")
"""Of ``decisions.csv``: ``what`` is a code, or the fingerprint of a note, visit or code; ``by`` and ``on`` tell who
and when."""

KINDS_SETTLED: Final = ("code", "note", "pair")
UNDONE: Final = "(undone)"
EMPTY: Final = "(says nothing)"
"""How a person writes that a code is known to say nothing."""

NONE: Final = "none"
"""How a person writes that a visit belongs to no operation of the file."""

NOTE_FIELDS: Final = ("type", "side", "repair", "approach", "known_by", "reason", "occurrence")
"""Fields that a person may settle for a note, for either side alone as ``left.type``."""

_LONGEST: Final = 200


@dataclass(frozen=True)
class Decision:
    """One line of ``decisions.csv``.

    Attributes
    ----------
    hospital : str
    kind : {"code", "note", "pair"}
    field : str
        Case field (``type``, ``left.type`` for one side of a note), empty for a pair.
    what : str
        The code as it stands in the file, or the fingerprint of a note, a visit or a code that could name somebody.
    means : str
        The vocabulary's word, `EMPTY`, `NONE`, ``file:row`` of an operation, or `UNDONE`.
    by : str
    on : datetime.date
    why : str
    """

    hospital: str
    kind: str
    field: str
    what: str
    means: str
    by: str
    on: date
    why: str = ""


@dataclass(frozen=True)
class Decisions:
    """All that was settled; ``Decisions()`` settles nothing."""

    lines: tuple[Decision, ...] = ()
    _standing: Mapping[tuple[str, str, str, str], str] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        standing: dict[tuple[str, str, str, str], str] = {}
        for line in self.lines:
            key = (fold(line.hospital), line.kind, line.field, fold(line.what))
            if line.means == UNDONE:
                standing.pop(key, None)
            else:
                standing[key] = line.means
        object.__setattr__(self, "_standing", standing)

    def __len__(self) -> int:
        return len(self._standing)

    def __str__(self) -> str:
        return wording.decisions_told(len(self))

    def codes(self, hospital: str, key: bytes = b"") -> Settled:
        """Meaning of each settled code, by field and folded cell or its fingerprint, typed as the legend types it."""
        found = {
            (name, what): _typed(name, means)
            for (where, kind, name, what), means in self._standing.items()
            if kind == "code" and where == fold(hospital)
        }
        return Settled(found, key)

    def note(self, hospital: str, fingerprint: str) -> dict[str, str]:
        """What was settled of one note, by field (``type``, or ``left.type`` for one side)."""
        return self.notes(hospital).get(fingerprint, {})

    def notes(self, hospital: str) -> dict[str, dict[str, str]]:
        """What was settled of each note, by its fingerprint."""
        settled: dict[str, dict[str, str]] = {}
        for (where, kind, name, what), means in self._standing.items():
            if kind == "note" and where == fold(hospital):
                settled.setdefault(what, {})[name] = means
        return settled

    def pair(self, hospital: str, fingerprint: str) -> str | None:
        """Operation to which a doubtful visit belongs as ``file:row``, `NONE`, or None when it is open."""
        return self._standing.get((fold(hospital), "pair", "", fingerprint))

    def pairs(self, hospital: str) -> dict[str, str]:
        """What was settled of each doubtful visit, by its fingerprint."""
        return {
            what: means
            for (where, kind, _, what), means in self._standing.items()
            if kind == "pair" and where == fold(hospital)
        }

    def fingerprint(self, hospital: str) -> str:
        """SHA-256 of what stands for one hospital: a decision on another re-reads nothing here."""
        standing = sorted(item for item in self._standing.items() if item[0][0] == fold(hospital))
        return hashlib.sha256(repr(standing).encode()).hexdigest()


class Settled(dict[tuple[str, str], Meaning]):
    """What a person settled of one hospital's codes: by field and folded cell, or the cell's fingerprint.

    Parameters
    ----------
    found : mapping of (str, str) to meaning
    key : bytes
        Of the fingerprints by which cells are named that could name somebody.
    """

    def __init__(self, found: Mapping[tuple[str, str], Meaning], key: bytes) -> None:
        super().__init__(found)
        self._key = key

    def of(self, name: str, cell: str) -> Meaning | None:
        """Meaning of a cell, whichever way it was named; None when nobody has settled it."""
        found = self.get((name, fold(cell)))
        return self.get((name, self.name_of(name, cell))) if found is None else found

    def name_of(self, name: str, cell: str) -> str:
        """Name a cell that could name somebody: ``code-`` and 16 hex digits of HMAC-SHA-256 (RFC 2104)."""
        text = f"code\x1f{name}\x1f{fold(cell)}".encode()
        return f"code-{hmac.new(self._key, text, hashlib.sha256).hexdigest()[:16]}"


def note_print(key: bytes, text: str) -> str:
    """Fingerprint of a note: 16 hex digits of HMAC-SHA-256 (RFC 2104) of its text, blanks and letter forms evened."""
    plain = " ".join(unicodedata.normalize("NFKC", text).split())
    return hmac.new(key, b"note\x1f" + plain.encode(), hashlib.sha256).hexdigest()[:16]


def read_decisions(path: Path | str) -> Decisions:
    """Read ``decisions.csv``; a file that is not there settles nothing.

    Raises
    ------
    HingelineError
        When it cannot be read, a column is missing, or a line says what cannot be: with its row.
    """
    path = Path(path)
    if not path.exists():
        return Decisions()
    text = read_text(path, "decisions")
    rows = read_rows(text, str(path), COLUMNS)
    return Decisions(tuple(_decision(row, f"{path}, row {number}") for number, row in rows))


def append_decisions(path: Path, lines: Iterable[Decision]) -> int:
    """Add lines to ``decisions.csv``, whole or not at all; return how many."""
    added = list(lines)
    if not added:
        return 0
    before = read_text(path, "decisions") if path.exists() else ""
    if not read_rows(before, str(path), COLUMNS):
        before = ""
    write_rows(path, COLUMNS, [_cells(line) for line in added], "decisions", after=before)
    return len(added)


def meaning_of(kind: str, name: str, answer: str, where: str) -> str:
    """Return what a person answered in the vocabulary's words; anything else is an error that lists them."""
    plain = fold(answer)
    if plain in (fold(UNDONE), "undo"):
        return UNDONE
    if kind == "pair":
        file, _, row = answer.strip().rpartition(":")
        if plain == NONE or (file and row.isdecimal()):
            return NONE if plain == NONE else answer.strip()
        raise HingelineError(
            f"{answer!r} is no operation", where, f"Give the file and row, such as list.csv:14, or {NONE}"
        )
    allowed = {fold(word): word for word in allowed_words(kind, name)}
    if plain not in allowed:
        raise HingelineError(
            f"{name} cannot be {answer!r}", where, f"Use one of: {', '.join(allowed.values())}"
        )
    return allowed[plain]


def allowed_words(kind: str, name: str) -> tuple[str, ...]:
    """Words with which a question on a field may be answered."""
    if kind == "pair":
        return (NONE, "file:row", "file left:row")
    bare = name.removeprefix("left.").removeprefix("right.")
    if kind == "note":
        extra = {"side": (BOTH, ABSENT), "type": (ABSENT,)}.get(bare, ())
        return (*vocabulary.FIELD[bare].values, *extra)
    how = KINDS.get(bare) or VISIT_KINDS.get(bare)
    if how == "flag":
        return ("yes", "no", EMPTY)
    if how == "grade":
        return (*(str(grade) for grade in GRADES[bare]), EMPTY)
    extra = (BOTH,) if bare == "side" else ()
    return (*vocabulary.FIELD[bare].values, *extra, ABSENT, EMPTY)


def _typed(name: str, means: str) -> Meaning:
    if means == EMPTY:
        return ""
    how = KINDS.get(name) or VISIT_KINDS.get(name)
    if how == "flag" and means != ABSENT:
        return means == "yes"
    return int(means) if how == "grade" and means != ABSENT else means


def _decision(row: Mapping[str, str], where: str) -> Decision:
    def wrong(what: str, todo: str) -> HingelineError:
        return HingelineError(what, where, todo)

    cells = {name: cell.strip() for name, cell in row.items()}
    if cells["kind"] not in KINDS_SETTLED:
        raise wrong(f"{cells['kind']!r} is no kind of question", f"Use one of: {', '.join(KINDS_SETTLED)}")
    check_field(cells["kind"], cells["field"], where)
    if not cells["hospital"] or not cells["what"]:
        raise wrong("The line does not say what it settles", "Fill in hospital and what, or remove the line")
    if not cells["by"]:
        raise wrong("The line does not say who settled it", "Fill in by")
    if max(map(len, cells.values())) > _LONGEST:
        raise wrong(
            f"A cell is longer than {_LONGEST} characters", "Name a note by its fingerprint, not its text"
        )
    try:
        on = date.fromisoformat(cells["on"])
    except ValueError:
        raise wrong(f"{cells['on']!r} is no date", "Write it year first, such as 2024-05-31") from None
    means = meaning_of(cells["kind"], cells["field"], cells["means"], where)
    check_word(cells["kind"], cells["field"], cells["what"], means, where)
    return Decision(**{**cells, "means": means, "on": on})  # type: ignore[arg-type]


def check_line(line: Decision, where: str) -> None:
    """Refuse a line that a later reading of ``decisions.csv`` would refuse."""
    _decision(dict(zip(COLUMNS, _cells(line), strict=True)), where)


def check_word(kind: str, name: str, what: str, means: str, where: str) -> None:
    """Refuse to turn a word of the vocabulary round: only what is no known word is a question."""
    if kind != "code" or means == UNDONE:
        return
    bare = fold(what)
    if bare in {fold(word) for word in allowed_words(kind, name)} and bare != fold(means):
        raise HingelineError(
            f"{what!r} is a word of the vocabulary and cannot mean {means!r}",
            where,
            "Leave the line out; if the file uses the word otherwise, say so in the legend",
        )


def check_field(kind: str, name: str, where: str) -> None:
    """Refuse a field that such a question cannot be about."""
    bare = name.removeprefix("left.").removeprefix("right.")
    coded = [one for one, how in {**KINDS, **VISIT_KINDS}.items() if how in ("code", "flag", "grade")]
    known = {"code": coded, "note": NOTE_FIELDS, "pair": ("",)}[kind]
    if (bare if kind == "note" else name) not in known:
        raise HingelineError(
            f"{name!r} is no field that can be settled for a {kind}",
            where,
            f"Use one of: {', '.join(known)}" if any(known) else "Leave the field empty",
        )


def _cells(line: Decision) -> tuple[str, ...]:
    return tuple(line.on.isoformat() if name == "on" else str(getattr(line, name)) for name in COLUMNS)
