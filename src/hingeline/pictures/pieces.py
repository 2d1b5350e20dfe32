"""Pieces of a Vega-Lite specification that several pictures share: axes, heads, keys, text that stands clear.

Plain values come in, plain dictionaries go out; nothing here knows a kind of picture.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hingeline.pictures import fonts
from hingeline.pictures.frames import Row
from hingeline.pictures.theme import SCHEMA, Sheet, colour, config

Spec = dict[str, Any]


def whole(title: str, alt: str, sheet: Sheet, views: Sequence[Spec], **more: Any) -> Spec:
    """Stack views into one picture with a heading, a description and the theme."""
    return {
        "$schema": SCHEMA,
        "description": alt,
        "background": colour("paper"),
        "padding": 6,
        "title": {"text": fonts.wrap(title, sheet.width - 12, sheet.head, "semibold")},
        "vconcat": list(views),
        "config": config(sheet),
        **more,
    }


def age_domain(lows: Sequence[float], highs: Sequence[float]) -> tuple[float, float]:
    """Return the ages to show: from 0 when there are children under 10, to the next multiple of five."""
    low = min(lows, default=0.0)
    high = max(highs, default=95.0)
    return (0.0 if low < 10 else 5 * math.floor(low / 5)), max(5 * math.ceil(high / 5), low + 5)


def age_axis(domain: tuple[float, float], sheet: Sheet, width: float, title: bool = True) -> Spec:
    """Return the encoding of a horizontal axis of ages, with a tick every 1, 5, 10 or 20 years as the room allows."""
    span = domain[1] - domain[0]
    step = next(s for s in (1, 5, 10, 20, 50, 100) if width * s / span >= 45)
    first = step * math.ceil(domain[0] / step)
    return {
        "type": "quantitative",
        "scale": {"domain": list(domain), "nice": False, "zero": False},
        "axis": {
            "values": [first + step * i for i in range(int((domain[1] - first) / step + 1e-9) + 1)],
            "title": "Age at operation (years)" if title else None,
            "labelFlush": False,
            "format": "d",
        },
    }


def ticks(most: float, many: int, steps: Sequence[float] = (1, 2, 5)) -> list[float]:
    """Return places for at most `many` + 1 ticks from 0 to the first round number that is not below `most`.

    A step is one of `steps` times a power of ten: the smallest that needs no more than `many`.
    """
    power = 10.0 ** (math.floor(math.log10(max(most, 1e-9))) - 1)
    while True:
        for step in steps:
            needed = math.ceil(most / (step * power) - 1e-9)
            if needed <= many:
                return [round(step * power * i, 9) for i in range(max(needed, 1) + 1)]
        power *= 10


def tall_axis(places: Sequence[float], sheet: Sheet, title: str | None, form: str) -> Spec:
    """Return the encoding of a vertical axis from 0 whose title lies flat over it, where it can be read."""
    return {
        "type": "quantitative",
        "scale": {"domain": [places[0], places[-1]], "nice": False},
        "axis": {
            "title": title,
            "format": form,
            "values": list(places),
            "minExtent": sheet.axis,
            "maxExtent": sheet.axis,
            "titleAngle": 0,
            "titleAlign": "left",
            "titleAnchor": "end",
            "titleBaseline": "bottom",
            "titleX": -sheet.axis,
            "titleY": -10,
            "labelFlush": False,
        },
    }


def dashed(dash: tuple[int, ...]) -> Spec:
    """Return the dash of a line as a property of its mark; none for a solid line."""
    return {"strokeDash": list(dash)} if dash != (1, 0) else {}


def values(rows: Sequence[Row]) -> Spec:
    """Return data inlined as JSON (CSV would be evaluated as code by the page's interpreter)."""
    return {"values": list(rows)}


def words(rows: Sequence[Row], halo: bool = True, **mark: Any) -> list[Spec]:
    """Return layers of text at places in pixels (rows hold x, y, text); a halo of paper keeps lines off it."""
    place = {
        "x": {"field": "x", "type": "quantitative", "scale": None},
        "y": {"field": "y", "type": "quantitative", "scale": None},
        "text": {"field": "text", "type": "nominal"},
    }
    style = {"type": "text", "align": "left", "baseline": "middle", **mark}
    layers = []
    if halo:
        back = {**style, "stroke": colour("paper"), "strokeWidth": 4, "strokeJoin": "round"}
        layers.append({"data": values(rows), "mark": back, "encoding": place})
    layers.append({"data": values(rows), "mark": style, "encoding": place})
    return layers


def line(text: str, sheet: Sheet) -> Spec:
    """Return lines of text that stand at the left over what follows, as a vertical axis' title does."""
    lines = fonts.wrap(text, sheet.width - 12, sheet.text)
    step = sheet.text + 4
    rows = [{"x": -sheet.axis, "y": step * (i + 0.5), "text": one} for i, one in enumerate(lines)]
    return {
        "width": sheet.width - sheet.axis - 12,
        "height": step * len(lines),
        "layer": words(rows, halo=False, fontSize=sheet.text),
    }


@dataclass(frozen=True)
class Entry:
    """One entry of a key: words, and the sign that stands before them.

    `sign` is ``mark``, ``line``, ``band``, ``bar`` or ``dots``.
    """

    text: str
    sign: str
    fill: str
    shape: str = "square"
    dash: tuple[int, ...] = (1, 0)
    thick: float = 2.5
    edge: str | None = None
    size: float = 110
    weight: fonts.Weight = "regular"


def key(entries: Sequence[Entry], sheet: Sheet, width: float, left: float = 0) -> Spec:
    """Return a row (or rows) of entries laid out in pixels, so that it looks the same in every format."""
    height = sheet.text + 9.0
    x, y = left, height / 2
    layers: list[Spec] = []
    for entry in entries:
        sign = 26 if entry.sign in ("line", "band") else 15
        long = sign + 7 + fonts.width(entry.text, sheet.text, entry.weight) + 18
        if x > left and x + long - 18 > width:
            x, y = left, y + height
        layers += _sign(entry, x, y, sign)
        bold = 600 if entry.weight == "semibold" else 400
        layers += words(
            [{"x": x + sign + 7, "y": y, "text": entry.text}],
            halo=False,
            fontSize=sheet.text,
            fontWeight=bold,
        )
        x += long
    return {"width": width, "height": y + height / 2, "layer": layers}


def _sign(entry: Entry, x: float, y: float, wide: float) -> list[Spec]:
    where = {"x": {"value": x}, "y": {"value": y}}
    if entry.sign == "mark":
        mark: Spec = {"type": "point", "shape": entry.shape, "fill": entry.fill}
        mark |= {"size": entry.size, "stroke": entry.edge or entry.fill, "strokeWidth": 1}
        return [_fixed(mark, {"x": {"value": x + wide / 2}, "y": {"value": y}})]
    if entry.sign == "band":
        mark = {"type": "rect", "fill": entry.fill}
        box = where | {"y": {"value": y - 6}, "x2": {"value": x + wide}, "y2": {"value": y + 6}}
        return [_fixed(mark, box)]
    if entry.sign == "bar":
        mark = {"type": "rect", "fill": entry.fill, "stroke": entry.edge or entry.fill, "strokeWidth": 1}
        box = where | {"y": {"value": y - 6}, "x2": {"value": x + 13}, "y2": {"value": y + 6}}
        return [_fixed(mark, box)]
    mark = {"type": "rule", "stroke": entry.fill, "strokeWidth": entry.thick, **dashed(entry.dash)}
    line = _fixed(mark, where | {"x2": {"value": x + wide}})
    if entry.edge is None:
        return [line]
    dot: Spec = {
        "type": "point",
        "shape": entry.shape,
        "fill": entry.fill,
        "size": 60,
    }
    return [line, _fixed(dot, {"x": {"value": x + wide / 2}, "y": {"value": y}})]


def _fixed(mark: Spec, encoding: Spec) -> Spec:
    return {"data": {"values": [{}]}, "mark": {**mark}, "encoding": encoding}


def apart(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Move things apart until none lies on another, each as near as can be to where it was wanted.

    Least squares under order constraints: the wishes less the room that earlier things take are pooled where
    they would cross (pool adjacent violators; Barlow et al. 1972), then kept within [low, high].

    Parameters
    ----------
    wanted, sizes : sequence of float
        Where the middle of each is wanted, and how much room each takes.
    low, high : float
        Where the first and the last middle may be.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    before = [0.0]
    for one, two in itertools.pairwise(order):
        before.append(before[-1] + (sizes[one] + sizes[two]) / 2)
    blocks: list[tuple[float, int]] = []
    for rank, i in enumerate(order):
        blocks.append((wanted[i] - before[rank], 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, m), (b, n) = blocks[-2:]
            blocks[-2:] = [((a * m + b * n) / (m + n), m + n)]
    top = max(high - before[-1], low)
    level = [min(max(value, low), top) for value, many in blocks for _ in range(many)]
    placed = [0.0] * len(order)
    for rank, i in enumerate(order):
        placed[i] = level[rank] + before[rank]
    return placed
