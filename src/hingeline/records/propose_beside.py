"""Lines that stand beside a file's records: titles above the column names, remarks below the last row.

A path and its opened `Source` come in; lines of text go out, at most sixty from the top and a dozen from the foot.
They are read for keys of codes alone (`propose_keys`), and shown nowhere.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

import python_calamine as calamine

from .layout_header import JOINED, LOOKED_AT
from .legend_model import fold
from .source import Source

_FOOT: Final = 12
_TOP_BYTES: Final = 1 << 17
_FOOT_BYTES: Final = 1 << 14


def lines_beside(path: Path | str, source: Source) -> tuple[str, ...]:
    """Return the text above the column names and that below the records, each with its line ends.

    Parameters
    ----------
    path : Path or str
    source : Source
        The same file, opened.
    """
    first = int(source.rows[0].as_py()) if source.n_rows else 0
    if source.place or (source.sheet and first <= 2 and not source.broken):
        return ()
    try:
        top, foot = _of_sheet(Path(path), source) if source.sheet else _of_text(Path(path))
    except (OSError, ValueError, calamine.CalamineError):  # what cannot be read again has no key
        return ()
    return tuple("\n".join(lines) for lines in (_above(top, source.header), foot) if lines)


def _of_sheet(path: Path, source: Source) -> tuple[list[str], list[str]]:
    with calamine.CalamineWorkbook.from_path(str(path)) as book:
        sheet = book.get_sheet_by_name(source.sheet)
        top: list[str] = []
        foot: deque[str] = deque(maxlen=_FOOT)
        for cells in sheet.iter_rows():
            line = " ; ".join(str(cell) for cell in cells if cell not in ("", None))
            if len(top) < LOOKED_AT:
                top.append(line)
            elif not source.broken:
                break
            foot.append(line)
        return top, list(foot)


def _of_text(path: Path) -> tuple[list[str], list[str]]:
    with path.open("rb") as file:
        start = file.read(_TOP_BYTES)
        if start.startswith((b"PAR1", b"PK\x03\x04")):
            return [], []
        size = file.seek(0, 2)
        file.seek(max(0, size - _FOOT_BYTES))
        end = file.read()
    encoding = _encoding(start)
    top = start.decode(encoding, errors="replace").splitlines()[:LOOKED_AT]
    foot = [line for line in end.decode(encoding, errors="replace").splitlines() if line.strip(' ,;|\t"')]
    return top, foot[-_FOOT:]


def _encoding(start: bytes) -> str:
    if start.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        start[:-4].decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def _above(lines: Iterable[str], header: Sequence[str]) -> list[str]:
    """Return the lines above that which holds the column names; none when no line does."""
    names = [fold(name.split(JOINED)[-1]) for name in header if name]
    kept: list[str] = []
    for line in lines:
        plain = fold(line)
        held = [name for name in names if name in plain]
        # a key names columns too, and says more than their names
        letters = sum(map(str.isalnum, plain))
        if len(held) >= max(2, 0.6 * len(names)) and sum(map(str.isalnum, "".join(held))) > 0.6 * letters:
            return kept
        kept.append(line)
    return []
