"""A first look: a legend proposed, a hospital added to a study, nothing written over, nothing of the study lost."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from hingeline.desk.looking import look
from hingeline.desk.new import make_study
from hingeline.desk.study import Study
from hingeline.errors import HingelineError

ROWS = [
    ("Patient no", "Surname", "DOB", "Sex", "Op date", "Side", "Hernia type", "Ward"),
    *[
        (
            f"P{number:04d}",
            ("Fenwick", "Marlow", "Tarn", "Osk")[number % 4],
            f"{1 + number % 28:02d}/{1 + number % 12:02d}/{1950 + number % 60}",
            "M" if number % 8 else "F",
            f"{1 + (number * 7) % 28:02d}/{1 + (number * 5) % 12:02d}/{2012 + number % 10}",
            "L" if number % 3 else "R",
            "direct" if number % 5 == 0 else "indirect",
            "4B",
        )
        for number in range(1, 120)
    ],
]


@pytest.fixture
def export(tmp_path: Path) -> Path:
    path = tmp_path / "received" / "alder list.csv"
    path.parent.mkdir()
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(ROWS)
    return path


def confirmed(path: Path) -> None:
    """Do what a person does who agrees with all that was proposed."""
    kept = [
        line
        for line in path.read_text(encoding="utf-8").splitlines()
        if not line.strip().startswith("confirm =")
    ]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")


def test_a_received_file_goes_from_look_to_checked_cases(tmp_path, export):
    root = tmp_path / "study"
    make_study(root)
    seen = look([export], hospital="Alder Vale", study=root)
    assert seen.written["proposed legend"] == root / "legends" / "alder-vale.toml"
    assert (root / "sources" / export.name).read_bytes() == export.read_bytes()
    assert not (root / "legends" / "first.toml").exists(), "the untouched example is gone with its entry"
    study = Study(root)
    assert [one.name for one in study.protocol.hospitals] == ["Alder Vale"]
    assert "Not used: “Ward”." in seen.text()
    confirmed(seen.written["proposed legend"])
    checked = study.check()
    groins = {line["step"]: line["groins"] for line in checked.flow.to_pylist()}
    assert groins["cases"] == 119
    assert "Fenwick" not in seen.text() + checked.text()


def test_a_second_hospital_leaves_the_first_and_every_comment(tmp_path, export):
    root = tmp_path / "study"
    make_study(root)
    look([export], hospital="Alder Vale", study=root)
    before = (root / "study.toml").read_text(encoding="utf-8")
    other = export.with_name("bram.csv")
    other.write_bytes(export.read_bytes())
    look([other], hospital="Bram Hollow", study=root)
    after = (root / "study.toml").read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))
    assert [one.name for one in Study(root).protocol.hospitals] == ["Alder Vale", "Bram Hollow"]


def test_nothing_that_is_there_is_written_over(tmp_path, export, monkeypatch):
    monkeypatch.chdir(tmp_path)
    seen = look([export], hospital="Alder Vale")
    assert seen.written["proposed legend"] == Path("alder-vale.toml")
    with pytest.raises(HingelineError, match="there already"):
        look([export], hospital="Alder Vale")
    root = tmp_path / "study"
    make_study(root)
    (root / "sources" / export.name).write_text("something else", encoding="utf-8")
    before = (root / "study.toml").read_bytes()
    with pytest.raises(HingelineError, match="among the study's sources already"):
        look([export], hospital="Alder Vale", study=root)
    assert (root / "study.toml").read_bytes() == before


def test_the_same_hospital_twice_is_refused(tmp_path, export):
    root = tmp_path / "study"
    make_study(root)
    look([export], hospital="Alder Vale", study=root)
    (root / "legends" / "alder-vale.toml").unlink()
    with pytest.raises(HingelineError, match="has a hospital"):
        look([export], hospital="Alder Vale", study=root)


@pytest.mark.parametrize("name", ["  ", "a\nb", "x" * 81])
def test_a_name_that_cannot_be_is_refused(export, name):
    with pytest.raises(HingelineError, match="hospital's name"):
        look([export], hospital=name)


def test_the_next_step_names_what_to_do(tmp_path, export):
    root = tmp_path / "study"
    make_study(root)
    seen = look([export], hospital="Alder Vale", study=root)
    assert "hingeline check" in seen.next_step()
    assert ("confirm" in seen.next_step()) == bool(seen.proposal.to_confirm)


def test_no_link_of_a_received_study_leads_a_copy_out_of_it(tmp_path, export):
    root, outside = tmp_path / "study", tmp_path / "outside"
    make_study(root)
    outside.mkdir()
    victim = outside / "precious.txt"
    victim.write_text("mine", encoding="utf-8")
    (root / "sources" / f".{export.name}.partial").symlink_to(victim)
    look([export], hospital="Alder Vale", study=root)
    assert victim.read_text(encoding="utf-8") == "mine"
    other = tmp_path / "other"
    make_study(other)
    (other / "sources").rmdir()
    (other / "sources").symlink_to(outside)
    with pytest.raises(HingelineError, match="outside the study"):
        look([export], hospital="Alder Vale", study=other)
    assert [path.name for path in outside.iterdir()] == ["precious.txt"]


def test_a_private_folder_that_is_a_link_is_refused(tmp_path, export):
    root, outside = tmp_path / "study", tmp_path / "outside"
    make_study(root)
    outside.mkdir()
    (root / ".hingeline").symlink_to(outside)
    with pytest.raises(HingelineError, match="link to another place"):
        Study(root).check()
    assert not list(outside.iterdir())


def test_a_cell_that_says_more_than_a_code_never_stands_in_a_legend(tmp_path, export, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text = export.read_text(encoding="utf-8")
    more = "indirect hernia - pt Tamsin Thistlewood DOB 12/03/1999"
    export.write_text(text.replace(",indirect,", f",{more},", 3), encoding="utf-8")
    seen = look([export], hospital="Alder Vale")
    legend = seen.written["proposed legend"].read_text(encoding="utf-8")
    assert "Thistlewood" not in legend + seen.text() + str(seen.to_json())


def test_what_no_export_tells_of_an_added_hospital_is_said_and_asked(tmp_path, export, monkeypatch):
    root = tmp_path / "study"
    make_study(root)
    seen = look([export], hospital="Alder Vale", study=root)
    for told in (seen.next_step(), seen.to_json()["assumed"]):
        assert "takes_ages = [0, 111]" in told
        assert '"all ages"' in told
        assert "please set" in told
    protocol = (root / "study.toml").read_text(encoding="utf-8")
    assert [
        line.split("#")[0].split("=")[0].strip() for line in protocol.splitlines() if "assumed" in line
    ] == [
        "takes_ages",
        "setting",
    ]
    monkeypatch.chdir(tmp_path)
    alone = look([export], hospital="Bram Hollow")
    assert "assumed" not in alone.next_step()
