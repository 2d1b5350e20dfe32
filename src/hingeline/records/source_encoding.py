"""Bytes of a text file in, whole lines of text out: in what encoding they are, and what to do when it is two.

A file is read in pieces, never whole. Where some lines are UTF-8 and others are not (lists pasted together from two
systems), each line is decoded on its own, and which lines were not UTF-8 is kept.
"""

from __future__ import annotations

import codecs
import re
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from ..errors import HingelineError

_PIECE: Final = 4 << 20
_LONGEST_LINE: Final = 64 << 20
_MARK_READ: Final = re.compile("^(?:\ufeff|ï»¿)")
"""A byte order mark that an encoding of the legend's choice left in the text; it is no part of a column's name."""

_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_LIKELY_UTF8: Final = re.compile(
    rb"[\xc2\xc3][\x80-\xbf]|\xe2[\x80-\x84][\x80-\xbf]|(?:[\xc4-\xdf][\x80-\xbf]){2}|(?:[\xe0-\xef][\x80-\xbf]{2}){2}"
)
"""Bytes that are letters or marks in UTF-8 and would be a capital with a sign behind it in cp1252, which no language
writes (Unicode 15, table 3-7; single rarer letters are not taken for a proof)."""

_ASCII: Final = bytes(range(128))
_UNDEFINED: Final = b"\x81\x8d\x8f\x90\x9d"
"""Bytes that cp1252 leaves undefined."""


@dataclass(frozen=True)
class Encoding:
    """How a file's bytes are text.

    Attributes
    ----------
    name : str
    why : str
        What spoke for it, where it is no matter of course.
    mixed : bool
        Whether only most lines are so, and the others cp1252.
    """

    name: str
    why: str = ""
    mixed: bool = False


def detect_encoding(path: Path) -> Encoding:
    """Tell the encoding: by a mark, by bytes that fit UTF-8 throughout or line by line, or by what is left."""
    with path.open("rb") as file:
        start = file.read(4096)
        for mark, name in _MARKS:
            if start.startswith(mark) and name != "utf-8-sig":
                return Encoding(name)
        if start[1::2].count(0) > len(start) // 4:
            return Encoding("utf-16-le")
        if start[::2].count(0) > len(start) // 4:
            return Encoding("utf-16-be")
        file.seek(0)
        seen = _seen(file_lines(file))
    name = "utf-8-sig" if start.startswith(codecs.BOM_UTF8) else "utf-8"
    if not seen.others:
        return Encoding(name)
    if seen.utf8 or name == "utf-8-sig":
        return Encoding(name, mixed=True)
    if seen.undefined:
        return Encoding("latin-1", "since it fits neither UTF-8 nor cp1252")
    return Encoding("cp1252", "since it does not fit UTF-8")


@dataclass
class _Seen:
    utf8: bool = False
    others: bool = False
    undefined: bool = False


def _seen(pieces: Iterator[bytes]) -> _Seen:
    """Whether any line is UTF-8 beyond plain ASCII, and whether any is not."""
    seen = _Seen()
    for piece in pieces:
        if piece.isascii():
            continue
        try:
            piece.decode("utf-8")
        except UnicodeDecodeError as error:
            if _is_cut(piece, error, seen):
                # The file ends within a character; the lines before it are UTF-8.
                seen.utf8 = True
                continue
            seen.others = True
            seen.undefined = seen.undefined or any(byte in piece for byte in _UNDEFINED)
            beyond = piece.translate(
                None, _ASCII
            )  # brings bytes together, so it may err on the side of asking
            if not seen.utf8 and _LIKELY_UTF8.search(beyond) and _LIKELY_UTF8.search(piece):
                seen.utf8 = any(map(_is_likely_utf8, piece.splitlines()))
        else:
            seen.utf8 = seen.utf8 or bool(_LIKELY_UTF8.search(piece))
        if seen.utf8 and seen.others:
            break
    return seen


def _is_cut(piece: bytes, error: UnicodeDecodeError, seen: _Seen) -> bool:
    """Whether the last character of a piece has begun and not ended, where there is UTF-8 before it."""
    if error.reason != "unexpected end of data" or error.end != len(piece):
        return False
    return seen.utf8 or len(piece) - error.start > 1 or bool(_LIKELY_UTF8.search(piece))


def _is_likely_utf8(line: bytes) -> bool:
    if not _LIKELY_UTF8.search(line):
        return False
    try:
        line.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def file_lines(file: BinaryIO) -> Iterator[bytes]:
    """Pieces of a binary file, each cut behind a line's end."""
    carry = b""
    while piece := file.read(_PIECE):
        carry += piece
        cut = carry.rfind(b"\n") + 1 or carry.rfind(b"\r", 0, len(carry) - 1) + 1
        if cut:
            yield carry[:cut]
            carry = carry[cut:]
        elif len(carry) > _LONGEST_LINE:
            break
    if carry:
        yield carry


class Lines:
    """A file's text, in pieces of whole lines.

    Attributes
    ----------
    odd : deque of int
        Lines of the pieces handed out so far, counted from 0, that are not UTF-8 although most are.
    nul : bool
        Whether empty characters (NUL) were left out.
    cut : bool
        Whether the file ends within a character.
    """

    def __init__(self, path: Path, encoding: Encoding, skip: int = 0) -> None:
        self.odd: deque[int] = deque()
        self.nul = False
        self.cut = False
        self._path = path
        self._encoding = encoding
        self._skip = skip

    def __iter__(self) -> Iterator[str]:
        skip = self._skip
        self.odd.clear()
        with self._path.open("rb") as file:
            first = True
            for text in self._by_line(file) if self._encoding.mixed else self._as_one(file):
                if first:
                    text = _MARK_READ.sub("", text)
                    first = False
                if "\0" in text:
                    self.nul = True
                    text = text.replace("\0", "")
                if skip:
                    text, skip = text[skip:], 0
                if text:
                    yield text

    def _as_one(self, file: BinaryIO) -> Iterator[str]:
        decoder = codecs.getincrementaldecoder(self._encoding.name)()
        carry = ""
        while piece := file.read(_PIECE):
            carry += decoder.decode(piece)
            cut = carry.rfind("\n") + 1 or carry.rfind("\r", 0, len(carry) - 1) + 1
            if cut:
                yield carry[:cut]
                carry = carry[cut:]
            elif len(carry) > _LONGEST_LINE:
                raise HingelineError(
                    f"A line is longer than {_LONGEST_LINE:,} characters", str(self._path), "Export it again"
                )
        try:
            carry += decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            decoder.errors = "replace"
            carry += decoder.decode(b"", final=True)
            self.cut = True
        if carry:
            yield carry

    def _by_line(self, file: BinaryIO) -> Iterator[str]:
        at = 0
        for piece in file_lines(file):
            lines = piece.splitlines(keepends=True)
            try:
                yield piece.decode("utf-8")
            except UnicodeDecodeError:
                texts = []
                for number, line in enumerate(lines, at):
                    try:
                        texts.append(line.decode("utf-8"))
                    except UnicodeDecodeError:
                        self.odd.append(number)
                        texts.append(_other(line))
                yield "".join(texts)
            at += len(lines)


def _other(line: bytes) -> str:
    """Decode a line that is not UTF-8: cp1252, and what that leaves undefined as Latin-1 has it."""
    try:
        return line.decode("cp1252")
    except UnicodeDecodeError:
        return line.decode("latin-1")
