"""Cases to tallies; what may leave a hospital, and what would give somebody away."""

from .attack import Breach, Release, breaches, leave_together
from .bins import age_bin, edges_days, edges_years, n_bins
from .cells import DEFAULT_DIMENSIONS
from .counting import count_patterns
from .disclosure import MINIMUM, as_ranges, leavable, merge_ages
from .followup import FollowUpTally, count_followup, pool_followup, reoperations
from .followup_fields import FollowUp
from .followup_rows import FollowUpRows
from .rows import AgeRows
from .tally import PatternTally, pool

__all__ = [
    "DEFAULT_DIMENSIONS",
    "MINIMUM",
    "AgeRows",
    "Breach",
    "FollowUp",
    "FollowUpRows",
    "FollowUpTally",
    "PatternTally",
    "Release",
    "age_bin",
    "as_ranges",
    "breaches",
    "count_followup",
    "count_patterns",
    "edges_days",
    "edges_years",
    "leavable",
    "leave_together",
    "merge_ages",
    "n_bins",
    "pool",
    "pool_followup",
    "reoperations",
]
