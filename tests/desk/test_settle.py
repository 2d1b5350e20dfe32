"""From a check's open questions to answers that are kept and applied, and to blank sheets for a second reading."""

from __future__ import annotations

import csv
import stat
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from hingeline.desk.progress import silent
from hingeline.desk.steps import read_all
from hingeline.desk.study import Study
from hingeline.errors import HingelineError

PROTOCOL = """
format = 1
[study]
title = "Two hospitals"
question = "When?"
cutoff = 2022-12-31
[[hospitals]]
name = "Alder Vale"
sources = ["sources/alder.csv"]
legend = "legends/alder.toml"
[[hospitals]]
name = "Bram Hollow"
sources = ["sources/bram.csv"]
legend = "legends/bram.toml"
"""
LEGEND = """
hospital = "{name}"
form = "operations"
[dates]
order = "dmy"
[fields]
patient = {{ column = "Pat" }}
born_on = {{ column = "Born" }}
operated_on = {{ column = "Operated" }}
sex = {{ column = "Sex", codes = {{ M = "male" }} }}
side = {{ column = "Side", codes = {{ L = "left", R = "right" }} }}
{type}
"""
HEADER = ("Pat", "Born", "Operated", "Sex", "Side", "Type")
DOUBTFUL = "Left groin hernia. Whether it was direct or indirect could not be settled. Mesh placed."
PLAIN = "Right groin. Direct hernia, floor repaired with Shouldice. Posterior wall weak throughout."


@pytest.fixture
def study(tmp_path: Path) -> Study:
    root = tmp_path / "study"
    for name in ("sources", "legends"):
        (root / name).mkdir(parents=True)
    (root / "study.toml").write_text(PROTOCOL, encoding="utf-8")
    alder = [("p1", "L", "med"), ("p2", "R", "PX9"), ("p3", "L", "PX9")]
    bram = [("q1", "L", DOUBTFUL), ("q2", "R", PLAIN), ("q3", "L", "PX9")]
    for name, rows, kind in (
        ("alder", alder, 'type = { column = "Type", codes = { med = "direct" } }'),
        ("bram", bram, 'note = { column = "Type" }'),
    ):
        with (root / "sources" / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(HEADER)
            writer.writerows((pat, "01.02.1990", "03.04.2015", "M", side, what) for pat, side, what in rows)
        hospital = {"alder": "Alder Vale", "bram": "Bram Hollow"}[name]
        text = LEGEND.format(name=hospital, type=kind)
        (root / "legends" / f"{name}.toml").write_text(text, encoding="utf-8")
    return Study(root)


def types(study: Study, hospital: str) -> list[str]:
    read = next(one for one in read_all(study.folder, study.protocol, silent) if one.hospital == hospital)
    cases = pq.read_table(read.cases, columns=["source_row", "type"]).to_pylist()
    return [row["type"] for row in sorted(cases, key=lambda row: row["source_row"])]


def answer(path: Path, answers: dict[tuple[str, str], str]) -> None:
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["answer"] = answers.get((row["kind"], row["field"]), "")
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def test_what_a_person_settles_is_applied_from_then_on(study):
    checked = study.check()
    asked = {(row["kind"], row["field"]): row for row in checked.questions.to_pylist()}
    assert asked["code", "type"]["rows"] == 2
    assert asked["code", "type"]["print"] == "PX9"
    assert ("note", "type") in asked
    assert types(study, "Alder Vale") == ["direct", "unknown", "unknown"]
    assert types(study, "Bram Hollow")[:2] == ["unknown", "direct"]
    answer(checked.asked, {("code", "type"): "combined", ("note", "type"): "indirect"})
    assert study.settle(by="M.K.") >= 2
    assert types(study, "Alder Vale") == ["direct", "combined", "combined"]
    assert types(study, "Bram Hollow")[:2] == ["indirect", "direct"]
    again = {
        (row["kind"], row["field"]) for row in study.check().questions.to_pylist() if row["kind"] == "code"
    }
    assert not again, "what is settled is not asked again"


def test_a_decision_holds_no_words_of_a_note(study):
    checked = study.check()
    answer(checked.asked, {("note", "type"): "indirect"})
    study.settle(by="M.K.", why="asked the surgeon")
    text = study.folder.decisions.read_text(encoding="utf-8")
    assert "settled." not in text
    assert "M.K." in text
    assert "asked the surgeon" in text


def test_a_decision_rereads_its_own_hospital_and_no_other(study):
    study.check()
    answer(study.folder.questions, {("code", "type"): "combined"})
    study.settle(by="M.K.")
    fresh = {one.hospital: one.fresh for one in read_all(study.folder, study.protocol, silent)}
    assert fresh == {"Alder Vale": True, "Bram Hollow": False}


def test_a_decision_can_be_taken_back(study):
    study.check()
    answer(study.folder.questions, {("code", "type"): "combined"})
    study.settle(by="M.K.")
    with study.folder.decisions.open("a", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow(
            ("Alder Vale", "code", "type", "PX9", "(undone)", "M.K.", "2022-12-31", "was wrong")
        )
    assert types(study, "Alder Vale") == ["direct", "unknown", "unknown"]


def test_answers_for_a_hospital_that_is_not_there_settle_nothing(study):
    study.check()
    text = study.folder.questions.read_text(encoding="utf-8-sig").replace("Alder Vale", "Nowhere")
    study.folder.questions.write_text(text, encoding="utf-8")
    answer(study.folder.questions, {("code", "type"): "combined"})
    with pytest.raises(HingelineError, match="no hospital 'Nowhere'"):
        study.settle(by="M.K.")
    assert not study.folder.decisions.exists()


def test_two_blank_sheets_are_drawn_once_and_are_private(study):
    sheets = study.draw_sample(4)
    assert [path.name for path in sheets] == ["typing-reader-1.xlsx", "typing-reader-2.xlsx"]
    assert all(stat.S_IMODE(path.stat().st_mode) == 0o600 for path in sheets)
    with pytest.raises(HingelineError, match="there already"):
        study.draw_sample(4)


def test_what_a_killed_command_left_half_made_is_swept(study):
    study.check()
    left = [
        study.folder.by_hand / ".questions.csv.1234.partial",
        study.folder.by_hand / "typing-reader-1.xlsx.partial",
        study.folder.root / ".decisions.csv.1234.partial",
        study.folder.root / "sources" / ".received-abc.partial",
    ]
    for path in left:
        path.write_text("half a patient", encoding="utf-8")
    study.check()
    assert not [path for path in left if path.exists()]
    assert (study.folder.root / "sources" / "alder.csv").exists()


def test_the_list_of_questions_is_private(study):
    checked = study.check()
    assert stat.S_IMODE(checked.asked.stat().st_mode) == 0o600
    assert checked.asked.parent == study.folder.root / "by-hand"
    assert stat.S_IMODE(checked.asked.parent.stat().st_mode) == 0o700


def test_lists_of_an_earlier_version_are_found_answered_and_brought_into_sight(study):
    study.check()
    answer(study.folder.questions, {("code", "type"): "combined"})
    old = study.folder.hidden / "questions.csv"
    study.folder.questions.replace(old)
    sheet = study.folder.hidden / "typing-reader-1.xlsx"
    sheet.write_text("an afternoon's work")
    assert study.settle(by="M.K.") == 1
    assert study.folder.typing_sheet(1).read_text() == "an afternoon's work"
    assert not old.exists()
    assert not sheet.exists()


def test_a_sheet_in_sight_is_never_written_over_by_an_earlier_one(study):
    study.check()
    study.folder.typing_sheet(1).write_text("new")
    (study.folder.hidden / "typing-reader-1.xlsx").write_text("old")
    study.check()
    assert study.folder.typing_sheet(1).read_text() == "new"
    assert (study.folder.hidden / "typing-reader-1.xlsx").read_text() == "old"


def test_what_is_asked_of_a_person_stands_first_in_a_check(study):
    lines = study.check().text(lambda path: path.name).splitlines()
    assert lines[0].startswith("Waiting for a person's answer: ")
    assert "questions.csv" in lines[1]
    assert lines.index("Alder Vale") > 1
