"""Sizes that find an age: what is simulated, that more groins find it better, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline.errors import HingelineError
from hingeline.estimates.simulate import shape_through
from hingeline.estimates.size import Allowance, precision_of_ages, size_crossing, size_curve, size_turn
from hingeline.estimates.size_ages import USUAL, _bins, _sought

LINE = shape_through([0, 30], [0.01, 0.4])
BENT = shape_through([0, 15, 25], [0.02, 0.03, 0.6])
AGES = np.arange(5.25, 25, 1.0)
QUICK = {"threshold": 0.1, "studies": 100}


def test_a_larger_study_holds_the_patients_of_the_smaller() -> None:
    sought = _sought(BENT, AGES, None, 2, 0.3, USUAL, 2, 7, np.nan, 0)
    small, large = (np.array(sought.cells(3, patients)) for patients in (1500, 2500))
    assert (large >= small).all()
    assert 1500 <= small[1].sum() <= 3000
    assert not np.array_equal(small, np.array(sought.cells(4, 1500)))


def test_ages_are_taken_together_by_half_years_then_years() -> None:
    ages, upper = _bins([10.1, 10.4, 10.6, 31.2, 31.9], [1, 1, 2, 3, 1])
    assert ages.tolist() == [10.25, 10.75, 31.5]
    assert upper == pytest.approx([0.25, 0.5, 1.0])


def test_four_times_the_groins_about_halve_the_half_width() -> None:
    one, four = (precision_of_ages(LINE, AGES, n, **QUICK) for n in (1200, 4800))
    assert 1.3 < one.half_width / four.half_width < 3.2
    assert one.error[0] <= one.half_width <= one.error[1]


def test_any_number_of_cores_gives_the_same() -> None:
    one, two = (precision_of_ages(LINE, AGES, 600, workers=w, **QUICK) for w in (1, 2))
    assert one.half_width == two.half_width


def test_the_size_found_finds_the_crossing_to_within_what_was_asked() -> None:
    size = size_crossing(LINE, AGES, 2.0, threshold=0.1, studies=100, allow=Allowance(lost=0.2))
    assert size.enrolled[0] == pytest.approx(size.per_arm[0] / 0.8, abs=1)
    assert size.error[0] <= size.total <= size.error[1]
    back = precision_of_ages(LINE, AGES, size.total, allow=Allowance(lost=0.2), **QUICK)
    assert back.half_width == pytest.approx(2.0, rel=0.25)
    assert "whose type stays unknown" in size.sentence


def test_a_turn_is_found_better_by_more_and_told_with_how_often_it_is_chosen() -> None:
    few, many = (precision_of_ages(BENT, AGES, n, studies=100) for n in (800, 8000))
    assert many.half_width < few.half_width
    assert few.power <= many.power
    assert "criterion would choose" in many.sentence


@pytest.mark.parametrize(
    "ask",
    [
        lambda: size_turn(LINE, AGES, 1.0),
        lambda: size_turn(BENT, AGES, 1.0, turn=1),
        lambda: size_turn(BENT, [14.0, 15.0, 16.0], 1.0),
        lambda: size_turn(BENT, AGES, 0.0),
        lambda: size_turn(BENT, AGES, 1.0, studies=10),
        lambda: size_turn(BENT, AGES, 1.0, hospitals=0),
        lambda: size_turn(BENT, AGES, 1.0, hospital_spread=-1),
        lambda: size_turn(BENT, AGES, 1.0, seed=-1),
        lambda: size_turn(BENT, AGES, 1.0, level=95),
        lambda: size_turn(BENT, AGES, 1.0, allow=Allowance(per_hospital=20)),
        lambda: size_turn(BENT, [], 1.0),
        lambda: size_turn(BENT, AGES, 1.0, age_weights=[1.0]),
        lambda: size_turn(BENT, -AGES, 1.0),
        lambda: size_crossing(BENT, AGES, 1.0, threshold=0.9),
        lambda: size_crossing(BENT, AGES, 1.0, threshold=1.2),
        lambda: precision_of_ages(BENT, AGES, 50),
        lambda: precision_of_ages(BENT, AGES, 0),
        lambda: size_curve(size_turn, "half_width", [0.0], shape=BENT, age_years=AGES),
    ],
)
def test_what_cannot_be_is_refused_in_three_parts(ask: object) -> None:
    with pytest.raises(HingelineError) as refused:
        ask()  # type: ignore[operator]
    assert all((refused.value.what, refused.value.where, refused.value.todo))
