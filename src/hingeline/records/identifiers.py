"""Columns that hold identifiers of people: found by their names, in several languages, and by what they hold.

Columns of an export come in; those that intake must not read go out, each with the reason. The patient's and
the surgeon's key and the date of birth may be mapped, since only a keyed hash or an age is kept of them.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import pyarrow as pa

from .layout import letter
from .source import Source

_LOOKED_AT: Final = 1_000
"""Cells of a column that are looked at; enough to see what a column is for."""


@dataclass(frozen=True)
class Suspect:
    """A column that seems to identify people: its name, its letter, and why."""

    column: str
    letter: str
    why: str


def _words(text: str) -> set[str]:
    return set(text.split())


_STRONG: Final = _words(
    # names
    "surname forename firstname lastname givenname familyname fullname patientname initials "
    "vorname nachname familienname patientenname zuname "
    "prenom prenoms patronyme apellido apellidos cognome sobrenome apelido voornaam achternaam "
    "fornavn etternavn efternavn fornamn efternamn sukunimi etunimi imie nazwisko "
    # record and identity numbers
    "mrn nhs nhsnumber chi ssn hospitalnumber patientid patientnumber casenumber aufnahmenummer fallnummer "
    "patientennummer versichertennummer nir dni nif cpf codicefiscale bsn cpr personnummer personnr "
    "fodselsnummer pesel ahv "
    # ways to reach people
    "telephone phone mobile cellphone fax telefon telefonnummer handy mobil mobiltelefon handynummer "
    "telefono movil celular cellulare telefone telemovel telefoon telefoonnummer tlf "
    "email mail emailadresse courriel correo "
    "address adresse anschrift strasse street direccion domicilio indirizzo endereco adres woonadres "
    "adresa adress"
)
_NAME: Final = _words("name names nom nombre nombres nome naam navn namn nimi")
_PEOPLE: Final = _words(
    "patienten famille patient patients pt pat child kind enfant nino bambino crianca full complete "
    "voller first last given family maiden mother father parent parents guardian kin mutter vater "
    "eltern madre padre mere pere moeder vader of the des der du de la le el del und y et e paciente "
    "paziente"
)
_NUMBER: Final = _words("number no nr num numero numer nummer id")
_NUMBERED: Final = _words(
    "krankenversicherung hospital record records medical chart insurance identity identification "
    "national social security tax patient pat pt nhs kvnr versicherung steuer personal dossier historia "
    "clinica cartella sanitario"
)
_OTHER_TELEPHONE: Final = _words("tel cell contact")

_EMAIL: Final = re.compile(r"[^\s@]+@[^\s@]+\.[a-zA-Z]{2,}")
_TELEPHONE: Final = re.compile(r"(?<![\d.,])(?:\+|00|\(?0)\d[\d\s()/.-]{5,15}\d(?![\d.,])")
_DATE: Final = re.compile(
    r"^\d{1,4}[-/. ]\d{1,2}[-/. ]\d{1,4}(?:[T ,].*)?$|^(?:18|19|20|21)\d{2}[01]\d[0-3]\d$"
)
_DATE_INSIDE: Final = re.compile(
    r"\b(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2}))\b(?:[T ]\d{1,2}:\d{2}(?::\d{2})?)?"
)
_LONG_NUMBER: Final = re.compile(r"^[A-Za-z]{0,4}[-/ ]?\d{6,12}[-/ ]?[A-Za-z0-9]?$")
_FORMAL_NUMBER: Final = re.compile(r"^\d{3}[- ]\d{3}[- ]\d{4}$|^\d{3}-\d{2}-\d{4}$")
_LETTERS: Final = re.compile(r"^[^\W\d_]{2}[^\d]*$")
_COMMA_NAME: Final = re.compile(
    r"^[^\W\d_][\w'’-]+(?: [^\W\d_][\w'’-]+)?, ?[^\W\d_][\w'’.-]*(?: [^\W\d_][\w.'’-]*)?$"
)
_TWO_NAMES: Final = re.compile(r"^(?:[A-ZÀ-Þ][\w'’.-]+ ){1,3}[A-ZÀ-Þ][\w'’-]+$")

_COMMON: Final = _words(
    "anna anne maria marie sarah laura emma julia lisa lena sophie sofia eva elena lucia paula clara "
    "alice jane mary susan linda karen nancy helen ruth emily olivia amelia grace lucy chloe ella mia "
    "hannah lea nora ida ingrid astrid katrin petra monika ursula sabine claudia andrea martina chiara "
    "giulia francesca carmen isabel ana camille manon juliette louise jeanne fatima aisha john james "
    "robert michael william david richard joseph thomas charles daniel matthew paul george peter andrew "
    "simon jack harry oliver noah liam ethan jacob samuel henry leon lukas felix jonas finn paul hans "
    "klaus wolfgang stefan andreas christian martin sebastian tobias florian pierre jean jacques michel "
    "francois louis hugo lucas antoine jose juan carlos luis miguel pedro pablo diego javier giovanni "
    "marco luca matteo francesco alessandro giuseppe antonio joao tiago lars erik nils anders henrik "
    "mohammed muhammad ahmed ali omar hassan ibrahim yusuf ivan dmitri piotr tomasz"
)


def suspects(source: Source, allowed: Sequence[str], dropped: Sequence[str]) -> tuple[Suspect, ...]:
    """Columns that seem to hold identifiers.

    Parameters
    ----------
    source : Source
    allowed : sequence of str
        Columns of which only a keyed hash or an age is kept (table names).
    dropped : sequence of str
        Columns that the legend drops (table names).
    """
    found = []
    for position, name in enumerate(source.table.column_names):
        if name in dropped or name in allowed:
            continue
        why = _by_name(source.header[position])
        if why is None:
            column = source.table.column(position).drop_null()
            step = max(1, len(column) // _LOOKED_AT)
            cells = column.take(pa.array(range(0, len(column), step), pa.int64()))
            why = _by_content([cell for cell in cells.to_pylist() if cell is not None])
        if why is not None:
            found.append(Suspect(source.header[position] or name, letter(position + 1), why))
    return tuple(found)


def plain_words(text: str) -> list[str]:
    """Words of a column's name: lower case, without accents, parted at marks and inner capitals."""
    apart = re.sub(r"(?<=[a-zà-þ])(?=[A-ZÀ-Þ])", " ", text)
    flat = unicodedata.normalize("NFKD", apart.replace("ß", "ss").replace("ø", "o").replace("Ø", "O"))
    letters = "".join(one for one in flat.casefold() if not unicodedata.combining(one))
    return re.findall(r"[a-z]+", letters)


def _by_name(header: str) -> str | None:
    words = plain_words(header)
    bag = set(words)
    said = f"its name says so ({header!r})"
    if not words:
        return None
    if bag & _STRONG or "".join(words) in _STRONG:
        return said
    if bag & _NAME and bag <= _NAME | _PEOPLE:
        return said
    if bag & _NUMBER and bag & _NUMBERED and bag <= _NUMBER | _NUMBERED | _PEOPLE:
        return said
    if bag & _OTHER_TELEPHONE and bag <= _OTHER_TELEPHONE | _NUMBER | _PEOPLE:
        return said
    return None


def _by_content(cells: list[str]) -> str | None:
    if not cells:
        return None
    many = max(min(3, len(cells)), len(cells) // 50)
    half = max(3, len(cells) // 2)
    if sum(bool(_EMAIL.search(cell)) for cell in cells) >= many:
        return "it holds e-mail addresses"
    if sum(_has_telephone(cell) for cell in cells) >= many:
        return "it holds telephone numbers"
    distinct = len(set(cells)) / len(cells)
    if sum(bool(_FORMAL_NUMBER.match(cell)) for cell in cells) >= half:
        return "it holds identity numbers"
    numbers = sum(bool(_LONG_NUMBER.match(cell)) and not _DATE.match(cell) for cell in cells)
    if numbers >= half and distinct > 0.6:
        return "it holds long numbers that are nearly all different, as record numbers are"
    counts = Counter(cells)
    if sum(times for cell, times in counts.items() if _is_name(cell)) >= max(3, len(cells) * 3 // 10):
        return "it holds people's names"
    return None


def _has_telephone(cell: str) -> bool:
    return bool(_TELEPHONE.search(_DATE_INSIDE.sub("", cell)))


def _is_name(cell: str) -> bool:
    if len(cell) > 60 or not _LETTERS.match(cell):
        return False
    known = any(word in _COMMON for word in plain_words(cell))
    alone = known and len(cell.split()) == 1 and len(cell) > 2
    return bool(alone or (known and (_COMMA_NAME.match(cell) or _TWO_NAMES.match(cell.title()))))


def masked(field: str, value: str) -> str:
    """Write a value for the list of what was set aside, or a mask where it would identify somebody."""
    if field in ("patient", "surgeon", "born_on"):
        return "(masked)"
    if _EMAIL.search(value) or _is_name(value):
        return "(masked)"
    if _has_telephone(value) or re.search(r"\d[\d -]{4,}\d", _DATE_INSIDE.sub("", value)):
        return "(masked)"
    return value if len(value) <= 80 else value[:79] + "…"
