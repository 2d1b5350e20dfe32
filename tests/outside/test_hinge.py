"""Hinges against R (reference/hinge.R made hinge.json) and statsmodels, at the turns they agree on."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import statsmodels.api as sm

from hingeline.estimates import hinge_climb, hinge_errors, hinge_fits, hinge_make, hinge_newton, hinge_search
from hingeline.estimates.hinge import fit_hinges, prepare_hinges
from hingeline.estimates.hinge_design import natural

REFERENCE = json.loads((Path(__file__).parent / "reference" / "hinge.json").read_text(encoding="utf-8"))
DOWN = REFERENCE["down"]


def down(turns: int, **options):
    return fit_hinges(DOWN["age"], DOWN["cases"], DOWN["births"], turns=turns, calibration=0, **options)


def columns(age, taus, group=None):
    age = np.asarray(age, dtype=float)
    first = (
        np.ones((age.size, 1))
        if group is None
        else (group[:, None] == np.unique(group)[None, :]).astype(float)
    )
    return np.column_stack([first, age, *[np.maximum(age - tau, 0) for tau in taus]])


def check_one_turn_matches_segmented():
    """τ, slopes and log-likelihood: segmented 1.6-2 and an exhaustive profile with glm; data Davison & Hinkley 1997."""
    fit = down(1, intervals=False, certify=False)
    assert fit.taus[0] == pytest.approx(31.08, abs=0.005)
    assert fit.taus[0] == pytest.approx(REFERENCE["one"]["turn"], abs=1e-3)
    assert fit.loglik == pytest.approx(-91.4090, abs=5e-5)
    assert fit.loglik == pytest.approx(REFERENCE["segmented"]["loglik"], abs=1e-7)
    assert np.cumsum(fit.coefficients[1:]) == pytest.approx([-0.0134, 0.2608], abs=5e-5)


def check_errors_match_glm():
    """Coefficients and naive errors at the turn: statsmodels' GLM."""
    fit = down(1, intervals=False, certify=False)
    cases, births = np.array(DOWN["cases"]), np.array(DOWN["births"])
    glm = sm.GLM(
        np.column_stack([cases, births - cases]),
        columns(DOWN["age"], fit.taus),
        family=sm.families.Binomial(),
    ).fit(tol=1e-13)
    assert fit.coefficients == pytest.approx(glm.params, rel=1e-6, abs=1e-7)
    assert fit.standard_errors == pytest.approx(glm.bse, rel=1e-5)
    assert fit.loglik == pytest.approx(glm.llf, abs=1e-7)


def check_bic_matches_published_choice():
    """BIC with n = births: 348.3, 233.9, 252.1 for 0, 1 and 2 turns (R, outside-checks)."""
    assert [down(k, intervals=False, certify=False).bic for k in (0, 1, 2)] == pytest.approx(
        [348.3, 233.9, 252.1], abs=0.05
    )


def check_rates_match_glm():
    """Poisson on person-years: statsmodels' GLM with an offset."""
    fit = down(1, intervals=False, certify=False, family="poisson")
    births = np.array(DOWN["births"], dtype=float)
    glm = sm.GLM(
        np.array(DOWN["cases"], dtype=float),
        columns(DOWN["age"], fit.taus),
        family=sm.families.Poisson(),
        offset=np.log(births),
    ).fit(tol=1e-13)
    assert fit.coefficients == pytest.approx(glm.params, rel=1e-6, abs=1e-7)
    assert fit.standard_errors == pytest.approx(glm.bse, rel=1e-5)
    assert fit.loglik == pytest.approx(glm.llf, abs=1e-6)


def patients(seed: int):
    """Patients with one or two groins whose types go together; rows are groins, as a registry has them."""
    rng = np.random.default_rng(seed)
    count = 1500
    age, hospital = rng.uniform(0, 80, count), rng.integers(0, 3, count)
    own = rng.normal(0, 1.5, count)
    groins = rng.integers(1, 3, count)
    who = np.repeat(np.arange(count), groins)
    eta = np.interp(age, [0, 20, 80], [-3, -2.5, 1.0]) + 0.3 * hospital + own
    direct = rng.binomial(1, 1 / (1 + np.exp(-eta[who])))
    return age[who].round(0), hospital[who], who, direct


def check_cluster_robust_errors_match_glm():
    """Errors robust over patients: statsmodels' GLM, cov_type "cluster" without its small-sample correction."""
    age, hospital, who, direct = patients(11)
    fit = fit_hinges(
        age, direct, np.ones_like(direct), groups=hospital, clusters=who, intervals=False, certify=False
    )
    glm = sm.GLM(direct, columns(age, fit.taus, hospital), family=sm.families.Binomial())
    robust = glm.fit(tol=1e-13, cov_type="cluster", cov_kwds={"groups": who, "use_correction": False})
    assert fit.robust_standard_errors == pytest.approx(robust.bse, rel=1e-5)
    assert fit.standard_errors == pytest.approx(glm.fit(tol=1e-13).bse, rel=1e-5)


CHECKS = [
    check_one_turn_matches_segmented,
    check_errors_match_glm,
    check_bic_matches_published_choice,
    check_rates_match_glm,
    check_cluster_robust_errors_match_glm,
]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_outside(check: Callable[[], None]):
    check()


def test_profile_interval_matches_r():
    """χ² inversion, uncalibrated on purpose: 29.46–33.42 by uniroot on glm's profile (segmented gives 29.46–33.42)."""
    turn = down(1).turns[0]
    assert turn.interval == pytest.approx(REFERENCE["one"]["profile"], abs=0.01)
    assert turn.sign == 1
    assert turn.identified


def test_two_turns_reach_the_global_maximum_of_an_exhaustive_grid():
    """22.50 and 33.88, log-likelihood −87.7198: R, exhaustive grid then refined; segmented stops elsewhere."""
    fit = down(2, intervals=False)
    assert fit.taus == pytest.approx([22.50, 33.88], abs=0.005)
    assert fit.loglik == pytest.approx(-87.7198, abs=5e-5)
    assert fit.loglik >= REFERENCE["two"]["loglik"] - 1e-8
    assert fit.certificate is not None
    assert fit.certificate.gap <= 1e-6


def test_two_hospitals_at_a_given_turn_match_glm_in_r():
    h = REFERENCE["hospitals"]
    design = prepare_hinges(h["age"], h["total"], turns=1, groups=h["hospital"])
    tau = design.cells.to_decades(np.array([20.0]))
    y, n = design.by_cell(h["direct"]), design.by_cell(h["total"])
    fit = hinge_fits.fit_at(design.cells, y, n, tau[None, :])
    ours = natural(design.cells, tau, fit.theta[0], np.zeros(2))
    assert ours == pytest.approx(REFERENCE["hospitals_20"]["coefficients"], rel=1e-6, abs=1e-7)


def _scaled(module, name: str, part: int | None, factor: float):
    true = getattr(module, name)

    def wrong(*arguments, **options):
        result = true(*arguments, **options)
        if part is None:
            return factor * result
        return tuple(factor * value if i == part else value for i, value in enumerate(result))

    return wrong


MUTANTS = {
    "log-likelihood": ((hinge_newton,), "likelihood", 0),
    "information": ((hinge_errors,), "likelihood", 2),
    "hinge columns": ((hinge_fits, hinge_climb, hinge_search), "hinges", None),
    "robust meat": ((hinge_errors,), "_meat", None),
    "criterion": ((hinge_make,), "bic", None),
    "patients counted": ((hinge_make,), "count_patients", None),
    "binomial coefficients": ((hinge_make,), "_constant", None),
    "naive covariance": ((hinge_make,), "covariances", 0),
}


@pytest.mark.parametrize("name", MUTANTS)
def test_a_planted_error_of_one_per_cent_turns_a_check_red(name: str, monkeypatch: pytest.MonkeyPatch):
    modules, function, part = MUTANTS[name]
    for module in modules:
        monkeypatch.setattr(module, function, _scaled(module, function, part, 1.01))

    def red(check: Callable[[], None]) -> bool:
        try:
            check()
        except (AssertionError, np.linalg.LinAlgError):
            return True
        return False

    assert any(red(check) for check in CHECKS)


def test_a_planted_error_in_the_score_turns_a_check_red(monkeypatch: pytest.MonkeyPatch):
    """Observed counts 1% too high in the score: the maximum moves."""
    true = hinge_newton.likelihood

    def wrong(cells, y, n, eta):
        loglik, score, info = true(cells, y, n, eta)
        return loglik, score + 0.01 * y, info

    for module in (hinge_newton, hinge_fits, hinge_climb):
        monkeypatch.setattr(module, "likelihood", wrong)
    with pytest.raises(AssertionError):
        check_errors_match_glm()
