"""Text made fit to be shown: what a terminal would obey rather than print is written out instead."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import Any

from .numbers import count

UNSHOWN = ("Cc", "Cf", "Cs")
"""Unicode's categories of control, format and surrogate characters."""


def unshown(text: str) -> str | None:
    """Name the first character of a text that is not printed but obeyed, as ``U+001B``; None when all print."""
    for character in text:
        if unicodedata.category(character) in UNSHOWN:
            return f"U+{ord(character):04X}"
    return None


def escaped(text: str, *, lines: bool = False) -> str:
    r"""Write each control, format and surrogate character out, as ``\u001b``; the form is JSON's too.

    Parameters
    ----------
    text : str
    lines : bool
        Whether line breaks are ours and stand.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        _written_out(c) if unicodedata.category(c) in UNSHOWN and not (lines and c == "\n") else c
        for c in text
    )


def _written_out(character: str) -> str:
    # beyond U+FFFF JSON writes two halves
    halves = character.encode("utf-16-be", errors="surrogatepass")
    return "".join(f"\\u{halves[i : i + 2].hex()}" for i in range(0, len(halves), 2))


def entry_of(place: tuple[str | int, ...]) -> str:
    """Name an entry of the protocol: ``counting.thresholds (1st entry)``."""
    name = ""
    for part in place:
        if isinstance(part, int):
            name += f" ({_nth(part + 1)} entry)"
        else:
            name += f"{'.' if name else ''}{part}" if not name.endswith(")") else f": {part}"
    return name or "the whole"


def _nth(number: int) -> str:
    if number % 100 in (11, 12, 13):
        return f"{number}th"
    return f"{number}{({1: 'st', 2: 'nd', 3: 'rd'}).get(number % 10, 'th')}"


def threshold_meant(typed: float) -> str:
    """Tell that a threshold is a share, and which one was probably meant."""
    told = "A threshold is a share between 0 and 1"
    return f"{told}: {typed:g} should be {typed / 100:g}" if 1 <= typed < 100 else f"{told}, not {typed:g}"


def checked_told(
    detected: dict[str, tuple[str, ...]],
    flow: Sequence[dict[str, Any]],
    counts: Sequence[dict[str, Any]],
) -> str:
    """Write what a check of the records found, hospital by hospital, operations and visits apart.

    Parameters
    ----------
    detected : dict
        Hospital → sentences on its files.
    flow : sequence of dict
        hospital, step, reason, rows, groins.
    counts : sequence of dict
        hospital, of ("operation" or "visit"), rule, severity, rows.
    """
    blocks = []
    width = max((len(line["rule"]) for line in counts), default=0)
    for hospital, told in detected.items():
        groins, rows = ({"": 0} for _ in range(2))
        for line in flow:
            if line["hospital"] == hospital:
                groins[line["step"]] = groins.get(line["step"], 0) + line["groins"]
                rows[line["step"]] = rows.get(line["step"], 0) + line["rows"]
        mine = [line for line in counts if line["hospital"] == hospital]
        of_operations = [line for line in mine if line["of"] == "operation"]
        others = [line for line in mine if line["of"] == "visit"]
        read, cases, aside = (groins.get(step, 0) for step in ("groins read", "cases", "set aside"))
        lines = [hospital, *(f"  {sentence}" for sentence in told)]
        lines.append(
            f"  Operations: {count(read, 'groin')} read = {count(cases, 'case')} + {count(aside)} set aside"
        )
        lines += _rules_told(of_operations, width)
        visits = rows.get("visits read", 0)
        if visits or others:
            joined, left = rows.get("visits joined", 0), rows.get("visits set aside", 0)
            lines.append(
                f"  Visits: {count(visits, 'row')} read = {count(joined)} joined to operations + {count(left)} set aside"
            )
            lines += _rules_told(others, width)
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)


def _rules_told(counts: Sequence[dict[str, Any]], width: int) -> list[str]:
    return [f"    {line['severity']:<10} {line['rule']:<{width}} {count(line['rows']):>6}" for line in counts]


def hospital_assumed(name: str, ages: tuple[int, int], setting: str) -> str:
    """Say what an added hospital was taken for without being told, and ask for it."""
    return (
        f"Not in any export, so assumed: {name} takes patients of all ages (takes_ages = [{ages[0]}, {ages[1]}]) and is a "
        f'hospital for "{setting}". Humps, and where ages end, are judged by both: please set them in study.toml '
        "as they are."
    )


def where_to_answer(path: str) -> str:
    """Say where answers are written, and what to call then."""
    return f"To answer: fill in the last column of {path}, then call 'hingeline settle'."
