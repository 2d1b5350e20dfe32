"""The numbers behind a picture as a table: what a tooltip shows, for those who do not use a pointer.

A `Figure` comes in, a `Grid` of ready text goes out; every number is written by `wording`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from hingeline import wording
from hingeline.answers.findings import Figure, Grid

Row = dict[str, Any]
_TITLE: Final = "The numbers in this picture"


def data_behind(figure: Figure) -> Grid | None:
    """Return the table behind a picture, or None when the picture shows nothing but words already readable."""
    make = _MAKERS.get(figure.kind)
    return None if make is None else make(figure)


def _share(figure: Figure) -> Grid:
    """Return the observed shares, by hospital or sex where the picture is."""
    shown = figure.frames["points"].to_pylist()
    first = next((name for name in ("hospital", "sex") if shown and name in shown[0]), None)
    heads = ("Age", "Groins", "Direct", "Direct share", "95% interval")
    rows = tuple(
        (
            *((str(r[first]),) if first else ()),
            wording.age_span(r["age_from"], r["age_to"]),
            wording.count(r["n"]),
            str(r["direct"]),
            wording.percent(r["share"]),
            wording.share_limits(r["low"], r["high"]),
        )
        for r in shown
    )
    lead = (first.capitalize(),) if first else ()
    return Grid(_TITLE, (*lead, *heads), rows, numeric=tuple(range(len(lead) + 1, len(lead) + 5)))


def _repairs(figure: Figure) -> Grid:
    """Return the groins by age, a column a type."""
    shown = figure.frames["bars"].to_pylist()
    first = next((n for n in ("hospital", "sex") if shown and len({r.get(n) for r in shown}) > 1), None)
    types = list(dict.fromkeys(r["type"] for r in shown))
    cells: dict[tuple[Any, ...], Row] = {}
    for r in shown:
        cells.setdefault((r.get(first) if first else None, r["age_from"], r["age_to"]), {})[r["type"]] = r[
            "n"
        ]
    rows = tuple(
        (
            *((str(name),) if first else ()),
            wording.age_span(low, high),
            *(wording.count(by_type[t]) if t in by_type else "–" for t in types),
        )
        for (name, low, high), by_type in cells.items()
    )
    lead = (first.capitalize(),) if first else ()
    heads = (*lead, "Age", *(t.capitalize() for t in types))
    return Grid(_TITLE, heads, rows, numeric=tuple(range(len(lead) + 1, len(heads))))


def _rates(figure: Figure) -> Grid:
    rows = tuple(
        (
            str(r["sex"]),
            str(r["type"]),
            wording.age_span(r["age_from"], r["age_to"]),
            wording.count(r["n"]),
            wording.number(r["rate"]),
            wording.interval(r["low"], r["high"]),
        )
        for r in figure.frames["lines"].to_pylist()
    )
    heads = ("Sex", "Type", "Age", "Groins", "Per 100,000 person-years", "95% limits")
    return Grid(_TITLE, heads, rows, numeric=(3, 4, 5))


def _flow(figure: Figure) -> Grid:
    shown = figure.frames["boxes"].to_pylist()
    label = {r["id"]: str(r["label"]) for r in shown}
    rows = tuple((str(r["label"]), str(r["n"]), label.get(r["of"], "–")) for r in shown)
    return Grid(_TITLE, ("Box", "Number", "Comes from"), rows, numeric=(1,))


def _curves(figure: Figure) -> Grid:
    """Return the risk at each whole year with the groins still at risk."""
    steps = figure.frames["steps"].to_pylist()
    rows = []
    for r in figure.frames["at_risk"].to_pylist():
        before = [s for s in steps if s["group"] == r["group"] and s["years"] <= r["years"]]
        # a curve ends where few remain: nothing is told beyond its end
        ends = [s["years"] for s in steps if s["group"] == r["group"]]
        told = bool(before) and r["years"] <= max(ends)
        last = before[-1] if told else {"risk": None, "low": None, "high": None}
        rows.append(
            (
                wording.curve_name(r["group"]),
                wording.number_tick(r["years"]),
                str(r["n"]),
                wording.limits_cell(last["risk"], last["low"], last["high"]) if told else wording.nothing(),
            )
        )
    heads = ("Group", "Years", "Still followed", "With a recurrence (95% limits)")
    return Grid(_TITLE, heads, tuple(rows), numeric=(1, 2, 3))


def _series(figure: Figure) -> Grid:
    rows = tuple(
        (
            str(r["label"]),
            str(r["events"] or wording.nothing()),
            str(r["n"] or wording.nothing()),
            str(r["follow_up"] or wording.nothing()),
            wording.limits_cell(None if r["kind"] == "prediction" else r["share"], r["low"], r["high"]),
            wording.percent(r["weight"]) if r["weight"] and r["kind"] == "series" else wording.nothing(),
        )
        for r in figure.frames["series"].to_pylist()
    )
    heads = ("Series", "Events", "Groins", "Follow-up", "Share (95% limits)", "Weight")
    return Grid(_TITLE, heads, rows, numeric=(1, 2, 4, 5))


def _funnel(figure: Figure) -> Grid:
    rows = tuple(
        (
            str(r["label"]),
            wording.number_tick(r["n"]),
            str(r["events"]),
            wording.not_told() if r["share"] is None else wording.percent(r["share"]),
        )
        for r in figure.frames["points"].to_pylist()
    )
    return Grid(_TITLE, ("Hospital", "Groins", "Events", "Share"), rows, numeric=(1, 2, 3))


def _balance(figure: Figure) -> Grid:
    cells: dict[str, Row] = {}
    for r in figure.frames["rows"].to_pylist():
        cells.setdefault(str(r["covariate"]), {})[r["when"]] = r["difference"]
    rows = tuple(
        (
            name,
            *(
                wording.number(at[when], 3) if at.get(when) is not None else wording.nothing()
                for when in ("before", "after")
            ),
        )
        for name, at in cells.items()
    )
    return Grid(_TITLE, ("Covariate", "Before weighting", "After weighting"), rows, numeric=(1, 2))


def _contrast(figure: Figure) -> Grid:
    rows = tuple(
        (
            str(r["pair"]),
            wording.horizon_label(r["years"]),
            wording.points_interval(r["difference"], r["low"], r["high"]),
            str(r["verdict"]),
        )
        for r in figure.frames["rows"].to_pylist()
    )
    return Grid(_TITLE, ("Pair", "Horizon", "Difference in points (95% limits)", "Verdict"), rows)


def _one_more(figure: Figure) -> Grid:
    rows = tuple(
        (
            wording.change_tick(r["change"]),
            wording.points_interval(r["estimate"], r["low"], r["high"]),
            str(r["verdict"]),
        )
        for r in figure.frames["rows"].to_pylist()
    )
    return Grid(_TITLE, ("Events", "Estimate in points (95% limits)", "Verdict"), rows, numeric=(0,))


def _tipping(figure: Figure) -> Grid:
    """Return, for each share of the first arm's lost, the shares of the second's at which each verdict holds."""
    runs: list[list[Any]] = []
    cells = figure.frames["cells"].to_pylist()
    for r in sorted(cells, key=lambda r: (r["first_lost"], r["second_lost"])):
        if runs and runs[-1][0] == r["first_lost"] and runs[-1][3] == r["verdict"]:
            runs[-1][2] = r["second_lost"]
        else:
            runs.append([r["first_lost"], r["second_lost"], r["second_lost"], r["verdict"]])
    rows = tuple(
        (wording.percent(first), wording.limits_cell(None, low, high), str(verdict))
        for first, low, high, verdict in runs
    )
    heads = ("Of the first arm's lost", "Of the second arm's lost", "Verdict")
    return Grid(_TITLE, heads, rows, numeric=(0, 1))


def _size(figure: Figure) -> Grid:
    rows = tuple(
        (
            str(r["series"]),
            r["assumption"] if isinstance(r["assumption"], str) else wording.number_tick(r["assumption"]),
            wording.nothing() if r["size"] is None else wording.number_tick(r["size"]),
        )
        for r in figure.frames["rows"].to_pylist()
    )
    return Grid(_TITLE, ("Series", "Assumption", "Size"), rows, numeric=(1, 2))


_MAKERS: Final[dict[str, Callable[[Figure], Grid]]] = {
    "flow": _flow,
    "repairs_by_age": _repairs,
    "repairs_by_hospital": _repairs,
    "rates_by_age": _rates,
    "direct_share": _share,
    "direct_share_by_hospital": _share,
    "direct_share_by_sex": _share,
    "recurrence_curves": _curves,
    "pooled_series": _series,
    "funnel": _funnel,
    "balance": _balance,
    "contrast_risks": _contrast,
    "one_more": _one_more,
    "tipping": _tipping,
    "size": _size,
}
