"""What is fitted to the direct share: the smooth curve in its bands, and the hinge fit.

Rows of the frames ``curve`` and ``hinge`` come in; layers go out, everything cut at the frame of the plot.
"""

from __future__ import annotations

import itertools

from hingeline.pictures.frames import Row, cut
from hingeline.pictures.pieces import Spec, values
from hingeline.pictures.theme import colour


def bands(curve: list[Row], top: float, x: Spec, y: Spec) -> list[Spec]:
    """Return the simultaneous band, and on it the pointwise one."""
    layers = []
    for low, high, name in (("wide_low", "wide_high", "wide"), ("low", "high", "band")):
        layers.append(
            {
                "data": values([b for r in curve if (b := _band(r, low, high, top)) is not None]),
                "mark": {"type": "area", "fill": colour(name)},
                "encoding": {
                    "x": {"field": "age", **x},
                    "y": {"field": "low", **y},
                    "y2": {"field": "high"},
                },
            }
        )
    return layers


def _band(row: Row, low: str, high: str, top: float) -> Row | None:
    """Return a band at one age, cut at the frame (a clip would cost each picture a third of a second)."""
    if row[low] is None or row[high] is None:
        return None
    return {"age": row["age"], "low": cut(row[low], 0, top), "high": cut(row[high], 0, top)}


def _line(points: list[Row], stroke: str, thick: float) -> Spec:
    return {
        "data": values([{"age": r["age"], "share": r["share"]} for r in points]),
        "mark": {"type": "line", "stroke": stroke, "strokeWidth": thick},
        "encoding": {
            "x": {"field": "age", "type": "quantitative"},
            "y": {"field": "share", "type": "quantitative"},
        },
    }


def curve_line(curve: list[Row]) -> Spec:
    """Return the smooth curve as a thin line."""
    return _line(curve, colour("curve"), 1.5)


def hinge_layers(hinge: list[Row], thick: float = 3) -> list[Spec]:
    """Return the hinge fit on a thin edge of paper, so that it stands clear of the squares."""
    return [_line(hinge, colour("paper"), thick + 2.5), _line(hinge, colour("ink"), thick)]


def within(line: list[Row], ages: tuple[float, float]) -> list[Row]:
    """Cut a line at two ages, with a point put in at each by straight interpolation."""
    kept = [r for r in line if ages[0] <= r["age"] <= ages[1]]
    for edge, front in ((ages[0], True), (ages[1], False)):
        pair = next((p for p in itertools.pairwise(line) if p[0]["age"] < edge < p[1]["age"]), None)
        if pair is not None:
            kept.insert(0 if front else len(kept), _between_rows(*pair, edge))
    return kept


def _between_rows(a: Row, b: Row, age: float) -> Row:
    part = (age - a["age"]) / (b["age"] - a["age"])
    return {
        name: None if a[name] is None or b[name] is None else a[name] + part * (b[name] - a[name])
        for name in a
    } | {"age": age}
