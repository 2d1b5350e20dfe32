"""The two exports in which a row is a patient, with columns for the left and for the right groin.

Declarations only; both have semicolons, decimal commas, day-first dates and the Windows code page.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from hingeline.invented.columns import Column, Form, coded, date, dropped, flag, key, surgeon
from hingeline.invented.forms_operations import GERMAN, HOHENWIEK, NORDIC, TORVENES

FILE: Final = {"encoding": "cp1252", "delimiter": ";", "decimal": ","}


def _hohenwiek(side: str) -> Sequence[Column]:
    return (
        date(f"OP-Datum {side}", "operated_on", "dmy."),
        coded(
            f"Befund {side}",
            "type",
            {
                "indirect": "lateral",
                "direct": "medial",
                "combined": "kombiniert",
                "femoral": "femoral",
                "unknown": "unklar",
            },
        ),
        coded(
            f"Beurteilung {side}",
            "known_by",
            {
                "laparoscopic view": "endoskopisch",
                "floor examined": "Hinterwand geprüft",
                "not examined": "nicht geprüft",
                "code only": "nur Schlüssel",
                "unknown": "",
            },
        ),
        coded(f"Eingriff {side}", "occurrence", {"primary": "erst", "recurrent": "Rezidiv"}),
        coded(
            f"Verfahren {side}", "repair", {"high_ligation": "Bruchsack", "tissue": "Naht", "mesh": "Netz"}
        ),
        coded(f"Zugang {side}", "approach", {"open": "offen", "laparoscopic": "laparoskopisch"}),
        flag(f"Notfall {side}", "emergency", "ja", "nein"),
        date(f"letzter Kontakt {side}", "followed_until", "dmy."),
        date(f"Rezidiv am {side}", "recurred_on", "dmy."),
        coded(
            f"Rezidiv bekannt durch {side}",
            "recurrence_known_by",
            {
                "examined": "Untersuchung",
                "telephone": "Telefon",
                "re-operation": "Operation",
                "registry": "Register",
            },
        ),
        coded(
            f"Befund bei Re-OP {side}",
            "reoperation_type",
            {"indirect": "lateral", "direct": "medial", "femoral": "femoral"},
        ),
        coded(f"Schmerz {side}", "chronic_pain", {"none": "keiner", "mild": "leicht", "severe": "stark"}),
        surgeon(f"Operateur {side}", "H"),
    )


def _torvenes(side: str) -> Sequence[Column]:
    return (
        date(f"{side} operert", "operated_on", "dmy."),
        coded(
            f"{side} funn",
            "type",
            {"indirect": "L", "direct": "M", "combined": "L+M", "femoral": "F", "unknown": "?"},
        ),
        coded(
            f"{side} vurdert",
            "known_by",
            {
                "laparoscopic view": "kamera",
                "floor examined": "bakvegg sett",
                "not examined": "ikke sett",
                "unknown": "",
            },
        ),
        coded(f"{side} inngrep", "occurrence", {"primary": "første", "recurrent": "gjentatt"}),
        coded(f"{side} metode", "repair", {"high_ligation": "ligatur", "tissue": "sutur", "mesh": "nett"}),
        coded(f"{side} tilgang", "approach", {"open": "åpen", "laparoscopic": "laparoskopisk"}),
        date(f"{side} sist sett", "followed_until", "dmy."),
        date(f"{side} residiv", "recurred_on", "dmy."),
        coded(
            f"{side} residiv ved",
            "recurrence_known_by",
            {
                "examined": "kontroll",
                "telephone": "telefon",
                "re-operation": "operasjon",
                "registry": "register",
            },
        ),
        coded(f"{side} residiv funn", "reoperation_type", {"indirect": "L", "direct": "M", "femoral": "F"}),
        coded(f"{side} smerte", "chronic_pain", {"none": "ingen", "mild": "lett", "severe": "sterk"}),
        flag(f"{side} infeksjon", "infection", "ja", "nei"),
    )


def _weight(header: str) -> Column:
    return Column(
        header, lambda sheet: sheet.numbers("weight_kg", 1, ","), ("weight_kg",), more={"unit": "kg"}
    )


HOHENWIEK_FORM: Final = Form(
    HOHENWIEK,
    "patients",
    (
        key("Pat.-Nr.", "", 6),
        dropped("Nachname", lambda sheet: sheet.names(GERMAN)),
        dropped("Telefon", lambda sheet: sheet.telephones()),
        date("geb. am", "born_on", "dmy."),
        coded("Geschlecht", "sex", {"male": "m", "female": "w"}),
        _weight("Gewicht (kg)"),
        date("verstorben am", "died_on", "dmy."),
    ),
    sides={"left": _hohenwiek("links"), "right": _hohenwiek("rechts")},
    file=FILE,
    dates={"order": "dmy"},
)

TORVENES_FORM: Final = Form(
    TORVENES,
    "patients",
    (
        key("Pasientnr", "T", 6),
        dropped("Etternavn", lambda sheet: sheet.names(NORDIC)),
        date("Fødselsdato", "born_on", "dmy."),
        coded("Kjønn", "sex", {"male": "M", "female": "K"}),
        _weight("Vekt (kg)"),
        date("Død", "died_on", "dmy."),
    ),
    sides={"left": _torvenes("V"), "right": _torvenes("H")},
    file=FILE,
    dates={"order": "dmy"},
)
