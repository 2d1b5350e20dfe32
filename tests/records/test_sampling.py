"""A sample for a second reading: drawn alike, blind to what is recorded, in an order of its own for each reader."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import pyarrow as pa
import pytest
import xlsxwriter
from python_calamine import CalamineWorkbook

from hingeline import vocabulary, wording
from hingeline.errors import HingelineError
from hingeline.records.sampling import SAMPLE_COLUMNS, draw_sample, notes_of, write_typing_sheet

from .making import legend, write_csv


def cases(hospital: str, rows: int) -> pa.Table:
    return pa.table(
        {
            "hospital": [hospital] * rows,
            "source_file": ["list.csv"] * rows,
            "source_row": list(range(2, rows + 2)),
            "side": ["left", "right"] * (rows // 2),
            "type": ["direct"] * rows,
        }
    )


def test_no_groin_is_drawn_twice_and_the_seed_tells_the_sample():
    drawn = draw_sample([cases("A", 40), cases("B", 60)], 30, seed=5)
    rows = [tuple(row.values()) for row in drawn.to_pylist()]
    assert len(rows) == len(set(rows)) == 30
    assert drawn.equals(draw_sample([cases("A", 40), cases("B", 60)], 30, seed=5))
    assert not drawn.equals(draw_sample([cases("A", 40), cases("B", 60)], 30, seed=6))
    assert drawn.column_names == list(SAMPLE_COLUMNS)


def test_all_are_drawn_where_there_are_fewer():
    assert draw_sample([cases("A", 8)], 100, seed=1).num_rows == 8


@pytest.mark.parametrize(("tables", "size"), [([], 10), ([cases("A", 4)], 0)])
def test_what_cannot_be_drawn_is_told(tables, size):
    with pytest.raises(HingelineError):
        draw_sample(tables, size, seed=1)


def read(path: Path) -> list[list[object]]:
    return CalamineWorkbook.from_path(str(path)).get_sheet_by_name("Typing").to_python()


def test_readers_get_the_same_groins_in_another_order_and_no_recorded_type(tmp_path):
    sample = draw_sample([cases("A", 40)], 20, seed=5)
    sheets = []
    for reader in (1, 2):
        path = tmp_path / f"{reader}.xlsx"
        write_typing_sheet(path, sample, reader=reader, seed=5)
        sheets.append(read(path))
    header, *first = sheets[0]
    assert header == ["number", "hospital", "file", "row", "side", "type", "known by", "remark"]
    assert sorted(first) == sorted(sheets[1][1:])
    assert first != sheets[1][1:]
    assert all(row[5:] == ["", "", ""] for row in first), "blank, whatever the record says"
    assert sorted(row[0] for row in first) == list(range(1, 21))


def test_the_same_sample_gives_the_same_bytes(tmp_path):
    sample = draw_sample([cases("A", 6)], 6, seed=1)
    for name in ("one.xlsx", "two.xlsx"):
        write_typing_sheet(tmp_path / name, sample, reader=1, seed=1)
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


def test_a_sheet_offers_the_vocabularys_words_and_the_caution(tmp_path):
    import zipfile

    path = tmp_path / "sheet.xlsx"
    write_typing_sheet(path, draw_sample([cases("A", 4)], 4, seed=1), reader=1, seed=1)
    with zipfile.ZipFile(path) as book:
        text = "".join(book.read(name).decode() for name in book.namelist() if name.endswith(".xml"))
    assert ",".join(vocabulary.TYPES) in text
    assert wording.CAUTION.split(";")[0] in text


def test_notes_come_from_their_rows_and_stay_text(tmp_path):
    path = write_csv(
        tmp_path / "list.csv",
        [
            ("Pat", "Born", "Operated", "Sex", "Side", "Type", "Report"),
            ("1", "01.02.1990", "03.04.2010", "M", "L", "lat", "=HYPERLINK(1) indirect sac"),
            ("2", "01.02.1990", "13.04.2010", "M", "L", "lat", ""),
            ("3", "01.02.1990", "14.04.2010", "M", "R", "med", "floor weak;\nrepaired"),
        ],
    )
    told = notes_of(
        [path],
        legend('note = { column = "Report" }\n'),
        {("Alder Vale", "list.csv", row) for row in (2, 3, 4)},
    )
    assert told == {
        ("Alder Vale", "list.csv", 2): "=HYPERLINK(1) indirect sac",
        ("Alder Vale", "list.csv", 4): "floor weak;\nrepaired",
    }
    table = cases("Alder Vale", 4).slice(0, 3)
    sheet = tmp_path / "sheet.xlsx"
    write_typing_sheet(sheet, draw_sample([table], 3, seed=1), reader=1, seed=1, notes=told)
    notes = {row[3]: row[5] for row in read(sheet)[1:]}
    assert notes[2.0] == "=HYPERLINK(1) indirect sac", "text, never a formula"


def test_no_sheet_that_we_write_names_the_maker_of_a_program(tmp_path):
    typing, plain = tmp_path / "typing.xlsx", tmp_path / "plain.xlsx"
    write_typing_sheet(typing, draw_sample([cases("A", 4)], 4, seed=1), reader=1, seed=1)
    with xlsxwriter.Workbook(str(plain)) as book:
        book.add_worksheet("Typing")
    named = re.compile(rb"<Application>[^<]+<|appName=|<AppVersion>|name=\"Office")

    def told(path):
        with zipfile.ZipFile(path) as held:
            return [part for part in held.namelist() if named.search(held.read(part))]

    assert told(plain)  # so that the pattern finds what the library writes
    assert told(typing) == []
    assert not list(tmp_path.glob("*.partial"))
