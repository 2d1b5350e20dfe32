"""Humps of ages: where they are found, what pooling does, and what stays the same."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline.errors import HingelineError
from hingeline.estimates.ages import age_modes
from hingeline.estimates.ages_density import Grid, extremes

RNG = np.random.default_rng


def _two_humps(seed: int, n: int = 6_000) -> np.ndarray:
    generator = RNG(seed)
    age = np.concatenate((generator.exponential(3, n), generator.normal(70, 10, 2 * n)))
    return age[(age >= 0) & (age < 95)]


def test_two_humps_and_the_trough_between_are_found() -> None:
    seed = int(RNG().integers(2**32))
    print("seed", seed)
    age = _two_humps(seed)
    found = age_modes(age, np.ones(len(age)), highest=95, replicates=50, seed=1)
    assert len(found.humps) == 2
    assert found.humps[0].age < 1
    assert found.humps[1].age == pytest.approx(70, abs=4)
    assert 10 < found.troughs[0].age < 45
    for one in (*found.humps, *found.troughs):
        assert one.low <= one.age <= one.high
    assert sum(hump.cases for hump in found.humps) == pytest.approx(len(age), rel=1e-9)


def test_an_even_spread_of_ages_has_one_hump() -> None:
    """Chance bumps of a flat density are not told as humps; three standard errors let through few of many."""
    seed = int(RNG().integers(2**32))
    print("seed", seed)
    several = 0
    for i in range(40):
        age = RNG([seed, i]).uniform(0, 95, 3_000)
        several += len(age_modes(age, np.ones(len(age)), highest=95).humps) > 1
    assert several <= 20  # at a rate of 1 in 8, more than 20 of 40 has a chance below 1e-6


def test_pooling_two_hospitals_of_one_hump_each_makes_two_that_neither_has() -> None:
    generator = RNG(5)
    child, adult = generator.uniform(0, 15, 3_000) ** 1.0, generator.normal(66, 9, 4_000)
    age = np.concatenate((child, adult))
    hospital = np.repeat(["child", "adult"], (len(child), len(adult)))
    limits = {"child": (0.0, 15.0), "adult": (18.0, 95.0)}
    found = age_modes(age, np.ones(len(age)), groups=hospital, limits=limits, highest=95)
    assert len(found.humps) == 2
    assert [len(group.humps) for group in found.groups] == [1, 1]
    assert found.groups_with_all_humps == ()


def test_a_hospital_of_all_ages_shows_the_humps_of_the_pool() -> None:
    age = _two_humps(7)
    hospital = RNG(1).choice(["a", "b"], len(age))
    found = age_modes(age, np.ones(len(age)), groups=hospital, highest=95)
    assert found.groups_with_all_humps == ("a", "b") or found.groups_with_all_humps == ("b", "a")


def test_bins_with_their_width_give_nearly_what_exact_ages_give() -> None:
    age = _two_humps(9)
    count, edges = np.histogram(age, np.arange(0, 95.5, 0.5))
    exact = age_modes(age, np.ones(len(age)), highest=95)
    binned = age_modes((edges[:-1] + edges[1:]) / 2, count, width=0.5, highest=95)
    assert binned.humps[1].age == pytest.approx(exact.humps[1].age, abs=0.3)
    assert binned.troughs[0].age == pytest.approx(exact.troughs[0].age, abs=1)


def test_the_density_is_one_in_all_and_nobody_is_spread_before_birth() -> None:
    age = RNG(2).exponential(2, 500)
    grid = Grid.over(age, np.ones(500), np.zeros(500), 0.0, 30.0, bounded=True)
    for bandwidth in (0.05, 1.0, 8.0):
        density = grid.density(grid.mass, bandwidth)
        assert density.sum() * grid.step == pytest.approx(1, abs=1e-9)
    assert grid.age.min() > 0


def test_the_density_is_the_plain_sum_of_reflected_kernels() -> None:
    age, h = RNG(3).uniform(0, 10, 40), 0.8
    grid = Grid.over(age, np.ones(40), np.zeros(40), 0.0, 10.0, bounded=True, cells=4_000)
    kernel = np.zeros(len(grid.age))
    for centre in np.concatenate([age, -age, 20 - age]):
        kernel += np.exp(-(((grid.age - centre) / h) ** 2) / 2) / (h * np.sqrt(2 * np.pi))
    assert grid.density(grid.mass, h) == pytest.approx(kernel / 40, abs=1e-4)


@pytest.mark.parametrize(
    ("density", "places"),
    [
        ([1, 2, 3, 2, 1], [2]),
        ([3, 2, 1, 2, 3], [0, 2, 4]),
        ([1, 3, 3, 3, 1], [2]),
        ([0, 1, 0, 0, 0, 1, 0], [1, 3, 5]),
        ([2, 2, 2], [1]),
    ],
)
def test_extremes_alternate_from_hump_to_hump(density: list[int], places: list[int]) -> None:
    assert extremes(np.array(density, dtype=float)) == places


def test_the_frame_has_a_row_a_hump_or_trough_and_the_sentence_tells_them() -> None:
    age = _two_humps(11)
    found = age_modes(age, np.ones(len(age)), groups=np.repeat("one", len(age)), highest=95)
    rows = found.to_frame().to_pylist()
    assert [row["kind"] for row in rows if row["group"] is None] == ["hump", "hump", "trough"]
    assert str(found).startswith("Two humps, in the first year of life and at ")


@pytest.mark.parametrize(
    "arguments",
    [
        {"age": [1.0, 2.0], "count": [1.0]},
        {"age": [1.0, np.nan], "count": [1, 1]},
        {"age": [1.0], "count": [-1]},
        {"age": [1.0], "count": [0]},
        {"age": [1.0, 2.0], "count": [1, 1], "lowest": 5, "highest": 5},
        {"age": [1.0, 2.0], "count": [1, 1], "groups": ["a"]},
        {"age": [1.0, 2.0], "count": [1, 1], "bandwidth": 0},
    ],
)
def test_impossible_ages_are_refused(arguments: dict[str, object]) -> None:
    with pytest.raises(HingelineError):
        age_modes(**arguments)  # type: ignore[arg-type]
