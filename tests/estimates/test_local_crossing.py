"""What a point crossing promises: it is where the drawn share first is at the threshold, hospitals and all.

The drawn share is written out here a second time, one age after another, from the definition of the case mix.
"""

import numpy as np
import pytest
from scipy.special import expit

from hingeline.estimates.crossing import crossing, standard_mix
from hingeline.estimates.curve import fit_curve
from hingeline.estimates.first_reach import CurveLogit, HingeLogit, local_crossing
from hingeline.estimates.hinge import fit_hinges
from hingeline.estimates.mix import mix_near, mix_stretches
from hingeline.estimates.resample import bootstrap_curve, bootstrap_hinges
from hingeline.estimates.spline import equal_spline

THRESHOLDS = (0.02, 0.05, 0.1, 0.2, 0.3, 0.5)
STEP_YEARS = 0.05
INSIDE = 2.5e-10
"""Years into a stretch whose mix holds, from its edge: ages exactly 3 years away make stretches of 1e-9."""


@pytest.fixture
def rng() -> np.random.Generator:
    seed = int(np.random.SeedSequence().entropy % 2**32)
    print("seed", seed)
    return np.random.default_rng(seed)


@pytest.fixture(scope="module")
def hand_over():
    """A children's hospital to 17, eight times as busy, and a general one from 13, of a higher level."""
    return {
        "group": np.repeat([0, 1], [18, 78]),
        "ages": np.r_[np.arange(18.0), np.arange(13.0, 91.0)],
        "totals": np.repeat([8.0, 1.0], [18, 78]),
    }


def random_cells(rng):
    """Three to six hospitals, each open to its own span of ages, at whole, half or any ages, with gaps."""
    hospitals = int(rng.integers(3, 7))
    kind = rng.integers(3)
    group, ages = [], []
    for hospital in range(hospitals):
        low, high = np.sort(rng.uniform(0, 90, 2))
        held = rng.uniform(low, high, int(rng.integers(1, 60)))
        held = np.unique(held if kind == 0 else np.round(held * kind) / kind)
        group.append(np.full(held.size, hospital))
        ages.append(held)
    ages = np.concatenate(ages)
    totals = rng.integers(0, 30, ages.size).astype(float)
    totals[0] = 5.0
    return np.concatenate(group), ages, totals, hospitals


def mix_by_definition(at, group, ages, totals, hospitals):
    distance = np.where(totals > 0, np.abs(ages - at), np.inf)
    near = distance <= max(3.0, distance.min()) + 1e-9
    weights = np.array([totals[near & (group == hospital)].sum() for hospital in range(hospitals)])
    return weights / weights.sum()


def random_logit(rng, kind, hospitals):
    levels = rng.normal(-3, 0.8, hospitals)
    if kind == "curve":
        coefs = np.cumsum(rng.normal(0.1, 0.3, 16))
        return CurveLogit(levels, coefs, equal_spline(0.0, 90.0, 16))
    turns = np.sort(rng.uniform(2, 88, int(rng.integers(0, 4))))
    return HingeLogit(
        np.concatenate([levels, [rng.normal(0.02, 0.02)], rng.normal(0, 0.1, turns.size)]), turns
    )


@pytest.mark.parametrize("kind", ["hinges", "curve"])
def test_crossings_are_where_the_drawn_share_first_is_at_the_threshold_and_rise_with_it(rng, kind):
    for _ in range(12):
        group, ages, totals, hospitals = random_cells(rng)
        logit = random_logit(rng, kind, hospitals)

        def drawn(at, logit=logit, cells=(group, ages, totals, hospitals)):
            shares = expit(logit.level(np.array([at]))[0] + logit.intercepts)
            return float(mix_by_definition(at, *cells) @ shares)

        grid = np.arange(0, 90 + STEP_YEARS / 2, STEP_YEARS)
        share = np.array([drawn(at) for at in grid])
        found = [local_crossing(logit, t, group, ages, totals, 0.0, 90.0) for t in THRESHOLDS]
        assert [at for at, _ in found] == sorted(at for at, _ in found)
        for threshold, (at, mix) in zip(THRESHOLDS, found, strict=True):
            assert mix.sum() == pytest.approx(1)
            above = share >= threshold
            if above[0]:
                assert at == -np.inf
                continue
            first = grid[np.argmax(above)] if above.any() else np.inf
            assert at <= first + 1e-8
            if not np.isfinite(at):
                continue
            # no age was passed over: where the grid says later, the share is there between two grid ages
            assert drawn(at + INSIDE) >= threshold - 1e-7
            near = (np.abs(ages - at) <= 3 + 1e-8) & (totals > 0)
            if near.any():
                assert set(np.flatnonzero(mix)) <= set(group[near])
            shares = expit(logit.level(np.array([at]))[0] + logit.intercepts)
            assert mix @ shares == pytest.approx(threshold, abs=1e-7)


def test_the_mix_holds_throughout_each_stretch_and_changes_at_its_ends(rng):
    for _ in range(30):
        group, ages, totals, hospitals = random_cells(rng)
        edges, mixes = mix_stretches(group, ages, totals, hospitals, 0.0, 90.0)
        assert (edges[0], edges[-1]) == (0, 90)
        assert mixes.shape == (edges.size - 1, hospitals)
        for part in (0.2, 0.8):
            at = edges[:-1] + part * np.diff(edges)
            by_hand = np.array([mix_by_definition(a, group, ages, totals, hospitals) for a in at])
            assert mixes == pytest.approx(by_hand)
            assert mix_near(at, group, ages, totals, hospitals) == pytest.approx(by_hand)


def test_a_hospital_without_cases_near_has_a_weight_of_exactly_nought():
    """Tenths do not add up exactly: a running sum would leave 1e-16 of a hospital decades away."""
    ages = np.arange(0.0, 80)
    group = (ages >= 40).astype(int)
    mix = mix_near(np.array([10.0, 70.0]), group, ages, np.full(80, 0.1), 2)
    assert mix[0, 1] == 0
    assert mix[1, 0] == 0


def test_a_hand_over_does_not_throw_the_crossing_decades_away(hand_over):
    """A slope of 0.02 a year; each hospital alone crosses 10% at 50.1 or 5.1 years, both far from 20."""
    logit = HingeLogit(np.array([-3.2, -2.3, 0.02]), np.array([]))
    found = {t: local_crossing(logit, t, **hand_over, lowest=0.0, highest=91.0) for t in (0.05, 0.1, 0.2)}
    # by hand: at 20 the last age of the children's hospital, 17, is still within 3 years: 8 of its cases, 7 others
    at_twenty = (8 * expit(-2.8) + 7 * expit(-1.9)) / 15
    assert at_twenty < 0.1 < expit(-1.9)
    assert found[0.1][0] == pytest.approx(20, abs=1e-6)
    assert found[0.05][0] < found[0.1][0] < found[0.2][0]
    assert found[0.2][0] == pytest.approx((np.log(0.25) + 2.3) / 0.02)  # the general hospital alone
    for threshold, (at, mix) in found.items():
        # what replicates are asked with crosses there and nowhere else
        assert logit.crossing(threshold, mix, 0.0, 91.0) == pytest.approx(at, abs=1e-6)


@pytest.mark.parametrize("kind", ["hinges", "curve"])
def test_an_interval_at_a_hand_over_lies_about_the_crossing(hand_over, kind):
    rows = {"groups": hand_over["group"], "age": hand_over["ages"], "total": hand_over["totals"] * 400}
    level = np.array([-3.2, -2.3])[rows["groups"]] + 0.02 * rows["age"]
    rows["direct"] = np.round(rows["total"] * expit(level))
    if kind == "hinges":
        fit = fit_hinges(**rows, turns=0, certify=False, intervals=False)
        boot = bootstrap_hinges(**rows, turns=0, replicates=60, seed=3, audit=0, thresholds=[0.1], workers=1)
        drawn = fit.predict(np.array([19.9, 20.1]))
    else:
        fit = fit_curve(**rows)
        boot = bootstrap_curve(**rows, replicates=60, seed=3, thresholds=[0.1], workers=1)
        drawn = fit.predict(np.array([19.9, 20.1]))
    assert drawn[0] < 0.1 < drawn[1]
    found = crossing(fit, 0.1, boot=boot)
    assert found.age == pytest.approx(20, abs=1e-6)
    assert found.mix == pytest.approx(boot.threshold_mix[0])
    assert 15 < found.interval[0] < found.age < found.interval[1] < 25
    assert np.median(boot.crossings) == pytest.approx(found.age, abs=0.5)


def test_a_share_there_already_or_never_keeps_the_mix_of_that_end(hand_over):
    logit = HingeLogit(np.array([-3.2, -2.3, 0.02]), np.array([]))
    at, mix = local_crossing(logit, 0.01, **hand_over, lowest=0.0, highest=91.0)
    assert at == -np.inf
    assert mix == pytest.approx([1, 0])
    at, mix = local_crossing(logit, 0.9, **hand_over, lowest=0.0, highest=91.0)
    assert at == np.inf
    assert mix == pytest.approx([0, 1])
    labels = np.array(["children", "general"])[hand_over["group"]]
    assert mix == pytest.approx(standard_mix(labels, hand_over["ages"], hand_over["totals"], 91.0))
