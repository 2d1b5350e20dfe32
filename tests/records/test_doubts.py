"""What the records themselves make doubtful in a legend is said, and a sound legend raises no doubt."""

from __future__ import annotations

import random

import pytest

from .making import PLAIN, PLAIN_HEADER, legend, sound, take, write_csv

DAYS = [f"{day:02}.{month:02}.2015" for month in (3, 5, 9) for day in (2, 9, 17, 25, 28, 11, 20)]


def _doubts(intake):
    return [sentence for sentence in intake.detected if sentence.startswith("look at this")]


def _aged(tmp_path, ages, unit):
    text = PLAIN.replace('born_on = { column = "Born" }', f'age = {{ column = "Born", unit = "{unit}" }}')
    rows = [sound(patient=f"p{i}", born=str(age)) for i, age in enumerate(ages)]
    return take(write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows]), legend(base=text))


def test_a_wrong_order_of_dates_is_doubted_and_the_right_one_is_not(tmp_path):
    rows = [sound(patient=f"p{i}", operated=day) for i, day in enumerate(DAYS)]
    path = write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows])
    assert _doubts(take(path)) == []
    wrong = take(path, legend(base=PLAIN.replace('"dmy"', '"mdy"')))
    assert any(
        "Most dates of operated_on cannot be read as month/day/year: is [dates] order right?" in sentence
        for sentence in _doubts(wrong)
    )


def test_years_read_as_months_are_doubted(tmp_path):
    draw = random.Random(4)
    years = [draw.randint(0, 90) for _ in range(60)]
    assert _doubts(_aged(tmp_path, years, "years")) == []
    for unit in ("months", "weeks", "days"):
        doubt = " ".join(_doubts(_aged(tmp_path, years, unit)))
        assert "nearly every patient is under" in doubt
        assert "is the unit of [fields.age] right?" in doubt


def test_months_read_as_years_are_doubted(tmp_path):
    months = [*range(0, 210, 4)]
    assert _doubts(_aged(tmp_path, months, "months")) == []
    doubt = " ".join(_doubts(_aged(tmp_path, months, "years")))
    assert "age outside" in doubt
    assert "half of the patients are older than" in doubt
    assert "is the unit of [fields.age] right?" in doubt


@pytest.mark.parametrize(
    ("changed", "asked"),
    [
        ({"sex": "w"}, "the codes of sex"),
        ({"type": "PHS"}, "the codes of type"),
        ({"operated": "05.06.2001"}, "the right columns"),
        ({"operated": "05.06.2031"}, "Is [dates] order right (day/month/year)"),
    ],
)
def test_what_sets_many_groins_aside_is_told_with_what_to_look_at(tmp_path, changed, asked):
    rows = [sound(patient=f"p{i}", **(changed if i < 12 else {})) for i in range(40)]
    doubts = _doubts(take(write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows])))
    assert len(doubts) == 1
    assert asked in doubts[0]
    assert "12 of 40 groins" in doubts[0]


def test_a_few_slips_raise_no_doubt(tmp_path):
    rows = [sound(patient=f"p{i}", **({"sex": "w"} if i < 4 else {})) for i in range(40)]
    assert _doubts(take(write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows]))) == []


def test_an_export_made_twice_is_doubted(tmp_path):
    rows = [sound(patient=f"p{i}") for i in range(30)] * 2
    assert any(
        "made twice" in one for one in _doubts(take(write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows])))
    )
