"""The dip and Silverman's test: what must hold on any ages."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.errors import HingelineError
from hingeline.estimates.ages import dip, silverman


@settings(deadline=None)
@given(st.lists(st.integers(0, 60), min_size=2, max_size=60))
def test_the_dip_lies_between_half_a_step_and_a_quarter(ages: list[int]) -> None:
    found = dip(ages, replicates=0)
    assert 1 / (2 * len(ages)) - 1e-12 <= found.statistic <= 0.25 + 1e-12
    assert min(ages) <= found.low <= found.high <= max(ages)


@settings(deadline=None)
@given(st.lists(st.integers(0, 60), min_size=2, max_size=60), st.floats(0.1, 50), st.floats(-20, 20))
def test_the_dip_knows_neither_unit_nor_origin_nor_direction(
    ages: list[int], scale: float, shift: float
) -> None:
    plain = np.array(ages, dtype=float)
    expected = dip(plain, replicates=0).statistic
    assert dip(scale * plain + shift, replicates=0).statistic == pytest.approx(expected, abs=1e-9)
    assert dip(-plain, replicates=0).statistic == pytest.approx(expected, abs=1e-9)


def test_two_points_have_the_largest_dip() -> None:
    """Hartigan & Hartigan 1985: half the cases at each of two ages, and the dip nears a quarter."""
    assert dip([0.0, 1.0], [500, 500], replicates=0).statistic == pytest.approx(0.25)


def test_an_even_ladder_has_the_smallest_dip() -> None:
    assert dip(np.arange(200.0), replicates=0).statistic == pytest.approx(1 / 400)


def test_p_of_uniform_ages_is_small_at_its_rate() -> None:
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    small = sum(
        dip(np.random.default_rng([seed, i]).uniform(0, 95, 60), replicates=99, seed=i).p <= 0.05
        for i in range(100)
    )
    assert small <= 19  # of 100 at 5%: 20 or more has a chance below 1e-6


def test_whole_years_look_like_many_humps_unless_their_width_is_told() -> None:
    generator = np.random.default_rng(4)
    years, count = np.unique(np.floor(generator.normal(60, 12, 20_000)), return_counts=True)
    piled = dip(years + 0.5, count, replicates=99)
    spread = dip(years + 0.5, count, width=1.0, replicates=99)
    assert piled.p <= 0.01
    assert spread.p > 0.5


def test_the_same_seed_gives_the_same_p() -> None:
    age = np.random.default_rng(1).normal(size=80)
    assert dip(age, seed=3).p == dip(age, seed=3).p
    assert silverman(age, replicates=50, seed=3).p == silverman(age, replicates=50, seed=3).p


def test_one_hump_is_accepted_and_two_are_seen() -> None:
    generator = np.random.default_rng(8)
    one = generator.normal(50, 10, 400)
    two = np.concatenate((generator.normal(10, 3, 300), generator.normal(60, 8, 300)))
    assert silverman(one, modes=1, replicates=99, seed=1).p > 0.05
    assert silverman(two, modes=1, replicates=99, seed=1).p < 0.02
    assert silverman(two, modes=2, replicates=99, seed=1).p > 0.05
    assert dip(two, replicates=99).p < 0.02


def test_critical_bandwidths_fall_with_the_humps_allowed() -> None:
    age = np.random.default_rng(2).gamma(2, 10, 150)
    found = [silverman(age, modes=modes, replicates=0).bandwidth for modes in (1, 2, 3, 4)]
    assert found == sorted(found, reverse=True)


def test_binned_counts_give_the_bandwidth_of_the_single_ages() -> None:
    age = np.floor(np.random.default_rng(6).gamma(2, 10, 300))
    values, count = np.unique(age, return_counts=True)
    single = silverman(age, replicates=0).bandwidth
    assert silverman(values, count, replicates=0).bandwidth == pytest.approx(single, rel=1e-9)


@pytest.mark.parametrize(
    "call",
    [
        lambda: dip([]),
        lambda: dip([1.0, np.inf]),
        lambda: dip([1.0], [0.5]),
        lambda: dip([1.0], [0]),
        lambda: silverman([1.0, 2.0], modes=0),
        lambda: silverman([1.0, 1.0]),
        lambda: silverman([1.0, 2.0], lowest=0),
    ],
)
def test_impossible_ages_are_refused(call: object) -> None:
    with pytest.raises(HingelineError):
        call()  # type: ignore[operator]


def test_results_print_as_sentences_and_frames() -> None:
    found, test = dip([1.0, 2.0, 4.0], replicates=19), silverman([1.0, 2.0, 4.0], replicates=19)
    assert "Dip" in str(found)
    assert "bandwidth" in str(test)
    assert found.to_frame().num_rows == test.to_frame().num_rows == 1
