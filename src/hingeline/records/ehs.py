"""Codes of the European Hernia Society read in SQL: occurrence, type and size.

The classification (Miserez et al., Hernia 2007;11:113) marks a hernia P (primary) or R (recurrent) and each
orifice, L (lateral), M (medial) and F (femoral), with 0 (none), 1, 2 or 3 (finger breadths, 3 for three or
more) or x (not investigated). ``PL2`` is a primary lateral hernia of up to two fingers.
"""

from __future__ import annotations

from .phrases import Phrases

_WHOLE = r"^[PR]?(?:[LMF][0-3X]?){1,3}$"
_TWICE = r"L.*L|M.*M|F.*F"


def tidied(text: str) -> str:
    """Write a code in capitals without blanks and marks: ``pl1 / m1`` is ``PL1M1``."""
    return f"regexp_replace(upper({text}), '[^A-Z0-9]', '', 'g')"


def readable(code: str, phrases: Phrases) -> str:
    """Whether a tidied code is one: each orifice at most once."""
    return f"({phrases.matches(code, _WHOLE)} AND NOT {phrases.matches(code, _TWICE)})"


def occurrence(code: str, phrases: Phrases) -> str:
    """``primary``, ``recurrent``, or NULL when the code does not say."""
    letter = phrases.capture(code, "^([PR])", 1)
    return f"CASE {letter} WHEN 'P' THEN 'primary' WHEN 'R' THEN 'recurrent' END"


def _found(orifice: str, code: str, phrases: Phrases) -> str:
    """An orifice holds a hernia when it is named without 0 (none) or x (not investigated)."""
    return phrases.matches(code, f"{orifice}(?:[1-3]|[^0-9X]|$)")


def hernia_type(code: str, phrases: Phrases) -> str:
    """Lateral is indirect, medial direct, both combined; femoral only where no inguinal hernia is named."""
    lateral, medial, femoral = (_found(letter, code, phrases) for letter in "LMF")
    return (
        f"CASE WHEN {lateral} AND {medial} THEN 'combined' WHEN {lateral} THEN 'indirect' "
        f"WHEN {medial} THEN 'direct' WHEN {femoral} THEN 'femoral' END"
    )


def size(code: str, phrases: Phrases) -> str:
    """Largest size among the orifices that make the type (0 to 3), NULL when none is given."""
    lateral, medial, femoral = (
        f"TRY_CAST({phrases.capture(code, f'{letter}([0-3])', 1)} AS TINYINT)" for letter in "LMF"
    )
    inguinal = f"greatest({lateral}, {medial})"
    return f"CASE WHEN {hernia_type(code, phrases)} = 'femoral' THEN {femoral} ELSE {inguinal} END"
