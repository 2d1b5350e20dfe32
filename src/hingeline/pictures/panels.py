"""Small multiples: the same plot for each hospital or each sex, on one scale of ages, laid out in a grid.

Panels come in, each with a name and a function from its axes to its layers; one specification of the grid
goes out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hingeline.pictures import fonts
from hingeline.pictures.pieces import Spec, age_axis, tall_axis
from hingeline.pictures.theme import Sheet, colour


@dataclass(frozen=True)
class Panel:
    """One plot of a grid.

    Attributes
    ----------
    name, told : str
        Its heading and the lesser line under it.
    layers : callable
        From the encodings of x and y to the layers.
    tall : list of float
        Places of the ticks of the vertical axis, from its foot to its top.
    form : str
        Format of the vertical axis' labels.
    """

    name: str
    told: str
    layers: Callable[[Spec, Spec], list[Spec]]
    tall: list[float]
    form: str


def grid(
    panels: Sequence[Panel],
    ages: tuple[float, float],
    sheet: Sheet,
    columns: int | None = None,
    height: float | None = None,
) -> Spec:
    """Lay panels out in rows; each has its own axes, so that each can be read where it stands."""
    across = columns or (1 if sheet.narrow else min(3, max(1, len(panels))))
    between = 26
    plot = (sheet.width - 12 - across * sheet.axis - (across - 1) * between) / across
    high = height or (130 if sheet.narrow else 165)
    views = []
    for i, panel in enumerate(panels):
        lowest = i + across >= len(panels)
        x = age_axis(ages, sheet, plot, title=lowest)
        y = tall_axis(panel.tall, sheet, None, panel.form)
        views.append(_view(panel, x, y, plot, high, sheet))
    return {"concat": views, "columns": across, "spacing": {"row": 20, "column": between}, "align": "none"}


def _view(panel: Panel, x: Spec, y: Spec, plot: float, high: float, sheet: Sheet) -> Spec:
    room = plot + sheet.axis
    head: Spec = {
        "text": fonts.wrap(panel.name, room, sheet.text, "semibold"),
        "fontSize": sheet.text,
        "subtitleFontSize": sheet.small,
        "subtitlePadding": 1,
        "subtitleColor": colour("soft"),
        "offset": 8,
    }
    if panel.told:
        head["subtitle"] = fonts.wrap(panel.told, room, sheet.small)
    return {"title": head, "width": plot, "height": high, "layer": panel.layers(x, y)}
