"""Text made fit to be shown: what a terminal would obey rather than print is written out instead."""

from __future__ import annotations

import unicodedata

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
