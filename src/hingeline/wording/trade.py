"""The trade's words for people, types, reasons and settings, as they stand in a sentence or a table."""

from __future__ import annotations


def who(sex: str) -> str:
    """Name the people of a sex: ``boys and men``."""
    return {"male": "boys and men", "female": "girls and women"}[sex]


def type_word(kind: str) -> str:
    """Name a hernia's type in a list."""
    return "type unknown" if kind == "unknown" else kind


def reason_word(reason: str) -> str:
    """Name why a groin was operated, in a list."""
    return {"hydrocele": "hydrocele alone"}.get(reason, reason)


def occurrence_word(occurrence: str) -> str:
    """Name an occurrence in a list."""
    return f"{occurrence} hernia"


def setting(name: str) -> str:
    """Name a hospital's setting."""
    return {"children": "children's hospital", "general": "general hospital", "all ages": "all ages"}[name]


def headline_who(occurrence: str, sex: str) -> str:
    """Name the headline's cases."""
    return f"{occurrence} inguinal hernias of known type in {who(sex)}"


def standard_name(standard: str) -> str:
    """Name a standard population."""
    return {
        "european-2013": "European Standard Population 2013",
        "who-world": "WHO World Standard 2000–2025",
    }[standard]
