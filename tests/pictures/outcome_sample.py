"""Figures of outcomes, invented from a seed with NumPy alone, in the trade's shape."""

from __future__ import annotations

import numpy as np
import pyarrow as pa

from hingeline.answers.findings import Figure

REPAIRS = {"high_ligation": 0.008, "tissue": 0.01, "mesh": 0.005}


def curves_figure(seed: int = 21, rates: dict[str, float] | None = None) -> Figure:
    """Curves of yearly hazards, one recurrence at a time."""
    generator = np.random.default_rng(seed)
    steps, at_risk, marks = [], [], []
    for name, yearly in (rates or REPAIRS).items():
        came = np.sort(generator.exponential(1 / yearly, 800))
        came = came[came < 5]
        risk = np.arange(1, came.size + 1) / 800
        wide = 1.96 * np.sqrt(risk / 800)
        for at, one, half in zip([0.0, *came], [0.0, *risk], [0.0, *wide], strict=True):
            steps.append(
                {"group": name, "years": at, "risk": one, "low": max(one - half, 0.0), "high": one + half}
            )
        at_risk += [{"group": name, "years": year, "n": f"{800 - 130 * year:,}"} for year in range(6)]
        end = float(risk[-1]) if risk.size else 0.0
        marks.append({"group": name, "years": 5.0, "risk": end, "label": f"{name}: {end:.1%} by 5 years"})
    return Figure(
        name="recurrence",
        kind="recurrence_curves",
        title="Recurrence in the 5 years after each kind of repair",
        alt="Curves that rise from nought at operation.",
        caption="Share of groins with a recurrence.",
        frames={
            "steps": pa.Table.from_pylist(steps),
            "at_risk": pa.Table.from_pylist(at_risk),
            "marks": pa.Table.from_pylist(marks),
        },
    )
