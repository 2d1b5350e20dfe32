"""Files that pass in pieces: many small batches give what one gives, and nothing is left on the disk."""

from __future__ import annotations

import tempfile

import pytest

from hingeline.records import frames, source_cells
from hingeline.records.groins import connected
from hingeline.records.legend import legend_from_text

from .making import PLAIN, PLAIN_HEADER, sound, take, write_csv

WIDE = """
hospital = "Alder Vale"
form = "patients"
[fields]
patient = { column = "Pat" }
sex = { column = "Sex" }
age = { column = "Age", unit = "years" }
[left]
type = { column = "L", codes = { "0" = "absent" } }
operated_on = { column = "L on" }
[right]
type = { column = "R", codes = { "0" = "absent" } }
operated_on = { column = "R on" }
"""


def _both_ways(path, how, monkeypatch):
    whole = take(path, how)
    monkeypatch.setattr(source_cells, "BATCH", 7)
    monkeypatch.setattr(frames, "AT_ONCE", 4)
    return whole, take(path, how)


def test_batches_of_operations_give_what_one_gives(tmp_path, monkeypatch):
    # Orders of dates, decimal ages and codes that only a later batch holds must hold for the first one too.
    how = legend_from_text(PLAIN.replace('order = "dmy"', "") + 'age = { column = "Age", unit = "years" }\n')
    days = [f"{1 + i % 12:02}.06.2015" for i in range(40)] + ["28.06.2015"]
    rows = [
        [*sound(patient=f"p{i}", born="03.04.2010", operated=day, side="LRB"[i % 3]), f"{i % 9}.{i % 10}"]
        for i, day in enumerate(days)
    ]
    rows += [[*sound(patient="p1", operated=days[1], side="R"), "1.1"], [*sound(type="zz"), "5"]]
    path = write_csv(tmp_path / "a.csv", [[*PLAIN_HEADER, "Age"], *rows])
    whole, pieces = _both_ways(path, how, monkeypatch)
    assert whole.cases.num_rows > 40
    assert pieces.cases.equals(whole.cases)
    assert pieces.set_aside.equals(whole.set_aside)
    assert pieces.flow.equals(whole.flow)
    assert pieces.questions.equals(whole.questions)
    assert pieces.detected == whole.detected


def test_batches_of_patients_give_what_one_gives(tmp_path, monkeypatch):
    how = legend_from_text(WIDE)
    rows = [
        [f"p{i}", "male", i % 60, ("direct", "0", "")[i % 3], "2015-06-05", ("0", "", "indirect")[i % 3], ""]
        for i in range(40)
    ]
    rows += [["p90", "female", "4", "", "", "", ""]]
    path = write_csv(tmp_path / "a.csv", [["Pat", "Sex", "Age", "L", "L on", "R", "R on"], *rows])
    whole, pieces = _both_ways(path, how, monkeypatch)
    assert pieces.cases.equals(whole.cases)
    assert pieces.set_aside.equals(whole.set_aside)
    assert pieces.flow.equals(whole.flow)


def test_what_is_spilled_lies_in_a_private_folder_that_goes(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with connected() as database:
        (folder,) = tmp_path.iterdir()
        assert folder.stat().st_mode & 0o777 == 0o700
        assert database.execute("SELECT current_setting('temp_directory')").fetchall() == [(str(folder),)]
    assert list(tmp_path.iterdir()) == []


def test_what_is_spilled_goes_when_the_reading_fails(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))

    def fails():
        with connected():
            raise RuntimeError("stopped")

    with pytest.raises(RuntimeError, match="stopped"):
        fails()
    assert list(tmp_path.iterdir()) == []
