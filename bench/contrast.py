"""Time the comparison of repairs: three arms, 20,000 groins, 2,000 redrawn sets of patients, on the tally and by rows.

Run by `make bench`, or alone: python bench/contrast.py [replicates]. By rows means what a statistician would write: in
each redrawn set one row a groin, statsmodels' MNLogit, overlap weights, lifelines' weighted Kaplan–Meier by arm. A few
such sets are timed in the same run and multiplied up to as many; the same patients are drawn, so the risks are compared
too. By rows runs on one core and makes no limits, ours on all cores makes the whole comparison, so both ratios, by the
clock and by processors' seconds, are told; what must be reached is our own time. Each invented patient has one groin,
and there are nearly as many patterns as groins, so that the tally itself wins little here, the hard case for us.
OPENBLAS_CORETYPE must not be set.
"""

from __future__ import annotations

import os
import sys
import time
import warnings
from typing import Any

import numpy as np
import pandas as pd
import statsmodels.api as sm
from lifelines import KaplanMeierFitter

from hingeline.estimates.contrast import contrast
from hingeline.estimates.parallel import cores
from hingeline.estimates.patterns import Patients

PATIENTS, ROW_SETS, SEED = 20_000, 4, 11
MUST_SECONDS = 5
ARMS = ["high_ligation", "tissue", "mesh"]
HORIZONS = (1.0, 2.0, 5.0)


def study(seed: int) -> dict[str, Any]:
    """Invented patients of 12 to 30 in six hospitals; the tally is of half-years of age and months followed."""
    rng = np.random.default_rng(seed)
    age = rng.integers(24, 60, PATIENTS) / 2
    hospital, year = rng.integers(0, 6, PATIENTS), rng.integers(2010, 2020, PATIENTS)
    laparoscopic, emergency = rng.random(PATIENTS) < 0.3, rng.random(PATIENTS) < 0.1
    logits = np.stack(
        [
            np.zeros(PATIENTS),
            0.15 * (age - 20) + 0.15 * (hospital - 2.5) - 0.5,
            0.25 * (age - 20) + 0.5 * laparoscopic - 1.5,
        ]
    )
    odds = np.exp(logits)
    arm = (rng.random(PATIENTS) > np.cumsum(odds / odds.sum(axis=0), axis=0)).sum(axis=0)
    event = rng.exponential(1 / (0.006 * np.exp(0.03 * (age - 20) + np.array([0.3, 0.0, -0.3])[arm])))
    until = rng.uniform(0.2, 9, PATIENTS)
    months = np.floor(12 * np.minimum(event, until))
    table = np.stack([arm, months, event <= until, age, hospital, year, laparoscopic, emergency], axis=1)
    distinct, weights = np.unique(table, axis=0, return_counts=True)
    arm, months, outcome, age, hospital, year, laparoscopic, emergency = distinct.T
    return {
        "arm": arm.astype(int),
        "days": np.floor(months * 30.4375).astype(int),
        "outcome": outcome.astype(int),
        "covariates": {
            "age": age,
            "hospital": np.array(list("ABCDEF"))[hospital.astype(int)],
            "year": year,
            "laparoscopic": laparoscopic,
            "emergency": emergency,
        },
        "weights": weights,
    }


def by_rows(given: dict[str, Any], number: int) -> np.ndarray:
    """Risks of one redrawn set of patients, by arm and horizon, one row a groin."""
    drawn = Patients(given["weights"]).draw(SEED, number)
    covariates = given["covariates"]
    hospital = pd.get_dummies(pd.Series(covariates["hospital"]), drop_first=True).to_numpy(float)
    numbers = [covariates[name] for name in ("age", "year", "laparoscopic", "emergency")]
    design = np.column_stack([np.ones(drawn.size), *numbers, hospital])
    design[:, 1:3] -= design[:, 1:3].mean(axis=0)
    each = np.repeat(np.arange(drawn.size), drawn)
    arm, matrix = given["arm"][each], design[each]
    probability = sm.MNLogit(arm, matrix).fit(method="newton", disp=0).predict(matrix)
    own = probability[np.arange(each.size), arm]
    weight = (1 / own) / (1 / probability).sum(axis=1)
    risks = []
    for code in range(len(ARMS)):
        mine = arm == code
        curve = KaplanMeierFitter().fit(
            given["days"][each][mine], given["outcome"][each][mine], weights=weight[mine]
        )
        risks.append([1 - float(curve.predict(int(years * 365.25))) for years in HORIZONS])
    return np.array(risks)


def main() -> None:
    """Print what was measured."""
    replicates = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    if {"OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"} & set(os.environ):
        sys.exit("unset OPENBLAS_CORETYPE and OPENBLAS_L2_SIZE first")
    given = study(1)
    asked = {"arms": ARMS, "horizons_years": HORIZONS, "seed": SEED}
    contrast(**given, **asked, replicates=1, workers=1)  # what is loaded and warmed up once

    began, before = time.perf_counter(), sum(os.times()[:4])
    found = contrast(**given, **asked, replicates=replicates)
    seconds, spent = time.perf_counter() - began, sum(os.times()[:4]) - before
    few = min(200, replicates)
    alone = contrast(**given, **asked, replicates=few, workers=1)

    warnings.simplefilter("ignore")  # lifelines warns of weights that are not whole
    began = time.perf_counter()
    rows = np.stack([by_rows(given, number) for number in range(ROW_SETS)])
    each = (time.perf_counter() - began) / ROW_SETS
    apart = float(np.abs(rows - found.drawn[:ROW_SETS]).max())

    print(
        f"{given['weights'].size:,} patterns, {found.propensity.probability.shape[0]:,} sets of covariates, "
        f"{sum(w.n for w in found.weights):,} groins in 3 arms, {replicates:,} redrawn sets, {cores()} cores"
    )
    print(
        f"on the tally: {seconds:.1f} s (must be under {MUST_SECONDS} s for 2,000); {spent:.1f} s of processors"
    )
    print(
        f"by rows: {each:.2f} s a set, {each * replicates:,.0f} s for {replicates:,} on one core (multiplied up)"
    )
    print(
        f"ratio of the two: {each * replicates / seconds:.0f}; to processors' seconds {each * replicates / spent:.0f}"
    )
    print(f"risks of the same patients differ by at most {apart:.1e}")
    print(f"same bytes on one core and on {cores()}: {found.drawn[:few].tobytes() == alone.drawn.tobytes()}")


if __name__ == "__main__":
    main()
