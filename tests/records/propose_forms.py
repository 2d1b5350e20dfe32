"""Exports of invented hospitals for the tests of `look`: patients drawn once, written as twelve hospitals would.

Each form lists its columns: the name, what stands in it, and the field that it is (None for what is no field). The
forms are our own (common practice, no source); exports of other hands measure `look` apart from them.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from .making import write_csv, write_xlsx

Row = dict[str, Any]
Codes = Mapping[object, object]


@dataclass(frozen=True)
class Column:
    """One column: its name, the key of what it holds, its codes, and the field that it is."""

    name: str
    holds: str
    truth: str | None
    codes: Codes | None = None


@dataclass(frozen=True)
class Form:
    """One hospital's export."""

    name: str
    columns: Sequence[Column]
    ages: tuple[float, float] = (0, 90)
    dates: str = "%d.%m.%Y"
    decimal: str = "."
    delimiter: str = ";"
    encoding: str = "utf-8"
    sheet: str = ""
    titles: Sequence[Sequence[str]] = ()
    wide: bool = False
    visits: Sequence[Column] = ()
    visits_sheet: str = ""
    list_of_codes: Sequence[Sequence[str]] = ()
    language: str = "en"
    unasked: Mapping[str, object] = field(default_factory=dict)


def columns(text: str, codes: Mapping[str, Codes] | None = None) -> list[Column]:
    """Columns of lines ``name | what it holds | field``; the field is left out where it is the same, - is none."""
    found = []
    for line in text.strip().splitlines():
        parts = [part.strip() for part in line.split("|")]
        holds = parts[1]
        truth = parts[2] if len(parts) > 2 else holds
        found.append(Column(parts[0], holds, None if truth == "-" else truth, (codes or {}).get(holds)))
    return found


def people(seed: int, n: int, ages: tuple[float, float]) -> list[Row]:
    """Operations of invented patients, some with two."""
    rng = random.Random(seed)
    rows: list[Row] = []
    number = rng.randrange(10_000, 60_000)
    while len(rows) < n:
        number += rng.randrange(1, 40)
        male = rng.random() < 0.88
        years = ages[0] + (ages[1] - ages[0]) * rng.random() ** 1.3
        operated = date(2008, 1, 1) + timedelta(days=rng.randrange(5_600))
        born = operated - timedelta(days=int(years * 365.25) + 20)
        person = {
            "patient": str(number),
            "born_on": born,
            "sex": "male" if male else "female",
            "name": _name(rng),
        }
        side = rng.choice(["left", "right", "right"] + (["both"] if rng.random() < 0.3 else []))
        rows.append(_operation(rng, person, operated, side, years))
        if rng.random() < 0.08 and side != "both":
            later = operated + timedelta(days=rng.randrange(200, 1500))
            other = "left" if side == "right" else "right"
            rows.append(_operation(rng, person, later, other, (later - born).days / 365.25))
    rows = rows[:n]
    rng.shuffle(rows)
    return rows


def _name(rng: random.Random) -> str:
    start = rng.choice(["Alder", "Bramble", "Corrie", "Dunnet", "Esk", "Fallow", "Garth"])
    return start + rng.choice("aeiou") + rng.choice(["n", "th", "rk"])


def _operation(rng: random.Random, person: Row, operated: date, side: str, years: float) -> Row:
    child = years < 16
    weights = [92, 2, 1, 1, 4] if child else [55, 32, 8, 3, 2]
    kind = rng.choices(["indirect", "direct", "combined", "femoral", "unknown"], weights)[0]
    repair = "high_ligation" if child else rng.choices(["mesh", "tissue"], [8, 2])[0]
    approach = rng.choices(["open", "laparoscopic"], [7, 3])[0] if repair != "tissue" else "open"
    last = operated + timedelta(days=rng.randrange(10, 2500)) if rng.random() < 0.7 else None
    recurred = operated + timedelta(days=rng.randrange(60, 2000)) if rng.random() < 0.05 else None
    size = rng.choice([1, 1, 2, 2, 3])
    letters = {"indirect": f"L{size}", "direct": f"M{size}", "combined": f"L{size}M1", "femoral": f"F{size}"}
    ehs = f"P{letters[kind]}" if kind in letters else ""
    height = min(182.0, 52 + 7.5 * years) if years < 17 else 172 + rng.gauss(0, 8)
    weight = 4 + 3.1 * years if years < 18 else 74 + rng.gauss(0, 11)
    return {
        **person,
        "operated_on": operated,
        "years": int(years),
        "years_exact": round(years, 1),
        "months": int(years * 12),
        "days": int(years * 365.25),
        "side": side,
        "type": kind,
        "ehs": ehs,
        "ehs_size": size,
        "known_by": "laparoscopic view"
        if approach == "laparoscopic"
        else rng.choice(["floor examined", "not examined", "not examined", "code only"]),
        "reason": rng.choices(
            ["hernia", "hydrocele", "with orchidopexy", "processus closed in passing"], [90, 5, 3, 2]
        )[0],
        "occurrence": rng.choices(["primary", "recurrent"], [94, 6])[0],
        "repair": repair,
        "approach": approach,
        "technique": _technique(rng, repair, approach),
        "mesh_used": repair == "mesh",
        "sac_divided": rng.random() < 0.6,
        "ring_narrowed": rng.random() < 0.1,
        "percutaneous": approach == "laparoscopic" and child and rng.random() < 0.5,
        "emergency": rng.random() < 0.06,
        "specialty": "paediatric surgery"
        if child
        else rng.choice(["general surgery", "general surgery", "urology"]),
        "surgeon": f"S{rng.randrange(1, 12):02d}",
        "assistant": f"S{rng.randrange(12, 20):02d}",
        "preterm": rng.random() < 0.12,
        "gestation_weeks": rng.choice([28, 31, 34, 36, 38, 39, 40, 40, 41]) if rng.random() < 0.5 else None,
        "connective_tissue_disorder": rng.random() < 0.01,
        "height_cm": round(height),
        "weight_kg": round(weight, 1),
        "puberty_stage": rng.randrange(1, 6) if 9 < years < 18 else None,
        "ring_mm": rng.randrange(4, 30),
        "followed_until": last,
        "recurred_on": recurred,
        "recurrence_known_by": rng.choice(["examined", "telephone", "re-operation", "registry"])
        if recurred
        else None,
        "reoperation_type": rng.choice(["indirect", "direct"]) if recurred and rng.random() < 0.7 else None,
        "other_groin_on": operated + timedelta(days=rng.randrange(100, 2000))
        if rng.random() < 0.06
        else None,
        "died_on": operated + timedelta(days=rng.randrange(100, 4000))
        if years > 60 and rng.random() < 0.15
        else None,
        "chronic_pain": rng.choices(["none", "mild", "severe", None], [70, 8, 2, 20])[0],
        "testicular_atrophy": rng.random() < 0.01,
        "ascending_testis": rng.random() < 0.015,
        "vas_injury": rng.random() < 0.004,
        "infection": rng.random() < 0.03,
        "note": _note(rng, side, kind, repair),
        # what is no field
        "admitted": operated - timedelta(days=rng.choice([0, 0, 0, 1, 1])),
        "discharged": operated + timedelta(days=rng.choice([0, 0, 1, 1, 2, 4])),
        "booked": operated - timedelta(days=rng.randrange(10, 200)),
        "consented": operated - timedelta(days=rng.randrange(0, 40)),
        "entered": operated + timedelta(days=rng.randrange(1, 60)),
        "asa": rng.choice([1, 1, 1, 2, 2, 3]),
        "anaesthesia": rng.choice(["general", "spinal", "local"]),
        "minutes": rng.randrange(20, 110),
        "bmi": round(weight / (height / 100) ** 2, 1),
        "birth_weight": rng.randrange(900, 4200) if child else None,
        "row": 0,
        "stay": rng.choice([0, 0, 1, 1, 2]),
        "ward": rng.choice(["K2", "K3", "B1"]),
        "phone": f"0{rng.randrange(10, 99)} {rng.randrange(100, 999)} {rng.randrange(1000, 9999)}",
        "recurred": recurred is not None,
        "other_groin": rng.random() < 0.03,
        "seen_on": operated + timedelta(days=rng.randrange(20, 900)),
    }


def _technique(rng: random.Random, repair: str, approach: str) -> str:
    names = {
        ("mesh", "open"): "Lichtenstein",
        ("mesh", "laparoscopic"): rng.choice(["TAPP", "TEP"]),
        ("tissue", "open"): "Shouldice",
        ("high_ligation", "open"): "herniotomy",
        ("high_ligation", "laparoscopic"): "PIRS",
    }
    return names.get((repair, approach), "Bassini")


def _note(rng: random.Random, side: str, kind: str, repair: str) -> str:
    found = {
        "indirect": "Indirect sac found at the deep ring, dissected free and ligated high.",
        "direct": "Wide defect of the floor medial to the epigastric vessels, direct hernia.",
        "combined": "Indirect sac and a direct bulge, pantaloon hernia.",
        "femoral": "Femoral hernia below the ligament.",
    }.get(kind, "Hernia sac dealt with.")
    closing = {"mesh": "Mesh placed.", "tissue": "Floor repaired in layers."}.get(
        repair, "Sac ligated. Skin closed."
    )
    end = rng.choice(["Cord structures safe.", "No bleeding.", "Well tolerated."])
    return f"Groin incision {side} side. {found} {closing} {end}"


Writer = Callable[[object], object]


def _cell(form: Form, column: Column, value: object) -> object:
    if column.codes is not None:
        return column.codes.get(value, "" if value is None else value)
    if isinstance(value, date):
        return value if form.dates == "true" else value.strftime(form.dates)
    if isinstance(value, bool):
        return "1" if value else "0"
    if isinstance(value, float):
        return str(value).replace(".", form.decimal)
    return "" if value is None else value


_SHARED = (
    "patient",
    "born_on",
    "sex",
    "name",
    "phone",
    "gestation_weeks",
    "preterm",
    "connective_tissue_disorder",
    "followed_until",
    "died_on",
)


def _wide(rows: list[Row]) -> list[Row]:
    """One row a patient: what belongs to a groin under ``left.`` and ``right.``."""
    patients: dict[str, Row] = {}
    for at, row in enumerate(rows):
        own = patients.setdefault(row["patient"], dict(row) | {"row": at + 1})
        for side in ("left", "right") if row["side"] == "both" else (row["side"],):
            own |= {f"{side}.{key}": value for key, value in row.items() if key not in _SHARED}
    return list(patients.values())


def write(form: Form, folder: Path, seed: int, n: int = 220) -> Path:
    """Write a form's export."""
    rows = people(seed, n, form.ages)
    for at, row in enumerate(rows):
        row["row"] = at + 1
    operations = _wide(rows) if form.wide else rows
    cells = [[column.name for column in form.columns]]
    cells += [[_cell(form, column, row.get(column.holds)) for column in form.columns] for row in operations]
    if not form.sheet:
        return write_csv(folder / f"{form.name}.csv", [*form.titles, *cells], form.delimiter, form.encoding)
    sheets: dict[str, Sequence[Sequence[object]]] = {form.sheet: [*form.titles, *cells]}
    if form.visits:
        visits = [
            row | {"seen_on": row["seen_on"] + timedelta(days=90 * k)}
            for row in rows[: n // 2]
            for k in range(2)
        ]
        sheets[form.visits_sheet] = [
            [column.name for column in form.visits],
            *([_cell(form, column, row.get(column.holds)) for column in form.visits] for row in visits),
        ]
    if form.list_of_codes:
        sheets["Codes"] = form.list_of_codes
    return write_xlsx(folder / f"{form.name}.xlsx", sheets)


def truth(form: Form) -> dict[tuple[str, str], str]:
    """The column of each field, by table and field."""
    found = {}
    for column in form.columns:
        if column.truth is not None:
            table, _, name = column.truth.rpartition(".")
            found[table or "fields", name] = column.name
    for column in form.visits:
        if column.truth is not None:
            found["follow_up", column.truth] = column.name
    return found
