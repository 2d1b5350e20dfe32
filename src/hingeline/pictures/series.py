"""Series beside their pool: one row a series with its share, limits and weight; the pool as a wide mark under them.

Frames of the kind ``pooled_series`` come in; one specification goes out. Counts and shares stand in words
beside the marks; published summaries stand apart under a rule, for they are not in the pool.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures.frames import Row, finite, rows
from hingeline.pictures.pieces import Spec, line, ticks, whole
from hingeline.pictures.pixels import Plot, area, dots, foot_axis, lines, room_for, rules, text, view
from hingeline.pictures.theme import Sheet, colour

_MOST_SIDE = 15.0
"""Side in pixels of the square of the heaviest series."""


def draw_series(figure: Figure, sheet: Sheet) -> Spec:
    """Return series, pool, prediction and summaries, from top to foot."""
    shown = [r | {"label": str(r["label"])} for r in rows(figure, "series")]
    if not shown:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    ordered = [
        r for kind in ("series", "pooled", "prediction", "summary") for r in shown if r["kind"] == kind
    ]
    wide = sheet.width - 12
    columns = _columns(ordered, sheet)
    top = ticks(min(max([*_seen(ordered), 0.01]), 1.0), 4 if sheet.narrow else 5)
    layers, y = _heads(columns, sheet)
    start = y
    plot = Plot(columns.plot, start, columns.wide, 1, 0, top[-1])
    marks: list[Spec] = []
    spans: list[tuple[float, float]] = []
    heaviest = max([*finite([r["weight"] for r in ordered if r["kind"] == "series"]), 1e-9])
    ordered = [r | {"part": (r["weight"] or 0.0) / heaviest} for r in ordered]
    before = ""
    for row in ordered:
        if row["kind"] == "summary" and before != "summary":
            marks += rules([{"x": 0, "x2": wide, "y": y + 7, "y2": y + 7}], "soft")
            head, tall = lines(
                0, y + 13, wording.picture_key("summaries"), wide, sheet, True, color=colour("soft")
            )
            marks += head
            y += 15 + tall
        if row["kind"] == "pooled":
            marks += rules([{"x": 0, "x2": wide, "y": y + 3, "y2": y + 3}], "rule")
            y += 5
        made, tall = _row(row, y, plot, columns, sheet)
        marks += made
        y += tall
        if row["low"] is not None:
            spans.append((y - 19, y - 2))
        before = row["kind"]
    plot = Plot(columns.plot, start, columns.wide, y - start + 4, 0, top[-1])
    axis, tall = foot_axis(plot, top, wording.percent_tick, wording.picture_axis("share"), sheet)
    guide = [
        {"x": plot.x(r["share"]), "x2": plot.x(r["share"]), "y": top_y, "y2": foot_y}
        for r in ordered
        if r["kind"] == "pooled" and r["share"] is not None
        # on a telephone names stand over the plot: the line is seen at the marks only
        for top_y, foot_y in (spans if sheet.narrow else [(start, plot.foot)])
    ]
    layers += [*rules(guide, "soft", 1, (2, 3)), *marks, *axis]
    return whole(figure.title, figure.alt, sheet, [view(wide, plot.foot + tall, layers)])


def _seen(shown: list[Row]) -> list[float]:
    """Return what must lie inside the plot: all shares, the pool's limits, and most upper limits."""
    highs = sorted(finite([r["high"] for r in shown if r["kind"] != "prediction"]))
    pool = finite([r["high"] for r in shown if r["kind"] in ("pooled", "prediction")])
    most = highs[: max(1, round(0.85 * len(highs)))]
    inside = max([*finite([r["share"] for r in shown]), *most, 0.0])
    return [inside, *(min(v, 1.5 * inside) for v in pool)]


@dataclass(frozen=True)
class Columns:
    """Where the columns stand: right edges of counts and weights (0: no weights),
    left edges of words, the plot between.
    """

    label: float
    events: float
    groins: float
    follow_up: float
    plot: float
    wide: float
    share: float
    weight: float


def _columns(shown: list[Row], sheet: Sheet) -> Columns:
    whole_width = sheet.width - 12.0
    if sheet.narrow:
        return Columns(whole_width, 0, 0, 0, 8, whole_width - 30, 0, 0)
    head = wording.picture_column
    label = min(room_for([r["label"] for r in shown], sheet.text) + 8, 215.0)
    events = label + 14 + room_for([head("events"), *(str(r["events"] or "") for r in shown)], sheet.text)
    groins = events + 16 + room_for([head("groins"), *(str(r["n"] or "") for r in shown)], sheet.text)
    told = [str(r["follow_up"] or "") for r in shown]
    follow = min(room_for([head("follow_up"), *told], sheet.text), 120.0) + 16 if any(told) else 0.0
    weighed = any(r["weight"] for r in shown if r["kind"] == "series")
    weight_room = room_for([head("weight")], sheet.text) if weighed else 0.0
    share_room = room_for([head("share"), *(_share_told(r) for r in shown)], sheet.text)
    share = whole_width - (weight_room + 16 if weighed else 0.0) - share_room
    plot = groins + follow + 22
    return Columns(
        label,
        events,
        groins,
        groins + 16 if follow else 0.0,
        plot,
        share - 18 - plot,
        share,
        whole_width if weighed else 0.0,
    )


def _share_told(row: Row) -> str:
    shown = None if row["kind"] == "prediction" else row["share"]
    return wording.limits_cell(shown, row["low"], row["high"])


def _heads(columns: Columns, sheet: Sheet) -> tuple[list[Spec], float]:
    if sheet.narrow:
        return [], 4.0
    soft, y, head = colour("soft"), sheet.text / 2 + 4, wording.picture_column
    made = [
        *text(0, y, head("series"), sheet, color=soft),
        *text(columns.events, y, head("events"), sheet, align="right", color=soft),
        *text(columns.groins, y, head("groins"), sheet, align="right", color=soft),
        *text(columns.share, y, head("share"), sheet, color=soft),
    ]
    if columns.weight:
        made += text(columns.weight, y, head("weight"), sheet, align="right", color=soft)
    if columns.follow_up:
        made += text(columns.follow_up, y, head("follow_up"), sheet, color=soft)
    return made, sheet.text + 16.0


def _row(row: Row, y: float, plot: Plot, columns: Columns, sheet: Sheet) -> tuple[list[Spec], float]:
    """Return one row and its height."""
    bold = row["kind"] == "pooled"
    ink: dict[str, Any] = {"color": colour("soft" if row["kind"] in ("prediction", "summary") else "ink")}
    if sheet.narrow:
        name, tall = lines(0, y, row["label"], columns.label, sheet, bold=bold, **ink)
        told = [_share_told(row)]
        if row["events"] and row["n"]:
            told.insert(0, wording.series_count(row["events"], row["n"]))
        if row["follow_up"]:
            told.append(str(row["follow_up"]))
        more, second = lines(0, y + tall, ", ".join(told), columns.label, sheet, True, color=colour("soft"))
        middle = y + tall + second + 10
        return [*name, *more, *_mark(row, middle, plot)], tall + second + (
            24 if row["low"] is not None else 10
        )
    name, tall = lines(0, y + 3, row["label"], columns.label, sheet, bold=bold, **ink)
    told_up, up = lines(
        columns.follow_up, y + 3, str(row["follow_up"] or ""), 120, sheet, color=colour("soft")
    )
    height = max(tall, up if row["follow_up"] else 0) + 7
    middle = y + height / 2
    weight = (
        wording.percent(row["weight"], 0)
        if row["share"] is not None and row["kind"] == "series" and row["weight"]
        else ""
    )
    face = 600 if bold else 400
    made = list(name)
    for x, told_here, align in (
        (columns.events, str(row["events"] or ""), "right"),
        (columns.groins, str(row["n"] or ""), "right"),
        (columns.share, _share_told(row), "left"),
        (columns.weight, weight, "right"),
    ):
        if told_here:
            made += text(x, middle, told_here, sheet, align=align, fontWeight=face, **ink)
    if row["follow_up"] and columns.follow_up:
        made += told_up
    return [*made, *_mark(row, middle, plot)], height


def _mark(row: Row, y: float, plot: Plot) -> list[Spec]:
    """Return a row's limits and mark; an arrow where a limit is cut."""
    low, high, share = row["low"], row["high"], row["share"]
    tip = {"told": f"{row['label']}: {_share_told(row)}"}
    if low is None or high is None:
        return []
    ends = {"x": plot.x(low), "x2": plot.x(high), "y": y, "y2": y}
    if row["kind"] == "pooled" and share is not None:
        middle = max(plot.x(share), ends["x"] + 0.1)
        wedge = [(ends["x"], 0), (middle, 8), (max(ends["x2"], middle + 0.1), 0)]
        places = [{"x": x, "y": y - half, "y2": y + half} | tip for x, half in wedge]
        return area(places, "ink")
    if row["kind"] == "prediction":
        sides = [{"x": x, "x2": x, "y": y - 5, "y2": y + 5} for x in (ends["x"], ends["x2"])]
        made = [*rules([ends], "ink", 1.4), *rules(sides, "ink", 1.4)]
    else:
        made = rules([ends], "soft" if row["kind"] == "summary" else "ink", 1.4)
    if high > plot.to_x:
        made += dots([{"x": plot.x(high) + 3, "y": y}], "triangle-right", "ink", "ink", 36, 0)
    if share is None or row["kind"] == "prediction":
        return made
    if row["kind"] == "summary":
        return [
            *made,
            *dots([{"x": plot.x(share), "y": y} | tip], "square", "paper", "soft", 70, 1.6, "told"),
        ]
    side = max(4.5, _MOST_SIDE * row["part"] ** 0.5)
    return [
        *made,
        *dots([{"x": plot.x(share), "y": y} | tip], "square", "ink", "paper", side * side, 0.8, "told"),
    ]
