"""Cases to tallies; what may leave a hospital, and what would give somebody away."""

from .attack import Breach, Release, breaches, leave_together
from .bins import age_bin, edges_days, edges_years, n_bins
from .cells import DEFAULT_DIMENSIONS
from .counting import count_patterns
from .disclosure import MINIMUM, as_ranges, leavable, merge_ages
from .rows import AgeRows
from .tally import PatternTally, pool

__all__ = [
    "DEFAULT_DIMENSIONS",
    "MINIMUM",
    "AgeRows",
    "Breach",
    "PatternTally",
    "Release",
    "age_bin",
    "as_ranges",
    "breaches",
    "count_patterns",
    "edges_days",
    "edges_years",
    "leavable",
    "leave_together",
    "merge_ages",
    "n_bins",
    "pool",
]
