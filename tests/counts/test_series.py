"""A typed table of series: what is read, and what each mistake is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from hingeline.counts.series import COLUMNS, example_series, read_series, series_of
from hingeline.errors import HingelineError


def test_the_example_is_read_as_four_summaries(tmp_path: Path) -> None:
    path = tmp_path / "adolescents.csv"
    path.write_text(example_series(), encoding="utf-8")
    table = read_series(path)
    assert table.column_names == list(COLUMNS)
    assert table["kind"].to_pylist() == ["summary"] * 4
    assert table["n"].to_pylist() == [2167, 1033, 406, 347]


def test_a_series_needs_only_label_events_and_n() -> None:
    table = series_of("\ufefflabel,events,n\nElm,1,30\n\nOak,0,20\n".lstrip("\ufeff"), "x.csv")
    assert table["share"].to_pylist() == [1 / 30, 0]
    assert table["kind"].to_pylist() == ["series", "series"]
    assert table["low"].null_count == 2


@pytest.mark.parametrize(
    ("text", "what", "where"),
    [
        ("", "empty", "x.csv"),
        ("label,events\nElm,1\n", "no column 'n'", "row 1"),
        ("label,n,recurred\nElm,1,1\n", "'recurred'", "row 1"),
        ("label,n,n\nElm,1,1\n", "stands twice", "row 1"),
        ("label,events,n\n", "no row", "x.csv"),
        ("label,events,n\nElm,1,30\nOak,31,30\n", "31 events of 30", "row 3"),
        ("label,events,n\nElm,-1,30\n", "below 0", "row 2"),
        ("label,events,n\nElm,,30\n", "no number of events", "row 2"),
        ("label,events,n\nElm,1,\n", "no n", "row 2"),
        ("label,events,n\nElm,1.5,30\n", "no whole number", "row 2"),
        ("label,events,n\nElm,one,30\n", "'one' is no number", "row 2"),
        ("label,events,n\n,1,30\n", "no label", "row 2"),
        ("label,events,n\nElm,1,30\nElm,2,30\n", "rows 2 and 3", "row 3"),
        ("label,events,n\nElm,1,30,5\n", "more cells", "row 2"),
        ("label,events,n,kind\nElm,1,30,meta\n", "'meta'", "row 2"),
        ("label,n,share,kind\nElm,30,0.1,summary\n", "neither events nor a share", "row 2"),
        ("label,n,share,low,high,kind\nElm,30,1.6,0.6,2.5,summary\n", "is no share", "row 2"),
        ("label,n,share,low,high,kind\nElm,30,0.1,0.2,0.3,summary\n", "do not lie about", "row 2"),
        ("label,events,n,share\nElm,1,30,0.5\n", "is not 1 of 30", "row 2"),
        ('label,events,n\n"Elm,1,30\n', "no CSV", "x.csv"),
    ],
)
def test_each_mistake_is_named_with_its_row(text: str, what: str, where: str) -> None:
    with pytest.raises(HingelineError) as error:
        series_of(text, "x.csv")
    assert what in error.value.what
    assert where in error.value.where
    assert error.value.todo


def test_a_file_that_is_not_there_or_not_utf8_is_refused(tmp_path: Path) -> None:
    with pytest.raises(HingelineError, match="cannot be read"):
        read_series(tmp_path / "none.csv")
    path = tmp_path / "latin.csv"
    path.write_bytes("label,events,n\nÜbersee,1,30\n".encode("latin-1"))
    with pytest.raises(HingelineError, match="UTF-8"):
        read_series(path)
