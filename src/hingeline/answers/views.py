"""What a statistician asks of a study in a notebook: its turns, crossings, fits and the arrays behind them.

A tally and a protocol come in; the same estimates come out that the report is written from.
"""

from __future__ import annotations

from functools import cached_property

from ..counts import AgeRows, PatternTally
from ..estimates.crossing import Crossing
from ..estimates.curve import CurveFit
from ..estimates.hinge_choose import TurnChoice
from ..estimates.hinge_fit import HingeFit, Turn
from ..protocol import Protocol
from .headline import HeadlineRows, ShareEstimates, headline_rows


class AgesView:
    """The direct share by age on the headline cases; every number is made when first asked for.

    Parameters
    ----------
    tally : PatternTally
    protocol : Protocol
    """

    def __init__(self, tally: PatternTally, protocol: Protocol) -> None:
        self._tally = tally
        self._protocol = protocol

    @cached_property
    def estimates(self) -> ShareEstimates:
        """Fits, replicates and crossings."""
        return ShareEstimates(self.data, self._protocol)

    @cached_property
    def data(self) -> HeadlineRows:
        """The arrays that the estimators are given."""
        return headline_rows(self._tally, self._protocol)

    @property
    def rows(self) -> AgeRows:
        """Rows of the tally: patterns × hospital × age bin."""
        return self.data.rows

    @property
    def choice(self) -> TurnChoice:
        """How many turns: BIC, bootstrap likelihood ratios, selection frequency."""
        return self.estimates.choice

    @property
    def fit(self) -> HingeFit:
        """The hinge fit."""
        return self.estimates.fit

    @property
    def curve(self) -> CurveFit:
        """The smooth curve."""
        return self.estimates.curve

    def turns(self) -> tuple[Turn, ...]:
        """Return the turns of the chosen fit, each with its interval."""
        return self.fit.turns

    def crossing(self, threshold: float, *, by: str = "hinge") -> Crossing:
        """Return the age at which the share first reaches a threshold; ``by`` is ``hinge`` or ``curve``."""
        return self.estimates.crossing(threshold, by=by)
