"""What the words of a cell mean for yes and no, grades, urgency, specialty, pain and how a recurrence was known."""

from __future__ import annotations

import re
from typing import Final

from .header_words import parts, senses
from .identifier_words import flat
from .legend_model import GRADES, Meaning
from .propose_words import is_negated, is_unknown


def read_emergency(text: str, bag: frozenset[str]) -> Meaning | None:
    """Whether a cell says an emergency."""
    urgent, planned = "emergency" in bag, "elective" in bag
    if urgent != planned:
        return urgent and not is_negated(text, "emergency")
    short = flat(text).strip(" .")
    if short in ("e", "el", "p", "pl"):
        return False if short != "e" else None
    return read_flag(text, bag)


def read_specialty(text: str, bag: frozenset[str]) -> Meaning | None:
    """Which specialty a cell names."""
    if "paediatric" in bag and "urology" not in bag:
        return "paediatric surgery"
    if "urology" in bag:
        return "urology"
    if "general" in bag:
        return "general surgery"
    if "other" in bag:
        return "other"
    return "unknown" if is_unknown(text, bag) else None


def read_recurrence_known_by(text: str, bag: frozenset[str]) -> Meaning | None:
    """How a cell says that a recurrence was known."""
    if bag & {"again"} or ("operation" in bag and "follow" not in bag):
        return "re-operation"
    if "phone" in bag:
        return "telephone"
    if "registry" in bag:
        return "registry"
    if bag & {"examined", "follow"}:
        return "examined"
    return "unknown" if is_unknown(text, bag) else None


def read_pain(text: str, bag: frozenset[str]) -> Meaning | None:
    """Which degree of pain a cell says."""
    if "severe" in bag:
        return "severe"
    if "mild" in bag:
        return "mild"
    if "none" in bag or "no" in bag or "not" in bag:
        return "none"
    return "unknown" if is_unknown(text, bag) else None


def read_flag(text: str, bag: frozenset[str]) -> Meaning | None:
    """Whether a cell says yes or no."""
    short = flat(text).strip(" .")
    if short in ("+", "x", "v", "✓", "✔", "1", "ja", "j"):
        return True
    if short in ("-", "0", "−", "–"):
        return False
    found = parts(text)
    if not found or len(found) > 3:
        return None
    first = found[0]
    yes, no = "yes" in first.senses, "no" in first.senses
    if yes != no:
        return yes
    return "" if is_unknown(text, bag) else None


_ROMAN: Final = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5}


def read_grade(field: str, text: str) -> Meaning | None:
    """Which grade a cell holds: a figure, a Roman one, or a pair such as ``G2 P2``."""
    plain = flat(text).strip(" .")
    number = re.fullmatch(r"(?:[^\W\d_]{0,10}[ .:]*)?(\d)(?:\.0|,0)?", plain)
    value = (
        int(number.group(1))
        if number
        else _ROMAN.get(re.sub(r"^(?:tanner|stage|stadium|stade|grad|st)\.? *", "", plain))
    )
    if value is None and (pair := re.fullmatch(r"[gbp](\d) ?[gbp]\d", plain)):
        value = int(pair.group(1))
    if (
        value is None
        and field == "ehs_size"
        and (sized := re.fullmatch(r"[<>≤≥]? ?(\d)(?:[,.]5)? ?(?:cm|f|qf|finger\w*)?\+?", plain))
    ):
        value = int(sized.group(1))
    if value is not None:
        return value if value in GRADES[field] else None
    return "" if is_unknown(text, senses(text)) else None
