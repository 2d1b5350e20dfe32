"""What a file is, told by its first bytes: its name says nothing.

A path comes in; its kind ("text", "xlsx" or "parquet") and its fingerprint go out, or it is refused with what to do.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from ..errors import HingelineError

NAMED: Final[Mapping[str, str]] = {
    ".csv": "text",
    ".txt": "text",
    ".tsv": "text",
    ".xlsx": "xlsx",
    ".xlsm": "xlsx",
    ".xls": "xlsx",
    ".parquet": "parquet",
}
"""What a file's name makes a reader expect."""

_OLE: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_WRONG: Final[tuple[tuple[bytes, str], ...]] = (
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "compressed by gzip"),
    (b"Rar!", "a RAR container"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z container"),
    (b"SQLite format 3", "an SQLite database"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
    (b"{\\rtf", "a text document (RTF)"),
)
_WEB: Final = ("<!doctype html", "<html", "<table", "<head", "<body", "<meta", "<style", "<div")


def look(path: Path, most_bytes: int) -> tuple[str, str]:
    """Tell a file's kind and its fingerprint (SHA-256).

    Raises
    ------
    HingelineError
        When the file is missing, not readable, a folder, empty, too large, encrypted, cut off or of another kind.
    """
    start, end, fingerprint = _ends(path, most_bytes)
    return _kind(path, start, end), fingerprint


def _ends(path: Path, most_bytes: int) -> tuple[bytes, bytes, str]:
    """First and last bytes and SHA-256 of a file that may be opened."""
    try:
        if path.is_dir():
            raise HingelineError("This is a folder, not a file", str(path), "Name the file inside it")
        size = path.stat().st_size
        if size == 0:
            raise HingelineError("The file is empty", str(path), "Export it again")
        if size > most_bytes:
            raise HingelineError(
                f"The file has {size:,} bytes, more than the {most_bytes:,} that are read",
                str(path),
                "Split it by year and name all parts as the hospital's sources",
            )
        with path.open("rb") as file:
            start = file.read(4096)
            digest = hashlib.sha256(start)
            end = start
            while piece := file.read(1 << 20):
                digest.update(piece)
                end = piece
        return start, end[-16:], digest.hexdigest()
    except FileNotFoundError:
        raise HingelineError("There is no such file", str(path), "Correct its name in the study") from None
    except PermissionError:
        raise HingelineError(
            "The file may not be read", str(path), "Ask its owner for leave to read it"
        ) from None
    except (OSError, ValueError) as error:
        raise HingelineError(
            f"The file cannot be opened ({getattr(error, 'strerror', None) or error})",
            str(path),
            "Check the path and that the disk is there",
        ) from None


def _kind(path: Path, start: bytes, end: bytes) -> str:
    def refuse(what: str, todo: str) -> HingelineError:
        return HingelineError(what, str(path), todo)

    if start.startswith(b"PK\x03\x04"):
        return "xlsx"
    if start.startswith(b"PK"):
        raise refuse("The file is an empty or damaged ZIP container", "Export it again")
    if start.startswith(_OLE):
        if _is_encrypted(path):
            raise refuse(
                "The spreadsheet is encrypted with a password", "Open it and save it without a password"
            )
        raise refuse("The file is in the spreadsheet format before XLSX", "Open it and save it as XLSX")
    if start.startswith(b"PAR1"):
        if not end.endswith(b"PAR1"):
            raise refuse("The Parquet file was cut off", "Write it again, or fetch it again")
        return "parquet"
    for magic, kind in _WRONG:
        if start.startswith(magic) and (magic != b"MZ" or b"\0" in start):
            raise refuse(f"The file is {kind}, not a table", "Export the records as CSV, XLSX or Parquet")
    # The text of a page may be UTF-16; its letters are the same without the NULs between them.
    plain = start.replace(b"\0", b"").decode("latin-1").lstrip("ï»¿þÿ \t\r\n").lower()
    if plain.startswith("mime-version:"):
        raise refuse("The file is a web page, whatever its name says", "Open it and save it as XLSX or CSV")
    if plain.startswith("<"):
        if "urn:schemas-microsoft-com:office:spreadsheet" in plain:
            raise refuse("The file is a spreadsheet written as XML", "Open it and save it as XLSX or CSV")
        if plain.startswith(_WEB) or "<html" in plain or "<table" in plain:
            raise refuse(
                "The file is a web page, whatever its name says", "Open it and save it as XLSX or CSV"
            )
        if plain.startswith("<?xml"):
            raise refuse(
                "The file is XML, not a table", "Open it in a spreadsheet and save it as XLSX or CSV"
            )
    return "text"


def _is_encrypted(path: Path) -> bool:
    name = "EncryptedPackage".encode("utf-16-le")
    left = b""
    with path.open("rb") as file:
        while piece := file.read(1 << 20):
            if name in left + piece:
                return True
            left = piece[-len(name) :]
    return False
