"""The four exports in which a row is an operation: two workbooks, a comma-separated file and a Parquet file.

Declarations only: each hospital's columns in its own words.
"""

from __future__ import annotations

import datetime as dt
from typing import Final

import numpy as np

from hingeline.invented.cells import FIRST_SHEET_DATE, Cells, Sheet
from hingeline.invented.columns import Clinic, Column, Form, coded, date, dropped, flag, key, note, surgeon
from hingeline.invented.hospitals import HOSPITALS

WRENHOLT, LINDESUND, ASHMARSH, HOHENWIEK, TORVENES, BRACKWATER = HOSPITALS

ENGLISH: Final = ("wal", "den", "mor", "ing", "ast", "hol", "ber", "lin", "cra", "fen", "ough", "ley", "wick")
NORDIC: Final = (
    "sol",
    "vik",
    "ber",
    "gård",
    "lund",
    "ås",
    "mo",
    "strand",
    "hav",
    "fjeld",
    "nes",
    "bakk",
    "haug",
)
GERMAN: Final = (
    "stein",
    "bach",
    "wald",
    "hof",
    "mül",
    "ler",
    "kirch",
    "ner",
    "grün",
    "feld",
    "hart",
    "lich",
    "loh",
)

SCOPE: Final = {
    "laparoscopic view": "scope",
    "floor examined": "floor seen",
    "not examined": "not looked",
    "code only": "coding",
    "unknown": "",
}


def _some_as_text(name: str) -> Column:
    """A spreadsheet's date column in which the dates of one patient in eight were typed as text."""

    def make(sheet: Sheet) -> Cells:
        typed = sheet.rows["patient"] % 8 == 3
        return np.where(typed, sheet.dates(name, "dmy/"), sheet.dates(name, "date"))

    return Column({"operated_on": "Operation date", "born_on": "Date of birth"}[name], make, (name,))


def _in_two_orders(header: str, name: str) -> Column:
    """A spreadsheet's date column in which some dates were typed as text, by two hands in two orders."""

    def make(sheet: Sheet) -> Cells:
        dates = sheet.dates(name, "date")
        readable = 0
        for i, cell in enumerate(dates.tolist()):
            if not isinstance(cell, dt.date) or cell.day <= 12 or cell < FIRST_SHEET_DATE:
                continue
            if readable % 15 < 2:  # with a day above 12 the order can be told
                dates[i] = cell.strftime("%d/%m/%Y" if readable % 15 else "%m/%d/%Y")
            readable += 1
        return dates

    return Column(header, make, (name,))


def _weeks(sheet: Sheet) -> Cells:
    """Weeks and days of gestation, as a midwife writes them."""
    weeks, born = sheet.numbers("gestation_weeks").tolist(), sheet.rows["born_on"].astype(np.int64).tolist()
    told = [None if week is None else f"{week}+{day % 7}" for week, day in zip(weeks, born, strict=True)]
    return np.array(told, dtype=object)


_SIDES = coded("Side", "side", {"left": "L", "right": "R"})

WRENHOLT_FORM: Final = Form(
    WRENHOLT,
    "operations",
    (
        key("Record no.", "W", 6),
        dropped("Family name", lambda sheet: sheet.names(ENGLISH)),
        dropped("Telephone", lambda sheet: sheet.telephones()),
        _some_as_text("born_on"),
        _some_as_text("operated_on"),
        coded("Sex", "sex", {"male": "M", "female": "F"}),
        Column("Side", _SIDES.make, ("side",), {"side": {"L": "left", "R": "right", "B": "both"}}),
        coded(
            "Hernia",
            "type",
            {"indirect": "indirect", "direct": "direct", "combined": "both", "femoral": "femoral"},
        ),
        Column("EHS", lambda sheet: sheet.ehs(), ("ehs",)),
        coded("Type seen by", "known_by", SCOPE),
        coded(
            "Indication",
            "reason",
            {
                "hernia": "hernia",
                "processus closed in passing": "open processus found",
                "hydrocele": "hydrocele",
                "with orchidopexy": "with orchidopexy",
            },
        ),
        coded("Repair", "repair", {"high_ligation": "ligation", "tissue": "tissue", "mesh": "mesh"}),
        flag("Mesh", "mesh_used", "Y", "N"),
        coded("Access", "approach", {"open": "open", "laparoscopic": "lap"}),
        note("Remarks"),
        flag("Emergency", "emergency", "Y", "N"),
        Column("Gestation", _weeks, ("gestation_weeks",), more={"unit": "weeks"}),
        Column("Weight kg", lambda sheet: sheet.measures("weight_kg"), ("weight_kg",), more={"unit": "kg"}),
        date("Last seen", "followed_until", "date"),
        date("Recurrence", "recurred_on", "date"),
        coded(
            "Recurrence found by",
            "recurrence_known_by",
            {"examined": "clinic", "telephone": "phone", "re-operation": "re-op"},
        ),
        coded(
            "Found at re-op",
            "reoperation_type",
            {"indirect": "L", "direct": "M", "femoral": "F"},
        ),
        date("Other side", "other_groin_on", "date"),
        flag("Testis smaller", "testicular_atrophy", "Y", "N"),
        surgeon("Surgeon", "WS"),
    ),
    file={"sheet": "Groins", "header_row": 4},
    dates={"order": "dmy"},
    header_row=4,
    titles=("Wrenholt Children's: groin operations", "Printed by the theatre office; one row an operation"),
)

LINDESUND_FORM: Final = Form(
    LINDESUND,
    "operations",
    (
        key("pasient", "L", 7),
        dropped("etternavn", lambda sheet: sheet.names(NORDIC)),
        coded("kjonn", "sex", {"male": "1", "female": "2"}),
        Column("alder_mnd", lambda sheet: sheet.age("months"), ("age",), more={"unit": "months"}),
        date("operert", "operated_on", "iso"),
        coded("side", "side", {"left": "1", "right": "2"}),
        coded(
            "funn",
            "type",
            {"indirect": "1", "direct": "2", "combined": "3", "femoral": "4", "unknown": "9"},
        ),
        coded(
            "vurdert",
            "known_by",
            {"laparoscopic view": "1", "floor examined": "2", "not examined": "3", "unknown": ""},
        ),
        coded(
            "grunn",
            "reason",
            {"hernia": "1", "processus closed in passing": "2", "hydrocele": "3", "with orchidopexy": "4"},
        ),
        coded("metode", "repair", {"high_ligation": "1", "tissue": "2", "mesh": "3"}),
        coded("tilgang", "approach", {"open": "1", "laparoscopic": "2"}),
        coded("inngrep", "occurrence", {"primary": "1", "recurrent": "2"}),
        date("fulgt_til", "followed_until", "iso"),
        date("residiv_dato", "recurred_on", "iso"),
        coded("residiv_ved", "recurrence_known_by", {"examined": "1", "telephone": "2", "re-operation": "3"}),
        coded("residiv_funn", "reoperation_type", {"indirect": "1", "direct": "2", "femoral": "4"}),
        flag("akutt", "emergency", "1", "0"),
        flag("atrofi", "testicular_atrophy", "1", "0"),
        surgeon("kirurg", "K"),
    ),
    file={"delimiter": ","},
    dates={"order": "ymd"},
)
"""Ages in completed months, and every code a number of the hospital's own list."""

_OPERATIONS = {
    "open high_ligation": ("sac ligated", "high_ligation", "open"),
    "laparoscopic high_ligation": ("lap ring closed", "high_ligation", "laparoscopic"),
    "open tissue": ("sutured repair", "tissue", "open"),
    "open mesh": ("open mesh", "mesh", "open"),
    "laparoscopic mesh": ("lap mesh", "mesh", "laparoscopic"),
}
"""What Ashmarsh calls each operation: one column tells the repair and the approach."""

ASHMARSH_FORM: Final = Form(
    ASHMARSH,
    "operations",
    (
        key("Hospital number", "A-", 5),
        dropped("Surname", lambda sheet: sheet.names(ENGLISH)),
        _in_two_orders("DOB", "born_on"),
        Column("Age", lambda sheet: sheet.age("years"), ("age",), more={"unit": "years"}),
        _in_two_orders("Date of surgery", "operated_on"),
        coded("Gender", "sex", {"male": "male", "female": "female"}),
        coded("Groin", "side", {"left": "left", "right": "right"}),
        Column("EHS class", lambda sheet: sheet.ehs(), ("ehs",)),
        coded("Basis of class", "known_by", SCOPE),
        Column(
            "Operation",
            lambda sheet: sheet.words("operation", {key: own[0] for key, own in _OPERATIONS.items()}),
            ("repair", "approach"),
            {
                "repair": {own: repair for own, repair, _ in _OPERATIONS.values()},
                "approach": {own: approach for own, _, approach in _OPERATIONS.values()},
            },
        ),
        flag("Emergency", "emergency", "yes", "no"),
        date("Other groin", "other_groin_on", "date"),
        flag("Wound infection", "infection", "yes", "no"),
        surgeon("Operator", "AG"),
    ),
    file={"sheet": "Hernia repairs", "header_row": 3},
    header_row=3,
    titles=("Ashmarsh General, hernia repairs",),
    clinic=Clinic(
        "Clinic",
        (
            key("Hospital number", "A-", 5),
            _in_two_orders("DOB", "born_on"),
            coded("Gender", "sex", {"male": "male", "female": "female"}),
            date("Seen", "seen_on", "date"),
            coded("Groin", "side", {"left": "left", "right": "right", "both": "both"}),
            Column(
                "Recurrence", lambda sheet: sheet.words("recurred", {"yes": "yes", "no": "no"}), ("recurred",)
            ),
            date("Noticed", "recurred_on", "date"),
            coded(
                "Recurrence known from",
                "recurrence_known_by",
                {"examined": "outpatients", "telephone": "telephone", "re-operation": "second operation"},
            ),
            coded(
                "Class at second operation",
                "reoperation_type",
                {"indirect": "lateral", "direct": "medial", "femoral": "femoral"},
            ),
            coded("Pain after 3 months", "chronic_pain", {"none": "0", "mild": "1", "severe": "2"}),
            date("Died", "died_on", "date"),
            Column("Wound", lambda sheet: sheet.words("infection", {"yes": "yes"}), ("infection",)),
        ),
    ),
)
"""Operations on one sheet, visits on another; some dates typed as text by two hands, so that no order is given."""

BRACKWATER_FORM: Final = Form(
    BRACKWATER,
    "operations",
    (
        key("patient_no", "", 1),
        dropped("surname", lambda sheet: sheet.names(ENGLISH)),
        coded("sex", "sex", {"male": "m", "female": "f"}),
        Column("age_years", lambda sheet: sheet.age("years"), ("age",), more={"unit": "years"}),
        date("operated", "operated_on", "date"),
        note("operation_note"),
        date("last_visit", "followed_until", "date"),
        date("recurrence", "recurred_on", "date"),
        coded(
            "recurrence_from",
            "recurrence_known_by",
            {"examined": "examination", "telephone": "telephone", "re-operation": "re-operation"},
        ),
        coded(
            "reoperation_finding",
            "reoperation_type",
            {"indirect": "indirect", "direct": "direct", "femoral": "femoral"},
        ),
        Column("urgent", lambda sheet: sheet.flags("emergency", True, False), ("emergency",)),
        surgeon("surgeon", "B"),
    ),
)
"""Side, type, repair and all that belongs to it stand in the operation note alone."""
