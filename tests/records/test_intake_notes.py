"""Operation notes among the columns of an export: what they fill, what they never override, what a person is asked."""

from __future__ import annotations

import re
from datetime import date

import pytest

from hingeline.errors import HingelineError
from hingeline.records.decisions import Decision, Decisions
from hingeline.records.excerpt import excerpt
from hingeline.records.legend import legend_from_text

from .making import PLAIN, rules_of, sound, take, write_csv

HEADER = ["Pat", "Born", "Operated", "Sex", "Side", "Type", "Note"]
LEFT_INDIRECT = "Left inguinal hernia. Indirect sac found, posterior wall intact. High ligation."
LEFT_DIRECT = "Left groin: direct hernia through the floor. Mesh repair."
DOUBTFUL = "Left inguinal hernia, cannot exclude a direct component."

NOTE = 'note = { column = "Note" }\n'
NO_TYPE = PLAIN.replace(
    'type = { column = "Type", codes = { lat = "indirect", med = "direct", "?" = "" } }', ""
)
NO_SIDE = NO_TYPE.replace('side = { column = "Side", codes = { L = "left", R = "right", B = "both" } }', "")


def _take(tmp_path, rows, base=PLAIN, more="", extra=(), **options):
    path = write_csv(tmp_path / "notes.csv", [[*HEADER, *extra], *rows])
    return take(path, legend_from_text(base + NOTE + more), **options)


def _row(note, number=1, **changed):
    cells = {"patient": f"p{number}", "born": f"0{number}.04.2010"} | changed
    return [*sound(**cells), note]


def test_a_note_fills_what_no_column_tells(tmp_path):
    rows = [_row(LEFT_INDIRECT), _row(LEFT_DIRECT, 2), _row("", 3)]
    cases = _take(tmp_path, rows, NO_TYPE).cases.to_pylist()
    assert [(c["type"], c["repair"]) for c in cases] == [
        ("indirect", "high_ligation"),
        ("direct", "mesh"),
        ("unknown", "unknown"),
    ]


def test_a_typed_column_stands_before_a_note_and_their_disagreement_is_noted(tmp_path):
    rows = [
        _row(LEFT_DIRECT, type="lat"),
        _row(LEFT_DIRECT, 2, type="med"),
        _row(LEFT_DIRECT, 3, type=""),
        _row(LEFT_DIRECT, 4, type="zz"),
    ]
    found = _take(tmp_path, rows)
    assert found.cases["type"].to_pylist() == ["indirect", "direct", "direct", "direct"]
    assert rules_of(found) == [(2, "type", "type and note disagree"), (5, "type", "unknown code")]


def test_an_ehs_code_stands_before_a_note(tmp_path):
    rows = [[*_row(LEFT_DIRECT), "PL2"], [*_row(LEFT_DIRECT, 2), "PM2"], [*_row(LEFT_DIRECT, 3), ""]]
    found = _take(tmp_path, rows, NO_TYPE, 'ehs = { column = "EHS" }\n', ["EHS"])
    assert found.cases["type"].to_pylist() == ["indirect", "direct", "direct"]
    assert rules_of(found) == [(2, "type", "type and note disagree")]


def test_the_side_is_taken_from_the_note_where_no_column_tells_it(tmp_path):
    rows = [
        _row(LEFT_INDIRECT),
        _row("Right inguinal hernia, direct. Mesh repair.", 2),
        _row("Inguinal hernia, indirect sac, high ligation.", 3),
    ]
    found = _take(tmp_path, rows, NO_SIDE)
    assert [(c["side"], c["type"]) for c in found.cases.to_pylist()] == [
        ("left", "indirect"),
        ("right", "direct"),
    ]
    assert rules_of(found) == [(4, "side", "unusable side")]
    asked = [(q["kind"], q["field"], q["rows"]) for q in found.questions.to_pylist()]
    assert asked == [("note", "side", 1)]


def test_a_row_and_a_note_of_different_sides_are_noted_and_the_row_stands(tmp_path):
    rows = [_row(LEFT_INDIRECT), _row(LEFT_INDIRECT, 2, side="R"), _row(LEFT_INDIRECT, 3, side="B")]
    found = _take(tmp_path, rows, NO_TYPE)
    got = [(c["source_row"], c["side"], c["type"]) for c in found.cases.to_pylist()]
    assert got == [
        (2, "left", "indirect"),
        (3, "right", "unknown"),
        (4, "left", "indirect"),
        (4, "right", "unknown"),
    ]
    assert rules_of(found) == [(3, "side", "side and note disagree"), (4, "side", "side and note disagree")]


def test_a_doubtful_note_is_noted_and_asked_and_what_is_settled_holds_from_then_on(tmp_path):
    rows = [_row(DOUBTFUL), _row(DOUBTFUL, 2), _row(LEFT_INDIRECT, 3)]
    found = _take(tmp_path, rows, NO_TYPE)
    assert found.cases["type"].to_pylist() == ["unknown", "unknown", "indirect"]
    assert [rule for _, _, rule in rules_of(found)] == ["doubtful note"] * 2
    (asked,) = found.questions.to_pylist()
    assert (asked["kind"], asked["field"], asked["rows"]) == ("note", "type", 2)
    assert len(asked["print"]) == 16
    assert "cannot exclude" in asked["shown"]
    line = Decision("Alder Vale", "note", "type", asked["print"], "indirect", "AB", date(2020, 1, 1))
    again = _take(tmp_path, rows, NO_TYPE, decisions=Decisions((line,)))
    assert again.cases["type"].to_pylist() == ["indirect"] * 3
    assert rules_of(again) == []
    assert again.questions.num_rows == 0


def test_a_doubtful_note_beside_a_typed_column_asks_nothing(tmp_path):
    found = _take(tmp_path, [_row(DOUBTFUL)])
    assert rules_of(found) == []
    assert found.questions.num_rows == 0


def test_a_settled_code_is_read_as_if_it_stood_in_the_legend(tmp_path):
    rows = [_row("", type="PHS"), _row("", 2, type="phs "), _row("", 3, type="indirct")]
    found = _take(tmp_path, rows)
    asked = {q["print"]: (q["field"], q["rows"], q["suggests"]) for q in found.questions.to_pylist()}
    assert asked == {"PHS": ("type", 2, ""), "indirct": ("type", 1, "indirect")}
    line = Decision("Alder Vale", "code", "type", "PHS", "combined", "AB", date(2020, 1, 1))
    again = _take(tmp_path, rows, decisions=Decisions((line,)))
    assert again.cases["type"].to_pylist() == ["combined", "combined", "unknown"]
    assert [q["print"] for q in again.questions.to_pylist()] == ["indirct"]


def test_a_cell_that_could_name_somebody_is_asked_by_its_place_and_settled_by_its_fingerprint(tmp_path):
    rows = [
        _row("", n, type=cell) for n, cell in enumerate(("tamsin okwuosa", "0171 2345678", "Okwuosa 4471"), 1)
    ]
    found = _take(tmp_path, rows)
    asked = found.questions.to_pylist()
    assert [rule for _, _, rule in rules_of(found)] == ["unknown code"] * 3
    assert sorted((one["shown"], one["row"]) for one in asked) == [("(masked)", row) for row in (2, 3, 4)]
    assert all(re.fullmatch("code-[0-9a-f]{16}", one["print"]) for one in asked)
    for secret in ("okwuosa", "2345678", "4471"):
        assert secret not in str(asked).casefold()
    (first,) = [one for one in asked if one["row"] == 2]
    line = Decision("Alder Vale", "code", "type", first["print"], "combined", "AB", date(2020, 1, 1))
    again = _take(tmp_path, rows, decisions=Decisions((line,)))
    assert again.cases["type"].to_pylist() == ["combined", "unknown", "unknown"]
    assert again.questions.num_rows == 2
    other = _take(tmp_path, [_row("", 1, type="TAMSIN  Okwuosa")], decisions=Decisions((line,)))
    assert other.cases["type"].to_pylist() == ["combined"]


def test_one_note_a_side_is_read_for_its_side(tmp_path):
    how = legend_from_text("""
    hospital = "Alder Vale"
    form = "patients"
    [fields]
    patient = { column = "Pat" }
    sex = { column = "Sex" }
    age = { column = "Age", unit = "years" }
    [left]
    note = { column = "L" }
    [right]
    note = { column = "R" }
    """)
    rows = [
        ["Pat", "Sex", "Age", "L", "R"],
        ["p1", "male", "5", "Indirect sac, high ligation.", ""],
        ["p2", "male", "6", "Indirect sac, high ligation.", "Direct hernia, mesh repair."],
    ]
    found = take(write_csv(tmp_path / "wide.csv", rows), how)
    assert [(c["source_row"], c["side"], c["type"]) for c in found.cases.to_pylist()] == [
        (2, "left", "indirect"),
        (3, "left", "indirect"),
        (3, "right", "direct"),
    ]


def test_without_a_key_a_patient_is_told_by_birth_sex_and_operation(tmp_path):
    base = PLAIN.replace('patient = { column = "Pat" }\n', "")
    rows = [
        _row(""),
        _row("", side="R"),
        _row("", 2),
        _row("", 3, operated=""),
    ]
    found = _take(tmp_path, rows, base)
    first, same, other = found.cases["patient"].to_pylist()
    assert first == same != other
    assert [rule for _, _, rule in rules_of(found)] == ["no usable age"]
    assert any("no patient key" in sentence for sentence in found.detected)
    assert not any("no patient key" in sentence for sentence in _take(tmp_path, rows).detected)


def test_a_patient_without_key_and_birth_is_set_aside_though_the_age_is_told(tmp_path):
    base = PLAIN.replace('patient = { column = "Pat" }\n', "") + 'age = { column = "Age", unit = "years" }\n'
    found = _take(tmp_path, [[*_row("", born=""), "5"], [*_row("", 2), "5"]], base, "", ["Age"])
    assert rules_of(found) == [(2, "patient", "no patient key")]


@pytest.mark.parametrize(
    "text",
    [
        "Surgeon: Dr. Astley Bowmore, indirect sac",
        "Patient Weber, Anna; indirect sac",
        "tel. 0171 234 5678 indirect sac",
        "seen on 12.03.2015, indirect sac",
        "NHS 943 476 5919, indirect sac",
        "Assistant ms Quillfeather and indirect sac",
        "anna.weber@example.org indirect sac",
    ],
)
def test_an_excerpt_holds_no_identifier(text):
    at = text.index("indirect sac")
    shown = excerpt(text, [(at, at + len("indirect sac"))])
    assert "indirect sac" in shown
    for word in ("Astley", "Bowmore", "Weber", "Anna", "0171", "12.03", "943", "Quillfeather", "anna.weber"):
        assert word not in shown


def test_an_excerpt_keeps_clinical_words_and_small_numbers_and_is_short():
    text = "Bassini repair after Lichtenstein in 2 layers, defect 3 x 4 cm. " + "Indirect sac. " * 80
    shown = excerpt(text, [(0, 10), (900, 912)])
    assert shown.startswith("Bassini repair after Lichtenstein in 2 layers, defect 3 x 4")
    assert len(excerpt(text, [(i, i + 5) for i in range(0, 1000, 100)])) <= 300


def test_a_note_may_name_people_since_only_what_it_says_is_kept(tmp_path):
    rows = [
        _row(f"{LEFT_INDIRECT} Mother: Anna Weber, tel 0171 23456{i:02}, anna{i}@example.org", i)
        for i in range(1, 10)
    ]
    found = _take(tmp_path, rows, NO_TYPE)
    assert found.cases["type"].to_pylist() == ["indirect"] * 9
    with pytest.raises(HingelineError, match="identify people"):
        take(tmp_path / "notes.csv", legend_from_text(PLAIN))


def test_no_word_of_a_note_reaches_cases_or_the_list(tmp_path):
    rows = [
        _row("Left. Quillfeather dictated: cannot exclude a direct hernia, maybe indirect. Tel 0171 2345678")
    ]
    found = _take(tmp_path, rows, NO_TYPE)
    written = (
        str(found.cases.to_pylist()) + str(found.set_aside.to_pylist()) + str(found.questions.to_pylist())
    )
    assert "Quillfeather" not in written
    assert "0171" not in written


def test_telephone_numbers_among_mapped_notes_are_told_and_none_is_kept(tmp_path):
    rows = [_row(f"{LEFT_INDIRECT} Mother on 0151 23456{n}8.", n) for n in range(1, 5)]
    found = _take(tmp_path, rows)
    told = [one for one in found.detected if "telephone numbers" in one]
    assert len(told) == 1
    assert "'Note'" in told[0]
    everything = (
        f"{found.cases.to_pylist()}{found.set_aside.to_pylist()}{found.questions.to_pylist()}{found.detected}"
    )
    assert "0151" not in everything
    assert not [one for one in _take(tmp_path, [_row(LEFT_INDIRECT)]).detected if "telephone" in one]
