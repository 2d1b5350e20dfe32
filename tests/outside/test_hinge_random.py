"""Random hospital intercepts against R's lme4 (reference/hinge_random.R made hinge_random.json) and metafor."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from hingeline.estimates.hinge_random import random_intercepts

REFERENCE = json.loads(
    (Path(__file__).parent / "reference" / "hinge_random.json").read_text(encoding="utf-8")
)
HOSPITALS, FIT, POOL = REFERENCE["hospitals"], REFERENCE["fit"], REFERENCE["pool"]

PRITZ_DIRECT = [16, 10, 4, 43, 10, 25, 13, 12, 22, 4, 5, 18, 58, 6]
PRITZ_TOTAL = [17, 12, 8, 58, 10, 42, 14, 12, 41, 5, 6, 23, 68, 10]
"""Zhou, Brizendine & Pritz, Stat Med 1999;18:557, 14 studies; as in metadat 1.2-0, dat.pritz1997."""


def of_the_hospitals(nodes: int = 25):
    return random_intercepts(
        HOSPITALS["age"],
        HOSPITALS["direct"],
        HOSPITALS["total"],
        REFERENCE["turns"],
        groups=HOSPITALS["hospital"],
        nodes=nodes,
    )


def of_pritz():
    return random_intercepts([40] * 14, PRITZ_DIRECT, PRITZ_TOTAL, (), groups=range(14))


def test_the_typed_table_is_that_of_metadat():
    assert REFERENCE["pritz"]["xi"] == PRITZ_DIRECT
    assert REFERENCE["pritz"]["ni"] == PRITZ_TOTAL


def test_the_pooled_share_matches_metafor():
    """Binomial–normal: R metafor 3.8-1, rma.glmm(measure = "PLO"), values of the project's list of outside checks."""
    fit = of_pritz()
    assert fit.intercept == pytest.approx(1.3766, abs=5e-5)
    assert fit.standard_errors == pytest.approx([0.2884], abs=5e-5)
    assert fit.tau**2 == pytest.approx(0.5893, abs=5e-5)
    assert fit.share_at_median(40) == pytest.approx([0.798], abs=5e-4)
    assert 1 / (1 + np.exp(-fit.limits[0])) == pytest.approx([0.692, 0.875], abs=5e-4)


def test_the_pooled_share_matches_lme4():
    """lme4 1.1-31, glmer(nAGQ = 25); log-likelihood and averaged share by R's integrate()."""
    fit = of_pritz()
    assert fit.intercept == pytest.approx(POOL["coefficients"], abs=1e-6)
    assert fit.standard_errors == pytest.approx([POOL["se"]], rel=1e-5)
    assert fit.tau == pytest.approx(POOL["tau"], abs=1e-6)
    assert fit.loglik == pytest.approx(POOL["loglik"], abs=1e-7)
    assert fit.hospital_intercepts - fit.intercept == pytest.approx(POOL["modes"], abs=1e-6)
    assert fit.predict(40) == pytest.approx([POOL["averaged"]], abs=1e-7)


def test_slopes_and_spread_with_two_turns_match_lme4():
    """lme4 1.1-31, glmer(nAGQ = 25), eight invented hospitals, one of them without directs."""
    fit = of_the_hospitals()
    assert fit.coefficients == pytest.approx(FIT["coefficients"], abs=1e-5)
    assert fit.standard_errors == pytest.approx(FIT["se"], rel=1e-4)
    assert fit.tau == pytest.approx(FIT["tau"], abs=1e-5)
    assert fit.hospital_intercepts - fit.intercept == pytest.approx(FIT["modes"], abs=1e-5)


def test_the_likelihood_matches_integration_in_r():
    """R's stats::integrate over each hospital at lme4's estimates; 15 nodes leave an error below 1e-5 of it."""
    assert of_the_hospitals().loglik == pytest.approx(FIT["loglik"], abs=1e-6)
    assert of_the_hospitals(15).loglik == pytest.approx(FIT["loglik"], abs=1e-5)


def test_averaged_and_median_shares_match_integration_in_r():
    """R's stats::integrate of the logistic over the normal, and plogis, at lme4's estimates."""
    fit = of_the_hospitals()
    assert fit.predict(FIT["at"]) == pytest.approx(FIT["averaged"], abs=1e-6)
    assert fit.share_at_median(FIT["at"]) == pytest.approx(FIT["median"], abs=1e-6)
    for age, share in zip(FIT["at"], FIT["averaged"], strict=True):
        assert fit.crossing(share) == pytest.approx(age, abs=1e-3)
