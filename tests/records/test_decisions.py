"""What a person settles: kept for good, undone by a further line, told in three parts when it cannot be."""

from __future__ import annotations

import csv
import hashlib
import hmac
from datetime import date
from pathlib import Path

import pyarrow as pa
import pytest

from hingeline.errors import HingelineError
from hingeline.records.decisions import (
    EMPTY,
    NONE,
    UNDONE,
    Decision,
    Decisions,
    allowed_words,
    append_decisions,
    note_print,
    read_decisions,
)
from hingeline.records.legend import legend_from_text
from hingeline.records.questions import FILE_COLUMNS, QUESTION_SCHEMA, read_answers, write_questions

from .making import PLAIN, rules_of, sound, take, write_csv

DAY = date(2024, 5, 31)


def code(means: str, what: str = "PX9", name: str = "type", hospital: str = "Alder Vale") -> Decision:
    return Decision(hospital, "code", name, what, means, "M.K.", DAY)


def test_the_last_line_on_a_question_stands() -> None:
    decisions = Decisions((code("direct"), code("indirect", what="px9 ")))
    assert decisions.codes("alder vale") == {("type", "px9"): "indirect"}


def test_an_undone_question_is_open_again() -> None:
    assert Decisions((code("direct"), code(UNDONE))).codes("Alder Vale") == {}


def test_a_decision_is_for_its_own_hospital() -> None:
    decisions = Decisions((code("direct"),))
    assert decisions.codes("Bram Hollow") == {}
    assert decisions.fingerprint("Bram Hollow") == Decisions().fingerprint("Bram Hollow")
    assert decisions.fingerprint("Alder Vale") != Decisions().fingerprint("Alder Vale")


def test_meanings_are_typed_as_a_legend_types_them() -> None:
    decisions = Decisions(
        (
            code("yes", "J", "infection"),
            code("2", "II", "ehs_size"),
            code(EMPTY, "??"),
            code("both", "bds", "side"),
        )
    )
    assert decisions.codes("Alder Vale") == {
        ("infection", "j"): True,
        ("ehs_size", "ii"): 2,
        ("type", "??"): "",
        ("side", "bds"): "both",
    }


def test_written_decisions_are_read_again_and_added_to(tmp_path: Path) -> None:
    path = tmp_path / "decisions.csv"
    assert append_decisions(path, [code("direct", what="=1+1")]) == 1
    append_decisions(
        path, [Decision("Alder Vale", "note", "left.type", "ab" * 8, "femoral", "M.K.", DAY, "seen")]
    )
    append_decisions(path, [Decision("Alder Vale", "pair", "", "cd" * 8, "list.csv:14", "M.K.", DAY)])
    decisions = read_decisions(path)
    assert len(decisions.lines) == 3
    assert decisions.codes("Alder Vale") == {("type", "=1+1"): "direct"}
    assert decisions.note("Alder Vale", "ab" * 8) == {"left.type": "femoral"}
    assert decisions.pair("Alder Vale", "cd" * 8) == "list.csv:14"
    # what a spreadsheet would run as a formula stands behind an apostrophe in the file
    with path.open(encoding="utf-8", newline="") as file:
        assert next(iter(csv.DictReader(file)))["what"] == "'=1+1"


def test_a_file_that_is_not_there_settles_nothing(tmp_path: Path) -> None:
    assert read_decisions(tmp_path / "decisions.csv") == Decisions()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("Alder Vale,code,type,PX9,directt,M.K.,2024-05-31,", "cannot be 'directt'"),
        ("Alder Vale,guess,type,PX9,direct,M.K.,2024-05-31,", "no kind of question"),
        ("Alder Vale,code,born_on,PX9,direct,M.K.,2024-05-31,", "no field that can be settled"),
        ("Alder Vale,code,type,PX9,direct,,2024-05-31,", "who settled it"),
        ("Alder Vale,code,type,PX9,direct,M.K.,31/05/2024,", "no date"),
        ("Alder Vale,code,type,,direct,M.K.,2024-05-31,", "what it settles"),
        ("Alder Vale,pair,,abcd,perhaps,M.K.,2024-05-31,", "no operation"),
        ("Alder Vale,note,type," + "x" * 300 + ",direct,M.K.,2024-05-31,", "longer than"),
    ],
)
def test_a_line_that_cannot_be_is_told_with_its_row(tmp_path: Path, line: str, said: str) -> None:
    path = tmp_path / "decisions.csv"
    path.write_text("hospital,kind,field,what,means,by,on,why\n" + line + "\n", encoding="utf-8")
    with pytest.raises(HingelineError) as told:
        read_decisions(path)
    assert said in told.value.what
    assert "row 2" in told.value.where


def test_a_file_without_a_column_is_told(tmp_path: Path) -> None:
    path = tmp_path / "decisions.csv"
    path.write_text("hospital,kind\nx,code\n", encoding="utf-8")
    with pytest.raises(HingelineError, match="no column 'field'"):
        read_decisions(path)


def asked() -> pa.Table:
    rows = [
        ("Alder Vale", "code", "type", "PX9", "PX9", 3, None, "no known code", "list.xlsx", "Ops", 14),
        (
            "Alder Vale",
            "note",
            "type",
            "ab" * 8,
            "… cannot exclude …",
            1,
            None,
            "left open",
            "list.csv",
            "",
            9,
        ),
        (
            "Alder Vale",
            "pair",
            "",
            "cd" * 8,
            "visit of 3 May",
            7,
            "list.csv:14",
            "born one day apart",
            "",
            "",
            None,
        ),
    ]
    return pa.Table.from_pylist(
        [dict(zip(QUESTION_SCHEMA.names, row, strict=True)) for row in rows], QUESTION_SCHEMA
    )


def test_an_answered_list_becomes_decisions(tmp_path: Path) -> None:
    path = tmp_path / "questions.csv"
    assert write_questions([asked()], path) == 3
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["kind"] for row in rows] == ["pair", "code", "note"], "most rows first"
    assert "direct" in rows[1]["words"]
    rows[0]["answer"], rows[1]["answer"] = NONE, "Direct"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), delimiter=";")  # as a spreadsheet may save it
        writer.writeheader()
        writer.writerows(rows)
    settled = Decisions(read_answers(path, by="M.K.", on=DAY))
    assert settled.codes("Alder Vale") == {("type", "px9"): "direct"}
    assert settled.pair("Alder Vale", "cd" * 8) == NONE
    assert settled.note("Alder Vale", "ab" * 8) == {}, "an empty answer settles nothing"


def test_a_wrong_answer_settles_nothing_and_is_told_with_its_row(tmp_path: Path) -> None:
    path = tmp_path / "questions.csv"
    write_questions([asked()], path)
    text = path.read_text(encoding="utf-8-sig").splitlines()
    path.write_text("\n".join([text[0], text[1] + NONE, text[2] + "dirct"]), encoding="utf-8")
    with pytest.raises(HingelineError, match="cannot be 'dirct'") as told:
        read_answers(path, by="M.K.", on=DAY)
    assert "row 3" in told.value.where


def test_all_wrong_answers_are_named_at_once(tmp_path: Path) -> None:
    path = tmp_path / "questions.csv"
    write_questions([asked()], path)
    text = path.read_text(encoding="utf-8-sig").splitlines()
    path.write_text("\n".join([text[0], text[1] + "perhaps", text[2] + "dirct"]), encoding="utf-8")
    with pytest.raises(HingelineError, match="2 answers cannot be") as told:
        read_answers(path, by="M.K.", on=DAY)
    assert "row 2 and row 3" in told.value.where


def test_nobody_answers_unnamed(tmp_path: Path) -> None:
    with pytest.raises(HingelineError, match="not told who"):
        read_answers(tmp_path / "questions.csv", by=" ", on=DAY)


def test_a_notes_fingerprint_is_keyed_and_blind_to_blanks() -> None:
    one = note_print(b"k" * 32, "Indirect  sac\n to ring")
    assert one == note_print(b"k" * 32, " Indirect sac to ring ")
    assert one != note_print(b"j" * 32, "Indirect sac to ring")
    # RFC 2104 by the standard library
    assert one == hmac.new(b"k" * 32, b"note\x1fIndirect sac to ring", hashlib.sha256).hexdigest()[:16]


def test_a_word_of_the_vocabulary_cannot_be_turned_round(tmp_path: Path) -> None:
    path = tmp_path / "decisions.csv"
    append_decisions(path, [code("direct", what="Indirect")])
    with pytest.raises(HingelineError, match="is a word of the vocabulary"):
        read_decisions(path)


def test_an_answer_that_a_later_reading_would_refuse_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "questions.csv"
    write_questions([asked()], path)
    text = path.read_text(encoding="utf-8-sig").splitlines()
    path.write_text("\n".join([*text[:2], text[2] + "direct"]), encoding="utf-8")
    with pytest.raises(HingelineError, match="longer than"):
        read_answers(path, by="M.K.", on=DAY, why="x" * 201)
    assert read_answers(path, by="M.K.", on=DAY, why="x" * 200)


def test_a_question_names_the_file_sheet_and_row_and_how_many_more(tmp_path: Path) -> None:
    path = tmp_path / "questions.csv"
    write_questions([asked()], path)
    with path.open(encoding="utf-8-sig", newline="") as file:
        where = {row["kind"]: row["where"] for row in csv.DictReader(file)}
    assert where == {
        "code": "list.xlsx, sheet Ops, row 14 (and 2 more rows)",
        "note": "list.csv, row 9",
        "pair": "",
    }


def test_a_list_of_before_questions_named_their_rows_is_still_read(tmp_path: Path) -> None:
    path = tmp_path / "questions.csv"
    old = [name for name in FILE_COLUMNS if name != "where"]
    cells = {"hospital": "Alder Vale", "kind": "note", "field": "type", "what": "ab" * 8, "answer": "direct"}
    path.write_text(
        "\n".join([",".join(old), ",".join(cells.get(name, "") for name in old)]), encoding="utf-8"
    )
    (line,) = read_answers(path, by="M.K.", on=DAY)
    assert Decisions((line,)).note("Alder Vale", "ab" * 8) == {"type": "direct"}


def test_the_words_of_a_pair_say_how_one_side_of_a_row_is_named() -> None:
    assert allowed_words("pair", "") == (NONE, "file:row", "file left:row")


BASE = (
    "\n".join(line for line in PLAIN.splitlines() if not line.startswith(("type =", "side =")))
    + '\nnote = { column = "Note" }\n'
)
HEADER = ["Pat", "Born", "Operated", "Sex", "Side", "Type", "Note"]
TWO = "Bilateral inguinal hernia. Left indirect hernia. Right: cannot exclude a direct component."


def intake(tmp_path: Path, notes: list[str], *lines: Decision):
    rows = [[*sound(patient=f"p{i}", born=f"0{i}.04.2010"), note] for i, note in enumerate(notes, 1)]
    path = write_csv(tmp_path / "notes.csv", [HEADER, *rows])
    return take(path, legend_from_text(BASE), decisions=Decisions(lines))


def test_a_side_that_only_a_note_made_is_taken_away_by_an_answer_and_accounted_for(tmp_path: Path) -> None:
    found = intake(tmp_path, [TWO, "Left direct hernia."])
    assert found.cases["side"].to_pylist() == ["left", "right", "left"]
    (asked,) = found.questions.to_pylist()
    assert (asked["field"], asked["file"], asked["row"], asked["rows"]) == ("right.type", "notes.csv", 2, 1)
    path = tmp_path / "questions.csv"
    write_questions([found.questions], path)
    head, line = path.read_text(encoding="utf-8-sig").splitlines()
    assert "absent" in line
    path.write_text(f"{head}\n{line}absent\n", encoding="utf-8")
    store = tmp_path / "decisions.csv"
    append_decisions(store, read_answers(path, by="M.K.", on=DAY))
    again = intake(tmp_path, [TWO, "Left direct hernia."], *read_decisions(store).lines)
    assert again.cases["side"].to_pylist() == ["left", "left"]
    assert again.questions.num_rows == 0
    assert rules_of(again) == [(2, "note", "no operation, as settled")]
    steps = {(row["step"], row["reason"]): row["groins"] for row in again.flow.to_pylist()}
    assert steps["groins read", ""] == 3
    assert steps["set aside", "no operation, as settled"] == 1
    assert steps["cases", ""] == 2


def test_a_side_taken_away_comes_back_when_the_answer_is_undone(tmp_path: Path) -> None:
    (asked,) = intake(tmp_path, [TWO]).questions.to_pylist()
    told = [
        Decision("Alder Vale", "note", "right.type", asked["print"], means, "M.K.", DAY)
        for means in ("absent", UNDONE)
    ]
    assert intake(tmp_path, [TWO], *told).cases["side"].to_pylist() == ["left", "right"]


def test_a_note_of_no_operation_is_settled_as_such(tmp_path: Path) -> None:
    letter = "Seen in clinic with an inguinal hernia."
    (asked,) = intake(tmp_path, [letter]).questions.to_pylist()
    assert asked["field"] == "side"
    line = Decision("Alder Vale", "note", "side", asked["print"], "absent", "M.K.", DAY)
    again = intake(tmp_path, [letter], line)
    assert again.questions.num_rows == again.n_cases == 0
    assert (2, "note", "no operation, as settled") in rules_of(again)
