"""One share, rate or effect from several hospitals or series: the facade of the rooms that pool.

Rare events and series without one are the normal case: counts are pooled by a mixed model that takes them as they
are; inverse variance stands beside it and says so whenever ½ was added. What cannot be estimated is not guessed.
"""

from __future__ import annotations

from .pooling_counts import compare_pools, pool_rates, pool_shares
from .pooling_funnel import Funnel, FunnelLimits, funnel, funnel_limits
from .pooling_inverse import pool_effects
from .pooling_result import Pooled, SeriesShown
from .pooling_series import LeaveOneOut, LeftOut, SeriesTable, leave_one_out, pool_series

__all__ = [
    "Funnel",
    "FunnelLimits",
    "LeaveOneOut",
    "LeftOut",
    "Pooled",
    "SeriesShown",
    "SeriesTable",
    "compare_pools",
    "funnel",
    "funnel_limits",
    "leave_one_out",
    "pool_effects",
    "pool_rates",
    "pool_series",
    "pool_shares",
]
