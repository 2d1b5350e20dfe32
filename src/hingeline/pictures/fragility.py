"""What one more event would do: the estimate at each number of events, with the verdicts as lettered regions.

Frames of the kind ``one_more`` come in; one specification goes out. Each run of changes with one verdict is a
region with a letter, and the letters are told in words under the plot.
"""

from __future__ import annotations

import itertools

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures.frames import Row, finite, rows
from hingeline.pictures.pieces import Entry, Spec, key, line, whole, words
from hingeline.pictures.pixels import (
    Plot,
    between,
    boxes,
    dots,
    foot_axis,
    lines,
    room_for,
    rules,
    side_axis,
    text,
    view,
)
from hingeline.pictures.theme import Sheet, colour

MARGIN_DASH = (7, 4)


def draw_one_more(figure: Figure, sheet: Sheet) -> Spec:
    """Return the estimates from five events fewer to ten more."""
    shown = sorted(rows(figure, "rows"), key=lambda r: int(r["change"]))
    margins = finite([r["margin"] for r in rows(figure, "margin")])
    if not shown:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    titles = (
        rows(figure, "axes") or [{"x": wording.picture_axis("events"), "y": wording.picture_axis("estimate")}]
    )[0]
    wide = sheet.width - 12.0
    seen = [*finite([r[n] for r in shown for n in ("estimate", "low", "high")]), *margins, 0.0]
    up = between(min(seen), max(seen), 6)
    left = room_for([wording.points_tick(v) for v in up], sheet.text) + 14
    head, tall_head = lines(0, 0, titles["y"], wide, sheet)
    top = tall_head + 12.0 + sheet.text + 6
    first, last = shown[0]["change"] - 0.6, shown[-1]["change"] + 0.6
    plot = Plot(left, top, wide - left - 4, 220 if sheet.narrow else 310, first, last, up[0], up[-1])
    regions = [(v, list(run)) for v, run in itertools.groupby(shown, key=lambda r: str(r["verdict"]))]
    letters = _letters([v for v, _ in regions])
    several = len(letters) > 1
    layers = _regions(regions, letters, plot, sheet) if several else []
    layers += [*side_axis(plot, up, wording.points_tick, "", sheet), *head]
    layers += _guides(margins, plot)
    layers += _marks(shown, plot)
    axis, tall = foot_axis(
        plot, [r["change"] for r in shown], lambda v: wording.change_tick(round(v)), titles["x"], sheet
    )
    layers += axis
    told, under = _told(regions, letters, plot.foot + tall + 8, wide, sheet)
    entries = [Entry(wording.picture_key("observed"), "mark", colour("ink"), shape="diamond", size=170)]
    if margins:
        entries.append(
            Entry(wording.margin_key(margins[0]), "line", colour("ink"), dash=MARGIN_DASH, thick=1.4)
        )
    views = [key(entries, sheet, wide), view(wide, plot.foot + tall + 8 + under, [*layers, *told])]
    return whole(figure.title, figure.alt, sheet, views, spacing=8)


def _letters(verdicts: list[str]) -> dict[str, str]:
    return {verdict: "ABCDEFGH"[i % 8] for i, verdict in enumerate(dict.fromkeys(verdicts))}


def _edges(run: list[Row], plot: Plot) -> tuple[float, float]:
    return plot.x(run[0]["change"] - 0.5), plot.x(run[-1]["change"] + 0.5)


def _regions(
    regions: list[tuple[str, list[Row]]], letters: dict[str, str], plot: Plot, sheet: Sheet
) -> list[Spec]:
    """Return the regions, every second shaded, each with its letter over it."""
    made: list[Spec] = []
    for i, (verdict, run) in enumerate(regions):
        left, right = _edges(run, plot)
        if i % 2 == 0:
            made += boxes([{"x": left, "x2": right, "y": plot.top - sheet.text - 8, "y2": plot.foot}], "wash")
        if i:
            made += rules(
                [{"x": left, "x2": left, "y": plot.top - sheet.text - 8, "y2": plot.foot}], "soft", 1, (2, 3)
            )
        place = [{"x": (left + right) / 2, "y": plot.top - sheet.text / 2 - 4, "text": letters[verdict]}]
        made += words(place, halo=False, align="center", fontSize=sheet.text, fontWeight=600)
    return made


def _guides(margins: list[float], plot: Plot) -> list[Spec]:
    across = {"x": plot.left, "x2": plot.left + plot.wide}
    zero = rules([across | {"y": plot.y(0), "y2": plot.y(0)}], "ink", 1.4)
    return zero + rules(
        [across | {"y": plot.y(m), "y2": plot.y(m)} for m in margins], "ink", 1.4, MARGIN_DASH
    )


def _marks(shown: list[Row], plot: Plot) -> list[Spec]:
    bars = [
        {"x": plot.x(r["change"]), "x2": plot.x(r["change"]), "y": plot.y(r["low"]), "y2": plot.y(r["high"])}
        for r in shown
        if r["low"] is not None and r["high"] is not None
    ]
    places = [
        {
            "x": plot.x(r["change"]),
            "y": plot.y(r["estimate"]),
            "change": r["change"],
            "told": f"{wording.change_tick(r['change'])}: "
            f"{wording.points_interval(r['estimate'], r['low'], r['high'])}; {r['verdict']}",
        }
        for r in shown
        if r["estimate"] is not None
    ]
    others, own = [r for r in places if r["change"]], [r for r in places if not r["change"]]
    return [
        *rules(bars, "ink", 1.6),
        *dots(others, "circle", "paper", "ink", 60, 1.6, "told"),
        *dots(own, "diamond", "ink", "paper", 190, 1, "told"),
    ]


def _told(
    regions: list[tuple[str, list[Row]]], letters: dict[str, str], y: float, wide: float, sheet: Sheet
) -> tuple[list[Spec], float]:
    """Return what the letters mean, with the changes at which each verdict holds."""
    made: list[Spec] = []
    start = y
    if len(letters) == 1:
        # one verdict throughout needs no letter
        return lines(0, y, wording.verdict_at(next(iter(letters)), ()), wide, sheet)
    for verdict, letter in letters.items():
        spans = [(run[0]["change"], run[-1]["change"]) for told, run in regions if told == verdict]
        made += text(2, y + sheet.text / 2 + 2, letter, sheet, fontWeight=600)
        said, tall = lines(22, y, wording.verdict_at(verdict, spans), wide - 22, sheet)
        made += said
        y += tall + 4
    return made, y - start
