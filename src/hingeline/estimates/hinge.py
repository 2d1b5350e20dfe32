"""Ages, directs and totals come in as plain arrays; the ages at which the direct share turns come out."""

from __future__ import annotations

from hingeline.estimates.hinge_design import HingeDesign, Refit, linear_predictor, prepare_hinges, share

__all__ = ["HingeDesign", "Refit", "linear_predictor", "prepare_hinges", "share"]
