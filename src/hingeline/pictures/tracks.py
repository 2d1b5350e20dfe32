"""The foot of the direct share's picture: one track a turn, with its interval as a bar and its label beside it.

Rows of the frames ``turns`` and ``crossings`` come in (crossings only on a telephone, where there is no margin);
one view goes out. Labels are put where there is room, measured in the font itself.
"""

from __future__ import annotations

import math

from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, cut
from hingeline.pictures.marks import GUIDE, first_stretches
from hingeline.pictures.pieces import Spec, values, words
from hingeline.pictures.theme import Sheet, colour

BARE = {"type": "quantitative", "axis": None}


def turn_tracks(turns: list[Row]) -> list[Row]:
    """Return one track a turn: its stretches, its mark and its label."""
    tracks = []
    for first in first_stretches(turns):
        stretches = [r for r in turns if r["number"] == first["number"]]
        tracks.append(
            {
                "what": "turn",
                "age": first["age"],
                "label": first["label"],
                "solid": bool(first["identified"]),
                "bold": False,
                "stretches": [(r["from_age"], r["to_age"]) for r in stretches],
            }
        )
    return tracks


def crossing_tracks(crossings: list[Row]) -> list[Row]:
    """Return one track a threshold."""
    return [
        {
            "what": "crossing",
            "age": r["age"],
            "label": r["label"],
            "solid": True,
            "bold": r["headline"],
            "stretches": [(r["low"], r["high"])] if r["low"] is not None and r["high"] is not None else [],
        }
        for r in crossings
    ]


def foot(tracks: list[Row], ages: tuple[float, float], plot: float, margin: float, sheet: Sheet) -> Spec:
    """Return the foot: one row a track, its interval as a bar and its label where there is room.

    The latest turn comes first: a guide comes down on the left of the labels that it passes, and crosses
    none.
    """
    step = sheet.text * (2.6 if sheet.narrow else 1.75)
    layers: list[Spec] = []
    scale = plot / (ages[1] - ages[0])
    shown = {"domain": list(ages), "nice": False, "zero": False}
    for i, track in enumerate(tracks):
        middle = step * (i + (0.72 if sheet.narrow else 0.5))
        bars = [
            {"from": cut(a, *ages), "to": cut(b, *ages)}
            for a, b in track["stretches"]
            if a is not None and b is not None
        ]
        layers += _track(track, bars, middle, shown)
        layers += _track_label(track, bars, middle, ages, scale, plot, margin, sheet)
    return {"width": plot, "height": step * len(tracks) + 4, "layer": layers}


def _track(track: Row, bars: list[Row], middle: float, scale: Spec) -> list[Spec]:
    ink, paper = colour("ink"), colour("paper")
    x = {"field": "from", **BARE, "scale": scale}
    turn = track["what"] == "turn"
    bar: Spec = {"type": "rule", "stroke": ink, "strokeWidth": 3}
    if turn:
        bar |= {"stroke": colour("track"), "strokeWidth": 9}
    if not track["solid"]:
        bar |= {"strokeDash": [3, 3], "strokeWidth": 3}
    layers: list[Spec] = [
        {
            "data": values(bars),
            "mark": bar,
            "encoding": {"x": x, "x2": {"field": "to"}, "y": {"value": middle}},
        }
    ]
    if track["age"] is None or not math.isfinite(track["age"]):
        return layers
    dot: Spec = {"type": "point", "stroke": ink, "strokeWidth": 1.8}
    dot |= {"shape": "diamond" if turn else "circle", "size": 150 if turn else 80}
    dot |= {"fill": ink if turn and track["solid"] else paper}
    at = {"field": "age", **BARE, "scale": scale}
    data = values([{"age": track["age"], "label": track["label"]}])
    if turn:
        guide: Spec = {"type": "rule", "stroke": ink, "strokeDash": GUIDE}
        layers.append(
            {"data": data, "mark": guide, "encoding": {"x": at, "y": {"value": -8}, "y2": {"value": middle}}}
        )
    tip = {"field": "label", "type": "nominal"}
    layers.append({"data": data, "mark": dot, "encoding": {"x": at, "y": {"value": middle}, "tooltip": tip}})
    return layers


def _track_label(
    track: Row,
    bars: list[Row],
    middle: float,
    ages: tuple[float, float],
    scale: float,
    plot: float,
    margin: float,
    sheet: Sheet,
) -> list[Spec]:
    """Return a track's label: right of its bar, else left of it, else over it."""
    weight: fonts.Weight = "semibold" if track["bold"] else "regular"
    bold = 600 if track["bold"] else 400
    known = [track["age"]] if track["age"] is not None and math.isfinite(track["age"]) else []
    ends = [e for bar in bars for e in (bar["from"], bar["to"])] + known or [ages[0]]
    left, right = ((e - ages[0]) * scale for e in (min(ends), max(ends)))
    room = plot + margin
    long = fonts.width(str(track["label"]), sheet.text, weight)
    if sheet.narrow:
        text = fonts.shorten(str(track["label"]), room, sheet.text, weight)
        x = min(max(left - 6, 0), max(room - fonts.width(text, sheet.text, weight), 0))
        return words([{"x": x, "y": middle - sheet.text, "text": text}], fontWeight=bold)
    if right + 12 + long <= room or left - 12 - long < 0:
        text = fonts.shorten(str(track["label"]), room - right - 12, sheet.text, weight)
        return words([{"x": right + 12, "y": middle, "text": text}], fontWeight=bold)
    return words([{"x": left - 12, "y": middle, "text": track["label"]}], align="right", fontWeight=bold)
