"""Small exports and legends for the tests of intake."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import xlsxwriter

from hingeline.records.intake import Intake, read_hospital
from hingeline.records.legend import Legend, legend_from_text

CUTOFF = date(2020, 12, 31)
KEY = b"an invented key of thirty-two by"

PLAIN = """
hospital = "Alder Vale"
form = "operations"
[dates]
order = "dmy"
[fields]
patient = { column = "Pat" }
born_on = { column = "Born" }
operated_on = { column = "Operated" }
sex = { column = "Sex", codes = { M = "male", F = "female" } }
side = { column = "Side", codes = { L = "left", R = "right", B = "both" } }
type = { column = "Type", codes = { lat = "indirect", med = "direct", "?" = "" } }
"""

PLAIN_HEADER = ("Pat", "Born", "Operated", "Sex", "Side", "Type")


def legend(more: str = "", base: str = PLAIN) -> Legend:
    """The plain legend with further fields in its [fields] table."""
    return legend_from_text(base + more)


def write_csv(
    path: Path, rows: Sequence[Sequence[object]], delimiter: str = ";", encoding: str = "utf-8"
) -> Path:
    """Write rows of cells, quoting where it must be."""
    import csv
    import io

    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator="\n").writerows(rows)
    path.write_bytes(text.getvalue().encode(encoding))
    return path


def write_xlsx(path: Path, sheets: dict[str, Sequence[Sequence[object]]]) -> Path:
    """Write sheets of cells; dates become true dates."""
    with xlsxwriter.Workbook(str(path)) as book:
        shown = book.add_format({"num_format": "dd/mm/yyyy"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for r, row in enumerate(rows):
                for c, cell in enumerate(row):
                    if isinstance(cell, date):
                        sheet.write_datetime(r, c, cell, shown)  # type: ignore[arg-type]
                    elif cell is not None:
                        sheet.write(r, c, cell)
    return path


def take(path: Path, how: Legend | None = None, **options: Any) -> Intake:
    """Read one file."""
    return read_hospital([path], how or legend(), **{"cutoff": CUTOFF, "key": KEY} | options)


def take_rows(
    tmp_path: Path, rows: Sequence[Sequence[object]], more: str = "", extra: Sequence[str] = ()
) -> Intake:
    """Read rows under the plain header and further columns."""
    path = write_csv(tmp_path / "export.csv", [[*PLAIN_HEADER, *extra], *rows])
    return take(path, legend(more))


SOUND = ("p1", "03.04.2010", "05.06.2015", "M", "L", "lat")


def sound(**changed: str) -> list[str]:
    """A row of the plain form that breaks no rule, but for what is changed."""
    cells = dict(zip(("patient", "born", "operated", "sex", "side", "type"), SOUND, strict=True))
    return list((cells | changed).values())


def rules_of(intake: Intake) -> list[tuple[int, str, str]]:
    """Row, field and rule of everything listed."""
    return [(line["row"], line["field"], line["rule"]) for line in intake.set_aside.to_pylist()]


def severities(intake: Intake) -> dict[str, str]:
    """Rule to severity of everything listed."""
    return {line["rule"]: line["severity"] for line in intake.set_aside.to_pylist()}
