"""Tables of published series: in a new study, in the demo, and as part of what a run is made from."""

from __future__ import annotations

import tomllib

import pytest

from hingeline.counts.series import read_series
from hingeline.desk import demo
from hingeline.desk.new import EXAMPLE, make_study
from hingeline.desk.study import Study
from hingeline.errors import HingelineError
from hingeline.invented import write_study


@pytest.fixture
def made(tmp_path, monkeypatch):
    monkeypatch.setenv("HINGELINE_KEYS", str(tmp_path / "keys"))
    monkeypatch.setattr(demo, "write_study", lambda root, **how: write_study(root, groins=600, **how))
    root = tmp_path / "demo"
    demo.make_demo(root)
    return root


def test_a_new_study_has_a_table_of_published_series_to_edit(tmp_path):
    written = make_study(tmp_path / "mine")
    path = tmp_path / "mine" / EXAMPLE
    assert path in written
    assert read_series(path)["kind"].to_pylist() == ["summary"] * 4
    protocol = (tmp_path / "mine" / "study.toml").read_text(encoding="utf-8")
    # named in the protocol, but only where the user says so
    assert f'# file = "{EXAMPLE}"' in protocol
    assert "series" not in tomllib.loads(protocol)


def test_the_demos_protocol_names_its_table(made):
    study = Study(made)
    ((title, table),) = study._series()
    assert title == study.protocol.series[0].title
    assert table.num_rows == 4


def test_an_edited_table_is_another_study(made):
    before = Study(made)._made_from(())
    assert Study(made)._made_from(()) == before
    path = made / EXAMPLE
    path.write_text(path.read_text(encoding="utf-8") + "Ours,1,30,,,,2,series,typed\n", encoding="utf-8")
    assert Study(made)._made_from(()) != before


def test_a_table_that_is_not_there_is_told(made):
    (made / EXAMPLE).unlink()
    with pytest.raises(HingelineError, match="not there"):
        Study(made)._made_from(())


def test_making_the_demo_again_leaves_the_edited_table(made):
    path = made / EXAMPLE
    edited = path.read_text(encoding="utf-8") + "Ours,1,30,,,,2,series,typed\n"
    path.write_text(edited, encoding="utf-8")
    demo.make_demo(made)
    assert path.read_text(encoding="utf-8") == edited
