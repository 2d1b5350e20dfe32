"""Observed shares as squares: area tells groins, a line each interval; with their key, ticks and tooltips.

Rows of the frames ``points`` come in; layers, ticks and entries of a key go out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hingeline import wording
from hingeline.pictures.frames import Row, cut, finite
from hingeline.pictures.pieces import Entry, Spec, ticks, values
from hingeline.pictures.theme import colour

TITLE = "Direct share of inguinal hernias"


def told(row: Row) -> Row:
    """Add to a point what its tooltip says, in words."""
    return row | {
        "ages": wording.age_span(row["age_from"], row["age_to"]),
        "share_told": wording.percent(row["share"]),
        "limits": wording.share_limits(row["low"], row["high"]),
        "groins": wording.count(row["n"]),
    }


def share_ticks(points: list[Row], lines: list[Row], thresholds: list[float], many: int) -> list[float]:
    """Return the ticks of the vertical axis: all shares and lines lie inside, and most upper limits."""
    seen = finite([r["share"] for r in [*points, *lines]] + [r.get("high") for r in lines] + thresholds)
    groins = sum(r["n"] for r in points)
    covered = 0.0
    for point in sorted((r for r in points if r["high"] is not None), key=lambda r: float(r["high"])):
        covered += point["n"]
        if covered > 0.9 * groins:
            break
        seen.append(point["high"])
    return ticks(min(max([*seen, 0.01]), 1.0), many)


@dataclass(frozen=True)
class Size:
    """How the area of a square tells the number of groins: in proportion, over a least size that can be seen."""

    groins: float
    least: float
    most: float

    @staticmethod
    def of(points: list[Row], most: float) -> Size:
        """Let the largest number among points have the largest square."""
        return Size(max(finite([r["n"] for r in points]), default=1.0), 8.0, most)

    def strength(self, groins: float) -> float:
        """Return how dark an interval is: few groins speak softly, and more so in small plots."""
        return round((0.22 if self.most > 150 else 0.15) + 0.43 * math.sqrt(min(groins / self.groins, 1)), 3)

    def area(self, groins: float) -> float:
        """Return the area in square pixels."""
        return self.least + (self.most - self.least) * groins / self.groins


def share_points(points: list[Row], top: float, x: Spec, y: Spec, size: Size) -> list[Spec]:
    """Return the observed shares: squares sized by groins, their intervals, and an arrow where one is cut."""
    amber = colour("direct")
    tip = [
        {"field": "ages", "title": "Age"},
        {"field": "share_told", "title": "Direct share"},
        {"field": "limits", "title": "95% interval"},
        {"field": "groins", "title": "Groins"},
        {"field": "direct", "title": "of them direct"},
    ]
    tip = [{**one, "type": "nominal"} for one in tip]
    at = {"field": "age", **x}
    bars = [
        {
            "age": r["age"],
            "low": cut(r["low"], 0, top),
            "high": cut(r["high"], 0, top),
            "strength": size.strength(r["n"]),
        }
        for r in points
        if r["low"] is not None
    ]
    over = [r | {"edge": top} for r in points if r["high"] is not None and r["high"] > top]
    layers: list[Spec] = [
        {
            "data": values(bars),
            "mark": {"type": "rule", "stroke": amber, "strokeWidth": 1.3 if size.most > 150 else 1},
            "encoding": {
                "x": at,
                "y": {"field": "low", **y},
                "y2": {"field": "high"},
                "strokeOpacity": {"field": "strength", "type": "quantitative", "scale": None},
            },
        }
    ]
    if over:
        mark = {
            "type": "point",
            "shape": "triangle-up",
            "size": 26,
            "fill": amber,
            "yOffset": 3,
        }
        layers.append(
            {"data": values(over), "mark": mark, "encoding": {"x": at, "y": {"field": "edge", **y}}}
        )
    layers.append(
        {
            "data": values([r for r in points if r["share"] is not None]),
            "mark": {
                "type": "point",
                "shape": "square",
                "fill": amber,
                "stroke": colour("paper"),
                "strokeWidth": 0.7,
            },
            "encoding": {
                "x": at,
                "y": {"field": "share", **y},
                "size": {
                    "field": "n",
                    "type": "quantitative",
                    "scale": {"type": "linear", "domain": [0, size.groins], "range": [size.least, size.most]},
                    "legend": None,
                },
                "tooltip": tip,
            },
        }
    )
    return layers


def groin_entry(points: list[Row], size: Size) -> Entry:
    """Return the key's square with the number of groins that it stands for."""
    shown = _round_down(size.groins)
    return Entry(wording.observed_key(shown), "mark", colour("direct"), size=size.area(shown))


def _round_down(value: float) -> int:
    """Return 1, 2 or 5 times a power of ten, not more than a value."""
    power = 10 ** math.floor(math.log10(max(value, 1)))
    return int(max(s * power for s in (1, 2, 5) if s * power <= max(value, 1)))
