"""Time the bootstrap over patients: 2,000 replicates of two turns on 180 ages × 6 hospitals.

Run by `make bench`, or alone: python bench/resample.py [replicates]. One core and all cores are measured side by
side in one run and their bytes compared; the audit's time and mismatch rate are printed apart. OPENBLAS_CORETYPE
must not be set.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable

import numpy as np

from hingeline.estimates.parallel import cores
from hingeline.estimates.resample import bootstrap_curve, bootstrap_hinges

AGES, HOSPITALS, PATIENTS = 180, 6, 22_000
MUST_SECONDS = 15


def study(seed: int) -> dict[str, np.ndarray]:
    """Patterns of invented patients: two children's hospitals, three general ones, one for all ages."""
    rng = np.random.default_rng(seed)
    age = np.repeat(np.linspace(0.25, 94.75, AGES), HOSPITALS)
    hospital = np.tile(np.arange(HOSPITALS), AGES)
    seen = 3000 * np.exp(-age / 3) + 150 + 400 * np.exp(-(((age - 65) / 15) ** 2))
    seen[(hospital < 2) & (age > 18)] = 0
    seen[(hospital > 1) & (hospital < 5) & (age < 16)] = 0
    corners = np.array([0.007, 0.015, 0.13, 0.19, 0.47, 0.62])
    logit = np.interp(age, [0, 14, 18.5, 40, 70, 95], np.log(corners / (1 - corners)))
    logit += np.array([-0.1, 0.1, 0, 0.2, -0.2, 0])[hospital]
    cell = rng.choice(age.size, size=PATIENTS, p=seen / seen.sum())
    groins = 1 + (rng.random(PATIENTS) < 0.12)
    direct = rng.binomial(groins, 1 / (1 + np.exp(-logit[cell])))
    pattern, weights = np.unique(np.stack([cell, direct, groins], axis=1), axis=0, return_counts=True)
    return {
        "age": age[pattern[:, 0]],
        "direct": pattern[:, 1],
        "total": pattern[:, 2],
        "groups": hospital[pattern[:, 0]],
        "weights": weights,
        "clusters": np.arange(weights.size),
    }


def timed(work: Callable[[], object]) -> float:
    """Seconds that some work takes."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def processor_seconds() -> float:
    """What this process and those it waited for have computed; tells a slow program from a busy machine."""
    used = os.times()
    return used.user + used.system + used.children_user + used.children_system


def main() -> None:
    """Print what was measured."""
    replicates = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    if {"OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"} & set(os.environ):
        sys.exit("unset OPENBLAS_CORETYPE and OPENBLAS_L2_SIZE first")
    rows = study(1)
    asked = {"seed": 5, "ages": np.arange(0, 95, 0.5), "thresholds": [0.05, 0.1, 0.2, 0.3]}
    print(
        f"{rows['weights'].size:,} patterns of {PATIENTS:,} patients, {replicates:,} replicates, {cores()} cores"
    )
    few = max(replicates // 10, 50)
    alone = bootstrap_hinges(**rows, turns=2, replicates=few, audit=0, workers=1, **asked)
    before = processor_seconds()
    boot = bootstrap_hinges(**rows, turns=2, replicates=replicates, **asked)
    spent = processor_seconds() - before
    same = boot.turns[:few].tobytes() == alone.turns.tobytes()
    each, each_alone = boot.seconds / replicates, alone.seconds / few
    print(f"two turns: {boot.seconds:.1f} s (must be under {MUST_SECONDS} s for 2,000 on two cores)")
    print(
        f"  a replicate: {1000 * each:.2f} ms; on one core {1000 * each_alone:.2f} ms; ratio {each_alone / each:.2f}"
    )
    print(f"  same bytes on one core: {same}")
    print(
        f"audit apart: {boot.audit_seconds:.1f} s for {boot.audited}, {boot.mismatches} missed the maximum "
        f"({boot.mismatch_rate:.1%}, by {boot.largest_miss:.2g} at worst), {boot.undecided} undecided"
    )
    print(f"  processor time of both together: {spent:.1f} s")
    curve = bootstrap_curve(**rows, replicates=replicates, **asked)
    print(
        f"curve: {curve.seconds:.1f} s, {1000 * curve.seconds / replicates:.2f} ms a replicate, "
        f"{boot.seconds / curve.seconds:.1f} times as fast as two turns"
    )
    one_turn = timed(lambda: bootstrap_hinges(**rows, turns=1, replicates=few, audit=0, **asked))
    print(f"one turn: {1000 * one_turn / few:.2f} ms a replicate, start included")


if __name__ == "__main__":
    main()
