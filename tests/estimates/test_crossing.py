"""What a crossing promises: exact ages, open sides, frozen mixes, sentences and refusals."""

import numpy as np
import pytest

from hingeline.errors import HingelineError
from hingeline.estimates.crossing import crossing, standard_mix
from hingeline.estimates.curve import fit_curve
from hingeline.estimates.hinge import fit_hinges, linear_predictor
from hingeline.estimates.resample import bootstrap_curve, bootstrap_hinges

AGE = np.arange(0.5, 70)


@pytest.fixture(scope="module")
def rows():
    rng = np.random.default_rng(11)
    age = np.tile(AGE, 3)
    hospital = np.repeat([0, 1, 2], AGE.size)
    n = np.full(age.size, 80)
    n[(hospital == 0) & (age > 18)] = 0
    n[(hospital == 1) & (age < 15)] = 0
    logit = np.interp(age, [0, 14, 20, 70], [-4.5, -4.2, -2, -0.5]) + np.array([-0.2, 0, 0.2])[hospital]
    return {
        "age": age,
        "direct": rng.binomial(n, 1 / (1 + np.exp(-logit))),
        "total": n,
        "groups": hospital,
    }


@pytest.fixture(scope="module")
def hinges(rows):
    return fit_hinges(**rows, turns=2, intervals=False, certify=False)


@pytest.fixture(scope="module")
def curve(rows):
    return fit_curve(**rows)


@pytest.mark.parametrize("kind", ["hinges", "curve"])
@pytest.mark.parametrize("threshold", [0.03, 0.05, 0.1, 0.2, 0.3])
def test_the_standardised_share_at_a_crossing_is_the_threshold(request, kind, threshold):
    fit = request.getfixturevalue(kind)
    found = crossing(fit, threshold)
    if kind == "hinges":
        share = fit.predict([found.age], group_weights=found.mix)
    else:
        share = fit.predict([found.age], mix=found.mix)
    assert share == pytest.approx([threshold], abs=1e-9)
    before = np.linspace(found.lowest, found.age - 1e-6, 5000)
    eta = (
        linear_predictor(fit.penalised, fit.taus, before)
        if kind == "hinges"
        else fit.logit(before)[:, None] + fit.intercepts
    )
    assert np.all((found.mix / (1 + np.exp(-eta))).sum(axis=1) < threshold)


def test_the_mix_of_a_crossing_is_that_of_the_hospitals_near_it(rows, curve):
    found = crossing(curve, 0.2)
    assert found.age > 25
    assert found.mix == pytest.approx([0, 0.5, 0.5], abs=0.01)
    assert found.mix == pytest.approx(standard_mix(rows["groups"], rows["age"], rows["total"], found.age))


def test_a_mix_takes_ages_within_three_years_and_both_ends():
    groups, ages, totals = ["b", "a", "b", "a", "c"], [10, 13.5, 16.5, 19.5, 40], [5, 3, 2, 10, 7]
    assert standard_mix(groups, ages, totals, 16.5) == pytest.approx([13 / 15, 2 / 15, 0])
    assert standard_mix(groups, ages, totals, 30) == pytest.approx([0, 0, 1])  # the nearest age with cases


def test_a_share_that_stays_below_is_not_reached_and_one_that_starts_above_is_there_already(curve):
    never = crossing(curve, 0.9)
    assert never.age == np.inf
    assert not never.reached
    assert never.interval[1] == np.inf
    assert "does not reach 90%" in never.sentence
    already = crossing(curve, 0.2, lowest=50)
    assert already.age == -np.inf
    assert already.reached
    assert already.interval == (-np.inf, -np.inf)
    assert "already" in str(already)


def test_an_interval_from_the_band_is_where_its_limits_cross(curve):
    found = crossing(curve, 0.1)
    band = curve.band(found.interval, mix=found.mix)
    assert band.high[0] == pytest.approx(0.1, abs=1e-4)
    assert band.low[1] == pytest.approx(0.1, abs=1e-4)
    assert found.interval[0] < found.age < found.interval[1]
    wider = crossing(curve, 0.1, level=0.99)
    assert wider.interval[0] < found.interval[0]
    assert wider.interval[1] > found.interval[1]


def test_a_hinge_fit_alone_gives_no_interval(hinges):
    found = crossing(hinges, 0.1)
    assert np.isnan(found.interval).all()
    assert found.method == "none"
    assert "CI" not in str(found)


@pytest.mark.parametrize("kind", ["hinges", "curve"])
def test_a_bootstrap_keeps_the_crossings_that_are_asked_of_it_later(rows, request, kind):
    asked = {"replicates": 40, "seed": 4, "thresholds": [0.05, 0.1], "ages": [10, 30]}
    if kind == "hinges":
        boot = bootstrap_hinges(**rows, turns=2, audit=0.05, **asked)
        assert boot.audited == 2
        assert boot.turns.shape == (40, 2)
        assert boot.odds_per_year.shape == (40, 3)
        assert np.all(np.diff(boot.turns, axis=1) >= 2 - 1e-9)
        assert boot.interval("turn", 0)[0] <= boot.interval("turn", 0)[1]
    else:
        boot = bootstrap_curve(**rows, **asked)
        assert boot.interval("steepest_age")[0] <= boot.interval("steepest_age")[1]
    assert boot.shares.shape == (40, 2)
    later = boot.crossing_ages(0.1, boot.threshold_mix[1], boot.lowest, boot.highest)
    assert np.array_equal(later, boot.crossings[:, 1])
    found = crossing(request.getfixturevalue(kind), 0.1, boot=boot)
    assert found.method == "bootstrap over patients"
    assert found.mix == pytest.approx(boot.threshold_mix[1])
    assert found.interval == pytest.approx(boot.interval("crossing", 0.1))
    assert found.interval[0] <= found.age <= found.interval[1]
    assert boot.to_frame().num_rows == 40
    assert "40 bootstrap replicates" in str(boot)
    with pytest.raises(HingelineError):
        boot.interval("crossing", 0.5)
    with pytest.raises(HingelineError):
        boot.interval("mode")


def test_hinges_and_curve_bootstrapped_under_one_seed_see_the_same_patients(rows):
    from hingeline.estimates.bootstrap_hinge import cell_draws, prepare_hinges
    from hingeline.estimates.cells import collapse
    from hingeline.estimates.hinge_rows import check_rows

    cells = collapse(**rows)
    ours = cell_draws(cells.rows, cells.cell_of_row, cells.total.size)
    design = prepare_hinges(rows["age"], rows["total"], turns=2, groups=rows["groups"])
    theirs = cell_draws(check_rows(**rows), design.cell_of_row, design.n_cells)
    for replicate in range(3):
        for first, second in zip(ours.draw(9, replicate), theirs.draw(9, replicate), strict=True):
            assert np.array_equal(first, second)


def test_a_bootstrap_gives_the_same_bytes_on_one_core_and_on_two(rows, monkeypatch):
    from hingeline.estimates import parallel

    monkeypatch.setattr(parallel, "START_SECONDS", {"fork": 0.0, "spawn": 0.0})
    asked = {"replicates": 30, "seed": 1, "thresholds": [0.1], "ages": AGE, "turns": 1, "audit": 0.1}
    told: list[tuple[int, int]] = []
    one = bootstrap_hinges(**rows, **asked, workers=1)
    two = bootstrap_hinges(**rows, **asked, workers=2, progress=lambda done, of: told.append((done, of)))
    for name in ("turns", "shares", "crossings", "odds_per_year", "loglik"):
        assert getattr(one, name).tobytes() == getattr(two, name).tobytes()
    assert (one.audited, one.mismatches) == (two.audited, two.mismatches)
    assert told[-1] == (33, 33)


def test_replicates_without_any_direct_case_have_a_share_of_nought_and_never_cross():
    """One direct case among 60: about one redrawing in e has none."""
    age = np.arange(60.0)
    boot = bootstrap_hinges(
        age, age == 30, np.ones(60), turns=1, replicates=40, seed=1, audit=0, ages=[30], thresholds=[0.1]
    )
    none = np.isnan(boot.turns[:, 0])
    assert 0 < none.sum() < 40
    assert np.all(boot.shares[none] == 0)
    assert np.all(boot.crossings[none] == np.inf)
    curve = bootstrap_curve(age, age == 30, np.ones(60), replicates=10, seed=1, ages=[30], basis=8)
    assert np.all((curve.shares >= 0) & (curve.shares <= 1))


@pytest.mark.parametrize("threshold", [0, 1, -0.1, 10, np.nan])
def test_a_threshold_outside_0_to_1_is_refused(curve, threshold):
    with pytest.raises(HingelineError):
        crossing(curve, threshold)


@pytest.mark.parametrize(
    "options",
    [{"mix": [1, 2]}, {"mix": [0, 0, 0]}, {"lowest": 40, "highest": 30}, {"highest": np.nan}, {"level": 2}],
)
def test_impossible_questions_are_refused(curve, options):
    with pytest.raises(HingelineError):
        crossing(curve, 0.1, **options)


@pytest.mark.parametrize(
    "options",
    [
        {"replicates": 0},
        {"seed": -2},
        {"audit": 1.5},
        {"thresholds": [0.1, 1.2]},
        {"thresholds": ["ten"]},
        {"level": 95},
        {"family": "poisson", "thresholds": [0.1]},
        {"clusters": np.zeros(210, dtype=int), "weights": np.arange(210)},
    ],
)
def test_impossible_bootstraps_are_refused(rows, options):
    with pytest.raises(HingelineError):
        bootstrap_hinges(**(rows | {"replicates": 2, "seed": 1, "audit": 0} | options))


def test_columns_of_a_mix_have_one_length_and_some_case():
    with pytest.raises(HingelineError):
        standard_mix([1, 2], [3.0], [4], 10)
    with pytest.raises(HingelineError):
        standard_mix([1, 2], [3.0, 4.0], [0, 0], 10)
