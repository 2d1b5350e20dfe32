"""Where in a TOML text an entry stands, so that an error can name its line.

The parsers do not keep positions, so the text is walked once for its table headers and keys.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*(\"[^\"]*\"|'[^']*'|[A-Za-z0-9_.-]+)\s*=")

Place = tuple[str | int, ...]


@dataclass(frozen=True)
class TomlLines:
    """Lines (counted from 1) at which tables and keys of one TOML text stand."""

    at: dict[Place, int]

    def find(self, loc: Sequence[str | int]) -> tuple[str, int]:
        """Return the entry's name as a person writes it and the nearest line known for it."""
        place: Place = tuple(loc)
        name = ".".join(str(part + 1) if isinstance(part, int) else part for part in place) or "the whole"
        for length in range(len(place), 0, -1):
            line = self.at.get(place[:length])
            if line is not None:
                return name, line
        return name, 1


def lines_of(text: str) -> TomlLines:
    """Walk a TOML text; arrays of tables are numbered from 0 as the parsers do."""
    at: dict[Place, int] = {}
    seen: dict[str, int] = {}
    table: Place = ()
    for line_number, line in enumerate(text.splitlines(), start=1):
        header = _HEADER.match(line)
        if header:
            brackets, name = header.group(1), header.group(2)
            parts: list[str | int] = [part.strip().strip("\"'") for part in name.split(".")]
            if brackets == "[[":
                seen[name] = seen.get(name, -1) + 1
                parts.append(seen[name])
                at.setdefault(tuple(parts[:-1]), line_number)
            table = tuple(parts)
            at.setdefault(table, line_number)
            continue
        key = _KEY.match(line)
        if key:
            at.setdefault((*table, *(part.strip("\"'") for part in key.group(1).split("."))), line_number)
    return TomlLines(at)
