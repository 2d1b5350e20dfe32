"""Spreadsheets without the name of the program that is supposed to have made them.

An XLSX file comes in, as a library for writing such files leaves it; the same file goes out with properties that name
no maker: the library writes a vendor's name there, which made none of it. Every cell stays byte for byte.
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from typing import Final

_MAKER: Final = re.compile(rb"<(Application|AppVersion|Company|DocSecurity)>[^<]*</\1>|<fileVersion [^>]*/>")
_THEME: Final = re.compile(rb' name="Office[^"]*"')
_PROPERTIES: Final = ("docProps/app.xml", "xl/workbook.xml")


def name_no_maker(path: Path) -> None:
    """Take the maker's name out of an XLSX file, which is replaced as a whole.

    Parameters
    ----------
    path : pathlib.Path

    Raises
    ------
    OSError
        When it cannot be read or written.
    """
    waiting = path.with_name(f"{path.name}.plain.partial")
    try:
        with zipfile.ZipFile(path) as held, zipfile.ZipFile(waiting, "w", zipfile.ZIP_DEFLATED) as plain:
            for part in held.infolist():
                content = held.read(part)
                if part.filename in _PROPERTIES:
                    content = _MAKER.sub(b"", content)
                elif part.filename.startswith("xl/theme/"):
                    content = _THEME.sub(b' name="Plain"', content)
                plain.writestr(part, content, compress_type=zipfile.ZIP_DEFLATED)
        waiting.replace(path)
    finally:
        waiting.unlink(missing_ok=True)
