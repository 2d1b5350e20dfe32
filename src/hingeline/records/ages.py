"""Ages written as a number, in SQL: a cell such as ``7``, ``3 months`` or ``7,4`` in, days and precision out.

An age in whole years, months or weeks is known only to its span and sits at the middle of it: a child of 4
years is between its fourth and fifth birthday (design, section 12).
"""

from __future__ import annotations

from typing import Final

from .legend_model import UNITS
from .phrases import Phrases, quoted

CELL: Final = r"^([+−-]?[0-9][0-9.,]*)\s*(/(?:12|52|7)|\p{L}*)\.?$"
"""A number and its unit: a word, or the clinic's twelfths, fifty-seconds and sevenths (``3/12`` is three months)."""

_WORDS: Final = (
    # English, German, French, Spanish, Italian, Dutch, Portuguese and the Nordic languages, without accents.
    ("years", r"^(y|yr|yrs|yo|year|years|jahr|jahre|jahren|an|ans|ano|anos|anni|anno|jaar|ar)$"),
    ("months", r"^(m|mo|mos|mon|mth|mths|month|months|monat|monate|monaten|mois|mes|meses|mese|mesi|mnd"
               r"|maand|maanden|maneder|manader|/12)$"),
    ("weeks", r"^(w|wk|wks|week|weeks|woche|wochen|semaine|semaines|semana|semanas"
              r"|settimane|weken|uker|veckor|/52)$"),
    ("days", r"^(d|day|days|tag|tage|tagen|jour|jours|dia|dias|giorni|dag|dagen|dager|dagar|/7)$"),
)  # fmt: skip


def unit(text: str, default: str, phrases: Phrases) -> str:
    """Unit that a cell says itself, else the legend's; NULL for a word that is none."""
    word = f"lower(strip_accents({phrases.capture(text, CELL, 2)}))"
    arms = " ".join(f"WHEN {phrases.matches(word, words)} THEN '{name}'" for name, words in _WORDS)
    return f"CASE WHEN {word} IS NULL THEN {quoted(default)} {arms} END"


def decimal_counts(value: str, unit_of: str, default: str) -> tuple[str, str]:
    """Count, over a file, its ages of two units and more, and those of them with a fraction.

    Ages such as 7.4 beside 8.0 are decimal, and the 8.0 is no whole year; but whole years with 0.5 for an
    infant are whole years.
    """
    counted = f"{unit_of} = {quoted(default)} AND {value} >= 2"
    return f"count(*) FILTER ({counted})", f"count(*) FILTER ({counted} AND {value} <> floor({value}))"


DECIMAL_FROM: Final = 0.2
"""Share from which a file's ages are taken as decimal: one-decimal ages give 0.9, quarters 0.75."""


def days(value: str, unit_of: str, default: str, decimal: str) -> str:
    """Age in days, a whole number of years, months or weeks at the middle of its span."""
    length = " ".join(f"WHEN {quoted(name)} THEN {days_in!r}" for name, days_in in UNITS["age"].items())
    whole = _whole(value, unit_of, default, decimal)
    half = f"CASE WHEN {unit_of} <> 'days' AND {whole} THEN 0.5 ELSE 0 END"
    return f"(({value} + {half}) * CASE {unit_of} {length} END)"


def precision(value: str, unit_of: str, default: str, decimal: str) -> str:
    """Span in which the age is known: a fraction of a year is known to about a month, of a month to days."""
    whole = _whole(value, unit_of, default, decimal)
    return (
        f"CASE WHEN {unit_of} = 'years' AND {whole} THEN 'year' WHEN {unit_of} = 'years' THEN 'month' "
        f"WHEN {unit_of} = 'months' AND {whole} THEN 'month' ELSE 'day' END"
    )


def _whole(value: str, unit_of: str, default: str, decimal: str) -> str:
    decimal_file = f"({unit_of} = {quoted(default)} AND {decimal})"
    return f"({value} = floor({value}) AND NOT {decimal_file})"
