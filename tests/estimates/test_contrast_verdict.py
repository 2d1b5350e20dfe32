"""What an interval says against no difference and the margin: every case, and the words of each."""

from __future__ import annotations

import itertools
import math

import pytest

from hingeline import wording
from hingeline.errors import HingelineError
from hingeline.estimates.contrast_verdict import (
    VERDICTS,
    e_value,
    non_inferiority,
    score_ratio,
    superiority,
    verdict_of,
)

MARGIN = 0.02


@pytest.mark.parametrize(
    ("low", "high", "verdict", "superior", "as_good"),
    [
        (-0.05, -0.03, "better", "better", "shown"),
        (-0.05, -0.01, "better", "better", "shown"),
        (-0.05, 0.0, "as good", "not shown", "shown"),
        (-0.05, 0.01, "as good", "not shown", "shown"),
        (0.0, 0.01, "as good", "not shown", "shown"),
        (0.0, 0.0, "as good", "not shown", "shown"),
        (0.005, 0.015, "worse within the margin", "worse", "shown"),
        (0.01, 0.02, "worse", "worse", "not shown"),
        (0.01, 0.05, "worse", "worse", "not shown"),
        (0.02, 0.05, "worse", "worse", "not shown"),
        (0.03, 0.05, "worse by more than the margin", "worse", "refuted"),
        (-0.05, 0.02, "not settled", "not shown", "not shown"),
        (-0.01, 0.04, "not settled", "not shown", "not shown"),
        (0.0, 0.04, "not settled", "not shown", "not shown"),
        (-0.2, 0.3, "not settled", "not shown", "not shown"),
        (math.nan, 0.01, "cannot tell", None, None),
        (-0.01, math.nan, "cannot tell", None, None),
    ],
)
def test_every_place_of_an_interval_has_its_verdict(
    low: float, high: float, verdict: str, superior: str | None, as_good: str | None
) -> None:
    assert verdict_of(low, high, MARGIN) == verdict
    if superior is not None:
        assert superiority(low, high) == superior
        assert non_inferiority(low, high, MARGIN) == as_good


def test_the_three_verdicts_never_contradict_one_another() -> None:
    places = [-0.03, -0.02, -0.01, 0.0, 0.01, 0.02, 0.03]
    for low, high in itertools.combinations_with_replacement(places, 2):
        verdict = verdict_of(low, high, MARGIN)
        better = superiority(low, high)
        assert (verdict == "better") == (better == "better")
        assert ("worse" in verdict) == (better == "worse")
        shown = verdict in ("better", "as good", "worse within the margin")
        assert shown == (non_inferiority(low, high, MARGIN) == "shown")


@pytest.mark.parametrize(
    ("verdict", "sentence"),
    [
        ("better", "fewer recurrences after mesh repair than after high ligation are shown"),
        (
            "as good",
            "mesh repair is shown to be not worse than high ligation by more than 2 points; neither is shown to be "
            "better",
        ),
        (
            "worse within the margin",
            "more recurrences after mesh repair than after high ligation are shown, but by less than 2 points",
        ),
        (
            "worse",
            "more recurrences after mesh repair than after high ligation are shown; whether by more than 2 points is "
            "not settled",
        ),
        (
            "worse by more than the margin",
            "more recurrences after mesh repair than after high ligation are shown, by more than 2 points",
        ),
        (
            "not settled",
            "not settled: mesh repair is not shown to be worse than high ligation by more than 2 points, and it is not "
            "shown to be as good",
        ),
        ("cannot tell", "no verdict: nobody was followed for 5 years after mesh repair"),
    ],
)
def test_every_verdict_has_a_sentence_about_the_side_that_has_to_show_it(verdict: str, sentence: str) -> None:
    assert verdict in VERDICTS
    reason = wording.contrast_reason_beyond(["mesh"], 5)
    assert wording.contrast_verdict(verdict, "mesh", "high_ligation", MARGIN, reason) == sentence


@pytest.mark.parametrize(
    ("margin", "told"), [(0.02, "2 points"), (0.01, "1 point"), (0.005, "0.5 points"), (0.015, "1.5 points")]
)
def test_margins_are_told_in_points(margin: float, told: str) -> None:
    assert wording.contrast_points(margin) == told


def test_covariates_left_out_and_levels_are_told_in_words() -> None:
    assert (
        wording.contrast_note_constant(["era"]) == "era says nothing that the others do not, and was left out"
    )
    told = wording.contrast_note_constant(["operated_year", "hospital=Aldermoor"])
    assert (
        told
        == "year of operation and hospital Aldermoor say nothing that the others do not, and were left out"
    )


def test_an_interval_that_holds_no_difference_needs_no_confounding() -> None:
    found = e_value(1.5, 0.9, 2.4)
    assert found.limit == 1
    assert found.estimate == pytest.approx(1.5 + math.sqrt(0.75), abs=1e-12)
    assert "holds no difference as it is" in str(found)
    assert e_value(0.7, 0.4, 1.2).limit == 1
    assert e_value(1.0).estimate == 1


def test_a_ratio_of_nought_or_none_is_told_without_a_number_made_up() -> None:
    assert math.isinf(e_value(0.0, 0.0, 0.8).estimate)
    assert e_value(0.0, 0.0, 0.8).limit == pytest.approx(1.25 + math.sqrt(1.25 * 0.25))
    assert math.isnan(e_value(math.nan).estimate)
    assert str(e_value(math.nan)) == "No risk ratio, so no E-value"
    with pytest.raises(HingelineError):
        e_value(-1)
    with pytest.raises(HingelineError):
        e_value(1, 2, 1)


def test_score_limits_of_a_ratio_turn_over_with_the_arms_and_open_without_events() -> None:
    low, high = score_ratio(7, 90, 3, 120)
    turned = score_ratio(3, 120, 7, 90)
    assert (1 / high, 1 / low) == pytest.approx(turned, rel=1e-9)
    assert score_ratio(0, 50, 4, 60)[0] == 0
    assert math.isinf(score_ratio(4, 60, 0, 50)[1])
    assert score_ratio(0, 10, 0, 10) == (0, math.inf)
