"""Hospitals against their size: each hospital's share where its number of groins would let it lie by chance.

Frames of the kind ``funnel`` come in; one specification goes out. Hospitals outside the 95% limits are filled
and named; where a hospital lies is read from limits at its own number of groins, between two rows if need be.
"""

from __future__ import annotations

import numpy as np

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, finite, rows
from hingeline.pictures.pieces import Entry, Spec, key, line, ticks, whole, words
from hingeline.pictures.pixels import Plot, area, dots, foot_axis, path, room_for, side_axis, view
from hingeline.pictures.theme import Sheet, colour

Box = tuple[float, float, float, float]


def draw_funnel(figure: Figure, sheet: Sheet) -> Spec:
    """Return the hospitals within exact control limits."""
    limits = sorted(rows(figure, "limits"), key=lambda r: float(r["n"]))
    points = [r for r in rows(figure, "points") if r["share"] is not None and r["n"] is not None]
    if not points or not limits:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    titles = (
        rows(figure, "axes") or [{"x": wording.picture_axis("groins"), "y": wording.picture_axis("share")}]
    )[0]
    wide = sheet.width - 12.0
    across = ticks(1.05 * max(finite([r["n"] for r in points])), 4 if sheet.narrow else 8)
    most = max(*finite([r["share"] for r in points]), 2.2 * max(r["centre"] for r in limits), 0.005)
    up = ticks(min(1.08 * most, 1.0), 5)
    left = room_for([wording.percent_tick(v) for v in up], sheet.text) + 12
    plot = Plot(left, 34, wide - left - 16, 230 if sheet.narrow else 330, 0, across[-1], 0, up[-1])
    layers = [*_bands(limits, plot), *side_axis(plot, up, wording.percent_tick, titles["y"], sheet)]
    axis, tall = foot_axis(plot, across, wording.number_tick, titles["x"], sheet)
    middle = [{"x": plot.x(r["n"]), "y": plot.y(r["centre"])} for r in limits]
    layers += [*axis, *path(middle, "ink", 1.4, (6, 3)), *_hospitals(points, limits, plot, sheet)]
    return whole(
        figure.title,
        figure.alt,
        sheet,
        [key(_entries(), sheet, wide), view(wide, plot.foot + tall, layers)],
        spacing=6,
    )


def _entries() -> list[Entry]:
    told = wording.picture_key
    return [
        Entry(told("inner"), "band", colour("band")),
        Entry(told("outer"), "band", colour("wide")),
        Entry(told("centre"), "line", colour("ink"), dash=(6, 3), thick=1.4),
        Entry(told("within"), "mark", colour("paper"), shape="circle", edge=colour("ink"), size=60),
        Entry(told("outside"), "mark", colour("ink"), shape="circle", size=75),
    ]


def _bands(limits: list[Row], plot: Plot) -> list[Spec]:
    made: list[Spec] = []
    for low, high, fill in (("low998", "high998", "wide"), ("low95", "high95", "band")):
        inside = [
            {"x": plot.x(r["n"]), "y": plot.y(r[low]), "y2": plot.y(r[high])}
            for r in limits
            if r[low] is not None and r[high] is not None and r["n"] <= plot.to_x
        ]
        made += area(inside, fill)
    return made


def _hospitals(points: list[Row], limits: list[Row], plot: Plot, sheet: Sheet) -> list[Spec]:
    """Return all hospitals; those outside filled, and named where there is room."""
    places = [
        {
            "x": plot.x(r["n"]),
            "y": plot.y(r["share"]),
            "name": str(r["label"]),
            "out": is_outside(r, limits),
            "told": f"{r['label']}: {wording.percent(r['share'])} "
            f"({wording.series_count(str(r['events']), wording.number_tick(r['n']))})",
        }
        for r in points
    ]
    out = [r for r in places if r["out"]]
    made = dots([r for r in places if not r["out"]], "circle", "paper", "ink", 60, 1.6, "told")
    made += dots(out, "circle", "ink", "paper", 80, 0.8, "told")
    return [*made, *_names(out, places, plot, sheet)]


def is_outside(point: Row, limits: list[Row]) -> bool:
    """Tell whether a hospital's share lies outside the 95% limits at its number of groins."""
    n = [r["n"] for r in limits]
    low = np.interp(point["n"], n, [r["low95"] or 0.0 for r in limits])
    high = np.interp(point["n"], n, [1.0 if r["high95"] is None else r["high95"] for r in limits])
    return bool(point["share"] < low - 1e-9 or point["share"] > high + 1e-9)


def _names(out: list[Row], places: list[Row], plot: Plot, sheet: Sheet) -> list[Spec]:
    """Name each where its name lies on no other name and on no mark: right, left, above or below."""
    taken: list[Box] = [(r["x"] - 6, r["y"] - 6, r["x"] + 6, r["y"] + 6) for r in places]
    told = []
    for place in sorted(out, key=lambda r: float(r["y"])):
        name = fonts.shorten(place["name"], plot.wide - 20, sheet.text)
        long, half = fonts.width(name, sheet.text), sheet.text / 2 + 1
        spots = [
            (place["x"] + dx, place["y"] + dy)
            for dy in (0, -16, 16, -30, 30, -46, 46)
            for dx in (11, -11 - long, -long / 2)
            if dy or dx != -long / 2
        ]
        for x, y in spots:
            box = (x, y - half, x + long, y + half)
            inside = box[0] >= plot.left and box[2] <= plot.left + plot.wide + 14
            inside = inside and box[1] >= plot.top - 4 and box[3] <= plot.foot + 2
            if inside and not any(_meet(box, one) for one in taken):
                taken.append(box)
                told.append({"x": round(x, 2), "y": round(y, 2), "text": name})
                break
    return words(told, fontSize=sheet.text) if told else []


def _meet(one: Box, two: Box) -> bool:
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]
