"""Whatever a table holds, intake ends in cases whose accounting balances or in an error that a user can mend."""

from __future__ import annotations

import csv
import io
from datetime import date

import pyarrow as pa
import pyarrow.parquet as pq
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from hingeline.errors import HingelineError
from hingeline.records.intake import Intake
from hingeline.records.legend import legend_from_text
from hingeline.vocabulary import CASE_SCHEMA

from .making import PLAIN, PLAIN_HEADER, legend, take, write_xlsx

many = settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

MORE = """
age = { column = "Age", unit = "years" }
gestation_weeks = { column = "GA" }
ehs = { column = "EHS" }
height_cm = { column = "Height" }
followed_until = { column = "Seen" }
recurred_on = { column = "Recurred" }
infection = { column = "Infection" }
puberty_stage = { column = "Stage" }
surgeon = { column = "Operator" }
"""
HEADER = [*PLAIN_HEADER, "Age", "GA", "EHS", "Height", "Seen", "Recurred", "Infection", "Stage", "Operator"]

NEARLY = (
    "p1 p2 01.02.2010 31.02.2010 5.5.15 2015-06-05 42160 99999 2958465 9999-12-31 0000-00-00 M F L R B lat med PL2 "
    "LxM2 L0 PL1L1 -1 0 7 110 111 1e308 -1e308 1e999 NaN inf , . 1,5 1.234.567,8 999999999999999999999 34+2 3months "
    "yes N/A - ? =1+1 'DROPTABLEfound;-- \" \\ $inner {rule} \x00 \u00a0 \ufeff ﬃ 🙂 ٣ １ -٣y"
)
nearly = st.sampled_from(NEARLY.split(" "))
anything = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
cell = st.one_of(nearly, nearly, anything, st.dates().map(str), st.floats().map(repr), st.integers().map(str))


def _can_be_mended(error: HingelineError) -> None:
    assert error.where
    assert error.todo


def _holds(found: Intake, rows: int) -> None:
    assert found.cases.schema.equals(CASE_SCHEMA)
    count = {
        step: [0, 0] for step in ("rows read", "rows without a groin", "groins read", "set aside", "cases")
    }
    for line in found.flow.to_pylist():
        count[line["step"]][0] += line["rows"]
        count[line["step"]][1] += line["groins"]
    assert count["rows read"][0] == count["rows without a groin"][0] + count["groins read"][0] == rows
    assert count["groins read"][1] == count["set aside"][1] + count["cases"][1]
    assert count["cases"][1] == found.cases.num_rows
    for line in found.set_aside.to_pylist():
        assert line["todo"]
        assert 2 <= line["row"] <= rows + 1
    days = found.cases["age_days"].to_pylist()
    assert all(0 <= day < 111 * 365.25 + 1 for day in days)
    assert len({(c["source_row"], c["side"]) for c in found.cases.to_pylist()}) == len(days)


@many
@given(st.lists(st.lists(cell, min_size=len(HEADER), max_size=len(HEADER)), max_size=12))
def test_no_text_in_a_csv_crashes_intake(tmp_path, rows):
    text = io.StringIO()
    csv.writer(text, delimiter=";", lineterminator="\n", quoting=csv.QUOTE_ALL).writerows([HEADER, *rows])
    path = tmp_path / "a.csv"
    path.write_text(text.getvalue(), encoding="utf-8", newline="")
    try:
        found = take(path, legend(MORE))
    except HingelineError as error:
        _can_be_mended(error)
    else:
        _holds(found, len(rows))


@many
@given(st.binary(max_size=400))
def test_no_bytes_below_a_header_crash_intake(tmp_path, content):
    path = tmp_path / "a.csv"
    path.write_bytes(";".join(PLAIN_HEADER).encode() + b"\n" + content)
    try:
        found = take(path)
    except HingelineError as error:
        _can_be_mended(error)
    else:
        assert found.cases.num_rows <= 2 * found.flow.to_pylist()[0]["rows"]
    assert path.read_bytes().endswith(content)


typed = st.one_of(
    st.none(),
    anything,
    nearly,
    st.booleans(),
    st.integers(-(10**9), 10**9),
    st.floats(-1e12, 1e12),
    st.dates(min_value=date(1900, 3, 1)),
)


@settings(many, max_examples=6)
@given(st.lists(st.lists(typed, min_size=len(HEADER), max_size=len(HEADER)), min_size=1, max_size=6))
def test_no_cells_in_a_spreadsheet_crash_intake(tmp_path, rows):
    # Spreadsheets hold no control characters, and xlsxwriter makes formulas and links of some text.
    clean = [[_writable(one) for one in row] for row in rows]
    path = write_xlsx(tmp_path / "a.xlsx", {"S": [HEADER, *clean]})
    try:
        found = take(path, legend(MORE))
    except HingelineError as error:
        _can_be_mended(error)
    else:
        # Empty rows at the end of a sheet are not in the file.
        rows_read = found.flow.to_pylist()[0]["rows"]
        assert rows_read <= len(rows)
        _holds(found, rows_read)


def _writable(value: object) -> object:
    if not isinstance(value, str):
        return value
    text = "".join(one for one in value if one >= " " and one not in "\ufffe\uffff")
    return (
        text
        if not text.startswith(("=", "{", "http", "ftp", "mailto", "internal:", "external:", "file:"))
        else "x"
    )


@settings(many, max_examples=6)
@given(
    st.lists(st.one_of(st.none(), anything, nearly), min_size=3, max_size=6),
    st.lists(st.one_of(st.none(), st.floats()), min_size=3, max_size=6),
    st.lists(st.one_of(st.none(), st.datetimes()), min_size=3, max_size=6),
)
def test_no_parquet_of_plain_types_crashes_intake(tmp_path, texts, floats, times):
    rows = min(len(texts), len(floats), len(times))
    table = pa.table(
        {
            "Pat": pa.array(texts[:rows], pa.string()),
            "Born": pa.array(times[:rows], pa.timestamp("us")),
            "Operated": pa.array([None if t is None else t.date() for t in times[:rows]], pa.date32()),
            "Age": pa.array(floats[:rows], pa.float64()),
            "Sex": ["M"] * rows,
            "Side": ["B"] * rows,
            "Type": pa.array(texts[:rows], pa.string()).dictionary_encode(),
        }
    )
    path = tmp_path / "a.parquet"
    pq.write_table(table, path)
    how = legend_from_text(PLAIN + 'age = { column = "Age", unit = "months" }\n')
    try:
        found = take(path, how)
    except HingelineError as error:
        _can_be_mended(error)
    else:
        _holds(found, rows)


@settings(many, max_examples=50)
@given(st.text(max_size=200))
def test_no_text_for_a_legend_crashes_its_reader(text):
    try:
        legend_from_text(PLAIN + text)
    except HingelineError as error:
        _can_be_mended(error)
