"""The picture of the whole project: the direct share by age, its turns, and its crossing of each threshold.

Frames of the kind ``direct_share`` come in; one specification goes out, made of a key, the plot, and under
it one track a turn with its interval. Squares are the observed shares, their area the number of groins; the
thick line is the hinge fit, the thin one the smooth curve in its bands. Every label's place is worked out, so
that none lies on another.
"""

from __future__ import annotations

import math

from hingeline.answers.findings import Figure
from hingeline.pictures.fits import bands, curve_line, hinge_layers, within
from hingeline.pictures.frames import Row, finite, rows
from hingeline.pictures.marks import (
    crossing_labels,
    crossing_marks,
    guides,
    margin_for,
    threshold_rules,
    turn_marks,
)
from hingeline.pictures.pieces import Entry, Spec, age_axis, age_domain, key, tall_axis, whole
from hingeline.pictures.points import TITLE, Size, groin_entry, share_points, share_ticks, told
from hingeline.pictures.theme import Sheet, colour
from hingeline.pictures.tracks import crossing_tracks, foot, turn_tracks


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
    margin = 0.0 if sheet.narrow else margin_for(crossings, sheet)
    plot, tall = sheet.width - sheet.axis - margin - 12, 300.0 if sheet.narrow else 400.0
    size = Size.of(points, most=110 if sheet.narrow else 190)
    x, y = age_axis(ages, sheet, plot), tall_axis(places, sheet, TITLE, "%")
    layers = [
        *bands(curve, places[-1], x, y),
        *threshold_rules(crossings, ages),
        *guides(turns),
        *share_points(points, places[-1], x, y, size),
        curve_line(curve),
        *hinge_layers(hinge),
        *crossing_marks(crossings, turns, ages, plot / (ages[1] - ages[0]), tall / places[-1]),
        *turn_marks(turns),
    ]
    if margin:
        layers += crossing_labels(crossings, plot, margin, tall, places[-1], sheet)
    views = [
        key(_entries(points, size), sheet, plot + margin, left=-sheet.axis),
        {"width": plot, "height": tall, "layer": layers},
    ]
    tracks = turn_tracks(turns)[::-1] + ([] if margin else crossing_tracks(crossings))
    if tracks:
        views.append(foot(tracks, ages, plot, margin, sheet))
    return whole(figure.title, figure.alt, sheet, views, spacing=10)


def _entries(points: list[Row], size: Size) -> list[Entry]:
    return [
        groin_entry(points, size),
        Entry("hinge fit", "line", colour("ink"), thick=3),
        Entry("smooth curve", "line", colour("curve"), thick=1.5),
        Entry("95% band at an age", "band", colour("band")),
        Entry("and over all ages", "band", colour("wide")),
    ]


def _inside(mark: Row, ages: tuple[float, float]) -> bool:
    return mark["age"] is not None and ages[0] <= mark["age"] <= ages[1]


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
