"""Pooling against R (reference/pooling.R): metafor and lme4 on metafor's own data, and R's adaptive integrate().

The values to six digits are maxima of the same likelihood over integrate(); rma.glmm and glmer stop within about 1e-5
of them, and are held to that.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.stats import binom, chi2, norm

from hingeline.counts.series import example_series, series_of
from hingeline.estimates.pooling import Pooled, funnel_limits, pool_effects, pool_rates, pool_shares
from hingeline.estimates.pooling_series import leave_one_out, pool_series

REFERENCE = json.loads((Path(__file__).parent / "reference" / "pooling.json").read_text(encoding="utf-8"))
PRITZ = REFERENCE["pritz"]


def logit(share: float) -> float:
    return math.log(share / (1 - share))


def check_maximum(found: Pooled, expected: dict[str, float], low: float, high: float) -> None:
    assert found.linear == pytest.approx(expected["level"], abs=1e-6)
    assert found.tau2 == pytest.approx(expected["tau2"], abs=1e-6)
    assert (low, high) == pytest.approx((expected["low"], expected["high"]), abs=1e-6)
    assert found.tau2_low == pytest.approx(expected["tau2_low"], abs=1e-6)
    assert found.tau2_high == pytest.approx(expected["tau2_high"], abs=1e-5)


@pytest.mark.parametrize("name", ["pritz", "rare"])
def test_shares_and_profile_limits_are_the_maximum_by_adaptive_integration(name: str) -> None:
    row = REFERENCE[name]
    found = pool_shares(row["x"], row["n"])
    check_maximum(found, row["integrate"], logit(found.low), logit(found.high))


def profile_of_tau(x: list[int], n: list[int], tau: float) -> float:
    """Highest log-likelihood at a τ: each series' binomial summed over a fine normal grid, by scipy alone."""
    z = np.linspace(-9.0, 9.0, 4001)
    mass = norm.pdf(z) * (z[1] - z[0])
    events, totals = np.array(x)[:, None], np.array(n)[:, None]

    def down(level: float) -> float:
        share = 1 / (1 + np.exp(-(level + tau * z)))
        return -float(np.log(binom.pmf(events, totals, share) @ mass).sum())

    return -float(minimize_scalar(down, bounds=(-20, 0), method="bounded", options={"xatol": 1e-8}).fun)


@pytest.mark.parametrize(
    ("x", "n", "level"),
    [
        ([0, 0, 0, 1, 0], [20, 30, 45, 347, 100], 0.9),
        ([0, 1, 0, 3, 8, 2], [40, 60, 33, 120, 90, 200], 0.95),
    ],
)
def test_the_upper_limit_of_the_spread_lies_where_a_fine_sum_has_the_cut_off(
    x: list[int], n: list[int], level: float
) -> None:
    """By definition of a profile limit; so wide a spread needs more quadrature points than the maximum does."""
    found = pool_shares(x, n, level=level)
    fall = profile_of_tau(x, n, math.sqrt(found.tau2)) - profile_of_tau(x, n, math.sqrt(found.tau2_high))
    assert fall == pytest.approx(chi2.ppf(level, 1) / 2, abs=5e-6)


def test_rates_and_profile_limits_are_the_maximum_by_adaptive_integration() -> None:
    row = REFERENCE["rates"]
    found = pool_rates(row["x"], row["n"], per=1)
    check_maximum(found, row["integrate"], math.log(found.low), math.log(found.high))


def test_shares_match_metafor_and_lme4_as_closely_as_they_converge() -> None:
    """rma.glmm and glmer, dat.pritz1997; published values: 0.798 (0.692–0.875), prediction 0.443–0.952."""
    found = pool_shares(PRITZ["x"], PRITZ["n"], limits="wald")
    for other in (PRITZ["rma_glmm"], PRITZ["glmer"]):
        assert found.linear == pytest.approx(other["level"], abs=2e-5)
        assert found.se == pytest.approx(other["se"], abs=2e-5)
        assert found.tau2 == pytest.approx(other["tau2"], abs=2e-5)
    shares = (found.share, found.low, found.high, found.prediction_low, found.prediction_high)
    assert shares == pytest.approx(PRITZ["rma_glmm"]["share"] + PRITZ["rma_glmm"]["prediction"], abs=1e-5)
    assert shares == pytest.approx((0.798, 0.692, 0.875, 0.443, 0.952), abs=6e-4)
    assert found.q == pytest.approx(PRITZ["rma_glmm"]["lrt"], abs=1e-8)
    assert found.q_p == pytest.approx(PRITZ["rma_glmm"]["lrt_p"], rel=1e-7)


def test_rates_match_metafor_as_closely_as_it_converges() -> None:
    other = REFERENCE["rates"]["rma_glmm"]
    found = pool_rates(REFERENCE["rates"]["x"], REFERENCE["rates"]["n"])
    assert (found.linear, found.se, found.tau2) == pytest.approx(
        (other["level"], other["se"], other["tau2"]), abs=2e-5
    )


def check_effects(hk: Pooled, z: Pooled, row: dict[str, Any], back: Any) -> None:
    assert hk.linear == pytest.approx(row["effect"], abs=1e-7)
    assert hk.se == pytest.approx(row["se"], abs=1e-7)
    assert hk.tau2 == pytest.approx(row["tau2"], abs=1e-7)
    assert hk.i2 == pytest.approx(row["i2"], abs=1e-7)
    assert (hk.q, hk.q_p) == pytest.approx((row["q"], row["q_p"]), rel=1e-9)
    assert (hk.tau2_low, hk.tau2_high) == pytest.approx(row["tau2_limits"], abs=1e-6)
    assert hk.weights == pytest.approx(row["weights"], abs=1e-7)
    for found, name in ((hk, "hk"), (z, "z")):
        assert (found.low, found.high) == pytest.approx([back(v) for v in row[name]], abs=1e-7)
        ahead = [back(v) for v in row[f"prediction_{name}"]]
        assert (found.prediction_low, found.prediction_high) == pytest.approx(ahead, abs=1e-7)
    assert hk.beside[0][1:] == pytest.approx((z.low, z.high))
    out = leave_one_out(z)
    for name, values in row["left_out"].items():
        got = [getattr(each, "estimate" if name == "effect" else name) for each in out.rows]
        same = values if name == "tau2" else [back(value) for value in values]
        assert got == pytest.approx(same, abs=1e-6), name


def test_logit_shares_by_inverse_variance_match_metafor() -> None:
    """outside-checks: 1.1389, τ² 0.3646, I² 56.56%, Q 29.785; z 0.6656–1.6122, Hartung–Knapp 0.6108–1.6670."""
    hk = pool_shares(PRITZ["x"], PRITZ["n"], model="reml")
    z = pool_shares(PRITZ["x"], PRITZ["n"], model="reml", limits="z")
    check_effects(hk, z, PRITZ["reml"], lambda value: 1 / (1 + math.exp(-value)))
    assert (hk.linear, hk.tau2, hk.i2, hk.q) == pytest.approx((1.1389, 0.3646, 0.5656, 29.785), abs=6e-4)
    assert (logit(hk.low), logit(hk.high)) == pytest.approx((0.6108, 1.6670), abs=6e-5)
    assert (logit(z.low), logit(z.high)) == pytest.approx((0.6656, 1.6122), abs=6e-5)
    # one of the series is 10 of 10
    assert "½ was added" in hk.warnings[0]


def test_log_risk_ratios_match_metafor() -> None:
    """dat.bcg; outside-checks: −0.7145 (0.1798), τ² 0.3132 (0.120–1.112), Q 152.233."""
    row = REFERENCE["bcg"]
    hk = pool_effects(row["estimates"], row["ses"])
    check_effects(hk, pool_effects(row["estimates"], row["ses"], limits="z"), row, float)
    got = (hk.linear, hk.se, hk.tau2, hk.tau2_low, hk.tau2_high, hk.q)
    assert got == pytest.approx((-0.7145, 0.1798, 0.3132, 0.120, 1.112, 152.233), abs=6e-4)


def test_control_limits_follow_spiegelhalter() -> None:
    """Spiegelhalter, Stat Med 2005;24:1185–1202, appendix A.1.1, written out in R with qbinom and pbinom."""
    for row in REFERENCE["funnel"]:
        found = funnel_limits(row["centre"], [row["n"]])
        got = [getattr(found, name)[0] for name in ("low95", "high95", "low998", "high998")]
        assert got == pytest.approx(row["limits"], abs=1e-9), row


def test_the_four_adolescent_summaries_are_as_published() -> None:
    """Reistrup 2023, Langenbecks Arch Surg, doi 10.1007/s00423-023-02947-9 (abstract); 0 of 347 recomputed."""
    table = series_of(example_series(), "example").to_pydict()
    told = {
        label: (round(100 * share, 1), low, high, n)
        for label, share, low, high, n in zip(
            *(table[c] for c in ("label", "share", "low", "high", "n")), strict=True
        )
    }
    assert told["Non-mesh, open"] == (1.6, 0.006, 0.025, 2167)
    assert told["Non-mesh, laparoscopic"] == (1.9, 0.011, 0.028, 1033)
    assert told["Mesh, open"] == (0.6, 0.0, 0.014, 406)
    assert told["Mesh, laparoscopic"] == (0.0, None, None, 347)
    columns = {name: table[name] for name in ("label", "events", "n", "share", "low", "high", "kind")}
    shown = pool_series(**columns)
    assert shown.pooled is None
    assert round(100 * shown.summaries[3].high, 2) == 1.06  # Clopper–Pearson, of outside-checks


def test_without_an_event_the_limit_is_the_rule_of_three() -> None:
    """Hanley & Lippman-Hand, JAMA 1983;249:1743: one-sided 95%; 0 of 347 gives 0.86%."""
    found = pool_shares([0, 0], [200, 147])
    assert found.one_sided
    assert found.high == pytest.approx(1 - 0.05 ** (1 / 347), rel=1e-12)
    assert round(100 * found.high, 2) == 0.86
    rate = pool_rates([0, 0], [200, 100], per=100)
    assert rate.high == pytest.approx(-100 * np.log(0.05) / 300)
