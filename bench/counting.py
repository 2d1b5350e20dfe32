"""Counting patient patterns in 1, 10 and 100 million rows of Parquet, against hand-written SQL on one engine.

Each way runs in a process of its own on the same file, so that peak memory is its own; answers are compared, cell
by cell and pattern by pattern. Two ways by hand: the one first thought of (a sorted list a patient) and the
quickest known to us (least and greatest cell a patient, the few others apart), both within the same memory.
Processor seconds stand beside the clock's, which on a shared machine tell less.

    python bench/counting.py [ROWS ...] [--turns N]

The file for 100 million rows takes 1.3 GB in the temporary folder and is deleted afterwards.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from hingeline.counts import count_patterns

MEMORY = "3GB"
DIMENSIONS = ("hospital", "sex", "occurrence", "reason", "type", "approach", "known_by")
BIN = """CASE WHEN age_days < 10958 THEN age_days * 8 // 1461
              ELSE 30 + least(age_days * 4 // 1461, 110) END"""


def engine(folder: Path) -> duckdb.DuckDBPyConnection:
    return duckdb.connect(
        config={
            "memory_limit": MEMORY,
            "preserve_insertion_order": False,
            "temp_directory": str(folder / "spill"),
        }
    )


def invent(path: Path, rows: int) -> None:
    """Write cases: 12% of patients with two groins, one in a hundred with three or four, keys scattered."""
    patients = round(rows * 0.88)
    engine(path.parent).execute(f"""
    COPY (
      WITH groin AS (
        SELECT i, 0 AS k FROM range({patients}) t(i)
        UNION ALL SELECT i, 1 FROM range({patients}) t(i) WHERE hash(i) % 1000 < 125
        UNION ALL SELECT i, 2 FROM range({patients}) t(i) WHERE hash(i) % 1000 < 8
        UNION ALL SELECT i, 3 FROM range({patients}) t(i) WHERE hash(i) % 1000 < 3),
      chance AS (
        SELECT i, k, hash(i * 7 + 1) AS a, hash(i * 16 + k) AS b, hash(i * 32 + k + 99) AS c FROM groin),
      aged AS (SELECT *, (a % 6)::INT AS hospital_number,
        least(40000, CASE WHEN a % 10 < 4 THEN a // 16 % 1800 ELSE 5000 + a // 16 % 28000 END
                     + CASE WHEN b % 10 < 6 THEN 0 ELSE k * (b // 16 % 1500) END)::INT AS age_days
        FROM chance)
      SELECT 'hospital ' || chr(65 + hospital_number) AS hospital,
        (hash(i, 'key')::HUGEINT - 9223372036854775808::HUGEINT)::BIGINT AS patient,
        age_days,
        CASE WHEN a // 32 % 9 = 0 THEN 'female' ELSE 'male' END AS sex,
        CASE WHEN c % 100 < 2 THEN 'unknown' WHEN c % 100 < 4 THEN 'femoral'
             WHEN c % 100 < 6 AND age_days > 8000 THEN 'combined'
             WHEN c % 100 < 6 + age_days / 900 THEN 'direct' ELSE 'indirect' END AS type,
        CASE WHEN hospital_number = 0 THEN 'laparoscopic view' WHEN c // 128 % 4 = 0 THEN 'not examined'
             WHEN hospital_number = 3 THEN 'code only' ELSE 'floor examined' END AS known_by,
        CASE WHEN age_days >= 4000 OR c // 1024 % 10 > 2 THEN 'hernia'
             WHEN c // 1024 % 10 = 0 THEN 'hydrocele'
             WHEN c // 1024 % 10 = 1 THEN 'processus closed in passing' ELSE 'with orchidopexy' END AS reason,
        CASE WHEN k >= 2 OR b // 128 % 20 = 0 THEN 'recurrent' ELSE 'primary' END AS occurrence,
        CASE WHEN hospital_number = 0 OR b // 512 % 5 = 0 THEN 'laparoscopic' ELSE 'open' END AS approach
      FROM aged) TO '{path}' (FORMAT parquet, COMPRESSION snappy, ROW_GROUP_SIZE 1000000)""")


def processor() -> float:
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def fingerprint(cells: pa.Table, size: np.ndarray, flat: np.ndarray, patients: np.ndarray) -> str:
    """Digest an answer: the sorted cells with their sums; patterns as lengths, cells and patients, sorted."""
    start = np.concatenate([[0], np.cumsum(size)[:-1]])
    padded = np.full((size.size, int(size.max(initial=0))), -1, dtype=np.int64)
    for place in range(padded.shape[1]):
        padded[size > place, place] = flat[start[size > place] + place]
    order = np.lexsort((*padded.T[::-1], size))
    digest = hashlib.sha256()
    for name in (*DIMENSIONS, "age_bin", "n", "days", "days2"):
        digest.update(json.dumps(cells[name].to_pylist()).encode())
    digest.update(np.column_stack([size[order], padded[order], patients[order]]).astype(np.int64).tobytes())
    return digest.hexdigest()


def by_hingeline(path: Path) -> tuple[float, float, str]:
    start = time.perf_counter()
    tally = count_patterns(path, memory_limit=MEMORY)
    taken, work = time.perf_counter() - start, processor()
    pattern, cell, groins = tally.long()
    size = np.bincount(np.repeat(pattern, groins))
    return taken, work, fingerprint(tally.cells, size, np.repeat(cell, groins), tally.patients())


def by_hand(path: Path, way: str) -> tuple[float, float, str]:
    start = time.perf_counter()
    connection = engine(path.parent)
    rows = f"read_parquet('{path}')"
    keys = ", ".join(DIMENSIONS)
    cells = connection.sql(f"""
        SELECT {keys}, {BIN} AS age_bin, count(*) AS n, sum(age_days)::BIGINT AS days,
               sum(age_days::BIGINT * age_days)::BIGINT AS days2
        FROM {rows} GROUP BY ALL ORDER BY ALL""").to_arrow_table()
    levels = {name: sorted(set(cells[name].to_pylist())) for name in DIMENSIONS}
    code = "0"
    for name in DIMENSIONS:
        whens = " ".join(f"WHEN '{value}' THEN {place}" for place, value in enumerate(levels[name]))
        code = f"({code}) * {len(levels[name])} + CASE {name} {whens} END"
    coded = f"(SELECT patient, (({code}) * 141 + {BIN})::INT AS code FROM {rows})"
    if way == "lists":
        answer = connection.sql(f"""
            SELECT codes, count(*) AS patients
            FROM (SELECT list_sort(list(code)) AS codes FROM {coded} GROUP BY patient) GROUP BY codes
            """).to_arrow_table()
        lists = answer["codes"].combine_chunks()
        size, flat = np.diff(lists.offsets.to_numpy()), lists.values.to_numpy()
        patients = answer["patients"].to_numpy()
    else:
        connection.execute(f"""
            CREATE TEMP TABLE answer AS SELECT n, low, high, many, count(*) AS patients
            FROM (SELECT *, CASE WHEN n > 2 THEN patient END AS many
                  FROM (SELECT patient, count(*) AS n, min(code) AS low, max(code) AS high
                        FROM {coded} GROUP BY patient)) GROUP BY ALL""")
        few = connection.sql("SELECT n, low, high, patients FROM answer WHERE n <= 2").to_arrow_table()
        others = connection.sql(f"""
            SELECT codes, count(*) AS patients
            FROM (SELECT list_sort(list(code)) AS codes
                  FROM {coded} SEMI JOIN (SELECT many AS patient FROM answer WHERE n > 2) USING (patient)
                  GROUP BY patient) GROUP BY codes""").to_arrow_table()
        n = few["n"].to_numpy()
        both = np.column_stack([few["low"].to_numpy(), few["high"].to_numpy()])
        lists = others["codes"].combine_chunks()
        size = np.concatenate([n, np.diff(lists.offsets.to_numpy())])
        flat = np.concatenate([both[np.column_stack([n > 0, n > 1])], lists.values.to_numpy()])
        patients = np.concatenate([few["patients"].to_numpy(), others["patients"].to_numpy()])
    taken, work = time.perf_counter() - start, processor()
    # to number cells as the other way does: their places in the sorted list of those that exist
    numbers = np.zeros(cells.num_rows, dtype=np.int64)
    for name in DIMENSIONS:
        numbers = numbers * len(levels[name]) + [
            levels[name].index(value) for value in cells[name].to_pylist()
        ]
    numbers = numbers * 141 + cells["age_bin"].to_numpy()
    return taken, work, fingerprint(cells, size, np.searchsorted(numbers, flat), patients)


WAYS = {
    "hingeline": by_hingeline,
    "by hand, lists": lambda path: by_hand(path, "lists"),
    "by hand, quickest": lambda path: by_hand(path, "least and greatest"),
}


def alone(way: str, path: Path) -> dict:
    """Run one way in a process of its own; seconds, peak memory up to the answer, and the answer's digest."""
    ran = subprocess.run([sys.executable, __file__, "--way", way, str(path)], capture_output=True, text=True)
    if ran.returncode:
        return {
            "failed": ran.stderr.strip().splitlines()[-1]
            if ran.stderr.strip()
            else f"ended by {ran.returncode}"
        }
    return json.loads(ran.stdout)


def compare(rows: int, turns: int) -> bool:
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:
        path = Path(folder) / "cases.parquet"
        invent(path, rows)
        warm = pq.ParquetFile(path).read_row_group(0).slice(0, 10)
        pq.write_table(warm, path.with_name("warm.parquet"))
        print(
            f"\n{pq.ParquetFile(path).metadata.num_rows:,} rows, {path.stat().st_size / 1e6:,.0f} MB Parquet"
        )
        runs: dict[str, list[dict]] = {way: [] for way in WAYS}
        for _ in range(turns):
            for way in WAYS:
                runs[way].append(alone(way, path))
    good = {way: [run for run in tried if "failed" not in run] for way, tried in runs.items()}
    ours = statistics.median(run["seconds"] for run in good["hingeline"])
    our_work = statistics.median(run["processor"] for run in good["hingeline"])
    for way, tried in runs.items():
        if not good[way]:
            print(f"  {way:18} failed: {tried[0]['failed']}")
            continue
        taken = statistics.median(run["seconds"] for run in good[way])
        peak = max(run["peak_mb"] for run in good[way])
        work = statistics.median(run["processor"] for run in good[way])
        print(
            f"  {way:18} {taken:7.2f} s, processor {work:7.2f} s, {peak:6,.0f} MB peak"
            f"   hingeline / this: {ours / taken:.2f}, processor {our_work / work:.2f}"
        )
    digests = {run["digest"] for tried in good.values() for run in tried}
    print("  answers equal" if len(digests) == 1 else "  ANSWERS DIFFER")
    return len(digests) == 1


def main() -> None:
    reader = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    reader.add_argument("rows", nargs="*", type=float, default=[1e6, 1e7, 1e8])
    reader.add_argument("--turns", type=int, help="runs of each way: 3 by default, 1 above 20 million rows")
    reader.add_argument("--way", nargs=2)
    asked = reader.parse_args()
    if asked.way:
        with contextlib.suppress(ImportError):
            import pandas  # noqa: F401  (where it is installed, pyarrow loads it: a second that is nobody's count)
        warm = Path(asked.way[1]).with_name("warm.parquet")
        count_patterns(warm)  # modules are loaded at first use; neither way is charged for that
        before = processor()
        taken, work, digest = WAYS[asked.way[0]](Path(asked.way[1]))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        answer = {"seconds": taken, "processor": work - before, "peak_mb": peak, "digest": digest}
        print(json.dumps(answer))
        return
    same = [compare(int(rows), asked.turns or (3 if rows < 2e7 else 1)) for rows in asked.rows]
    sys.exit(0 if all(same) else 1)


if __name__ == "__main__":
    main()
