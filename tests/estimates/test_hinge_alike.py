"""Groins of one patient that are alike: intervals of turns and tests of their number must not take them for two."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline.estimates.hinge import fit_hinges
from hingeline.estimates.hinge_choose import choose_turns


def bent(seed: int, patients: int = 4000):
    rng = np.random.default_rng(seed)
    age = np.repeat(np.arange(0.5, 60), patients // 60)
    p = 1 / (1 + np.exp(-(-3 + 0.16 * np.maximum(age - 22, 0))))
    direct = (rng.random(age.size) < p).astype(int)
    return age, direct, np.ones_like(direct)


@pytest.mark.parametrize("calibration", [0, 39])
def test_doubling_every_groin_leaves_the_interval_of_a_turn_as_it_was(calibration):
    age, direct, total = bent(11)
    clusters = np.arange(age.size)
    asked = {"turns": 1, "clusters": clusters, "calibration": calibration, "seed": 3, "certify": False}
    once = fit_hinges(age, direct, total, **asked)
    twice = fit_hinges(age, 2 * direct, 2 * total, **asked)
    naive = fit_hinges(age, 2 * direct, 2 * total, turns=1, calibration=calibration, seed=3, certify=False)
    assert twice.turns[0].age == pytest.approx(once.turns[0].age, abs=1e-6)
    width = np.diff(once.turns[0].interval)[0]
    # robust and naive errors of one groin a patient differ by chance, and a simulated cut-off by its samples
    near = 0.06 if calibration == 0 else 0.35
    assert np.diff(twice.turns[0].interval)[0] == pytest.approx(width, rel=near)
    assert np.diff(naive.turns[0].interval)[0] < 0.85 * width, (
        "taken as independent, the interval is too short"
    )


def test_doubling_every_groin_leaves_the_test_of_the_number_of_turns_as_it_was():
    age, direct, total = bent(12, 900)
    asked = {
        "most": 1,
        "replicates": 79,
        "selection_replicates": 0,
        "calibration": 0,
        "certify": False,
        "seed": 5,
    }
    once = choose_turns(age, direct, total, clusters=np.arange(age.size), intervals=False, **asked)
    twice = choose_turns(age, 2 * direct, 2 * total, clusters=np.arange(age.size), intervals=False, **asked)
    assert twice.ratios[0] == pytest.approx(2 * once.ratios[0], rel=1e-6)
    assert twice.p_values[0] == pytest.approx(once.p_values[0], abs=0.12)
