"""Visits: from a second sheet or file of their own, by the same door and the same reading as operations."""

from __future__ import annotations

from datetime import date

import pytest

from hingeline.errors import HingelineError
from hingeline.records.intake import read_hospital
from hingeline.records.linking_rules import VISIT_RULES

from .following import HEADER, KEYED, counted, follow, listed, told, visit
from .making import CUTOFF, KEY, PLAIN_HEADER, legend, sound, write_csv, write_xlsx

SHEET = KEYED.replace('files = ["visits*"]', 'file = { sheet = "Clinic" }')
ROW = ["p1", date(2010, 4, 3), date(2015, 6, 5), "M", "L", "lat"]


def _read(*paths, how=KEYED):
    return read_hospital(paths, legend(how), cutoff=CUTOFF, key=KEY)


def test_visits_stand_on_a_second_sheet_of_the_operations(tmp_path):
    clinic = [HEADER, ["p1", date(2016, 1, 2), *[None] * 10]]
    book = write_xlsx(tmp_path / "list.xlsx", {"Theatre": [PLAIN_HEADER, ROW], "Clinic": clinic})
    found = _read(book, how=SHEET)
    assert told(found, "followed_until") == [("2016-01-02",)]
    assert found.fingerprints == ((book.name, found.fingerprints[0][1]),)
    assert counted(found) == {"visits read": 1, "visits joined": 1}


def test_a_sheet_of_visits_is_refused_of_a_file_that_has_no_sheets(tmp_path):
    path = write_csv(tmp_path / "list.csv", [PLAIN_HEADER, sound()])
    with pytest.raises(HingelineError, match="has no sheets") as error:
        _read(path, how=SHEET)
    assert "follow_up.file.sheet" in error.value.where


def test_visits_are_told_from_operations_by_the_names_of_their_files(tmp_path):
    operations = write_csv(tmp_path / "ops.csv", [PLAIN_HEADER, sound()])
    first = write_csv(tmp_path / "visits 1.csv", [HEADER, visit("01.01.2016")])
    second = write_csv(tmp_path / "visits 2.csv", [HEADER, visit("01.01.2017"), visit("01.01.2018", rec="n")])
    found = _read(first, operations, second)
    assert told(found, "followed_until") == [("2018-01-01",)]
    assert [name for name, _ in found.fingerprints] == ["ops.csv", "visits 1.csv", "visits 2.csv"]


@pytest.mark.parametrize("name", ["visits.csv", "ops.csv"])
def test_a_hospital_with_nothing_but_visits_or_without_any_is_refused(tmp_path, name):
    path = write_csv(tmp_path / name, [PLAIN_HEADER, sound()])
    with pytest.raises(HingelineError, match="follow_up") as error:
        _read(path)
    assert "follow_up.files" in error.value.where


def test_a_column_that_identifies_people_is_refused_among_visits_too(tmp_path):
    operations = write_csv(tmp_path / "ops.csv", [PLAIN_HEADER, sound()])
    rows = [[*visit("01.01.2016"), "0171 2345678"] for _ in range(3)]
    visits = write_csv(tmp_path / "visits.csv", [[*HEADER, "Telephone"], *rows])
    with pytest.raises(HingelineError, match="Telephone") as error:
        _read(operations, visits)
    assert "visits.csv" in error.value.where
    _read(operations, visits, how=KEYED + '[follow_up.drop]\ncolumns = ["Telephone"]')
    _read(operations, visits, how=KEYED + '[drop]\ncolumns = ["Telephone"]')


def test_a_column_of_visits_that_is_not_there_is_told_with_the_line_of_the_legend(tmp_path):
    operations = write_csv(tmp_path / "ops.csv", [PLAIN_HEADER, sound()])
    visits = write_csv(tmp_path / "visits.csv", [HEADER, visit("01.01.2016")])
    with pytest.raises(HingelineError, match="Lost") as error:
        _read(operations, visits, how=KEYED + 'vas_injury = { column = "Lost" }')
    assert "follow_up.fields.vas_injury.column" in error.value.where


def test_dates_and_codes_of_visits_are_read_as_those_of_operations(tmp_path):
    rows = [visit("2016-01-02", rec="N"), visit("3. Feb 2017", rec="no"), visit("04.03.18", pain="Severe")]
    found = follow(tmp_path, [sound()], rows)
    assert told(found, "followed_until", "chronic_pain") == [("2018-03-04", "severe")]
    assert listed(found) == [(4, "seen_on", "two-digit year")]


def test_an_order_of_dates_of_their_own_is_that_of_the_visits_alone(tmp_path):
    how = KEYED + '[follow_up.dates]\norder = "mdy"\n'
    found = follow(tmp_path, [sound()], [visit("02.03.2016")], how)
    assert told(found, "operated_on", "followed_until") == [("2015-06-05", "2016-02-03")]


def test_an_unknown_code_of_a_visit_is_asked_about_and_can_be_settled(tmp_path):
    from hingeline.records.decisions import Decision, Decisions

    rows = [visit("01.01.2016", rec="n"), visit("01.01.2017", rec="ohne")]
    found = follow(tmp_path, [sound()], rows)
    assert told(found, "followed_until") == [("2016-01-01",)]
    assert listed(found) == [(3, "recurred", "unknown code")]
    asked = found.questions.to_pylist()
    assert [(one["kind"], one["field"], one["print"], one["rows"]) for one in asked] == [
        ("code", "recurred", "ohne", 1)
    ]
    settled = Decisions((Decision("Alder Vale", "code", "recurred", "ohne", "no", "an assistant", CUTOFF),))
    again = follow(tmp_path, [sound()], rows, decisions=settled)
    assert told(again, "followed_until") == [("2017-01-01",)]
    assert again.questions.num_rows == 0


def test_every_row_of_the_visits_is_counted_once(tmp_path):
    rows = [
        visit("01.01.2016"),
        [],
        [*visit("01.01.2017"), "too much"],
        visit("01.01.2016"),
        visit(),
        visit("01.01.2016", pat=""),
        visit("01.01.2016", pat="p9"),
        visit("01.01.2014"),
        visit("01.01.2016", side="R"),
        visit("01.01.2018", side="B"),
    ]
    found = follow(tmp_path, [sound()], rows)
    assert counted(found) == {
        "visits read": 10,
        "visits joined": 2,
        "blank row": 1,
        "more cells than column names": 1,
        "exact duplicate of a visit": 1,
        "visit without a date": 1,
        "visit without a patient": 1,
        "visit of a patient without an operation": 1,
        "visit before the operation": 1,
        "visit of a groin without an operation": 1,
    }
    assert [row for row, _, _ in listed(found)] == [4, 5, 6, 7, 8, 9, 10]


def test_what_is_listed_of_visits_holds_no_key_and_no_date_of_birth(tmp_path):
    found = follow(tmp_path, [sound()], [visit("01.01.2016", pat="p9")])
    assert [line["value"] for line in found.set_aside.to_pylist()] == ["(masked)"]


def test_every_rule_on_visits_is_told_in_a_sentence_with_what_to_do():
    assert len({rule.name for rule in VISIT_RULES}) == len(VISIT_RULES)
    assert all(rule.sentence and rule.todo and rule.fields for rule in VISIT_RULES)


def test_a_legend_without_visits_reads_as_before(tmp_path):
    path = write_csv(tmp_path / "ops.csv", [PLAIN_HEADER, sound()])
    found = _read(path, how="")
    assert counted(found) == {}
    assert found.questions.num_rows == 0


def test_visits_without_a_day_of_their_own_are_dated_by_what_they_tell(tmp_path):
    how = KEYED.replace('seen_on = { column = "Seen" }\n', "").replace('recurred = { column = "Rec" }\n', "")
    how = how.replace('other_groin = { column = "Other" }\n', "")
    found = follow(tmp_path, [sound()], [visit(rec_on="01.02.2016"), visit(died="01.01.2019")], how)
    assert told(found, "recurred_on", "died_on", "followed_until") == [
        ("2016-02-01", "2019-01-01", "2019-01-01")
    ]
