"""The foot of the direct share's picture: one track a turn, with its interval as a bar and its label beside it.

Rows of the frames ``turns`` and ``crossings`` come in (crossings only on a telephone, where there is no margin);
one view goes out. Labels are put where there is room, measured in the font itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

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


@dataclass(frozen=True)
class Place:
    """Where one track stands in pixels: its bar's height, its label's lines, their start and the side they are on."""

    middle: float
    lines: tuple[str, ...]
    x: float
    y: float
    align: str


def foot(tracks: list[Row], ages: tuple[float, float], plot: float, margin: float, sheet: Sheet) -> Spec:
    """Return the foot: one row a track, its interval as a bar and its label where there is room.

    The latest turn comes first: a guide then comes down on the left of the labels that it passes.
    """
    scale = {"domain": list(ages), "nice": False, "zero": False}
    guides: list[Spec] = []
    marks: list[Spec] = []
    labels: list[Spec] = []
    top = 0.0
    for track in tracks:
        bars = _bars(track, ages)
        place, high = _place(track, bars, top, ages, plot, margin, sheet)
        guides += _guide(track, place.middle, scale)
        marks += _marks(track, bars, place.middle, scale)
        text = [
            {"x": place.x, "y": place.y + (sheet.text + 3) * i, "text": t} for i, t in enumerate(place.lines)
        ]
        labels += words(text, align=place.align, fontWeight=600 if track["bold"] else 400)
        top += high
    return {"width": plot, "height": top + 4, "layer": [*guides, *marks, *labels]}


def _bars(track: Row, ages: tuple[float, float]) -> list[Row]:
    return [
        {"from": cut(a, *ages), "to": cut(b, *ages)}
        for a, b in track["stretches"]
        if a is not None and b is not None
    ]


def _place(
    track: Row,
    bars: list[Row],
    top: float,
    ages: tuple[float, float],
    plot: float,
    margin: float,
    sheet: Sheet,
) -> tuple[Place, float]:
    """Return a track's place and height: its label right of the bar, else left of it, else in lines over it."""
    weight: fonts.Weight = "semibold" if track["bold"] else "regular"
    label, room = str(track["label"]), plot + margin
    known = [track["age"]] if _is_known(track) else []
    ends = [e for bar in bars for e in (bar["from"], bar["to"])] + known or [ages[0]]
    left, right = ((e - ages[0]) * plot / (ages[1] - ages[0]) for e in (min(ends), max(ends)))
    long = fonts.width(label, sheet.text, weight)
    high = sheet.text * 1.75
    if not sheet.narrow and right + 14 + long <= room:
        return Place(top + high / 2, (label,), right + 14, top + high / 2, "left"), high
    if not sheet.narrow and left - 14 - long >= 0:
        return Place(top + high / 2, (label,), left - 14, top + high / 2, "right"), high
    lines = tuple(fonts.wrap(label, room, sheet.text, weight))
    longest = max(fonts.width(one, sheet.text, weight) for one in lines)
    x = min(max(left - 6, 0), max(room - longest, 0))
    over = (sheet.text + 3) * len(lines)
    return Place(top + over + 11, lines, x, top + sheet.text * 0.7, "left"), over + 24


def _is_known(track: Row) -> bool:
    return track["age"] is not None and math.isfinite(track["age"])


def _guide(track: Row, middle: float, scale: Spec) -> list[Spec]:
    """Return the dotted line that comes down from the plot to a turn's mark."""
    if track["what"] != "turn" or not _is_known(track):
        return []
    guide = {"type": "rule", "stroke": colour("ink"), "strokeDash": GUIDE}
    where = {
        "x": {"field": "age", **BARE, "scale": scale},
        "y": {"value": -8},
        "y2": {"value": middle},
    }
    return [{"data": values([{"age": track["age"]}]), "mark": guide, "encoding": where}]


def _marks(track: Row, bars: list[Row], middle: float, scale: Spec) -> list[Spec]:
    """Return a track's bar and the mark on it; a turn that is not identified has a dotted bar and a hollow mark."""
    ink, paper = colour("ink"), colour("paper")
    turn = track["what"] == "turn"
    bar: Spec = {"type": "rule", "stroke": colour("track") if turn else ink, "strokeWidth": 9 if turn else 3}
    if not track["solid"]:
        bar |= {"strokeDash": [3, 3], "strokeWidth": 3}
    ends = {"x": {"field": "from", **BARE, "scale": scale}, "x2": {"field": "to"}, "y": {"value": middle}}
    layers: list[Spec] = [{"data": values(bars), "mark": bar, "encoding": ends}]
    if not _is_known(track):
        return layers
    dot: Spec = {"type": "point", "stroke": ink, "strokeWidth": 1.8}
    dot |= {"shape": "diamond" if turn else "circle", "size": 150 if turn else 80}
    dot |= {"fill": ink if turn and track["solid"] else paper}
    where = {
        "x": {"field": "age", **BARE, "scale": scale},
        "y": {"value": middle},
        "tooltip": {"field": "label", "type": "nominal"},
    }
    data = values([{"age": track["age"], "label": track["label"]}])
    return [*layers, {"data": data, "mark": dot, "encoding": where}]
