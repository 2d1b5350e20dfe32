"""The direct share by age as small multiples: in each hospital with the shared fit, and in each sex.

Frames of the kinds ``direct_share_by_hospital`` and ``direct_share_by_sex`` come in; grids of plots on one
common scale go out, drawn with the same squares and lines as the picture of the whole study.
"""

from __future__ import annotations

from hingeline import wording
from hingeline.answers.findings import Figure
from hingeline.pictures.fits import hinge_layers
from hingeline.pictures.frames import Row, rows
from hingeline.pictures.panels import Panel, grid
from hingeline.pictures.pieces import Entry, Spec, age_domain, key, line, whole
from hingeline.pictures.points import TITLE, Size, groin_entry, share_points, share_ticks, told
from hingeline.pictures.theme import Sheet, colour


def draw_by_hospital(figure: Figure, sheet: Sheet) -> Spec:
    """Return one small plot a hospital with its points and the hinge fit at its level."""
    points, hinge = [told(r) for r in rows(figure, "points")], rows(figure, "hinge")
    hospitals = list(dict.fromkeys(r["hospital"] for r in [*points, *hinge]))
    parts = [
        (name, [r for r in points if r["hospital"] == name], [r for r in hinge if r["hospital"] == name])
        for name in hospitals
    ]
    fit = [Entry("hinge fit", "line", colour("ink"), thick=3)] if hinge else []
    return _grid(figure, sheet, parts, fit)


def draw_by_sex(figure: Figure, sheet: Sheet) -> Spec:
    """Return one plot a sex, points only: girls and women are shown apart and given no turn by assumption."""
    points = [told(r) for r in rows(figure, "points")]
    sexes = list(dict.fromkeys(r["sex"] for r in points))
    none: list[Row] = []
    parts = [(wording.sex_heading(sex), [r for r in points if r["sex"] == sex], none) for sex in sexes]
    return _grid(figure, sheet, parts, [], height=220 if sheet.narrow else 300)


def _grid(
    figure: Figure,
    sheet: Sheet,
    parts: list[tuple[str, list[Row], list[Row]]],
    more: list[Entry],
    height: float | None = None,
) -> Spec:
    points = [r for _, shown, _ in parts for r in shown]
    ages = age_domain([r["age_from"] for r in points], [r["age_to"] for r in points])
    places = share_ticks(points, [r for _, _, fit in parts for r in fit], [], 4 if len(parts) > 2 else 5)
    size = Size.of(points, most=120 if len(parts) > 2 else 190)
    panels = [_panel(name, shown, fit, places, size) for name, shown, fit in parts]
    views = [
        key([groin_entry(points, size), *more], sheet, sheet.width - sheet.axis - 12, left=-sheet.axis),
        line(f"{TITLE}, with 95% intervals", sheet),
        grid(panels, ages, sheet, columns=2 if len(parts) == 2 and not sheet.narrow else None, height=height),
    ]
    return whole(figure.title, figure.alt, sheet, views, spacing=10)


def _panel(name: str, shown: list[Row], fit: list[Row], places: list[float], size: Size) -> Panel:
    def drawn(x: Spec, y: Spec) -> list[Spec]:
        return [*share_points(shown, places[-1], x, y, size), *(hinge_layers(fit, 2.4) if fit else [])]

    return Panel(name, "", drawn, places, "%")
