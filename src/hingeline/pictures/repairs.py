"""Repairs by age and type: how many groins were operated at each age, in all and in each hospital.

Frames of the kinds ``repairs_by_age`` and ``repairs_by_hospital`` come in; stacked densities (groins a year
of age) go out. Bins of different widths, also of different types, are stacked exactly: a density is
constant within its bin, so the sum is taken on all edges together.
"""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from typing import Any

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, finite, rows
from hingeline.pictures.panels import Panel, grid
from hingeline.pictures.pieces import (
    Entry,
    Spec,
    age_axis,
    age_domain,
    key,
    line,
    tall_axis,
    ticks,
    values,
    whole,
    words,
)
from hingeline.pictures.theme import STACK_ORDER, Sheet, colour


def draw_repairs(figure: Figure, sheet: Sheet) -> Spec:
    """Return the repairs by age, stacked by type, with humps and trough marked; one plot a sex when there are two."""
    bars, marks = rows(figure, "bars"), rows(figure, "marks")
    ages = age_domain([r["age_from"] for r in bars], [r["age_to"] for r in bars])
    plot = sheet.width - sheet.axis - 12.0
    sexes = list(dict.fromkeys(r["sex"] for r in bars))
    views = [key(type_entries(bars), sheet, plot, left=-sheet.axis)]
    for i, sex in enumerate(sexes):
        shown = [r for r in bars if r["sex"] == sex]
        told = "" if len(sexes) == 1 else f"{wording.sex_heading(sex)}: "
        views.append(_plot(shown, marks if i == 0 else [], ages, plot, told, i == len(sexes) - 1, sheet))
    return whole(figure.title, figure.alt, sheet, views, spacing=14)


def draw_hospitals(figure: Figure, sheet: Sheet) -> Spec:
    """Return one small plot a hospital, each on its own scale, with the ages that it does not take shaded."""
    bars = rows(figure, "bars")
    limits = {r["hospital"]: r for r in rows(figure, "limits")}
    hospitals = list(dict.fromkeys([*(r["hospital"] for r in bars), *limits]))
    ages = age_domain([r["age_from"] for r in bars], [r["age_to"] for r in bars])
    panels = [
        _hospital([r for r in bars if r["hospital"] == name], name, limits.get(name), ages)
        for name in hospitals
    ]
    closed = [Entry("ages not taken", "bar", colour("wash"), edge=colour("edge"))] if limits else []
    views = [
        key(type_entries(bars) + closed, sheet, sheet.width - sheet.axis - 12, left=-sheet.axis),
        line("Groins a year of age; each hospital on its own scale", sheet),
        grid(panels, ages, sheet),
    ]
    return whole(figure.title, figure.alt, sheet, views, spacing=10)


def _hospital(bars: list[Row], name: str, limits: Row | None, ages: tuple[float, float]) -> Panel:
    pieces = stacked(bars)
    places = ticks(max((p["to"] for p in pieces), default=1.0), 4)
    setting = str(bars[0]["setting"]) if bars else ""

    def drawn(x: Spec, y: Spec) -> list[Spec]:
        return [*_closed(limits, ages, places[-1]), *_areas(pieces, x, y, places[-1])]

    return Panel(name, setting, drawn, places, ",d")


def type_entries(shown: Sequence[Row]) -> list[Entry]:
    """Return a key of the types that are there, in words, in the order of the stack from the top."""
    totals: dict[str, int] = {}
    for row in shown:
        totals[row["type"]] = totals.get(row["type"], 0) + int(row["n"] or 0)
    there = [t for t in reversed(STACK_ORDER) if t in totals]
    return [
        Entry(
            wording.type_counted(t, totals[t]),
            "bar",
            colour(t),
            edge=colour("edge") if t == "unknown" else None,
        )
        for t in there
    ]


def stacked(bars: Sequence[Row]) -> list[Row]:
    """Stack densities by type on all edges together.

    Returns
    -------
    list of dict
        One row a type and stretch of ages: age_from, age_to, type, from, to (groins a year of age), and n,
        in words.
    """
    edges = sorted({e for r in bars for e in (r["age_from"], r["age_to"])})
    foot = [0.0] * max(len(edges) - 1, 0)
    pieces: list[Row] = []
    for kind in STACK_ORDER:
        heights = [0.0] * len(foot)
        told = [""] * len(foot)
        for row in bars:
            if row["type"] != kind:
                continue
            first, last = bisect.bisect_left(edges, row["age_from"]), bisect.bisect_left(edges, row["age_to"])
            for i in range(first, last):
                heights[i] += row["per_year"] or 0.0
                told[i] = wording.count(row["n"])
                if last - first > 1:
                    told[i] = wording.counted_within(row["n"], row["age_from"], row["age_to"])
        if not any(told):
            continue
        for i, height in enumerate(heights):
            pieces.append(
                {
                    "age_from": edges[i],
                    "age_to": edges[i + 1],
                    "type": kind,
                    "from": round(foot[i], 4),
                    "to": round(foot[i] + height, 4),
                    "n": told[i] or wording.count(0),
                }
            )
            foot[i] += height
    return pieces


def _plot(
    bars: list[Row],
    marks: list[Row],
    ages: tuple[float, float],
    plot: float,
    told: str,
    last: bool,
    sheet: Sheet,
) -> Spec:
    pieces = stacked(bars)
    places = ticks(max(finite([*(p["to"] for p in pieces), *(m["height"] for m in marks)]), default=1.0), 6)
    top = places[-1]
    tall = 240 if sheet.narrow else 360
    x = age_axis(ages, sheet, plot, title=last)
    y = tall_axis(places, sheet, f"{told}Groins a year of age", ",d")
    pins = _pins(marks, pieces, ages, top, plot, tall, sheet)
    return {"width": plot, "height": tall, "layer": [*_areas(pieces, x, y, top), *pins]}


def _areas(pieces: list[Row], x: Spec, y: Spec, top: float) -> list[Spec]:
    """Return one outline a type, without seams, and over them one unseen box a stretch that tells its counts."""
    there = [t for t in STACK_ORDER if any(p["type"] == t for p in pieces)]
    layers: list[Spec] = []
    for kind in there:
        steps = [
            {"age": p["age_from"], "from": p["from"], "to": p["to"]} for p in pieces if p["type"] == kind
        ]
        steps.append(steps[-1] | {"age": max(p["age_to"] for p in pieces)})
        layers.append(
            {
                "data": values(steps),
                "mark": {
                    "type": "area",
                    "interpolate": "step-after",
                    "fill": colour(kind),
                    # a pale seam tells neighbours apart in grey
                    "stroke": colour("paper"),
                    "strokeWidth": 0.8,
                },
                "encoding": {
                    "x": {"field": "age", **x},
                    "y": {"field": "from", **y},
                    "y2": {"field": "to"},
                },
            }
        )
    boxes: dict[float, Row] = {}
    for piece in pieces:
        box = boxes.setdefault(
            piece["age_from"],
            {
                "from": piece["age_from"],
                "to": piece["age_to"],
                "foot": 0,
                "top": top,
                "ages": wording.age_span(piece["age_from"], piece["age_to"]),
            },
        )
        box[piece["type"]] = piece["n"]
    tip = [("ages", "Age"), *((t, wording.type_word(t)) for t in reversed(there))]
    layers.append(
        {
            "data": values(list(boxes.values())),
            "mark": {"type": "rect", "fill": colour("paper"), "fillOpacity": 0},
            "encoding": {
                "x": {"field": "from", **x},
                "x2": {"field": "to"},
                "y": {"field": "foot", **y},
                "y2": {"field": "top"},
                "tooltip": [{"field": f, "title": t, "type": "nominal"} for f, t in tip],
            },
        }
    )
    return layers


def _closed(limits: Row | None, ages: tuple[float, float], top: float) -> list[Spec]:
    """Return the ages that a hospital does not take, as a pale box behind its bars."""
    if limits is None:
        return []
    boxes = []
    if limits["takes_from"] is not None and limits["takes_from"] > ages[0]:
        boxes.append({"from": ages[0], "to": min(limits["takes_from"], ages[1]), "foot": 0, "top": top})
    if limits["takes_to"] is not None and limits["takes_to"] < ages[1]:
        boxes.append({"from": max(limits["takes_to"], ages[0]), "to": ages[1], "foot": 0, "top": top})
    if not boxes:
        return []
    return [
        {
            "data": values(boxes),
            "mark": {"type": "rect", "fill": colour("wash"), "stroke": colour("rule"), "strokeWidth": 0.7},
            "encoding": {
                "x": {"field": "from", "type": "quantitative"},
                "x2": {"field": "to"},
                "y": {"field": "foot", "type": "quantitative"},
                "y2": {"field": "top"},
            },
        }
    ]


def _pins(
    marks: list[Row],
    pieces: list[Row],
    ages: tuple[float, float],
    top: float,
    plot: float,
    tall: float,
    sheet: Sheet,
) -> list[Spec]:
    """Return humps and troughs: a pin on the outline and its label over it, clear of the bars and of one another."""
    placed: list[tuple[float, float, float]] = []
    layers: list[Spec] = []
    scale = plot / (ages[1] - ages[0])
    for mark in sorted(marks, key=lambda m: -float(m["height"] or 0)):
        if mark["age"] is None or mark["height"] is None:
            continue
        text = str(mark["label"])
        long = fonts.width(text, sheet.text, "semibold")
        pin_x, pin_y = (mark["age"] - ages[0]) * scale, tall * (1 - mark["height"] / top)
        x = min(max(pin_x - long / 2, 8), plot - long)
        beside = pin_x < long / 2
        if beside:
            x = pin_x + 16
        y = _clear(x, x + long, pin_y + (4 if beside else -24), pieces, ages, top, plot, tall)
        while any(a < x + long + 8 and x < b + 8 and abs(c - y) < sheet.text + 4 for a, b, c in placed):
            y -= sheet.text + 4
        placed.append((x, x + long, y))
        layers += _pin(mark, pin_x, pin_y, y + (0 if beside else 10))
        layers += words([{"x": x, "y": y, "text": text}], fontWeight=600)
    return layers


def _clear(
    left: float,
    right: float,
    wish: float,
    pieces: list[Row],
    ages: tuple[float, float],
    top: float,
    plot: float,
    tall: float,
) -> float:
    """Return the height in pixels at which a label lies over every bar beneath it."""
    scale = plot / (ages[1] - ages[0])
    under = [
        p["to"]
        for p in pieces
        if (p["age_to"] - ages[0]) * scale > left - 4 and (p["age_from"] - ages[0]) * scale < right + 4
    ]
    return min(wish, tall * (1 - max(under, default=0.0) / top) - 16)


def _pin(mark: Row, x: float, y: float, to: float | None) -> list[Spec]:
    ink = colour("ink")
    up = mark["what"] == "trough"
    shape = "triangle-up" if up else "triangle-down"
    point: dict[str, Any] = {
        "type": "point",
        "shape": shape,
        "size": 80,
        "fill": ink,
    }
    point |= {"stroke": colour("paper"), "strokeWidth": 1}
    data = values([{"label": mark["label"]}])
    where = {"x": {"value": x}, "y": {"value": y - 7}}
    layers: list[Spec] = []
    if to is not None and to < y - 10:
        line = {"type": "rule", "stroke": ink, "strokeWidth": 1}
        layers.append({"data": data, "mark": line, "encoding": where | {"y2": {"value": to}}})
    tip = {"tooltip": {"field": "label", "type": "nominal"}}
    layers.append({"data": data, "mark": point, "encoding": where | tip})
    return layers
