"""Kaplan–Meier and Aalen–Johansen of millions of rows of Parquet, against lifelines on the same rows, end to end.

Ours: one group-by of the file by days and outcome in DuckDB, then the estimate with errors and limits on the tally.
Theirs: the two columns read into a pandas frame, as its guide does, then the fitter on the rows. Both give the curve
with log-log limits by Greenwood's error at every day, and risk and limits are compared (ours adds robust errors). Then
both from the two columns in memory. Most of what is won is won by counting first: lifelines takes counts as weights,
and the line "the same, tally" gives it our own DuckDB tally, the quickest way there is to its curve. That ratio is told
and not held to the 10 times, which are of rows.
lifelines moves tied times of Aalen–Johansen by chance, so its answer differs a little; its variance is
left out (``calculate_variance=False``) as it takes far longer, while ours is computed. Log-rank and Cox are run on
fewer rows. Runs take turns; the quickest of each and their ratio are printed, beside it the ratio of medians and of
processor seconds (DuckDB counts on all cores, so that on a busy machine the clock tells less); answers are compared.

    python bench/followup.py [ROWS] [--turns N] [--few ROWS]
"""

# ruff: noqa: E402  (the settings are taken away before the libraries read them)
from __future__ import annotations

import argparse
import os
import statistics
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)

import duckdb
import numpy as np
import pandas as pd
import pyarrow.parquet as pq
from lifelines import AalenJohansenFitter, CoxPHFitter, KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test

from hingeline.estimates.followup import SurvivalCurve, cox, cumulative_incidence, log_rank, survival

HORIZON = 1826


def invent(path: Path, rows: int) -> None:
    """Write rows of days followed, outcome and repair: 3% recur, 2% die, the others are censored within ten years."""
    duckdb.sql(f"""
    COPY (SELECT (hash(i) % 3652)::INT AS days,
                 CASE WHEN hash(i * 3 + 1) % 100 < 3 THEN 1 WHEN hash(i * 3 + 1) % 100 < 5 THEN 2 ELSE 0 END::INT
                   AS outcome,
                 (hash(i * 5 + 2) % 3)::INT AS repair
          FROM range({rows}) t(i)) TO '{path}' (FORMAT parquet, COMPRESSION snappy, ROW_GROUP_SIZE 1000000)""")


# days and outcome are small whole numbers: the engine may count them in a plain table (its default stops at 12 bits)
duckdb.sql("SET perfect_ht_threshold = 18")


def tally(path: Path, by: str) -> list[np.ndarray]:
    found = duckdb.sql(f"SELECT {by}, count(*) AS n FROM read_parquet('{path}') GROUP BY ALL").fetchnumpy()
    return [np.asarray(found[name]) for name in [*by.split(", "), "n"]]


def day_tally(path: Path) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Count days and outcome as one code, which costs a tenth less than two columns do."""
    found = duckdb.sql(
        f"SELECT days * 3 + outcome AS code, count(*) AS n FROM read_parquet('{path}') GROUP BY ALL"
    ).fetchnumpy()
    code = np.asarray(found["code"])
    return code // 3, code % 3, np.asarray(found["n"])


def our_curve(path: Path) -> np.ndarray:
    days, outcome, n = day_tally(path)
    return with_limits(survival(days, outcome, weights=n))


def with_limits(curve: SurvivalCurve) -> np.ndarray:
    told = curve.risk_at_days(HORIZON)
    return np.array([told.risk, told.low, told.high])


def their_curve(path: Path) -> np.ndarray:
    rows = pd.read_parquet(path, columns=["days", "outcome"])
    return their_rows(rows)


def their_tally(path: Path) -> np.ndarray:
    days, outcome, n = day_tally(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return their_limits(KaplanMeierFitter().fit(days, outcome == 1, weights=n))


def their_limits(fit: KaplanMeierFitter) -> np.ndarray:
    low, high = fit.confidence_interval_.loc[:HORIZON].iloc[-1]
    return 1 - np.array([float(fit.predict(HORIZON)), high, low])


def our_incidence(path: Path) -> float:
    days, outcome, n = day_tally(path)
    return cumulative_incidence(days, outcome, weights=n).risk_at_days(HORIZON).risk


def their_incidence(path: Path) -> float:
    rows = pd.read_parquet(path, columns=["days", "outcome"])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = AalenJohansenFitter(calculate_variance=False).fit(
            rows["days"], rows["outcome"], event_of_interest=1
        )
    return float(fit.predict(HORIZON))


def our_rows(rows: pd.DataFrame) -> np.ndarray:
    return with_limits(survival(rows["days"].to_numpy(), rows["outcome"].to_numpy()))


def their_rows(rows: pd.DataFrame) -> np.ndarray:
    return their_limits(KaplanMeierFitter().fit(rows["days"], rows["outcome"] == 1))


def our_log_rank(path: Path) -> float:
    days, outcome, repair, n = tally(path, "days, outcome, repair")
    return log_rank(days, outcome, repair, weights=n).chi2


def their_log_rank(path: Path) -> float:
    table = pq.read_table(path)
    return float(
        multivariate_logrank_test(
            table["days"].to_numpy(), table["repair"].to_numpy(), table["outcome"].to_numpy() == 1
        ).test_statistic
    )


def our_cox(path: Path) -> float:
    days, outcome, repair, n = tally(path, "days, outcome, repair")
    x = np.column_stack([repair == 1, repair == 2]).astype(float)
    return float(cox(days, outcome, x, weights=n).coefficients[0])


def their_cox(path: Path) -> float:
    frame = pq.read_table(path).to_pandas()
    frame = frame.assign(event=frame["outcome"] == 1, one=frame["repair"] == 1, two=frame["repair"] == 2)
    fit = CoxPHFitter().fit(frame[["days", "event", "one", "two"]].astype(float), "days", "event")
    return float(fit.params_["one"])


def compare(label: str, given: Any, ours: Callable, theirs: Callable, turns: int, near: float) -> float:
    taken: dict[Callable, list[float]] = {ours: [], theirs: []}
    work: dict[Callable, list[float]] = {ours: [], theirs: []}
    answers: dict[Callable, np.ndarray] = {}
    for _ in range(turns):
        for way in (ours, theirs):
            start, used = time.perf_counter(), time.process_time()
            found = way(given)
            taken[way].append(time.perf_counter() - start)
            work[way].append(time.process_time() - used)
            answers[way] = np.atleast_1d(found)
    our, their = min(taken[ours]), min(taken[theirs])
    middle = statistics.median(taken[theirs]) / statistics.median(taken[ours])
    rows = len(given) if isinstance(given, pd.DataFrame) else pq.ParquetFile(given).metadata.num_rows
    gap = float(np.abs(answers[ours] - answers[theirs]).max())
    print(
        f"{label:16} {rows:>12,} rows: ours {our:8.3f} s, lifelines {their:8.3f} s, ratio {their / our:6.1f} "
        f"(medians {middle:.1f}, processor {min(work[theirs]) / min(work[ours]):.1f}); "
        f"answers {answers[ours][0]:.9g} and {answers[theirs][0]:.9g} ({'equal' if gap < near else 'DIFFER'})",
        flush=True,
    )
    return their / our


def main() -> None:
    reader = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    reader.add_argument("rows", nargs="?", type=float, default=1e7)
    reader.add_argument("--turns", type=int, default=5)
    reader.add_argument("--few", type=float, default=2e5, help="rows for log-rank and Cox")
    asked = reader.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:
        many, few, warm = (Path(folder) / name for name in ("many.parquet", "few.parquet", "warm.parquet"))
        invent(many, int(asked.rows))
        invent(few, int(asked.few))
        invent(warm, 2000)
        for way in (
            our_curve,
            their_curve,
            their_tally,
            our_incidence,
            their_incidence,
            our_log_rank,
            their_log_rank,
        ):
            way(warm)  # modules are loaded at first use; neither way is charged for that
        ratios = [compare("Kaplan–Meier", many, our_curve, their_curve, asked.turns, 1e-9)]
        compare("the same, tally", many, our_curve, their_tally, asked.turns, 1e-9)
        memory = pd.read_parquet(many, columns=["days", "outcome"])
        ratios.append(compare("the same, rows", memory, our_rows, their_rows, asked.turns, 1e-9))
        del memory
        compare("log-rank", few, our_log_rank, their_log_rank, asked.turns, 1e-6)
        compare("Cox, Efron", few, our_cox, their_cox, asked.turns, 1e-5)
        # lifelines breaks ties at random, which moves its answer a little
        ratios.append(compare("Aalen–Johansen", many, our_incidence, their_incidence, asked.turns, 1e-4))
    print("must reach: 10 times; " + ("reached" if min(ratios) >= 10 else "NOT REACHED"))


if __name__ == "__main__":
    main()
