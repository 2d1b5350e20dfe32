"""Marks on the plot of the direct share: a diamond at each turn, a ring and a bar at each crossing, their labels.

Rows of the frames ``turns`` and ``crossings`` come in; layers go out. Labels of crossings stand in the margin,
each beside its threshold, moved apart where thresholds lie close.
"""

from __future__ import annotations

import math

from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, cut
from hingeline.pictures.pieces import Spec, apart, values, words
from hingeline.pictures.theme import Sheet, colour

GUIDE = [2, 3]
_TOUCHING = 9.0
"""Pixels between two marks below which one would hide the other."""


def guides(turns: list[Row]) -> list[Spec]:
    """Return a dotted line from each identified turn on the fit down to the foot."""
    feet = [
        {"age": r["age"], "share": r["share"], "foot": 0}
        for r in first_stretches(turns)
        if r["age"] is not None
    ]
    return [
        {
            "data": values(feet),
            "mark": {"type": "rule", "stroke": colour("ink"), "strokeDash": GUIDE},
            "encoding": {
                "x": {"field": "age", "type": "quantitative"},
                "y": {"field": "share", "type": "quantitative"},
                "y2": {"field": "foot"},
            },
        }
    ]


def first_stretches(turns: list[Row]) -> list[Row]:
    """Return one row a turn."""
    return list({r["number"]: r for r in reversed(turns)}.values())[::-1]


def turn_marks(turns: list[Row]) -> list[Spec]:
    """Return a diamond at each turn on the fit, hollow when the turn is not identified."""
    marks = [
        {**_turn_told(r), "fill": colour("ink" if r["identified"] else "paper")}
        for r in first_stretches(turns)
        if r["age"] is not None and r["share"] is not None
    ]
    return [
        {
            "data": values(marks),
            "mark": {
                "type": "point",
                "shape": "diamond",
                "size": 190,
                "strokeWidth": 1.8,
            },
            "encoding": {
                "x": {"field": "age", "type": "quantitative"},
                "y": {"field": "share", "type": "quantitative"},
                "fill": {"field": "fill", "type": "nominal", "scale": None},
                "stroke": {"value": colour("ink")},
                "tooltip": {"field": "label", "type": "nominal"},
            },
        }
    ]


def _turn_told(row: Row) -> Row:
    return {name: row[name] for name in ("number", "age", "share", "label")}


def threshold_rules(crossings: list[Row], ages: tuple[float, float]) -> list[Spec]:
    """Return the thin horizontal rules, each over the whole width."""
    lines = [{"threshold": r["threshold"], "from": ages[0], "to": ages[1]} for r in crossings]
    return [
        {
            "data": values(lines),
            "mark": {
                "type": "rule",
                "stroke": colour("soft"),
                "strokeWidth": 0.9,
                "strokeDash": GUIDE,
            },
            "encoding": {
                "x": {"field": "from", "type": "quantitative"},
                "x2": {"field": "to"},
                "y": {"field": "threshold", "type": "quantitative"},
            },
        }
    ]


def _span(row: Row, low: str, high: str, ages: tuple[float, float]) -> Row | None:
    """Return an interval of ages cut at the frame, or None when there is none."""
    if row[low] is None or row[high] is None:
        return None
    return {"from": cut(row[low], *ages), "to": cut(row[high], *ages)}


def crossing_marks(
    crossings: list[Row], turns: list[Row], ages: tuple[float, float], across: float, down: float
) -> list[Spec]:
    """Return each crossing: a bar along its rule from limit to limit, and a ring where the share reaches it.

    Where a turn stands at the same place, the ring is so wide that the turn's diamond is seen inside it;
    `across` and `down` are pixels a year and pixels a whole share.
    """
    bars = [
        {"threshold": r["threshold"], **limits, "thick": 5 if r["headline"] else 3}
        for r in crossings
        if (limits := _span(r, "low", "high", ages)) is not None
    ]
    rings = [
        {
            "threshold": r["threshold"],
            "age": r["age"],
            "label": r["label"],
            "size": _ring(r, turns, across, down),
        }
        for r in crossings
        if r["age"] is not None and math.isfinite(r["age"])
    ]
    y = {"field": "threshold", "type": "quantitative"}
    wide = {"x": {"field": "from", "type": "quantitative"}, "x2": {"field": "to"}, "y": y}
    thick = {"strokeWidth": {"field": "thick", "type": "quantitative", "scale": None}}
    bar: Spec = {"type": "rule", "stroke": colour("ink"), "strokeCap": "butt"}
    return [
        {"data": values(bars), "mark": bar, "encoding": wide | thick},
        {
            "data": values(rings),
            "mark": {
                "type": "point",
                "shape": "circle",
                "fill": colour("paper"),
                "stroke": colour("ink"),
                "strokeWidth": 2.2,
            },
            "encoding": {
                "x": {"field": "age", "type": "quantitative"},
                "y": y,
                "size": {"field": "size", "type": "quantitative", "scale": None},
                "tooltip": {"field": "label", "type": "nominal"},
            },
        },
    ]


def _ring(crossing: Row, turns: list[Row], across: float, down: float) -> float:
    """Return the area of a crossing's ring in square pixels."""
    for turn in turns:
        if turn["age"] is None or turn["share"] is None:
            continue
        aside = math.hypot(
            (turn["age"] - crossing["age"]) * across, (turn["share"] - crossing["threshold"]) * down
        )
        if aside < _TOUCHING:
            return 560.0
    return 150.0 if crossing["headline"] else 90.0


def _lines(row: Row, sheet: Sheet, room: float) -> list[str]:
    """Return a crossing's label in lines: broken before its interval when it is too long for one."""
    weight: fonts.Weight = "semibold" if row["headline"] else "regular"
    text = str(row["label"])
    if fonts.width(text, sheet.text, weight) <= room or " (" not in text:
        return fonts.wrap(text, room, sheet.text, weight)
    head, tail = text.split(" (", 1)
    return [
        *fonts.wrap(head, room, sheet.text, weight),
        *fonts.wrap(f"({tail}", room, sheet.text, weight),
    ]


def margin_for(crossings: list[Row], sheet: Sheet) -> float:
    """Return the room that the crossings' labels need at the right, within reason."""
    if not crossings:
        return 0.0
    widest = max(fonts.width(str(r["label"]), sheet.text, "semibold") for r in crossings)
    return min(widest + 26, 0.27 * sheet.width)


def crossing_labels(
    crossings: list[Row], plot: float, margin: float, tall: float, top: float, sheet: Sheet
) -> list[Spec]:
    """Return the labels at the right, each beside its rule; those too near are moved apart, with a leader."""
    lines = [_lines(row, sheet, margin - 22) for row in crossings]
    step = sheet.text + 2
    sizes = [step * len(told_lines) + 3 for told_lines in lines]
    wanted = [tall * (1 - row["threshold"] / top) for row in crossings]
    placed = apart(wanted, sizes, 0, tall)
    layers: list[Spec] = []
    for row, told_lines, wish, at in zip(crossings, lines, wanted, placed, strict=True):
        leader = {
            "x": {"value": plot + 1},
            "x2": {"value": plot + 18},
            "y": {"value": wish},
            "y2": {"value": at},
        }
        rule = {"type": "rule", "stroke": colour("soft"), "strokeWidth": 0.9}
        layers.append({"data": values([{}]), "mark": rule, "encoding": leader})
        first = at - step * (len(told_lines) - 1) / 2
        text = [{"x": plot + 22, "y": first + step * i, "text": line} for i, line in enumerate(told_lines)]
        layers += words(text, halo=False, fontWeight=600 if row["headline"] else 400)
    return layers
