"""The age distribution and incidence, by one name each: the face of the `ages_*` and `incidence` modules."""

from hingeline.estimates.ages_dip import Dip, dip
from hingeline.estimates.ages_modes import AgeModes, Distribution, Hump, Trough, age_modes
from hingeline.estimates.ages_silverman import Silverman, silverman
from hingeline.estimates.incidence import (
    EUROPEAN_STANDARD_2013,
    WHO_WORLD_STANDARD,
    Rate,
    StandardisedRate,
    incidence,
    standard_weights,
    standardise,
)

__all__ = [
    "EUROPEAN_STANDARD_2013",
    "WHO_WORLD_STANDARD",
    "AgeModes",
    "Dip",
    "Distribution",
    "Hump",
    "Rate",
    "Silverman",
    "StandardisedRate",
    "Trough",
    "age_modes",
    "dip",
    "incidence",
    "silverman",
    "standard_weights",
    "standardise",
]
