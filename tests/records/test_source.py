"""Opening exports: every form that must be read, and every file that must be refused."""

from __future__ import annotations

import os
import struct
import zipfile
from datetime import date, datetime

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from hingeline.errors import HingelineError
from hingeline.records.legend import FileOptions
from hingeline.records.source import Limits, open_source

from .making import write_csv, write_xlsx

ROWS = [["Schlüssel", "Größe", "Note"], ["a1", "3,5", "fine"], ["a2", "10,25", "x; y"]]
COLUMNS = ("Schlüssel", "Größe")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le"])
@pytest.mark.parametrize("delimiter", [";", "\t", "|", ",", "^"])
def test_text_is_read_in_any_encoding_and_with_any_delimiter(tmp_path, encoding, delimiter):
    source = open_source(write_csv(tmp_path / "export.txt", ROWS, delimiter, encoding), columns=COLUMNS)
    assert source.table.to_pydict() == {
        "Schlüssel": ["a1", "a2"],
        "Größe": ["3,5", "10,25"],
        "Note": ["fine", "x; y"],
    }
    assert source.rows.to_pylist() == [2, 3]
    assert source.decimal == ","


def test_what_was_detected_is_said_and_what_the_legend_gave_is_not(tmp_path):
    path = write_csv(tmp_path / "export.csv", ROWS, ";", "cp1252")
    said = " / ".join(open_source(path, columns=COLUMNS).detected)
    assert "cp1252" in said
    assert "semicolons" in said
    assert "row 1" in said
    assert "decimal comma" in said
    given = FileOptions(encoding="cp1252", delimiter=";", header_row=1, decimal=",")
    assert [s for s in open_source(path, given, columns=COLUMNS).detected if "cp1252" not in s] == []


def test_the_header_is_found_below_title_rows_and_rows_are_counted_as_a_spreadsheet_does(tmp_path):
    path = tmp_path / "titled.csv"
    path.write_text(
        'Operations 2015;;\n\n"Key\n(own)";Side;Note\n1;L;"two\nlines"\n;;\n2;R;\n', encoding="utf-8"
    )
    source = open_source(path, columns=("Key (own)", "Side"))
    assert source.header == ("Key (own)", "Side", "Note")
    assert source.rows.to_pylist() == [4, 6]
    assert source.table.column("Note").to_pylist() == ["two\nlines", None]
    assert source.blank == 1


def test_a_row_with_too_many_cells_and_a_row_cut_off_are_kept_apart(tmp_path):
    path = tmp_path / "ragged.csv"
    path.write_text("Key;Side;Note\n1;L;x;y\n2;R\n3;L;z;;\n4;R", encoding="utf-8")
    source = open_source(path, columns=("Key", "Side"))
    assert source.rows.to_pylist() == [3, 4]
    assert [(one.row, one.why) for one in source.broken] == [
        (2, "more cells than column names"),
        (5, "the file ends within this row"),
    ]


def test_column_names_that_repeat_or_are_missing_become_unique(tmp_path):
    path = tmp_path / "names.csv"
    path.write_text("Key;Side;Side;\n1;L;R;z\n", encoding="utf-8")
    source = open_source(path)
    assert source.table.column_names == ["Key", "Side", "Side (2)"]
    assert [one.why for one in source.broken] == ["more cells than column names"]


def test_nul_characters_are_left_out_and_said(tmp_path):
    path = tmp_path / "nul.csv"
    path.write_bytes(b"Key;Side\n1\x00;L\n" + b"2;R\n" * 200)
    source = open_source(path, columns=("Key", "Side"))
    assert source.table.column("Key")[0].as_py() == "1"
    assert any("NUL" in sentence for sentence in source.detected)


def test_excel_text_formulas_give_their_text(tmp_path):
    path = tmp_path / "zeros.csv"
    path.write_text('Key;Side\n="00123";L\n', encoding="utf-8")
    assert open_source(path).table.column("Key").to_pylist() == ["00123"]


def test_a_spreadsheet_gives_true_dates_beside_text_dates(tmp_path):
    rows = [
        ["Hernia list", None, None],
        [None, None, None],
        ["Key", "Date", "Size"],
        [12.0, date(2015, 4, 3), 3.5],
        ["0012", "03.04.2015", True],
        [None, None, None],
        [7, datetime(2015, 4, 3, 10, 30), 1e15],
    ]
    source = open_source(write_xlsx(tmp_path / "a.xlsx", {"List": rows}), columns=("Key", "Date"))
    assert source.sheet == "List"
    assert source.rows.to_pylist() == [4, 5, 7]
    assert source.table.to_pydict() == {
        "Key": ["12", "0012", "7"],
        "Date": ["2015-04-03", "03.04.2015", "2015-04-03 10:30:00"],
        "Size": ["3.5", "true", "1000000000000000"],
    }


def test_a_remark_beside_a_sheets_table_does_not_cost_its_row(tmp_path):
    rows = [["Key", "Side"], [1, "L"], [2, "R", None, "ask again"]]
    source = open_source(write_xlsx(tmp_path / "a.xlsx", {"S": rows}), columns=("Key", "Side"))
    assert source.table.column_names == ["Key", "Side", "column C", "column D"]
    assert source.table.column("column D").to_pylist() == [None, "ask again"]
    assert source.broken == ()


def test_the_sheet_with_the_mapped_columns_is_taken_and_said(tmp_path):
    sheets = {"Cover": [["Hernia list"]], "Data": [["Key", "Side"], [1, "L"]], "Codes": [["Key", "Word"]]}
    source = open_source(write_xlsx(tmp_path / "a.xlsx", sheets), columns=("Key", "Side"))
    assert source.sheet == "Data"
    assert any("sheet Data" in sentence for sentence in source.detected)
    named = open_source(tmp_path / "a.xlsx", FileOptions(sheet="codes"), columns=("Key",))
    assert named.sheet == "Codes"


def test_an_absent_sheet_and_two_that_fit_alike_are_refused(tmp_path):
    path = write_xlsx(tmp_path / "a.xlsx", {"A": [["Key"], [1]], "B": [["Key"], [2]]})
    with pytest.raises(HingelineError, match="no sheet 'C'") as refused:
        open_source(path, FileOptions(sheet="C"), columns=("Key",))
    assert "A, B" in refused.value.todo
    with pytest.raises(HingelineError, match="Several sheets"):
        open_source(path, columns=("Key",))


def test_parquet_is_read_by_its_types(tmp_path):
    table = pa.table(
        {
            "n": [1.0, 2.5, None],
            "i": [7, 8, None],
            "d": [date(2015, 4, 3), None, None],
            "t": [datetime(2015, 4, 3, 23, 59), None, None],
            "s": pa.array([" x ", "", None]).dictionary_encode(),
            "b": [True, False, None],
        }
    )
    pq.write_table(table, tmp_path / "wrongly.csv")
    source = open_source(tmp_path / "wrongly.csv")
    assert source.table.to_pydict() == {
        "n": ["1", "2.5"],
        "i": ["7", "8"],
        "d": ["2015-04-03", None],
        "t": ["2015-04-03 23:59", None],
        "s": ["x", None],
        "b": ["true", "false"],
    }
    assert source.rows.to_pylist() == [2, 3]
    assert source.blank == 1


def _refused(path, **options) -> HingelineError:
    with pytest.raises(HingelineError) as refused:
        open_source(path, **options)
    error = refused.value
    assert path.name in error.where
    assert error.what
    assert error.todo
    return error


WRONG_BYTES = [
    ("empty.csv", b"", "empty"),
    ("blank.csv", b"\n\n  \n", "no cells"),
    ("a.pdf.csv", b"%PDF-1.7\n...", "PDF"),
    ("photo.csv", b"\x89PNG\r\n\x1a\n" + b"\0" * 50, "picture"),
    ("page.xls", b"<html><table><tr><td>1</td></tr></table></html>", "web page"),
    ("feed.csv", b"<?xml version='1.0'?><a/>", "XML"),
    ("old.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "before XLSX"),
    (
        "locked.xlsx",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le"),
        "encrypted",
    ),
    ("packed.csv", b"\x1f\x8b\x08\0\0\0\0\0", "gzip"),
    ("cut.parquet", b"PAR1" + b"\x15" * 60, "cut off"),
    ("odd.parquet", b"PAR1" + b"\x15" * 60 + b"PAR1", "cannot be read"),
    ("noise.csv", bytes(range(256)) * 8, "neither"),
    ("open.csv", b'Key;Side\n1;"L\n2;R\n', "never closed"),
    ("open2.csv", b'Key;Side\n1;"' + b"x\n" * 90_000, "never closed"),
    ("zip.xlsx", b"PK\x05\x06" + b"\0" * 18, "ZIP"),
    ("torn.xlsx", b"PK\x03\x04" + b"\0" * 100, "damaged"),
]


@pytest.mark.parametrize(("name", "content", "what"), WRONG_BYTES)
def test_a_file_that_is_no_table_is_refused(tmp_path, name, content, what):
    path = tmp_path / name
    path.write_bytes(content)
    assert what in _refused(path).what
    assert path.read_bytes() == content


def test_missing_files_folders_and_impossible_names_are_refused(tmp_path):
    assert "no such file" in _refused(tmp_path / "absent.csv").what
    assert "folder" in _refused(tmp_path).what
    with pytest.raises(HingelineError):
        open_source("a\0b.csv")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_without_leave_to_read_is_refused(tmp_path):
    path = write_csv(tmp_path / "secret.csv", ROWS)
    path.chmod(0)
    assert "may not be read" in _refused(path).what


def test_leave_to_read_that_the_system_denies_is_told(tmp_path, monkeypatch):
    path = write_csv(tmp_path / "secret.csv", ROWS)

    def denied(*args, **options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.open", denied)
    assert "may not be read" in _refused(path).what


def test_a_cut_spreadsheet_is_refused(tmp_path):
    path = write_xlsx(tmp_path / "a.xlsx", {"A": [["Key", "Side"], *[[i, "L"] for i in range(500)]]})
    path.write_bytes(path.read_bytes()[:-400])
    assert "damaged" in _refused(path).what


def test_a_spreadsheet_with_a_flipped_byte_is_refused(tmp_path):
    path = write_xlsx(tmp_path / "a.xlsx", {"A": [["Key", "Side"], *[[i, "L"] for i in range(500)]]})
    content = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as container:
        member = container.getinfo("xl/worksheets/sheet1.xml")
    content[member.header_offset + 120] ^= 0xFF
    path.write_bytes(bytes(content))
    assert "damaged" in _refused(path).what


def test_a_container_that_is_no_spreadsheet_is_refused(tmp_path):
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w") as container:
        container.writestr("letter.txt", "no spreadsheet")
    assert "no XLSX" in _refused(tmp_path / "a.xlsx").what


def test_a_container_that_unpacks_too_far_is_refused_unopened(tmp_path):
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as container:
        container.writestr("xl/workbook.xml", "<workbook/>")
        container.writestr("xl/worksheets/sheet1.xml", b"\0" * (32 << 20))
    assert "more than is safe" in _refused(path).what


def test_a_container_that_lies_about_its_length_is_refused(tmp_path):
    path = tmp_path / "liar.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as container:
        container.writestr("xl/workbook.xml", "<workbook/>")
        container.writestr("xl/worksheets/sheet1.xml", b" " * (4 << 20))
    content = path.read_bytes()
    told = struct.pack("<I", 4 << 20)
    assert content.count(told) >= 2
    path.write_bytes(content.replace(told, struct.pack("<I", 1000)))
    assert "damaged" in _refused(path).what


def test_a_sheet_whose_cells_lie_far_out_is_refused(tmp_path):
    path = write_xlsx(tmp_path / "a.xlsx", {"A": [["Key", "Side"], [1, "L"]]})
    far = tmp_path / "far.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(far, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.namelist():
            text = old.read(member)
            new.writestr(member, text.replace(b'r="B2"', b'r="XFD2"') if "sheet1" in member else text)
    assert "further out" in _refused(far).what


def test_limits_on_bytes_rows_and_columns_are_kept(tmp_path):
    path = write_csv(tmp_path / "a.csv", [["a", "b", "c"], *[[1, 2, 3]] * 20])
    assert "bytes" in _refused(path, limits=Limits(file_bytes=50)).what
    assert "20 rows" not in _refused(path, limits=Limits(rows=10)).what
    assert "columns" in _refused(path, limits=Limits(columns=2)).what
    pq.write_table(pa.table({"a": [1] * 20, "b": [1] * 20}), tmp_path / "a.parquet")
    assert "rows" in _refused(tmp_path / "a.parquet", limits=Limits(rows=10)).what
    assert "columns" in _refused(tmp_path / "a.parquet", limits=Limits(columns=1)).what
    assert open_source(path, limits=Limits(rows=20, columns=3)).table.num_rows == 20


def test_a_wrong_encoding_or_header_row_in_the_legend_is_told(tmp_path):
    path = write_csv(tmp_path / "a.csv", ROWS, ";", "cp1252")
    assert "not utf-8 text" in _refused(path, options=FileOptions(encoding="utf-8")).what
    assert "holds nothing" in _refused(path, options=FileOptions(header_row=40)).what


def test_parquet_of_lists_is_refused(tmp_path):
    pq.write_table(pa.table({"a": [[1, 2], [3]]}), tmp_path / "a.parquet")
    assert "cannot be read" in _refused(tmp_path / "a.parquet").what


@pytest.mark.parametrize("encoding", [None, "utf-8", "UTF8", "utf-8-sig", "cp1252"])
def test_a_byte_order_mark_is_no_part_of_the_first_column_name_whatever_the_legend_says(tmp_path, encoding):
    path = write_csv(tmp_path / "a.csv", [["Key", "Side"], ["1", "L"]], ";", "utf-8-sig")
    source = open_source(path, FileOptions(encoding=encoding), columns=("Key", "Side"))
    assert source.header == ("Key", "Side")


def test_a_file_that_is_not_what_its_name_says_is_read_and_said(tmp_path):
    book = write_xlsx(tmp_path / "a.xlsx", {"S": [["Key", "Side"], [1, "L"]]})
    assert not any("by its content" in one for one in open_source(book, columns=("Key",)).detected)
    sheet = book.rename(tmp_path / "lindesund.csv")
    said = open_source(sheet, columns=("Key",)).detected
    assert "lindesund.csv: a spreadsheet, by its content, not text" in said
    text = write_csv(tmp_path / "b.xlsx", [["Key", "Side"], ["1", "L"]])
    assert "b.xlsx: text, by its content, not a spreadsheet" in open_source(text, columns=("Key",)).detected


def test_what_was_detected_is_said_in_a_surgeons_words(tmp_path):
    path = write_csv(tmp_path / "a.csv", [["Key", "Side"], ["1", "L"]], ";", "utf-8-sig")
    said = open_source(path, columns=("Key",)).detected
    assert said[0] == "a.csv: text, UTF-8"
    assert not any(word in " ".join(said) for word in ("byte", "mark"))
