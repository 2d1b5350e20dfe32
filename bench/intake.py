"""Time the way from a CSV of 100,000 rows to cases, and the reading of its file alone, side by side.

The yardstick is Python's own csv module reading the same file to rows, so that a slow machine shows as such.
"""

from __future__ import annotations

import csv
import io
import os
import random
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

from hingeline.records.intake import read_hospital
from hingeline.records.legend import legend_from_text

ROWS = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
FURTHER = 14
"""Columns that no field takes, as exports have them."""

LEGEND = """
hospital = "Alder Vale"
form = "operations"
[dates]
order = "dmy"
[drop]
columns = ["Surname", "Telephone"]
[fields]
patient = { column = "Unit no" }
born_on = { column = "Born" }
operated_on = { column = "Operated" }
sex = { column = "Sex", codes = { M = "male", F = "female" } }
side = { column = "Side", codes = { L = "left", R = "right", B = "both" } }
type = { column = "Type", codes = { lat = "indirect", med = "direct", pan = "combined", fem = "femoral" } }
repair = { column = "Repair", codes = { HL = "high_ligation", SH = "tissue", LI = "mesh" } }
weight_kg = { column = "Weight", unit = "kg" }
followed_until = { column = "Last seen" }
"""


def write(path: Path) -> None:
    """Write the invented export."""
    dice = random.Random(5)
    head = [
        "Unit no",
        "Surname",
        "Telephone",
        "Born",
        "Operated",
        "Sex",
        "Side",
        "Type",
        "Repair",
        "Weight",
        "Last seen",
    ]
    text = io.StringIO()
    writer = csv.writer(text, delimiter=";")
    writer.writerow([*head, *(f"Further {n}" for n in range(FURTHER))])
    start = date(2005, 1, 1)
    for _ in range(ROWS):
        operated = start + timedelta(days=dice.randrange(6000))
        born = operated - timedelta(days=dice.randrange(20, 33000))
        seen = operated + timedelta(days=dice.randrange(2000))
        writer.writerow(
            [
                f"U{dice.randrange(ROWS):07d}",
                dice.choice(("Fenwick", "Marlow", "Osk")),
                "000 000 0000",
                *(f"{day:%d/%m/%Y}" for day in (born, operated)),
                dice.choice("MMMMMMMF"),
                dice.choice("LLRRRB"),
                dice.choices(("lat", "med", "pan", "fem", "?"), (70, 20, 4, 3, 3))[0],
                dice.choice(("HL", "SH", "LI")),
                f"{dice.uniform(3, 100):.1f}",
                f"{seen:%d/%m/%Y}" if dice.random() < 0.6 else "",
                *(dice.choice(("", "ward 4", "12", "yes")) for _ in range(FURTHER)),
            ]
        )
    path.write_text(text.getvalue(), encoding="utf-8")


def main() -> None:
    """Measure three times, take the best, print both and their ratio."""
    for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
        os.environ.pop(name, None)
    legend = legend_from_text(LEGEND)
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "list.csv"
        write(path)
        best = {"csv module, rows only": 9e9, "rows to cases": 9e9}
        cases = 0
        for _ in range(3):
            began = time.perf_counter()
            with path.open(encoding="utf-8", newline="") as file:
                rows = sum(1 for _ in csv.reader(file, delimiter=";"))
            best["csv module, rows only"] = min(best["csv module, rows only"], time.perf_counter() - began)
            began = time.perf_counter()
            cases = read_hospital([path], legend, cutoff=date(2023, 1, 1), key=b"k" * 32).cases.num_rows
            best["rows to cases"] = min(best["rows to cases"], time.perf_counter() - began)
    print(f"{rows - 1:,} rows of {11 + FURTHER} columns, {cases:,} cases")
    for what, seconds in best.items():
        print(f"  {what:<24} {seconds:6.2f} s  {seconds / best['csv module, rows only']:5.1f} x")


if __name__ == "__main__":
    main()
