"""Hazard ratios beside the risks: Cox's model on the weighted patterns of patients.

Rows and weights go in; each arm's hazard ratio against the reference comes out, with robust limits over patients and a
test that it stays the same over time (Lin & Wei, J Am Stat Assoc 1989;84:1074). Death ends follow-up here: a hazard is
of those still alive.
"""

from __future__ import annotations

import numpy as np

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.contrast_result import Hazard
from hingeline.estimates.contrast_rows import Array, ContrastRows
from hingeline.estimates.followup_cox import CoxFit, cox


def hazards(
    rows: ContrastRows, weight: Array, reference: int, level: float
) -> tuple[tuple[Hazard, ...], list[str]]:
    """Hazard ratios of the arms against the reference.

    Parameters
    ----------
    rows : ContrastRows
    weight : array, shape (rows,)
        Of the propensity; the limits take them as known, which makes them a little wide (Austin, Stat Med
        2016;35:5642).
    reference : int
    level : float

    Returns
    -------
    hazards : tuple of Hazard
        Only of arms that, like the reference, had an event.
    notes : list of str
        Which arms have none, and why.
    """
    groins = np.bincount(rows.arm, rows.groins * (rows.outcome == 1), len(rows.arms))
    if groins[reference] == 0:
        return (), [wording.contrast_note_no_hazard([rows.arms[reference]], of_reference=True)]
    told = [code for code in range(len(rows.arms)) if code != reference and groins[code] > 0]
    without = [rows.arms[code] for code in range(len(rows.arms)) if groins[code] == 0]
    notes = [wording.contrast_note_no_hazard(without, of_reference=False)] if without else []
    if not told:
        return (), notes
    own = np.isin(rows.arm, [*told, reference]) & (weight > 0)
    try:
        fit = cox(
            rows.days[own],
            rows.outcome[own],
            (rows.arm[own, None] == np.array(told)).astype(np.float64),
            rows.n[own],
            clusters=rows.cluster[own],
            weights=rows.patients[rows.cluster[own]],
            probability_weights=_to_events(rows, weight)[own],
            names=[rows.arms[code] for code in told],
            level=level,
        )
        constant = _proportional(fit)
    except HingelineError as refused:
        return (), [*notes, wording.contrast_note_no_cox(refused.what)]
    return (
        tuple(
            Hazard(
                arm=rows.arms[code],
                against=rows.arms[reference],
                ratio=float(fit.hazard_ratio[place]),
                low=float(fit.low[place]),
                high=float(fit.high[place]),
                level=level,
                proportional_p=constant[place],
            )
            for place, code in enumerate(told)
        ),
        notes,
    )


def _proportional(fit: CoxFit) -> list[float]:
    """P-values of the test that each ratio stays the same; not a number where a ratio has no finite maximum."""
    if fit.infinite:
        return [np.nan] * len(fit.names)
    try:
        return [float(p) for p in fit.proportional().p]
    except HingelineError:  # all events on one day: there is no time over which to change
        return [np.nan] * len(fit.names)


def _to_events(rows: ContrastRows, weight: Array) -> Array:
    """Weights scaled so that those who had the event weigh as many as they are worth (Kish).

    Ratios and robust limits do not change; the test of proportionality, which takes each weight for a number of
    events, then has about its level.
    """
    events = rows.groins * (rows.outcome == 1)
    scaled: Array = weight * (events @ weight) / (events @ weight**2)
    return scaled
