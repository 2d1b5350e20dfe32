"""What those lost would have to show: verdicts over the shares of the lost in each arm that had a recurrence.

Frames of the kind ``tipping`` come in; one specification goes out. Verdicts differ in lightness and in the
small marks laid over them, so that they can be told apart in grey.
"""

from __future__ import annotations

import itertools
from typing import Final

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, rows
from hingeline.pictures.pieces import Spec, line, ticks, whole, words
from hingeline.pictures.pixels import (
    Plot,
    boxes,
    dots,
    foot_axis,
    lines,
    path,
    room_for,
    rules,
    side_axis,
    view,
)
from hingeline.pictures.theme import Sheet

FILLS: Final = ("wash", "band", "track", "wide", "curve", "rule")
SIGNS: Final = (None, "circle", "cross", "triangle-up", "diamond", "stroke")
"""Fill and small mark of each verdict, in the order in which verdicts come."""
_APART: Final = 24.0
"""Pixels between two small marks, at least."""


def draw_tipping(figure: Figure, sheet: Sheet) -> Spec:
    """Return the grid of shares lost, with the verdict of each cell."""
    cells, observed = rows(figure, "cells"), rows(figure, "observed")
    if not cells:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    titles = (
        rows(figure, "axes")
        or [{"x": wording.picture_axis("first_lost"), "y": wording.picture_axis("second_lost")}]
    )[0]
    wide = sheet.width - 12.0
    across, down = (sorted({float(r[n]) for r in cells}) for n in ("first_lost", "second_lost"))
    x_ticks, y_ticks = (ticks(max(v[-1], 0.01), 5) for v in (across, down))
    left = room_for([wording.percent_tick(v) for v in y_ticks], sheet.text) + 12
    head, tall_head = lines(0, 0, titles["y"], wide, sheet)
    edges = _edges(across), _edges(down)
    side = min(wide - left - 14, 420.0)
    plot = Plot(left, tall_head + 12, side, side * 0.85, edges[0][0], edges[0][-1], edges[1][0], edges[1][-1])
    places = _placed(cells, across, down, edges, plot)
    verdicts = list(dict.fromkeys(str(r["verdict"]) for r in cells))
    layers: list[Spec] = []
    for i, verdict in enumerate(verdicts):
        layers += boxes(
            [r for r in places.values() if r["verdict"] == verdict], FILLS[i % 6], FILLS[i % 6], "told"
        )
    layers += _signs(places, verdicts, plot)
    layers += rules(_boundary(places), "ink", 2.2)
    layers += side_axis_words(plot, y_ticks, sheet)
    axis, tall = foot_axis(
        plot, [t for t in x_ticks if t <= plot.to_x], wording.percent_tick, titles["x"], sheet
    )
    layers += [*axis, *head, *_observed(observed, plot, sheet)]
    keys_left = 0.0 if sheet.narrow else plot.left + plot.wide + 34
    start = plot.foot + tall + 8 if sheet.narrow else plot.top
    told, foot = _key(verdicts, keys_left, start, wide, sheet)
    return whole(figure.title, figure.alt, sheet, [view(wide, max(plot.foot + tall, foot), [*layers, *told])])


def side_axis_words(plot: Plot, places: list[float], sheet: Sheet) -> list[Spec]:
    """Return the labels of the vertical axis without rules, which would lie over the cells."""
    made = side_axis(plot, [p for p in places if p <= plot.to_y], wording.percent_tick, "", sheet)
    return [one for one in made if one["mark"]["type"] == "text" and one["data"]["values"][0]["text"]]


def _edges(at: list[float]) -> list[float]:
    """Return the edges of cells that have these middles; the outermost end at their own middles' half-width."""
    inner = [(a + b) / 2 for a, b in itertools.pairwise(at)]
    half = (at[1] - at[0]) / 2 if len(at) > 1 else 0.05
    end = (at[-1] - at[-2]) / 2 if len(at) > 1 else 0.05
    return [at[0] - half, *inner, at[-1] + end]


def _placed(
    cells: list[Row],
    across: list[float],
    down: list[float],
    edges: tuple[list[float], list[float]],
    plot: Plot,
) -> dict[tuple[int, int], Row]:
    """Return each cell's box in pixels with what its tooltip tells."""
    made = {}
    for cell in cells:
        i, j = across.index(float(cell["first_lost"])), down.index(float(cell["second_lost"]))
        shares = f"{wording.percent(cell['first_lost'])}, {wording.percent(cell['second_lost'])}"
        made[i, j] = {
            "x": plot.x(edges[0][i]),
            "x2": plot.x(edges[0][i + 1]),
            "y": plot.y(edges[1][j + 1]),
            "y2": plot.y(edges[1][j]),
            "verdict": str(cell["verdict"]),
            "told": f"{shares}: {cell['verdict']}",
        }
    return made


def _signs(places: dict[tuple[int, int], Row], verdicts: list[str], plot: Plot) -> list[Spec]:
    """Return small marks over the cells, so many that they stand apart."""
    many = [max(key[side] for key in places) + 1 for side in (0, 1)]
    every = [max(1, round(_APART * n / size)) for n, size in zip(many, (plot.wide, plot.high), strict=True)]
    made: list[Spec] = []
    for i, verdict in enumerate(verdicts):
        sign = SIGNS[i % 6]
        if sign is None:
            continue
        spots = [
            {"x": (r["x"] + r["x2"]) / 2, "y": (r["y"] + r["y2"]) / 2}
            for (a, b), r in places.items()
            if r["verdict"] == verdict and a % every[0] == 0 and b % every[1] == 0
        ]
        made += dots(spots, sign, "ink", "ink", 9 if sign == "circle" else 48, 0.4)
    return made


def _boundary(places: dict[tuple[int, int], Row]) -> list[Row]:
    """Return the edges between cells whose verdicts differ."""
    made = []
    for (i, j), cell in places.items():
        right, above = places.get((i + 1, j)), places.get((i, j + 1))
        if right and right["verdict"] != cell["verdict"]:
            made.append({"x": cell["x2"], "x2": cell["x2"], "y": cell["y"], "y2": cell["y2"]})
        if above and above["verdict"] != cell["verdict"]:
            made.append({"x": cell["x"], "x2": cell["x2"], "y": cell["y"], "y2": cell["y"]})
    return made


def _observed(observed: list[Row], plot: Plot, sheet: Sheet) -> list[Spec]:
    """Return the shares as observed among those followed, each with its words beside it."""
    made: list[Spec] = []
    for row in observed:
        x, y = plot.x(row["first_lost"]), plot.y(row["second_lost"])
        made += dots([{"x": x, "y": y}], "diamond", "paper", "ink", 190, 2.2)
        long = fonts.width(str(row["label"]), sheet.text, "semibold")
        right = x + 13 + long <= plot.left + plot.wide
        at = {"x": x + 13 if right else x - 13 - long, "y": min(max(y, plot.top + 9), plot.foot - 10)}
        made += words([at | {"text": str(row["label"])}], fontSize=sheet.text, fontWeight=600)
    return made


def _key(verdicts: list[str], left: float, y: float, wide: float, sheet: Sheet) -> tuple[list[Spec], float]:
    """Return the verdicts in words, each beside its fill and mark, and the line of the boundary."""
    made: list[Spec] = []
    for i, verdict in enumerate(verdicts):
        made += boxes([{"x": left, "x2": left + 28, "y": y, "y2": y + 18}], FILLS[i % 6], "soft")
        sign = SIGNS[i % 6]
        if sign is not None:
            spots = [{"x": left + 9, "y": y + 9}, {"x": left + 20, "y": y + 9}]
            made += dots(spots, sign, "ink", "ink", 9 if sign == "circle" else 48, 0.4)
        said, tall = lines(left + 38, y, verdict, wide - left - 38, sheet)
        made += said
        y += max(tall, 18) + 9
    made += path([{"x": left, "y": y + 9}, {"x": left + 28, "y": y + 9}], "ink", 2.2)
    said, tall = lines(left + 38, y, wording.picture_key("boundary"), wide - left - 38, sheet)
    return [*made, *said], y + tall + 8
