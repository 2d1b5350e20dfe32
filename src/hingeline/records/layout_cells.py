"""One column of cells as they stood, out of any kind of file: what is trimmed off and what counts as empty.

Spaces of every kind go from both ends, characters that nobody can see go from everywhere, and an inner space that
does not break becomes a plain one. No character that can be seen is changed.
"""

from __future__ import annotations

import re
from typing import Any, Final

import pyarrow as pa
import pyarrow.compute

pc: Any = pyarrow.compute  # its stubs know too few of the overloads

INVISIBLE: Final = "\u00ad\u200b\u200e\u200f\u2060\ufeff"
"""Soft hyphen, zero-width space, marks of direction, word joiner, byte order mark: taken out wherever they stand."""

JOINERS: Final = "\u200c\u200d\u180e"
"""Joiners shape letters of some scripts and pictographs, so they are taken off the ends only."""

UNBREAKING: Final = "\u00a0\u2007\u202f"
"""Spaces at which a line does not break: plain spaces for a reader."""

_TO_CLEAN: Final = re.compile(f"[{INVISIBLE}{JOINERS}{UNBREAKING}]")
_BYTES_TO_CLEAN: Final = tuple(
    sorted({one.encode()[:2] for one in INVISIBLE + JOINERS + UNBREAKING}, reverse=True)
)
"""How these begin in UTF-8: looked for first, since it is the quickest to say that there are none."""

_TEXT_FORMULA: Final = '="'


def trimmed(column: Any) -> tuple[Any, int]:
    """Trim the cells of a string array, take ``="…"`` off (how exports keep leading zeros), make empty ones null.

    Parameters
    ----------
    column : pyarrow.Array of string

    Returns
    -------
    cells : pyarrow.Array of string
    unseen : int
        Cells out of which characters went that nobody can see.
    """
    unseen = 0
    values = _bytes(column)
    if not values.isascii():
        if any(begin in values for begin in _BYTES_TO_CLEAN) and _TO_CLEAN.search(
            values.decode(errors="ignore")
        ):
            column, unseen = _cleaned(column)
        column = pc.utf8_trim_whitespace(column)
    else:
        column = pc.ascii_trim_whitespace(column)
    if _TEXT_FORMULA.encode() in values:
        column = pc.utf8_trim_whitespace(pc.replace_substring_regex(column, r'^="(.*)"$', r"\1"))
    return pc.if_else(pc.equal(column, ""), pa.scalar(None, pa.string()), column), unseen


def _bytes(column: Any) -> bytes:
    """All the text of an array, run together (it may hold more than a slice shows, never less)."""
    buffer = column.buffers()[2]
    if buffer is None or not len(column):
        return b""
    if column.offset == 0 and buffer.size < 4 * column.nbytes:
        return bytes(memoryview(buffer))
    return "\n".join(cell for cell in column.to_pylist() if cell is not None).encode()


def _cleaned(column: Any) -> tuple[Any, int]:
    cleaned = pc.replace_substring_regex(column, f"[{INVISIBLE}]", "")
    cleaned = pc.utf8_trim_whitespace(cleaned)
    cleaned = pc.utf8_trim_whitespace(pc.replace_substring_regex(cleaned, f"^[{JOINERS}]+|[{JOINERS}]+$", ""))
    changed = pc.sum(pc.not_equal(pc.utf8_length(cleaned), pc.utf8_length(pc.utf8_trim_whitespace(column))))
    cleaned = pc.replace_substring_regex(cleaned, f"[{UNBREAKING}]", " ")
    return cleaned, changed.as_py() or 0


def trimmed_text(cell: str) -> str:
    """Trim one cell as `trimmed` does a column of them."""
    cell = cell.translate(_CLEAN)
    return cell.strip(_ENDS)


_CLEAN: Final = {ord(one): None for one in INVISIBLE} | {ord(one): " " for one in UNBREAKING}
_ENDS: Final = (
    JOINERS
    + " \t\n\r\f\v\x1c\x1d\x1e\x1f\x85\u1680\u2028\u2029\u205f\u3000"
    + "".join(chr(code) for code in range(0x2000, 0x200B))
)


def filled_anywhere(columns: list[Any]) -> Any:
    """Whether each row holds any cell at all."""
    filled = columns[0].is_valid()
    for column in columns[1:]:
        filled = pc.or_(filled, column.is_valid())
    return filled


def letter(position: int) -> str:
    """Name of a column as a spreadsheet shows it: 1 is A, 28 is AB."""
    text = ""
    while position:
        position, rest = divmod(position - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def position(letters: str) -> int:
    """Position of a column that a spreadsheet calls so: A is 1, AB is 28."""
    at = 0
    for one in letters:
        at = at * 26 + ord(one) - 64
    return at
