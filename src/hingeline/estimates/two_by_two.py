"""Events in two arms come in; the probabilities of a difference as large by chance go out.

Fisher's exact test, and χ² without and with Yates' correction, by scipy: what a trial's abstract prints, so that a
printed P can be computed again and the arms that give it be named.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from scipy.stats import chi2_contingency, fisher_exact

from hingeline import wording
from hingeline.errors import HingelineError


@dataclass(frozen=True)
class TwoByTwo:
    """Tests of two shares.

    Attributes
    ----------
    events, totals : tuple of int
        Of the first and of the second arm.
    fisher_p : float
        Two-sided.
    chi2, chi2_p : float
        Pearson's, one degree of freedom; nan where no one or everyone had the event.
    yates, yates_p : float
        The same with Yates' correction.
    """

    events: tuple[int, int]
    totals: tuple[int, int]
    fisher_p: float
    chi2: float
    chi2_p: float
    yates: float
    yates_p: float

    def to_frame(self) -> pa.Table:
        """One row a test."""
        return pa.table(
            {
                "test": ["Fisher", "chi-squared", "chi-squared, Yates"],
                "statistic": [None, self.chi2, self.yates],
                "p": [self.fisher_p, self.chi2_p, self.yates_p],
            }
        )

    def __str__(self) -> str:
        return wording.two_by_two_told(self.events, self.totals, self.fisher_p, self.chi2_p, self.yates_p)


def two_by_two(events: int, total: int, other_events: int, other_total: int) -> TwoByTwo:
    """Test whether two shares differ.

    Parameters
    ----------
    events, total, other_events, other_total : int
        Whole numbers, 0 <= events <= total, totals above 0.

    Raises
    ------
    HingelineError
        When the counts are impossible.
    """
    for name, x, n in (("first", events, total), ("second", other_events, other_total)):
        if x != int(x) or n != int(n) or not 0 <= x <= n or n == 0:
            raise HingelineError(
                f"{x} of {n} is no share",
                f"the {name} arm",
                "Give whole events from 0 up to a total above 0",
            )
    table = np.array([[events, total - events], [other_events, other_total - other_events]], dtype=np.int64)
    fisher = float(fisher_exact(table)[1])
    plain = yates = (np.nan, np.nan)
    if (table.sum(axis=0) > 0).all():
        plain = chi2_contingency(table, correction=False)[:2]
        yates = chi2_contingency(table, correction=True)[:2]
    return TwoByTwo(
        (int(events), int(other_events)),
        (int(total), int(other_total)),
        fisher,
        float(plain[0]),
        float(plain[1]),
        float(yates[0]),
        float(yates[1]),
    )
