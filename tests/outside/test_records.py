"""Intake against standards and libraries that are not ours; the source stands beside each check."""

from __future__ import annotations

import hmac
import random
from calendar import monthrange
from datetime import date, timedelta
from hashlib import sha256

import duckdb
import pytest
import xlsxwriter

from hingeline.records.intake import read_hospital
from hingeline.records.legend import legend_from_text
from hingeline.records.phrases import PHRASES, DateLook, padded_keys
from hingeline.records.source import open_source

KEY = b"\x0b" * 20
CUTOFF = date(2020, 12, 31)


def _legend(fields: str):
    return legend_from_text(
        f'hospital = "Alder Vale"\nform = "operations"\n[fields]\npatient = {{ column = "P" }}\n'
        f'sex = {{ value = "male" }}\nside = {{ value = "left" }}\n{fields}\n'
    )


def _cases(tmp_path, fields, header, rows):
    path = tmp_path / "a.csv"
    lines = [";".join(["P", *header]), *(";".join([f"p{i}", *row]) for i, row in enumerate(rows))]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read_hospital([path], _legend(fields), cutoff=CUTOFF, key=KEY)


# Miserez M et al. The European hernia society groin hernia classification: simple and easy to remember.
# Hernia 2007;11:113-116 (memory): P primary, R recurrent; L lateral, M medial, F femoral; 0 no hernia detectable,
# 1 one finger, 2 two fingers, 3 three or more, x not investigated. The paper's own example: a primary indirect
# (lateral) inguinal hernia with a defect of three centimetres is PL2. A combined hernia fills both boxes.
EHS = [
    ("PL2", "primary", "indirect", 2),
    ("PL1", "primary", "indirect", 1),
    ("RM1", "recurrent", "direct", 1),
    ("PM3", "primary", "direct", 3),
    ("RF2", "recurrent", "femoral", 2),
    ("PL1M1", "primary", "combined", 1),
    ("RM3L1", "recurrent", "combined", 3),
    ("PL2M0F0", "primary", "indirect", 2),
    ("PL0M2Fx", "primary", "direct", 2),
    ("LxM2", "primary", "direct", 2),
    ("p l2", "primary", "indirect", 2),
    ("R-M1 / L2", "recurrent", "combined", 2),
    ("PL0M0F0", "primary", "unknown", 0),
    ("PLxMxFx", "primary", "unknown", None),
    ("PL", "primary", "indirect", None),
]


def test_ehs_codes_mean_what_the_classification_says(tmp_path):
    found = _cases(
        tmp_path,
        'age = { column = "A", unit = "years" }\nehs = { column = "E" }',
        ["A", "E"],
        [["40", code] for code, *_ in EHS],
    )
    read = [(c["occurrence"], c["type"], c["ehs_size"]) for c in found.cases.to_pylist()]
    assert read == [(occurrence, kind, size) for _, occurrence, kind, size in EHS]
    assert found.set_aside.num_rows == 0


@pytest.mark.parametrize("code", ["PL4", "XL2", "PL2L1", "2L", "L2P", "PK2", "left", "PL22"])
def test_what_is_no_ehs_code_is_not_read_as_one(tmp_path, code):
    found = _cases(
        tmp_path, 'age = { column = "A", unit = "years" }\nehs = { column = "E" }', ["A", "E"], [["40", code]]
    )
    assert found.cases["type"].to_pylist() == ["unknown"]
    assert found.set_aside["rule"].to_pylist() == ["unknown code"]


def _hash(text: str, key: bytes) -> int:
    inner, outer = padded_keys(key)
    phrase = PHRASES["duckdb"].keyed_hash("$text", "$inner", "$outer")
    row = (
        duckdb.connect()
        .execute(f"SELECT {phrase}", {"text": text, "inner": inner, "outer": outer})
        .fetchone()
    )
    assert row is not None
    return int(row[0])


# RFC 4231, test cases 1 and 2 (memory; the same by Python's hmac): first 8 bytes of HMAC-SHA-256.
@pytest.mark.parametrize(
    ("key", "text", "first"),
    [
        (b"\x0b" * 20, "Hi There", "b0344c61d8db3853"),
        (b"Jefe", "what do ya want for nothing?", "5bdcc146bf60754e"),
    ],
)
def test_the_keyed_hash_is_hmac_of_rfc_4231(key, text, first):
    assert _hash(text, key) == int.from_bytes(bytes.fromhex(first), "big", signed=True)
    assert hmac.new(key, text.encode(), sha256).hexdigest().startswith(first)


def test_patient_keys_are_those_of_the_standard_librarys_hmac(tmp_path):
    found = _cases(
        tmp_path,
        'age = { column = "A", unit = "years" }\ntype = { column = "T" }',
        ["A", "T"],
        [["40", "direct"]] * 50,
    )
    for number, patient in enumerate(found.cases["patient"].to_pylist()):
        message = "\x1f".join(["Alder Vale", "patient", f"p{number}"]).encode()
        digest = hmac.new(KEY, message, sha256).digest()
        assert patient == int.from_bytes(digest[:8], "big", signed=True)


# ECMA-376 part 1, 18.17.4.1 (memory): the 1900 date system. Spreadsheet vendors' help texts (memory):
# 1 January 2008 is serial number 39448. 25569 is the day on which Unix time begins.
@pytest.mark.parametrize(
    ("serial", "day"),
    [("39448", "2008-01-01"), ("25569", "1970-01-01"), ("36526", "2000-01-01"), ("43890", "2020-02-29")],
)
def test_spreadsheet_serials_are_the_dates_of_the_1900_system(serial, day):
    phrases = PHRASES["duckdb"]
    parts = phrases.date_parts("t", "dmy", DateLook())
    read = phrases.date_of("p", "t", "DATE '2020-12-31'", DateLook())
    row = (
        duckdb.connect()
        .execute(f"SELECT {read} FROM (SELECT {parts} AS p, t FROM (SELECT ? AS t))", [serial])
        .fetchone()
    )
    assert row is not None
    assert str(row[0]) == day


def test_every_day_of_two_centuries_is_read_as_pythons_calendar_has_it():
    """Gregorian calendar, Python's datetime as the reference; days that are none are refused."""
    phrases = PHRASES["duckdb"]
    look = DateLook(month_names=False, digits_only=False, short_years=False)
    start = date(1895, 1, 1)
    days = [start + timedelta(n) for n in range(0, 75_000)]
    texts = [f"{day:%d.%m.%Y}" for day in days] + [
        f"{monthrange(year, month)[1] + 1}.{month}.{year}"
        for year in range(1895, 2100)
        for month in range(1, 13)
    ]
    import pyarrow as pa

    database = duckdb.connect()
    database.register("cells", pa.table({"t": texts}))
    parts = phrases.date_parts("t", "dmy", look)
    read = phrases.date_of("p", "t", "DATE '2020-12-31'", look)
    got = database.execute(f"SELECT {read} FROM (SELECT {parts} AS p, t FROM cells)").fetchall()
    assert [row[0] for row in got] == days + [None] * (205 * 12)


def test_ages_in_days_are_differences_of_pythons_dates(tmp_path):
    seed = random.SystemRandom().randrange(2**32)
    print("seed", seed)
    draw = random.Random(seed)
    born = [date(1925, 1, 1) + timedelta(draw.randrange(30_000)) for _ in range(200)]
    operated = [day + timedelta(draw.randrange(4_000)) for day in born]
    found = _cases(
        tmp_path,
        'born_on = { column = "B", order = "mdy" }\noperated_on = { column = "O" }\ntype = { column = "T" }',
        ["B", "O", "T"],
        [[f"{b:%m/%d/%Y}", o.isoformat(), "direct"] for b, o in zip(born, operated, strict=True)],
    )
    read = dict(zip(found.cases["source_row"].to_pylist(), found.cases["age_days"].to_pylist(), strict=True))
    true = {row: (o - b).days for row, (b, o) in enumerate(zip(born, operated, strict=True), start=2)}
    assert read == {row: days for row, days in true.items() if operated[row - 2] <= CUTOFF}


def test_whole_years_at_the_middle_of_their_span_are_right_on_average(tmp_path):
    """Births spread evenly over the year lie on average half a year after the last birthday (closed form)."""
    seed = random.SystemRandom().randrange(2**32)
    print("seed", seed)
    draw = random.Random(seed)
    n = 4_000
    exact = [draw.randrange(40 * 365) for _ in range(n)]
    operated = date(2019, 6, 30)
    completed = []
    for days in exact:
        born = operated - timedelta(days)
        completed.append(
            operated.year - born.year - ((operated.month, operated.day) < (born.month, born.day))
        )
    found = _cases(
        tmp_path,
        'age = { column = "A", unit = "years" }\ntype = { column = "T" }',
        ["A", "T"],
        [[str(years), "direct"] for years in completed],
    )
    off = [read - true for read, true in zip(found.cases["age_days"].to_pylist(), exact, strict=True)]
    # Uniform over a year: standard deviation 365.25 / sqrt(12); five standard errors is p < 1e-6.
    assert abs(sum(off) / n) < 5 * 365.25 / 12**0.5 / n**0.5
    assert max(map(abs, off)) <= 184


# WHO (memory): preterm is birth before 37 completed weeks; chronological age less the weeks by which the child was
# born before 40 is its corrected age (American Academy of Pediatrics, Pediatrics 2004;114:1362, memory).
def test_corrected_age_follows_the_academys_definition(tmp_path):
    found = _cases(
        tmp_path,
        'age = { column = "A", unit = "days" }\ngestation_weeks = { column = "G" }\ntype = { column = "T" }',
        ["A", "G", "T"],
        [["168", "28", "indirect"], ["168", "36+6", "indirect"], ["168", "37+0", "indirect"]],
    )
    assert found.cases["preterm"].to_pylist() == [True, True, False]
    # The paper's example: 24 weeks old, born at 28 weeks, is 12 weeks corrected.
    assert found.cases["corrected_age_days"].to_pylist() == [84, 146, None]


# RFC 4180, section 2, rules 5 to 7: quoted cells, line breaks and commas inside them, doubled quotation marks.
def test_quoted_cells_follow_rfc_4180(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(b'one,two,three\r\n"aaa","b \r\nbb","ccc"\r\nzzz,yyy,xxx\r\n"aaa","b""bb","c,c"\r\n')
    source = open_source(path)
    assert source.table.to_pydict() == {
        "one": ["aaa", "zzz", "aaa"],
        "two": ["b \r\nbb", "yyy", 'b"bb'],
        "three": ["ccc", "xxx", "c,c"],
    }
    assert source.rows.to_pylist() == [2, 3, 4]


# Unicode Consortium, CP1252.TXT (memory): 0x80 is the euro sign, 0x8A S with caron, 0x9F Y with diaeresis.
def test_bytes_of_cp1252_are_the_characters_of_its_table(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(b"Key;Note\n1;\x80\n2;\x8a\n3;\x9f\n4;\xdf\n")
    assert open_source(path).table.column("Note").to_pylist() == ["€", "Š", "Ÿ", "ß"]


def test_dates_written_by_another_library_are_read_from_a_spreadsheet(tmp_path):
    """xlsxwriter writes the serials and formats of true dates."""
    days = [date(1901, 3, 1), date(1925, 2, 28), date(1999, 12, 31), date(2000, 2, 29), date(2020, 12, 31)]
    with xlsxwriter.Workbook(str(tmp_path / "a.xlsx")) as book:
        sheet = book.add_worksheet()
        sheet.write(0, 0, "Day")
        for row, day in enumerate(days, start=1):
            sheet.write_datetime(row, 0, day, book.add_format({"num_format": "d mmm yy"}))
    assert open_source(tmp_path / "a.xlsx").table.column("Day").to_pylist() == [
        day.isoformat() for day in days
    ]


# OWASP, CSV injection (memory): cells that begin with = + - @, a tab or a carriage return are made text by an
# apostrophe before them.
@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_formulas_are_neutralised_as_owasp_says(tmp_path, start):
    from hingeline.records.intake import write_set_aside

    found = _cases(
        tmp_path,
        'age = { column = "A", unit = "years" }\ntype = { column = "T" }',
        ["A", "T"],
        [["40", f"{start}SUM(A1)"]],
    )
    write_set_aside([found], tmp_path / "list.csv")
    assert f"'{start}SUM(A1)" in (tmp_path / "list.csv").read_text(encoding="utf-8-sig")
