"""An invented answer, drawn from a seed with NumPy alone: six hospitals, ages 0 to 95, three turns.

The numbers have the trade's shape and no claim to truth: they are here to be drawn and printed.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np
import pyarrow as pa

from hingeline.answers.findings import Answer, Figure, Finding, Grid, Part

TYPES = ("indirect", "direct", "combined", "femoral", "unknown")
HOSPITALS = (
    ("Aldermoor Children's", "children's hospital", 0, 18, 0.24),
    ("Kestrel Bay Children's", "children's hospital", 0, 18, 0.14),
    ("Norhaven General", "general hospital", 15, 110, 0.2),
    ("Port Elwick Infirmary", "general hospital", 16, 110, 0.15),
    ("St Orrin's General", "general hospital", 18, 110, 0.12),
    ("Thornmere University Hospital", "all ages", 0, 110, 0.15),
)
TURNS = (14.2, 18.6, 42.3)
THRESHOLDS = (0.05, 0.10, 0.20, 0.30)


def true_share(age: np.ndarray) -> np.ndarray:
    knots = [0, 14.2, 18.6, 42.3, 70, 95]
    return np.interp(age, knots, [0.007, 0.015, 0.13, 0.19, 0.47, 0.62])


def true_rate(age: np.ndarray, kind: str) -> np.ndarray:
    """Repairs per 100,000 person-years of boys and men."""
    all_types = 20 + 640 * np.exp(-age / 2.6) + 330 * np.exp(-(((age - 71) / 17) ** 2)) + 60 * (age > 18)
    share = true_share(age)
    parts = {
        "indirect": 1 - share,
        "direct": 0.8 * share,
        "combined": 0.2 * share,
        "femoral": 0.004 + 0.0006 * age,
        "unknown": 0.03 + 0 * age,
    }
    return all_types * parts[kind]


def living(age: float) -> float:
    """Operations by age, in parts of those of a man of 70."""
    child = 5 * np.exp(-age / 3) + 0.9 * np.exp(-(((age - 17) / 6) ** 2))
    return float(0.3 + child + np.exp(-(((age - 68) / 15) ** 2)))


def edges(last: float = 95) -> np.ndarray:
    return np.r_[np.arange(0, 30, 0.5), np.arange(30, last + 0.1, 1.0)]


def wilson(events: np.ndarray, n: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    z = 1.959964
    p, d = events / n, 1 + z * z / n
    middle, half = (p + z * z / (2 * n)) / d, z / d * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return np.maximum(middle - half, 0), np.minimum(middle + half, 1)


def table(rows: Sequence[dict[str, Any]], columns: Sequence[str]) -> pa.Table:
    return pa.table({name: [row[name] for row in rows] for name in columns})


def points(
    rng: np.random.Generator, groins: float, lowest: float = 0, highest: float = 95
) -> list[dict[str, Any]]:
    cut = edges()
    rows: list[dict[str, Any]] = []
    for low, high in itertools.pairwise(cut):
        if low < lowest or high > highest:
            continue
        age = (low + high) / 2
        n = rng.poisson(groins * (high - low) * living(age))
        if n < 5:
            continue
        direct = rng.binomial(n, true_share(np.array(age)))
        under, over = wilson(np.array(direct), np.array(n))
        told = f"{direct}" if direct >= 5 else "under 5"
        rows.append(
            {
                "age": age,
                "age_from": float(low),
                "age_to": float(high),
                "share": direct / n,
                "low": float(under),
                "high": float(over),
                "n": int(n),
                "direct": told,
            }
        )
    return rows


POINT = ("age", "age_from", "age_to", "share", "low", "high", "n", "direct")


def share_figure(seed: int = 11, hospital: str = "") -> Figure:
    rng = np.random.default_rng(seed)
    age = np.linspace(0, 95, 191)
    p = true_share(age)
    wobble = p * (1 + 0.06 * np.sin(age / 4.1))
    half = 0.01 + 0.045 * p + 0.00002 * (age - 55) ** 2
    curve = {
        "age": age,
        "share": wobble,
        "low": np.maximum(wobble - half, 0.001),
        "high": wobble + half,
        "wide_low": np.maximum(wobble - 1.6 * half, 0.0005),
        "wide_high": wobble + 1.6 * half,
    }
    hinge = {"age": age, "share": p, "low": np.maximum(p - 0.8 * half, 0), "high": p + 0.8 * half}
    limits = ((12.9, 15.6), (17.8, 20.4), (36.4, 47.9))
    turns = [
        {
            "number": i + 1,
            "age": t,
            "from_age": a,
            "to_age": b,
            "share": float(true_share(np.array(t))),
            "sign": sign,
            "identified": True,
            "label": f"Turn {i + 1}, {sign}: {t:.1f} years ({a:.1f}–{b:.1f})",
        }
        for i, (t, (a, b), sign) in enumerate(zip(TURNS, limits, ("up", "down", "up"), strict=True))
    ]
    reached = (
        (0.05, 15.5, 14.7, 16.3),
        (0.1, 17.5, 16.9, 18.4),
        (0.2, 43.4, 40.2, 47.0),
        (0.3, 53.5, 51.0, 56.2),
    )
    crossings = [
        {
            "threshold": t,
            "age": a,
            "low": low,
            "high": high,
            "label": f"{100 * t:.0f}% at {a:.1f} years ({low:.1f}–{high:.1f})",
            "headline": t == 0.1,
        }
        for t, a, low, high in reached
    ]
    return Figure(
        "direct-share",
        "direct_share",
        "Direct share by age",
        "Direct share of inguinal hernias by age at operation: about 1% in infancy and childhood, rising steeply from "
        "14.2 years to 13% at 18.6, slowly to 19% at 42.3, then faster to over 50% in old age. It crosses 10% at 17.5.",
        "Boys and men; primary repairs for hernia. Squares: observed share by age, their area the number of groins, "
        "with Wilson 95% intervals. Thick line: hinge fit. Thin line and bands: smooth curve.",
        {
            "points": table(points(rng, 330), POINT),
            "curve": pa.table(curve),
            "hinge": pa.table(hinge),
            "turns": table(turns, tuple(turns[0])),
            "crossings": table(crossings, tuple(crossings[0])),
        },
    )


def bars(rng: np.random.Generator, scale: float, low: float = 0, high: float = 95) -> list[dict[str, Any]]:
    cut = edges()
    rows = []
    for a, b in itertools.pairwise(cut):
        if a < low or b > high:
            continue
        age, width = (a + b) / 2, b - a
        living = np.interp(age, [0, 60, 80, 95], [1, 0.9, 0.5, 0.05])
        for kind in TYPES:
            n = int(rng.poisson(scale * width * living * true_rate(np.array(age), kind)))
            rows.append(
                {
                    "age_from": float(a),
                    "age_to": float(b),
                    "type": kind,
                    "n": n,
                    "per_year": n / width,
                    "sex": "all",
                }
            )
    return rows


def repairs_figure(seed: int = 12) -> Figure:
    rng = np.random.default_rng(seed)
    rows = bars(rng, 0.9)
    height: dict[float, float] = {}
    for row in rows:
        height[row["age_from"]] = height.get(row["age_from"], 0) + row["per_year"]
    marks = [
        {"what": "hump", "age": 0.6, "height": height[0.5], "label": "First hump: 0.6 years"},
        {"what": "trough", "age": 16.4, "height": height[16.0], "label": "Trough: 16.4 years"},
        {"what": "hump", "age": 66.5, "height": height[66.0], "label": "Second hump: 66.5 years"},
    ]
    return Figure(
        "repairs-by-age",
        "repairs_by_age",
        "Repairs by age and type",
        "Repairs a year of age, stacked by type: a tall narrow hump in infancy, a trough at 16.4 years and a broad "
        "hump at 66.5 years. Nearly all in childhood are indirect; direct hernias rise from the late teens.",
        "Six hospitals, both sexes. Operated is not diseased, and a cross-section is not a life course.",
        {
            "bars": table(rows, ("age_from", "age_to", "type", "n", "per_year", "sex")),
            "marks": table(marks, ("what", "age", "height", "label")),
        },
    )


def hospitals_figure(seed: int = 13, name: str | None = None) -> Figure:
    rng = np.random.default_rng(seed)
    rows: list[dict[str, Any]] = []
    limits = []
    for i, (hospital, setting, low, high, part) in enumerate(HOSPITALS):
        called = name if name is not None and i == 0 else hospital
        rows += [
            r | {"hospital": called, "setting": setting} for r in bars(rng, 0.9 * part, low, min(high, 95))
        ]
        limits.append({"hospital": called, "takes_from": float(low), "takes_to": float(high)})
    return Figure(
        "repairs-by-hospital",
        "repairs_by_hospital",
        "Repairs by age in each hospital",
        "Repairs a year of age in six hospitals. Two children's hospitals stop at 18; three general hospitals start "
        "at 15, 16 and 18; one takes all ages.",
        "Each hospital has its own scale. Shaded: ages that the hospital does not take.",
        {
            "bars": table(rows, ("age_from", "age_to", "type", "n", "per_year", "hospital", "setting")),
            "limits": table(limits, ("hospital", "takes_from", "takes_to")),
        },
    )


def rates_figure(seed: int = 14) -> Figure:
    rng = np.random.default_rng(seed)
    cut = np.r_[0, 1, 2, 5, 10, 14, 18, 22, 26, 30, np.arange(35, 96, 5)]
    rows = []
    for sex, part in (("male", 1.0), ("female", 0.11)):
        for kind in ("indirect", "direct", "combined", "femoral"):
            for a, b in itertools.pairwise(cut):
                age = (a + b) / 2
                rate = (
                    part
                    * float(true_rate(np.array(age), kind))
                    * (6 if (sex, kind) == ("female", "femoral") else 1)
                )
                n = max(int(rng.poisson(rate * 1.5)), 0)
                seen, half = n / 1.5, 1.96 * np.sqrt(n + 0.25) / 1.5
                rows.append(
                    {
                        "age_from": float(a),
                        "age_to": float(b),
                        "age": float(age),
                        "type": kind,
                        "sex": sex,
                        "rate": seen,
                        "low": max(seen - half, 0.0),
                        "high": seen + half,
                        "n": n,
                    }
                )
    columns = ("age_from", "age_to", "age", "type", "sex", "rate", "low", "high", "n")
    return Figure(
        "rates-by-age",
        "rates_by_age",
        "Repairs per 100,000 person-years",
        "Rates of repair by age, type and sex. In boys and men indirect hernias peak in infancy and at about 70 years.",
        "Hospitals with a declared catchment. Fay–Feuer 95% limits.",
        {"lines": table(rows, columns)},
    )


def share_by_hospital_figure(seed: int = 15, name: str | None = None) -> Figure:
    rng = np.random.default_rng(seed)
    rows: list[dict[str, Any]] = []
    fits: list[dict[str, Any]] = []
    for i, (hospital, _, low, high, part) in enumerate(HOSPITALS):
        called = name if name is not None and i == 0 else hospital
        rows += [r | {"hospital": called} for r in points(rng, 330 * part, low, min(high, 95))]
        age = np.linspace(low, min(high, 95), 60)
        fits += [
            {"hospital": called, "age": a, "share": s} for a, s in zip(age, true_share(age), strict=True)
        ]
    return Figure(
        "direct-share-by-hospital",
        "direct_share_by_hospital",
        "Direct share by age in each hospital",
        "Direct share by age in each of six hospitals, with the hinge fit of the whole study at each one's level.",
        "Turns are shared; each hospital has its own level.",
        {"points": table(rows, ("hospital", *POINT)), "hinge": table(fits, ("hospital", "age", "share"))},
    )


def share_by_sex_figure(seed: int = 16) -> Figure:
    rng = np.random.default_rng(seed)
    rows = [r | {"sex": "male"} for r in points(rng, 330)]
    female = [r | {"sex": "female"} for r in points(rng, 50)]
    for row in female:
        row["share"], row["low"], row["high"] = (
            0.3 * row["share"],
            0.3 * row["low"],
            0.45 * row["high"] + 0.01,
        )
    return Figure(
        "direct-share-by-sex",
        "direct_share_by_sex",
        "Direct share by age and sex",
        "Direct share by age in boys and men, and in girls and women, who have few direct hernias.",
        "Girls and women have too few direct hernias to share a turn by assumption.",
        {"points": table(rows + female, ("sex", *POINT))},
    )


def flow_figure() -> Figure:
    def box(
        id: str, label: str, n: str, row: int, column: int, side: bool = False, of: str = ""
    ) -> dict[str, Any]:
        return {"id": id, "label": label, "n": n, "row": row, "column": column, "side": side, "of": of}

    boxes = [
        box("read", "Groins read from six hospitals", "25,412", 0, 0),
        box(
            "aside",
            "Set aside: no usable date, age, sex or side; duplicates; age outside 0–110",
            "618",
            0,
            1,
            True,
            "read",
        ),
        box("cases", "Cases", "24,794", 1, 0, of="read"),
        box(
            "notprimary",
            "Recurrent hernia, hydrocele or processus closed in passing",
            "1,904",
            1,
            1,
            True,
            "cases",
        ),
        box("primary", "Primary operations for hernia", "22,890", 2, 0, of="cases"),
        box("untyped", "Type unknown, or femoral", "1,011", 2, 1, True, "primary"),
        box("girls", "Girls and women, shown apart", "2,407", 3, 1, True, "typed"),
        box("typed", "Inguinal, type known", "21,879", 3, 0, of="primary"),
        box("headline", "Headline: boys and men", "19,472", 4, 0, of="typed"),
    ]
    return Figure(
        "flow",
        "flow",
        "Flow of records",
        "Of 25,412 groins read 24,794 became cases and 618 were set aside; 19,472 are in the headline analysis.",
        "Groins read = cases + set aside.",
        {"boxes": table(boxes, ("id", "label", "n", "row", "column", "side", "of"))},
    )


def figures() -> dict[str, Figure]:
    made = (
        flow_figure(),
        repairs_figure(),
        hospitals_figure(),
        rates_figure(),
        share_figure(),
        share_by_hospital_figure(),
        share_by_sex_figure(),
    )
    return {figure.kind: figure for figure in made}


def findings() -> tuple[Finding, ...]:
    def one(
        id: str, estimand: str, at: float, low: float, high: float, unit: str, sentence: str, **more: Any
    ) -> Finding:
        return Finding(
            id, estimand, at, unit, low, high, "unpenalised profile likelihood", 19472, 4011, "sex = male", sentence,
            replicates=199, seed=20250630, **more,
        )  # fmt: skip

    return (
        one("turn.1", "first turn of the direct share", 14.2, 12.9, 15.6, "years",
            "The direct share first turns up at 14.2 years (95% CI 12.9–15.6).", headline=True),
        one("crossing.0.10", "age at which the direct share first reaches 10%", 17.5, 16.9, 18.4, "years",
            "It reaches 10% at 17.5 years (95% CI 16.9–18.4).", headline=True),
        one("crossing.0.60", "age at which the direct share first reaches 60%", np.nan, 91.0, np.inf, "years",
            "It does not reach 60% by 95.", status="not reached"),
    )  # fmt: skip


def answer(hospital: str | None = None) -> Answer:
    drawn = figures()
    grid = Grid(
        "Turns of the direct share",
        ("Turn", "Age (95% interval)", "Slope", "Odds a year"),
        (
            ("1, up", "14.2 (12.9–15.6)", "+2.6 points a year", "× 1.66"),
            ("2, down", "18.6 (17.8–20.4)", "+0.3 points a year", "× 1.02"),
            ("3, up", "42.3 (36.4–47.9)", "+1.0 points a year", "× 1.05"),
        ),
        "Slopes are those after each turn.",
        (1,),
    )
    counts = Grid(
        "Cases by hospital",
        ("Hospital", "Setting", "Takes", "Cases"),
        tuple(
            (
                hospital if hospital is not None and i == 0 else name,
                setting,
                f"{low}–{high}",
                f"{int(24794 * part):,}",
            )
            for i, (name, setting, low, high, part) in enumerate(HOSPITALS)
        ),
        numeric=(3,),
    )
    by_hospital = hospitals_figure(name=hospital)
    share_by_hospital = share_by_hospital_figure(name=hospital)
    cannot = (
        "Operated is not diseased, and a cross-section is not a life course.",
        "A bend in the share need not be a bend in direct disease: indirect hernias may become fewer.",
    )
    parts = (
        Part("records", "Flow of records", "Of 25,412 groins read, 24,794 became cases and 618 were set aside.",
             (drawn["flow"],), (counts,), "Rules of the protocol; every row read is accounted for.", ()),
        Part("ages", "Ages at operation", "Repairs come in two humps, at 0.6 and 66.5 years, with a trough at 16.4.",
             (drawn["repairs_by_age"], by_hospital, drawn["rates_by_age"]), (),
             "Kernel density by age; Silverman's test of the number of humps (1).", cannot[:1]),
        Part("direct-share", "Direct share by age",
             "The direct share turns up at 14.2 years (95% CI 12.9–15.6) and reaches 10% at 17.5 (16.9–18.4).",
             (drawn["direct_share"], share_by_hospital, drawn["direct_share_by_sex"]), (grid,),
             "Hinge regression on the logit; turns at the global maximum of the unpenalised profile (2).", cannot),
    )  # fmt: skip
    return Answer(
        "When the groin hernia of the child becomes that of the adult",
        "At what age does a groin hernia stop being the child's kind?",
        "records up to 30 June 2025",
        (
            "The direct share first turns up at 14.2 years (95% CI 12.9–15.6). It bends down at 18.6 (17.8–20.4) and "
            "up again at 42.3 (36.4–47.9).",
            "It reaches 10% at 17.5 years (95% CI 16.9–18.4).",
            "Nothing was sealed before the outcome was counted: all of this is exploratory.",
        ),
        findings(),
        parts,
        (
            "Silverman BW. Using kernel density estimates to investigate multimodality. J R Stat Soc B 1981;43:97–99.",
            "Muggeo VMR. Estimating regression models with unknown break-points. Stat Med 2003;22:3055–3071.",
        ),
        {
            "version": "0.1.0",
            "protocol": "3f9a2c41",
            "seed": "20250630",
            "run": "2025-07-01-a1b2",
            "seal": "none",
        },
    )
