"""Writes the three whole exports A, B and C and their answers. Run: `python tests/records/exports/make_whole.py`.

Seeded: the same files come out each time. A is an English workbook, B a German one-row-a-patient text file, C a US text
file whose only word on the type is the operation note. Each carries a few ordinary errors, listed in its answers.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import xlsxwriter
from makers import people, trade
from makers.notes_us import note

HERE = Path(__file__).parent
FOLDER = HERE / "whole"
KINDS = ("direct", "indirect", "combined", "femoral", "unknown")
Line = dict[str, Any]


def save_answers(stem: str, answers: dict[str, Any]) -> None:
    text = json.dumps(answers, ensure_ascii=False, indent=1)
    (FOLDER / f"{stem}.answers.json").write_text(text + "\n", encoding="utf-8")


def counts_of(rows: int, kinds: list[str]) -> dict[str, int]:
    """Count groins by the type the file states; a blank is unknown. A duplicate row is counted once."""
    tally = Counter(kinds)
    return {"rows": rows, "groins": len(kinds), **{kind: tally[kind] for kind in KINDS}}


def stated(kind: str, share_blank: float, rng: random.Random) -> str:
    return "unknown" if rng.random() < share_blank else kind


def in_time(drawn: list[trade.Patient]) -> list[tuple[trade.Patient, dict[str, Any]]]:
    pairs = [(patient, op) for patient in drawn for op in patient.ops]
    return sorted(pairs, key=lambda pair: (pair[1]["operated_on"], pair[0].number))


def write_text(path: Path, lines: list[list[Any]], delimiter: str, encoding: str) -> None:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\r\n").writerows(lines)
    path.write_bytes(out.getvalue().encode(encoding))


# --- A: an English general hospital's workbook -------------------------------------------------------------------

A_GROUPS = (
    ("", ("Entry",)),
    ("Patient", ("Unit no.", "Surname", "Forename", "D.O.B.", "Sex", "Post code")),
    ("Operation", ("Date", "Side", "Type", "Prim/Rec", "Repair", "Open/Lap", "Elec/Emerg")),
    ("", ("Consultant",)),
    ("", ("Anaesthetist",)),
    ("", ("ASA",)),
    ("Stay", ("Admitted", "Discharged", "Nights")),
    ("", ("OPCS",)),
    ("", ("Wt (kg)",)),
    ("", ("Wound infection",)),
)
A_HEADER = [name for _, names in A_GROUPS for name in names]
A_TYPES = {"indirect": ("Indirect", "Indirect", "ind"), "direct": ("Direct", "Direct", "dir"),
           "combined": ("Pantaloon",), "femoral": ("Femoral",), "unknown": ("", "Not stated")}  # fmt: skip
A_VISITS = ("Unit no.", "Clinic date", "Groin", "Seen by", "Recurrence", "Pain > 3/12", "Next appt")
A_CODES = {
    "sex": {"M": "male", "F": "female"},
    "side": {"L": "left", "R": "right"},
    "type": {cell: kind for kind, cells in A_TYPES.items() for cell in cells if cell},
    "occurrence": {"Prim": "primary", "Rec": "recurrent"},
    "repair": {"Herniotomy": "high_ligation", "Suture": "tissue", "Mesh": "mesh"},
    "approach": {"Open": "open", "Lap": "laparoscopic"},
    "emergency": {"Elec": "no", "Emerg": "yes"},
    "infection": {"Y": "yes", "N": "no"},
}


def a_lines(rng: random.Random) -> tuple[list[Line], list[list[Any]], list[str]]:
    """The rows of the first sheet, the visits of the second, and the type each row states."""
    drawn = trade.patients(1105, "whole", rng, years=(2008, 2017), first_number=204_000, male=0.9)
    desk = {patient.number: people.Person("en", patient.sex, rng) for patient in drawn}
    names = people.staff("en", 9, 3)
    consultants, anaesthetists = names[:6], names[6:]
    lines, visits, kinds = [], [], []
    word = {field: {meaning: cell for cell, meaning in codes.items()} for field, codes in A_CODES.items()}
    for at, (patient, op) in enumerate(in_time(drawn)):
        person, day, kind = desk[patient.number], op["operated_on"], stated(op["type"], 0.035, rng)
        admitted = day - dt.timedelta(days=rng.choice([0, 0, 0, 1]))
        nights = rng.choice([0, 0, 1, 1, 2, 4])
        lines.append({
            "Entry": at + 1, "Unit no.": patient.number, "Surname": person.last, "Forename": person.first,
            "D.O.B.": patient.born_on if rng.random() < 0.85 else patient.born_on.strftime("%d/%m/%Y"),
            "Sex": word["sex"][patient.sex], "Post code": person.postcode,
            "Date": day if rng.random() < 0.88 else day.strftime(rng.choice(["%d/%m/%Y", "%d.%m.%Y"])),
            "Side": word["side"][op["side"]], "Type": rng.choice(A_TYPES[kind]),
            "Prim/Rec": word["occurrence"][op["occurrence"]], "Repair": word["repair"][op["repair"]],
            "Open/Lap": word["approach"][op["approach"]], "Elec/Emerg": word["emergency"][op["emergency"]],
            "Consultant": consultants[op["surgeon"]], "Anaesthetist": rng.choice(anaesthetists),
            "ASA": rng.choice([1, 1, 2, 2, 3]), "Admitted": admitted,
            "Discharged": admitted + dt.timedelta(days=nights), "Nights": nights,
            "OPCS": {"mesh": "T20.2", "tissue": "T20.3"}.get(op["repair"], "T19.2"),
            "Wt (kg)": op["weight_kg"] if rng.random() < 0.8 else "",
            "Wound infection": word["infection"][op["infection"]],
        })  # fmt: skip
        kinds.append(kind)
        visits += a_visits(patient, op, rng)
    visits.sort(key=lambda visit: visit[1])
    return lines, visits, kinds


def a_visits(patient: trade.Patient, op: dict[str, Any], rng: random.Random) -> list[list[Any]]:
    """None to two visits after an operation; the last holds the recurrence, if there was one."""
    if rng.random() < 0.25:
        return []
    side = {"left": "L", "right": "R"}[op["side"]]
    days = [op["followed_until"]]
    first = op["operated_on"] + dt.timedelta(days=rng.randint(7, 13))
    if rng.random() < 0.3 and op["followed_until"] > first:
        days.insert(0, first)
    found = [day == op["recurred_on"] for day in days]
    if op["recurred_on"] and not any(found):
        days, found = [op["recurred_on"], op["followed_until"]], [True, False]
    late = [(day - op["operated_on"]).days > 92 for day in days]
    pains = [rng.choice(["None", "None", "None", "Mild"]) if is_late else "" for is_late in late]
    seen = [rng.choice(["Reg", "Cons", "Nurse"]) for _ in days]
    following = [day + dt.timedelta(days=rng.choice([90, 180])) if rng.random() < 0.2 else "" for day in days]
    return [
        [patient.number, day, side, who, "Y" if recurred else "N", pain, after]
        for day, who, recurred, pain, after in zip(days, seen, found, pains, following, strict=True)
    ]


def make_a() -> dict[str, int]:
    rng = random.Random("hospital A")
    lines, visits, kinds = a_lines(rng)
    first_row = 5
    planted: list[dict[str, Any]] = []

    def plant(at: int, header: str, cell: Any, what: str) -> None:
        lines[at][header] = cell
        planted.append({"sheet": "Hernia ops", "row": at + first_row, "column": header, "what": what})

    plant(140, "D.O.B.", dt.date(2021, 5, 3), "date of birth after the operation")
    plant(611, "D.O.B.", "09/03/1851", "age above 110 at operation")
    plant(322, "Sex", "X", "impossible sex code")
    plant(455, "Side", "M", "impossible side")
    plant(703, "Date", dt.date(2071, 6, 15), "operation in the future")
    for copied in (260, 861):
        lines.append(dict(lines[copied]))
        row, of = len(lines) - 1 + first_row, copied + first_row
        planted.append({"sheet": "Hernia ops", "row": row, "what": "duplicate row", "duplicate_of": of})
    early = next(visit for visit in visits if visit[0] == lines[500]["Unit no."])
    early[1] = dt.date(2003, 2, 11)
    planted.append(
        {
            "sheet": "Follow-up",
            "row": visits.index(early) + 2,
            "column": "Clinic date",
            "what": "visit before operation",
        }
    )
    write_a(lines, visits)
    mapped = {
        "patient": "Unit no.", "born_on": "D.O.B.", "sex": "Sex", "operated_on": "Date", "side": "Side", "type": "Type",
        "occurrence": "Prim/Rec", "repair": "Repair", "approach": "Open/Lap", "emergency": "Elec/Emerg",
        "surgeon": "Consultant", "weight_kg": "Wt (kg)", "infection": "Wound infection",
    }  # fmt: skip
    drop = ["Surname", "Forename", "Post code"]
    counts = counts_of(len(lines), kinds)
    save_answers("A", {
        "form": "operations", "language": "en-GB", "sheet": "Hernia ops", "header_rows": [3, 4], "first_row": first_row,
        "columns": mapped, "codes": A_CODES, "dates": "dmy", "unit": {}, "drop": drop,
        "above": {name: group for group, names in A_GROUPS if group for name in names},
        "ignore": [name for name in A_HEADER if name not in (*mapped.values(), *drop)],
        "follow_up": {
            "sheet": "Follow-up", "header_rows": [1], "patient": "Unit no.",
            "columns": {"patient": "Unit no.", "followed_until": "Clinic date", "side": "Groin",
                        "chronic_pain": "Pain > 3/12"},
            "visited_on": "Clinic date",
            "recurrence": {"column": "Recurrence", "codes": {"Y": "yes", "N": "no"}, "found_on": "Clinic date"},
            "codes": {"side": {"L": "left", "R": "right"}, "chronic_pain": {"None": "none", "Mild": "mild"}},
            "dates": "dmy", "drop": [], "ignore": ["Seen by", "Next appt"], "visits": len(visits),
        },
        "counts": counts, "planted": planted,
    })  # fmt: skip
    return counts


def write_a(lines: list[Line], visits: list[list[Any]]) -> None:
    with xlsxwriter.Workbook(str(FOLDER / "A.xlsx")) as book:
        book.set_properties({"created": dt.datetime(2019, 2, 4)})
        day = book.add_format({"num_format": "dd/mm/yyyy"})
        bold = book.add_format({"bold": True, "align": "center"})
        sheet = book.add_worksheet("Hernia ops")
        sheet.write(0, 0, "General Hospital A: groin hernia operations 2008 to 2017", bold)
        sheet.write(1, 0, "Run 04/02/2019 by Information Services. L = left, R = right")
        across = 0
        for group, names in A_GROUPS:
            if group:
                sheet.merge_range(2, across, 2, across + len(names) - 1, group, bold)
                for step, name in enumerate(names):
                    sheet.write(3, across + step, name, bold)
            else:
                sheet.merge_range(2, across, 3, across, names[0], bold)
            across += len(names)
        for at, line in enumerate(lines):
            write_row(sheet, at + 4, [line[name] for name in A_HEADER], day)
        bottom = len(lines) + 5
        sheet.write(bottom, 0, "Total")
        sheet.write(bottom, 1, len(lines))
        more = book.add_worksheet("Follow-up")
        write_row(more, 0, list(A_VISITS), day)
        for at, visit in enumerate(visits):
            write_row(more, at + 1, visit, day)


def write_row(sheet: Any, at: int, cells: list[Any], day: Any) -> None:
    for across, cell in enumerate(cells):
        if isinstance(cell, dt.date):
            sheet.write_datetime(at, across, dt.datetime(cell.year, cell.month, cell.day), day)
        elif cell != "":
            sheet.write(at, across, cell)


# --- B: a German hospital, one row a patient ---------------------------------------------------------------------

B_CODES = {
    "sex": {"1": "male", "2": "female"},
    "type": {"1": "indirect", "2": "direct", "3": "combined", "4": "femoral", "9": "unknown"},
    "mesh_used": {"0": "no", "1": "yes"},
    "approach": {"1": "open", "2": "laparoscopic"},
    "occurrence": {"1": "primary", "2": "recurrent"},
    "chronic_pain": {"0": "none", "1": "mild", "2": "severe"},
    "emergency": {"0": "no", "1": "yes"},
}
B_LEGEND = (
    "Schlüssel: Geschl 1=männlich 2=weiblich / Typ 1=indirekt 2=direkt 3=kombiniert 4=femoral 9=unbekannt / "
    "Netz 0=nein 1=ja / Zugang 1=offen 2=endoskopisch / PrimRez 1=primär 2=Rezidiv / Schmerz 0=kein 1=leicht 2=stark"
)
B_SIDE = {"operated_on": "OP-Datum", "type": "Typ", "occurrence": "PrimRez", "mesh_used": "Netz", "approach": "Zugang",
          "recurred_on": "Rezidiv am"}  # fmt: skip
B_PATIENT = {"patient": "PatNr", "born_on": "GebDat", "sex": "Geschl", "height_cm": "Größe (m)",
             "weight_kg": "Gewicht (kg)", "emergency": "Notfall", "surgeon": "Operateur-Nr",
             "followed_until": "Letzte Nachsorge", "chronic_pain": "Schmerz", "died_on": "Verstorben am"}  # fmt: skip
B_DROP = ["Nachname", "Vorname", "Straße", "PLZ", "Telefon", "Vers.-Nr"]
B_IGNORE = [
    "Station",
    "ASA",
    "Verweildauer (Tage)",
    "DRG",
    "ICD",
    "Erlös (EUR)",
    "Aufklärung am",
    "Anästhesie",
]


def german(day: dt.date | None) -> str:
    return day.strftime("%d.%m.%Y") if day else ""


def with_comma(value: float, places: int) -> str:
    return f"{value:.{places}f}".replace(".", ",")


def b_line(patient: trade.Patient, kinds: dict[str, str], rng: random.Random) -> Line:
    person = people.Person("de", patient.sex, rng)
    op = patient.ops[0]
    word = {field: {meaning: cell for cell, meaning in codes.items()} for field, codes in B_CODES.items()}
    euros = f"{rng.randint(1, 3)}.{rng.randint(100, 999)},{rng.randint(0, 99):02d}"
    line = {
        "PatNr": patient.number, "Nachname": person.last, "Vorname": person.first, "Straße": person.street,
        "PLZ": person.postcode, "Telefon": person.phone, "Vers.-Nr": f"X{person.national[:9]}",
        "GebDat": german(patient.born_on), "Geschl": word["sex"][patient.sex],
        "Größe (m)": with_comma(op["height_cm"] / 100, 2) if rng.random() < 0.9 else "",
        "Gewicht (kg)": with_comma(op["weight_kg"], 1) if rng.random() < 0.93 else "",
        "Notfall": word["emergency"][op["emergency"]], "Operateur-Nr": 40 + op["surgeon"],
        "Letzte Nachsorge": german(max(o["followed_until"] for o in patient.ops)) if rng.random() < 0.92 else "",
        "Schmerz": word["chronic_pain"][op["chronic_pain"]] if rng.random() < 0.7 else "",
        "Verstorben am": german(patient.died_on), "Station": rng.choice(["C1", "C2", "K3", "TK"]),
        "ASA": rng.choice([1, 2, 2, 3]), "Verweildauer (Tage)": with_comma(rng.choice([0.5, 1, 1.5, 2, 3]), 1),
        "DRG": rng.choice(["G24A", "G24B", "G25Z"]), "ICD": "K41.90" if op["type"] == "femoral" else "K40.90",
        "Erlös (EUR)": euros, "Aufklärung am": german(op["operated_on"] - dt.timedelta(days=rng.randint(1, 21))),
        "Anästhesie": rng.choice(["ITN", "SPA", "LA"]),
    }  # fmt: skip
    for side, name in (("left", "links"), ("right", "rechts")):
        groin = patient.on(side)
        for field, header in B_SIDE.items():
            cell = ""
            if groin and field in ("operated_on", "recurred_on"):
                cell = german(groin[field])
            elif groin:
                cell = word[field][kinds[side] if field == "type" else groin[field]]
            line[f"{header} {name}"] = cell
    return line


def make_b() -> dict[str, int]:
    rng = random.Random("hospital B")
    drawn = trade.patients(1010, "whole", rng, years=(2009, 2018), first_number=31_000, male=0.9, both=0.17)
    drawn.sort(key=lambda patient: patient.ops[0]["operated_on"])
    sides = [f"{header} {name}" for name in ("links", "rechts") for header in B_SIDE.values()]
    header = [*list(B_PATIENT.values())[:1], *B_DROP, *list(B_PATIENT.values())[1:7], *B_IGNORE[:2], *sides,
              *list(B_PATIENT.values())[7:], *B_IGNORE[2:]]  # fmt: skip
    kinds: list[str] = []
    lines = []
    for patient in drawn:
        of_side = {op["side"]: stated(op["type"], 0.04, rng) for op in patient.ops}
        kinds += of_side.values()
        lines.append(b_line(patient, of_side, rng))
    first_row = 3
    planted: list[dict[str, Any]] = []

    def plant(at: int, column: str, cell: Any, what: str) -> None:
        lines[at][column] = cell
        planted.append({"row": at + first_row, "column": column, "what": what})

    def operated_at(side: str, start: int) -> int:
        """The first patient from `start` on with an operation on this side only."""
        others = {"left": "right", "right": "left"}[side]
        return next(at for at in range(start, len(drawn)) if drawn[at].on(side) and not drawn[at].on(others))

    plant(88, "GebDat", "17.08.2020", "date of birth after the operation")
    plant(417, "Geschl", "3", "impossible sex code")
    right = operated_at("right", 530)
    changed = [(operated_at("left", 301), "Typ links", "7", "unknown type code"),
               (right, "OP-Datum rechts", "12.04.2108", "operation in the future")]  # fmt: skip
    order = [(patient, side) for patient in drawn for side in (op["side"] for op in patient.ops)]
    for at, column, cell, what in changed:
        plant(at, column, cell, what)
        if column == "Typ links":
            kinds[order.index((drawn[at], "left"))] = "unknown"
    gone = operated_at("left", 700)
    plant(gone, "Rezidiv am links", "02.01.2001", "recurrence before operation")
    lines.append(dict(lines[645]))
    planted.append(
        {"row": len(lines) - 1 + first_row, "what": "duplicate row", "duplicate_of": 645 + first_row}
    )
    table = [[line[name] for name in header] for line in lines]
    path = FOLDER / "B.csv"
    write_text(path, [header, *table], ";", "cp1252")
    path.write_bytes((B_LEGEND + "\r\n").encode("cp1252") + path.read_bytes())
    counts = counts_of(len(lines), kinds)
    save_answers("B", {
        "form": "patients", "language": "de", "header_rows": [2], "first_row": first_row,
        "columns": B_PATIENT, "left": {field: f"{name} links" for field, name in B_SIDE.items()},
        "right": {field: f"{name} rechts" for field, name in B_SIDE.items()},
        "codes": B_CODES, "dates": "dmy", "unit": {"height_cm": "m"}, "decimal": ",", "drop": B_DROP,
        "ignore": B_IGNORE, "follow_up": {}, "counts": counts, "planted": planted,
    })  # fmt: skip
    return counts


# --- C: a US hospital, the type only in the operation note -------------------------------------------------------

C_HEADER = ["Encounter #", "MRN", "Patient Last", "Patient First", "Phone", "ZIP", "Age (yrs)", "Sex", "Surgery Date",
            "Booked Procedure", "CPT", "Dx", "Laterality", "Case Class", "Primary Surgeon", "ASA", "Room", "Mesh Used",
            "Operative Note", "EBL mL", "Last Clinic Visit", "Recurrence Date", "Payer"]  # fmt: skip
C_COLUMNS = {"patient": "MRN", "age": "Age (yrs)", "sex": "Sex", "operated_on": "Surgery Date", "side": "Laterality",
             "emergency": "Case Class", "surgeon": "Primary Surgeon", "mesh_used": "Mesh Used",
             "note": "Operative Note", "followed_until": "Last Clinic Visit",
             "recurred_on": "Recurrence Date"}  # fmt: skip
C_DROP = ["Encounter #", "Patient Last", "Patient First", "Phone", "ZIP"]
C_CODES = {
    "sex": {"M": "male", "F": "female"},
    "side": {"LT": "left", "RT": "right"},
    "emergency": {"Elective": "no", "Urgent": "yes", "Emergent": "yes"},
    "mesh_used": {"Y": "yes", "N": "no"},
}


def american(day: dt.date | None) -> str:
    return f"{day.month}/{day.day}/{day.year}" if day else ""


def c_line(
    patient: trade.Patient, op: dict[str, Any], person: people.Person, rng: random.Random
) -> tuple[Line, str]:
    """One row and what its note states: a type, `unknown`, or `hydrocele`."""
    years = int(op["age"] / 365.25)
    child = years < 14
    states = stated(op["type"], 0.045, rng)
    if op["reason"] == "hydrocele" and op["approach"] == "open" and child and rng.random() < 0.5:
        states = "hydrocele"
    surgeons = people.staff("us", 6, 9)
    line = {
        "Encounter #": f"E{people.digits(rng, 8)}", "MRN": f"{patient.number:07d}", "Patient Last": person.last,
        "Patient First": person.first, "Phone": person.phone, "ZIP": person.postcode, "Age (yrs)": years,
        "Sex": "M" if patient.sex == "male" else "F", "Surgery Date": american(op["operated_on"]),
        "Booked Procedure": rng.choice(["INGUINAL HERNIA REPAIR", "HERNIA REPAIR GROIN", "INGUINAL HERNIORRHAPHY"]),
        "CPT": 49495 if years < 1 else 49500 if years < 5 else 49650 if op["approach"] == "laparoscopic" else 49505,
        "Dx": "K41.90" if op["type"] == "femoral" else "K40.90",
        "Laterality": "LT" if op["side"] == "left" else "RT",
        "Case Class": rng.choice(["Urgent", "Emergent"]) if op["emergency"] == "yes" else "Elective",
        "Primary Surgeon": f"{surgeons[op['surgeon']]} MD", "ASA": rng.choice([1, 1, 2, 2, 3]),
        "Room": rng.choice(["OR 1", "OR 4", "OR 6"]), "Mesh Used": "Y" if op["mesh_used"] == "yes" else "N",
        "Operative Note": note(states, op, child=child, lone=len(patient.ops) == 1, rng=rng),
        "EBL mL": rng.choice([0, 2, 5, 10]),
        "Last Clinic Visit": american(op["followed_until"]) if rng.random() < 0.85 or op["recurred_on"] else "",
        "Recurrence Date": american(op["recurred_on"]),
        "Payer": rng.choice(["COMMERCIAL", "PUBLIC", "SELF PAY"]),
    }  # fmt: skip
    return line, states


def make_c() -> dict[str, int]:
    rng = random.Random("hospital C")
    drawn = trade.patients(960, "whole", rng, years=(2010, 2018), first_number=1_204_000, male=0.9)
    desk = {patient.number: people.Person("us", patient.sex, rng) for patient in drawn}
    pairs = [c_line(patient, op, desk[patient.number], rng) for patient, op in in_time(drawn)]
    lines = [line for line, _ in pairs]
    states = [state for _, state in pairs]
    first_row = 2
    planted: list[dict[str, Any]] = []

    def plant(at: int, column: str, cell: Any, what: str) -> None:
        lines[at][column] = cell
        planted.append({"row": at + first_row, "column": column, "what": what})

    plant(73, "Age (yrs)", 214, "age above 110")
    plant(390, "Age (yrs)", -3, "age below 0")
    plant(206, "Sex", "Q", "impossible sex code")
    plant(518, "Laterality", "UP", "impossible side")
    plant(600, "Last Clinic Visit", "2/30/2016", "a day that does not exist")
    plant(777, "Last Clinic Visit", "1/9/2001", "follow-up before operation")
    for at in (600, 777):
        lines[at]["Recurrence Date"] = ""
    lines.append(dict(lines[330]))
    planted.append(
        {"row": len(lines) - 1 + first_row, "what": "duplicate row", "duplicate_of": 330 + first_row}
    )
    write_text(
        FOLDER / "C.csv", [C_HEADER, *([line[name] for name in C_HEADER] for line in lines)], ",", "utf-8"
    )
    kinds = ["unknown" if state == "hydrocele" else state for state in states]
    counts = {**counts_of(len(lines), kinds), "hydrocele": states.count("hydrocele")}
    save_answers("C", {
        "form": "operations", "language": "en-US", "header_rows": [1], "first_row": first_row, "columns": C_COLUMNS,
        "codes": C_CODES, "dates": "mdy", "unit": {"age": "years"}, "drop": C_DROP,
        "ignore": [name for name in C_HEADER if name not in (*C_COLUMNS.values(), *C_DROP)], "follow_up": {},
        "counts": counts, "planted": planted,
        "note_states": {str(at + first_row): state for at, state in enumerate([*states, states[330]])},
    })  # fmt: skip
    return counts


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name, make in (("A", make_a), ("B", make_b), ("C", make_c)):
        print(name, make())


if __name__ == "__main__":
    main()
