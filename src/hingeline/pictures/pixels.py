"""Plots laid out in pixels: from values to places, axes, bars, marks and lines that look the same in every format.

Where columns of text stand beside a plot, or a table under it, everything is placed here in pixels, so that
words can be measured before anything is drawn; plain values come in, layers go out.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from hingeline.pictures import fonts
from hingeline.pictures.frames import Row
from hingeline.pictures.pieces import Spec, values, words
from hingeline.pictures.theme import Sheet, colour


@dataclass(frozen=True)
class Plot:
    """A plot's frame in pixels and the values at its edges; `log` lays heights out by their logarithm."""

    left: float
    top: float
    wide: float
    high: float
    from_x: float
    to_x: float
    from_y: float = 0.0
    to_y: float = 1.0
    log: bool = False

    def x(self, value: float) -> float:
        """Return the place of a value across, cut at the frame."""
        part = (value - self.from_x) / (self.to_x - self.from_x)
        return round(self.left + self.wide * min(max(part, 0.0), 1.0), 2)

    def y(self, value: float) -> float:
        """Return the place of a value down, cut at the frame."""
        low, at, high = self.from_y, value, self.to_y
        if self.log:
            low, at, high = (math.log(max(v, 1e-9)) for v in (low, at, high))
        part = (at - low) / (high - low)
        return round(self.top + self.high * (1 - min(max(part, 0.0), 1.0)), 2)

    @property
    def foot(self) -> float:
        """Return the place of the lower edge."""
        return self.top + self.high


def between(low: float, high: float, many: int) -> list[float]:
    """Return round places, no more than `many` + 1, that hold all from low to high."""
    span = max(high - low, 1e-9)
    power = 10.0 ** (math.floor(math.log10(span / many)) - 1)
    while True:
        for step in (1, 2, 5):
            size = step * power
            first, last = math.floor(low / size + 1e-9), math.ceil(high / size - 1e-9)
            if last - first <= many:
                return [round(size * i, 9) for i in range(first, max(last, first + 1) + 1)]
        power *= 10


def view(width: float, height: float, layers: Sequence[Spec]) -> Spec:
    """Return one view of layers in pixels."""
    return {"width": width, "height": math.ceil(height), "layer": list(layers)}


_AT = {"type": "quantitative", "scale": None, "axis": None}


def _places(*names: str) -> Spec:
    return {name: {"field": name, **(_AT if name in ("x", "y") else {})} for name in names}


def rules(lines: Sequence[Row], stroke: str, thick: float = 1, dash: Sequence[int] = ()) -> list[Spec]:
    """Return straight lines; rows hold x, y, x2, y2."""
    if not lines:
        return []
    mark: Spec = {"type": "rule", "stroke": colour(stroke), "strokeWidth": thick}
    if dash and tuple(dash) != (1, 0):
        mark["strokeDash"] = list(dash)
    return [{"data": values(lines), "mark": mark, "encoding": _places("x", "y", "x2", "y2")}]


def boxes(places: Sequence[Row], fill: str, stroke: str | None = None, tip: str | None = None) -> list[Spec]:
    """Return filled boxes; rows hold x, y, x2, y2, and what a tooltip tells under the name `tip`."""
    if not places:
        return []
    mark: Spec = {"type": "rect", "fill": colour(fill)}
    if stroke:
        mark |= {"stroke": colour(stroke), "strokeWidth": 1}
    encoding = _places("x", "y", "x2", "y2")
    if tip:
        encoding["tooltip"] = {"field": tip, "type": "nominal"}
    return [{"data": values(places), "mark": mark, "encoding": encoding}]


def dots(
    places: Sequence[Row],
    shape: str,
    fill: str,
    stroke: str,
    size: float = 80,
    thick: float = 1.6,
    tip: str | None = None,
) -> list[Spec]:
    """Return marks; rows hold x, y, may hold an area as `size`, and what a tooltip tells under the name `tip`."""
    if not places:
        return []
    mark: Spec = {"type": "point", "shape": shape, "fill": colour(fill), "stroke": colour(stroke)}
    mark |= {"strokeWidth": thick, "size": size}
    encoding = _places("x", "y")
    if "size" in places[0]:
        encoding["size"] = {"field": "size", "type": "quantitative", "scale": None, "legend": None}
    if tip:
        encoding["tooltip"] = {"field": tip, "type": "nominal"}
    return [{"data": values(places), "mark": mark, "encoding": encoding}]


def path(
    places: Sequence[Row], stroke: str, thick: float, dash: Sequence[int] = (), **mark: Any
) -> list[Spec]:
    """Return one line through places in the order given."""
    if not places:
        return []
    style: Spec = {"type": "line", "stroke": colour(stroke), "strokeWidth": thick, **mark}
    if dash and tuple(dash) != (1, 0):
        style["strokeDash"] = list(dash)
    ordered = [row | {"order": i} for i, row in enumerate(places)]
    order = {"order": {"field": "order", "type": "quantitative"}}
    return [{"data": values(ordered), "mark": style, "encoding": _places("x", "y") | order}]


def area(places: Sequence[Row], fill: str, opacity: float = 1.0, **mark: Any) -> list[Spec]:
    """Return a filled band; rows hold x, y and y2."""
    if not places:
        return []
    style = {"type": "area", "fill": colour(fill), "fillOpacity": opacity, **mark}
    return [{"data": values(places), "mark": style, "encoding": _places("x", "y", "y2")}]


def text(x: float, y: float, told: str, sheet: Sheet, small: bool = False, **mark: Any) -> list[Spec]:
    """Return one line of text; it has no halo."""
    size = sheet.small if small else sheet.text
    return words([{"x": round(x, 2), "y": round(y, 2), "text": told}], halo=False, fontSize=size, **mark)


def lines(
    x: float,
    y: float,
    told: str,
    room: float,
    sheet: Sheet,
    small: bool = False,
    bold: bool = False,
    halo: bool = False,
    **mark: Any,
) -> tuple[list[Spec], float]:
    """Return text broken into lines from y down, and its height."""
    size = sheet.small if small else sheet.text
    step = size + 4.0
    broken = fonts.wrap(told, room, size, "semibold" if bold else "regular")
    rows = [{"x": x, "y": round(y + step * (i + 0.5), 2), "text": one} for i, one in enumerate(broken)]
    return words(rows, halo=halo, fontSize=size, fontWeight=600 if bold else 400, **mark), step * len(broken)


def foot_axis(
    plot: Plot,
    places: Sequence[float],
    form: Callable[[float], str],
    title: str,
    sheet: Sheet,
    grid: bool = False,
) -> tuple[list[Spec], float]:
    """Return a horizontal axis under a plot with its title in lines, and the height it takes."""
    shown = _clear(plot, places, form, sheet)
    made = rules([{"x": plot.left, "x2": plot.left + plot.wide, "y": plot.foot, "y2": plot.foot}], "soft")
    if grid:
        made += rules(
            [{"x": plot.x(v), "x2": plot.x(v), "y": plot.top, "y2": plot.foot} for v in places], "rule"
        )
    made += rules(
        [{"x": plot.x(v), "x2": plot.x(v), "y": plot.foot, "y2": plot.foot + 5} for v in places], "soft"
    )
    cells = [{"x": plot.x(v), "y": plot.foot + 9 + sheet.text / 2, "text": form(v)} for v in shown]
    made += words(cells, halo=False, align="center", fontSize=sheet.text, color=colour("soft"))
    room = sheet.width - 12
    widest = min(fonts.width(title, sheet.text), room)
    middle = plot.left + plot.wide / 2
    start = min(max(middle - widest / 2, 0.0), room - widest)
    head, tall = lines(start, plot.foot + 15 + sheet.text, title, room, sheet)
    return [*made, *head], 15 + sheet.text + tall + 4


def _clear(plot: Plot, places: Sequence[float], form: Callable[[float], str], sheet: Sheet) -> list[float]:
    """Return the places whose labels do not lie on each other: all, every second, every third."""
    for every in range(1, len(places) + 1):
        shown = list(places[::every])
        ends = [(plot.x(v), fonts.width(form(v), sheet.text) / 2 + 4) for v in shown]
        if all(b[0] - a[0] >= a[1] + b[1] for a, b in itertools.pairwise(ends)):
            return shown
    return list(places[:1])


def side_axis(
    plot: Plot, places: Sequence[float], form: Callable[[float], str], title: str, sheet: Sheet
) -> list[Spec]:
    """Return a vertical axis with rules across the plot; its title lies flat over it."""
    made = rules(
        [{"x": plot.left, "x2": plot.left + plot.wide, "y": plot.y(v), "y2": plot.y(v)} for v in places],
        "rule",
    )
    cells = [{"x": plot.left - 9, "y": plot.y(v), "text": form(v)} for v in places]
    made += words(cells, halo=False, align="right", fontSize=sheet.text, color=colour("soft"))
    return [*made, *text(0, plot.top - 12 - sheet.text / 2, title, sheet)]


def room_for(labels: Sequence[str], size: float) -> float:
    """Return the width of the longest of some labels."""
    return max((fonts.width(label, size) for label in labels), default=0.0)
