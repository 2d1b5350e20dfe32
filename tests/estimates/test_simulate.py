"""Simulated groins: shares, turns and likeness within a patient are what was asked for."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from hingeline.errors import HingelineError
from hingeline.estimates.simulate import Shape, shape_through, simulate_counts, simulate_patients

AGES, SHARES = [0.0, 14.0, 18.5, 40.0, 70.0], [0.007, 0.015, 0.13, 0.19, 0.47]


def test_a_shape_runs_through_its_points_and_turns_at_the_inner_ones() -> None:
    shape = shape_through(AGES, SHARES)
    assert shape.share(AGES) == pytest.approx(SHARES)
    assert shape.turns == (14.0, 18.5, 40.0)
    assert [change > 0 for change in shape.changes] == [True, False, True]
    assert str(shape) == "Turns up at 14.0, down at 18.5 and up at 40.0 years"


@pytest.mark.parametrize("threshold", [0.05, 0.10, 0.20, 0.30])
def test_a_crossing_is_where_the_share_is_the_threshold_for_the_first_time(threshold: float) -> None:
    shape = shape_through(AGES, SHARES)
    age = shape.crossing(threshold)
    assert float(shape.share(age)) == pytest.approx(threshold)
    assert (shape.share(np.linspace(0, age - 0.01, 1000)) < threshold).all()


def test_a_share_that_is_never_reached_has_no_crossing() -> None:
    assert shape_through([0, 10], [0.2, 0.1]).crossing(0.5) == float("inf")
    assert Shape(0.0, 0.0).crossing(0.5) == 0


def test_counts_keep_to_their_share() -> None:
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    shape = shape_through(AGES, SHARES)
    direct = simulate_counts([16.0], [200_000], shape, seed)
    assert binomtest(int(direct[0]), 200_000, float(shape.share(16.0))).pvalue > 1e-6
    assert simulate_counts([1.0, 2.0], [5, 7], [0.0, 1.0], seed).tolist() == [0, 7]


def test_each_groin_keeps_the_share_and_the_two_of_a_patient_their_correlation() -> None:
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    n, shape, rho = 60_000, Shape(-0.5, 0.0), 0.4
    groins = simulate_patients(np.full(n, 30.0), shape, seed, bilateral=1.0, correlation=rho)
    pairs = groins.direct.reshape(n, 2)
    p = float(shape.share(30.0))
    for groin in (0, 1):
        assert binomtest(int(pairs[:, groin].sum()), n, p).pvalue > 1e-6
    both = rho * p + (1 - rho) * p**2  # chance that both are direct when the correlation is rho
    assert binomtest(int(pairs.all(axis=1).sum()), n, both).pvalue > 1e-6
    assert (groins.patient.reshape(n, 2) == np.arange(n)[:, None]).all()


def test_bilateral_patients_are_as_frequent_as_asked() -> None:
    assert len(simulate_patients(np.zeros(500), Shape(0, 0), 1, bilateral=0.0).patient) == 500
    assert len(simulate_patients(np.zeros(500), Shape(0, 0), 1, bilateral=1.0).patient) == 1000


def test_a_hospital_shifts_the_logit() -> None:
    groins = simulate_patients(
        np.zeros(4_000), Shape(0.0, 0.0), 3, hospital=np.repeat([0, 1], 2_000), hospital_logits=[-30.0, 30.0]
    )
    assert not groins.direct[groins.hospital == 0].any()
    assert groins.direct[groins.hospital == 1].all()


def test_the_same_seed_gives_the_same_groins() -> None:
    shape = shape_through(AGES, SHARES)
    age = np.linspace(0, 90, 300)
    one, two = simulate_patients(age, shape, 5), simulate_patients(age, shape, 5)
    assert one.to_frame().equals(two.to_frame())
    assert not one.to_frame().equals(simulate_patients(age, shape, 6).to_frame())


@pytest.mark.parametrize(
    "call",
    [
        lambda: shape_through([0], [0.1]),
        lambda: shape_through([0, 0], [0.1, 0.2]),
        lambda: shape_through([0, 1], [0.0, 0.2]),
        lambda: simulate_counts([1.0], [-1], [0.5], 1),
        lambda: simulate_counts([1.0], [1], [1.5], 1),
        lambda: simulate_patients([1.0], Shape(0, 0), 1, hospital=[2]),
        lambda: simulate_patients([1.0], Shape(0, 0), 1, correlation=2),
    ],
)
def test_impossible_requests_are_refused(call: object) -> None:
    with pytest.raises(HingelineError):
        call()  # type: ignore[operator]
