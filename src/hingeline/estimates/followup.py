"""What happened after operation: rows of follow-up come in, curves, rates, tests and models go out.

The face of the follow-up estimators; each is made in a room of its own beside this page.
"""

from __future__ import annotations

from .followup_competing import CumulativeIncidence, cumulative_incidence
from .followup_cox import CoxFit, cox
from .followup_cox_test import ProportionalHazards
from .followup_curve import SurvivalCurve, survival
from .followup_kernel import RiskKernel, risk_kernel, weighted_risks
from .followup_length import (
    FollowUpLength,
    FollowUpRate,
    follow_up_length,
    numbers_at_risk,
    person_year_rate,
)
from .followup_limits import LEAST_AT_RISK, RiskAt
from .followup_logrank import LogRank, log_rank
from .followup_turnbull import IntervalCurve, IntervalRisk, turnbull

__all__ = [
    "LEAST_AT_RISK",
    "CoxFit",
    "CumulativeIncidence",
    "FollowUpLength",
    "FollowUpRate",
    "IntervalCurve",
    "IntervalRisk",
    "LogRank",
    "ProportionalHazards",
    "RiskAt",
    "RiskKernel",
    "SurvivalCurve",
    "cox",
    "cumulative_incidence",
    "follow_up_length",
    "log_rank",
    "numbers_at_risk",
    "person_year_rate",
    "risk_kernel",
    "survival",
    "turnbull",
    "weighted_risks",
]
