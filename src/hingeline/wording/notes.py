"""Words on operation notes: why a person should look, and what the words of a note mean."""

from __future__ import annotations

from collections.abc import Iterable


def note_type_only_before() -> str:
    """Say that the type stands only in what was thought before the operation."""
    return "the type is told only before the operation"


def note_cannot_exclude(kind: str) -> str:
    """Say that a type is told in doubt."""
    return f"{kind} is told in doubt"


def note_weak_floor() -> str:
    """Say that the floor is called weak beside a hernia of another type."""
    return "the floor is called weak beside another type"


def note_type_left_open() -> str:
    """Say that the surgeon left the type open."""
    return "the note leaves the type open"


def note_told_and_denied(kind: str) -> str:
    """Say that a type is told in one place and denied in another."""
    return f"{kind} is told in one place and denied in another"


def note_femoral_too() -> str:
    """Say that a femoral hernia is told beside an inguinal one."""
    return "a femoral hernia is told beside an inguinal one"


def note_by_ligation() -> str:
    """Say that the type follows only from where the sac was tied."""
    return "the type follows only from where the sac was tied"


def note_mesh_both() -> str:
    """Say that a mesh is told and denied."""
    return "a mesh is told in one place and denied in another"


def note_side_doubt(kind: str) -> str:
    """Say why the side is in doubt."""
    if kind == "two sides":
        return "both sides are named and it is not told which was operated"
    return "the title and what was found name different sides"


def note_cut(characters: int) -> str:
    """Say that a note was longer than what is read."""
    return f"only the first {characters:,} characters were read"


def note_doubt(reasons: Iterable[str]) -> str:
    """Join the reasons for doubt, each once."""
    return "; ".join(dict.fromkeys(reasons))


_MEANS = {
    "sac": "indirect",
    "processus": "indirect",
    "high_ligation": "high ligation",
    "passing": "processus closed in passing",
    "orchidopexy": "with orchidopexy",
    "converted": "open",
    "repair": "recurrent",
}


def note_means(value: str, positive: bool) -> str:
    """Say what words of a note mean."""
    plain = _MEANS.get(value, value)
    return plain if positive else f"no {plain}"


def note_word(means: str, text: str) -> str:
    """Show one deciding phrase with its meaning, on one line."""
    return f"{means} ← '{' '.join(text.split())}'"


def note_words(told: Iterable[tuple[str, str]]) -> str:
    """Show the deciding phrases of a groin."""
    return "; ".join(note_word(means, text) for means, text in told)


def note_groin(kind: str, repair: str, approach: str, doubt: str) -> str:
    """Tell a groin's reading in a line."""
    told = f"type {kind}, repair {repair.replace('_', ' ')}, approach {approach}"
    return f"{told} (look: {doubt})" if doubt else told


def note_read(side: str | None, left: str, right: str) -> str:
    """Tell a note's reading."""
    if side == "both":
        return f"Both sides; left: {left}; right: {right}."
    if side is None:
        return f"Side not told: {left}."
    return f"{side.capitalize()}: {left if side == 'left' else right}."
