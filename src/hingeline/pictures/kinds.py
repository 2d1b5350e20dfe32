"""Which module draws which kind of picture.

A `Figure` comes in; its frames are checked against the contract; a Vega-Lite specification goes out, with
data inlined as JSON and the figure's alt text as its description.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from hingeline.answers.findings import Figure
from hingeline.errors import HingelineError
from hingeline.pictures.curves import draw_curves
from hingeline.pictures.flow import draw_flow
from hingeline.pictures.frames import check
from hingeline.pictures.rates import draw_rates
from hingeline.pictures.repairs import draw_hospitals, draw_repairs
from hingeline.pictures.share import draw_share
from hingeline.pictures.shares import draw_by_hospital, draw_by_sex
from hingeline.pictures.theme import WIDE, Sheet

Ages = tuple[float, float]

DRAWERS: Final[dict[str, Callable[[Figure, Sheet], dict[str, Any]]]] = {
    "direct_share": draw_share,
    "direct_share_by_hospital": draw_by_hospital,
    "direct_share_by_sex": draw_by_sex,
    "flow": draw_flow,
    "recurrence_curves": draw_curves,
    "repairs_by_age": draw_repairs,
    "repairs_by_hospital": draw_hospitals,
    "rates_by_age": draw_rates,
}
"""Kind → the function that draws it; every kind of `answers.figures.KINDS` has one."""


def draw(figure: Figure, sheet: Sheet = WIDE, ages: Ages | None = None) -> dict[str, Any]:
    """Draw a figure.

    Parameters
    ----------
    figure : Figure
        Frames of the columns that `hingeline.answers.figures` names for its kind.
    sheet : Sheet
        `WIDE` for page, paper and lecture hall; `NARROW` for a telephone.
    ages : tuple of float, optional
        First and last age in years, to see the direct share closer; all ages by default.

    Returns
    -------
    dict
        A Vega-Lite specification that needs nothing from outside.

    Raises
    ------
    HingelineError
        When the kind is not known, a frame lacks a column, or ages are given for another kind than the direct
        share.
    """
    check(figure)
    if ages is None:
        return DRAWERS[figure.kind](figure, sheet)
    if figure.kind != "direct_share":
        raise HingelineError(
            f"a picture of kind '{figure.kind}' cannot be seen closer",
            f"figure '{figure.name}'",
            "leave out the ages, or draw the kind 'direct_share'",
        )
    return draw_share(figure, sheet, ages)
