"""Which module draws which kind of picture.

A `Figure` comes in; its frames are checked against the contract; a Vega-Lite specification goes out, with
data inlined as JSON and the figure's alt text as its description.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from hingeline.answers.findings import Figure
from hingeline.errors import HingelineError
from hingeline.pictures.balance import draw_balance
from hingeline.pictures.contrast import draw_contrast
from hingeline.pictures.curves import draw_curves
from hingeline.pictures.flow import draw_flow
from hingeline.pictures.fragility import draw_one_more
from hingeline.pictures.frames import check
from hingeline.pictures.funnel import draw_funnel
from hingeline.pictures.rates import draw_rates
from hingeline.pictures.repairs import draw_hospitals, draw_repairs
from hingeline.pictures.series import draw_series
from hingeline.pictures.share import draw_share
from hingeline.pictures.shares import draw_by_hospital, draw_by_sex
from hingeline.pictures.size import draw_size
from hingeline.pictures.theme import WIDE, Sheet
from hingeline.pictures.tipping import draw_tipping

Ages = tuple[float, float]

DRAWERS: Final[dict[str, Callable[[Figure, Sheet], dict[str, Any]]]] = {
    "balance": draw_balance,
    "contrast_risks": draw_contrast,
    "direct_share": draw_share,
    "direct_share_by_hospital": draw_by_hospital,
    "direct_share_by_sex": draw_by_sex,
    "flow": draw_flow,
    "funnel": draw_funnel,
    "one_more": draw_one_more,
    "pooled_series": draw_series,
    "recurrence_curves": draw_curves,
    "repairs_by_age": draw_repairs,
    "repairs_by_hospital": draw_hospitals,
    "rates_by_age": draw_rates,
    "size": draw_size,
    "tipping": draw_tipping,
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
