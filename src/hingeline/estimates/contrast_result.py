"""What a comparison of repairs found: risks by arm, differences by pair with verdicts, balance, weights.

Frozen results of `contrast`, each with a frame and a sentence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from hingeline import wording
from hingeline.errors import HingelineError

if TYPE_CHECKING:
    from hingeline.estimates.contrast_overlap import Overlap
    from hingeline.estimates.contrast_propensity import Propensity
    from hingeline.estimates.contrast_verdict import EValue


@dataclass(frozen=True)
class ArmRisk:
    """Risk of recurrence after one repair by one horizon.

    Attributes
    ----------
    arm : str
    years : float
    n, events : int
        Groins compared, and their events by the horizon; both unweighted.
    known : int
        Groins whose outcome by the horizon is known: an event, a death, or followed that long.
    effective_known, crude_effective : float
        As many independent patients, equally weighted, tell as much as those of ``known``, weighted and unweighted;
        the least that the effective number can be (the censored tell something too).
    at_risk : int
        Groins still followed at the horizon.
    risk, low, high : float
        Weighted; not a number beyond the follow-up.
    method : str
        ``bootstrap`` percentile limits; ``score`` limits on the effective number under 5 events.
    crude, crude_low, crude_high : float
        Unweighted risk with score limits on ``crude_effective``.
    warning : str
        Why the risk stands on little, or is not told; empty otherwise.
    """

    arm: str
    years: float
    n: int
    events: int
    known: int
    effective_known: float
    crude_effective: float
    at_risk: int
    risk: float
    low: float
    high: float
    method: str
    crude: float
    crude_low: float
    crude_high: float
    level: float
    warning: str = ""

    def __str__(self) -> str:
        return wording.contrast_arm(
            self.arm,
            self.years,
            self.risk,
            self.low,
            self.high,
            self.events,
            self.n,
            self.level,
            self.warning,
        )


@dataclass(frozen=True)
class PairRisk:
    """Two repairs compared at one horizon.

    Attributes
    ----------
    arm, against : str
    years : float
    difference, low, high : float
        Risk after ``arm`` less risk after ``against``, weighted.
    ratio, ratio_low, ratio_high : float
    method : str
        ``bootstrap`` or, under 5 events in an arm, ``score``.
    crude, crude_low, crude_high : float
        Unweighted difference with Miettinen and Nurminen's limits.
    margin : float
    shown_by : str
        The repair that has to show that it is not worse by the margin: ``arm`` or ``against``.
    superiority : str
        Of ``shown_by``: ``better``, ``worse``, ``not shown``, or ``cannot tell``.
    non_inferiority : str
        Of ``shown_by``: ``shown``, ``refuted``, ``not shown``, or ``cannot tell``.
    verdict : str
        One of `contrast_verdict.VERDICTS`.
    reason : str
        Why there is no verdict; empty otherwise.
    e_value : EValue
    """

    arm: str
    against: str
    years: float
    difference: float
    low: float
    high: float
    ratio: float
    ratio_low: float
    ratio_high: float
    method: str
    crude: float
    crude_low: float
    crude_high: float
    margin: float
    shown_by: str
    superiority: str
    non_inferiority: str
    verdict: str
    level: float
    e_value: EValue
    reason: str = ""

    @property
    def sentence(self) -> str:
        """The verdict in words, about the side that has to show it."""
        other = self.against if self.shown_by == self.arm else self.arm
        return wording.contrast_verdict(self.verdict, self.shown_by, other, self.margin, self.reason)

    def __str__(self) -> str:
        return wording.contrast_pair(
            self.arm,
            self.against,
            self.years,
            self.difference,
            self.low,
            self.high,
            self.level,
            self.sentence,
        )


@dataclass(frozen=True)
class Balance:
    """Standardised difference of one covariate between two repairs, before and after weighting."""

    covariate: str
    arm: str
    against: str
    before: float
    after: float

    def __str__(self) -> str:
        return wording.contrast_balance(self.covariate, self.arm, self.against, self.before, self.after)


@dataclass(frozen=True)
class Weights:
    """What weighting costs one arm.

    Attributes
    ----------
    arm : str
    n : int
    effective_n : float
        Kish's effective number of groins.
    largest : float
        Largest weight of a groin, the arm's mean weight being 1.
    largest_share : float
        Of the arm's whole weight.
    explodes : bool
        Whether so few groins carry so much that no verdict is given.
    """

    arm: str
    n: int
    effective_n: float
    largest: float
    largest_share: float
    explodes: bool

    def __str__(self) -> str:
        return wording.contrast_weights(self.arm, self.n, self.effective_n, self.largest, self.explodes)


@dataclass(frozen=True)
class Hazard:
    """Weighted Cox hazard ratio of one repair against the reference, beside the risks.

    Attributes
    ----------
    arm, against : str
    ratio, low, high : float
        Robust limits over patients; the weights count as known.
    proportional_p : float
        Of the test that the ratio stays the same over time.
    """

    arm: str
    against: str
    ratio: float
    low: float
    high: float
    level: float
    proportional_p: float

    def __str__(self) -> str:
        return wording.contrast_hazard(
            self.arm, self.against, self.ratio, self.low, self.high, self.level, self.proportional_p
        )


@dataclass(frozen=True)
class Contrast:
    """A comparison of repairs. Made by `contrast`.

    Attributes
    ----------
    arms : tuple of ArmRisk
        By arm and horizon.
    pairs : tuple of PairRisk
        Each arm against the reference, then the others between themselves; by horizon.
    balance : tuple of Balance
    weights : tuple of Weights
    overlap : Overlap
    propensity : Propensity
    cox : tuple of Hazard
        Empty where the model has no maximum; ``notes`` then says so.
    estimand, reference : str
    horizons_years : tuple of float
    margin, level : float
    replicates, seed : int
    drawn : array, shape (replicates, arms, horizons)
        Risks of the redrawn sets of patients, for whatever is to be compared with the same sets.
    notes : tuple of str
        What was left out, did not settle, or stands on little.
    """

    arms: tuple[ArmRisk, ...]
    pairs: tuple[PairRisk, ...]
    balance: tuple[Balance, ...]
    weights: tuple[Weights, ...]
    overlap: Overlap
    propensity: Propensity
    cox: tuple[Hazard, ...]
    estimand: str
    reference: str
    horizons_years: tuple[float, ...]
    margin: float
    level: float
    replicates: int
    seed: int
    drawn: NDArray[np.float64]
    notes: tuple[str, ...]

    @property
    def whom(self) -> str:
        """Of whom the comparison speaks, in words."""
        return wording.contrast_whom(self.estimand)

    @property
    def method(self) -> str:
        """How it was made, for a methods section."""
        covariates = dict.fromkeys(name.partition("=")[0] for name in self.propensity.names[1:])
        return wording.contrast_method(
            self.estimand, list(covariates), self.replicates, self.level, self.propensity.ridge
        )

    @property
    def e_value(self) -> dict[tuple[str, str, float], EValue]:
        """E-values by arm, the arm it is against, and years."""
        return {(pair.arm, pair.against, pair.years): pair.e_value for pair in self.pairs}

    @property
    def unadjusted(self) -> pa.Table:
        """Differences before any weighting: arm, against, years, difference, low, high."""
        told = [
            {
                "arm": pair.arm,
                "against": pair.against,
                "years": pair.years,
                "difference": pair.crude,
                "low": pair.crude_low,
                "high": pair.crude_high,
            }
            for pair in self.pairs
        ]
        return pa.Table.from_pylist(told)

    def pair(self, arm: str, against: str, years: float) -> PairRisk:
        """One comparison, either way round as it was asked for."""
        for pair in self.pairs:
            if (pair.arm, pair.against) == (arm, against) and abs(pair.years - years) < 1e-9:
                return pair
        raise HingelineError(
            f"{arm} was not compared with {against} at that horizon",
            "arguments arm, against, years",
            "see .pairs for what was compared",
        )

    def to_frame(self) -> pa.Table:
        """One row a pair and horizon, with verdict and E-values."""
        return pa.Table.from_pylist(
            [
                _plain(pair, without=("e_value",))
                | {
                    "e_value": pair.e_value.estimate,
                    "e_value_limit": pair.e_value.limit,
                    "sentence": pair.sentence,
                }
                for pair in self.pairs
            ]
        )

    def arms_frame(self) -> pa.Table:
        """One row an arm and horizon."""
        return pa.Table.from_pylist([_plain(each) for each in self.arms])

    def balance_frame(self) -> pa.Table:
        """One row a covariate and pair: covariate, arm, against, before, after."""
        return _frame(self.balance, Balance)

    def weights_frame(self) -> pa.Table:
        """One row an arm."""
        return _frame(self.weights, Weights)

    def __str__(self) -> str:
        told = [pair for pair in self.pairs if pair.years == self.horizons_years[-1]]
        return " ".join(
            [*(f"{pair}." for pair in told), *([f"{self.overlap}."] if self.overlap.outside else [])]
        )


def _plain(result: Any, without: Sequence[str] = ()) -> dict[str, Any]:
    return {each.name: getattr(result, each.name) for each in fields(result) if each.name not in without}


_ARROW: dict[str, Any] = {"str": pa.string(), "int": pa.int64(), "float": pa.float64(), "bool": pa.bool_()}


def _frame(results: Sequence[Any], kind: type) -> pa.Table:
    columns: dict[str, Any] = {}
    for each in fields(kind):
        columns[each.name] = pa.array([getattr(r, each.name) for r in results], _ARROW[str(each.type)])
    return pa.table(columns)
