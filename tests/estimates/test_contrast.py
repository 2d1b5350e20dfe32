"""Comparing repairs: counts instead of rows, where nothing can be compared, rare events, bad input."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from hingeline.errors import HingelineError
from hingeline.estimates.contrast import contrast, propensity
from hingeline.estimates.contrast_draw import BATCH
from hingeline.estimates.contrast_propensity import on_scale, redundant, refit, scale
from hingeline.estimates.followup_cox import cox
from hingeline.estimates.patterns import Patients

ARMS = ["high_ligation", "tissue", "mesh"]
QUICK = {"replicates": 40, "workers": 1, "horizons_years": (1.0, 5.0)}


def study(seed: int = 3, size: int = 1500, rate: float = 0.03, youngest: float = 12.0) -> dict[str, Any]:
    """Invented patients of 12 to 30: the older, the more often mesh; ages in half-years."""
    rng = np.random.default_rng(seed)
    age = rng.integers(int(2 * youngest), 60, size) / 2
    hospital = np.array(["Aldermoor", "Brackwater", "Coldharbour"])[rng.integers(0, 3, size)]
    odds = np.exp(np.stack([np.zeros(size), 0.1 * (age - 20), 0.2 * (age - 22)], axis=1))
    arm = (rng.random(size)[:, None] > np.cumsum(odds / odds.sum(axis=1, keepdims=True), axis=1)).sum(axis=1)
    event, death = rng.exponential(1 / rate, size), rng.exponential(200, size)
    until = rng.uniform(0.5, 9, size)
    last = np.minimum(np.minimum(event, death), until)
    return {
        "arm": arm,
        "days": np.floor(365.25 * last).astype(int),
        "outcome": np.where(last == event, 1, np.where(last == death, 2, 0)),
        "covariates": {"age": age, "hospital": hospital},
        "arms": ARMS,
    }


def told(found: Any) -> np.ndarray:
    return np.array([[pair.difference, pair.low, pair.high, pair.ratio] for pair in found.pairs])


def test_counts_of_patterns_say_what_their_rows_would() -> None:
    given = study()
    table = np.stack(
        [given["arm"], given["days"] // 200 * 200, given["outcome"], given["covariates"]["age"] // 3 * 3],
        axis=1,
    )
    distinct, patients = np.unique(table, axis=0, return_counts=True)
    assert len(distinct) < 0.8 * len(table)
    # patients in the patterns' order, so that the same seed draws the same patients
    every = np.repeat(distinct, patients, axis=0)
    results = []
    for rows, weights in ((distinct, patients), (every, None)):
        arm, days, outcome, age = rows.T
        results.append(
            contrast(arm.astype(int), days, outcome, {"age": age}, weights=weights, arms=ARMS, **QUICK)
        )
    assert told(results[1]) == pytest.approx(told(results[0]), abs=1e-9)
    assert [w.n for w in results[0].weights] == [w.n for w in results[1].weights]


def test_two_groins_of_one_patient_are_drawn_together() -> None:
    """Everyone's groins doubled: the same risks, the same limits, for there are no more patients than before."""
    given = study()
    given["outcome"][given["arm"] == 1] *= np.arange(np.sum(given["arm"] == 1)) % 12 == 0  # few: score limits
    once = contrast(**given, **QUICK)
    assert {pair.method for pair in once.pairs} == {"bootstrap", "score"}
    twice = contrast(**given, n=np.full(given["arm"].size, 2), **QUICK)
    rows = {name: np.tile(given[name], 2) for name in ("arm", "days", "outcome")}
    covariates = {name: np.tile(values, 2) for name, values in given["covariates"].items()}
    apart = contrast(
        **rows, covariates=covariates, arms=ARMS, clusters=np.tile(np.arange(given["arm"].size), 2), **QUICK
    )
    for other in (twice, apart):
        assert told(other) == pytest.approx(told(once), abs=1e-8)
    assert twice.weights[0].n == apart.weights[0].n == 2 * once.weights[0].n


def test_the_order_of_rows_and_the_number_of_cores_change_nothing() -> None:
    given = study(size=600)
    alone = contrast(**given, **QUICK | {"replicates": 2 * BATCH + 3})
    several = contrast(**given, **QUICK | {"replicates": 2 * BATCH + 3, "workers": 2})
    assert alone.drawn.tobytes() == several.drawn.tobytes()
    backwards = {name: given[name][::-1] for name in ("arm", "days", "outcome")}
    covariates = {name: values[::-1] for name, values in given["covariates"].items()}
    clusters = np.arange(given["arm"].size)[::-1]
    turned = contrast(
        **backwards,
        covariates=covariates,
        arms=ARMS,
        clusters=clusters,
        **QUICK | {"replicates": 2 * BATCH + 3},
    )
    assert told(turned) == pytest.approx(told(alone), abs=1e-9)


@pytest.mark.parametrize("weights", [[1, 1, 3, 0, 2] * 30, [500, 20, 1], [0, 0, 4]])
def test_patients_are_drawn_each_with_the_same_chance_whatever_their_pattern(weights: list[int]) -> None:
    """The patients laid end to end: the number drawn lies in its pattern's stretch, or patterns are drawn at once."""
    number, patterns = sum(weights), len(weights)
    for replicate in range(5):
        stream = np.random.Generator(np.random.Philox(np.random.SeedSequence(7, spawn_key=(replicate,))))
        if number > 8 * patterns:
            expected = stream.multinomial(number, np.array(weights) / number)
        else:
            place = np.searchsorted(np.cumsum(weights), stream.integers(number, size=number), side="right")
            expected = np.bincount(place, minlength=patterns)
        assert np.array_equal(Patients(np.array(weights)).draw(7, replicate), expected)


def test_recurrences_all_found_on_one_day_leave_a_hazard_ratio_without_a_test_over_time() -> None:
    given = study(size=900)
    event = np.arange(900) % 9 == 0
    given["days"], given["outcome"] = np.where(event, 400, 2000), event.astype(int)
    found = contrast(**given, **QUICK)
    assert len(found.cox) == 2
    assert all(np.isfinite(one.ratio) and np.isnan(one.proportional_p) for one in found.cox)
    own = np.isin(given["arm"], [0, 1])
    fit = cox(given["days"][own], given["outcome"][own], given["arm"][own])
    with pytest.raises(HingelineError, match="All events came on one day"):
        fit.proportional()


def test_hazards_that_run_away_stay_numbers() -> None:
    """One of 2,000 alone in an arm that never recurs, beside another that always does: on both sides no maximum."""
    size = 2000
    arm = np.where(np.arange(size) == 7, 1, np.where(np.arange(size) == 9, 2, 0))
    days = np.where(arm == 2, 1, 50 + np.arange(size) % 900)
    outcome = ((np.arange(size) % 11 == 0) & (arm == 0)) | (arm == 2)
    with np.errstate(all="raise", under="ignore"):
        fit = cox(days, outcome.astype(int), np.stack([arm == 1, arm == 2], axis=1).astype(float))
    assert len(fit.infinite) == 2
    assert fit.hazard_ratio[0] == 0
    assert 0 < fit.high[0] < np.inf
    assert np.isinf(fit.hazard_ratio[1])
    assert fit.low[1] > 1


def test_a_propensity_fitted_again_from_the_first_is_the_one_fitted_from_nothing() -> None:
    rng = np.random.default_rng(8)
    design = rng.normal(size=(40, 3))
    whole = rng.integers(1, 30, size=(40, 3)).astype(float)
    again = rng.poisson(whole[None].repeat(4, axis=0)).astype(float)
    first = propensity(design, whole)
    scaled = scale(design, whole.sum(axis=1))
    start = on_scale(scaled, first.coefficients)
    shares, settled = refit(scaled, start, np.ascontiguousarray(again.transpose(2, 0, 1)), 0.0)
    assert settled.all()
    for place in range(4):
        alone = propensity(design, again[place]).probability
        assert np.abs(shares[:, place].T - alone).max() < 1e-6


def test_a_fit_is_at_the_maximum_of_the_likelihood() -> None:
    """There the counts expected of each arm equal those seen, for the intercept and for each covariate."""
    rng = np.random.default_rng(2)
    design, counts = rng.normal(size=(30, 2)), rng.integers(1, 9, size=(30, 3)).astype(float)
    found = propensity(design, counts)
    excess = counts - counts.sum(axis=1, keepdims=True) * found.probability
    assert np.abs(excess.sum(axis=0)).max() < 1e-9
    assert np.abs(design.T @ excess).max() < 1e-9


def test_a_redrawn_set_that_tells_every_arm_for_certain_stops_nothing() -> None:
    """Two sets: one as it was, one in which the arms lie apart and the start is already as good as certain."""
    design = np.array([[-1.0], [1.0]])
    scaled = scale(design, np.array([10.0, 10.0]))
    counts = np.array([[[9.0, 1.0], [10.0, 0.0]], [[1.0, 9.0], [0.0, 10.0]]])
    for slope in (2.2, 800.0):
        shares, settled = refit(scaled, np.array([[0.0], [slope]]), counts, 0.0)
        assert np.isfinite(shares).all()
        assert shares[1, 1] == pytest.approx([0, 1], abs=1e-3)
        if slope < 3:
            assert settled[0]
            assert shares[1, 0] == pytest.approx([0.1, 0.9])


def test_a_column_is_left_out_when_the_rank_does_not_grow_by_it() -> None:
    rng = np.random.default_rng(6)
    for rows in (60, 4):  # many sets of covariates, and fewer than columns
        free = rng.integers(0, 4, size=(rows, 3)).astype(float)
        design = np.column_stack(
            [free[:, :2], 2 * free[:, 0] - free[:, 1] + 3, np.full(rows, 7.0), free[:, 2]]
        )
        groins = rng.integers(1, 9, rows).astype(float)
        whole = np.column_stack([np.ones(rows), design])
        ranks = [np.linalg.matrix_rank(whole[:, :place]) for place in range(1, whole.shape[1] + 1)]
        assert redundant(scale(design, groins), groins).tolist() == (np.diff(ranks) == 0).tolist()
        assert np.any(np.diff(ranks) == 0)


def test_arms_told_apart_for_certain_are_refused_and_a_stated_ridge_fits_them() -> None:
    design = np.array([[0.0], [1], [2], [3]])
    counts = np.array([[5.0, 0], [4, 0], [0, 3], [0, 6]])
    with pytest.raises(HingelineError, match="told for certain"):
        propensity(design, counts)
    found = propensity(design, counts, ridge=0.1)
    assert found.ridge == 0.1
    assert np.all(np.diff(found.probability[:, 1]) > 0)
    assert "ridge" in str(found)


def test_nobody_of_5_had_mesh_so_mesh_is_not_compared_there() -> None:
    given = study(size=3000, youngest=3)
    arm, age = given["arm"], given["covariates"]["age"]
    arm[(arm == 2) & (age < 15)] = 0
    found = contrast(**given, **QUICK)
    lowest = age[arm == 2].min()
    assert found.overlap.outside >= np.sum(age < lowest) > 500
    gap = next(gap for gap in found.overlap.gaps if gap.arm == "mesh" and gap.covariate == "age")
    assert (gap.low, gap.high) == (3, age[age < lowest].max())
    assert "nobody had mesh where age is 3.0 to 14.5" in str(found)
    assert sum(w.n for w in found.weights) == found.overlap.inside
    without_mesh = next(p for p in found.overlap.pairs if (p.first, p.second) == ("high_ligation", "tissue"))
    assert without_mesh.outside < 20
    assert found.overlap.to_frame().num_rows == len(found.overlap.gaps)


def test_a_gap_within_the_ages_is_found_too() -> None:
    given = study(size=4000)
    arm, age = given["arm"], given["covariates"]["age"]
    arm[(arm == 2) & (age >= 18) & (age < 21)] = 1
    found = contrast(**given, **QUICK)
    inner = [gap for gap in found.overlap.gaps if gap.arm == "mesh" and gap.low > 17.5 and gap.high < 21.5]
    assert inner
    assert found.overlap.outside > 300


def test_a_hospital_that_never_does_mesh_is_not_compared() -> None:
    given = study()
    hospital = given["covariates"]["hospital"]
    given["arm"][(given["arm"] == 2) & (hospital == "Brackwater")] = 1
    found = contrast(**given, **QUICK)
    assert "nobody had mesh where hospital is Brackwater" in str(found.overlap)
    assert not any("Brackwater" in row.covariate for row in found.balance)
    # the same when the caller has coded the levels
    marks = np.stack([hospital == name for name in ("Brackwater", "Coldharbour")], axis=1).astype(float)
    matrix = np.column_stack([given["covariates"]["age"], marks])
    names = ["age", "hospital=Brackwater", "hospital=Coldharbour"]
    coded = contrast(**given | {"covariates": matrix}, names=names, **QUICK)
    assert coded.overlap.outside == found.overlap.outside
    assert told(coded) == pytest.approx(told(found), abs=1e-9)


def test_where_no_patients_are_alike_the_comparison_is_refused_and_says_which_can_be_made() -> None:
    given = study(size=1000)
    given["arm"] = np.where(given["covariates"]["age"] > 20, 2, given["arm"] % 2)
    with pytest.raises(HingelineError, match="no patients alike") as refused:
        contrast(**given, **QUICK)
    assert "high_ligation with tissue" in refused.value.todo
    assert len(refused.value.what) < 1500


def test_under_five_events_there_is_a_score_limit_and_a_verdict_only_if_the_unweighted_agrees() -> None:
    given = study(size=900, rate=0.002)
    given["outcome"] = np.where((given["arm"] == 2) & (given["outcome"] == 1), 0, given["outcome"])
    found = contrast(**given, **QUICK)
    mesh = [arm for arm in found.arms if arm.arm == "mesh"]
    assert all(arm.risk == 0 and arm.low == 0 and arm.high > 0 for arm in mesh)
    pairs = [pair for pair in found.pairs if "mesh" in (pair.arm, pair.against)]
    assert all(pair.method == "score" and pair.low < pair.high for pair in pairs)


def test_rare_events_whose_weighted_and_unweighted_limits_disagree_have_no_verdict() -> None:
    older = np.repeat([False, False, True, True], [900, 60, 40, 900])
    arm = np.repeat([0, 1, 0, 1], [900, 60, 40, 900])
    outcome = np.zeros(older.size, dtype=int)
    outcome[900:903] = 1  # three of mesh's 60 young, which stand for 960 once weighted
    days = np.where(outcome == 1, 200, 2200)
    arms = ["high_ligation", "mesh"]
    found = contrast(arm, days, outcome, {"older": older}, arms=arms, margin=0.01, **QUICK).pairs[1]
    assert found.method == "score"
    assert found.high > 0.01 > found.crude_high
    assert found.verdict == found.superiority == found.non_inferiority == "cannot tell"
    assert "without weights the limits say otherwise" in found.sentence


def test_weights_that_explode_are_told_and_leave_no_verdict() -> None:
    rng = np.random.default_rng(4)
    age = np.r_[np.full(2000, 15.0), np.full(300, 25.0)]
    arm = np.r_[np.zeros(2000), np.ones(300)].astype(int)
    arm[[0, 2000, 2001]] = [1, 0, 0]
    outcome = (rng.random(2300) < 0.05).astype(int)
    found = contrast(
        arm,
        np.where(outcome, 100, 2200),
        outcome,
        {"older": age > 20},
        arms=["high_ligation", "mesh"],
        estimand="all",
        **QUICK,
    )
    mesh = found.weights[1]
    assert mesh.explodes
    assert mesh.largest_share > 0.8
    assert found.pairs[0].verdict == "cannot tell"
    assert "a few groins decide" in found.pairs[0].sentence


def test_a_horizon_beyond_the_follow_up_is_a_stated_limit() -> None:
    found = contrast(**study(), **QUICK | {"horizons_years": (5.0, 12.0)})
    far = [arm for arm in found.arms if arm.years == 12]
    assert all(np.isnan(arm.risk) and "longest follow-up is" in arm.warning for arm in far)
    pair = found.pair("mesh", "high_ligation", 12)
    assert pair.verdict == "cannot tell"
    assert "nobody was followed for 12 years" in pair.sentence
    assert not np.isnan(found.pair("mesh", "high_ligation", 5).difference)


def test_few_followed_so_long_is_a_warning() -> None:
    given = study(size=900)
    cut = (given["arm"] == 2) & (given["days"] > 1700) & (np.arange(900) % 40 > 0)
    given["days"][cut] = 1700
    found = contrast(**given, **QUICK)
    mesh = next(arm for arm in found.arms if arm.arm == "mesh" and arm.years == 5)
    assert 0 < mesh.at_risk < 10
    assert "followed so long" in mesh.warning


def test_an_arm_with_no_event_is_compared_by_score() -> None:
    given = study()
    given["outcome"][given["arm"] == 1] = 0
    found = contrast(**given, **QUICK)
    pair = found.pair("tissue", "high_ligation", 5)
    assert pair.ratio == 0
    assert 0 < pair.ratio_high < np.inf
    assert pair.low < pair.difference < 0
    assert [each.arm for each in found.cox] == ["mesh"]
    assert "no hazard ratio of tissue: nobody recurred after it" in found.notes
    turned = contrast(**given, **QUICK, reference="tissue")
    assert turned.cox == ()
    assert any("nobody recurred after tissue" in note for note in turned.notes)


def test_a_covariate_that_says_nothing_of_its_own_is_left_out_and_told() -> None:
    given = study()
    age = given["covariates"]["age"]
    given["covariates"] |= {
        "sex": np.full(age.size, "male"),
        "months": 12 * age,
        "era": np.full(age.size, 3.0),
    }
    found = contrast(**given, **QUICK)
    assert any("months" in note and "era" in note for note in found.notes)
    assert told(found) == pytest.approx(told(contrast(**study(), **QUICK)), abs=1e-7)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"days": -1}, "days is no whole number of 0 or more"),
        ({"outcome": 3}, "outcome is unknown"),
        ({"age": np.nan}, r"age is missing in 1 of 1,500 groins"),
        ({"hospital": ""}, r"hospital is missing in 1 of 1,500 groins"),
        ({"arms": [*ARMS, "tape"]}, "Nobody had tape"),
        ({"reference": "tape"}, "none of the arms"),
        ({"horizons_years": (0,)}, "no number of years"),
        ({"estimand": "treated"}, "estimand"),
        ({"margin": 2}, "margin"),
        ({"margin_by": "both"}, "margin_by"),
        ({"level": 95}, "level"),
        ({"ridge": -1}, "ridge"),
        ({"n": [1, 2]}, "shape"),
        ({"weights": np.arange(1500), "clusters": np.zeros(1500)}, "different numbers of patients"),
        ({"arm": np.zeros(1500, dtype=int)}, "Nobody had tissue"),
        ({"replicates": 0}, "0 replicates"),
        ({"seed": -1}, "seed"),
    ],
)
def test_what_cannot_be_is_refused(change: dict[str, Any], what: str) -> None:
    given = study() | QUICK
    for name, value in change.items():
        if name in ("days", "outcome"):
            given[name] = given[name].copy()
            given[name][7] = value
        elif name in given["covariates"]:
            values = given["covariates"][name].astype(object if isinstance(value, str) else float)
            values[7] = value
            given["covariates"][name] = values
        else:
            given[name] = value
    with pytest.raises(HingelineError, match=what):
        contrast(**given)


def test_frames_and_sentences_hold_all_that_was_compared() -> None:
    found = contrast(**study(), **QUICK, reference="tissue", margin_by="reference")
    frame = found.to_frame()
    assert frame.num_rows == len(found.pairs) == 6
    assert {pair.shown_by for pair in found.pairs if pair.against == "tissue"} == {"tissue"}
    assert found.arms_frame().num_rows == 6
    assert found.balance_frame().num_rows == len(found.balance)
    assert found.weights_frame().column_names[0] == "arm"
    assert found.unadjusted.num_rows == 6
    assert set(found.e_value) == {(pair.arm, pair.against, pair.years) for pair in found.pairs}
    assert str(found).count("by 5 years") == 3
    for part in (
        *found.arms,
        *found.pairs,
        *found.balance,
        *found.weights,
        *found.cox,
        found.overlap,
        found.propensity,
    ):
        assert "nan" not in str(part)
    with pytest.raises(HingelineError, match="not compared"):
        found.pair("tissue", "tape", 5)
    assert "on age and hospital, fitted by maximum likelihood" in found.method
    assert "any of the repairs" in found.whom


def test_a_hessian_made_in_pieces_is_the_one_made_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    design, counts = rng.normal(size=(50, 4)), rng.integers(1, 9, size=(50, 3)).astype(float)
    at_once = propensity(design, counts)
    monkeypatch.setattr("hingeline.estimates.contrast_propensity.MOST_PRODUCTS", 100)
    in_pieces = propensity(design, counts)
    assert in_pieces.coefficients == pytest.approx(at_once.coefficients, abs=1e-9)
