"""What a mapped column is expected to hold: a field of a legend in, a test of one cell out.

It only tells whether a column is what the legend says, so that its name need not be doubted; the reading of cells is
for `readings`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from .codes import Lookup
from .identifier_cells import is_date
from .legend_model import EVERY_KIND, Mapped
from .source_letters import plain_letters

_NUMBER: Final = re.compile(
    r"^[+−-]?\d{1,4}(?:[.,]\d{1,4})?(?:\s*[^\W\d_]{1,8}\.?|\s*/(?:12|52|7))?$|^\d{2}\s*[+/ ]\s*[0-6](?:\s*/\s*7)?$"
)
_EHS: Final = re.compile(r"^[PR]?(?:[LMF][0-3X]?){1,3}$")
_DAYS: Final = re.compile(r"^\d{5}(?:[.,]\d+)?$")


def reader_of(name: str, how: Mapped) -> Callable[[str], bool] | None:
    """Whether a cell is one that the field can hold; None for keys, of which any text may be one."""
    kind = EVERY_KIND[name]
    if kind in ("code", "flag", "grade"):
        codes = Lookup(name, how)
        return lambda cell: codes.meaning(cell) is not None
    if kind == "date":
        return lambda cell: is_date(cell) or bool(_DAYS.match(cell))
    if kind in ("number", "age"):
        return lambda cell: bool(_NUMBER.match(cell))
    if kind == "ehs":
        return lambda cell: bool(_EHS.match(re.sub(r"[^A-Z0-9]", "", plain_letters(cell).upper())))
    return None
