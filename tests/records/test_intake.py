"""From an export to cases: forms, dates, numbers, ages, keys, identifiers, and what is written."""

from __future__ import annotations

import csv
from datetime import date

import pyarrow as pa
import pytest

from hingeline.errors import HingelineError
from hingeline.records.intake import check_hospital, read_hospital, summarise, write_set_aside
from hingeline.records.legend import legend_from_text
from hingeline.records.listing import SET_ASIDE_SCHEMA
from hingeline.vocabulary import CASE_SCHEMA

from .making import (
    CUTOFF,
    KEY,
    PLAIN,
    PLAIN_HEADER,
    legend,
    rules_of,
    sound,
    take,
    take_rows,
    write_csv,
    write_xlsx,
)

AGED = """
hospital = "Alder Vale"
form = "operations"
[fields]
patient = { column = "Pat" }
age = { column = "Age", unit = "UNIT" }
sex = { value = "male" }
side = { column = "Side" }
type = { column = "Type" }
"""


def _ages(tmp_path, cells, unit="years", decimal="."):
    rows = [[f"p{i}", cell, "left", "direct"] for i, cell in enumerate(cells)]
    path = write_csv(tmp_path / "ages.csv", [["Pat", "Age", "Side", "Type"], *rows])
    how = legend_from_text(AGED.replace("UNIT", unit) + f'[file]\ndecimal = "{decimal}"\n')
    found = take(path, how).cases
    return list(zip(found["age_days"].to_pylist(), found["age_precision"].to_pylist(), strict=True))


def test_cases_have_the_schema_of_the_vocabulary(tmp_path):
    found = take_rows(tmp_path, [sound(), sound(patient="p2", side="B")])
    assert found.cases.schema.equals(CASE_SCHEMA)
    assert str(found).startswith("Alder Vale: 2 rows, 3 groins")
    assert found.to_frame() is found.cases


def test_a_bilateral_operation_is_two_cases_of_one_patient(tmp_path):
    cases = take_rows(tmp_path, [sound(side="B")]).cases
    assert cases["side"].to_pylist() == ["left", "right"]
    assert len(set(cases["patient"].to_pylist())) == 1
    assert cases["source_row"].to_pylist() == [2, 2]


def test_a_row_of_a_patient_gives_a_groin_for_each_side_that_says_something(tmp_path):
    how = legend_from_text("""
    hospital = "Alder Vale"
    form = "patients"
    [fields]
    patient = { column = "Pat" }
    sex = { column = "Sex" }
    age = { column = "Age", unit = "years" }
    [left]
    type = { column = "L", codes = { "0" = "absent", i = "indirect" } }
    repair = { column = "L op" }
    [right]
    type = { column = "R", codes = { "0" = "absent", i = "indirect" } }
    """)
    rows = [
        ["Pat", "Sex", "Age", "L", "L op", "R"],
        ["p1", "male", "5", "i", "", "direct"],
        ["p2", "male", "6", "", "mesh", ""],
        ["p3", "male", "7", "0", "", "i"],
        ["p4", "male", "8", "", "", "0"],
    ]
    found = take(write_csv(tmp_path / "wide.csv", rows), how)
    got = [(c["source_row"], c["side"], c["type"], c["repair"]) for c in found.cases.to_pylist()]
    assert got == [
        (2, "left", "indirect", "unknown"),
        (2, "right", "direct", "unknown"),
        (3, "left", "unknown", "mesh"),
        (4, "right", "indirect", "unknown"),
    ]
    assert rules_of(found) == [(5, "", "no groin on either side")]
    other = [line for line in found.flow.to_pylist() if line["step"] == "rows without a groin"]
    assert [(line["reason"], line["rows"]) for line in other] == [("no groin on either side", 1)]


DATES = [
    ("dmy", "05.06.2015", "2015-06-05"),
    ("dmy", "5/6/2015 10:30", "2015-06-05"),
    ("dmy", "5. 6. 2015", "2015-06-05"),
    ("mdy", "6/5/2015", "2015-06-05"),
    ("mdy", "06-05-15", "2015-06-05"),
    ("ymd", "15-06-05", "2015-06-05"),
    ("mdy", "2015-06-05", "2015-06-05"),
    ("dmy", "2015/06/05", "2015-06-05"),
    ("dmy", "2015-06-05T23:59:59Z", "2015-06-05"),
    ("dmy", "2015-06-05 00:00:00.000", "2015-06-05"),
    ("dmy", "20150605", "2015-06-05"),
    ("dmy", "42160", "2015-06-05"),
    ("dmy", "42160.4375", "2015-06-05"),
    ("mdy", "5 June 2015", "2015-06-05"),
    ("mdy", "05-Jun-15", "2015-06-05"),
    ("dmy", "June 5, 2015", "2015-06-05"),
    ("dmy", "5. Juni 2015", "2015-06-05"),
    ("dmy", "5 de junio de 2015", "2015-06-05"),
    ("dmy", "5 juin 2015", "2015-06-05"),
    ("dmy", "5 juillet 2015", "2015-07-05"),
    ("dmy", "5 août 2015", "2015-08-05"),
    ("dmy", "5. März 2015", "2015-03-05"),
    ("dmy", "5 dicembre 2015", "2015-12-05"),
    ("dmy", "31.02.2015", None),
    ("dmy", "00.06.2015", None),
    ("dmy", "05.13.2015", None),
    ("dmy", "2015", None),
    ("dmy", "60", None),
    ("dmy", "05.06.2015 or 06", None),
    ("dmy", "05.06.0215", None),
    ("dmy", "5 foo 2015", None),
    ("dmy", "1e5", None),
]


@pytest.mark.parametrize("order", ["dmy", "mdy", "ymd"])
def test_dates_are_read_in_every_writing(tmp_path, order):
    cells = [(cell, day) for of, cell, day in DATES if of == order]
    rows = [sound(patient=f"p{i}", born="2000-01-01", operated=cell) for i, (cell, _) in enumerate(cells)]
    path = write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows])
    found = take(path, legend("", PLAIN.replace('"dmy"', f'"{order}"')))
    read = dict.fromkeys(cell for cell, _ in cells)
    for case in found.cases.to_pylist():
        read[cells[case["source_row"] - 2][0]] = str(case["operated_on"])
    assert read == dict(cells)
    unusable = {
        row for row, field, rule in rules_of(found) if (field, rule) == ("operated_on", "unusable date")
    }
    assert unusable == {row for row, (_, day) in enumerate(cells, start=2) if day is None}


@pytest.mark.parametrize("year", ["18", "19", "20", "21", "22"])
def test_a_two_digit_year_that_begins_like_a_century_is_a_year_of_ours(tmp_path, year):
    """As text, 19 lies between 1800 and 2199; it is 2019 all the same."""
    rows = [PLAIN_HEADER, ("1", "01.02.1990", f"13.04.{year}", "M", "L", "lat")]
    intake = read_hospital(
        [write_csv(tmp_path / "list.csv", rows)], legend(), cutoff=date(2023, 1, 1), key=KEY
    )
    assert intake.cases.column("operated_on").to_pylist() == [date(2000 + int(year), 4, 13)]


def test_a_two_digit_birth_year_is_the_latest_not_after_the_operation(tmp_path):
    rows = [
        sound(born="04.06.15"),
        sound(patient="p2", born="06.06.15"),
        sound(patient="p3", born="01.01.31"),
    ]
    days = take_rows(tmp_path, rows).cases["age_days"].to_pylist()
    assert days == [
        1,
        (date(2015, 6, 5) - date(1915, 6, 6)).days,
        (date(2015, 6, 5) - date(1931, 1, 1)).days,
    ]


def test_true_dates_stand_beside_text_dates_in_a_spreadsheet(tmp_path):
    rows = [
        ["List of operations"],
        list(PLAIN_HEADER),
        sound(operated=date(2015, 6, 5)),  # type: ignore[arg-type]
        sound(patient="p2"),
    ]
    cases = take(write_xlsx(tmp_path / "a.xlsx", {"S": rows})).cases
    assert cases["operated_on"].to_pylist() == [date(2015, 6, 5)] * 2
    assert cases["source_row"].to_pylist() == [3, 4]


WITHOUT_ORDER = PLAIN.replace('order = "dmy"', "")


def _without_order(tmp_path, *operated):
    rows = [sound(patient=f"p{i}", born="2000-01-01", operated=day) for i, day in enumerate(operated)]
    return take(write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows]), legend("", WITHOUT_ORDER))


def test_the_order_of_dates_is_taken_from_the_column_and_said(tmp_path):
    found = _without_order(tmp_path, "05.06.2015", "13.06.2015")
    assert [str(day) for day in found.cases["operated_on"].to_pylist()] == ["2015-06-05", "2015-06-13"]
    assert any("day, month, year" in sentence for sentence in found.detected)
    american = _without_order(tmp_path, "06/05/2015", "06/13/2015")
    assert american.cases["operated_on"].to_pylist() == found.cases["operated_on"].to_pylist()


def test_dates_whose_order_cannot_be_told_are_not_guessed(tmp_path):
    with pytest.raises(HingelineError, match="cannot be told") as refused:
        _without_order(tmp_path, "05.06.2015")
    assert "order" in refused.value.todo


def test_dates_in_two_orders_are_read_where_one_fits_and_the_others_are_set_aside_as_ambiguous(tmp_path):
    found = _without_order(tmp_path, "13.06.2015", "06.14.2015", "05.06.2015", "07.07.2015", "99.99.2015")
    assert [str(day) for day in found.cases["operated_on"].to_pylist()] == [
        "2015-06-13",
        "2015-06-14",
        "2015-07-07",
    ]
    assert rules_of(found) == [(4, "operated_on", "ambiguous date"), (6, "operated_on", "unusable date")]
    told = next(sentence for sentence in found.detected if "two orders" in sentence)
    assert "1 that can only have the day first and 1 only the month" in told
    assert "1 date that fit both" in told


def test_whole_years_and_months_sit_at_the_middle_of_their_span(tmp_path):
    assert _ages(tmp_path, ["4", "0", "110"]) == [
        (round(4.5 * 365.25), "year"),
        (round(0.5 * 365.25), "year"),
        (round(110.5 * 365.25), "year"),
    ]
    assert _ages(tmp_path, ["7"], "months") == [(round(7.5 * 365.25 / 12), "month")]
    assert _ages(tmp_path, ["8"], "weeks") == [(int(8.5 * 7 + 0.5), "day")]
    assert _ages(tmp_path, ["7"], "days") == [(7, "day")]


def test_ages_above_110_completed_years_are_set_aside(tmp_path):
    assert _ages(tmp_path, ["111", "-1", "1e300", "999999999999"]) == []


def test_decimal_ages_are_not_moved_to_the_middle(tmp_path):
    cells = ["7,4", "8,0", "9,1", "10", "12,25"]
    assert _ages(tmp_path, cells, decimal=",") == [
        (int(age * 365.25 + 0.5), "month") for age in (7.4, 8, 9.1, 10, 12.25)
    ]


def test_a_decimal_infant_among_whole_years_leaves_them_whole(tmp_path):
    got = _ages(tmp_path, ["0.5", "4", "5", "6", "7", "8"])
    assert got[0] == (round(0.5 * 365.25), "month")
    assert got[1] == (round(4.5 * 365.25), "year")


def test_an_age_may_say_its_own_unit(tmp_path):
    got = _ages(tmp_path, ["3 months", "5 y", "10 Tage", "6 mois", "4 lightyears"])
    assert got == [
        (round(3.5 * 365.25 / 12), "month"),
        (round(5.5 * 365.25), "year"),
        (10, "day"),
        (round(6.5 * 365.25 / 12), "month"),
    ]


@pytest.mark.parametrize(
    ("cell", "days"),
    # common practice, no source: clinics write an infant's age in twelfths, fifty-seconds and sevenths
    [("3/12", 3.5 * 365.25 / 12), ("6/52", 6.5 * 7), ("5/7", 5), ("3 / 12", None), ("3/11", None)],
)
def test_an_infants_age_in_twelfths_is_in_months(tmp_path, cell, days):
    path = write_csv(tmp_path / "a.csv", [["Pat", "Age", "Side", "Type"], ["p", cell, "left", "indirect"]])
    cases = take(path, legend("", AGED.replace("UNIT", "years"))).cases.to_pylist()
    assert [case["age_days"] for case in cases] == ([] if days is None else [pytest.approx(days, abs=1)])


def test_dates_win_over_an_age_and_an_age_stands_in_for_a_birth_date(tmp_path):
    more = 'age = { column = "Age", unit = "years" }\n'
    rows = [[*sound(), "40"], [*sound(patient="p2", born="unknown"), "40"]]
    found = take_rows(tmp_path, rows, more, ["Age"])
    assert found.cases["age_days"].to_pylist() == [1889, round(40.5 * 365.25)]
    assert found.cases["age_precision"].to_pylist() == ["day", "year"]
    assert rules_of(found) == [
        (2, "age", "age and birth date disagree"),
        (3, "born_on", "unusable date left empty"),
    ]


def test_an_age_is_corrected_only_when_born_preterm(tmp_path):
    more = 'gestation_weeks = { column = "GA" }\n'
    rows = [
        [*sound(patient=f"p{i}"), weeks]
        for i, weeks in enumerate(["34", "34+2", "36+6", "37", "40", "", "99", "30 weeks", "34 3/7"])
    ]
    found = take_rows(tmp_path, rows, more, ["GA"])
    corrected = found.cases["corrected_age_days"].to_pylist()
    early = [42, 40, 22, None, None, None, None, 70, 39]
    assert corrected == [None if days is None else 1889 - days for days in early]
    assert found.cases["preterm"].to_pylist() == [True, True, True, False, False, None, None, True, True]


def test_the_parity_of_the_birth_month_is_kept_and_the_birth_date_is_not(tmp_path):
    cases = take_rows(tmp_path, [sound(), sound(patient="p2", born="03.05.2010")]).cases
    assert cases["birth_month_odd"].to_pylist() == [False, True]
    assert "2010-04-03" not in str(cases.to_pylist())


NUMBERS = [
    (",", "1,5", 1.5),
    (",", "1.5", 1.5),
    (",", "12,50", 12.5),
    (".", "1.5", 1.5),
    (".", "1,5", 1.5),
    (".", "12 kg", 12.0),
    (",", "12,5kg", 12.5),
    (".", "1.2e1", 12.0),
    (".", "1,234", None),
    (",", "1.234,5", None),
    (".", "12 lb", None),
    (".", "nan", None),
    (".", "1e999", None),
    (".", "--3", None),
]


@pytest.mark.parametrize("decimal", [".", ","])
def test_numbers_are_read_by_their_decimal_mark(tmp_path, decimal):
    cells = [(cell, kilograms) for mark, cell, kilograms in NUMBERS if mark == decimal]
    rows = [[*sound(patient=f"p{i}"), cell] for i, (cell, _) in enumerate(cells)]
    how = legend(f'weight_kg = {{ column = "Weight" }}\n[file]\ndecimal = "{decimal}"\n')
    path = write_csv(tmp_path / "a.csv", [[*PLAIN_HEADER, "Weight"], *rows])
    read = take(path, how).cases["weight_kg"].to_pylist()
    assert dict(zip((cell for cell, _ in cells), read, strict=True)) == dict(cells)


def test_units_are_converted(tmp_path):
    more = (
        'weight_kg = { column = "W", unit = "g" }\nheight_cm = { column = "H", unit = "m" }\n'
        'ring_mm = { column = "R", unit = "cm" }\n'
    )
    case = take_rows(tmp_path, [[*sound(), "3250", "0.51", "1.5"]], more, ["W", "H", "R"]).cases.to_pylist()[
        0
    ]
    assert (case["weight_kg"], case["height_cm"], case["ring_mm"]) == (3.25, 51.0, 15.0)


def test_empty_cells_unknown_codes_and_constants_are_told_apart(tmp_path):
    more = """
    reason = { column = "Why", codes = { hc = "hydrocele", "?" = "" } }
    repair = { column = "How" }
    approach = { value = "laparoscopic" }
    infection = { column = "Inf", blank = false }
    puberty_stage = { column = "P", codes = { II = 2 } }
    """
    rows = [
        [*sound(patient="p1"), "", "", "", ""],
        [*sound(patient="p2"), "HC", "mesh", "1", "II"],
        [*sound(patient="p3"), "zz", "zz", "zz", "9"],
        [*sound(patient="p4", type=""), "?", "TISSUE", "no", "5"],
    ]
    found = take_rows(tmp_path, rows, more, ["Why", "How", "Inf", "P"])
    got = [
        (c["reason"], c["repair"], c["approach"], c["infection"], c["puberty_stage"], c["type"])
        for c in found.cases.to_pylist()
    ]
    assert got == [
        ("hernia", "unknown", "laparoscopic", False, None, "indirect"),
        ("hydrocele", "mesh", "laparoscopic", True, 2, "indirect"),
        (None, "unknown", "laparoscopic", None, None, "indirect"),
        ("hernia", "tissue", "laparoscopic", False, 5, "unknown"),
    ]
    assert {rule for _, _, rule in rules_of(found)} == {"unknown code"}
    assert [row for row, _, _ in rules_of(found)] == [4, 4, 4, 4]


def test_look_alike_blanks_and_case_do_not_hide_a_code(tmp_path):
    cells = ["\u00a0lat\u2003", "LAT", "ｌａｔ"]
    rows = [sound(patient=f"p{i}", type=cell) for i, cell in enumerate(cells)]
    assert take_rows(tmp_path, rows).cases["type"].to_pylist() == ["indirect"] * 3


def test_letters_of_another_script_that_look_alike_do_not_hide_a_code(tmp_path):
    # Cyrillic В for B, М for M, а for a; Er for P; a word of that script is no look-alike.
    rows = [
        [*sound(side="В", sex="М", type="lаt"), "РL2"],
        [*sound(patient="p2", type="левая"), "ΡМ1"],
    ]
    found = take_rows(tmp_path, rows, 'ehs = { column = "EHS" }\n', ["EHS"])
    got = [(c["sex"], c["side"], c["type"], c["ehs_size"]) for c in found.cases.to_pylist()]
    assert got == [
        ("male", "left", "indirect", 2),
        ("male", "right", "indirect", 2),
        ("male", "left", "direct", 1),
    ]
    assert rules_of(found) == [(3, "type", "unknown code")]


def test_ehs_codes_fill_what_the_row_does_not_say(tmp_path):
    rows = [[*sound(type=""), "RM2"], [*sound(patient="p2", type="lat"), "PM1L1"]]
    cases = take_rows(tmp_path, rows, 'ehs = { column = "EHS" }\n', ["EHS"]).cases.to_pylist()
    assert [(c["type"], c["occurrence"], c["ehs_size"]) for c in cases] == [
        ("direct", "recurrent", 2),
        ("indirect", "primary", 1),
    ]


def test_keys_are_the_same_for_the_same_key_and_differ_by_hospital_field_and_secret(tmp_path):
    surgeon = 'surgeon = { column = "Surgeon" }\n'
    path = write_csv(tmp_path / "a.csv", [[*PLAIN_HEADER, "Surgeon"], [*sound(), "p1"]])
    mine = legend(surgeon)
    other = legend(surgeon, PLAIN.replace("Alder Vale", "Birch Hill"))
    first, again = take(path, mine).cases, take(path, mine).cases
    assert first.equals(again)
    patient, operator = first["patient"][0].as_py(), first["surgeon"][0].as_py()
    assert patient != operator
    assert take(path, other).cases["patient"][0].as_py() != patient
    assert take(path, mine, key=b"another key").cases["patient"][0].as_py() != patient


def test_several_files_of_a_hospital_are_one_intake(tmp_path):
    one = write_csv(tmp_path / "2014.csv", [PLAIN_HEADER, sound()])
    two = write_xlsx(
        tmp_path / "2015.xlsx", {"S": [list(PLAIN_HEADER), sound(), sound(patient="p2", side="R")]}
    )
    told = []
    found = read_hospital(
        [one, two], legend(), cutoff=CUTOFF, key=KEY, progress=lambda *what: told.append(what)
    )
    assert [(c["source_file"], c["source_row"]) for c in found.cases.to_pylist()] == [
        ("2014.csv", 2),
        ("2015.xlsx", 3),
    ]
    assert [(line["file"], line["sheet"], line["rule"]) for line in found.set_aside.to_pylist()] == [
        ("2015.xlsx", "S", "exact duplicate")
    ]
    assert [name for name, _ in found.fingerprints] == ["2014.csv", "2015.xlsx"]
    assert told[0] == ("opening 2014.csv", 0, 3)
    assert told[-1][1:] == (3, 3)
    checked = check_hospital([one, two], legend(), cutoff=CUTOFF, key=KEY)
    assert checked.cases.equals(found.cases)


def test_cases_written_as_they_come_are_those_that_are_held(tmp_path):
    rows = [sound(patient=f"p{i}", born=f"{1 + i % 28:02}.04.2010", side="B") for i in range(300)]
    path = write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows])
    held = take(path)
    written = take(path, into=tmp_path / "cases.parquet")
    assert written.n_cases == held.n_cases == held.cases.num_rows == 600
    assert written.cases.equals(held.cases)
    assert str(written) == str(held)
    with pytest.raises(HingelineError, match="cannot be written"):
        take(path, into=tmp_path / "absent" / "cases.parquet")


def test_a_hospital_without_files_is_refused():
    with pytest.raises(HingelineError, match="no files"):
        read_hospital([], legend(), cutoff=CUTOFF, key=KEY)


def test_a_column_that_the_file_lacks_is_told_with_the_legends_line_and_the_columns_found(tmp_path):
    path = write_csv(
        tmp_path / "a.csv", [["Pat", "Born", "Sex", "Side", "Type"], ["1", "2", "M", "L", "lat"]]
    )
    with pytest.raises(HingelineError, match="'Operated'") as refused:
        take(path)
    assert "line 9" in refused.value.where
    assert "a.csv" in refused.value.where
    assert "'Born'" in refused.value.todo


def test_a_mapped_column_that_stands_twice_is_refused(tmp_path):
    path = write_csv(tmp_path / "a.csv", [[*PLAIN_HEADER, "Type"], [*sound(), "med"]])
    with pytest.raises(HingelineError, match="2 times"):
        take(path)


def test_the_list_is_written_so_that_no_spreadsheet_takes_it_for_formulas(tmp_path):
    rows = [sound(type="=lateral(1)"), sound(patient="p2", sex="@x"), sound(patient="p3", side="+1")]
    found = take_rows(tmp_path, rows)
    path = tmp_path / "set-aside.csv"
    write_set_aside([found], path)
    with path.open(encoding="utf-8-sig", newline="") as file:
        lines = list(csv.DictReader(file))
    assert [line["value"] for line in lines] == ["'=lateral(1)", "'=lateral(1)", "'@x", "'+1"]
    assert [line["row"] for line in lines] == ["2", "2", "3", "4"]
    assert all(line["todo"] for line in lines)
    before = path.read_bytes()
    write_set_aside(found.set_aside, path)
    assert path.read_bytes() == before
    with pytest.raises(HingelineError, match="cannot be written"):
        write_set_aside(found.set_aside, tmp_path / "absent" / "set-aside.csv")


def test_the_summary_counts_by_hospital_and_rule_the_most_severe_first(tmp_path):
    found = take_rows(tmp_path, [sound(type="zz"), sound(patient="p2", side="R", type="zz"), sound(sex="?")])
    assert summarise([found, found.set_aside]).to_pylist() == [
        {"hospital": "Alder Vale", "rule": "unusable sex", "severity": "set aside", "rows": 2},
        {"hospital": "Alder Vale", "rule": "unknown code", "severity": "noted", "rows": 4},
    ]
    assert summarise([]).num_rows == 0


def test_broken_rows_and_blank_rows_are_accounted_for(tmp_path):
    path = tmp_path / "a.csv"
    plain = ";".join(sound())
    path.write_text(f"{';'.join(PLAIN_HEADER)}\n{plain}\n;;\n{plain};;x\n\n", encoding="utf-8")
    found = take(path)
    lines = [(line["step"], line["reason"], line["rows"], line["groins"]) for line in found.flow.to_pylist()]
    assert lines == [
        ("rows read", "", 4, 0),
        ("rows without a groin", "blank row", 2, 0),
        ("rows without a groin", "more cells than column names", 1, 0),
        ("groins read", "", 1, 1),
        ("cases", "", 1, 1),
    ]
    assert rules_of(found) == [(4, "", "more cells than column names")]


def test_an_export_with_a_header_alone_gives_no_cases(tmp_path):
    found = take_rows(tmp_path, [])
    assert found.cases.num_rows == 0
    assert found.cases.schema.equals(CASE_SCHEMA)
    assert isinstance(found.flow, pa.Table)


def test_a_formula_behind_blanks_or_in_full_width_is_made_plain_text_and_controls_are_taken_out(tmp_path):
    columns = {name: [""] * 4 for name in SET_ASIDE_SCHEMA.names if name != "row"}
    columns |= {"row": [2] * 4, "value": ["  =1+1", "＝1+1", "\t@SUM(A1)", "a\x07b"]}
    write_set_aside(pa.table(columns, schema=SET_ASIDE_SCHEMA), tmp_path / "list.csv")
    with (tmp_path / "list.csv").open(encoding="utf-8-sig", newline="") as file:
        assert [line["value"] for line in csv.DictReader(file)] == ["'  =1+1", "'＝1+1", "' @SUM(A1)", "a b"]


def test_a_row_of_totals_is_listed_with_its_own_remedy(tmp_path):
    rows = [list(PLAIN_HEADER), list(sound()), list(sound(patient="p2")), ["Total", "", "", "", "", "2"]]
    listed = take(write_csv(tmp_path / "a.csv", rows)).set_aside.to_pylist()
    assert [row["todo"] for row in listed if row["row"] == 4] == [
        "Nothing, if it is a total and not a patient"
    ]
