"""The few phrases of SQL that engines say differently: dates, numbers, days between, capture, keyed hash.

Each function takes SQL expressions and returns one, in the words of an engine. All of them yield NULL for
what cannot be read and never abort a query. A further engine is a further `Phrases` in `PHRASES`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

Engine = Literal["duckdb"]


@dataclass(frozen=True)
class DateLook:
    """What a column of dates holds, so that an engine is asked no more than that.

    Attributes
    ----------
    month_names, digits_only, short_years : bool
        Whether any cell has letters; is a number alone (a serial, ``20150403``); may have a two-digit year.
    """

    month_names: bool = True
    digits_only: bool = True
    short_years: bool = True


@dataclass(frozen=True)
class Phrases:
    """One engine's phrases.

    Attributes
    ----------
    date_parts : (text, order, look) -> struct
        Year, month and day as text (``y``, ``m``, ``d``), each empty when the text is no date; the order may be
        "mixed", when only what fits a single order is read.
    ambiguous : (text) -> boolean
        Whether a date without an order could be read day first and month first, as two different days.
    date_of : (parts, text, latest, look) -> date
        The date; a two-digit year falls into the latest century in which it is not after `latest`. Serial
        numbers of spreadsheets are understood.
    number : (text, decimal) -> double
    days_between : (first, second) -> integer
    capture : (text, pattern, group) -> text
    matches : (text, pattern) -> boolean
    keyed_hash : (text, inner, outer) -> 64-bit integer
        First 64 bits of HMAC-SHA-256 (RFC 2104); `inner` and `outer` are the padded keys.
    """

    date_parts: Callable[[str, str, DateLook], str]
    ambiguous: Callable[[str], str]
    date_of: Callable[[str, str, str, DateLook], str]
    number: Callable[[str, str], str]
    days_between: Callable[[str, str], str]
    capture: Callable[[str, str, int], str]
    matches: Callable[[str, str], str]
    keyed_hash: Callable[[str, str, str], str]


def quoted(text: str) -> str:
    """Write a text as a literal of SQL."""
    return "'" + text.replace("'", "''") + "'"


_TIME: Final = r"(?:[T ,]+\d{1,2}[:.h]\d{2}.*)?$"
_YEAR_FIRST: Final = r"^(\d{4})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{1,2})" + _TIME
_COMPACT: Final = r"^((?:18|19|20|21)\d{2})(0[1-9]|1[0-2])([0-2]\d|3[01])(?:\d{4}|\d{6})?$"
_THREE: Final = r"^(\d{1,2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{4}|\d{2})" + _TIME
_SHORT_YEAR_FIRST: Final = r"^(\d{2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{1,2})" + _TIME
_DAY_NAME: Final = r"^(\d{1,2})\.?[\s/-]*(?:de )?(\p{L}{3,})\.?[\s/,-]*(?:de )?(\d{4}|\d{2})" + _TIME
_NAME_DAY: Final = r"^(\p{L}{3,})\.?\s+(\d{1,2})\.?,?\s+(\d{4})" + _TIME
_SERIAL: Final = r"^\d{4,5}(?:[.,]\d+)?$"
_YEAR_ALONE: Final = r"^(?:18|19|20|21)\d{2}$"

THREE_PARTS: Final = _THREE
"""A date whose order the text does not tell: two short numbers, then a year."""

_MONTHS: Final = (
    # English, German, French, Spanish, Italian, Dutch, Portuguese and the Nordic languages, without accents.
    "jan ene gen",
    "feb fev",
    "mar mae mrt maa",
    "apr avr abr",
    "may mai mei mag maj",
    "jun giu",
    "jul lug",
    "aug aou ago",
    "sep set",
    "oct okt ott out",
    "nov",
    "dec dez dic des",
)


def _duckdb_matches(text: str, pattern: str) -> str:
    return f"regexp_matches({text}, {quoted(pattern)})"


def _duckdb_capture(text: str, pattern: str, group: int) -> str:
    return f"nullif(regexp_extract({text}, {quoted(pattern)}, {group}), '')"


def _duckdb_date_parts(text: str, order: str, look: DateLook) -> str:
    def parts(pattern: str, names: str) -> str:
        listed = ", ".join(quoted(name) for name in names)
        read = f"regexp_extract({text}, {quoted(pattern)}, [{listed}])"
        return f"WHEN {_duckdb_matches(text, pattern)} THEN {read}"

    if order == "mixed":
        three = _duckdb_mixed(text)
    else:
        three = parts(_SHORT_YEAR_FIRST, "ymd") if order == "ymd" else parts(_THREE, order)
    arms = [parts(_YEAR_FIRST, "ymd"), three]
    if look.digits_only:
        arms.append(parts(_COMPACT, "ymd"))
    if look.month_names:
        arms += [parts(_DAY_NAME, "dmy"), parts(_NAME_DAY, "mdy")]
    return f"CASE {' '.join(arms)} END"


def _duckdb_mixed(text: str) -> str:
    """Dates of a column that holds two orders: those that fit one alone, or both on the same day; the others none."""
    first, second = (_duckdb_number_of(text, group) for group in (1, 2))
    read = {
        order: f"regexp_extract({text}, {quoted(_THREE)}, [{', '.join(quoted(name) for name in order)}])"
        for order in ("dmy", "mdy")
    }
    matches = _duckdb_matches(text, _THREE)
    return (
        f"WHEN {matches} AND ({first} > 12 OR {first} = {second}) THEN {read['dmy']} "
        f"WHEN {matches} AND {second} > 12 THEN {read['mdy']}"
    )


def _duckdb_ambiguous(text: str) -> str:
    first, second = (_duckdb_number_of(text, group) for group in (1, 2))
    return f"coalesce({first} BETWEEN 1 AND 12 AND {second} BETWEEN 1 AND 12 AND {first} <> {second}, false)"


def _duckdb_number_of(text: str, group: int) -> str:
    return f"TRY_CAST({_duckdb_capture(text, _THREE, group)} AS INTEGER)"


def _duckdb_date_of(parts: str, text: str, latest: str, look: DateLook) -> str:
    month, year = f"{parts}.m", f"{parts}.y"
    if look.month_names:
        month = _duckdb_month(month)
    rest = f"'-' || {month} || '-' || {parts}.d"
    # the length is asked first: as text, '20' lies between '1800' and '2199'
    whole = f"length({year}) = 4 AND {year} BETWEEN '1800' AND '2199'"
    arms = [f"WHEN {whole} THEN TRY_CAST({year} || {rest} AS DATE)"]
    if look.short_years:
        century = f"CASE WHEN TRY_CAST('20' || {year} || {rest} AS DATE) <= {latest} THEN '20' ELSE '19' END"
        arms.append(f"WHEN length({year}) = 2 THEN TRY_CAST({century} || {year} || {rest} AS DATE)")
    if look.digits_only:
        arms.append(
            f"WHEN {_duckdb_matches(text, _SERIAL)} AND NOT {_duckdb_matches(text, _YEAR_ALONE)} "
            # Day 1 is 1 January 1900, but the day 60 that never was shifts all serials in use by one.
            f"THEN DATE '1899-12-30' + TRY_CAST(regexp_extract({text}, '^[0-9]+') AS INTEGER)"
        )
    return f"CASE {' '.join(arms)} END"


def _duckdb_month(month: str) -> str:
    name = f"lower(strip_accents({month}))"
    arms = " ".join(
        f"WHEN '{start}' THEN '{number}'"
        for number, starts in enumerate(_MONTHS, 1)
        for start in starts.split()
    )
    return (
        f"(CASE WHEN {month} <= '99' THEN {month} WHEN {name} LIKE 'juin%' THEN '6' "
        f"WHEN {name} LIKE 'juil%' THEN '7' ELSE CASE left({name}, 3) {arms} END END)"
    )


def _duckdb_number(text: str, decimal: str) -> str:
    other = "," if decimal == "." else "."
    d, o = f"[{decimal}]", f"[{other}]"
    plain = f"replace(replace({text}, ' ', ''), '−', '-')"
    read = (
        f"CASE WHEN {_duckdb_matches(plain, rf'^[+-]?[0-9]{{1,3}}(?:{o}[0-9]{{3}})+(?:{d}[0-9]+)?$')} "
        f"THEN replace(replace({plain}, '{other}', ''), '{decimal}', '.') "
        f"WHEN {_duckdb_matches(plain, rf'^[+-]?[0-9]*{d}?[0-9]+{d}?(?:[eE][+-]?[0-9]{{1,3}})?$')} "
        f"THEN replace({plain}, '{decimal}', '.') "
        f"WHEN {_duckdb_matches(plain, rf'^[+-]?[0-9]+{o}(?:[0-9]{{1,2}}|[0-9]{{4,}})$')} "
        f"THEN replace({plain}, '{other}', '.') END"
    )
    return f"TRY_CAST({read} AS DOUBLE)"


def _duckdb_days_between(first: str, second: str) -> str:
    return f"date_diff('day', {first}, {second})"


def _duckdb_keyed_hash(text: str, inner: str, outer: str) -> str:
    digest = f"sha256({outer} || unhex(sha256({inner} || encode({text}))))"
    half = f"('0x' || substr({digest}, 1, 16))::UBIGINT"
    # The same 64 bits, read as a signed number.
    return (
        f"list_transform([{half}], lambda u: CASE WHEN u >= 9223372036854775808 "
        "THEN (u::HUGEINT - 18446744073709551616)::BIGINT ELSE u::BIGINT END)[1]"
    )


PHRASES: Final[dict[Engine, Phrases]] = {
    "duckdb": Phrases(
        date_parts=_duckdb_date_parts,
        ambiguous=_duckdb_ambiguous,
        date_of=_duckdb_date_of,
        number=_duckdb_number,
        days_between=_duckdb_days_between,
        capture=_duckdb_capture,
        matches=_duckdb_matches,
        keyed_hash=_duckdb_keyed_hash,
    )
}


def padded_keys(key: bytes) -> tuple[bytes, bytes]:
    """Inner and outer key of HMAC-SHA-256 (RFC 2104, section 2)."""
    block = (key if len(key) <= 64 else hashlib.sha256(key).digest()).ljust(64, b"\0")
    return bytes(byte ^ 0x36 for byte in block), bytes(byte ^ 0x5C for byte in block)
