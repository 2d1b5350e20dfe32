"""Hinge fits timed beside a brute force over statsmodels' GLM and beside R's segmented, on the same data in
one run.

Prints seconds and log-likelihoods side by side: 180 half-year bins in six invented hospitals, one to three
turns, point fit and certified; bootstrap refits on two processes; and a small problem that brute force and R
can do as well. Run with one thread of linear algebra and OPENBLAS_CORETYPE unset.

    python bench/hinge.py [REPLICATES]
"""

from __future__ import annotations

import os

for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
    os.environ.pop(name, None)
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import json  # noqa: E402
import resource  # noqa: E402
import shutil  # noqa: E402
import statistics  # noqa: E402
import subprocess  # noqa: E402
import sys  # noqa: E402
import tempfile  # noqa: E402
import time  # noqa: E402
from collections.abc import Callable  # noqa: E402
from dataclasses import dataclass  # noqa: E402
from pathlib import Path  # noqa: E402
from typing import Any  # noqa: E402

import numpy as np  # noqa: E402
import statsmodels.api as sm  # noqa: E402

from hingeline.estimates.hinge import HingeDesign, fit_hinges, prepare_hinges  # noqa: E402
from hingeline.estimates.parallel import run_tasks  # noqa: E402

SEED = 20
BRUTE_GRID_YEARS = 2.0

SEGMENTED = """
suppressPackageStartupMessages(library(segmented))
d <- read.csv(commandArgs(TRUE)[1]); d$share <- d$direct / pmax(d$total, 1); d <- d[d$total > 0, ]
d$hospital <- factor(d$hospital)
began <- proc.time()[["elapsed"]]
base <- suppressWarnings(glm(share ~ hospital + age, binomial, d, weights = total))
fit <- tryCatch(suppressWarnings(segmented(base, seg.Z = ~age, npsi = 2)), error = function(e) NULL)
seconds <- proc.time()[["elapsed"]] - began
if (is.null(fit) || is.null(fit$psi)) { cat('{"failed": true}') } else {
  p <- fitted(fit); ll <- sum(d$direct * log(p) + (d$total - d$direct) * log1p(-p))
  cat(sprintf('{"seconds": %.4f, "loglik": %.6f, "turns": [%s]}', seconds, ll, paste(round(fit$psi[, 2], 2),
  collapse = ",")))
}
"""


def invented(seed: int, bins: int = 180, hospitals: int = 6, groins: int = 25_000) -> tuple[np.ndarray, ...]:
    """Half-year bins of invented hospitals whose share climbs as the trade's does."""
    rng = np.random.default_rng(seed)
    age = np.tile(np.arange(bins) * (90 / bins) + 45 / bins, hospitals)
    hospital = np.repeat(np.arange(hospitals), bins)
    crowd = np.where(age < 6, 4, 1) + np.where((age > 60) & (age < 85), 3, 0)
    total = rng.poisson(crowd / crowd.sum() * groins)
    eta = np.interp(age, [0, 14, 19, 40, 70, 95], [-4.9, -4.2, -1.9, -1.45, -0.1, 0.9])
    eta = eta + np.linspace(-0.3, 0.3, hospitals)[hospital]
    return age, rng.binomial(total, 1 / (1 + np.exp(-eta))), total, hospital


def median_seconds(work: Callable[[], Any], times: int) -> tuple[float, float, Any]:
    """Median and least wall seconds of several runs, and the last answer."""
    work()
    spent = []
    for _ in range(times):
        began = time.perf_counter()
        answer = work()
        spent.append(time.perf_counter() - began)
    return statistics.median(spent), min(spent), answer


def processor_seconds() -> float:
    """Of this process and of those it started, which on a shared machine tell more than the clock."""
    own, others = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def kernel(direct: np.ndarray, total: np.ndarray, share: np.ndarray) -> float:
    seen = total > 0
    return float((direct * np.log(share) + (total - direct) * np.log1p(-share))[seen].sum())


def brute_force(
    age: np.ndarray, direct: np.ndarray, total: np.ndarray, hospital: np.ndarray
) -> tuple[float, float, int]:
    """Seconds, best log-likelihood and number of fits of statsmodels' GLM at every pair of a coarse grid."""
    seen = total > 0
    age, direct, total, hospital = age[seen], direct[seen], total[seen], hospital[seen]
    base = [(hospital == h).astype(float) for h in np.unique(hospital)] + [age]
    response = np.column_stack([direct, total - direct])
    grid = np.arange(age.min() + 2, age.max() - 2, BRUTE_GRID_YEARS)
    best, fits, began = -np.inf, 0, time.perf_counter()
    for i, first in enumerate(grid):
        for second in grid[i + 1 :]:
            if second - first < 2:
                continue
            x = np.column_stack([*base, np.maximum(age - first, 0), np.maximum(age - second, 0)])
            fit = sm.GLM(response, x, family=sm.families.Binomial()).fit()
            best, fits = max(best, kernel(direct, total, fit.fittedvalues)), fits + 1
    return time.perf_counter() - began, best, fits


def in_r(
    age: np.ndarray, direct: np.ndarray, total: np.ndarray, hospital: np.ndarray
) -> dict[str, Any] | None:
    if shutil.which("Rscript") is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        table, script = Path(folder) / "d.csv", Path(folder) / "s.R"
        lines = ["age,direct,total,hospital"]
        lines += [f"{a},{y},{n},{h}" for a, y, n, h in zip(age, direct, total, hospital, strict=True)]
        table.write_text("\n".join(lines), encoding="utf-8")
        script.write_text(SEGMENTED, encoding="utf-8")
        done = subprocess.run(
            ["Rscript", "--vanilla", script, table], capture_output=True, text=True, check=False
        )
    return json.loads(done.stdout) if done.returncode == 0 and done.stdout else None


@dataclass(frozen=True)
class Replicate:
    """One bootstrap sample of groins, refitted."""

    design: HingeDesign
    direct: np.ndarray
    total: np.ndarray

    def __call__(self, number: int) -> np.ndarray:
        rng = np.random.default_rng([SEED, number])
        whole = np.concatenate([self.direct, self.total - self.direct])
        drawn = rng.multinomial(int(whole.sum()), whole / whole.sum())
        direct, total = drawn[: self.direct.size], drawn[: self.direct.size] + drawn[self.direct.size :]
        return self.design.refit(direct, total).turns


def main() -> None:
    replicates = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    data = invented(1)
    age, direct, total, hospital = data
    print("180 bins x 6 hospitals; median (least) wall seconds; log-likelihood without constants")
    for turns, times, limits in ((1, 9, None), (2, 9, (0.05, 0.5)), (3, 3, (None, 10.0))):
        answers = {}
        for certified in (False, True):
            options = {"turns": turns, "groups": hospital, "intervals": False, "certify": certified}
            seconds, least, fit = median_seconds(lambda o=options: fit_hinges(age, direct, total, **o), times)
            answers[certified] = fit
            limit = limits[certified] if limits else None
            told = f"   must be under {limit:g} s" if limit else ""
            name = "certified" if certified else "point fit"
            ll = kernel(direct, total, expected(fit, age, hospital))
            print(f"  {turns} turns {name:10s} {seconds:8.4f} ({least:.4f})   {ll:14.6f}{told}")
        proof = answers[True].certificate
        print(
            f"          gap {proof.gap:.1e} after {proof.boxes} boxes; turns {np.round(answers[True].taus, 2)}"
        )
    ours, _, two = median_seconds(
        lambda: fit_hinges(age, direct, total, turns=2, groups=hospital, intervals=False), 5
    )
    best = kernel(direct, total, expected(two, age, hospital))

    spent, reached, fits = brute_force(*data)
    print(
        f"\nbrute force, statsmodels GLM on a {BRUTE_GRID_YEARS:g}-year grid: "
        f"{fits} fits in {spent:.1f} s, {reached:.6f}"
    )
    print(f"  {spent / ours:.0f} times as long as certified, log-likelihood {reached - best:+.6f}")
    told = in_r(*data)
    if told is None:
        print("R's segmented: R is not here")
    elif "failed" in told:
        print("R's segmented, two turns: gave no fit")
    else:
        print(f"R's segmented, two turns: {told['seconds']:.2f} s, {told['loglik']:.6f} at {told['turns']}")
        print(
            f"  {told['seconds'] / ours:.1f} times as long as certified, log-likelihood {told['loglik'] - best:+.6f}"
        )

    design = prepare_hinges(age, total, turns=2, groups=hospital)
    task = Replicate(design, design.by_cell(direct), design.by_cell(total))
    used, began = processor_seconds(), time.perf_counter()
    run_tasks(task, replicates, workers=2)
    spent, used = time.perf_counter() - began, processor_seconds() - used
    print(
        f"\n{replicates} bootstrap refits of two turns on two processes: {spent:.1f} s "
        f"({1000 * spent / replicates:.1f} ms each)"
    )
    whole = 2000 / replicates
    print(f"  2,000 take {whole * spent:.1f} s   must be under 15 s on two cores")
    print(f"  processor seconds: {used:.1f}, that is {whole * used / 2:.1f} s for 2,000 were both cores free")


def expected(fit: Any, age: np.ndarray, hospital: np.ndarray) -> np.ndarray:
    """Fitted share of each row from the unpenalised coefficients."""
    groups = len(fit.groups)
    eta = fit.coefficients[hospital] + fit.coefficients[groups] * age
    for tau, change in zip(fit.taus, fit.coefficients[groups + 1 :], strict=True):
        eta = eta + change * np.maximum(age - tau, 0)
    return 1 / (1 + np.exp(-eta))


if __name__ == "__main__":
    main()
