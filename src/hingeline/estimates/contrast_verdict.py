"""What an interval of a difference says against no difference and against the margin, and score limits of ratios.

Limits go in, a verdict comes out by a stated rule; the words are in wording. Claims need strict inequality: an
interval that touches the margin has not shown anything about it (CONSORT for non-inferiority, Piaggio et al, JAMA
2012;308:2594, figure 1).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pyarrow as pa
from scipy.optimize import brentq
from scipy.special import ndtri

from hingeline import wording
from hingeline.errors import HingelineError

BETTER, AS_GOOD, SLIGHTLY_WORSE = "better", "as good", "worse within the margin"
WORSE, FAR_WORSE, NOT_SETTLED, CANNOT_TELL = (
    "worse", "worse by more than the margin", "not settled", "cannot tell",
)  # fmt: skip
VERDICTS = (BETTER, AS_GOOD, SLIGHTLY_WORSE, WORSE, FAR_WORSE, NOT_SETTLED, CANNOT_TELL)


def verdict_of(low: float, high: float, margin: float) -> str:
    """Verdict on the side that has to show it, from limits of its risk less the other's.

    ===============================  ==========================================================
    limits                           verdict
    ===============================  ==========================================================
    high < 0                         better
    low <= 0 <= high < margin        as good: not worse by the margin, and no difference shown
    0 < low, high < margin           worse within the margin
    0 < low <= margin <= high        worse; by how much is not settled
    margin < low                     worse by more than the margin
    low <= 0, margin <= high         not settled: neither worse nor as good is shown
    not a number                     cannot tell
    ===============================  ==========================================================
    """
    if math.isnan(low) or math.isnan(high):
        return CANNOT_TELL
    if high < 0:
        return BETTER
    if high < margin:
        return AS_GOOD if low <= 0 else SLIGHTLY_WORSE
    if low > margin:
        return FAR_WORSE
    return WORSE if low > 0 else NOT_SETTLED


def superiority(low: float, high: float) -> str:
    """``better``, ``worse`` or ``not shown`` of the side whose risk comes first."""
    if high < 0:
        return "better"
    return "worse" if low > 0 else "not shown"


def non_inferiority(low: float, high: float, margin: float) -> str:
    """``shown``, ``refuted`` or ``not shown`` of the side whose risk comes first."""
    if high < margin:
        return "shown"
    return "refuted" if low > margin else "not shown"


@dataclass(frozen=True)
class EValue:
    """How strong confounding would have to be to explain a risk ratio away.

    Attributes
    ----------
    ratio : float
        The risk ratio.
    nearer : float
        Its limit nearer to 1.
    estimate, limit : float
        Least risk ratio of an unmeasured confounder, with the repair and with recurrence alike, that would move
        the ratio, and its nearer limit, to 1; the limit's is 1 when the interval holds 1 already.
    """

    ratio: float
    nearer: float
    estimate: float
    limit: float

    def to_frame(self) -> pa.Table:
        """One row: ratio, nearer, e_value, e_value_limit."""
        return pa.table(
            {
                "ratio": [self.ratio],
                "nearer": [self.nearer],
                "e_value": [self.estimate],
                "e_value_limit": [self.limit],
            }
        )

    def __str__(self) -> str:
        return wording.e_value(self.ratio, self.estimate, self.limit)


def e_value(ratio: float, low: float = math.nan, high: float = math.nan) -> EValue:
    """E-value of a risk ratio and of its limit nearer to 1.

    Parameters
    ----------
    ratio : float
        Risk ratio, 0 or more.
    low, high : float
        Its limits; leave out when there are none.

    Raises
    ------
    HingelineError
        When a ratio is negative.

    Notes
    -----
    VanderWeele & Ding, Ann Intern Med 2017;167:268–274: RR + √(RR(RR − 1)), ratios under 1 turned over.
    """
    for value in (ratio, low, high):
        if value < 0:
            raise HingelineError(f"A risk ratio is {value}", "argument ratio", "give ratios of 0 or more")
    if not (math.isnan(low) or math.isnan(high)) and low > high:
        raise HingelineError("The lower limit is above the upper", "low, high", "give them in order")
    nearer = math.nan
    if not math.isnan(ratio):
        nearer = low if ratio >= 1 else high
    # an interval that holds 1 needs no confounding at all
    holds_one = (nearer <= 1) if ratio >= 1 else (nearer >= 1)
    return EValue(ratio, nearer, _explains(ratio), 1.0 if holds_one else _explains(nearer))


def _explains(ratio: float) -> float:
    if math.isnan(ratio):
        return math.nan
    if ratio == 0:
        return math.inf
    above = 1 / ratio if ratio < 1 else ratio
    return math.inf if math.isinf(above) else above + math.sqrt(above * (above - 1))


def score_ratio(
    events: float, total: float, other_events: float, other_total: float, level: float = 0.95
) -> tuple[float, float]:
    """Score limits of a ratio of two independent shares, first over second.

    Parameters
    ----------
    events, total, other_events, other_total : float
        0 <= events <= total, totals above 0; effective numbers need not be whole.
    level : float

    Notes
    -----
    Koopman, Biometrics 1984;40:513; the restricted maximum is a quadratic's root (Miettinen & Nurminen, Stat Med
    1985;4:213), here without their factor N/(N − 1).
    """
    if events == 0 and other_events == 0:
        return 0.0, math.inf
    z = float(ndtri((1 + level) / 2))
    share, other = events / total, other_events / other_total

    def excess(log_ratio: float) -> float:
        ratio = math.exp(log_ratio)
        a = (total + other_total) * ratio
        b = -(total * ratio + events + other_total + other_events * ratio)
        c = events + other_events
        second = (
            2 * c / (-b + math.sqrt(max(b * b - 4 * a * c, 0.0)))
        )  # the smaller root, without cancellation
        first = min(ratio * second, 1.0)
        variance = first * (1 - first) / total + ratio**2 * second * (1 - second) / other_total
        return (
            (share - ratio * other) / math.sqrt(variance)
            if variance > 0
            else math.copysign(math.inf, share - ratio * other)
        )

    # the statistic falls from +∞ to −∞ as the ratio grows; an arm without an event leaves one side open
    edge = 30.0
    low = 0.0 if events == 0 else math.exp(brentq(lambda r: excess(r) - z, -edge, edge, xtol=1e-12))
    high = (
        math.inf if other_events == 0 else math.exp(brentq(lambda r: excess(r) + z, -edge, edge, xtol=1e-12))
    )
    return low, high
