from __future__ import annotations

import random

import duckdb
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings

from hingeline.counts import PatternTally, count_patterns, pool
from hingeline.errors import HingelineError

from .cases import opened_up, plain_count, rows_of_cases, table

few = settings(max_examples=15, deadline=None)


@few
@given(rows_of_cases())
def test_tally_equals_a_count_by_dictionaries(rows):
    tally = count_patterns(table(rows))
    cells, patients = plain_count(rows)
    assert opened_up(tally) == (cells, patients)
    assert tally.n_groins == len(rows)
    assert tally.n_patients == len({row["patient"] for row in rows})


@few
@given(rows_of_cases(14))
def test_tally_is_the_same_in_passes_and_in_a_relation_of_somebody_elses_engine(rows):
    whole = count_patterns(table(rows))
    assert count_patterns(table(rows), rows_a_pass=4) == whole
    connection = duckdb.connect()
    assert count_patterns(connection.from_arrow(table(rows))) == whole
    connection.close()


@few
@given(rows_of_cases(14))
def test_order_of_rows_changes_nothing(rows):
    mixed = rows[:]
    random.Random(len(rows)).shuffle(mixed)
    assert count_patterns(table(mixed)) == count_patterns(table(rows))


@few
@given(rows_of_cases(14), rows_of_cases(14))
def test_pooling_hospitals_is_exact(some, others):
    some = [row | {"hospital": "Aldmoor", "patient": row["patient"] // 2 * 2} for row in some]
    others = [row | {"hospital": "Brackwater", "patient": row["patient"] // 2 * 2 + 1} for row in others]
    apart = pool([count_patterns(table(others)), count_patterns(table(some))])
    assert apart == count_patterns(table(some + others))


def test_cases_may_lie_in_several_files_with_a_patient_in_two(tmp_path):
    rows = [
        {"patient": 7, "age_days": 400},
        {"patient": 8, "age_days": 9000},
        {"patient": 7, "age_days": 800},
    ]
    folder = tmp_path / "a folder [1] of *"
    folder.mkdir()
    paths = [folder / f"cases {k}.parquet" for k in range(3)]
    for path, row in zip(paths, rows, strict=True):
        pq.write_table(table([row]), path)
    tally = count_patterns(paths)
    assert tally == count_patterns(table(rows))
    assert tally.n_patients == 2
    assert sorted(tally.patterns["pattern"].to_pylist()) == [0, 1, 1]
    assert count_patterns(str(paths[0])).n_groins == 1


def test_no_case_gives_an_empty_tally():
    tally = count_patterns(table([]))
    assert (tally.n_groins, tally.n_patients, tally.cells.num_rows) == (0, 0, 0)
    assert tally.where(sex="male").age_rows().to_frame().num_rows == 0
    assert tally.margin(["hospital"]).num_rows == 0


def test_sums_of_squares_beyond_what_a_float_holds_are_exact():
    days = 39_999
    rows = table([{"patient": 1, "age_days": days}])
    many = pa.concat_tables([rows] * 200_000).combine_chunks()
    many = many.set_column(0, "patient", pa.array(range(200_000), pa.int64()))
    cell = count_patterns(many).cells.to_pylist()[0]
    assert cell["days2"] == 200_000 * days * days
    assert cell["days"] == 200_000 * days


def test_years_of_operation_and_yes_or_no_fields_are_dimensions_too():
    rows = table([{"patient": k, "age_days": 4000 + 100 * k} for k in range(4)])
    rows = rows.append_column("operated_on", pa.array([12000, 12400, None, 12001], pa.date32()))
    rows = rows.append_column("preterm", pa.array([True, None, False, True]))
    tally = count_patterns(rows, by=("hospital", "operated_year", "preterm"))
    assert tally.values("operated_year") == (2002, 2003, None)
    assert tally.values("preterm") == (False, True, None)
    assert tally.where(operated_year=2002, preterm=True).n_groins == 2
    assert tally.where(operated_year=None).n_groins == 1


def test_many_levels_of_a_dimension_are_told_apart():
    rows = table([{"patient": k, "age_days": 4000, "hospital": f"H{k:04}"} for k in range(1500)])
    tally = count_patterns(rows)
    assert tally.margin(["hospital"])["hospital"].to_pylist() == [f"H{k:04}" for k in range(1500)]
    assert tally.patterns["cell"].to_pylist() == list(range(1500))


def test_a_field_that_is_not_recorded_counts_as_unknown():
    rows = table([{"patient": 1, "age_days": 4000, "known_by": None}, {"patient": 2, "age_days": 4000}])
    assert count_patterns(rows).values("known_by") == ("floor examined", "unknown")


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ({"patient": None}, "1 case of 2 belong to no patient"),
        ({"age_days": None}, "1 case without an age"),
        ({"age_days": -3}, "1 case with an age below nought"),
        ({"hospital": None}, "1 case without the field 'hospital'"),
        ({"sex": None}, "1 case without the field 'sex'"),
    ],
)
def test_a_case_that_cannot_be_counted_is_told_and_not_lost(row, told):
    good = {"patient": 1, "age_days": 4000}
    with pytest.raises(HingelineError, match=told):
        count_patterns(table([good, good | row]))


def test_missing_fields_are_named():
    with pytest.raises(HingelineError, match="lack 'approach' and 'type'"):
        count_patterns(table([]).drop_columns(["type", "approach"]))


def test_keys_that_are_text_are_refused():
    rows = table([]).drop_columns(["patient"]).append_column("patient", pa.array([], pa.string()))
    with pytest.raises(HingelineError, match="'patient' holds String, not whole numbers"):
        count_patterns(rows)


@pytest.mark.parametrize("by", [("hospital", "colour"), ("sex", "sex"), ("patient",)])
def test_dimensions_that_no_case_has_are_refused(by):
    with pytest.raises(HingelineError):
        count_patterns(table([]), by=by)


def test_files_that_cannot_be_read_are_told_in_three_parts(tmp_path):
    broken = tmp_path / "cases.parquet"
    with pytest.raises(HingelineError, match="no file of cases here"):
        count_patterns(broken)
    broken.write_bytes(b"PAR1 and nothing more")
    with pytest.raises(HingelineError, match="cannot be read"):
        count_patterns(broken)
    pq.write_table(table([{"patient": 1, "age_days": 4000}] * 500), broken)
    broken.write_bytes(broken.read_bytes()[:-200])
    with pytest.raises(HingelineError, match="cannot be read"):
        count_patterns(broken)
    for strange in ([], 7, None):
        with pytest.raises(HingelineError):
            count_patterns(strange)
    with pytest.raises(HingelineError, match="refuses its settings"):
        count_patterns(table([]), memory_limit="much")


def test_progress_is_told_and_ends_full():
    told = []
    count_patterns(table([{"patient": k, "age_days": k} for k in range(9)]), rows_a_pass=3,
                   progress=lambda what, done, of: told.append((what, done, of)))  # fmt: skip
    assert told[-1][1] == told[-1][2]
    assert [done for _, done, _ in told] == sorted(done for _, done, _ in told)


@few
@given(rows_of_cases(10))
def test_saved_tally_comes_back_and_equal_tallies_are_equal_bytes(tmp_path_factory, rows):
    folder = tmp_path_factory.mktemp("tally")
    tally = count_patterns(table(rows))
    tally.save(folder / "one")
    assert PatternTally.load(folder / "one") == tally
    count_patterns(table(rows[::-1])).save(folder / "two")
    for path in (folder / "one").iterdir():
        assert path.read_bytes() == (folder / "two" / path.name).read_bytes()


def test_a_tally_that_is_damaged_or_newer_is_refused(tmp_path):
    tally = count_patterns(table([{"patient": 1, "age_days": 4000}]))
    with pytest.raises(HingelineError, match="cannot be read"):
        PatternTally.load(tmp_path)
    tally.save(tmp_path)
    cells = pq.read_table(tmp_path / "cells.parquet")
    notes = {**cells.schema.metadata, b"hingeline.format": b"99"}
    pq.write_table(cells.replace_schema_metadata(notes), tmp_path / "cells.parquet")
    with pytest.raises(HingelineError, match="newer"):
        PatternTally.load(tmp_path)
    (tmp_path / "cells.parquet").write_bytes(b"")
    with pytest.raises(HingelineError, match="cannot be read"):
        PatternTally.load(tmp_path)
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(HingelineError, match="cannot be written"):
        tally.save(tmp_path / "file")
