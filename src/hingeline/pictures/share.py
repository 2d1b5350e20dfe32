"""The picture of the whole project: the direct share by age, where it turns, and where it crosses each threshold.

Frames of the kind ``direct_share`` come in; one specification goes out, made of a key, the plot, and under it one
track a turn with its interval. Squares are the observed shares, their area the number of groins; the thick line
is the hinge fit, the thin one the smooth curve in its bands. Every label's place is worked out here, so that
none lies on another.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures import fonts
from hingeline.pictures.frames import Row, cut, finite, rows
from hingeline.pictures.pieces import (
    Entry,
    Spec,
    age_axis,
    age_domain,
    apart,
    key,
    tall_axis,
    ticks,
    values,
    whole,
    words,
)
from hingeline.pictures.theme import Sheet, colour

TITLE = "Direct share of inguinal hernias"
GUIDE = [2, 3]
BARE = {"type": "quantitative", "axis": None}


def draw_share(figure: Figure, sheet: Sheet, ages: tuple[float, float] | None = None) -> Spec:
    """Return the direct share by age with fit, curve, turns and crossings."""
    points = [told(row) for row in rows(figure, "points")]
    curve, hinge = rows(figure, "curve"), rows(figure, "hinge")
    turns, crossings = rows(figure, "turns"), rows(figure, "crossings")
    if ages is None:
        ages = age_domain([r["age_from"] for r in points], [r["age_to"] for r in points])
    else:
        points = [r for r in points if ages[0] <= r["age"] <= ages[1]]
        turns, crossings = ([r for r in marks if _inside(r, ages)] for marks in (turns, crossings))
    curve, hinge = (within(line, ages) for line in (curve, hinge))
    places = share_ticks(points, [*curve, *hinge], [r["threshold"] for r in crossings], 8)
    margin = 0.0 if sheet.narrow else _margin(crossings, sheet)
    plot, tall = sheet.width - sheet.axis - margin - 12, 300.0 if sheet.narrow else 400.0
    size = Size.of(points, most=110 if sheet.narrow else 190)
    x, y = age_axis(ages, sheet, plot), tall_axis(places, sheet, TITLE, "%")
    layers = [
        *_bands(curve, places[-1], x, y),
        *_thresholds(crossings, ages),
        *_guides(turns),
        *share_points(points, places[-1], x, y, size),
        _line(curve, colour("curve"), 1.5),
        *hinge_layers(hinge),
        *_turn_marks(turns),
        *_crossing_marks(crossings, ages),
    ]
    if margin:
        layers += _crossing_labels(crossings, plot, margin, tall, places[-1], sheet)
    views = [
        key(_entries(points, size), sheet, plot + margin, left=-sheet.axis),
        {"width": plot, "height": tall, "layer": layers},
    ]
    tracks = _turn_tracks(turns)[::-1] + ([] if margin else _crossing_tracks(crossings))
    if tracks:
        views.append(_tracks(tracks, ages, plot, margin, sheet))
    return whole(figure.title, figure.alt, sheet, views, spacing=10)


def close_up(figure: Figure) -> tuple[float, float] | None:
    """Return ages in which to see the picture closer: round the first turns and crossings, when they lie close.

    None when the figure is of another kind, spans less than 40 years, or has no two marks within 12 years.
    """
    if figure.kind != "direct_share":
        return None
    points = rows(figure, "points")
    whole_span = age_domain([r["age_from"] for r in points], [r["age_to"] for r in points])
    marks = sorted(finite([r["age"] for name in ("turns", "crossings") for r in rows(figure, name)]))
    near = [age for age in marks if age - marks[0] <= 12] if marks else []
    if len(near) < 2 or whole_span[1] - whole_span[0] < 40:
        return None
    low = max(whole_span[0], 5.0 * math.floor((near[0] - 6) / 5))
    high = min(whole_span[1], 5.0 * math.ceil((near[-1] + 6) / 5))
    return low, high


def within(line: list[Row], ages: tuple[float, float]) -> list[Row]:
    """Cut a line at two ages, with a point put in at each by straight interpolation."""
    kept = [r for r in line if ages[0] <= r["age"] <= ages[1]]
    for edge, front in ((ages[0], True), (ages[1], False)):
        pair = next((p for p in itertools.pairwise(line) if p[0]["age"] < edge < p[1]["age"]), None)
        if pair is not None:
            kept.insert(0 if front else len(kept), _between_rows(*pair, edge))
    return kept


def _between_rows(a: Row, b: Row, age: float) -> Row:
    part = (age - a["age"]) / (b["age"] - a["age"])
    return {
        name: None if a[name] is None or b[name] is None else a[name] + part * (b[name] - a[name])
        for name in a
    } | {"age": age}


def _inside(mark: Row, ages: tuple[float, float]) -> bool:
    return mark["age"] is not None and ages[0] <= mark["age"] <= ages[1]


def told(row: Row) -> Row:
    """Add to a point what its tooltip says, in words."""
    return row | {
        "ages": wording.age_span(row["age_from"], row["age_to"]),
        "share_told": wording.percent(row["share"]),
        "limits": wording.share_limits(row["low"], row["high"]),
        "groins": wording.count(row["n"]),
    }


def share_ticks(points: list[Row], lines: list[Row], thresholds: list[float], many: int) -> list[float]:
    """Return the ticks of the vertical axis: every share and line lies inside, and the upper limits of 90% of groins."""
    seen = finite([r["share"] for r in [*points, *lines]] + [r.get("high") for r in lines] + thresholds)
    groins = sum(r["n"] for r in points)
    covered = 0.0
    for point in sorted((r for r in points if r["high"] is not None), key=lambda r: float(r["high"])):
        covered += point["n"]
        if covered > 0.9 * groins:
            break
        seen.append(point["high"])
    return ticks(min(max([*seen, 0.01]), 1.0), many, (1, 2, 2.5, 5))


def share_points(points: list[Row], top: float, x: Spec, y: Spec, size: Size) -> list[Spec]:
    """Return the observed shares: squares sized by groins, their intervals, and an arrow where one is cut."""
    amber = colour("direct")
    tip = [
        {"field": "ages", "title": "Age"},
        {"field": "share_told", "title": "Direct share"},
        {"field": "limits", "title": "95% interval"},
        {"field": "groins", "title": "Groins"},
        {"field": "direct", "title": "of them direct"},
    ]
    tip = [{**one, "type": "nominal"} for one in tip]
    at = {"field": "age", **x}
    bars = [
        {
            "age": r["age"],
            "low": cut(r["low"], 0, top),
            "high": cut(r["high"], 0, top),
            "strength": size.strength(r["n"]),
        }
        for r in points
        if r["low"] is not None
    ]
    over = [r | {"edge": top} for r in points if r["high"] is not None and r["high"] > top]
    layers: list[Spec] = [
        {
            "data": values(bars),
            "mark": {"type": "rule", "stroke": amber, "strokeWidth": 1.3 if size.most > 150 else 1},
            "encoding": {
                "x": at,
                "y": {"field": "low", **y},
                "y2": {"field": "high"},
                "strokeOpacity": {"field": "strength", "type": "quantitative", "scale": None},
            },
        }
    ]
    if over:
        mark = {
            "type": "point",
            "shape": "triangle-up",
            "size": 26,
            "fill": amber,
            "yOffset": 3,
        }
        layers.append(
            {"data": values(over), "mark": mark, "encoding": {"x": at, "y": {"field": "edge", **y}}}
        )
    layers.append(
        {
            "data": values([r for r in points if r["share"] is not None]),
            "mark": {
                "type": "point",
                "shape": "square",
                "fill": amber,
                "stroke": colour("paper"),
                "strokeWidth": 0.7,
            },
            "encoding": {
                "x": at,
                "y": {"field": "share", **y},
                "size": {
                    "field": "n",
                    "type": "quantitative",
                    "scale": {"type": "linear", "domain": [0, size.groins], "range": [size.least, size.most]},
                    "legend": None,
                },
                "tooltip": tip,
            },
        }
    )
    return layers


@dataclass(frozen=True)
class Size:
    """How the area of a square tells the number of groins: in proportion, over a least size that can be seen."""

    groins: float
    least: float
    most: float

    @staticmethod
    def of(points: list[Row], most: float) -> Size:
        """Let the largest number among points have the largest square."""
        return Size(max(finite([r["n"] for r in points]), default=1.0), 8.0, most)

    def strength(self, groins: float) -> float:
        """Return how dark an interval is: few groins speak softly, and more so in small plots."""
        return round((0.22 if self.most > 150 else 0.15) + 0.43 * math.sqrt(min(groins / self.groins, 1)), 3)

    def area(self, groins: float) -> float:
        """Return the area in square pixels."""
        return self.least + (self.most - self.least) * groins / self.groins


def groin_entry(points: list[Row], size: Size) -> Entry:
    """Return the key's square with the number of groins that it stands for."""
    shown = _round_down(size.groins)
    text = f"observed (this size: {wording.count(shown, 'groin')})"
    return Entry(text, "mark", colour("direct"), size=size.area(shown))


def _entries(points: list[Row], size: Size) -> list[Entry]:
    return [
        groin_entry(points, size),
        Entry("hinge fit", "line", colour("ink"), thick=3),
        Entry("smooth curve", "line", colour("curve"), thick=1.5),
        Entry("95% band at an age", "band", colour("band")),
        Entry("and over all ages", "band", colour("wide")),
    ]


def _round_down(value: float) -> int:
    """Return 1, 2 or 5 times a power of ten, not more than a value."""
    power = 10 ** math.floor(math.log10(max(value, 1)))
    return int(max(s * power for s in (1, 2, 5) if s * power <= max(value, 1)))


def _bands(curve: list[Row], top: float, x: Spec, y: Spec) -> list[Spec]:
    layers = []
    for low, high, name in (("wide_low", "wide_high", "wide"), ("low", "high", "band")):
        layers.append(
            {
                "data": values([b for r in curve if (b := _band(r, low, high, top)) is not None]),
                "mark": {"type": "area", "fill": colour(name)},
                "encoding": {
                    "x": {"field": "age", **x},
                    "y": {"field": "low", **y},
                    "y2": {"field": "high"},
                },
            }
        )
    return layers


def _band(row: Row, low: str, high: str, top: float) -> Row | None:
    """Return a band at one age, cut at the frame (a clip would cost each picture a third of a second)."""
    if row[low] is None or row[high] is None:
        return None
    return {"age": row["age"], "low": cut(row[low], 0, top), "high": cut(row[high], 0, top)}


def _line(points: list[Row], stroke: str, thick: float) -> Spec:
    return {
        "data": values([{"age": r["age"], "share": r["share"]} for r in points]),
        "mark": {"type": "line", "stroke": stroke, "strokeWidth": thick},
        "encoding": {
            "x": {"field": "age", "type": "quantitative"},
            "y": {"field": "share", "type": "quantitative"},
        },
    }


def hinge_layers(hinge: list[Row], thick: float = 3) -> list[Spec]:
    """Return the hinge fit on a thin edge of paper, so that it stands clear of the squares."""
    return [_line(hinge, colour("paper"), thick + 2.5), _line(hinge, colour("ink"), thick)]


def _guides(turns: list[Row]) -> list[Spec]:
    """Return a dotted line from each identified turn on the fit down to the foot."""
    feet = [
        {"age": r["age"], "share": r["share"], "foot": 0}
        for r in _first_stretches(turns)
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


def _first_stretches(turns: list[Row]) -> list[Row]:
    """Return one row a turn."""
    return list({r["number"]: r for r in reversed(turns)}.values())[::-1]


def _turn_marks(turns: list[Row]) -> list[Spec]:
    marks = [
        {**_turn_told(r), "fill": colour("ink" if r["identified"] else "paper")}
        for r in _first_stretches(turns)
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


def _thresholds(crossings: list[Row], ages: tuple[float, float]) -> list[Spec]:
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


def span(row: Row, low: str, high: str, ages: tuple[float, float]) -> Row | None:
    """Return an interval of ages cut at the frame, or None when there is none."""
    if row[low] is None or row[high] is None:
        return None
    return {"from": cut(row[low], *ages), "to": cut(row[high], *ages)}


def _crossing_marks(crossings: list[Row], ages: tuple[float, float]) -> list[Spec]:
    """Return each crossing: a bar along its rule from limit to limit, and a ring where the share reaches it."""
    bars = [
        {"threshold": r["threshold"], **limits, "thick": 5 if r["headline"] else 3}
        for r in crossings
        if (limits := span(r, "low", "high", ages)) is not None
    ]
    rings = [
        {
            "threshold": r["threshold"],
            "age": r["age"],
            "label": r["label"],
            "size": 150 if r["headline"] else 90,
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


def _margin(crossings: list[Row], sheet: Sheet) -> float:
    """Return the room that the crossings' labels need at the right, within reason."""
    if not crossings:
        return 0.0
    widest = max(fonts.width(str(r["label"]), sheet.text, "semibold") for r in crossings)
    return min(widest + 26, 0.27 * sheet.width)


def _crossing_labels(
    crossings: list[Row], plot: float, margin: float, tall: float, top: float, sheet: Sheet
) -> list[Spec]:
    """Return the labels at the right, each beside its rule; those too near are moved apart, with a leader."""
    lines = [_lines(row, sheet, margin - 22) for row in crossings]
    step = sheet.text + 2
    gap = step * max((len(told) for told in lines), default=1) + 3
    wanted = [tall * (1 - row["threshold"] / top) for row in crossings]
    placed = apart(wanted, gap, 0, tall)
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


def _turn_tracks(turns: list[Row]) -> list[Row]:
    """Return one track a turn: its stretches, its mark and its label."""
    tracks = []
    for first in _first_stretches(turns):
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


def _crossing_tracks(crossings: list[Row]) -> list[Row]:
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


def _tracks(tracks: list[Row], ages: tuple[float, float], plot: float, margin: float, sheet: Sheet) -> Spec:
    """Return the foot: one row a track, its interval as a bar and its label where there is room.

    The latest turn comes first: a guide comes down on the left of the labels that it passes, and crosses none.
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
