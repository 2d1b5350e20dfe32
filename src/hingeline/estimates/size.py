"""How large must the next study be? The one door to sizes: shares, margins, events over time, precision.

Assumptions come in, a `Size` with a sentence for the protocol goes out; the ``power_`` functions answer the other
way round. Sources stand in the rooms behind: `size_shares`, `size_log_rank`, `size_ages`, `size_parts`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pyarrow as pa

from hingeline.errors import HingelineError
from hingeline.estimates.size_ages import precision_of_ages, size_crossing, size_turn
from hingeline.estimates.size_log_rank import (
    chance_of_event,
    power_log_rank,
    schoenfeld_events,
    size_log_rank,
)
from hingeline.estimates.size_parts import Allowance, Size
from hingeline.estimates.size_shares import (
    half_width_of,
    power_noninferiority,
    power_two_proportions,
    size_noninferiority,
    size_proportion,
    size_two_proportions,
)

__all__ = [
    "Allowance",
    "Size",
    "chance_of_event",
    "half_width_of",
    "power_log_rank",
    "power_noninferiority",
    "power_two_proportions",
    "precision_of_ages",
    "schoenfeld_events",
    "size_crossing",
    "size_curve",
    "size_log_rank",
    "size_noninferiority",
    "size_proportion",
    "size_turn",
    "size_two_proportions",
]


def size_curve(
    size: Callable[..., Size], name: str, values: Sequence[float], *, series: str = "", **given: object
) -> pa.Table:
    """Sizes against one assumption, for a picture of kind ``size``.

    Parameters
    ----------
    size : callable
        One of the ``size_`` functions.
    name : str
        The assumption that changes.
    values : sequence of float
    series : str
        Label of the line.
    **given
        Everything else that ``size`` needs.

    Returns
    -------
    pyarrow.Table
        Columns ``assumption``, ``size`` (groins to enrol in all; none where no size could show it) and
        ``series``; one row a value.

    Raises
    ------
    HingelineError
        When no value has a size: the error of the first.
    """
    sizes: list[int | None] = []
    first: HingelineError | None = None
    for value in values:
        try:
            sizes.append(size(**{**given, name: value}).total)
        except HingelineError as error:
            first = first or error
            sizes.append(None)
    if first is not None and not any(sizes):
        raise first
    return pa.table(
        {
            "assumption": pa.array([float(v) for v in values], pa.float64()),
            "size": pa.array(sizes, pa.int64()),
            "series": [series] * len(sizes),
        }
    )
