"""Linking: which operation a visit belongs to, what it fills, what stays open, and operations ordered in time."""

from __future__ import annotations

import pytest

from .following import KEYED, THREE, counted, follow, listed, settle, told, visit
from .following import three as by_three
from .making import sound, take_rows

RECURRED = 'recurred_on = { column = "Recurred" }\n'
FOLLOWED = 'followed_until = { column = "Followed" }\n'
OCCURRENCE = 'occurrence = { column = "Occ" }\n'
REASON = 'reason = { column = "Why" }\n'
BOTH = [sound(side="B")]


def _asked(found):
    return [(one["suggests"], one["shown"], one["why"]) for one in found.questions.to_pylist()]


# --- which operation a visit belongs to


def test_a_visit_belongs_to_the_latest_operation_of_its_groin_at_or_before_it(tmp_path):
    operations = [sound(), sound(operated="05.06.2018"), sound(side="R", operated="01.01.2016")]
    rows = [visit(day, side="L") for day in ("04.06.2018", "05.06.2018", "01.01.2019")]
    found = follow(tmp_path, operations, rows)
    assert [until for (until,) in told(found, "followed_until")] == ["2018-06-05", "2019-01-01", None]


def test_a_visit_on_the_day_of_operation_is_that_operations(tmp_path):
    operations = [sound(), sound(operated="05.06.2018")]
    rows = [visit("05.06.2015", inf="n"), visit("05.06.2018", side="L", inf="y")]
    found = follow(tmp_path, operations, rows)
    assert told(found, "followed_until", "infection") == [("2018-06-05", "False"), ("2018-06-05", "True")]
    alone = follow(tmp_path, [sound()], rows[:1])
    assert told(alone, "followed_until") == [("2015-06-05",)]


def test_a_visit_without_a_side_was_of_the_patient_and_so_of_every_groin_operated_by_then(tmp_path):
    operations = [sound(), sound(side="R", operated="01.01.2017"), sound(patient="p2")]
    found = follow(tmp_path, operations, [visit("01.01.2016"), visit("01.01.2018")])
    assert [until for (until,) in told(found, "followed_until")] == ["2018-01-01", "2018-01-01", None]


def test_a_column_of_follow_up_and_the_visits_give_the_later_day(tmp_path):
    operations = [[*sound(), "01.01.2018"], [*sound(patient="p2"), "01.01.2016"]]
    rows = [visit("01.01.2017"), visit("01.01.2017", pat="p2")]
    found = follow(tmp_path, operations, rows, more=FOLLOWED, extra=["Followed"])
    assert told(found, "followed_until") == [("2018-01-01",), ("2017-01-01",)]


def test_a_visit_after_the_cut_off_counts_up_to_it_and_what_it_found_does_not(tmp_path):
    found = follow(tmp_path, [sound()], [visit("01.03.2021", rec="y", inf="y")])
    assert told(found, "followed_until", "recurred_on", "infection") == [("2020-12-31", None, None)]
    assert listed(found) == [(2, "seen_on", "visit after the cut-off")]


def test_an_event_after_the_cut_off_is_left_out(tmp_path):
    found = follow(tmp_path, [sound()], [visit("01.01.2020", rec_on="01.02.2021", died="02.02.2021")])
    assert told(found, "followed_until", "recurred_on", "died_on") == [("2020-01-01", None, None)]
    assert [rule for _, _, rule in listed(found)] == ["event after the cut-off"] * 2


def test_a_visit_of_an_operation_without_a_usable_date_is_set_aside(tmp_path):
    found = follow(tmp_path, [sound(operated="1.1.2009")], [visit("01.01.2016")])
    assert [rule for _, _, rule in listed(found)] == ["visit of an operation without a usable date"]


# --- when a groin was last known to be without a recurrence


def test_the_last_visit_before_a_recurrence_at_which_none_was_told_is_the_last_well_day(tmp_path):
    rows = [visit("01.01.2016"), visit("01.01.2017"), visit("01.06.2018", rec="y"), visit("01.01.2019")]
    found = follow(tmp_path, [sound()], rows)
    assert told(found, "last_well_on", "recurred_on") == [("2017-01-01", "2018-06-01")]
    noticed = [*rows[:2], visit("01.06.2018", rec="y", rec_on="01.12.2016")]
    assert told(follow(tmp_path, [sound()], noticed), "last_well_on") == [("2016-01-01",)]


def test_without_a_recurrence_or_a_visit_before_it_there_is_no_last_well_day(tmp_path):
    well = follow(tmp_path, [sound()], [visit("01.01.2016"), visit("01.01.2017")])
    assert told(well, "last_well_on", "recurred_on") == [(None, None)]
    at_once = follow(tmp_path, [sound()], [visit("01.06.2018", rec="y"), visit("01.01.2019")])
    assert told(at_once, "last_well_on", "recurred_on") == [(None, "2018-06-01")]


def test_the_operations_own_last_well_day_stands_and_one_not_before_the_recurrence_does_not(tmp_path):
    more = RECURRED + 'last_well_on = { column = "Well" }\n'
    operations = [
        [*sound(), "01.06.2018", "03.03.2018"],
        [*sound(patient="p2"), "01.06.2018", "01.06.2018"],
    ]
    found = follow(tmp_path, operations, [visit("01.01.2016")], more=more, extra=["Recurred", "Well"])
    assert told(found, "last_well_on") == [("2018-03-03",), (None,)]


# --- whose visit it is


def test_birth_sex_and_operation_tell_the_patient_where_there_is_no_key(tmp_path):
    operations = [sound(), sound(patient="p2", sex="F"), sound(side="R", operated="01.01.2018")]
    found = follow(tmp_path, operations, [by_three("01.01.2019")], THREE)
    assert [until for (until,) in told(found, "followed_until")] == ["2019-01-01", None, "2019-01-01"]


def test_operations_without_a_key_are_joined_by_the_same_three(tmp_path):
    base = 'hospital = "Alder Vale"\nform = "operations"\n[dates]\norder = "dmy"\n[fields]\n'
    fields = (
        'born_on = { column = "Born" }\noperated_on = { column = "Operated" }\n'
        'sex = { column = "Sex", codes = { M = "male", F = "female" } }\n'
        'side = { column = "Side", codes = { L = "left" } }\n'
        'type = { column = "Type", codes = { lat = "indirect" } }\n[drop]\ncolumns = ["Pat"]\n'
    )
    from hingeline.records.intake import read_hospital
    from hingeline.records.legend import legend_from_text

    from .following import HEADER
    from .making import CUTOFF, KEY, PLAIN_HEADER, write_csv

    first = write_csv(tmp_path / "ops.csv", [PLAIN_HEADER, sound()])
    second = write_csv(tmp_path / "visits.csv", [HEADER, by_three("01.01.2019")])
    found = read_hospital([first, second], legend_from_text(base + fields + THREE), cutoff=CUTOFF, key=KEY)
    assert told(found, "followed_until") == [("2019-01-01",)]


def test_twins_operated_on_one_day_are_not_told_apart(tmp_path):
    found = follow(tmp_path, [sound(), sound(patient="p2", side="R")], [by_three("01.01.2019")], THREE)
    assert counted(found) == {"visits read": 1, "visits joined": 0, "doubtful match of a visit": 1}
    ((suggests, shown, why),) = _asked(found)
    assert (suggests, shown) == ("", "visit visits.csv:2; operations ops.csv:2, ops.csv:3")
    assert "several patients" in why


@pytest.mark.parametrize(
    ("cells", "why"),
    [
        ({"born": "03.04.2011"}, "one digit"),
        ({"born": "04.03.2010"}, "the other way round"),
        ({"operated": "12.06.2015"}, "a few days"),
        ({"operated": "29.05.2015"}, "a few days"),
    ],
)
def test_a_near_match_is_asked_about_and_never_joined(tmp_path, cells, why):
    found = follow(tmp_path, [sound()], [by_three("01.01.2019", **cells)], THREE)
    assert told(found, "followed_until") == [(None,)]
    assert listed(found) == [(2, "patient", "doubtful match of a visit")]
    ((suggests, _, because),) = _asked(found)
    assert suggests == "ops.csv:2"
    assert why in because
    settled = follow(
        tmp_path, [sound()], [by_three("01.01.2019", **cells)], THREE, decisions=settle(found, suggests)
    )
    assert told(settled, "followed_until") == [("2019-01-01",)]
    assert settled.questions.num_rows == 0
    none = follow(
        tmp_path, [sound()], [by_three("01.01.2019", **cells)], THREE, decisions=settle(found, "none")
    )
    assert counted(none)["visit of no operation, as settled"] == 1
    assert none.questions.num_rows == 0


@pytest.mark.parametrize(
    "cells",
    [
        {"born": "14.05.2010"},
        {"operated": "13.06.2015"},
        {"operated": "28.05.2015"},
        {"born": "03.04.2011", "sex": "F"},
        {"born": "03.04.2011", "operated": "06.06.2015"},
    ],
)
def test_what_differs_more_is_no_near_match(tmp_path, cells):
    found = follow(tmp_path, [sound()], [by_three("01.01.2019", **cells)], THREE)
    assert found.questions.num_rows == 0
    assert listed(found) == [(2, "patient", "visit of a patient without an operation")]


def test_an_answer_that_names_no_operation_leaves_the_question_open(tmp_path):
    rows = [by_three("01.01.2019", born="03.04.2011")]
    found = follow(tmp_path, [sound()], rows, THREE)
    again = follow(tmp_path, [sound()], rows, THREE, decisions=settle(found, "ops.csv:77"))
    assert told(again, "followed_until") == [(None,)]
    ((_, _, why),) = _asked(again)
    assert "'ops.csv:77'" in why


def test_the_fingerprint_of_a_question_outlives_rows_that_move(tmp_path):
    rows = [by_three("01.01.2019", born="03.04.2011")]
    found = follow(tmp_path, [sound()], rows, THREE)
    moved = follow(
        tmp_path, [sound()], [by_three("01.01.2018"), *rows], THREE, decisions=settle(found, "ops.csv:2")
    )
    assert told(moved, "followed_until") == [("2019-01-01",)]


def test_a_key_stands_against_one_other_thing_but_not_against_two(tmp_path):
    how = THREE + 'patient = { column = "Pat" }\n'
    rows = [
        by_three("01.01.2017", pat="p1", sex="F"),
        by_three("01.01.2018", pat="p1", born="01.01.2001"),
        by_three("01.01.2019", pat="p1", born="01.01.2001", sex="F"),
        by_three("01.01.2020", pat="p7"),
    ]
    found = follow(tmp_path, [sound()], rows, how)
    assert told(found, "followed_until") == [("2018-01-01",)]
    assert listed(found) == [
        (2, "sex", "visit and operation differ on the person"),
        (3, "born_on", "visit and operation differ on the person"),
        (4, "patient", "doubtful match of a visit"),
        (5, "patient", "doubtful match of a visit"),
    ]
    assert ["the key is the same" in why for _, _, why in _asked(found)] == [True, False]


def test_a_key_that_no_operation_has_is_not_helped_by_a_near_match(tmp_path):
    how = THREE + 'patient = { column = "Pat" }\n'
    found = follow(tmp_path, [sound()], [by_three("01.01.2019", pat="p7", born="03.04.2011")], how)
    assert found.questions.num_rows == 0
    assert listed(found) == [(2, "patient", "visit of a patient without an operation")]


def test_keys_that_differ_by_leading_zeros_are_told_and_not_guessed(tmp_path):
    found = follow(tmp_path, [sound(patient="17")], [visit("01.01.2016", pat="0017")])
    assert told(found, "followed_until") == [(None,)]
    assert any("leading zeros" in sentence for sentence in found.detected)


# --- what a visit fills


def test_the_first_visit_that_finds_a_recurrence_dates_it_unless_it_gives_a_day(tmp_path):
    operations = [sound(), sound(patient="p2")]
    rows = [
        visit("01.01.2016", rec="n"),
        visit("01.01.2018", rec="y"),
        visit("01.01.2017", rec="y"),
        visit("01.01.2018", pat="p2", rec="y", rec_on="24.12.2017"),
    ]
    found = follow(tmp_path, operations, rows)
    assert told(found, "recurred_on") == [("2017-01-01",), ("2017-12-24",)]


def test_a_recurrence_found_on_the_day_of_re_operation_is_the_earlier_operations(tmp_path):
    operations = [sound(), sound(operated="05.06.2018", type="med")]
    found = follow(tmp_path, operations, [visit("05.06.2018", rec="y", side="L")])
    assert told(found, "recurred_on", "recurrence_known_by", "reoperation_type") == [
        ("2018-06-05", "re-operation", "direct"),
        (None, None, None),
    ]


def test_how_a_recurrence_was_known_is_told_by_the_visit_before_the_re_operation(tmp_path):
    how = KEYED.replace('other_groin = { column = "Other" }', 'recurrence_known_by = { column = "Other" }')
    operations = [sound(), sound(operated="05.06.2018")]
    found = follow(tmp_path, operations, [visit("05.06.2018", rec="y", other="telephone")], how)
    assert told(found, "recurrence_known_by") == [("telephone",), (None,)]


def test_the_type_found_at_re_operation_is_that_of_the_operation_and_not_of_the_clinic(tmp_path):
    how = KEYED.replace('other_groin = { column = "Other" }', 'reoperation_type = { column = "Other" }')
    operations = [sound(), sound(operated="05.06.2018", type="med"), sound(patient="p2")]
    rows = [visit("01.06.2018", pat=pat, rec="y", other="indirect") for pat in ("p1", "p2")]
    found = follow(tmp_path, operations, rows, how)
    assert told(found, "reoperation_type") == [("direct",), (None,), ("indirect",)]


def test_a_recurrence_without_a_side_after_two_groins_is_asked_about_and_stops_their_follow_up(tmp_path):
    rows = [visit("01.01.2016", rec="n"), visit("01.01.2017", rec="y"), visit("01.01.2018", rec="n")]
    found = follow(tmp_path, BOTH, rows)
    assert told(found, "followed_until", "recurred_on") == [("2016-01-01", None)] * 2
    assert listed(found) == [(3, "recurred", "finding of two groins")]
    ((_, shown, _),) = _asked(found)
    assert shown == "visit visits.csv:3; operations ops.csv left:2, ops.csv right:2"
    left = follow(tmp_path, BOTH, rows, decisions=settle(found, "ops.csv left:2"))
    assert told(left, "side", "followed_until", "recurred_on") == [
        ("left", "2018-01-01", "2017-01-01"),
        ("right", "2018-01-01", None),
    ]
    assert left.questions.num_rows == 0
    none = follow(tmp_path, BOTH, rows, decisions=settle(found, "none"))
    assert told(none, "followed_until", "recurred_on") == [("2018-01-01", None)] * 2


def test_a_follow_up_typed_beyond_a_doubtful_recurrence_does_not_count_either(tmp_path):
    operations = [[*sound(side="B"), "01.01.2019"], [*sound(patient="p2", side="B"), "01.06.2016"]]
    rows = [visit("01.01.2017", rec="y"), visit("01.01.2017", pat="p2", rec="y")]
    found = follow(tmp_path, operations, rows, more=FOLLOWED, extra=["Followed"])
    assert told(found, "followed_until") == [(None,)] * 2 + [("2016-06-01",)] * 2


def test_a_recurrence_that_came_to_operation_lifts_the_doubt_from_its_groin_alone(tmp_path):
    operations = [*BOTH, sound(side="R", operated="01.03.2018")]
    rows = [visit("01.01.2016"), visit("01.01.2017", rec="y"), visit("01.01.2018")]
    found = follow(tmp_path, operations, rows)
    assert told(found, "side", "followed_until", "recurred_on")[:2] == [
        ("left", "2016-01-01", None),
        ("right", "2018-03-01", "2018-03-01"),
    ]


def test_a_column_that_leaves_it_unknown_is_filled_by_the_visit(tmp_path):
    operations = [[*sound(), "unknown"]]
    rows = [visit("01.01.2017", pain="mild")]
    found = follow(tmp_path, operations, rows, more='chronic_pain = { column = "Hurts" }\n', extra=["Hurts"])
    assert told(found, "chronic_pain") == [("mild",)]
    assert found.set_aside.num_rows == 0


def test_of_two_groins_the_one_operated_again_is_suggested(tmp_path):
    operations = [*BOTH, sound(side="R", operated="01.03.2017")]
    found = follow(tmp_path, operations, [visit("01.02.2017", rec="y")])
    assert [suggests for suggests, _, _ in _asked(found)] == ["ops.csv right:2"]


KNOWN_OF_THE_RIGHT = (("01.01.2017", "R"), ("01.01.2017", ""), ("01.01.2018", ""))


def test_a_recurrence_that_is_known_of_one_side_is_not_asked_about_again(tmp_path):
    rows = [visit(day, rec="y", side=side) for day, side in KNOWN_OF_THE_RIGHT]
    found = follow(tmp_path, BOTH, rows)
    assert told(found, "side", "recurred_on", "followed_until") == [
        ("left", None, "2018-01-01"),
        ("right", "2017-01-01", "2018-01-01"),
    ]
    assert found.questions.num_rows == 0


def test_a_visit_of_both_sides_finds_in_both(tmp_path):
    found = follow(tmp_path, BOTH, [visit("01.01.2017", rec="y", side="B", inf="y")])
    assert told(found, "recurred_on", "infection") == [("2017-01-01", "True")] * 2
    assert listed(found) == []


def test_complications_need_a_side_and_their_absence_does_not(tmp_path):
    rows = [visit("01.01.2017", inf="y", pain="none"), visit("01.01.2018", inf="n", side="L")]
    found = follow(tmp_path, BOTH, rows)
    assert told(found, "side", "infection", "chronic_pain") == [
        ("left", "False", "none"),
        ("right", None, "none"),
    ]
    assert listed(found) == [(2, "infection", "finding of two groins")]


def test_pain_is_chronic_from_three_months_on_and_the_latest_word_stands(tmp_path):
    operations = [sound(), sound(patient="p2"), sound(patient="p3")]
    rows = [
        visit("04.09.2015", pain="severe"),
        visit("05.09.2015", pat="p2", pain="severe"),
        visit("01.01.2016", pat="p3", pain="severe"),
        visit("01.01.2017", pat="p3", pain="mild"),
        visit("01.01.2018", pat="p3", pain="unknown"),
    ]
    found = follow(tmp_path, operations, rows)
    assert told(found, "chronic_pain") == [(None,), ("severe",), ("mild",)]


def test_a_hernia_of_the_other_groin_is_one_only_after_a_single_groin(tmp_path):
    operations = [sound(), sound(patient="p2", side="B")]
    rows = [visit("01.01.2017", other="y"), visit("01.01.2017", pat="p2", other="y")]
    found = follow(tmp_path, operations, rows)
    assert told(found, "other_groin_on", "recurred_on") == [("2017-01-01", None), (None, None), (None, None)]
    assert listed(found) == [(3, "other_groin", "finding of two groins")]


def test_death_is_the_patients_and_none_before_an_operation(tmp_path):
    operations = [sound(side="B"), sound(patient="p2"), sound(patient="p2", operated="01.01.2019")]
    rows = [visit("01.01.2017", died="01.02.2018"), visit("01.01.2020", pat="p2", died="01.01.2018")]
    found = follow(tmp_path, operations, rows)
    assert told(found, "died_on") == [("2018-02-01",)] * 2 + [(None,)] * 2
    assert (3, "died_on", "event before the operation") in listed(found)


def test_of_two_days_of_death_the_earlier_is_taken(tmp_path):
    rows = [visit("01.01.2017", died="02.02.2018"), visit("01.01.2018", died="01.02.2018")]
    assert told(follow(tmp_path, [sound()], rows), "died_on") == [("2018-02-01",)]


def test_a_visit_after_the_death_is_noted(tmp_path):
    found = follow(tmp_path, [sound()], [visit("01.01.2018", died="01.01.2018"), visit("01.01.2019")])
    assert listed(found) == [(3, "seen_on", "visit after the death")]


def test_a_recurrence_whose_date_cannot_be_read_stops_the_follow_up_before_it(tmp_path):
    rows = [visit("01.01.2016"), visit("01.01.2017", rec_on="in May"), visit("01.01.2018")]
    found = follow(tmp_path, [sound()], rows)
    assert told(found, "followed_until", "recurred_on") == [("2016-01-01", None)]
    assert listed(found) == [(3, "recurred_on", "recurrence without a usable date")]


def test_a_recurrence_told_of_before_the_operation_is_not_applied(tmp_path):
    operations = [[*sound(), "primary"], [*sound(patient="p2"), "recurrent"]]
    rows = [
        visit("01.01.2016"),
        visit("01.01.2017", rec_on="01.01.2014"),
        visit("01.01.2017", pat="p2", rec_on="01.01.2014"),
    ]
    found = follow(tmp_path, operations, rows, more=OCCURRENCE, extra=["Occ"])
    assert told(found, "followed_until", "recurred_on") == [("2016-01-01", None), ("2017-01-01", None)]
    assert [one for one in listed(found) if one[2] == "event before the operation"] == [
        (3, "recurred_on", "event before the operation"),
        (4, "recurred_on", "event before the operation"),
    ]


def test_what_the_operation_itself_says_stands_and_the_other_is_noted(tmp_path):
    operations = [[*sound(), "01.01.2017"], [*sound(patient="p2", sex="F"), "01.01.2017"]]
    rows = [visit("01.06.2016", rec="y"), visit("01.01.2017", pat="p2", rec="y")]
    found = follow(tmp_path, operations, rows, more=RECURRED, extra=["Recurred"])
    assert told(found, "recurred_on") == [("2017-01-01",)] * 2
    assert [(one["row"], one["rule"]) for one in found.set_aside.to_pylist()] == [
        (2, "operation and visits disagree")
    ]


# --- operations in order of time


def _operated(tmp_path, rows, more="", extra=()):
    found = take_rows(tmp_path, rows, more, extra)
    return told(
        found, "recurred_on", "recurrence_known_by", "reoperation_type", "occurrence", "other_groin_on"
    )


def test_a_later_operation_of_the_groin_is_a_recurrence_of_the_earlier(tmp_path):
    rows = [sound(operated="01.01.2017", type="med"), sound(), sound(operated="01.01.2019", type="?")]
    assert _operated(tmp_path, rows) == [
        ("2019-01-01", "re-operation", None, "recurrent", None),
        ("2017-01-01", "re-operation", "direct", "primary", None),
        (None, None, None, "recurrent", None),
    ]


def test_a_later_operation_of_the_other_groin_is_no_recurrence(tmp_path):
    rows = [sound(), sound(side="R", operated="01.01.2017"), sound(side="R", operated="01.01.2018")]
    assert _operated(tmp_path, rows) == [
        (None, None, None, "primary", "2017-01-01"),
        ("2018-01-01", "re-operation", "indirect", "primary", None),
        (None, None, None, "recurrent", None),
    ]


def test_a_recurrence_in_the_other_groin_is_no_later_hernia_there(tmp_path):
    rows = [[*sound(), ""], [*sound(side="R", operated="01.01.2017"), "recurrent"]]
    assert [one[4] for one in _operated(tmp_path, rows, OCCURRENCE, ["Occ"])] == [None, None]


def test_groins_of_one_day_are_neither_earlier_nor_later(tmp_path):
    assert _operated(tmp_path, BOTH) == [(None, None, None, "primary", None)] * 2


def test_a_groin_called_primary_that_was_operated_before_is_corrected_and_listed(tmp_path):
    rows = [[*sound(), "primary"], [*sound(operated="01.01.2017", type="med"), "primary"]]
    found = take_rows(tmp_path, rows, OCCURRENCE, ["Occ"])
    assert told(found, "occurrence") == [("primary",), ("recurrent",)]
    assert [(one["row"], one["rule"], one["severity"]) for one in found.set_aside.to_pylist()] == [
        (3, "later operation of a groin called primary", "corrected")
    ]


@pytest.mark.parametrize("reason", ["processus closed in passing", "hydrocele", "with orchidopexy"])
def test_what_was_no_hernia_is_neither_a_recurrence_nor_had_one(tmp_path, reason):
    later = [[*sound(), ""], [*sound(operated="01.01.2017"), reason]]
    earlier = [[*sound(), reason], [*sound(operated="01.01.2017"), ""]]
    other = [[*sound(), ""], [*sound(side="R", operated="01.01.2017"), reason]]
    for rows in (later, earlier, other):
        found = _operated(tmp_path, rows, REASON, ["Why"])
        assert found == [(None, None, None, "primary", None)] * 2


def test_a_reason_that_is_no_known_code_makes_no_recurrence(tmp_path):
    rows = [[*sound(), ""], [*sound(operated="01.01.2017"), "see letter"]]
    assert [one[0] for one in _operated(tmp_path, rows, REASON, ["Why"])] == [None, None]


def test_a_recurrence_passes_over_a_hydrocele_between(tmp_path):
    rows = [[*sound(), ""], [*sound(operated="01.01.2017"), "hydrocele"], [*sound(operated="01.01.2019"), ""]]
    assert [one[0] for one in _operated(tmp_path, rows, REASON, ["Why"])] == ["2019-01-01", None, None]


def test_the_second_within_a_week_is_a_recurrence_only_when_it_is_called_one(tmp_path):
    rows = [[*sound(), ""], [*sound(operated="12.06.2015"), ""], [*sound(operated="01.01.2017"), ""]]

    def recurred():
        return [(one[0], one[3]) for one in _operated(tmp_path, rows, OCCURRENCE, ["Occ"])]

    assert recurred() == [("2017-01-01", "primary"), ("2017-01-01", "primary"), (None, "recurrent")]
    rows[1][-1] = "recurrent"
    assert recurred() == [("2015-06-12", "primary"), ("2017-01-01", "recurrent"), (None, "recurrent")]
    rows[1] = [*sound(operated="13.06.2015"), ""]
    assert recurred() == [("2015-06-13", "primary"), ("2017-01-01", "recurrent"), (None, "recurrent")]


def test_two_within_a_week_are_one_first_hernia_of_the_other_groin(tmp_path):
    days = ("01.01.2017", "04.01.2017")
    rows = [sound(), *(sound(side="R", operated=day) for day in days)]
    assert [one[4] for one in _operated(tmp_path, rows)] == ["2017-01-01", None, None]


def test_a_day_that_cannot_be_orders_nothing(tmp_path):
    rows = [sound(), sound(operated="01.01.2009"), sound(operated="01.01.2021")]
    assert [one[0] for one in _operated(tmp_path, rows)] == [None]


def test_operations_of_several_files_are_ordered_together(tmp_path):
    from hingeline.records.intake import read_hospital

    from .making import CUTOFF, KEY, PLAIN_HEADER, legend, write_csv

    early = write_csv(tmp_path / "before.csv", [PLAIN_HEADER, sound()])
    late = write_csv(tmp_path / "after.csv", [PLAIN_HEADER, sound(operated="01.01.2018")])
    found = read_hospital([late, early], legend(), cutoff=CUTOFF, key=KEY)
    assert told(found, "occurrence", "recurred_on") == [("recurrent", None), ("primary", "2018-01-01")]


def test_the_occurrence_that_follows_is_told_in_a_sentence(tmp_path):
    found = take_rows(
        tmp_path, [sound(), sound(operated="01.01.2017"), sound(side="R", operated="01.01.2018")]
    )
    (sentence,) = [one for one in found.detected if one.startswith("operations in order of time")]
    assert "1 in a groin operated before" in sentence
    assert "2 after which the other groin" in sentence


def test_a_visit_reaches_back_past_an_operation_that_was_for_no_hernia(tmp_path):
    rows = [[*sound(), ""], [*sound(operated="01.01.2017"), "hydrocele"]]
    found = follow(tmp_path, rows, [visit("01.01.2018", rec="y", side="L")], KEYED, REASON, ["Why"])
    assert told(found, "followed_until", "recurred_on")[0] == ("2018-01-01", "2018-01-01")
