"""Differences in risk between repairs: one row a pair and horizon, with its limits and its verdict in words.

Frames of the kind ``contrast_risks`` come in; one specification goes out. Nought and the margin are lines
through all rows, so that a reader sees which of them each interval leaves out.
"""

from __future__ import annotations

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures.frames import Row, finite, rows
from hingeline.pictures.pieces import Entry, Spec, key, line, whole
from hingeline.pictures.pixels import Plot, between, dots, foot_axis, lines, room_for, rules, view
from hingeline.pictures.theme import Sheet, colour

MARGIN_DASH = (7, 4)


def draw_contrast(figure: Figure, sheet: Sheet) -> Spec:
    """Return the pairs from top to foot, each with its horizons."""
    shown, margins = rows(figure, "rows"), finite([r["margin"] for r in rows(figure, "margin")])
    if not shown:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    wide = sheet.width - 12.0
    seen = [*finite([r[n] for r in shown for n in ("difference", "low", "high")]), *margins, 0.0]
    places = between(min(seen), max(seen), 4 if sheet.narrow else 6)
    label = (
        0.0 if sheet.narrow else room_for([wording.horizon_label(r["years"]) for r in shown], sheet.text) + 22
    )
    left = 14.0 if sheet.narrow else label + 14
    across = wide - 28 if sheet.narrow else (wide - left) * 0.5
    verdicts = left + across + 30
    plot = Plot(left, 0, across, 1, places[0], places[-1])
    layers: list[Spec] = []
    spans: list[tuple[float, float]] = []
    y = 2.0
    for pair in dict.fromkeys(str(r["pair"]) for r in shown):
        made, tall = lines(0, y + 5, pair, wide, sheet, bold=True, halo=True)
        layers += [*rules([{"x": 0, "x2": wide, "y": y, "y2": y}], "rule"), *made]
        y += tall + 10
        for row in (r for r in shown if r["pair"] == pair):
            made, tall = _row(row, y, plot, verdicts, wide, sheet)
            layers += made
            if row["difference"] is not None:
                start = y + sheet.text + 4
                spans.append((start, start + 22))
            y += tall
        y += 4
    plot = Plot(left, 0, across, y, places[0], places[-1])
    # on a telephone words stand over the plot: lines are seen at the marks only
    stretches = spans if sheet.narrow else [(0.0, y)]
    guides: list[Spec] = []
    for at, dash in [(0.0, ()), *((m, MARGIN_DASH) for m in margins)]:
        across_at = {"x": plot.x(at), "x2": plot.x(at)}
        guides += rules([across_at | {"y": top, "y2": foot} for top, foot in stretches], "ink", 1.4, dash)
    axis, tall = foot_axis(plot, places, wording.points_tick, wording.picture_axis("difference"), sheet)
    views = [view(wide, y + tall, [*guides, *layers, *axis])]
    if margins:
        entry = Entry(wording.margin_key(max(margins)), "line", colour("ink"), dash=MARGIN_DASH, thick=1.4)
        views.insert(0, key([entry], sheet, wide))
    return whole(figure.title, figure.alt, sheet, views, spacing=8)


def _row(
    row: Row, y: float, plot: Plot, verdicts: float, wide: float, sheet: Sheet
) -> tuple[list[Spec], float]:
    """Return one horizon of a pair and its height."""
    told = wording.points_interval(row["difference"], row["low"], row["high"])
    name = wording.horizon_label(row["years"])
    if sheet.narrow:
        head, first = lines(0, y, f"{name}: {told}", wide, sheet)
        over = 24 if row["difference"] is not None else 0
        mark = _interval(row, y + first + 11, plot, told)
        said, second = lines(
            0, y + first + over, str(row["verdict"]), wide, sheet, True, color=colour("soft")
        )
        return [*head, *mark, *said], first + second + over + 10
    head, first = lines(verdicts, y + 4, told, wide - verdicts, sheet)
    said, second = lines(
        verdicts, y + 4 + first, str(row["verdict"]), wide - verdicts, sheet, True, color=colour("soft")
    )
    middle = y + 4 + first / 2
    left, _ = lines(0, y + 4, name, plot.left, sheet)
    return [*left, *head, *said, *_interval(row, middle, plot, told)], first + second + 14


def _interval(row: Row, y: float, plot: Plot, told: str) -> list[Spec]:
    low, high = row["low"], row["high"]
    made: list[Spec] = []
    if low is not None and high is not None:
        ends = plot.x(low), plot.x(high)
        made += rules([{"x": ends[0], "x2": ends[1], "y": y, "y2": y}], "ink", 2)
        made += rules([{"x": x, "x2": x, "y": y - 5, "y2": y + 5} for x in ends], "ink", 2)
    if row["difference"] is not None:
        tip = f"{row['pair']}, {wording.horizon_label(row['years'])}: {told}; {row['verdict']}"
        made += dots(
            [{"x": plot.x(row["difference"]), "y": y, "told": tip}], "circle", "ink", "paper", 110, 1, "told"
        )
    return made
