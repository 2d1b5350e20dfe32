"""Resampling over patients: the public face.

Patterns of patients come in, replicates go out; `patterns` draws them, `parallel` spreads the work over the
cores with the same bytes on any number of them, and the two bootstraps refit hinges and curve.
"""

from __future__ import annotations

from hingeline.estimates.bootstrap_curve import CurveBootstrap, bootstrap_curve
from hingeline.estimates.bootstrap_hinge import HingeBootstrap, bootstrap_hinges
from hingeline.estimates.parallel import run_tasks
from hingeline.estimates.patterns import CellDraws, Patients, cell_draws, percentile_interval, resample

__all__ = [
    "CellDraws",
    "CurveBootstrap",
    "HingeBootstrap",
    "Patients",
    "bootstrap_curve",
    "bootstrap_hinges",
    "cell_draws",
    "percentile_interval",
    "resample",
    "run_tasks",
]
