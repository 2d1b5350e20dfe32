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


@pytest.mark.parametrize(
    ("told", "with_all", "rates", "must"),
    [
        ("Two humps, at 0.4 and 71.2 years, with a trough at 14.8", [], False, "pooling may have made them"),
        ("Two humps, at 0.4 and 71.2 years, with a trough at 14.8", ["A", "B"], False, "cannot settle it"),
        ("Two humps, at 0.4 and 71.2 years, with a trough at 14.8", ["A"], True, "A alone shows as many"),
    ],
)
def test_two_humps_are_never_told_without_what_pooling_could_do(told, with_all, rates, must):
    assert must in wording.two_humps(told, with_all, 6, rates)
