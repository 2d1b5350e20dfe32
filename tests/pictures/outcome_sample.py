"""Figures of outcomes, invented from a seed with NumPy alone, in the trade's shape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pyarrow as pa

from hingeline.answers.figures import KINDS, MAY_HAVE
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
        steps.append(steps[-1] | {"years": 5.0})
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


HOSPITALS = (
    "Aldermoor Children's",
    "Kestrel Bay Children's",
    "Norhaven General",
    "Port Elwick Infirmary",
    "St Orrin's General",
    "Thornmere University Hospital",
    "Great Wexcombe District",
    "Lantern Hill",
)
NOT_WORSE = "mesh shown not to be worse than high ligation by more than 2 points"
NOT_SHOWN = "mesh not shown to be within 2 points of high ligation, nor to be worse by more"
WORSE = "mesh shown to be worse than high ligation by more than 2 points"


def figure(kind: str, title: str, alt: str, **frames: Sequence[dict[str, Any]]) -> Figure:
    """A figure of one kind from rows; a frame without rows keeps the columns of the contract."""
    tables = {}
    for name, made in frames.items():
        names = list(made[0]) if made else [*KINDS[kind].get(name, MAY_HAVE.get(kind, {}).get(name, ()))]
        tables[name] = pa.table({column: [row[column] for row in made] for column in names})
    return Figure(name=kind, kind=kind, title=title, alt=alt, caption="Invented.", frames=tables)


def series_figure(seed: int = 22, many: int = 8) -> Figure:
    """Hospitals from nought of 43 up, one hidden, their pool, a prediction and two summaries."""
    generator = np.random.default_rng(seed)
    made: list[dict[str, Any]] = []
    for i in range(many):
        n = int(generator.integers(40, 1500)) if i else 43
        events = int(generator.binomial(n, 0.021)) if i else 0
        share, half = events / n, 1.96 * math.sqrt(0.02 / n)
        made.append(
            {
                "label": HOSPITALS[i % 8],
                "share": share,
                "low": max(share - 0.8 * half, 0.0),
                "high": share + 1.2 * half,
                "weight": n / 7000,
                "events": f"{events}",
                "n": f"{n:,}",
                "kind": "series",
                "follow_up": f"{3 + generator.random() * 4:.1f} years",
            }
        )
    made[3] |= {"share": None, "low": None, "high": None, "events": "fewer than 5", "n": "312"}
    bare = {"events": "", "n": "", "follow_up": "", "weight": 0.0}
    made.append(bare | {"label": "Pooled", "share": 0.021, "low": 0.014, "high": 0.031, "kind": "pooled"})
    made.append(
        bare
        | {"label": "A further series", "share": 0.021, "low": 0.006, "high": 0.058, "kind": "prediction"}
    )
    for label, share in (("An invented review of adolescents", 0.016), ("Another invented review", 0.034)):
        summary = {"label": label, "share": share, "low": share - 0.008, "high": share + 0.012}
        made.append(
            bare | summary | {"kind": "summary", "events": "31", "n": "1,940", "follow_up": "4 years"}
        )
    return figure(
        "pooled_series",
        "Recurrence after mesh repair in each hospital, and pooled",
        "Shares with a recurrence of eight hospitals and their pool, 2.1%.",
        series=made,
    )


def funnel_figure(seed: int = 23) -> Figure:
    """Twelve hospitals, of which one lies far out and one lies just out."""
    generator = np.random.default_rng(seed)
    centre = 0.022
    n = np.unique(np.r_[np.linspace(20, 1650, 60).astype(int)])
    spread = np.sqrt(centre * (1 - centre) / n)
    limits = [
        {
            "n": int(k),
            "centre": centre,
            "low95": max(centre - 1.96 * s, 0.0),
            "high95": centre + 2.1 * s,
            "low998": max(centre - 3.09 * s, 0.0),
            "high998": centre + 3.3 * s,
        }
        for k, s in zip(n, spread, strict=True)
    ]
    points = []
    for i, k in enumerate(generator.integers(60, 1550, 12)):
        share = float(centre + generator.normal() * 0.7 * math.sqrt(centre / k))
        points.append({"label": f"{HOSPITALS[i % 8]}", "n": int(k), "share": max(share, 0.0), "events": "–"})
    points[2] |= {"n": 900, "share": 0.048, "events": "43"}
    points[5] |= {"n": 960, "share": 0.0345, "events": "33"}
    points[6] |= {"n": 1400, "share": 0.0085, "events": "12"}
    points[7] |= {"share": None, "events": "fewer than 5"}
    return figure(
        "funnel",
        "Recurrence in each hospital against its number of groins",
        "Twelve hospitals, of which three lie outside the 95% limits.",
        points=points,
        limits=limits,
    )


def balance_figure(seed: int = 24) -> Figure:
    """Eleven covariates, less apart after weighting."""
    generator = np.random.default_rng(seed)
    names = (
        "age, years",
        "age, years squared",
        "hospital: Aldermoor Children's",
        "hospital: Norhaven General",
        "hospital: Thornmere University Hospital",
        "approach: open",
        "approach: laparoscopic",
        "emergency",
        "operated 2011–2015",
        "operated 2016–2020",
        "type: indirect",
    )
    made = []
    for name in names:
        before = float(generator.gamma(2, 0.2))
        made.append({"covariate": name, "when": "before", "difference": before})
        made.append({"covariate": name, "when": "after", "difference": before * generator.random() * 0.15})
    return figure("balance", "Balance of the repairs", "Eleven covariates before and after.", rows=made)


def contrast_figure() -> Figure:
    """Two pairs at three horizons; one of them has no verdict."""
    open_verdict = (
        "mesh repair is not shown to be worse than high ligation by more than 2 points; it is not shown to be "
        "as good either"
    )
    good = (
        "tissue repair is shown to be not worse than high ligation by more than 2 points; neither is shown to "
        "be better"
    )
    made = []
    for pair, told, shift in (
        ("Mesh repair less high ligation", open_verdict, 0.004),
        ("Tissue repair less high ligation", good, -0.001),
    ):
        for years in (1, 2, 5):
            half = 0.004 * years
            made.append(
                {
                    "pair": pair,
                    "years": float(years),
                    "difference": shift * years,
                    "low": shift * years - half,
                    "high": shift * years + half * 1.1,
                    "verdict": told,
                }
            )
    hidden = {"difference": None, "low": None, "high": None}
    made[-1] |= hidden | {"verdict": "no verdict: nobody of 5 or younger had a tissue repair"}
    return figure(
        "contrast_risks",
        "Recurrence compared between repairs, weighted",
        "Differences of two pairs of repairs at 1, 2 and 5 years.",
        rows=made,
        margin=[{"margin": 0.02}],
    )


def one_more_figure() -> Figure:
    """From five events fewer to ten more; the verdict changes twice."""
    made = []
    for change in range(-5, 11):
        estimate = 0.004 + change / 220
        half = 0.013 + 0.0005 * change
        low, high = estimate - half, estimate + half
        verdict = NOT_WORSE if high < 0.02 else WORSE if low > 0.02 else NOT_SHOWN
        made.append({"change": change, "estimate": estimate, "low": low, "high": high, "verdict": verdict})
    return figure(
        "one_more",
        "What one more recurrence after mesh would do",
        "The verdict changes with one more event.",
        rows=made,
        margin=[{"margin": 0.02}],
        axes=[
            {
                "x": "Recurrences after mesh, more or fewer than observed",
                "y": "Mesh less high ligation (points)",
            }
        ],
    )


def tipping_figure(lost: int = 24) -> Figure:
    """Three verdicts over the shares of those lost."""
    made = []
    for i in range(lost + 1):
        for j in range(lost + 1):
            first, second = i / lost, j / lost
            gap = 0.004 + 0.12 * first - 0.09 * second
            verdict = NOT_WORSE if gap < 0.005 else WORSE if gap > 0.045 else NOT_SHOWN
            made.append({"first_lost": first, "second_lost": second, "verdict": verdict})
    return figure(
        "tipping",
        "What those lost would have to show",
        "Three verdicts over the shares of those lost.",
        cells=made,
        observed=[{"first_lost": 0.03, "second_lost": 0.025, "label": "as those followed"}],
        axes=[
            {
                "x": "Of 24 lost after mesh, had a recurrence",
                "y": "Of 24 lost after high ligation, had a recurrence",
            }
        ],
    )


def size_figure(by_words: bool = False) -> Figure:
    """Two powers over a margin; sizes fall by its square."""
    made = []
    margins = (0.01, 0.015, 0.02, 0.025, 0.03, 0.04)
    for power, factor in (("80% power", 7.85), ("90% power", 10.5)):
        for margin in margins:
            size = math.ceil(4 * factor * 0.02 * 0.98 / margin**2)
            given = f"{100 * margin:g} points" if by_words else margin * 100
            made.append({"assumption": given, "size": size, "series": power})
    chosen = {"assumption": "2 points" if by_words else 2.0, "size": 2058, "label": "planned: 2,058"}
    return figure(
        "size",
        "Size of the next study against its margin",
        "Sizes fall from 8,232 at 1 point to 515 at 4.",
        rows=made,
        chosen=[chosen],
        axes=[{"x": "Margin (points)", "y": "Patients in all"}],
    )


def outcome_figures() -> tuple[Figure, ...]:
    """One figure of each kind."""
    return (
        curves_figure(),
        series_figure(),
        funnel_figure(),
        balance_figure(),
        contrast_figure(),
        one_more_figure(),
        tipping_figure(),
        size_figure(),
    )
