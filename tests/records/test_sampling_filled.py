"""Filled typing sheets come back: every row is a reading or is listed with what to do."""

from __future__ import annotations

from pathlib import Path

import pyarrow as pa
import pytest
import xlsxwriter
from python_calamine import CalamineWorkbook

from hingeline.errors import HingelineError
from hingeline.records.sampling import draw_sample, write_typing_sheet
from hingeline.records.sampling_filled import read_filled

CASES = pa.table(
    {
        "hospital": ["Invented A"] * 40,
        "source_file": ["list.csv"] * 40,
        "source_row": list(range(2, 42)),
        "side": ["left", "right"] * 20,
    }
)


def drawn(path: Path, reader: int, *, seed: int = 5) -> list[list[object]]:
    write_typing_sheet(path, draw_sample([CASES], 12, seed=seed), reader=reader, seed=seed)
    return CalamineWorkbook.from_path(str(path)).get_sheet_by_name("Typing").to_python()


def filled(path: Path, reader: int, types: dict[int, str], *, seed: int = 5) -> None:
    """Draw a sheet, fill in its types by number, and save it as a spreadsheet program would."""
    head, *rows = drawn(path, reader, seed=seed)
    at = head.index("type")
    with xlsxwriter.Workbook(str(path)) as book:
        book.add_worksheet("What to do").write(0, 0, "Typing again")
        sheet = book.add_worksheet("Typing")
        sheet.write_row(0, 0, head)
        for line, row in enumerate(rows, start=1):
            row[at] = types.get(int(row[0]), "indirect")
            sheet.write_row(line, 0, row)


def csv(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_two_drawn_sheets_come_back_as_two_readings_a_groin(tmp_path):
    paths = [tmp_path / "first.xlsx", tmp_path / "second.xlsx"]
    filled(paths[0], 1, {3: "direct", 4: " Direct "})
    filled(paths[1], 2, {3: "direct"})
    found = read_filled(paths)
    assert found.left.num_rows == 0
    rows = found.readings.to_pylist()
    assert len(rows) == 24
    assert {row["reader"] for row in rows} == {"first", "second"}
    by_reader = [
        {row["groin"]: row["type"] for row in rows if row["reader"] == r} for r in ("first", "second")
    ]
    assert by_reader[0].keys() == by_reader[1].keys()
    sample = draw_sample([CASES], 12, seed=5).to_pylist()
    groin = "|".join(str(sample[2][name]) for name in ("hospital", "source_file", "source_row", "side"))
    assert by_reader[0][groin] == by_reader[1][groin] == "direct"
    assert sum(one != by_reader[1][groin] for groin, one in by_reader[0].items()) == 1


def test_sheets_of_two_drawings_are_listed_and_not_compared(tmp_path):
    paths = [tmp_path / "first.xlsx", tmp_path / "second.xlsx"]
    filled(paths[0], 1, {}, seed=5)
    filled(paths[1], 2, {}, seed=6)
    found = read_filled(paths)
    assert found.readings.num_rows + found.left.num_rows == 24
    assert found.left.num_rows > 0
    assert all("another sheet" in why for why in found.left.column("why").to_pylist())


def test_each_row_that_cannot_be_used_is_listed_with_its_place(tmp_path):
    path = csv(
        tmp_path / "double.csv",
        "case,reader,type\n1,Ann,direct\n1,Ben,indirect\n2,Ann,\n2,Ben,medial-ish\n,Ann,direct\n"
        "3,,direct\n4,Ann,direct\n4,Ann,indirect\n5,Ann,unknown\n",
    )
    found = read_filled([path])
    assert [row["groin"] for row in found.readings.to_pylist()] == ["1", "1", "5"]
    assert {row["row"] for row in found.left.to_pylist()} == {4, 5, 6, 7, 8, 9}
    assert all(row["why"] and row["todo"] for row in found.left.to_pylist())


def test_a_row_whose_place_was_altered_is_listed(tmp_path):
    path = csv(
        tmp_path / "a.csv",
        "hospital,file,row,side,type\nInvented A,list.csv,2,left,direct\nInvented A,list.csv,two,left,direct\n"
        "Invented A,list.csv,3,middle,direct\n",
    )
    found = read_filled([path])
    assert found.readings.num_rows == 1
    assert found.left.column("row").to_pylist() == [3, 4]


def test_a_wide_file_has_a_column_a_reader(tmp_path):
    path = csv(
        tmp_path / "wide.csv",
        "case,type Ann,type of Ben,type_Cleo\n1,direct,direct,indirect\n2,indirect,femoral,combined\n",
    )
    rows = read_filled([path]).readings.to_pylist()
    assert [(row["groin"], row["reader"], row["type"]) for row in rows] == [
        ("1", "Ann", "direct"),
        ("1", "Ben", "direct"),
        ("1", "Cleo", "indirect"),
        ("2", "Ann", "indirect"),
        ("2", "Ben", "femoral"),
        ("2", "Cleo", "combined"),
    ]


@pytest.mark.parametrize("head", ["case,reader", "patient name,type"])
def test_a_file_that_is_no_sheet_is_refused(tmp_path, head):
    with pytest.raises(HingelineError) as refused:
        read_filled([csv(tmp_path / "x.csv", f"{head}\n1,2\n3,4\n")])
    assert refused.value.todo


def test_two_sheets_of_one_reader_are_refused(tmp_path):
    (tmp_path / "other").mkdir()
    text = "case,type\n1,direct\n2,indirect\n"
    with pytest.raises(HingelineError):
        read_filled([csv(tmp_path / "ann.csv", text), csv(tmp_path / "other" / "ann.csv", text)])


def test_the_societys_words_lateral_and_medial_are_understood(tmp_path):
    path = tmp_path / "ann.xlsx"
    filled(path, 1, {1: "Lateral", 2: "medial", 3: "sideways"})
    found = read_filled([path])
    types = found.readings.column("type").to_pylist()
    assert (types.count("direct"), types.count("indirect")) == (1, 10)
    assert found.left.column("value").to_pylist() == ["sideways"]
