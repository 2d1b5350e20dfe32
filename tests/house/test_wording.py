"""Numbers as a reader sees them."""

from __future__ import annotations

import math

import pytest

from hingeline import wording
from hingeline.errors import HingelineError


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (1234.567, 1, "1,234.6"),
        (-0.04, 1, "0.0"),
        (-2.5, 1, "−2.5"),
        (math.nan, 1, "not known"),
        (math.inf, 1, "∞"),
    ],
)
def test_numbers_have_a_true_minus_sign_and_never_a_negative_nought(value, digits, text):
    assert wording.number(value, digits) == text


def test_a_share_is_told_in_per_cent():
    assert wording.percent(0.12345) == "12.3%"
    assert wording.percent(math.nan) == "not known"


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (13.12, 16.04, "13.1–16.0"),
        (-math.inf, 16.0, "up to 16.0"),
        (13.1, math.inf, "13.1 or more"),
        (-math.inf, math.inf, "anywhere"),
    ],
)
def test_an_interval_that_is_open_says_so_in_words(low, high, text):
    assert wording.interval(low, high) == text


def test_one_is_singular_and_two_are_plural():
    assert wording.count(1, "case") == "1 case"
    assert wording.count(2, "case") == "2 cases"
    assert wording.count(0, "hernia") == "0 hernias"
    assert wording.count(25_000, "repair") == "25,000 repairs"


def test_lists_read_as_a_sentence_does():
    assert wording.listed(["a"]) == "a"
    assert wording.listed(["a", "b"]) == "a and b"
    assert wording.listed(["a", "b", "c"]) == "a, b and c"


def test_the_caution_is_the_designs():
    assert wording.CAUTION.startswith("For research and teaching; not a medical device")
    assert "licensed clinicians" in wording.CAUTION


def test_an_error_is_read_in_three_parts():
    text = str(HingelineError("The file is empty", "a.csv", "Export it again"))
    assert text.splitlines() == [
        "The file is empty.",
        "  where: a.csv",
        "  what to do: Export it again.",
    ]


def test_the_answer_in_a_terminal_tells_what_it_cannot_say_and_the_caution():
    told = wording.answer_told(["The share turns."], ["Operated is not diseased."], 12.34, fresh=False)
    assert told.startswith("Nothing has changed")
    assert "– Operated is not diseased." in told
    assert "12.3 seconds" in told
    assert "not a medical device" in told
    assert max(len(line) for line in told.splitlines()) <= 100


HUMPS = [(0.4, 0.3, 0.6), (71.2, 70.0, 72.5)]
TROUGHS = [(14.8, 13.0, 16.0)]


@pytest.mark.parametrize(
    ("with_all", "rates", "must"),
    [
        ([], False, "pooling may have made them"),
        ([], False, "cannot settle it"),
        (["A"], True, "A shows as many humps on its own records"),
        (["A", "B"], True, "A and B show as many humps on their own records"),
        (["A", "B", "C"], True, "Every hospital shows"),
    ],
)
def test_two_humps_are_never_told_without_what_pooling_could_do(with_all, rates, must):
    told = wording.two_humps(HUMPS, TROUGHS, with_all, 3, rates)
    assert must in told
    assert "in the first year of life" in told
    assert "71.2 years (95% CI 70.0–72.5)" in told


def test_a_p_value_at_the_floor_of_its_samples_says_so():
    assert wording.p_cell(1 / 60, 59) == "≤ 0.017 (none of 59)"
    assert wording.p_cell(0.2, 59) == "0.200"
    assert wording.p_cell(None, 59) == "–"


def test_where_patients_pass_between_hospitals_is_told():
    told = wording.hand_over(15, 18, ["Brackwater Infirmary"])
    assert "Between 15 and 18 years" in told
    assert "Only Brackwater Infirmary takes patients through these ages." in told
    assert "No hospital takes" in wording.hand_over(15, 18, [])
