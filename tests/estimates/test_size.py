"""Sizes of studies: what is allowed for, the way back from size to power, sentences, and what is refused."""

from __future__ import annotations

import math

import pytest

from hingeline.errors import HingelineError
from hingeline.estimates.size import (
    Allowance,
    power_log_rank,
    power_noninferiority,
    power_two_proportions,
    size_curve,
    size_log_rank,
    size_noninferiority,
    size_proportion,
    size_two_proportions,
)


def test_the_sentence_is_fit_for_a_protocol() -> None:
    size = size_noninferiority(0.02, 0.02, 0.02, allow=Allowance(lost=0.1))
    assert str(size) == (
        "To show with a power of 80% that the new repair is not worse by more than 2 points, when 2% after it and "
        "2% after the standard one recur (upper limit of the 95% interval under the margin), 872 groins an arm are "
        "needed, with about 34.9 events in all; allowing for 10% lost, 1,938 in all."
    )


def test_what_is_lost_and_alike_is_added_to_each_arm() -> None:
    allow = Allowance(lost=0.2, per_hospital=51, hospital_correlation=0.02)
    size = size_two_proportions(0.1, 0.2, allow=allow)
    assert allow.design_effect == pytest.approx(1 + 50 * 0.02)
    assert size.enrolled[0] == math.ceil(size.per_arm[0] * 2 / 0.8)
    assert size.total == sum(size.enrolled)


def test_two_alike_groins_of_every_patient_are_worth_one() -> None:
    allow = Allowance(bilateral=1.0, groin_correlation=1.0)
    assert allow.design_effect == pytest.approx(2)
    size = size_two_proportions(0.1, 0.2, allow=allow)
    assert size.patients == sum(size.per_arm)


def test_fellows_in_the_same_patient_are_not_counted_twice_in_the_hospital() -> None:
    """A hospital whose patients are all bilateral: one fellow groin is the patient's, the other m − 2 are not."""
    allow = Allowance(bilateral=1.0, groin_correlation=0.5, per_hospital=10, hospital_correlation=0.1)
    assert allow.design_effect == pytest.approx(1 + 0.5 + 8 * 0.1)


def test_unequal_hospitals_cost_more() -> None:
    even = Allowance(per_hospital=20, hospital_correlation=0.05)
    uneven = Allowance(per_hospital=20, hospital_correlation=0.05, hospital_spread=0.5)
    assert uneven.design_effect - even.design_effect == pytest.approx(20 * 0.25 * 0.05)


@pytest.mark.parametrize("variance", ["pooled", "unpooled", "corrected"])
@pytest.mark.parametrize("ratio", [0.5, 1.0, 2.0])
def test_the_power_of_a_size_of_shares_is_what_was_asked(variance: str, ratio: float) -> None:
    size = size_two_proportions(0.05, 0.02, power=0.85, variance=variance, ratio=ratio)
    back = power_two_proportions(0.05, 0.02, size.exact[0], variance=variance, ratio=ratio)
    assert back.power == pytest.approx(0.85, abs=1e-9)


def test_the_power_of_a_size_with_a_margin_and_of_one_over_time_is_what_was_asked() -> None:
    size = size_noninferiority(0.03, 0.02, 0.03, power=0.9, ratio=1.5)
    assert power_noninferiority(0.03, 0.02, 0.03, size.exact[0], ratio=1.5).power == pytest.approx(0.9)
    given = {"accrual_years": 3.0, "follow_up_years": 2.0, "lost_a_year": 0.03}
    over = size_log_rank(0.6, 0.1, 5, power=0.9, **given)
    assert power_log_rank(0.6, 0.1, 5, over.exact[0], **given).power == pytest.approx(0.9)


def test_a_size_enrolled_has_at_least_the_power_after_what_is_lost_and_alike() -> None:
    allow = Allowance(
        lost=0.15, bilateral=0.2, groin_correlation=0.4, per_hospital=30, hospital_correlation=0.01
    )
    size = size_noninferiority(0.02, 0.02, 0.02, allow=allow)
    back = power_noninferiority(0.02, 0.02, 0.02, size.enrolled[0], allow=allow)
    assert 0.8 <= back.power < 0.802


def test_accrual_of_no_length_is_the_limit_of_a_short_one() -> None:
    at_once = size_log_rank(0.5, 0.04, 5, accrual_years=0, follow_up_years=5)
    soon = size_log_rank(0.5, 0.04, 5, accrual_years=1e-6, follow_up_years=5)
    assert at_once.exact == pytest.approx(soon.exact, rel=1e-5)


@pytest.mark.parametrize(("share", "half_width"), [(0.0, 0.01), (1.0, 0.05), (0.5, 0.4), (0.3, 0.03)])
def test_one_groin_less_does_not_give_the_half_width(share: float, half_width: float) -> None:
    from hingeline.estimates.proportion import wilson_limits

    n = size_proportion(share, half_width).per_arm[0]
    for groins, narrow in ((n, True), (n - 1, False)):
        if groins > 0:
            low, high = wilson_limits(share * groins, groins)
            assert bool((high - low) / 2 <= half_width) is narrow


def test_assurance_asks_for_more_than_the_expected_interval() -> None:
    assert size_proportion(0.02, 0.01, assurance=0.9).total > size_proportion(0.02, 0.01).total


def test_a_curve_leaves_out_what_no_size_can_show() -> None:
    curve = size_curve(
        size_noninferiority, "new", [0.02, 0.03, 0.05], standard=0.02, margin=0.02, series="80%"
    )
    assert curve.column_names == ["assumption", "size", "series"]
    sizes = curve["size"].to_pylist()
    assert sizes[0] < sizes[1]
    assert sizes[2] is None


def test_frames_have_a_row_an_arm() -> None:
    frame = size_two_proportions(0.1, 0.2, ratio=2).to_frame()
    assert frame.num_rows == 2
    assert frame["analysed"].to_pylist()[1] >= 2 * frame["analysed"].to_pylist()[0] - 1
    assert size_proportion(0.1, 0.05).to_frame().num_rows == 1


@pytest.mark.parametrize(
    "ask",
    [
        lambda: size_noninferiority(0.02, 0.02, 0.0),
        lambda: size_noninferiority(0.02, 0.02, -0.02),
        lambda: size_noninferiority(0.02, 0.02, 1.5),
        lambda: size_noninferiority(0.05, 0.02, 0.02),
        lambda: size_noninferiority(0.0, 0.02, 0.02),
        lambda: size_two_proportions(0.02, 0.02),
        lambda: size_two_proportions(0.02, 1.0),
        lambda: size_two_proportions(2, 1),
        lambda: size_two_proportions(0.1, 0.2, power=1.0),
        lambda: size_two_proportions(0.1, 0.2, power=0.01),
        lambda: size_two_proportions(0.1, 0.2, level=95),
        lambda: size_two_proportions(0.1, 0.2, ratio=0),
        lambda: size_two_proportions(0.1, 0.2, variance="exact"),
        lambda: size_two_proportions(0.1, 0.1 + 1e-9),
        lambda: size_log_rank(1.0, 0.04, 5, accrual_years=1, follow_up_years=1),
        lambda: size_log_rank(-0.5, 0.04, 5, accrual_years=1, follow_up_years=1),
        lambda: size_log_rank(0.5, 0.0, 5, accrual_years=1, follow_up_years=1),
        lambda: size_log_rank(0.5, 0.04, 0, accrual_years=1, follow_up_years=1),
        lambda: size_log_rank(0.5, 0.04, 5, accrual_years=0, follow_up_years=0),
        lambda: size_log_rank(0.5, 0.04, 5, accrual_years=-1, follow_up_years=5),
        lambda: size_log_rank(0.5, 0.04, 5, accrual_years=1, follow_up_years=5, lost_a_year=1),
        lambda: size_proportion(0.1, 0.0),
        lambda: size_proportion(1.2, 0.1),
        lambda: size_proportion(0.1, 0.05, assurance=1.0),
        lambda: power_two_proportions(0.1, 0.2, 0),
        lambda: Allowance(lost=1.0),
        lambda: Allowance(lost=-0.1),
        lambda: Allowance(per_hospital=0.5),
        lambda: Allowance(hospital_correlation=1.1),
        lambda: Allowance(hospital_spread=-1),
        lambda: Allowance(bilateral=2),
        lambda: size_curve(size_noninferiority, "margin", [0.0, -1.0], new=0.02, standard=0.02),
    ],
)
def test_what_cannot_be_is_refused_in_three_parts(ask: object) -> None:
    with pytest.raises(HingelineError) as refused:
        ask()  # type: ignore[operator]
    assert all((refused.value.what, refused.value.where, refused.value.todo))
