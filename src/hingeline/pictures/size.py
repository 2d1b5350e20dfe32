"""The size of the next study against the assumption that it hangs on most; the chosen one is marked.

Frames of the kind ``size`` come in; one specification goes out. Sizes over more than a factor of thirty are
laid out by their logarithm, and the axis says so by its ticks.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, finite, rows
from hingeline.pictures.pieces import Spec, apart, line, ticks, whole, words
from hingeline.pictures.pixels import Plot, between, dots, foot_axis, path, room_for, rules, side_axis, view
from hingeline.pictures.theme import OTHER_STYLES, GroupStyle, Sheet, colour

_FACTOR = 30.0
End = tuple[str, GroupStyle, float, float]
"""A series, how it is drawn, and the place of its line's end."""


def draw_size(figure: Figure, sheet: Sheet) -> Spec:
    """Return one line a series, named at its end."""
    given, chosen = rows(figure, "rows"), rows(figure, "chosen")
    shown = [r for r in given if r["size"] is not None and math.isfinite(r["size"])]
    if not shown:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    wide = sheet.width - 12.0
    names = list(dict.fromkeys(str(r["series"]) for r in shown))
    # one series needs no name at its end: it says what is counted
    counted = wording.capital(names[0]) if len(names) == 1 else wording.picture_axis("size")
    titles = (rows(figure, "axes") or [{"x": wording.picture_axis("assumption"), "y": counted}])[0]
    place = _placed([r["assumption"] for r in [*given, *chosen]])
    sizes = finite([r["size"] for r in [*shown, *chosen]])
    log = max(sizes) > _FACTOR * max(min(sizes), 1)
    up = decades(min(sizes), max(sizes)) if log else ticks(max(sizes), 6)
    left = room_for([wording.number_tick(v) for v in up], sheet.text) + 12
    many = len(names) > 1
    margin = min(room_for(names, sheet.text) + 22, 200.0) if many and not sheet.narrow else 20.0
    top = 34.0 + (22.0 * len(names) if many and sheet.narrow else 0.0)
    low, high = min(place.values()), max(place.values())
    aside = 0.04 * (high - low) if high > low else 1.0
    high_px = 230.0 if sheet.narrow else 330.0
    plot = Plot(
        left, top, wide - left - margin, high_px, low - aside, high + aside, up[0] if log else 0, up[-1], log
    )
    form = _form(place)
    at = between(low, high, 5 if sheet.narrow else 8) if _is_number(place) else list(place.values())
    at = [v for v in at if plot.from_x <= v <= plot.to_x]
    axis, tall = foot_axis(plot, at, form, titles["x"], sheet)
    layers = [*side_axis(plot, up, wording.number_tick, "", sheet), *axis]
    layers += words([{"x": 0, "y": sheet.text / 2 + 2, "text": titles["y"]}], halo=False, fontSize=sheet.text)
    ends = []
    layers += _rings(chosen, place, plot)
    for name, style in zip(names, OTHER_STYLES * len(names), strict=False):
        line_rows = sorted((r for r in shown if r["series"] == name), key=lambda r: place[r["assumption"]])
        layers += _series(line_rows, style, place, plot, name if many else "")
        last = line_rows[-1]
        ends.append((name, style, plot.x(place[last["assumption"]]), plot.y(last["size"])))
    if many:
        layers += _keys(ends, plot, sheet) if sheet.narrow else _names(ends, plot, sheet)
    layers += _chosen(chosen, place, plot, sheet)
    return whole(figure.title, figure.alt, sheet, [view(wide, plot.foot + tall, layers)])


def decades(low: float, high: float) -> list[float]:
    """Return 1, 2 and 5 times powers of ten that hold all from low to high."""
    marks = [m * 10.0**p for p in range(0, 13) for m in (1, 2, 5)]
    first = max((v for v in marks if v <= max(low, 1.0)), default=1.0)
    last = min((v for v in marks if v >= high), default=marks[-1])
    inside = [v for v in marks if first <= v <= last]
    return inside if len(inside) <= 8 else [first, *(v for v in inside[1:-1] if math.log10(v) % 1 == 0), last]


def _is_number(place: dict[float | str, float]) -> bool:
    return all(not isinstance(v, str) for v in place)


def _placed(assumptions: list[float | str]) -> dict[float | str, float]:
    """Return where each assumption stands: numbers at their value, words one after the other."""
    if all(not isinstance(v, str) for v in assumptions):
        return {v: float(v) for v in assumptions}
    return {v: float(i) for i, v in enumerate(dict.fromkeys(assumptions))}


def _form(place: dict[float | str, float]) -> Callable[[float], str]:
    if _is_number(place):
        return wording.number_tick
    back = {at: str(name) for name, at in place.items()}
    return lambda at: back.get(at, "")


def _series(
    line_rows: list[Row], style: GroupStyle, place: dict[float | str, float], plot: Plot, name: str
) -> list[Spec]:
    places = [
        {
            "x": plot.x(place[r["assumption"]]),
            "y": plot.y(r["size"]),
            "told": f"{name + ', ' if name else ''}{_told(r['assumption'])}: {wording.number_tick(r['size'])}",
        }
        for r in line_rows
    ]
    return [
        *path(places, style.colour, 2.4, style.dash),
        *dots(places, style.shape, style.colour, "paper", 70, 0.8, "told"),
    ]


def _told(assumption: float | str) -> str:
    return assumption if isinstance(assumption, str) else wording.number_tick(assumption)


def _names(ends: list[End], plot: Plot, sheet: Sheet) -> list[Spec]:
    """Return each series' name at its line's end."""
    placed = apart([y for *_, y in ends], [sheet.text + 5.0] * len(ends), plot.top, plot.foot)
    made: list[Spec] = []
    for (name, style, x, y), at in zip(ends, placed, strict=True):
        right = plot.left + plot.wide
        made += rules([{"x": x + 7, "x2": right + 5, "y": y, "y2": at}], "soft", 0.8)
        told = fonts.shorten(name, 180, sheet.text)
        made += words(
            [{"x": right + 9, "y": at, "text": told}], fontSize=sheet.text, color=colour(style.colour)
        )
    return made


def _keys(ends: list[End], plot: Plot, sheet: Sheet) -> list[Spec]:
    """Return the series' names over the plot, each beside its line: a telephone has no margin."""
    made: list[Spec] = []
    for i, (name, style, *_) in enumerate(ends):
        y = sheet.text / 2 + 2 + 22.0 * (i + 1)
        made += path([{"x": 0, "y": y}, {"x": 26, "y": y}], style.colour, 2.4, style.dash)
        made += dots([{"x": 13, "y": y}], style.shape, style.colour, "paper", 70, 0.8)
        told = fonts.shorten(name, sheet.width - 60, sheet.text)
        made += words([{"x": 34, "y": y, "text": told}], halo=False, fontSize=sheet.text)
    return made


def _rings(chosen: list[Row], place: dict[float | str, float], plot: Plot) -> list[Spec]:
    """Return a ring round the chosen size, with lines to both axes; a series' own mark is seen inside it."""
    made: list[Spec] = []
    for row in (r for r in chosen if r["size"] is not None):
        x, y = plot.x(place[row["assumption"]]), plot.y(row["size"])
        made += rules([{"x": x, "x2": x, "y": y, "y2": plot.foot}], "ink", 1, (2, 3))
        made += rules([{"x": plot.left, "x2": x, "y": y, "y2": y}], "ink", 1, (2, 3))
        made += dots([{"x": x, "y": y}], "circle", "paper", "ink", 300, 2.2)
    return made


def _chosen(chosen: list[Row], place: dict[float | str, float], plot: Plot, sheet: Sheet) -> list[Spec]:
    """Return the words of the chosen size, beside its ring."""
    made: list[Spec] = []
    for row in (r for r in chosen if r["size"] is not None):
        x, y = plot.x(place[row["assumption"]]), plot.y(row["size"])
        label = fonts.shorten(str(row["label"]), plot.wide - 4, sheet.text, "semibold")
        long = fonts.width(label, sheet.text, "semibold")
        start = min(x + 14, plot.left + plot.wide + 14 - long)
        high = y - 20 if y - 20 > plot.top + 4 else y + 20
        made += words([{"x": start, "y": high, "text": label}], fontSize=sheet.text, fontWeight=600)
    return made
