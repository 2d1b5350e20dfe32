"""Recurrence by time since operation: one step curve a group, its limits, and the groins still followed under it.

Frames of the kind ``recurrence_curves`` come in; one specification goes out. Each curve is named at its end, names
are moved apart where curves end close together, and the numbers under the axis stand below the years they belong to.
"""

from __future__ import annotations

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, cut, finite, rows
from hingeline.pictures.pieces import (
    Entry,
    Spec,
    apart,
    dashed,
    key,
    line,
    tall_axis,
    ticks,
    values,
    whole,
    words,
)
from hingeline.pictures.theme import Sheet, colour, group_style

TITLE = "Groins with a recurrence"


def draw_curves(figure: Figure, sheet: Sheet) -> Spec:
    """Return the curves with the numbers still followed."""
    steps, at_risk, marks = (rows(figure, name) for name in ("steps", "at_risk", "marks"))
    groups = list(dict.fromkeys(r["group"] for r in [*steps, *at_risk]))
    if not steps:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    last = max([r["years"] for r in [*steps, *at_risk]], default=1.0)
    # limits of a curve's thin end do not set the scale
    seen = (
        finite([r["risk"] for r in steps])
        + sorted(finite([r["high"] for r in steps]))[: -len(groups) or None]
    )
    places = ticks(max([*seen, 0.01]), 5)
    names = {name: wording.curve_name(name) for name in groups}
    margin = 0.0 if sheet.narrow else max(fonts.width(n, sheet.text, "semibold") for n in names.values()) + 30
    left = _left(names, sheet)
    plot, tall = sheet.width - left - margin - 14, 240.0 if sheet.narrow else 330.0
    x = _time_axis(last, sheet)
    y = tall_axis(places, sheet, TITLE, ".1%" if places[1] - places[0] < 0.01 else "%")
    layers: list[Spec] = []
    for place, name in enumerate(groups):
        layers += _band([r for r in steps if r["group"] == name], name, place, places[-1], x, y)
    for place, name in enumerate(groups):
        layers += _curve([r for r in steps if r["group"] == name], name, place)
    layers += _points(marks, groups)
    if margin:
        layers += _names(steps, groups, names, last, plot, tall, places[-1], sheet)
    views = [{"width": plot, "height": tall, "layer": layers}]
    if not margin:
        views.insert(0, _key(groups, names, plot, left, sheet))
    views.append(_table(at_risk, groups, names, last, plot, left, sheet))
    return whole(figure.title, figure.alt, sheet, views, spacing=14)


def _key(groups: list[str], names: dict[str, str], plot: float, left: float, sheet: Sheet) -> Spec:
    """Return each group's line and mark with its name: a telephone has no room at the lines' ends."""
    entries = []
    for place, name in enumerate(groups):
        style = group_style(name, place)
        fill = colour(style.colour)
        entries.append(
            Entry(names[name], "line", fill, shape=style.shape, dash=style.dash, thick=2.6, edge=fill)
        )
    return key(entries, sheet, plot, left=-left + 4)


def _left(names: dict[str, str], sheet: Sheet) -> float:
    """Room at the left: for the axis, and for the names of the rows under it."""
    if sheet.narrow:
        return float(sheet.axis)
    return max(sheet.axis, max(fonts.width(name, sheet.small) for name in names.values()) + 34)


def _time_axis(last: float, sheet: Sheet) -> Spec:
    step = next(s for s in (1, 2, 5, 10, 20, 50) if last / s <= (5 if sheet.narrow else 10))
    return {
        "type": "quantitative",
        "scale": {"domain": [0, last], "nice": False},
        "axis": {
            "values": [step * i for i in range(int(last / step + 1e-9) + 1)],
            "title": "Years since operation",
            "format": "d",
            "labelFlush": False,
        },
    }


def _band(steps: list[Row], name: str, place: int, top: float, x: Spec, y: Spec) -> list[Spec]:
    shown = [
        {"years": r["years"], "low": cut(r["low"], 0, top), "high": cut(r["high"], 0, top)}
        for r in steps
        if r["low"] is not None
    ]
    return [
        {
            "data": values(shown),
            "mark": {
                "type": "area",
                "interpolate": "step-after",
                "fill": colour(group_style(name, place).colour),
                "fillOpacity": 0.13,
            },
            "encoding": {"x": {"field": "years", **x}, "y": {"field": "low", **y}, "y2": {"field": "high"}},
        }
    ]


def _curve(steps: list[Row], name: str, place: int) -> list[Spec]:
    """Return a curve; where few remain at risk it goes on as a thin one."""
    style = group_style(name, place)
    cut_at = next((i for i, r in enumerate(steps) if r.get("few")), len(steps))
    parts = [(steps[: cut_at + 1], 2.6, dashed(style.dash))]
    if cut_at < len(steps):
        parts.append((steps[cut_at:], 1.0, {"strokeDash": [2, 2]}))
    return [
        {
            "data": values([{"years": r["years"], "risk": r["risk"]} for r in part]),
            "mark": {
                "type": "line",
                "interpolate": "step-after",
                "stroke": colour(style.colour),
                "strokeWidth": thick,
                **dash,
            },
            "encoding": {
                "x": {"field": "years", "type": "quantitative"},
                "y": {"field": "risk", "type": "quantitative"},
            },
        }
        for part, thick, dash in parts
    ]


def _points(marks: list[Row], groups: list[str]) -> list[Spec]:
    """Return the mark of each group on its curve at the horizon that is told, with what is told as its tooltip."""
    layers = []
    for place, name in enumerate(groups):
        style = group_style(name, place)
        here = [
            {"years": r["years"], "risk": r["risk"], "label": r["label"]} for r in marks if r["group"] == name
        ]
        layers.append(
            {
                "data": values(here),
                "mark": {
                    "type": "point",
                    "shape": style.shape,
                    "fill": colour(style.colour),
                    "stroke": colour("paper"),
                    "strokeWidth": 1,
                    "size": 110,
                },
                "encoding": {
                    "x": {"field": "years", "type": "quantitative"},
                    "y": {"field": "risk", "type": "quantitative"},
                    "tooltip": {"field": "label", "type": "nominal"},
                },
            }
        )
    return layers


def _names(
    steps: list[Row],
    groups: list[str],
    names: dict[str, str],
    last: float,
    plot: float,
    tall: float,
    top: float,
    sheet: Sheet,
) -> list[Spec]:
    """Return each curve's name beside its end."""
    ends = {name: [r for r in steps if r["group"] == name][-1] for name in groups if _has(steps, name)}
    wanted = [tall * (1 - cut_share(ends[name]["risk"], top)) for name in ends]
    placed = apart(wanted, [sheet.text + 5.0] * len(ends), 0, tall)
    layers: list[Spec] = []
    for (name, end), wish, at in zip(ends.items(), wanted, placed, strict=True):
        place = groups.index(name)
        leader = {
            "x": {"value": plot * end["years"] / last + 3},
            "x2": {"value": plot + 16},
            "y": {"value": wish},
            "y2": {"value": at},
        }
        stroke = {"type": "rule", "stroke": colour("soft"), "strokeWidth": 0.8}
        layers.append({"data": values([{}]), "mark": stroke, "encoding": leader})
        layers += words(
            [{"x": plot + 20, "y": at, "text": names[name]}],
            fontSize=sheet.text,
            fontWeight=600,
            color=colour(group_style(name, place).colour),
        )
    return layers


def cut_share(share: float, top: float) -> float:
    """Return a share as a part of the axis, within it."""
    return min(max(share / top, 0.0), 1.0)


def _has(steps: list[Row], name: str) -> bool:
    return any(r["group"] == name for r in steps)


def _table(
    at_risk: list[Row],
    groups: list[str],
    names: dict[str, str],
    last: float,
    plot: float,
    left: float,
    sheet: Sheet,
) -> Spec:
    """Return the numbers still followed, a row a group, each under its year."""
    step = sheet.small + 8.0
    indent = step if sheet.narrow else 0.0
    head = {"x": -left + 4, "y": step / 2, "text": wording.still_followed()}
    layers = words([head], halo=False, fontSize=sheet.small, color=colour("soft"))
    lines = 1
    every = max(1, round(last / (plot / 62)))
    for place, name in enumerate(groups):
        ink = colour(group_style(name, place).colour)
        y = step * (lines + 0.5)
        layers += words(
            [{"x": -left + 4, "y": y, "text": names[name]}], halo=False, fontSize=sheet.small, color=ink
        )
        if indent:  # on a telephone the numbers stand in a line of their own
            y += step
            lines += 1
        cells = [
            {"x": plot * r["years"] / last, "y": y, "text": r["n"]}
            for r in at_risk
            if r["group"] == name and round(r["years"]) % every == 0
        ]
        layers += words(cells, halo=False, fontSize=sheet.small, align="center")
        lines += 1
    return {"width": plot, "height": step * lines, "layer": layers}
