"""The one family of type that page, pictures and PDF are set in: Source Sans Pro, from its package on PyPI.

Names of weights come in; file paths, widths of text in pixels and WOFF bytes go out. Widths are read from
the font itself (OpenType tables ``cmap`` and ``hmtx``), so that labels can be placed without overlap before
anything is drawn; WOFF is the W3C's wrapper (WOFF 1.0, 2012), which changes nothing in the font that it
carries.
"""

from __future__ import annotations

import struct
import zlib
from functools import cache
from pathlib import Path
from typing import Final, Literal

import font_source_sans_pro

Weight = Literal["regular", "semibold", "italic"]

FAMILY: Final = "Source Sans Pro"
FALLBACK: Final = "Liberation Sans"
"""Built into vl-convert. A list of fonts of which none is there makes it drop all text without a word."""

STACK: Final = f"{FAMILY}, {FALLBACK}, sans-serif"
FOLDER: Final = Path(font_source_sans_pro.font_directory)
_FILES: Final[dict[Weight, str]] = {
    "regular": "SourceSansPro-Regular.otf",
    "semibold": "SourceSansPro-Semibold.otf",
    "italic": "SourceSansPro-It.otf",
}


def file(weight: Weight) -> Path:
    """Return the path of one face of the family."""
    return FOLDER / _FILES[weight]


def width(text: str, size: float, weight: Weight = "regular") -> float:
    """Return the width of one line of text in pixels at a size in pixels; kerning is left out, so never too small."""
    glyphs, advances, units = _metrics(weight)
    last = advances[-1]
    total = 0
    for character in text:
        glyph = glyphs.get(ord(character), 0)
        total += advances[glyph] if glyph < len(advances) else last
    return total * size / units


def wrap(text: str, room: float, size: float, weight: Weight = "regular") -> list[str]:
    """Break text into lines no wider than `room` pixels; a word longer than a line is cut with an ellipsis."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        trial = f"{line} {word}" if line else word
        if width(trial, size, weight) <= room:
            line = trial
            continue
        if line:
            lines.append(line)
        line = shorten(word, room, size, weight)
    return [*lines, line] if line else lines or [""]


def shorten(text: str, room: float, size: float, weight: Weight = "regular") -> str:
    """Cut text with an ellipsis so that it is no wider than `room` pixels."""
    if width(text, size, weight) <= room:
        return text
    while text and width(text + "…", size, weight) > room:
        text = text[:-1]
    return text.rstrip() + "…"


@cache
def woff(weight: Weight) -> bytes:
    """Return one face as WOFF 1.0: the same tables, each compressed by zlib (W3C Recommendation, 13 December 2012)."""
    sfnt = file(weight).read_bytes()
    flavour = sfnt[:4]
    tables = _tables(sfnt)
    directory, bodies = b"", b""
    offset = 44 + 20 * len(tables)
    whole = 12 + 16 * len(tables)
    for tag, (checksum, start, length) in sorted(tables.items()):
        raw = sfnt[start : start + length]
        small = zlib.compress(raw, 9)
        body = small if len(small) < length else raw
        directory += struct.pack(">4sIIII", tag, offset, len(body), length, checksum)
        padded = body + b"\0" * (-len(body) % 4)
        bodies += padded
        offset += len(padded)
        whole += length + (-length % 4)
    header = struct.pack(
        ">4s4sIHHIHHIIIII", b"wOFF", flavour, offset, len(tables), 0, whole, 1, 0, 0, 0, 0, 0, 0
    )
    return header + directory + bodies


def _tables(sfnt: bytes) -> dict[bytes, tuple[int, int, int]]:
    """Read an OpenType table directory: tag → (checksum, offset, length)."""
    (many,) = struct.unpack_from(">H", sfnt, 4)
    entries = (struct.unpack_from(">4sIII", sfnt, 12 + 16 * i) for i in range(many))
    return {tag: (checksum, offset, length) for tag, checksum, offset, length in entries}


@cache
def _metrics(weight: Weight) -> tuple[dict[int, int], tuple[int, ...], int]:
    """Return character → glyph, advance width of each glyph, and units per em."""
    sfnt = file(weight).read_bytes()
    tables = _tables(sfnt)
    (units,) = struct.unpack_from(">H", sfnt, tables[b"head"][1] + 18)
    (many,) = struct.unpack_from(">H", sfnt, tables[b"hhea"][1] + 34)
    pairs = struct.unpack_from(f">{2 * many}H", sfnt, tables[b"hmtx"][1])
    return _characters(sfnt, tables[b"cmap"][1]), pairs[::2], units


def _characters(sfnt: bytes, cmap: int) -> dict[int, int]:
    """Read a ``cmap`` subtable of format 4 (the Basic Multilingual Plane): character → glyph."""
    (many,) = struct.unpack_from(">H", sfnt, cmap + 2)
    for i in range(many):
        (offset,) = struct.unpack_from(">I", sfnt, cmap + 4 + 8 * i + 4)
        start = cmap + offset
        if struct.unpack_from(">H", sfnt, start)[0] == 4:
            return _segments(sfnt, start)
    return {}


def _segments(sfnt: bytes, start: int) -> dict[int, int]:
    (doubled,) = struct.unpack_from(">H", sfnt, start + 6)
    many = doubled // 2
    ends = struct.unpack_from(f">{many}H", sfnt, start + 14)
    begins = struct.unpack_from(f">{many}H", sfnt, start + 16 + doubled)
    deltas = struct.unpack_from(f">{many}H", sfnt, start + 16 + 2 * doubled)
    ranges = start + 16 + 3 * doubled
    offsets = struct.unpack_from(f">{many}H", sfnt, ranges)
    glyphs: dict[int, int] = {}
    for i in range(many):
        for character in range(begins[i], min(ends[i], 0xFFFE) + 1):
            if offsets[i] == 0:
                glyph = (character + deltas[i]) & 0xFFFF
            else:
                place = ranges + 2 * i + offsets[i] + 2 * (character - begins[i])
                (glyph,) = struct.unpack_from(">H", sfnt, place)
                glyph = (glyph + deltas[i]) & 0xFFFF if glyph else 0
            if glyph:
                glyphs[character] = glyph
    return glyphs
