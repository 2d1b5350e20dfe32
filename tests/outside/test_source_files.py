"""Opening files, against what lies outside: the two calendars of spreadsheets, the letters of a font, other readers.

Sources beside each check; *memory* marks a value typed from memory.
"""

from __future__ import annotations

import csv
from datetime import date, datetime
from pathlib import Path

import duckdb
import font_source_sans_pro
import pytest
import xlsxwriter
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from hingeline.records.source import Limits, open_source
from hingeline.records.source_letters import LOOK_ALIKES, plain_letters

SERIALS_1900 = {1: date(1900, 1, 1), 61: date(1900, 3, 1), 36526: date(2000, 1, 1), 42097: date(2015, 4, 3)}
"""Day numbers of the 1900 system (ECMA-376 part 1, 18.17.4.1; *memory*): 1 is 1 January 1900, and 60 never was."""


@pytest.mark.parametrize("from_1904", [False, True])
def test_days_count_from_1900_or_from_1904_as_the_standard_says(tmp_path, from_1904):
    # 1 January 1904 is day 0 of its own system and day 1,462 of the other (ECMA-376 part 1, 18.17.4.1; memory).
    path = tmp_path / "a.xlsx"
    days = [day for day in SERIALS_1900.values() if day > date(1904, 1, 1) or not from_1904]
    with xlsxwriter.Workbook(str(path), {"date_1904": from_1904}) as book:
        sheet = book.add_worksheet("S")
        shown = book.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_row(0, 0, ["Key", "Day"])
        for row, (serial, day) in enumerate(SERIALS_1900.items(), 1):
            if day in days:
                sheet.write(row, 0, f"p{row}")
                sheet.write_number(row, 1, serial - 1462 if from_1904 else serial, shown)
    source = open_source(path, columns=("Key", "Day"))
    assert source.table["Day"].to_pylist() == list(map(str, days))
    assert any("dates count from 1904" in one for one in source.detected) == from_1904


def test_true_dates_are_read_as_the_writer_of_the_format_meant_them(tmp_path):
    # xlsxwriter, an independent writer of the format, turns dates into day numbers.
    path = tmp_path / "a.xlsx"
    days = [
        datetime(1950, 2, 28),
        datetime(2000, 2, 29),
        datetime(2019, 12, 31, 23, 59, 59),
        datetime(2015, 4, 3, 8),
    ]
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("S")
        shown = book.add_format({"num_format": "dd/mm/yyyy hh:mm"})
        sheet.write_row(0, 0, ["Key", "When"])
        for row, day in enumerate(days, 1):
            sheet.write(row, 0, row)
            sheet.write_datetime(row, 1, day, shown)
    read = open_source(path, columns=("Key",)).table["When"].to_pylist()
    assert read == [str(day).removesuffix(" 00:00:00") for day in days]


def test_a_large_text_file_is_read_as_an_independent_reader_reads_it(tmp_path):
    # DuckDB's own reader of delimited text, strict, all columns as text.
    path = tmp_path / "a.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=";", quoting=csv.QUOTE_MINIMAL)
        writer.writerow(["Key", "Side", "Note"])
        for i in range(30_000):
            writer.writerow([f"p{i}", "LR"[i % 2], f'note {i}; "so"\r\nor so' if i % 3 else "süß"])
    with duckdb.connect() as database, open_source(path, limits=Limits(held_bytes=100_000)) as source:
        theirs = database.read_csv(
            str(path), sep=";", all_varchar=True, header=True, quotechar='"'
        ).fetchall()
        ours = [tuple(row.values()) for row in source.table.to_pylist()]
    assert ours == theirs


NOT_DRAWN_ALIKE = set("КУο")
"""Pairs that Unicode's table of confusables holds (UTS 39; memory) and that this font draws a little differently."""


def test_letters_taken_for_latin_ones_are_drawn_as_they_are():
    # Source Sans Pro (Latin, Greek and Cyrillic): two letters that share one outline cannot be told apart.
    folder = Path(font_source_sans_pro.__file__).parent
    font = TTFont(next(folder.rglob("SourceSansPro-Regular.ttf")))
    names, glyphs = font.getBestCmap(), font.getGlyphSet()

    def outline(letter):
        pen = DecomposingRecordingPen(glyphs)
        glyphs[names[ord(letter)]].draw(pen)
        return pen.value

    drawn = {letter for letter in LOOK_ALIKES if ord(letter) in names}
    assert len(drawn) >= 35
    unlike = {letter for letter in drawn if outline(letter) != outline(LOOK_ALIKES[letter])}
    assert unlike <= NOT_DRAWN_ALIKE


@pytest.mark.parametrize(
    ("cell", "plain"),
    [
        ("РL2", "PL2"),
        ("RМ1", "RM1"),
        ("\u0420\u041c1", "PM1"),
        ("\u039c2", "M2"),
        ("левая", "левая"),
        ("нет", "нет"),
        ("Größe", "Größe"),
        ("δεξιά", "δεξιά"),
        ("L2", "L2"),
        ("", ""),
    ],
)
def test_look_alikes_become_latin_only_where_the_whole_cell_is_latin_then(cell, plain):
    assert plain_letters(cell) == plain
