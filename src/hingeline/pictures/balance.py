"""Balance of the arms before and after weighting: one row a covariate, a hollow mark and a filled one.

Frames of the kind ``balance`` come in; one specification goes out.
"""

from __future__ import annotations

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures.frames import finite, rows
from hingeline.pictures.pieces import Entry, Spec, key, line, ticks, whole
from hingeline.pictures.pixels import Plot, dots, foot_axis, lines, room_for, rules, view
from hingeline.pictures.theme import Sheet, colour

GUIDE = 0.1
"""Below it a covariate is commonly taken as balanced (Austin, Stat Med 2009;28:3083)."""


def draw_balance(figure: Figure, sheet: Sheet) -> Spec:
    """Return the covariates from top to foot as they are given."""
    shown = [r for r in rows(figure, "rows") if r["difference"] is not None]
    if not shown:
        return whole(figure.title, figure.alt, sheet, [line(wording.nothing_to_draw(), sheet)])
    wide = sheet.width - 12.0
    names = list(dict.fromkeys(str(r["covariate"]) for r in shown))
    label = 0.0 if sheet.narrow else min(room_for(names, sheet.text) + 24, 290.0)
    places = ticks(max([*finite([r["difference"] for r in shown]), 1.5 * GUIDE]), 5)
    left = 8.0 if sheet.narrow else label
    across = wide - left - 18
    plot, y = Plot(left, 4, across, 1, 0, places[-1]), 4.0
    layers: list[Spec] = []
    spans: list[tuple[float, float]] = []
    for name in names:
        at = {r["when"]: r["difference"] for r in shown if r["covariate"] == name}
        if sheet.narrow:
            words_made, tall = lines(0, y, name, wide, sheet)
            middle, height = y + tall + 9, tall + 22
        else:
            words_made, tall = lines(0, y + 4, name, label - 16, sheet)
            middle, height = y + 4 + tall / 2, tall + 9
        spans.append((middle - 8, middle + 9))
        ends = [plot.x(v) for v in at.values()]
        layers += rules([{"x": left, "x2": left + across, "y": middle, "y2": middle}], "rule")
        layers += rules([{"x": min(ends), "x2": max(ends), "y": middle, "y2": middle}], "soft", 1.6)
        for when, fill in (("before", "paper"), ("after", "ink")):
            if when in at:
                told = f"{name}, {wording.picture_key(when)}: {wording.number_tick(at[when])}"
                mark = [{"x": plot.x(at[when]), "y": middle, "told": told}]
                layers += dots(mark, "circle", fill, "ink", 90, 1.8, "told")
        layers += words_made
        y += height
    plot = Plot(left, 4, across, y, 0, places[-1])
    # on a telephone names stand over the plot: the line is seen at the marks only
    at_guide = {"x": plot.x(GUIDE), "x2": plot.x(GUIDE)}
    stretches = spans if sheet.narrow else [(0.0, plot.foot)]
    guide = rules([at_guide | {"y": top, "y2": foot} for top, foot in stretches], "ink", 1.2, (5, 3))
    axis, tall = foot_axis(plot, places, wording.number_tick, wording.picture_axis("balance"), sheet)
    entries = [
        Entry(
            wording.picture_key("before"),
            "mark",
            colour("paper"),
            shape="circle",
            edge=colour("ink"),
            size=90,
        ),
        Entry(wording.picture_key("after"), "mark", colour("ink"), shape="circle", size=90),
        Entry(wording.picture_key("balance_guide"), "line", colour("ink"), dash=(5, 3), thick=1.2),
    ]
    views = [key(entries, sheet, wide), view(wide, plot.foot + tall, [*guide, *layers, *axis])]
    return whole(figure.title, figure.alt, sheet, views, spacing=8)
