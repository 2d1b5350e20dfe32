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


_MAKERS: Final[dict[str, Callable[[Figure], Grid]]] = {
    "flow": _flow,
    "repairs_by_age": _repairs,
    "repairs_by_hospital": _repairs,
    "rates_by_age": _rates,
    "direct_share": _share,
    "direct_share_by_hospital": _share,
    "direct_share_by_sex": _share,
}
