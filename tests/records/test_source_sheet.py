"""Spreadsheets that people really send: merged cells, error values, hidden rows, macros, days from 1904."""

from __future__ import annotations

import zipfile
from datetime import date, datetime, time

import pytest
import xlsxwriter

from hingeline.errors import HingelineError
from hingeline.records import source_container
from hingeline.records.legend_model import FileOptions
from hingeline.records.source import open_source
from hingeline.records.source_grid import as_text

from .making import write_xlsx

HEADER = ["Key", "Date", "Side", "Size"]
BODY = [["p1", date(2015, 4, 3), "L", 3], ["p2", date(2015, 4, 4), "R", 4], ["p3", date(2015, 4, 5), "L", 5]]


def _changed(path, member, old, new, count=1):
    """Write a spreadsheet again with bytes of one member changed."""
    other = path.with_name(f"changed-{path.name}")
    with zipfile.ZipFile(path) as before, zipfile.ZipFile(other, "w", zipfile.ZIP_DEFLATED) as after:
        for name in before.namelist():
            content = before.read(name)
            if name == member:
                assert content.count(old) >= count, (old, content[:2000])
                content = content.replace(old, new)
            after.writestr(name, content)
    return other


def test_error_values_stay_visible_and_are_told(tmp_path):
    path = tmp_path / "a.xlsx"
    errors = ["#N/A", "#REF!", "#DIV/0!", "#VALUE!", "#NAME?", "#NUM!"]
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        sheet.write_row(0, 0, ["Key", "Size", "Side"])
        for row, error in enumerate(errors, 1):
            sheet.write_row(row, 0, [f"p{row}", None, "L"])
            sheet.write_formula(row, 1, "=1/0", None, error)
    source = open_source(path, columns=("Key",))
    assert source.table["Size"].to_pylist() == errors
    assert any("6 cells hold an error of the spreadsheet" in one and "#N/A" in one for one in source.detected)


@pytest.mark.parametrize("prefix", [b"", b"x:"])
@pytest.mark.parametrize("places", [True, False])
def test_error_values_are_found_however_the_xml_is_written(tmp_path, monkeypatch, prefix, places):
    monkeypatch.setattr(source_container, "_PIECE", 50)
    rows = b"".join(
        b'<%srow r="%d"><%sc r="A%d"><%sv>%d</%sv></%sc><%sc r="B%d" t=\'e\'><%sv>#REF!</%sv></%sc></%srow>'
        % (prefix, r, prefix, r, prefix, r, prefix, prefix, prefix, r, prefix, prefix, prefix, prefix)
        for r in range(1, 4)
    )
    if not places:
        for r in range(1, 4):
            for place in (b' r="A%d"', b' r="B%d"', b' r="%d"'):
                rows = rows.replace(place % r, b"")
    namespace = b"xmlns%s" % (b":x" if prefix else b"")
    text = b'<%sworksheet %s="urn:x"><%ssheetData>%s</%ssheetData></%sworksheet>' % (
        *(prefix, namespace, prefix, rows, prefix, prefix),
    )
    path = tmp_path / "sheet1.xml"
    path.write_bytes(text)
    with path.open("rb") as stream:
        marks = source_container._marks(stream, "here", 1000, 1000)
    assert marks.errors == {0: {1: "#REF!"}, 1: {1: "#REF!"}, 2: {1: "#REF!"}}
    assert marks.last_row == 3
    assert marks.cells == 6


def test_a_header_of_two_rows_with_merged_cells_is_joined(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        sheet.merge_range(0, 0, 0, 5, "Hernia list 2015")
        sheet.merge_range(1, 0, 2, 0, "Key")
        sheet.merge_range(1, 1, 1, 2, "Operation")
        sheet.merge_range(1, 3, 1, 4, "Follow-up")
        sheet.write_row(2, 1, ["Date", "Side", "Date", "Pain", "Note"])
        shown = book.add_format({"num_format": "dd/mm/yyyy"})
        for row in (3, 4):
            sheet.write_row(row, 0, [f"p{row}", None, "L", None, "no", "x"])
            sheet.write_datetime(row, 1, datetime(2015, 4, 3), shown)
            sheet.write_datetime(row, 3, datetime(2016, 4, 3), shown)
    source = open_source(path)
    names = ("Key", "Operation / Date", "Operation / Side", "Follow-up / Date", "Follow-up / Pain", "Note")
    assert source.header == names
    assert source.rows.to_pylist() == [4, 5]
    assert any("column names in 2 rows from row 2" in one for one in source.detected)
    assert open_source(path, columns=("Operation / Date", "Key")).header == names
    assert open_source(path, FileOptions(header_row=2, header_rows=2)).header == names


def test_merged_cells_are_read_down_but_not_across_and_told(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        sheet.write_row(0, 0, ["Key", "Surgeon", "Side", "Size"])
        for row in range(1, 6):
            sheet.write_row(row, 0, [f"p{row}", None, "L" if row < 4 else None, row])
        sheet.merge_range(1, 1, 3, 1, "AB")
        sheet.merge_range(4, 1, 5, 2, "CD")
        sheet.write(6, 0, "p6")
        sheet.merge_range(6, 1, 6, 2, "EF")
        sheet.write(6, 3, 7)
    source = open_source(path, columns=("Key",))
    assert source.table.select(["Key", "Surgeon", "Side"]).to_pylist() == [
        {"Key": "p1", "Surgeon": "AB", "Side": "L"},
        {"Key": "p2", "Surgeon": "AB", "Side": "L"},
        {"Key": "p3", "Surgeon": "AB", "Side": "L"},
        {"Key": "p4", "Surgeon": "CD", "Side": None},
        {"Key": "p5", "Surgeon": "CD", "Side": None},
        {"Key": "p6", "Surgeon": "EF", "Side": None},
    ]
    assert any("2 cells merged over several rows, from rows 2 and 5" in one for one in source.detected)
    assert any("1 cell merged over several columns, from row 7" in one for one in source.detected)


def test_a_merged_cell_makes_no_record_of_an_empty_row(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        sheet.write_row(0, 0, ["Key", "Year", "Side"])
        sheet.write_row(1, 0, ["p1", None, "L"])
        sheet.write_row(3, 0, ["p2", None, "R"])
        sheet.merge_range(1, 1, 3, 1, 2015)
    source = open_source(path, columns=("Key",))
    assert source.rows.to_pylist() == [2, 4]
    assert source.table["Year"].to_pylist() == ["2015", "2015"]
    assert source.blank == 1


def test_hidden_rows_and_columns_are_read_and_told(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        for row, cells in enumerate([HEADER, ["p1", "x", "L", 3], ["p2", "x", "R", 4], ["p3", "x", "L", 5]]):
            sheet.write_row(row, 0, cells)
        sheet.autofilter(0, 0, 3, 3)
        sheet.filter_column("C", "x == L")
        sheet.set_row(2, None, None, {"hidden": True})
        sheet.set_column(1, 1, None, None, {"hidden": True})
    source = open_source(path, columns=("Key",))
    assert source.n_rows == 3
    told = next(one for one in source.detected if "hidden" in one)
    assert "1 row and column B are hidden, by a filter" in told


def test_macros_are_told_and_never_run(tmp_path):
    path = write_xlsx(tmp_path / "a.xlsm", {"S": [HEADER, *BODY]})
    with zipfile.ZipFile(path, "a") as container:
        container.writestr("xl/vbaProject.bin", b"no program")
    source = open_source(path, columns=("Key",))
    assert "a.xlsm: holds macros; they are never run" in source.detected
    assert source.n_rows == 3


def test_a_sheet_whose_cells_are_only_locked_is_read(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        sheet.write_row(0, 0, HEADER)
        sheet.write_row(1, 0, ["p1", "x", "L", 3])
        sheet.protect("a password")
    assert open_source(path, columns=("Key",)).n_rows == 1


def test_the_longest_sheet_is_taken_where_no_legend_says_which_and_the_others_are_named(tmp_path):
    sheets = {"Cover": [["Hernia list"]], "Ops": [HEADER, *BODY], "Codes": [["Code", "Word"], ["L", "left"]]}
    source = open_source(write_xlsx(tmp_path / "a.xlsx", sheets))
    assert source.sheet == "Ops"
    told = next(one for one in source.detected if "sheet Ops" in one)
    assert "'Cover' and 'Codes'" in told
    assert "4 rows" in told


def test_a_hidden_sheet_is_taken_only_where_it_is_meant_and_told(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        for name, rows in (
            ("Ops", [HEADER, ["p1", "x", "L", 3]]),
            ("Old", [HEADER, *[["p1", "x", "L", 3]] * 5]),
        ):
            sheet = book.add_worksheet(name)
            for row, cells in enumerate(rows):
                sheet.write_row(row, 0, cells)
        sheet.hide()
    assert open_source(path).sheet == "Ops"
    named = open_source(path, FileOptions(sheet="Old"), columns=("Key",))
    assert named.n_rows == 5
    assert "a.xlsx: sheet Old is hidden" in named.detected


def test_numbers_and_dates_as_text_beside_true_ones_are_told_and_share_a_decimal_mark(tmp_path):
    rows = [
        ["Key", "Date", "Size"],
        [1, date(2015, 4, 3), 3.5],
        ["0002", "04.04.2015", "4,25"],
        [3, None, "7,5"],
    ]
    source = open_source(write_xlsx(tmp_path / "a.xlsx", {"S": rows}), columns=("Key",))
    assert source.decimal == ","
    assert source.table["Size"].to_pylist() == ["3,5", "4,25", "7,5"]
    told = " / ".join(source.detected)
    assert "numbers stored as text beside numbers in columns A and C" in told
    assert "dates as text beside true dates in column B" in told
    assert "decimal comma" in told


def test_a_row_of_totals_with_a_formula_is_set_apart(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        for row, cells in enumerate([HEADER, *[[f"p{i}", "x", "L", 3] for i in range(4)]]):
            sheet.write_row(row, 0, cells)
        sheet.write(5, 0, "Total")
        sheet.write_formula(5, 3, "=SUM(D2:D5)", None, 12)
    source = open_source(path, columns=("Key",))
    assert source.n_rows == 4
    assert [(one.row, one.why) for one in source.broken] == [(6, "a row of totals, no record")]


def test_formulas_that_nobody_computed_are_told(tmp_path):
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        sheet.write_row(0, 0, ["Key", "Size"])
        for row in (1, 2):
            sheet.write(row, 0, f"p{row}")
            sheet.write_formula(row, 1, '="x"&A1', None, "")
    assert any("2 formulas have no value" in one for one in open_source(path, columns=("Key",)).detected)
    # One that was computed, to an empty text, says so by its type (ECMA-376 part 1, 18.18.11).
    for cell in (b'<c r="B2"', b'<c r="B3"'):
        path = _changed(path, "xl/worksheets/sheet1.xml", cell, cell + b' t="str"')
    assert not any("no value" in one for one in open_source(path, columns=("Key",)).detected)


def test_a_sheet_without_names_loses_no_row(tmp_path):
    source = open_source(write_xlsx(tmp_path / "a.xlsx", {"S": BODY}))
    assert source.header == ("A", "B", "C", "D")
    assert source.n_rows == 3


def test_cells_that_begin_far_from_the_corner_keep_their_rows_and_columns(tmp_path):
    rows = [[None] * 5, [None] * 5, [None, None, *HEADER[:3]], [None, None, "p1", date(2015, 4, 3), "L"]]
    source = open_source(write_xlsx(tmp_path / "a.xlsx", {"S": rows}), columns=("Key",))
    assert source.rows.to_pylist() == [4]
    assert source.table["Key"].to_pylist() == ["p1"]


def test_a_grid_that_is_far_larger_than_its_cells_is_refused(tmp_path):
    path = write_xlsx(tmp_path / "a.xlsx", {"S": [HEADER, ["p1", "x", "L", 3]]})
    far = _changed(path, "xl/worksheets/sheet1.xml", b'<row r="2"', b'<row r="900000"')
    far = _changed(far, "xl/worksheets/sheet1.xml", b'r="D2"', b'r="BZ900000"')
    with pytest.raises(HingelineError, match="further out"):
        open_source(far)


@pytest.mark.parametrize(
    ("names", "what"),
    [
        (["xl/workbook.bin"], "XLSB"),
        (["mimetype", "content.xml"], "OpenDocument"),
        (["word/document.xml"], "text document"),
        (["letter.txt"], "no XLSX"),
    ],
)
def test_other_containers_are_called_what_they_are(tmp_path, names, what):
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w") as container:
        for name in names:
            container.writestr(name, "x")
    with pytest.raises(HingelineError) as refused:
        open_source(tmp_path / "a.xlsx")
    assert what in refused.value.what
    assert "XLSX or CSV" in refused.value.todo


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbf  <html><body><table><tr><td>Key</td></tr></table></body></html>",
        b"<!-- export --><table><tr><td>Key</td></tr></table>",
        "<html xmlns:x='urn'><table></table></html>".encode("utf-16"),
        b"<div>x</div><table></table>",
        b"MIME-Version: 1.0\r\nContent-Type: multipart/related\r\n\r\n",
    ],
)
def test_a_web_page_under_a_spreadsheets_name_is_refused_with_what_to_do(tmp_path, content):
    path = tmp_path / "a.xlsx"
    path.write_bytes(content)
    with pytest.raises(HingelineError) as refused:
        open_source(path)
    assert "web page" in refused.value.what
    assert "save it as XLSX or CSV" in refused.value.todo


def test_a_spreadsheet_written_as_xml_is_refused_with_what_to_do(tmp_path):
    path = tmp_path / "a.xls"
    path.write_bytes(b"<?xml version='1.0'?><Workbook xmlns='urn:schemas-microsoft-com:office:spreadsheet'/>")
    with pytest.raises(HingelineError, match="spreadsheet written as XML"):
        open_source(path)


def test_text_under_a_spreadsheets_name_is_read_and_told(tmp_path):
    path = tmp_path / "a.xlsx"
    path.write_text("Key;Side\n1;L\n", encoding="utf-8")
    source = open_source(path)
    assert source.n_rows == 1
    assert "a.xlsx: text, by its content, not a spreadsheet" in source.detected


def test_an_entity_in_a_spreadsheets_xml_is_refused(tmp_path):
    path = write_xlsx(tmp_path / "a.xlsx", {"S": [HEADER, *BODY]})
    bad = _changed(path, "xl/workbook.xml", b"<workbook ", b'<!DOCTYPE x [<!ENTITY a "aaaa">]><workbook ')
    with pytest.raises(HingelineError, match="damaged"):
        open_source(bad)


def test_times_that_lie_a_little_short_of_a_second_are_that_second():
    assert as_text(datetime(2015, 4, 3, 10, 29, 59, 999_999)) == "2015-04-03 10:30:00"
    assert as_text(datetime(2015, 4, 3, 23, 59, 59, 999_999)) == "2015-04-04"
    assert as_text(time(10, 30)) == "10:30:00"
    assert as_text(datetime(9999, 12, 31, 23, 59, 59, 999_999)) == "9999-12-31 23:59:59"
