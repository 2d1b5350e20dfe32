"""A CSV far larger than memory should hold: opened, sampled and passed through, by a process that is measured.

Makes the file (2 GiB unless a number of MiB is given), then prints seconds and the process's own peak of resident
memory (``getrusage``) for opening it with the columns that a legend maps and passing through them, and beside it the
same for a file a sixteenth as large: the ratio of the peaks tells whether memory grows with the file. The files are
deleted.
"""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
from pathlib import Path

MAPPED = ("Pat", "Born", "Operated", "Sex", "Side", "Type", "Mesh", "Seen")
HEADER = (*MAPPED, *(f"Item {n}" for n in range(1, 12)), "Note")

CHILD = """
import resource, sys, time
from pathlib import Path
from hingeline.records.source import open_source
start = time.perf_counter()
with open_source(Path(sys.argv[1]), columns=sys.argv[2].split(",")) as source:
    opened = time.perf_counter()
    for name in source.names:
        source.some(name)
    rows = cells = 0
    for batch in source.batches(source.cells.kept):
        rows += batch.num_rows
        cells += sum(len(column) - column.null_count for column in batch.columns)
    passed = time.perf_counter()
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(rows, cells, opened - start, passed - opened, peak)
"""


def make(path: Path, size: int) -> int:
    """Write an invented export of at least ``size`` bytes: cp1252, some cells quoted, some over two lines."""
    draw = random.Random(2)
    day = [f"{d:02}.{m:02}.{y}" for d in (3, 14, 27) for m in range(1, 13) for y in range(1950, 2020)]
    notes = [
        "",
        "indirekt, Naht",
        '"Bruchsack verschlossen; Netz"',
        '"Größe 3\nkein Netz"',
        "nichts Besonderes",
    ]
    rows = 0
    written = 0
    with path.open("w", encoding="cp1252", newline="") as file:
        file.write(";".join(HEADER) + "\n")
        while written < size:
            lines = []
            for _ in range(20_000):
                rows += 1
                cells = [
                    f"p{rows}",
                    draw.choice(day),
                    draw.choice(day),
                    draw.choice("MF"),
                    draw.choice("LRB"),
                ]
                cells += [draw.choice(("lat", "med", "?")), draw.choice(("ja", "nein")), draw.choice(day)]
                cells += [f"{draw.random():.3f}".replace(".", ",") for _ in range(11)]
                lines.append(";".join([*cells, draw.choice(notes)]))
            text = "\n".join(lines) + "\n"
            for _ in range(max(1, min(16, (size - written) // len(text)))):
                file.write(text)
                written += len(text)
    return rows


def measured(path: Path) -> tuple[int, int, float, float, float]:
    done = subprocess.run(
        [sys.executable, "-c", CHILD, str(path), ",".join(MAPPED)], check=True, capture_output=True, text=True
    )
    rows, cells, opened, passed, peak = done.stdout.split()
    return int(rows), int(cells), float(opened), float(passed), float(peak)


def main() -> None:
    mib = int(sys.argv[1]) if len(sys.argv) > 1 else 2048
    peaks = []
    with tempfile.TemporaryDirectory() as place:
        for size in (mib // 16, mib):
            path = Path(place) / "big.csv"
            make(path, size << 20)
            rows, cells, opened, passed, peak = measured(path)
            peaks.append(peak)
            print(
                f"{path.stat().st_size / (1 << 20):6,.0f} MiB  {rows:11,} rows  {cells:12,} mapped cells   "
                f"opened in {opened:6.1f} s, passed through in {passed:5.1f} s   peak {peak:5.0f} MiB"
            )
            path.unlink()
    print(f"sixteen times the file: {peaks[1] / peaks[0]:.2f} times the memory")


if __name__ == "__main__":
    main()
