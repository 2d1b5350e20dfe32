"""Repairs per 100,000 person-years by age, type and sex: how often, not how many.

The frame of the kind ``rates_by_age`` comes in; one plot a sex goes out, each type with its own colour,
dash and mark and its limits as a pale band. Girls and women have their own scale where theirs is much
lower, and it says so.
"""

from __future__ import annotations

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures.frames import Row, cut, finite, rows
from hingeline.pictures.panels import Panel, grid
from hingeline.pictures.pieces import Entry, Spec, age_domain, dashed, key, line, ticks, values, whole
from hingeline.pictures.theme import STACK_ORDER, TYPE_STYLES, Sheet, colour

OWN_SCALE = 3.0
"""A sex whose highest rate is more than so many times lower gets a scale of its own."""


def draw_rates(figure: Figure, sheet: Sheet) -> Spec:
    """Return the rates by age, one plot a sex."""
    shown = rows(figure, "lines")
    ages = age_domain([r["age_from"] for r in shown], [r["age_to"] for r in shown])
    sexes = list(dict.fromkeys(r["sex"] for r in shown))
    tops = {sex: max(finite([r["rate"] for r in shown if r["sex"] == sex]), default=1.0) for sex in sexes}
    own = max(tops.values(), default=1) > OWN_SCALE * min(tops.values(), default=1)
    panels = [
        _panel([r for r in shown if r["sex"] == sex], sex, ticks(tops[sex] if own else max(tops.values()), 5))
        for sex in sexes
    ]
    there = [t for t in reversed(STACK_ORDER) if any(r["type"] == t for r in shown)]
    entries = [
        Entry(
            wording.type_word(t),
            "line",
            line_colour(t),
            TYPE_STYLES[t].shape,
            TYPE_STYLES[t].dash,
            edge=colour("paper"),
        )
        for t in there
    ]
    note = "; each sex has its own scale" if own and len(sexes) > 1 else ""
    wide = sheet.width - sheet.axis - 12
    views = [
        key(entries, sheet, wide, left=-sheet.axis),
        line(f"Per 100,000 person-years, with 95% limits{note}", sheet),
        grid(
            panels,
            ages,
            sheet,
            columns=1 if sheet.narrow else len(panels),
            height=220 if sheet.narrow else 330,
        ),
    ]
    return whole(figure.title, figure.alt, sheet, views, spacing=10)


def line_colour(kind: str) -> str:
    """Return the colour of a type's line: type unknown takes its darker edge, so that it shows on paper."""
    return colour("edge" if kind == "unknown" else kind)


def _panel(shown: list[Row], sex: str, places: list[float]) -> Panel:
    kinds = [t for t in STACK_ORDER if any(r["type"] == t for r in shown)]

    def drawn(x: Spec, y: Spec) -> list[Spec]:
        apiece = {t: [_told(r) for r in shown if r["type"] == t] for t in kinds}
        bands = [_band(apiece[t], line_colour(t), places[-1], x, y) for t in kinds]
        return [*bands, *(layer for t in kinds for layer in _line(apiece[t], t))]

    return Panel(wording.sex_heading(sex), "", drawn, places, ",~f")


def _told(row: Row) -> Row:
    return row | {
        "type_told": wording.type_word(row["type"]),
        "ages": wording.age_span(row["age_from"], row["age_to"]),
        "rate_told": wording.number(row["rate"]),
        "limits": wording.interval(row["low"], row["high"]),
        "groins": wording.count(row["n"]),
    }


def _band(shown: list[Row], fill: str, top: float, x: Spec, y: Spec) -> Spec:
    keep = [
        {"age": r["age"], "low": cut(r["low"], 0, top), "high": cut(r["high"], 0, top)}
        for r in shown
        if r["low"] is not None
    ]
    return {
        "data": values(keep),
        "mark": {"type": "area", "fill": fill, "fillOpacity": 0.16},
        "encoding": {"x": {"field": "age", **x}, "y": {"field": "low", **y}, "y2": {"field": "high"}},
    }


def _line(shown: list[Row], kind: str) -> list[Spec]:
    style, stroke = TYPE_STYLES[kind], line_colour(kind)
    at = {"x": {"field": "age", "type": "quantitative"}, "y": {"field": "rate", "type": "quantitative"}}
    tip = [
        ("type_told", "Type"),
        ("ages", "Age"),
        ("rate_told", "per 100,000 a year"),
        ("limits", "95% limits"),
        ("groins", "Groins"),
    ]
    line_mark = {
        "type": "line",
        "stroke": stroke,
        "strokeWidth": 2.4,
        **dashed(style.dash),
    }
    point = {
        "type": "point",
        "shape": style.shape,
        "fill": stroke,
        "stroke": colour("paper"),
        "strokeWidth": 0.8,
        "size": 60,
    }
    data = values(shown)
    return [
        {"data": data, "mark": line_mark, "encoding": at},
        {
            "data": data,
            "mark": point,
            "encoding": at | {"tooltip": [{"field": f, "title": t, "type": "nominal"} for f, t in tip]},
        },
    ]
