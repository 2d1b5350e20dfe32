"""Cases to tallies; what may leave a hospital, and what would give somebody away."""

from .bins import age_bin, edges_days, edges_years, n_bins
from .cells import DEFAULT_DIMENSIONS
from .counting import count_patterns
from .rows import AgeRows
from .tally import PatternTally, pool

__all__ = [
    "DEFAULT_DIMENSIONS",
    "AgeRows",
    "PatternTally",
    "age_bin",
    "count_patterns",
    "edges_days",
    "edges_years",
    "n_bins",
    "pool",
]
